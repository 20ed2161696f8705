"""Truths that may have no value, put together as evaluation does it: strong Kleene, as terms.

    conjunction, disjunction, negation           of two values, or of one
    FOLDS[function](space, members, default)     any, all, count, sum, largest, smallest of a list

A member of a list is whether it is there and meets its condition, and its value.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final

from modrules.proofs.space import Space, Value, both, choose, either, opposite


def truth(term: Any, gap: Any) -> Value:
    """A truth that has no value where ``gap`` holds."""
    return Value(both(term, opposite(gap)), gap)


def conjunction(a: Value, b: Value) -> Value:
    """Strong Kleene: false where one is false; else without a value where one has none."""
    if a.gap is False and b.gap is False:
        return Value(both(a.term, b.term))
    gap = both(either(a.gap, b.gap), either(a.term, a.gap), either(b.term, b.gap))
    return Value(both(a.term, b.term), gap)


def negation(a: Value) -> Value:
    return truth(opposite(a.term), a.gap)


def disjunction(a: Value, b: Value) -> Value:
    if a.gap is False and b.gap is False:
        return Value(either(a.term, b.term))
    return negation(conjunction(negation(a), negation(b)))


Members = list[tuple[Value, Value | None]]
Fold = Callable[[Space, Members, Value | None], Value]


def _any_of(_space: Space, members: Members, _default: Value | None) -> Value:
    total = Value(False)
    for member, value in members:
        total = disjunction(total, member if value is None else conjunction(member, value))
    return total


def _all_of(_space: Space, members: Members, _default: Value | None) -> Value:
    total = Value(True)
    for member, value in members:
        kept = negation(member)
        total = conjunction(total, kept if value is None else disjunction(kept, value))
    return total


def _count_of(space: Space, members: Members, _default: Value | None) -> Value:
    total: Any = space.real(0)
    for member, _ in members:
        total = total + choose(member.term, space.real(1), space.real(0))
    return Value(total, either(*(member.gap for member, _ in members)))


def _sum_of(space: Space, members: Members, _default: Value | None) -> Value:
    total: Any = space.real(0)
    gap: Any = False
    for member, value in members:
        assert value is not None
        total = total + choose(member.term, value.term, space.real(0))
        gap = either(gap, member.gap, both(member.term, value.gap))
    return Value(total, gap)


def _extreme_of(larger: bool) -> Fold:
    def fold(_space: Space, members: Members, default: Value | None) -> Value:
        assert default is not None
        term, taken = default.term, False
        gaps = []
        for member, value in members:
            assert value is not None
            beats = value.term >= term if larger else value.term <= term
            wins = both(member.term, either(opposite(taken), beats))
            term = choose(wins, value.term, term)
            taken = either(taken, member.term)
            gaps += [member.gap, both(member.term, value.gap)]
        return Value(term, either(*gaps, both(opposite(taken), default.gap)))

    return fold


FOLDS: Final[Mapping[str, Fold]] = {
    "any": _any_of,
    "all": _all_of,
    "count": _count_of,
    "sum": _sum_of,
    "largest": _extreme_of(True),
    "smallest": _extreme_of(False),
}
