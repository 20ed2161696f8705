"""From which ends of bands the margin counts, and where the room lies.

Bands divide their measure into stretches: the ends themselves, and what lies between two of them.
From where the measure lies, the outcome is followed up and down to where it changes.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from modrules.language.domains import INFINITE, Number
from modrules.ruleset.typed import BIT, TypedCheck

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
    low: Number
    low_closed: bool
    high: Number
    high_closed: bool
    certain: bool = True

    def covers(self, low: Number, high: Number) -> bool:
        """Whether it covers a stretch, which no end divides."""
        above = self.low <= low and (low < high or self.low_closed or self.low < low)
        below = self.high >= high and (low < high or self.high_closed or self.high > high)
        return above and below


@dataclass(frozen=True, slots=True)
class Stretch:
    """What lies between two ends, or one end itself (``low`` is ``high``).

    ``outcomes``: what it may come to, as a mask; 0 where no band says anything of it.
    ``certifications``: those that it may require.
    """

    low: Number
    high: Number
    outcomes: int
    certifications: frozenset[str | None]

    def touches(self, low: Number, high: Number) -> bool:
        if self.low == self.high:
            return low <= self.low <= high
        return low < self.high and self.low < high


def stretches(bands: Sequence[Placed]) -> tuple[Stretch, ...]:
    """The stretches into which bands divide all numbers, from left to right."""
    ends = sorted({end for band in bands for end in (band.low, band.high) if abs(end) != INFINITE})
    found = []
    last: Number = -INFINITE
    for end in ends:
        found += [(last, end), (end, end)]
        last = end
    found.append((last, INFINITE))
    return tuple(_stretch(bands, low, high) for low, high in found)


def _stretch(bands: Iterable[Placed], low: Number, high: Number) -> Stretch:
    mask, certifications = 0, set()
    for band in bands:
        if band.covers(low, high):
            mask |= band.outcome
            certifications.add(band.certification)
            if band.certain:
                break
    return Stretch(low, high, mask, frozenset(certifications))


def ends_around(divided: Sequence[Stretch], low: Number, high: Number) -> tuple[End, ...]:
    """The ends that matter for a measure between two numbers; nothing where it has no one outcome.

    Where the outcome is harmless, the next ends at which it gets worse; if it does so on neither
    side, those beyond which no band says anything: the room is what is left up to there. Of a
    worse one, the next at which it gets milder or takes another certification, on the side where
    it gets mildest: the margin is negative, by how much it is over.
    """
    at = [n for n, stretch in enumerate(divided) if stretch.touches(low, high)]
    own = {divided[n].outcomes for n in at}
    if len(own) != 1:
        return ()
    (outcome,) = own
    if outcome == 0 or outcome & (outcome - 1):
        return ()
    up = [(each.low, 1, each) for each in divided[at[-1] + 1 :]]
    down = [(each.high, -1, each) for each in reversed(divided[: at[0]])]
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
        Placed(
            band.outcome,
            band.certification,
            -INFINITE if band.low is None else band.low,
            band.low_closed,
            INFINITE if band.high is None else band.high,
            band.high_closed,
        )
        for band in check.bands
    ]
    divided = stretches(bands)
    ends: dict[int, set[tuple[End, ...]]] = {}
    for each in divided:
        first = next((n for n, b in enumerate(bands) if b.covers(each.low, each.high)), None)
        if first is not None:
            inside = _inside(each)
            ends.setdefault(first, set()).add(ends_around(divided, inside, inside))
    sure = {index: found.pop() for index, found in ends.items() if len(found) == 1}
    return {index: found[0] for index, found in sure.items() if len(found) == 1}


def _inside(stretch: Stretch) -> Number:
    """A number in a stretch."""
    if stretch.low == stretch.high:
        return stretch.low
    if abs(stretch.low) == INFINITE:
        return 0 if abs(stretch.high) == INFINITE else stretch.high - 1
    if abs(stretch.high) == INFINITE:
        return stretch.low + 1
    return Fraction(stretch.low + stretch.high) / 2
