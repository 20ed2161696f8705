"""The edges of a ruleset, and on which sides of each a worked case stands.

    limits(check) -> list[Limit]              the comparisons in a check, as they stand
    touched(ruleset, results) -> list[Edge]   per limit: on it, just under, just over

A limit is a comparison of quantities or dates, in a condition or as the end of a band, also in a
formula that the check uses. A case is just under or just over where it is at most one step off:
one in the last decimal in which the limit is written (50 mm: 1 mm; 7.5 %: 0.1 %); where the
limit is a fact or a formula, one of the unit; a day. Only cases count to which the check applies
(all of them where the limit is in its condition), and only numbers that are known exactly.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Final

from modrules.language.possible import Env
from modrules.language.records import attribute
from modrules.language.tree import Node, walk
from modrules.language.units import unit_factor
from modrules.proofs.cases import CaseResult
from modrules.proofs.conditions import band_node, shown
from modrules.ruleset.typed import TypedCheck
from modrules.screening.prepared import NotGiven, Ruleset, Run, bindings

#: Where a case may stand: the limit and so many steps.
SIDES: Final[Mapping[str, int]] = {"on": 0, "just under": -1, "just over": 1}
#: The step of a plain number that is no constant.
_RATIO: Final = Fraction(1, 100)


@dataclass(frozen=True, slots=True)
class Limit:
    """A comparison: what is measured, its limit, and the lists that it is inside of."""

    node: Node
    measure: Node
    other: Node
    inside: tuple[str, ...]
    #: whether it decides to what the check applies, and nothing else
    condition: bool

    @property
    def words(self) -> str:
        """What is compared with what."""
        return f"{name_of(self.measure)} against {name_of(self.other)}"

    @property
    def step(self) -> Fraction:
        """One step, in SI units; in days for dates."""
        if self.measure.type.kind != "quantity" or self.measure.type.whole:
            return Fraction(1)
        unit = self.measure.unit or self.other.unit
        limit = core(self.other)
        if limit.op != "const":
            return Fraction(unit_factor(unit)) if unit else _RATIO
        factor = Fraction(unit_factor(limit.unit or unit))
        number = Fraction(limit.value) * limit.scale / factor
        places = next((n for n in range(9) if (number * 10**n).denominator == 1), 9)
        return factor / Fraction(10) ** places

    @property
    def turning(self) -> tuple[str, str]:
        """The two places between which the comparison turns: on it, and just beside it."""
        # A comparison holds where both sides are equal, and then only one way.
        return ("on", "just over" if self.node.args[0] is self.measure else "just under")


@dataclass(frozen=True, slots=True)
class Edge:
    """A limit of a check, and the sides on which no case stands.

    ``unreachable``: those of them on which no vehicle can be, as far as that is proved.
    """

    check: str
    limit: Limit
    lacking: tuple[str, ...]
    unreachable: tuple[str, ...] = ()

    @property
    def asked_for(self) -> tuple[str, ...]:
        """The sides on which a case could stand, and none does."""
        return tuple(side for side in self.lacking if side not in self.unreachable)

    @property
    def turns_unseen(self) -> bool:
        """Whether a case on it is lacking, or one where the comparison comes out otherwise."""
        return any(side in self.asked_for for side in self.limit.turning)

    @property
    def words(self) -> str:
        """Where cases are lacking."""
        return f"no case {' or '.join(self.asked_for)} the limit: {self.limit.words}"

    @property
    def unreachable_words(self) -> str:
        """Where no case can be; empty where that is proved of no side."""
        if not self.unreachable:
            return ""
        return f"no vehicle comes {' or '.join(self.unreachable)} the limit: {self.limit.words}"


def limits(check: TypedCheck) -> list[Limit]:
    """The comparisons in a check, in the order in which they stand."""
    found: dict[tuple[Node, tuple[str, ...]], bool] = {}
    parts = [check.requires, *check.exemptions, *(band_node(band) for band in check.bands)]
    for part, condition in ((check.applies, True), *((part, False) for part in parts)):
        for node, inside in _all(part, ()) if part is not None else ():
            if node.op == "le":
                found[node, inside] = found.get((node, inside), True) and condition
    return [
        Limit(node, *_sides(check, node), inside, condition)
        for (node, inside), condition in found.items()
    ]


def _all(node: Node, inside: tuple[str, ...]) -> Iterator[tuple[Node, tuple[str, ...]]]:
    yield node, inside
    if node.op == "over":
        inside = (*inside, node.value[1])
    for arg in node.args:
        yield from _all(arg, inside)


def _sides(check: TypedCheck, node: Node) -> tuple[Node, Node]:
    """What is measured, and its limit: as the check has it, or else the constant."""
    a, b = node.args
    measured = check.measure is not None and core(b) is core(check.measure)
    return (b, a) if measured or core(a).op == "const" else (a, b)


def core(node: Node) -> Node:
    """A node, whatever it is counted in."""
    while node.op in ("rescale", "same"):
        node = node.args[0]
    return node


def name_of(node: Node) -> str:
    """A side of a comparison in words."""
    inner = core(node)
    if inner.op in ("fact", "fallback", "stated"):
        return str(inner.value[1])
    if inner.op == "quantity":
        return str(inner.value[0])
    if inner.op == "const" and inner.type.kind == "date":
        return datetime.date.fromordinal(inner.value).isoformat()
    if inner.op == "const" and inner.type.kind == "quantity":
        return shown(node.value if node.op == "const" else inner.value, inner)
    if inner.op == "today":
        return "today"
    names = sorted({name_of(n) for n in walk(inner.args) if n.op in ("fact", "quantity")})
    return f"what follows from {' and '.join(names[:2])}" if names else "a value"


# -- worked cases -------------------------------------------------------------------------------


def touched(ruleset: Ruleset, results: Iterable[CaseResult]) -> list[Edge]:
    """Every limit of every check, with the sides on which no case stands."""
    by_check: dict[str, list[CaseResult]] = {}
    for result in results:
        if result.run is not None:
            by_check.setdefault(result.case.check, []).append(result)
    edges = []
    for check in ruleset.typed.checks:
        cases = by_check.get(check.id, [])
        for limit in limits(check):
            sides = {side for case in cases for side in _touches(ruleset, check, limit, case)}
            lacking = tuple(side for side in SIDES if side not in sides)
            edges.append(Edge(check.id, limit, lacking))
    return edges


def _touches(
    ruleset: Ruleset, check: TypedCheck, limit: Limit, result: CaseResult
) -> Iterator[str]:
    """The sides of a limit on which a case stands."""
    run, subject = result.run, result.subject
    if run is None or isinstance(subject, NotGiven):
        return
    if not limit.condition and "not applicable" in result.possible:
        return
    if subject is None and set(check.bindings) & _many(ruleset):
        return
    for env in _within(run, bindings(check, subject), limit.inside):
        numbers = [_exact(ruleset, env, node) for node in (limit.measure, limit.other)]
        if None in numbers:
            continue
        off = numbers[0] - numbers[1]
        if off == 0:
            yield "on"
        elif abs(off) <= limit.step:
            yield "just under" if off < 0 else "just over"


def _many(ruleset: Ruleset) -> set[str]:
    return {name for name, subject in ruleset.typed.names.subjects.items() if subject.many}


def _within(run: Run, records: dict[str, Any], inside: tuple[str, ...]) -> Iterator[Env]:
    """What a comparison sees, once for each member of the lists that it is inside of."""
    if not inside:
        yield Env(run.bound.world, records)
        return
    listed = getattr(run.bound.world, attribute(inside[0].removeprefix("each ")), None)
    for record in listed or ():
        yield from _within(run, {**records, inside[0]: record}, inside[1:])


def _exact(ruleset: Ruleset, env: Env, node: Node) -> Any:
    """What a node comes to in SI units, or as the number of a day; None where not exact."""
    low, high, gap = ruleset.intervals.closure(node)(env)
    if gap or low != high:
        return None
    return Fraction(low) * node.scale if node.type.kind == "quantity" else low
