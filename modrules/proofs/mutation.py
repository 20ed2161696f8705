"""Mutation: which changes of a ruleset no worked case notices.

    mutate(ruleset, cases, only=None) -> Mutation

A mutant is run on the worked cases of its own check only, on facts that are read once: far
less than one screening of all cases.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from modrules.language.intervals import Intervals
from modrules.language.possible import Env
from modrules.problems import ModrulesError
from modrules.proofs.cases import Case, screened_case
from modrules.proofs.mutants import Mutant, mutants
from modrules.proofs.proving import available
from modrules.ruleset.typed import TypedCheck, type_check
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
    unnoticed: tuple[Mutant, ...]
    alike: int | None


@dataclass(frozen=True, slots=True)
class _Ready:
    """A case with its facts read, and the subject that it is about."""

    run: Run
    subject: Any
    expect: frozenset[str]


def mutate(ruleset: Ruleset, cases: Sequence[Case], only: Iterable[str] | None = None) -> Mutation:
    """Every mutant of the checks (of those in ``only``), tried on the cases of its check."""
    chosen = None if only is None else frozenset(only)
    made = alike = 0
    unnoticed: list[Mutant] = []
    proving = available()
    for check in ruleset.typed.checks:
        if check.unfinished or (chosen is not None and check.id not in chosen):
            continue
        ready = [each for case in cases if case.check == check.id for each in _read(ruleset, case)]
        for mutant in mutants(ruleset.flat.checks[check.id]):
            typed, problems = type_check(ruleset.typed, mutant.check, check.index)
            if any(problem.level == "error" for problem in problems):
                continue
            made += 1
            if _noticed(ruleset, typed, ready):
                continue
            if proving and _alike(ruleset, check, typed):
                alike += 1
            else:
                unnoticed.append(mutant)
    return Mutation(made, tuple(unnoticed), alike if proving else None)


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
