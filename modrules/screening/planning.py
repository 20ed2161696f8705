"""Which question to ask first, where a few facts decide some findings between them.

Findings that share open facts belong together. Where such a group has few facts with few
values each, every order of asking is compared, and the one with the fewest questions on
average is begun; a stretch of a number counts as one value there.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise
from typing import Any, Final

from modrules.language.records import NONE_STATED
from modrules.language.units import whole
from modrules.screening.amounts import hard_range
from modrules.screening.explain import OpenFact, with_value
from modrules.screening.findings import Finding
from modrules.screening.next_facts import NextFact
from modrules.screening.prepared import Run
from modrules.screening.report import Report
from modrules.screening.stretches import pieces_of, step_of
from modrules.screening.varying import Reads, Varying

#: so many combinations of answers, unknown ones among them, are looked through
MOST_STATES: Final = 400
#: a number with more stretches than this is not looked through
MOST_STRETCHES: Final = 8


def first_question(report: Report, ranked: Sequence[NextFact]) -> NextFact:
    """The fact to ask for, of those that may be asked, the most telling first."""
    best = ranked[0]
    group = _group(best, ranked)
    if len(group) < 2 or len(report._screenings) > 1 or any(f.target is None for f in group):
        return best
    reads = Reads(report._screenings[0].ruleset)
    values = [_values(report, fact, reads) for fact in group]
    states = 1
    for own in values:
        states *= len(own) + 1
        if len(own) < 1 or states > MOST_STATES:
            return best
    plan = _Plan(report._screenings[0].run, group, values)
    return group[plan.best()]


def _group(start: NextFact, ranked: Sequence[NextFact]) -> list[NextFact]:
    """The facts that are joined to the first by findings that read several of them."""
    group, findings = [start], set(map(id, start.shares))
    grown = True
    while grown:
        grown = False
        for fact in ranked:
            if fact not in group and not findings.isdisjoint(map(id, fact.shares)):
                group.append(fact)
                findings.update(map(id, fact.shares))
                grown = True
    return [fact for fact in ranked if fact in group]


def _values(report: Report, fact: NextFact, reads: Reads) -> list[tuple[Fraction, Any]]:
    """The values to look through, each with its share; none where there are too many."""
    target = fact.target
    assert target is not None
    value = target.value
    if target.fact.type.kind in ("word", "yes_no") and value.values is not None:
        cases = [*sorted(value.values), *([NONE_STATED] if value.none else [])]
        return [(Fraction(1, len(cases)), case) for case in cases]
    if not target.is_number or value.none:
        return []
    first, last = hard_range(target)
    low = first if isinstance(value.low, float) else value.low
    high = last if isinstance(value.high, float) else value.high
    varying = Varying(report._screenings[0], target, reads, keep=True)
    if not varying.straight or low >= high:
        return []
    ends = {low, high}
    for finding in fact.shares:
        for piece in pieces_of(varying, finding, low, high, step_of(target, low, high)):
            ends.add(piece.end[0])
    places = sorted(ends)
    if len(places) > MOST_STRETCHES + 1:
        return []
    found = []
    for start, end in pairwise(places):
        middle = Fraction(start + end) / 2
        inside = middle // 1 if target.whole else middle
        found.append((Fraction(end - start) / Fraction(high - low), whole(Fraction(inside))))
    return found


class _Plan:
    """The fewest questions on average, from every state of what is known."""

    def __init__(
        self, run: Run, facts: list[NextFact], values: list[list[tuple[Fraction, Any]]]
    ) -> None:
        self.run = run
        self.facts = facts
        self.values = values
        self.findings: list[Finding] = list(
            {id(f): f for fact in facts for f in fact.shares}.values()
        )
        self.readers = [frozenset(map(id, fact.shares)) for fact in facts]
        self._costs: dict[tuple[int, ...], tuple[Fraction, int]] = {}

    def best(self) -> int:
        """The index of the fact to begin with; the first one where none settles anything."""
        return max(self.cost((-1,) * len(self.facts))[1], 0)

    def cost(self, state: tuple[int, ...]) -> tuple[Fraction, int]:
        """The questions still to be asked on average, and the one to begin with (-1: none)."""
        found = self._costs.get(state)
        if found is None:
            found = self._costs[state] = self._cost(state)
        return found

    def _cost(self, state: tuple[int, ...]) -> tuple[Fraction, int]:
        undecided = self._undecided(state)
        best: tuple[Fraction, int] | None = None
        for number, readers in enumerate(self.readers):
            if state[number] >= 0 or readers.isdisjoint(undecided):
                continue
            cost = Fraction(1)
            for place, (share, _) in enumerate(self.values[number]):
                after = (*state[:number], place, *state[number + 1 :])
                cost += share * self.cost(after)[0]
            if best is None or cost < best[0]:
                best = cost, number
        return best or (Fraction(0), -1)

    def _undecided(self, state: tuple[int, ...]) -> set[int]:
        changes = []
        for fact, own, place in zip(self.facts, self.values, state, strict=True):
            if place >= 0 and fact.target is not None:
                t = fact.target
                changes.append((OpenFact(t.address, t.fact, t.record, t.value), own[place][1]))
        found = set()
        for finding in self.findings:
            world, subject = with_value(self.run, finding._raw[1], changes)
            mask = self.run.evaluate(finding._check, subject, world)
            if mask & (mask - 1):
                found.add(id(finding))
        return found
