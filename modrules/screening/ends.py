"""From which end of a band the margin counts, and where the room lies."""

from __future__ import annotations

from typing import Final

from modrules.language.tree import Node
from modrules.ruleset.typed import BIT, TypedBand, TypedCheck

CAUTION: Final = BIT["caution"]

#: An end of a band as an expression, and the side of the room: +1, room is end - measure; -1,
#: room is measure - end.
End = tuple[Node, int]


def margin_end(check: TypedCheck, band: TypedBand) -> End | None:
    """The end of a band that matters, and where the room lies; None where it has no end.

    For a harmless band that is the end beyond which it gets worst: the room is what is left
    up to there. For a worse one it is the end at which the mildest neighbour begins: the
    margin is negative, by how much it is over.
    """
    harmless = band.outcome <= CAUTION
    best: tuple[int, Node, int] | None = None
    for end, is_low in ((band.high_end, False), (band.low_end, True)):
        if end is None:
            continue
        beyond = [
            other.outcome
            for other in check.bands
            if other is not band and _same(other.high_end if is_low else other.low_end, end)
        ]
        if harmless:
            rank = -max(beyond, default=1 << 8)
            sign = -1 if is_low else 1
        else:
            rank = min(beyond, default=1 << 8)
            sign = 1 if is_low else -1
        if best is None or rank < best[0]:
            best = (rank, end, sign)
    return (best[1], best[2]) if best is not None else None


def end_passed(band: TypedBand, passed: TypedBand) -> End | None:
    """The end by which the measure left ``passed``, a band before, where its only end tells.

    It is None where that band has two ends or none, or comes to the same outcome.
    """
    if (passed.low_end is None) == (passed.high_end is None) or passed.outcome == band.outcome:
        return None
    milder = band.outcome < passed.outcome
    if passed.low_end is not None:
        return passed.low_end, 1 if milder else -1
    assert passed.high_end is not None
    return passed.high_end, -1 if milder else 1


def _same(one: Node | None, other: Node) -> bool:
    """Whether two ends are the same number, or the same expression."""
    if one is None or one.op != "const" or other.op != "const":
        return one is other
    return bool(one.value * one.scale == other.value * other.scale)
