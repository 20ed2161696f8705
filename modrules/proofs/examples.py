"""Examples: a model of the symbols as a submission fragment, and what the engine says to it.

fragment(space, values) -> dict            layout as in a submission, every value as text
confirm(ruleset, example, ...) -> Seen|None     screened; None where it is not as supposed
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from modrules.language.possible import Env
from modrules.language.records import attribute
from modrules.language.tree import FactName, Node
from modrules.language.units import UNITS, decimal_text, unit_factor
from modrules.problems import ModrulesError
from modrules.proofs.conditions import facts_in
from modrules.proofs.found import Example
from modrules.proofs.space import Record, Space
from modrules.ruleset.typed import TypedCheck, TypedRuleset
from modrules.screening.binding import bind
from modrules.screening.findings import outcomes_of
from modrules.screening.prepared import Ruleset, Run
from modrules.screening.submission import read_submission

#: A value of a fact: bool, Fraction in the declared unit, ordinal or code; None: none stated.
Values = Mapping[tuple[Record, str], Any]
#: Decimals of a number in an example.
PLACES = 9


@dataclass(frozen=True, slots=True)
class Literal:
    """A yes/no node, and the truths (a mask) of which it comes to one."""

    node: Node
    mask: int


def record_id(record: Record) -> str:
    """The id of a record in an example."""
    return f"{record[0].replace('_', '-')}-{record[1] + 1}"


def fragment(space: Space, present: Sequence[Record], values: Values) -> dict[str, Any]:
    """The fragment with these records; every list of the space is given, if only as empty."""
    names, flat = space.typed.names, space.typed.flat
    found: dict[str, Any] = {"modifications": []}
    trees: dict[Record, dict[str, Any]] = {}
    keys = {str(s.id): str(s.list) for s in flat.subjects.values() if s.list is not None}
    lists = {*space.lists, *(record[0] for record in space.bound.values())}
    for subject in sorted(lists):
        if subject in keys and subject != "modification":
            found[keys[subject]] = []
    for record in present:
        tree: dict[str, Any] = {"id": record_id(record)}
        trees[record] = tree
        if names.subjects[record[0]].is_kind or record[0] == "modification":
            if record[0] != "modification":
                tree["kind"] = record[0]
            found["modifications"].append(tree)
        else:
            found[keys[record[0]]].append(tree)
    for (record, fact_id), value in values.items():
        if names.subjects[record[0]].many:
            if record not in trees:
                continue
            branch = trees[record]
        else:
            branch = found.setdefault(record[0], {})
        *stems, leaf = fact_id.split(".")[1:]
        for stem in stems:
            branch = branch.setdefault(stem, {})
        branch[leaf] = written(space, names.facts[fact_id], value)
    if not found["modifications"]:
        del found["modifications"]
    return found


def written(space: Space, fact: FactName, value: Any) -> str:
    """A value as a submission has it."""
    if value is None:
        return "none stated"
    kind = fact.type.kind
    if kind == "yes_no":
        return "yes" if value else "no"
    if kind == "date":
        return datetime.date.fromordinal(int(value)).isoformat()
    if kind in ("word", "text"):
        texts = {code: text for text, code in space.codes.items()}
        return texts.get(int(value), f"other {int(value)}")
    value = Fraction(value)
    if fact.type.whole:
        return decimal_text(value, 0)
    # A number without an end in the declared unit may have one in another (40 psi in kPa).
    alike = [u for u in UNITS.values() if u.dimension == fact.type.dimension]
    if not ends(value):
        for unit in alike:
            other = value * unit_factor(fact.unit) / unit.factor
            if ends(other):
                return f"{decimal_text(other, PLACES)} {unit.name}".strip()
    return f"{decimal_text(value, PLACES)} {fact.unit}".strip()


def ends(value: Fraction) -> bool:
    """Whether a number has no more decimals than are written."""
    return bool((value * 10**PLACES).denominator == 1)


@dataclass(frozen=True, slots=True)
class Seen:
    """What the engine makes of an example: the outcomes possible for each of the checks."""

    possible: tuple[tuple[str, ...], ...]


def confirm(
    ruleset: Ruleset,
    example: Example,
    space: Space,
    checks: Sequence[TypedCheck],
    literals: Sequence[Literal],
    beside: Sequence[TypedRuleset] = (),
) -> Seen | None:
    """Screens an example; None where a literal is not so, or where it can't be screened."""
    nodes = [node for check in checks for node in check.nodes()]
    nodes += [literal.node for literal in literals]
    try:
        run, env = screening(ruleset, example, space, nodes, beside)
    except ModrulesError:
        return None
    for literal in literals:
        if ruleset.intervals.closure(literal.node)(env) & ~literal.mask:
            return None
    possible = []
    for check in checks:
        own = tuple(env.records[binding] for binding in check.bindings if binding in env.records)
        subject = None if not own else own[0] if len(own) == 1 else own
        possible.append(outcomes_of(run.evaluate(check, subject)))
    return Seen(tuple(possible))


def screening(
    ruleset: Ruleset,
    example: Example,
    space: Space,
    nodes: Iterable[Node],
    beside: Sequence[TypedRuleset] = (),
) -> tuple[Run, Env]:
    """The screening of an example, and what the names of its checks are bound to.

    Only for what ``nodes`` read: a record has no other facts, and to read one is an error. What
    only the rulesets ``beside`` know is passed over. Raises ModrulesError where it can't be
    screened.
    """
    tree = {"submission": "Example", "modifications": [], **example.given}
    typed = _as_far_as(ruleset, {fact for _, fact in (*facts_in(nodes), *space.variables)})
    submission, layout = read_submission(tree), ruleset.layout
    bound = bind(submission, typed, layout, example.on, beside, fragment=True)
    records = {binding: _found(bound.world, record) for binding, record in space.bound.items()}
    return Run(ruleset, bound), Env(bound.world, records)


def _as_far_as(ruleset: Ruleset, wanted: set[str]) -> TypedRuleset:
    """A ruleset with these facts alone, and those from which they are estimated.

    An example says what a few facts are. Bound to them it costs what they cost; bound to all
    facts each question would cost the size of the vocabulary.
    """
    typed, known = ruleset.typed, set(wanted)
    stack = list(wanted)
    while stack:
        estimate = typed.estimates.get(stack.pop())
        if estimate is not None:
            more = {fact for _, fact in facts_in([estimate[0]])} - known
            known |= more
            stack += more
    # In the order of the vocabulary, so that it is bound as the whole would be.
    names = typed.names
    kept = sorted((f for f in known if f in names.facts), key=ruleset.layout.bits.__getitem__)
    facts = {fact: names.facts[fact] for fact in kept}
    return replace(
        typed,
        vocabulary=replace(typed.vocabulary, names=replace(names, facts=facts)),
        estimates={fact: typed.estimates[fact] for fact in kept if fact in typed.estimates},
    )


def exact(ruleset: Ruleset, example: Example, space: Space, node: Node) -> Any:
    """The run-time number that a node comes to in an example; None where that is not exact."""
    _, env = screening(ruleset, example, space, [node])
    low, high, gap = ruleset.intervals.closure(node)(env)
    return low if low == high and not gap else None


def _found(world: Any, record: Record) -> Any:
    wanted = record_id(record)
    return next(each for each in getattr(world, attribute(record[0])) if each.id == wanted)


def screened_subject(
    ruleset: Ruleset, example: Example, check: TypedCheck, subject: str
) -> tuple[str, ...]:
    """What a whole screening of an example finds for one subject of a check."""
    from modrules.proofs.cases import subject_id

    tree = {"submission": "Example", "modifications": [], **example.given}
    bound = bind(read_submission(tree), ruleset.typed, ruleset.layout, example.on, fragment=True)
    for raw in Run(ruleset, bound).screen():
        if raw[0] == check.index and subject in ("", subject_id(raw[1])):
            return outcomes_of(raw[2])
    return ()


def screened(ruleset: Ruleset, example: Example, check: TypedCheck) -> tuple[tuple[str, ...], ...]:
    """Every finding of a check in a whole screening of an example, as its possible outcomes."""
    tree = {"submission": "Example", "modifications": [], **example.given}
    bound = bind(read_submission(tree), ruleset.typed, ruleset.layout, example.on, fragment=True)
    return tuple(
        outcomes_of(raw[2]) for raw in Run(ruleset, bound).screen() if raw[0] == check.index
    )
