"""Boundary cases for every limit of a ruleset: on it, just under it, just over it, missing.

    boundary_cases(ruleset, only=None) -> Boundaries

Each is a worked case with the outcome that the engine gives, for an author to confirm by hand.
A limit is a comparison of quantities or dates, in a condition or as the end of a band.
"""

from __future__ import annotations

import copy
import datetime
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Final

from z3 import Z3Exception

from modrules.language.tree import ONE, YES_NO, Node, walk
from modrules.language.units import unit_factor
from modrules.proofs.asking import BUDGET, Answer, Session
from modrules.proofs.cases import TO_CONFIRM
from modrules.proofs.edges import SIDES, Limit, limits, name_of
from modrules.proofs.examples import Literal, record_id, screened_subject
from modrules.proofs.found import Example, flow
from modrules.proofs.single import not_so, so
from modrules.proofs.space import Record, Untranslatable
from modrules.ruleset.typed import TypedCheck
from modrules.screening.prepared import Ruleset

_NOTHING: Final[Mapping[str, Any]] = {"modifications": []}
#: How far from a limit "just under" and "just over" are, in its unit.
NEAR: Final = Fraction(1, 10)


@dataclass(frozen=True, slots=True)
class BoundaryCase:
    """A case, with the outcomes that are possible in it."""

    title: str
    check: str
    given: Mapping[str, Any]
    on: datetime.date
    expect: tuple[str, ...]
    subject: str


@dataclass(frozen=True, slots=True)
class Boundaries:
    """The cases, and the limits for which no vehicle was found: check and what is compared."""

    cases: tuple[BoundaryCase, ...]
    without: tuple[str, ...]


def boundary_cases(ruleset: Ruleset, only: Iterable[str] | None = None) -> Boundaries:
    """Cases at every limit of the checks (of those in ``only``)."""
    chosen = None if only is None else frozenset(only)
    cases: list[BoundaryCase] = []
    without: list[str] = []
    for check in ruleset.typed.checks:
        if check.unfinished or (chosen is not None and check.id not in chosen):
            continue
        try:
            session = Session(ruleset, [check], BUDGET)
            # Every fact of the check has a value in its cases, so that they come out decided.
            for node in check.nodes():
                session.symbolic.value(node)
        except (Z3Exception, Untranslatable):
            without.append(f"{check.id}: all of them")
            continue
        for limit in limits(check):
            if limit.inside:
                continue
            found = list(_at(session, check, limit))
            cases += found
            if not found:
                without.append(f"{check.id}: {limit.words}")
    return Boundaries(tuple(cases), tuple(without))


def _at(session: Session, check: TypedCheck, limit: Limit) -> Iterator[BoundaryCase]:
    measure, other = limit.measure, limit.other
    name = name_of(measure)
    on_it = None
    for words, offset in SIDES.items():
        answer = _example(session, check, measure, other, offset)
        if not answer.holds or answer.example is None:
            continue
        yield _case(session, check, f"{name} {words} {name_of(other)}", answer.example)
        on_it = on_it or answer.example
    if on_it is not None:
        for key in _given(session, measure) or _given(session, other):
            left = _without(on_it, session, key)
            if left is not None:
                yield _case(session, check, f"{limit.words}, {key[1]} missing", left)
                return


def _example(
    session: Session, check: TypedCheck, measure: Node, other: Node, offset: int
) -> Answer:
    """A vehicle on the limit or just beside it; one for which the check counts, if there is one."""
    near = _beside(measure, other, offset)
    applies = [so(check.applies)] if check.applies is not None else []
    answer = Answer(False)
    for base in _settings(check, applies):
        answer = session.ask([*near, *base], plain=True)
        if answer.holds:
            break
    return answer


def _settings(check: TypedCheck, applies: list[Literal]) -> Iterator[list[Literal]]:
    """What else is so in a case, the most telling first."""
    if check.requires is not None:
        yield [*applies, not_so(check.requires), *(not_so(node) for node in check.exemptions)]
        # On the side of a limit on which an exemption holds, it has something to excuse.
        yield [*applies, not_so(check.requires)]
    yield applies
    yield []


def _beside(measure: Node, other: Node, offset: int) -> list[Literal]:
    """That the measure is its limit and so many steps."""
    if measure.type.kind == "quantity":
        unit = measure.unit or other.unit
        step = Fraction(1) if measure.type.whole else NEAR * unit_factor(unit)
        if not unit and not measure.type.whole:
            step = Fraction(1, 100)
        if offset and not measure.type.whole:
            # A stretch, in which a value with few decimals is found.
            ends = sorted((offset * step / 2, offset * step * 3 / 2))
            return [
                _le(_shifted(other, ends[0], unit), measure),
                _le(measure, _shifted(other, ends[1], unit)),
            ]
        shifted = _shifted(other, offset * step, unit)
    elif offset:
        # A day more or less: days are whole, so one comparison on each side will do.
        return _day_beside(measure, other, offset)
    else:
        shifted = other
    return [_le(measure, shifted), _le(shifted, measure)]


def _shifted(other: Node, by: Fraction, unit: str) -> Node:
    """A quantity and so much more, in SI units."""
    amount = Node("const", other.type, (), by / other.scale, other.scale, unit)
    return Node("add", other.type, (other, amount), None, other.scale, unit)


def _day_beside(measure: Node, other: Node, offset: int) -> list[Literal]:
    difference = Node("sub", _DAYS, (measure, other), None, ONE, "")
    day = Node("const", _DAYS, (), offset, ONE, "")
    return [_le(difference, day), _le(day, difference)]


_DAYS: Final = type(YES_NO)("quantity", whole=True)


def _le(a: Node, b: Node) -> Literal:
    return so(Node("le", YES_NO, (a, b), None, ONE, ""))


def _given(session: Session, side: Node) -> list[tuple[Record, str]]:
    """The facts in one side of a limit, as keys of the space."""
    found = []
    for node in walk([side]):
        if node.op in ("fact", "fallback"):
            binding, fact, _ = node.value
            record = (
                (binding.removeprefix("each "), 0)
                if binding.startswith("each ")
                else session.space.record(binding)
            )
            if fact != "modification.kind" and (record, fact) in session.space.variables:
                found.append((record, fact))
    return sorted(set(found))


def _without(example: Example, session: Session, key: tuple[Record, str]) -> Example | None:
    """The example without one fact; None where it does not say it."""
    record, fact_id = key
    given = copy.deepcopy(dict(example.given))
    branch: Any = given.get(record[0])
    if session.space.typed.names.subjects[record[0]].many:
        entries = [e for value in given.values() if isinstance(value, list) for e in value]
        branch = next((entry for entry in entries if entry["id"] == record_id(record)), None)
    *stems, leaf = fact_id.split(".")[1:]
    for stem in stems:
        branch = branch.get(stem) if isinstance(branch, dict) else None
    if not isinstance(branch, dict) or leaf not in branch:
        return None
    del branch[leaf]
    return Example(given, example.on)


def _case(session: Session, check: TypedCheck, title: str, example: Example) -> BoundaryCase:
    own = [session.space.bound[b] for b in check.bindings if b in session.space.bound]
    subject = "+".join(record_id(record) for record in own)
    possible = screened_subject(session.ruleset, example, check, subject)
    return BoundaryCase(title, check.id, example.given, example.on, possible, subject)


def cases_text(boundaries: Boundaries) -> str:
    """The cases as a file of worked cases."""
    lines = [
        "# Made at the limits, with the outcomes that the engine gives: confirm each by hand,",
        "# give it its clause as source, and give it a title that says what it shows.",
        *(f"# no vehicle found on the limit: {each}" for each in boundaries.without),
        "cases:",
    ]
    for case in boundaries.cases:
        expect = flow(list(case.expect)) if len(case.expect) > 1 else case.expect[0]
        lines += [
            f"  - case: {flow(case.title)}",
            f"    of: {case.check}",
            f"    source: {flow(TO_CONFIRM)}",
            "    given:",
            *(f"      {key}: {flow(value)}" for key, value in (case.given or _NOTHING).items()),
            f"    on: {case.on.isoformat()}",
            *([f"    subject: {case.subject}"] if case.subject else []),
            f"    expect: {expect}",
        ]
    if not boundaries.cases:
        lines[-1] = "cases: []"
    return "\n".join(lines) + "\n"
