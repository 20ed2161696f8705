"""How much room a measure has up to its limit: an end of a band, or what it is compared with."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from modrules.language import domains as d
from modrules.language.intervals import Intervals
from modrules.language.possible import Env
from modrules.language.tree import Node
from modrules.ruleset.typed import TypedBand, TypedCheck
from modrules.screening.ends import Placed, ends_around, judged

#: A limit, and the room up to it that there is at least: both in the scale of the measure.
Room = tuple[d.Range, Any]


def rooms(
    check: TypedCheck, intervals: Intervals, env: Env, measured: d.Range, *, decided: bool
) -> list[Room]:
    """The limits that matter for what was measured, the nearest first.

    Of bands only where the finding is ``decided``: what is open may lie in several.
    """
    ends: list[tuple[d.Range | None, int]] = []
    if check.bands:
        ends += _of_bands(check, intervals, env, measured) if decided else ()
    elif check.limit is not None:
        ends.append((intervals.closure(check.limit)(env), check.direction))
    found = [
        (end, end[0] - measured[1] if sign > 0 else measured[0] - end[1])
        for end, sign in ends
        if end is not None and end[0] <= end[1]
    ]
    return sorted(found, key=lambda room: abs(room[1]))


def _of_bands(
    check: TypedCheck, intervals: Intervals, env: Env, measured: d.Range
) -> list[tuple[d.Range | None, int]]:
    """The ends of bands that matter; of one that is not known exactly, all that it may be."""
    placed: list[Placed] = []
    inexact: dict[d.Number, d.Range] = {}
    for band in check.bands:
        truth = d.TRUE
        if band.condition is not None:
            truth = intervals.closure(band.condition)(env)
        if truth == d.FALSE:
            continue
        low, high = (_in_scale(check, intervals, env, e) for e in (band.low_end, band.high_end))
        for end in (low, high):
            if end is not None and (end[0] != end[1] or end[2]):
                inexact |= {end[0]: end, end[1]: end}
        placed += _placed(band, low, high, certain=truth == d.TRUE)
    around = ends_around(judged(placed), measured[0], measured[1])
    return [(inexact.get(end, (end, end, False)), sign) for end, sign in around]


def _placed(
    band: TypedBand, low: d.Range | None, high: d.Range | None, *, certain: bool
) -> Iterator[Placed]:
    """What a band covers for certain, within all that its ends may be; then what it may cover."""
    known = not any(end is not None and (end[2] or end[0] > end[1]) for end in (low, high))
    lows, highs = low or (None, None), high or (None, None)

    def place(bottom: d.Number | None, top: d.Number | None, certain: bool) -> Placed:
        return Placed(
            band.outcome,
            band.certification,
            bottom,
            band.low_closed,
            top,
            band.high_closed,
            certain,
        )

    if known:
        yield place(lows[1], highs[0], certain)
    yield place(lows[0], highs[1], False) if known else place(None, None, False)


def _in_scale(
    check: TypedCheck, intervals: Intervals, env: Env, end: Node | None
) -> d.Range | None:
    """The values of an end in the scale of the measure; None where there is none."""
    if end is None:
        return None
    found: d.Range = intervals.closure(end)(env)
    assert check.measure is not None
    factor = end.scale / check.measure.scale
    if found[0] > found[1] or factor == 1:
        return found
    return found[0] * factor, found[1] * factor, found[2]
