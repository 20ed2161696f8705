"""Mutation: which changes of a ruleset no worked case notices.

    mutate(ruleset, cases, only=None) -> Mutation

A mutant of a check is run on the worked cases of that check only, one of a quantity on those of
the checks that rest on it, on facts that are read once: less than one screening of all cases.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from modrules.language.intervals import Intervals
from modrules.language.possible import Env
from modrules.language.tree import walk
from modrules.problems import ModrulesError, Problem
from modrules.proofs.cases import Case, screened_case
from modrules.proofs.mutants import Mutant, mutants, quantity_mutants
from modrules.proofs.proving import available
from modrules.proofs.unused import edition_folders, is_own
from modrules.ruleset.checking import type_check, type_checks_with
from modrules.ruleset.typed import TypedCheck
from modrules.screening.evaluate import Evaluator
from modrules.screening.findings import outcomes_of
from modrules.screening.prepared import NOT_APPLICABLE, NotGiven, Ruleset, Run, bindings


@dataclass(frozen=True, slots=True)
class Mutation:
    """How many mutants were made, and those that no case notices.

    ``alike``: how many of them come to the same for every vehicle, so that no case could tell
    them apart. It is None where that was not proved because the solver is not installed.
    """

    made: int
    unnoticed: tuple[Mutant[Any], ...]
    alike: int | None


@dataclass(frozen=True, slots=True)
class _Ready:
    """A case with its facts read, and the subject that it is about."""

    run: Run
    subject: Any
    expect: frozenset[str]


def mutate(ruleset: Ruleset, cases: Sequence[Case], only: Iterable[str] | None = None) -> Mutation:
    """Every mutant of the checks (of those in ``only``) and of the quantities under them."""
    chosen = None if only is None else frozenset(only)
    checks = [
        check
        for check in ruleset.typed.checks
        if not check.unfinished and (chosen is None or check.id in chosen)
    ]
    ready: dict[str, list[_Ready]] = {check.id: [] for check in checks}
    for case in cases:
        if case.check in ready:
            ready[case.check] += _read(ruleset, case)
    made = alike = 0
    unnoticed: list[Mutant[Any]] = []
    proving = available()
    for mutant, pairs in _mutated(ruleset, checks):
        made += 1
        if any(_noticed(ruleset, other, ready[check.id]) for check, other in pairs):
            continue
        if proving and all(_alike(ruleset, check, other) for check, other in pairs):
            alike += 1
        else:
            unnoticed.append(mutant)
    return Mutation(made, tuple(unnoticed), alike if proving else None)


_Pairs = list[tuple[TypedCheck, TypedCheck]]


def _mutated(
    ruleset: Ruleset, checks: Sequence[TypedCheck]
) -> Iterator[tuple[Mutant[Any], _Pairs]]:
    """Every mutant that loads, with the checks that it changes: before and after."""
    typed = ruleset.typed
    for check in checks:
        for mutant in mutants(ruleset.flat.checks[check.id]):
            other, problems = type_check(typed, mutant.item, check.index)
            if not _errors(problems):
                yield mutant, [(check, other)]
    resting: dict[str, list[TypedCheck]] = {}
    for check in checks:
        for name in sorted({n.value[0] for n in walk(check.nodes()) if n.op == "quantity"}):
            resting.setdefault(name, []).append(check)
    own = edition_folders(ruleset)
    for name, rest in resting.items():
        quantity = ruleset.flat.quantities[name]
        # What another ruleset declares is held by the cases of that one.
        for changed in quantity_mutants(quantity) if is_own(own, quantity.place) else ():
            others, problems = type_checks_with(typed, changed.item, rest)
            if not _errors(problems):
                yield changed, list(zip(rest, others, strict=True))


def _errors(problems: Iterable[Problem]) -> bool:
    return any(problem.level == "error" for problem in problems)


def _alike(ruleset: Ruleset, check: TypedCheck, other: TypedCheck) -> bool:
    from modrules.proofs.alike import differ

    return differ(ruleset, check, other).holds is False


def _read(ruleset: Ruleset, case: Case) -> list[_Ready]:
    """The case made ready; nothing where it can't be screened or names no one finding."""
    try:
        run, found = screened_case(ruleset, case)
    except ModrulesError:
        return []
    return [_Ready(run, found[0][1], case.expect)] if len(found) == 1 else []


def _noticed(ruleset: Ruleset, check: TypedCheck, ready: Sequence[_Ready]) -> bool:
    many = any(ruleset.typed.names.subjects[name].many for name in check.per)
    evaluator = Evaluator(check, Intervals(ruleset.typed.names, ruleset.layout))
    for each in ready:
        if isinstance(each.subject, NotGiven):
            mask = check.outcomes | NOT_APPLICABLE
        elif each.subject is None and many:
            mask = NOT_APPLICABLE
        else:
            env = Env(each.run.bound.world, bindings(check, each.subject))
            mask = evaluator.possible(env, each.run.held, each.subject)
        if frozenset(outcomes_of(mask)) != each.expect:
            return True
    return False
