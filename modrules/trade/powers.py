"""Powers, roots and cosines, which have no exact value: rounded outwards to whole steps.

A result rounded up is never below the true value, one rounded down never above it, and both
follow their argument one way only, so that bounds carry over.
"""

from __future__ import annotations

from fractions import Fraction
from math import factorial

from modrules.trade.ranges import Number
from modrules.trade.tyres import PI_HIGH

#: Numbers beyond this are refused by the functions built on these, to keep the work bounded.
LARGEST = 10**9

# The cosine's series to this power is below the cosine by less than 10^-12 up to a right angle,
# and falls throughout.
_COSINE_TERMS = 10


def power_up(base: Number, numerator: int, denominator: int, step: Fraction) -> Fraction:
    """The least multiple of ``step`` that is not below ``base ** (numerator / denominator)``.

    ``base`` is not below zero; the exponent is above zero.
    """
    down = power_down(base, numerator, denominator, step)
    exact = (down**denominator) == Fraction(base) ** numerator
    return down if exact else down + step


def power_down(base: Number, numerator: int, denominator: int, step: Fraction) -> Fraction:
    """The largest multiple of ``step`` that is not above ``base ** (numerator / denominator)``."""
    scaled = Fraction(base) ** numerator / step**denominator
    return _root(scaled.numerator // scaled.denominator, denominator) * step


def cosine_down(degrees: Number) -> Fraction:
    """A number just below the cosine of 0 to 90 degrees (zero where it would be below zero)."""
    angle = Fraction(degrees) * PI_HIGH / 180
    square = angle * angle
    value, term = Fraction(0), Fraction(1)
    for place in range(_COSINE_TERMS):
        value += (-1) ** place * term / factorial(2 * place)
        term *= square
    return max(value, Fraction(0))


def round_up(value: Fraction, step: Fraction) -> Fraction:
    """The least multiple of ``step`` that is not below ``value``."""
    return -((-value) // step) * step


def _root(value: int, degree: int) -> int:
    """The whole part of the root of a whole number, by Newton's rule from above."""
    if value < 2:
        return value
    guess = 1 << (-(-value.bit_length() // degree))
    while True:
        better = ((degree - 1) * guess + value // guess ** (degree - 1)) // degree
        if better >= guess:
            return guess
        guess = better
