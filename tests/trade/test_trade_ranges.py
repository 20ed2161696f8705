"""Ranges: every operation holds every possible value, and open ends stay open."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from modrules.trade.ranges import (
    UNKNOWN,
    Range,
    TradeError,
    as_range,
    at_least_nothing,
    exact,
    least_rating,
    product,
    quotient,
    show,
    total,
)

_NUMBERS = st.fractions(-1000, 1000, max_denominator=12)


@st.composite
def ranges_with_a_value(draw: st.DrawFn, least: int = -1000) -> tuple[Range, Fraction]:
    """A range, perhaps open, and a value in it."""
    low, value, high = sorted(draw(st.tuples(*[st.fractions(least, 1000, max_denominator=12)] * 3)))
    return Range(low, None if draw(st.booleans()) else high), value


def _holds(found: Range, value: Fraction) -> bool:
    return (found.low is None or found.low <= value) and (found.high is None or value <= found.high)


@given(ranges_with_a_value(), ranges_with_a_value(), _NUMBERS)
def test_sums_differences_and_multiples_hold(
    one: tuple[Range, Fraction], other: tuple[Range, Fraction], factor: Fraction
) -> None:
    (left, x), (right, y) = one, other
    assert _holds(left + right, x + y)
    assert _holds(left - right, x - y)
    assert _holds(left.times(factor), x * factor)
    assert _holds(total([left, right, left]), x + y + x)
    if factor:
        assert _holds(left.over(factor), x / factor)


@given(ranges_with_a_value(least=0), ranges_with_a_value())
def test_products_and_quotients_hold(
    one: tuple[Range, Fraction], other: tuple[Range, Fraction]
) -> None:
    (left, x), (right, y) = one, other
    assert _holds(product(left, right), x * y)
    assert _holds(product(left, Range(None, right.high)), x * y)
    if x > 0:
        assert _holds(quotient(right, left), y / x)


@given(ranges_with_a_value(), ranges_with_a_value())
def test_a_comparison_is_never_wrong(
    one: tuple[Range, Fraction], other: tuple[Range, Fraction]
) -> None:
    (left, x), (right, y) = one, other
    answer = left.at_most(right)
    assert answer is None or answer == (x <= y)


@given(_NUMBERS, _NUMBERS)
def test_exact_values_are_always_compared(x: Fraction, y: Fraction) -> None:
    assert as_range(x).at_most(as_range(y)) is (x <= y)


def test_what_is_taken_for_a_measured_value() -> None:
    assert as_range(5) == Range(5, 5)
    assert as_range(Decimal("0.1")) == Range(Fraction(1, 10), Fraction(1, 10))
    assert as_range((1, Fraction(3, 2))) == Range(1, Fraction(3, 2))
    assert as_range(None) == UNKNOWN
    assert as_range(5).exact == 5
    assert as_range((5, 6)).exact is None
    assert UNKNOWN.exact is None


@pytest.mark.parametrize("value", [0.1, True, "5", Decimal("NaN"), Decimal("Infinity")])
def test_what_is_not(value: object) -> None:
    with pytest.raises(TradeError):
        exact(value)  # type: ignore[arg-type]


def test_a_range_goes_upwards() -> None:
    with pytest.raises(TradeError, match="from 2 down to 1"):
        Range(2, 1)


def test_what_cant_be_negative() -> None:
    assert at_least_nothing(None, "a mass") == Range(0, None)
    with pytest.raises(TradeError, match="a mass can't be -1"):
        at_least_nothing(-1, "a mass")


def test_the_least_rating_is_named() -> None:
    least = least_rating({"vehicle": 400, "general": 750})
    assert least is not None
    assert (least.value.exact, least.by) == (400, ("vehicle",))


def test_a_rating_not_known_leaves_the_least_open_downwards() -> None:
    least = least_rating({"vehicle": None, "general": 750})
    assert least is not None
    assert least.value == Range(0, 750)
    assert least.by == ("vehicle", "general")


def test_equal_ratings_are_both_named_and_no_rating_is_no_limit() -> None:
    least = least_rating({"bar": 75, "rack": 75, "roof": (80, 90)})
    assert least is not None
    assert least.by == ("bar", "rack")
    assert least_rating({}) is None


@pytest.mark.parametrize(
    ("found", "shown"),
    [
        (Range(5, 5), "5"),
        (Range(Fraction(1, 2), 2), "0.5 to 2"),
        (Range(0, None), "0 or more"),
        (Range(None, 3), "3 or less"),
        (UNKNOWN, "not known"),
        (Range(Fraction(1, 3), Fraction(1, 3)), "about 0.333"),
    ],
)
def test_showing(found: Range, shown: str) -> None:
    assert str(found) == shown


def test_showing_nothing() -> None:
    assert show(None) == "not known"
