"""A number that depends on one varied number in a straight line: ``a + b * x``.

The interval evaluator only adds, multiplies and compares its numbers. Given a ``Line`` in
place of a number it runs as ever, just to the right of a starting point, and every
comparison notes where, further right, it would come out otherwise. So up to the nearest of
these places the evaluation takes the same path, and the outcome is the same.
"""

from __future__ import annotations

from fractions import Fraction
from math import floor
from typing import Any

from modrules.language.units import whole

Exact = int | Fraction


class NotStraight(Exception):
    """What is evaluated does not depend on the varied number in straight pieces."""


class Trace:
    """The run of one evaluation just to the right of ``at``; ``next``: where it may turn."""

    __slots__ = ("at", "next")

    def __init__(self, at: Exact) -> None:
        self.at = at
        self.next: Exact | None = None

    def line(self) -> Line:
        """The varied number itself."""
        return Line(0, 1, self)

    def turns(self, place: Exact) -> None:
        """Notes a place to the right of the start."""
        if place > self.at and (self.next is None or place < self.next):
            self.next = place


class Line:
    """``start + slope * x`` for the x of a trace; the slope is never 0."""

    __slots__ = ("slope", "start", "trace")

    def __init__(self, start: Exact, slope: Exact, trace: Trace) -> None:
        self.start = start
        self.slope = slope
        self.trace = trace

    def _made(self, start: Exact, slope: Exact) -> Any:
        return Line(start, slope, self.trace) if slope else whole(Fraction(start))

    # -- arithmetic ------------------------------------------------------------------

    def __add__(self, other: Any) -> Any:
        if isinstance(other, Line):
            return self._made(self.start + other.start, self.slope + other.slope)
        if isinstance(other, float):
            return other
        return self._made(self.start + other, self.slope)

    __radd__ = __add__

    def __neg__(self) -> Any:
        return self._made(-self.start, -self.slope)

    def __sub__(self, other: Any) -> Any:
        return self + -other

    def __rsub__(self, other: Any) -> Any:
        return -self + other

    def __mul__(self, other: Any) -> Any:
        if isinstance(other, Line):
            raise NotStraight
        return self._made(self.start * other, self.slope * other)

    __rmul__ = __mul__

    def __truediv__(self, other: Any) -> Any:
        if isinstance(other, Line):
            raise NotStraight
        return self * (Fraction(1) / other)

    def __rtruediv__(self, _other: Any) -> Any:
        raise NotStraight

    def __floordiv__(self, step: Any) -> Any:
        """The whole number below, which turns where the next one is reached."""
        if isinstance(step, Line):
            raise NotStraight
        here = Fraction(self.start + self.slope * self.trace.at) / step
        down = (self.slope < 0) != (step < 0)
        below = floor(here)
        if down and below == here:
            below -= 1
        turning = below if down else below + 1
        self.trace.turns((Fraction(turning * step) - self.start) / self.slope)
        return below

    def __abs__(self) -> Any:
        return -self if self < 0 else self

    def __int__(self) -> int:
        raise NotStraight

    def __bool__(self) -> bool:
        raise NotStraight

    # -- comparisons -----------------------------------------------------------------

    def _side(self, other: Any) -> int:
        """-1, 0 or 1 as this lies below, on or above the other, just right of the start."""
        if isinstance(other, float):
            return -1 if other > 0 else 1
        if isinstance(other, Line):
            start, slope = self.start - other.start, self.slope - other.slope
        else:
            start, slope = self.start - other, self.slope
        here = start + slope * self.trace.at
        if slope:
            self.trace.turns(Fraction(-start) / slope)
        decisive = here or slope
        return (decisive > 0) - (decisive < 0)

    def __lt__(self, other: Any) -> bool:
        return self._side(other) < 0

    def __le__(self, other: Any) -> bool:
        return self._side(other) <= 0

    def __gt__(self, other: Any) -> bool:
        return self._side(other) > 0

    def __ge__(self, other: Any) -> bool:
        return self._side(other) >= 0

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, (int, float, Fraction, Line)):
            return NotImplemented
        return self._side(other) == 0

    def __hash__(self) -> int:
        # A set or a cache would look for one number where there are many.
        raise NotStraight
