"""One check over what is possible: the set of outcomes that it may still come to.

Kleene logic alone leaves some findings open that are decided in truth. So a few
things are tried case by case, chosen when the check is made ready and never at run
time: facts with few values and conditions that occur more than once, and the
stretches into which bands divide their measure. More information only ever removes
cases or narrows them, so it never widens the answer.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final, Protocol

from modrules.language import domains as d
from modrules.language.intervals import Intervals
from modrules.language.possible import Env, Evaluate, read
from modrules.language.records import Open
from modrules.language.tree import FactName, Node
from modrules.ruleset.typed import BIT, CERTIFICATION_REQUIRED, EVERY_OUTCOME, TypedCheck

#: how many cases one evaluation of a check may be split into
MOST_CASES: Final = 256
NOT_APPLICABLE: Final = BIT["not applicable"]
COMPLIES: Final = BIT["complies"]
EXEMPT: Final = BIT["exempt"]
CERTIFIED: Final = BIT["certified"]

#: The outcomes that a certification which is required may have turned into.
Held = Callable[[TypedCheck, str, Any], int]


@dataclass(frozen=True, slots=True)
class Segment:
    """A stretch between two ends of bands (or one end itself), and the bands over it."""

    low: d.Number
    high: d.Number
    bands: tuple[int, ...]

    def touches(self, low: d.Number, high: d.Number) -> bool:
        if self.low == self.high:
            return low <= self.low <= high
        return low < self.high and self.low < high


class Evaluator:
    """A check made ready for evaluation over what is possible. Immutable once made."""

    __slots__ = (
        "applies",
        "atoms",
        "bands",
        "check",
        "exemptions",
        "facts",
        "measure",
        "requires",
        "segments",
    )

    def __init__(self, check: TypedCheck, intervals: Intervals) -> None:
        def closure(node: Node | None) -> Evaluate | None:
            return intervals.closure(node) if node is not None else None

        self.check = check
        self.applies = closure(check.applies)
        self.requires = closure(check.requires)
        self.exemptions = [intervals.closure(node) for node in check.exemptions]
        self.measure = closure(check.measure)
        self.bands = [closure(band.extra) for band in check.bands]
        self.segments = segments(check.bands)
        self.facts, self.atoms = repeated(check, intervals)

    def possible(self, env: Env, held: Held, subject: Any, enough: int = EVERY_OUTCOME) -> int:
        """The mask of outcomes still possible; none is sought beyond ``enough``."""
        mask = 0
        for _ in self.cases(env):
            mask |= self.case(env, held, subject)
            if mask & enough == enough:
                break
        env.facts.clear()
        env.nodes.clear()
        return mask

    def cases(self, env: Env) -> Iterator[None]:
        """Sets the assumptions of each case in ``env`` in turn."""
        open_facts = []
        for binding, fact, slot in self.facts:
            value = read(env, binding, fact, slot)
            if isinstance(value, Open):
                open_facts.append(((binding, fact), split(value)))
        yield from self._cases(env, open_facts, 0)

    def _cases(self, env: Env, open_facts: list[Any], at: int) -> Iterator[None]:
        if at < len(open_facts):
            key, values = open_facts[at]
            for value in values:
                env.facts[key] = value
                yield from self._cases(env, open_facts, at + 1)
            return
        yield from self._atom_cases(env, 0)

    def _atom_cases(self, env: Env, at: int) -> Iterator[None]:
        if at == len(self.atoms):
            yield
            return
        node, evaluate = self.atoms[at]
        env.nodes.pop(node, None)
        mask = evaluate(env)
        for bit in (d.FALSE, d.TRUE, d.GAP):
            if mask & bit:
                env.nodes[node] = bit
                yield from self._atom_cases(env, at + 1)
        env.nodes.pop(node, None)

    def case(self, env: Env, held: Held, subject: Any) -> int:
        mask = 0
        if self.applies is not None:
            applies = self.applies(env)
            if applies & d.GAP:
                return EVERY_OUTCOME
            if applies != d.TRUE:
                mask = NOT_APPLICABLE
            if applies == d.FALSE:
                return mask
        if self.check.unfinished:
            return EVERY_OUTCOME
        if self.requires is not None:
            mask |= self.certified(self.required(env), held, subject)
        else:
            mask |= self.banded(env, held, subject)
        return mask

    def required(self, env: Env) -> int:
        assert self.requires is not None
        met = self.requires(env)
        if met & d.GAP:
            return EVERY_OUTCOME
        mask = COMPLIES if met & d.TRUE else 0
        if not met & d.FALSE:
            return mask
        excused = d.FALSE
        for exemption in self.exemptions:
            excused = d.OR[excused][exemption(env)]
            if excused == d.TRUE:
                break
        if excused & d.GAP:
            return EVERY_OUTCOME
        if excused & d.TRUE:
            mask |= EXEMPT
        return mask | self.check.failure if excused & d.FALSE else mask

    def certified(self, mask: int, held: Held, subject: Any) -> int:
        if mask == EVERY_OUTCOME:
            return mask
        if mask & CERTIFICATION_REQUIRED and self.check.certification is not None:
            state = held(self.check, self.check.certification, subject)
            return mask & ~CERTIFICATION_REQUIRED | state
        return mask

    def banded(self, env: Env, held: Held, subject: Any) -> int:
        if self.measure is None:
            return self.first_match(range(len(self.bands)), env, held, subject)
        low, high, gap = self.measure(env)
        if gap or low > high:
            return EVERY_OUTCOME
        mask = 0
        for segment in self.segments:
            if segment.touches(low, high):
                mask |= self.first_match(segment.bands, env, held, subject)
                if mask == EVERY_OUTCOME:
                    break
        return mask

    def first_match(self, bands: Any, env: Env, held: Held, subject: Any) -> int:
        mask = 0
        for index in bands:
            condition = self.bands[index]
            match = condition(env) if condition is not None else d.TRUE
            if match & d.GAP:
                return EVERY_OUTCOME
            if match & d.TRUE:
                band = self.check.bands[index]
                if band.certification is not None:
                    mask |= held(self.check, band.certification, subject)
                else:
                    mask |= band.outcome
            if match == d.TRUE:
                return mask
        # No band covers this: the rule does not say what happens.
        return EVERY_OUTCOME


def split(value: Open) -> list[Any]:
    """The cases of an open fact that is tried case by case."""
    if value.values is not None:
        cases: list[Any] = sorted(value.values)
        if value.none:
            cases.append(Open(1, 0, frozenset(), none=True))
        return cases or [value]
    if not value.none:
        return [value]
    stated = Open(value.low, value.high, None, none=False, missing=value.missing)
    none = Open(1, 0, frozenset(), none=True)
    return [none] if value.low > value.high else [stated, none]


class Ends(Protocol):
    """The ends of a band as numbers; None where it has none."""

    @property
    def low(self) -> d.Number | None: ...
    @property
    def low_closed(self) -> bool: ...
    @property
    def high(self) -> d.Number | None: ...
    @property
    def high_closed(self) -> bool: ...


def segments(bands: Sequence[Ends]) -> tuple[Segment, ...]:
    """The stretches into which the ends of bands divide their measure."""
    ends = sorted({end for band in bands for end in (band.low, band.high) if end is not None})
    points: list[tuple[d.Number, d.Number]] = []
    last: d.Number = -d.INFINITE
    for end in ends:
        points += [(last, end), (end, end)]
        last = end
    points.append((last, d.INFINITE))
    return tuple(
        Segment(
            low,
            high,
            tuple(
                i
                for i, band in enumerate(bands)
                if _above(band.low, band.low_closed, low, high)
                and _below(band.high, band.high_closed, low, high)
            ),
        )
        for low, high in points
    )


def _above(end: d.Number | None, closed: bool, low: d.Number, high: d.Number) -> bool:
    if end is None:
        return True
    return low >= end and (closed or low < high or low > end)


def _below(end: d.Number | None, closed: bool, low: d.Number, high: d.Number) -> bool:
    if end is None:
        return True
    return high <= end and (closed or low < high or high < end)


def repeated(
    check: TypedCheck, intervals: Intervals
) -> tuple[list[tuple[str, str, str]], list[tuple[Node, Evaluate]]]:
    """What is tried case by case: facts of few values, and conditions met more than once."""
    facts, atoms = occurrences(check)
    budget = MOST_CASES
    chosen = []
    for key, count in facts.items():
        size = _cases_of(intervals.names.facts[key[1]])
        if count > 1 and 1 < size <= budget:
            chosen.append(key)
            budget //= size
    conditions = []
    for node, count in atoms.items():
        if count > 1 and budget >= 3:
            conditions.append((node, intervals.closure(node)))
            budget //= 3
    return chosen, conditions


def _cases_of(fact: FactName) -> int:
    """How many cases a fact is split into; 1 where it is not."""
    if fact.type.kind == "yes_no":
        return 2 + fact.none_stated
    if fact.type.words:
        return len(fact.type.words) + fact.none_stated
    return 2 if fact.none_stated else 1


def occurrences(check: TypedCheck) -> tuple[dict[tuple[str, str, str], int], dict[Node, int]]:
    """How often each fact and each plain condition stands in a check, outside lists."""
    facts: dict[tuple[str, str, str], int] = {}
    atoms: dict[Node, int] = {}
    stack = list(check.nodes())
    while stack:
        node = stack.pop()
        if node.op in ("fact", "stated", "fallback"):
            facts[node.value] = facts.get(node.value, 0) + 1
        if node.type.kind == "yes_no" and node.op in ("le", "equal", "in", "over", "call"):
            atoms[node] = atoms.get(node, 0) + 1
        if node.op != "over":
            stack += node.args
    return facts, atoms
