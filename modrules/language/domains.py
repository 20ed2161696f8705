"""Sets of possible values: truth masks, number ranges and choices.

Every expression has a value; one of the values is *no value* (a table without the
key, a division by zero, a limit that nobody states). So a condition is true,
false or without a value, and what is possible is a set of these three: a mask.
A number is a range with ends, and a mark whether no value is possible too; an
end may be infinite. A word or text is a set of possible ones, or ANY.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from typing import Any, Final

FALSE: Final = 1
TRUE: Final = 2
GAP: Final = 4
UNDECIDED: Final = FALSE | TRUE

INFINITE: Final = float("inf")

Number = int | Fraction | float
#: lowest, highest, and whether "no value" is possible; lowest > highest: nothing else is
Range = tuple[Number, Number, bool]
NOTHING: Final[Range] = (1, 0, True)
ANYTHING: Final[Range] = (-INFINITE, INFINITE, True)
#: the possible values (None: any), and whether "no value" is possible
Choice = tuple[frozenset[Any] | None, bool]


def _table(rule: Any) -> tuple[tuple[int, ...], ...]:
    singles = (FALSE, TRUE, GAP)
    rows = []
    for a in range(8):
        row = []
        for b in range(8):
            mask = 0
            for x in singles:
                for y in singles:
                    if a & x and b & y:
                        mask |= rule(x, y)
            row.append(mask)
        rows.append(tuple(row))
    return tuple(rows)


def _and(x: int, y: int) -> int:
    if FALSE in (x, y):
        return FALSE
    return GAP if GAP in (x, y) else TRUE


def _or(x: int, y: int) -> int:
    if TRUE in (x, y):
        return TRUE
    return GAP if GAP in (x, y) else FALSE


#: strong Kleene connectives, lifted to sets of truth values
AND: Final = _table(_and)
OR: Final = _table(_or)
NOT: Final = tuple(
    (TRUE if m & FALSE else 0) | (FALSE if m & TRUE else 0) | (m & GAP) for m in range(8)
)


def truth(value: bool) -> int:
    return TRUE if value else FALSE


def add(a: Number, b: Number) -> Number:
    """A sum of which an infinite side wins; the two are never infinite in opposite ways."""
    if isinstance(a, float):
        return a
    return b if isinstance(b, float) else a + b


def times(a: Number, b: Number) -> Number:
    """A product, in which zero times an infinite end is zero."""
    if isinstance(a, float) or isinstance(b, float):
        if a == 0 or b == 0:
            return 0
        return INFINITE if (a > 0) == (b > 0) else -INFINITE
    return a * b


def range_add(a: Range, b: Range) -> Range:
    if a[0] > a[1] or b[0] > b[1]:
        return NOTHING
    return add(a[0], b[0]), add(a[1], b[1]), a[2] or b[2]


def range_negative(a: Range) -> Range:
    return a if a[0] > a[1] else (-a[1], -a[0], a[2])


def range_times(a: Range, b: Range) -> Range:
    if a[0] > a[1] or b[0] > b[1]:
        return NOTHING
    for known, other in ((b, a), (a, b)):
        factor = known[0]
        if factor is known[1] and (factor.__class__ is int or factor.__class__ is Fraction):
            # By one exact number the ends keep their order, or change places.
            low = times(other[0], factor)
            high = low if other[0] is other[1] else times(other[1], factor)
            return (*((low, high) if factor >= 0 else (high, low)), a[2] or b[2])
    ends = (times(a[0], b[0]), times(a[0], b[1]), times(a[1], b[0]), times(a[1], b[1]))
    return min(ends), max(ends), a[2] or b[2]


def range_over(a: Range, b: Range) -> Range:
    """A quotient; a divisor that may be zero leaves everything possible."""
    if a[0] > a[1] or b[0] > b[1] or (b[0] == 0 and b[1] == 0):
        return NOTHING
    if b[0] <= 0 <= b[1]:
        return ANYTHING
    return range_times(a, (_inverse(b[1]), _inverse(b[0]), b[2]))


def _inverse(value: Number) -> Number:
    return 0 if isinstance(value, float) else Fraction(1) / value


def range_absolute(a: Range) -> Range:
    if a[0] > a[1] or a[0] >= 0:
        return a
    return (-a[1], -a[0], a[2]) if a[1] <= 0 else (0, max(-a[0], a[1]), a[2])


def range_floor(a: Range, step: int) -> Range:
    return a if a[0] > a[1] else (_floor(a[0], step), _floor(a[1], step), a[2])


def range_ceiling(a: Range, step: int) -> Range:
    return range_negative(range_floor(range_negative(a), step))


def _floor(value: Number, step: int) -> Number:
    return value if isinstance(value, float) else value // step * step


def hull(ranges: Iterable[Range]) -> Range:
    """The smallest range that holds all of ``ranges``."""
    low: Number = 1
    high: Number = 0
    gap = False
    empty = True
    for lowest, highest, lacking in ranges:
        gap = gap or lacking
        if lowest > highest:
            continue
        if empty:
            low, high, empty = lowest, highest, False
        else:
            low, high = min(low, lowest), max(high, highest)
    return low, high, gap


def range_smallest(a: Range, b: Range) -> Range:
    if a[0] > a[1] or b[0] > b[1]:
        return NOTHING
    return min(a[0], b[0]), min(a[1], b[1]), a[2] or b[2]


def range_largest(a: Range, b: Range) -> Range:
    if a[0] > a[1] or b[0] > b[1]:
        return NOTHING
    return max(a[0], b[0]), max(a[1], b[1]), a[2] or b[2]


def at_most(a: Range, b: Range) -> int:
    """The mask of ``a <= b``."""
    if a[0] > a[1] or b[0] > b[1]:
        return GAP
    mask = GAP if a[2] or b[2] else 0
    if a[1] <= b[0]:
        return mask | TRUE
    if a[0] > b[1]:
        return mask | FALSE
    return mask | UNDECIDED


def choice_union(choices: Iterable[Choice]) -> Choice:
    values: set[Any] = set()
    gap = unlimited = False
    for chosen, lacking in choices:
        gap = gap or lacking
        if chosen is None:
            unlimited = True
        else:
            values |= chosen
    return (None if unlimited else frozenset(values)), gap
