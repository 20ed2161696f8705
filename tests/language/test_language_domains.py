"""Sets of possible values: nothing that can come out is lost, and less in means no more out."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from itertools import product
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from modrules.language import domains as d
from modrules.language.domains import Range

calm = settings(max_examples=300, derandomize=True, deadline=None, database=None)
SINGLES = (d.FALSE, d.TRUE, d.GAP)
masks = st.integers(1, 7)
ends = st.integers(-4, 4)
infinite = st.sampled_from([None, None, None, "low", "high", "both"])


def kleene_and(x: int, y: int) -> int:
    if d.FALSE in (x, y):
        return d.FALSE
    return d.GAP if d.GAP in (x, y) else d.TRUE


@pytest.mark.parametrize(("a", "b"), list(product(range(8), repeat=2)))
def test_the_connectives_are_strong_kleene_lifted_to_sets(a: int, b: int) -> None:
    both = either = 0
    for x, y in product(SINGLES, repeat=2):
        if a & x and b & y:
            both |= kleene_and(x, y)
            opposite = {d.TRUE: d.FALSE, d.FALSE: d.TRUE, d.GAP: d.GAP}
            either |= opposite[kleene_and(opposite[x], opposite[y])]
    assert d.AND[a][b] == both
    assert d.OR[a][b] == either
    assert d.NOT[d.NOT[a]] == a


@st.composite
def ranges(draw: Callable[[Any], Any]) -> Range:
    """A range with whole ends, perhaps infinite, perhaps with no value, perhaps nothing else."""
    if draw(st.integers(0, 9)) == 0:
        return d.NOTHING
    low, high = sorted((draw(ends), draw(ends)))
    open_end = draw(infinite)
    return (
        -d.INFINITE if open_end in ("low", "both") else low,
        d.INFINITE if open_end in ("high", "both") else high,
        draw(st.booleans()),
    )


def members(found: Range) -> list[Any]:
    """Some values of a range, its ends first; None stands for no value."""
    low, high, gap = found
    values: list[Any] = [None] if gap else []
    if low > high:
        return values
    bottom = low if not isinstance(low, float) else min(high, 0) - 7
    top = high if not isinstance(high, float) else max(bottom, 0) + 7
    middle = Fraction(bottom + top) / 2
    return [
        *values,
        bottom,
        top,
        middle,
        Fraction(2 * bottom + top) / 3,
        *(value for value in (0, 1, -1) if bottom <= value <= top),
    ]


def holds(found: Range, value: Any) -> bool:
    if value is None:
        return found[2]
    return found[0] <= value <= found[1]


TWO: dict[str, tuple[Callable[..., Range], Callable[[Any, Any], Any]]] = {
    "add": (d.range_add, lambda x, y: x + y),
    "times": (d.range_times, lambda x, y: x * y),
    "over": (d.range_over, lambda x, y: None if y == 0 else Fraction(x) / y),
    "smallest": (d.range_smallest, min),
    "largest": (d.range_largest, max),
}
ONE: dict[str, tuple[Callable[..., Range], Callable[[Any], Any]]] = {
    "negative": (d.range_negative, lambda x: -x),
    "absolute": (d.range_absolute, abs),
    "floor": (lambda a: d.range_floor(a, 3), lambda x: x // 3 * 3),
    "ceiling": (lambda a: d.range_ceiling(a, 3), lambda x: -(-x // 3) * 3),
}


@calm
@given(ranges(), ranges())
def test_no_result_of_two_values_is_lost(a: Range, b: Range) -> None:
    for name, (operation, exact) in TWO.items():
        found = operation(a, b)
        for x, y in product(members(a), members(b)):
            value = None if x is None or y is None else exact(x, y)
            assert holds(found, value), (name, x, y)
    mask = d.at_most(a, b)
    for x, y in product(members(a), members(b)):
        assert mask & (d.GAP if x is None or y is None else d.truth(x <= y)), (x, y)


@calm
@given(ranges())
def test_no_result_of_one_value_is_lost(a: Range) -> None:
    for name, (operation, exact) in ONE.items():
        for x in members(a):
            assert holds(operation(a), None if x is None else exact(x)), (name, x)


def within(a: Range, b: Range) -> bool:
    """Whether a range lies in another."""
    if a[2] and not b[2]:
        return False
    return a[0] > a[1] or (b[0] <= b[1] and b[0] <= a[0] and a[1] <= b[1])


@calm
@given(ranges(), ranges(), st.data())
def test_less_in_is_no_more_out(a: Range, b: Range, data: st.DataObject) -> None:
    values = [value for value in members(a) if value is not None]
    narrow: Range = d.NOTHING
    if values and not (a[2] and data.draw(st.booleans())):
        low, high = sorted((data.draw(st.sampled_from(values)), data.draw(st.sampled_from(values))))
        narrow = (low, high, a[2] and data.draw(st.booleans()))
    elif not a[2]:
        return
    assert within(narrow, a)
    for name, (operation, _) in TWO.items():
        for wide, less in (
            (operation(a, b), operation(narrow, b)),
            (operation(b, a), operation(b, narrow)),
        ):
            # Where there may be no value, every outcome is possible: ends then say no more.
            assert within(less, wide) or wide[2], name
    for one, (single, _) in ONE.items():
        assert within(single(narrow), single(a)), one
    assert d.at_most(narrow, b) | d.at_most(a, b) == d.at_most(a, b)
    assert d.at_most(b, narrow) | d.at_most(b, a) == d.at_most(b, a)


@calm
@given(st.lists(ranges(), min_size=1, max_size=4))
def test_the_hull_holds_all(found: list[Range]) -> None:
    hull = d.hull(found)
    assert all(within(each, hull) for each in found)
    lows = [low for low, high, _ in found if low <= high]
    assert not lows or hull[0] == min(lows)


@calm
@given(ranges())
def test_an_exact_value_stays_exact(a: Range) -> None:
    for value in members(a):
        if value is None:
            continue
        one: Range = (value, value, False)
        for operation, exact in ONE.values():
            assert operation(one) == (exact(value), exact(value), False)
        assert d.at_most(one, one) == d.TRUE
        assert d.range_add(one, one) == (2 * value, 2 * value, False)


def test_unions_of_words() -> None:
    some = (frozenset(["a"]), False)
    more = (frozenset(["b"]), True)
    assert d.choice_union((some, more)) == (frozenset(["a", "b"]), True)
    assert d.choice_union((some, (None, False))) == (None, False)
