"""From which ends of bands the margin counts, and where the room lies.

Bands divide their measure into segments: the ends themselves, and what lies between two of them.
From where the measure lies, the outcome is followed up and down to where it changes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from modrules.language.domains import INFINITE, Number
from modrules.ruleset.typed import BIT, TypedCheck
from modrules.screening.evaluate import Segment, segments

CAUTION: Final = BIT["caution"]
#: Ranks what no band says anything of behind all outcomes.
_UNSAID: Final = 1 << 8
#: An end in the scale of the measure, and the side of the room: +1, room is end - measure; -1,
#: room is measure - end.
End = tuple[Number, int]


@dataclass(frozen=True, slots=True)
class Placed:
    """A band with its ends as numbers: whether it counts for certain, and what it comes to."""

    outcome: int
    certification: str | None
    low: Number | None
    low_closed: bool
    high: Number | None
    high_closed: bool
    certain: bool = True


@dataclass(frozen=True, slots=True)
class Judged:
    """A segment of the measure with what it may come to.

    ``outcomes``: as a mask; 0 where no band says anything of it. ``certifications``: those that it
    may require.
    """

    segment: Segment
    outcomes: int
    certifications: frozenset[str | None]


def judged(bands: Sequence[Placed]) -> tuple[Judged, ...]:
    """The segments into which bands divide all numbers, from left to right."""
    found = []
    for segment in segments(bands):
        mask, certifications = 0, set()
        for index in segment.bands:
            mask |= bands[index].outcome
            certifications.add(bands[index].certification)
            if bands[index].certain:
                break
        found.append(Judged(segment, mask, frozenset(certifications)))
    return tuple(found)


def ends_around(divided: Sequence[Judged], low: Number, high: Number) -> tuple[End, ...]:
    """The ends that matter for a measure between two numbers; nothing where it has no one outcome.

    Where the outcome is harmless, the next ends at which it gets worse; if it does so on neither
    side, those beyond which no band says anything: the room is what is left up to there. Of a
    worse one, the next at which it gets milder or takes another certification, on the side where
    it gets mildest: the margin is negative, by how much it is over.
    """
    at = [n for n, each in enumerate(divided) if each.segment.touches(low, high)]
    own = {divided[n].outcomes for n in at}
    if len(own) != 1:
        return ()
    (outcome,) = own
    if outcome == 0 or outcome & (outcome - 1):
        return ()
    up = [(each.segment.low, 1, each) for each in divided[at[-1] + 1 :]]
    down = [(each.segment.high, -1, each) for each in reversed(divided[: at[0]])]
    if outcome <= CAUTION:
        worse: list[End] = []
        unsaid: list[End] = []
        for side in (up, down):
            for end, sign, each in side:
                if each.outcomes == 0 or each.outcomes.bit_length() > outcome.bit_length():
                    (worse if each.outcomes else unsaid).append((end, sign))
                    break
        return tuple(worse or unsaid)
    milder: list[tuple[int, Number, int]] = []
    certifications = frozenset().union(*(divided[n].certifications for n in at))
    for side in (up, down):
        for end, sign, each in side:
            # Where no band says anything, what lies behind it tells nothing of this side.
            bits = each.outcomes.bit_length() or _UNSAID
            other = bits < outcome.bit_length() or each.certifications != certifications
            if bits == _UNSAID or (bits <= outcome.bit_length() and other):
                milder.append((bits, end, -sign))
                break
    mildest = min((bits for bits, _, _ in milder), default=0)
    return tuple((end, sign) for bits, end, sign in milder if bits == mildest)


def constant_ends(check: TypedCheck) -> dict[int, End]:
    """For bands by their index, the one end that matters wherever the band applies.

    Only of bands without conditions and with constant ends; where it is the nearest of two, or
    hangs on where in the band the measure lies, it is left to whoever reads the finding.
    """
    if check.measure is None or any(band.extra is not None for band in check.bands):
        return {}
    bands = [
        Placed(b.outcome, b.certification, b.low, b.low_closed, b.high, b.high_closed)
        for b in check.bands
    ]
    divided = judged(bands)
    ends: dict[int, set[tuple[End, ...]]] = {}
    for each in divided:
        if each.segment.bands:
            inside = _inside(each.segment)
            around = ends_around(divided, inside, inside)
            ends.setdefault(each.segment.bands[0], set()).add(around)
    sure = {index: found.pop() for index, found in ends.items() if len(found) == 1}
    return {index: found[0] for index, found in sure.items() if len(found) == 1}


def _inside(segment: Segment) -> Number:
    """A number in a segment."""
    if segment.low == segment.high:
        return segment.low
    if abs(segment.low) == INFINITE:
        return 0 if abs(segment.high) == INFINITE else segment.high - 1
    if abs(segment.high) == INFINITE:
        return segment.low + 1
    return Fraction(segment.low + segment.high) / 2
