"""Exact numbers with a tolerance: a range from a lowest to a highest value.

An end that is ``None`` is not known: ``Range(0, None)`` is a part whose mass nobody has
weighed. Comparisons answer ``True``, ``False`` or ``None``, where ``None`` means that the
range leaves it open.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

Number = int | Fraction


class TradeError(ValueError):
    """A value that can't be: one clear sentence."""


@dataclass(frozen=True, slots=True)
class Range:
    """All values from ``low`` to ``high``, ends included; an end that is ``None`` is not known."""

    low: Number | None
    high: Number | None

    def __post_init__(self) -> None:
        if self.low is not None and self.high is not None and self.low > self.high:
            raise TradeError(f"a range can't go from {show(self.low)} down to {show(self.high)}")

    @property
    def exact(self) -> Number | None:
        """The value, where there is only one."""
        return self.low if self.low == self.high else None

    def __add__(self, other: Range) -> Range:
        return Range(_sum(self.low, other.low), _sum(self.high, other.high))

    def __neg__(self) -> Range:
        return Range(_minus(self.high), _minus(self.low))

    def __sub__(self, other: Range) -> Range:
        return self + -other

    def times(self, factor: Number) -> Range:
        """Every value times ``factor``."""
        if factor == 0:
            return Range(0, 0)
        low, high = _product(self.low, factor), _product(self.high, factor)
        return Range(low, high) if factor > 0 else Range(high, low)

    def over(self, divisor: Number) -> Range:
        """Every value divided by ``divisor``, which is not zero."""
        return self.times(Fraction(1) / divisor)

    def at_most(self, limit: Range) -> bool | None:
        """Whether the value is at most the limit, whichever value each takes."""
        if self.high is not None and limit.low is not None and self.high <= limit.low:
            return True
        if self.low is not None and limit.high is not None and self.low > limit.high:
            return False
        return None

    def __str__(self) -> str:
        if self.low is not None and self.low == self.high:
            return show(self.low)
        if self.low is None and self.high is None:
            return "not known"
        if self.high is None:
            return f"{show(self.low)} or more"
        if self.low is None:
            return f"{show(self.high)} or less"
        return f"{show(self.low)} to {show(self.high)}"


#: What functions take for a measured value: exact, a pair (low, high), or ``None`` (not known).
Measured = Number | Decimal | tuple[Number | Decimal, Number | Decimal] | Range | None

UNKNOWN = Range(None, None)


def exact(value: Number | Decimal) -> Number:
    """The value as a whole number or fraction. A float is refused: it is not what was written."""
    if isinstance(value, bool) or not isinstance(value, int | Fraction | Decimal):
        raise TradeError(f"{value!r} is no exact number: give an int, a Fraction or a Decimal")
    if isinstance(value, Decimal):
        if not value.is_finite():
            raise TradeError(f"{value} is no number")
        return Fraction(value)
    return value


def as_range(value: Measured) -> Range:
    """The range of a measured value."""
    if value is None:
        return UNKNOWN
    if isinstance(value, Range):
        return value
    if isinstance(value, tuple):
        return Range(exact(value[0]), exact(value[1]))
    number = exact(value)
    return Range(number, number)


def at_least_nothing(value: Measured, what: str) -> Range:
    """As :func:`as_range` for what can't be below zero: not known is zero or more."""
    found = as_range(value)
    if found.low is None:
        found = Range(0, found.high)
    if found.low is not None and found.low < 0:
        raise TradeError(f"{what} can't be {show(found.low)}")
    return found


def product(left: Range, right: Range) -> Range:
    """Every product of a value of ``left``, which is not below zero, and one of ``right``."""
    least = left.low
    if least is None or least < 0:
        raise TradeError("the first factor of a product can't be below zero")
    return Range(
        _end(least, left.high, right.low, downwards=True),
        _end(least, left.high, right.high, downwards=False),
    )


def quotient(left: Range, right: Range) -> Range:
    """Every quotient of a value of ``left`` and one of ``right``, which is above zero."""
    if right.low is None or right.low <= 0:
        return UNKNOWN
    inverse = Range(
        Fraction(0) if right.high is None else Fraction(1) / right.high, Fraction(1) / right.low
    )
    return product(inverse, left)


@dataclass(frozen=True, slots=True)
class Least:
    """The least of several ratings, and the names of those that may be it."""

    value: Range
    by: tuple[str, ...]


def least_rating(ratings: Mapping[str, Measured]) -> Least | None:
    """The least of the named ratings.

    A rating that is not known is given as ``None`` and leaves the result open downwards. One
    that the maker does not state is left out. ``None`` where no rating is given.
    """
    ranges = {name: at_least_nothing(value, name) for name, value in ratings.items()}
    if not ranges:
        return None
    low = min(found.low for found in ranges.values() if found.low is not None)
    highs = [found.high for found in ranges.values() if found.high is not None]
    value = Range(low, min(highs) if highs else None)
    by = tuple(
        name
        for name, found in ranges.items()
        if value.high is None or found.low is None or found.low <= value.high
    )
    return Least(value, by)


def total(ranges: Iterable[Range]) -> Range:
    """The sum of all ranges."""
    result = Range(0, 0)
    for found in ranges:
        result = result + found
    return result


def show(value: Number | None) -> str:
    """A number for a reader: exact where it is short, else to three decimals."""
    if value is None:
        return "not known"
    if value == int(value):
        return str(int(value))
    shown = f"{float(value):.3f}".rstrip("0").rstrip(".")
    return shown if Fraction(shown) == value else f"about {shown}"


def _sum(left: Number | None, right: Number | None) -> Number | None:
    return None if left is None or right is None else left + right


def _minus(value: Number | None) -> Number | None:
    return None if value is None else -value


def _product(value: Number | None, factor: Number) -> Number | None:
    return None if value is None else value * factor


def _end(
    least: Number, most: Number | None, other: Number | None, *, downwards: bool
) -> Number | None:
    """One end of ``[least, most] * other``, where ``other`` is the end of the second factor."""
    if other is None:
        return 0 if most == 0 else None
    # Towards its own side the larger factor reaches farther, towards the other side the smaller.
    outwards = other < 0 if downwards else other > 0
    if not outwards:
        return least * other
    return None if most is None else most * other
