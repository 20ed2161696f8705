"""The stretches of a number over which the outcome of a finding stays the same.

Where the finding follows the number in straight pieces, they are found exactly: one
evaluation for each stretch (``lines``), one for each place between two. Elsewhere they are
enclosed: the range is halved until an evaluation over what is possible shows that a part
has one outcome throughout, or until the part is as narrow as was asked for.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor
from typing import Any, Final

from modrules.language.records import Open
from modrules.language.units import unit_factor, whole
from modrules.screening.findings import Finding
from modrules.screening.lines import Exact, NotStraight, Trace
from modrules.screening.varying import Target, Varying

#: so many evaluations are spent on one finding; what is open then is said to be open
MOST_EVALUATIONS: Final = 3000
#: a whole number is tried value by value where there are no more than these
MOST_TRIED: Final = 400
#: a range is divided into this many parts at least before an edge counts as enclosed
PARTS: Final = 2000

#: A place between numbers: just before the number (0), or just after it (1).
Cut = tuple[Exact, int]


@dataclass(frozen=True, slots=True)
class Piece:
    """A stretch from one cut to the next, and the outcomes of a finding over it.

    Not ``exact``: no other outcome is possible there, but not each need occur.
    """

    start: Cut
    end: Cut
    mask: int
    exact: bool = True

    def holds(self, value: Exact) -> bool:
        return self.start <= (value, 0) and (value, 1) <= self.end


def pieces_of(
    varying: Varying, finding: Finding, low: Exact, high: Exact, step: Fraction
) -> list[Piece]:
    """The stretches of a finding over a closed range, from left to right, without gaps."""
    if varying.straight and not varying.calls(finding):
        try:
            return traced(varying, lambda: varying.possible(finding), low, high)
        except NotStraight:
            pass
    if varying.target.whole and high - low <= MOST_TRIED:
        return merged(_each(varying, finding, int(low), int(high)))
    return merged(_enclosed(varying, finding, low, high, step))


def step_of(target: Target, low: Exact, high: Exact, parts: int = PARTS) -> Fraction:
    """How finely an edge is enclosed: a power of ten in the declared unit; 1 for whole numbers."""
    if target.whole:
        return Fraction(1)
    unit = unit_factor(target.fact.unit) / target.fact.scale
    most = Fraction(high - low) / parts
    step = unit
    while step > most:
        step /= 10
    while step * 10 <= most:
        step *= 10
    return step


def merged(pieces: Iterable[Piece]) -> list[Piece]:
    """Neighbours with the same outcomes as one."""
    found: list[Piece] = []
    for piece in pieces:
        if piece.start >= piece.end:
            continue
        last = found[-1] if found else None
        if last is not None and (last.mask, last.exact) == (piece.mask, piece.exact):
            found[-1] = Piece(last.start, piece.end, piece.mask, piece.exact)
        else:
            found.append(piece)
    return found


# -- exactly -----------------------------------------------------------------------------


def traced(varying: Varying, possible: Callable[[], int], low: Exact, high: Exact) -> list[Piece]:
    """The stretches over which something that is found for the fact as it is set is the same.

    Raises NotStraight where it does not follow the fact in straight pieces, or in too many.
    """
    return merged(_traced(varying, possible, low, high))


def _traced(
    varying: Varying, possible: Callable[[], int], low: Exact, high: Exact
) -> Iterator[Piece]:
    budget = MOST_EVALUATIONS
    step = varying.target.whole
    at = low

    def found_at(value: Exact) -> int:
        varying.set(whole(Fraction(value)))
        return possible()

    yield Piece((at, 0), (at, 1), found_at(at))
    while at < high:
        budget -= 1
        if budget < 0:
            raise NotStraight
        trace = Trace(at)
        varying.set(trace.line())
        mask = possible()
        end = high if trace.next is None or trace.next >= high else trace.next
        if not step:
            yield Piece((at, 1), (end, 0), mask)
            yield Piece((end, 0), (end, 1), found_at(end))
            at = end
            continue
        # Of whole numbers, those between the two; then the first that lies on or past the end.
        first, last = floor(at) + 1, ceil(end) - 1
        if first <= last:
            yield Piece((at, 1), (last, 1), mask)
        at = max(first, last + 1)
        yield Piece((at - 1, 1), (at, 1), found_at(at))


def _at(varying: Varying, finding: Finding, value: Exact) -> int:
    varying.set(whole(Fraction(value)))
    return varying.possible(finding)


def _each(varying: Varying, finding: Finding, low: int, high: int) -> Iterator[Piece]:
    """Whole numbers one by one."""
    for value in range(low, high + 1):
        yield Piece(
            (value - (value > low), int(value > low)), (value, 1), _at(varying, finding, value)
        )


# -- enclosed ----------------------------------------------------------------------------


def _enclosed(
    varying: Varying, finding: Finding, low: Exact, high: Exact, step: Fraction
) -> Iterator[Piece]:
    budget = MOST_EVALUATIONS
    known: dict[Exact, int] = {}
    gap_over = varying.target.whole

    def at(value: Exact) -> int:
        nonlocal budget
        if value not in known:
            budget -= 1
            known[value] = _at(varying, finding, value)
        return known[value]

    done: Cut = (low, 0)
    waiting = [(low, high)]
    while waiting:
        start, end = waiting.pop()
        if start == end:
            mask, settled, exact = at(start), True, True
        else:
            budget -= 1
            varying.set(Open(whole(Fraction(start)), whole(Fraction(end))))
            mask = varying.possible(finding)
            exact = mask & (mask - 1) == 0
            settled = exact or mask == at(start) == at(end) == at(_middle(start, end, step))
        if settled:
            yield Piece(done, (end, 1), mask, exact)
            done = (end, 1)
        elif gap_over and end - start == 1:
            waiting += [(end, end), (start, start)]
        elif end - start <= step or budget < 0:
            # What is at the right end belongs to the next part, unless there is none.
            here = (end, 1) if not waiting else (end, 0)
            yield Piece(done, here, mask, False)
            done = here
        else:
            middle = _middle(start, end, step)
            waiting += [(middle, end), (start, middle)]


def _middle(start: Exact, end: Exact, step: Fraction) -> Any:
    """A multiple of the step near the middle, inside the two wherever there is one."""
    middle = Fraction(start + end) / 2
    rounded = middle // step * step
    if not start < rounded < end:
        rounded += step
    return whole(rounded if start < rounded < end else middle)
