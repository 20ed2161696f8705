"""Range and the fuel indicator after a bigger tank. Volumes in L, consumption in L per 100 km."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from typing import Literal

from modrules.trade.ranges import Number, TradeError, show

#: How the indicator may work after a bigger tank: the sender spans the new tank from empty to
#: full, or it still tells litres up to what the old tank held.
Sender = Literal["spans the tank", "tells litres"]

ASSUMED: dict[Sender, str] = {
    "spans the tank": "the sender spans the new tank from empty to full, in proportion to litres",
    "tells litres": "the sender still tells litres, up to what the old tank held",
}


def planned_range(tank: Number, consumptions: Iterable[Number], margin: Number) -> Fraction:
    """The km to plan on: the worst of the consumptions, with ``margin`` L left in the tank.

    Raises :class:`TradeError` without a consumption, and where the margin is above the tank.
    """
    worst = max(consumptions, default=None)
    if worst is None:
        raise TradeError("a range takes at least one consumption")
    found = fuel_range(Fraction(tank), Fraction(worst), Fraction(margin))
    if found is None:
        raise TradeError(
            f"no range follows from a tank of {show(tank)} L, {show(worst)} L per 100 km and a "
            f"margin of {show(margin)} L"
        )
    return found


def fuel_range(tank: Fraction, consumption: Fraction, margin: Fraction) -> Fraction | None:
    """The km on a tank (L) at a consumption (L per 100 km) with a margin (L) left in it.
    ``None`` for a consumption of zero or less, a margin below zero or above the tank."""
    if consumption <= 0 or margin < 0 or margin > tank:
        return None
    return 100 * (Fraction(tank) - margin) / consumption


def indicated_share(
    litres: Number, old_tank: Number, new_tank: Number, sender: Sender
) -> tuple[Fraction, str]:
    """What the indicator shows of full (0 to 1) with ``litres`` in the new tank, and the
    assumption that this rests on.

    Raises :class:`TradeError` for tanks of zero or less and for more fuel than fits.
    """
    if old_tank <= 0 or new_tank <= 0:
        raise TradeError("a tank holds more than nothing")
    if not 0 <= litres <= new_tank:
        raise TradeError(f"{show(litres)} L are not in a tank of {show(new_tank)} L")
    share = Fraction(litres) / (new_tank if sender == "spans the tank" else old_tank)
    return min(share, Fraction(1)), ASSUMED[sender]


def indicator_error_litres(
    litres: Number, old_tank: Number, new_tank: Number, sender: Sender
) -> tuple[Fraction, str]:
    """How many L fewer there are than a driver used to the old tank reads (below zero: more),
    and the assumption that this rests on."""
    share, assumed = indicated_share(litres, old_tank, new_tank, sender)
    return share * old_tank - litres, assumed


def indicator_error(
    sender: str, shown: Fraction, old_tank: Fraction, new_tank: Fraction
) -> Fraction | None:
    """How many L fewer there are than the share ``shown`` (0 to 1) of the new tank when the
    indicator shows that share (below zero: more). ``sender`` is an assumption: one that "spans
    the tank" shows what there is; one that "tells litres" shows the share of the old tank.
    ``None`` for another sender, for tanks of zero or less and for a share out of bounds."""
    if min(old_tank, new_tank) <= 0 or not 0 <= shown <= 1:
        return None
    if sender == "spans the tank":
        return Fraction(0)
    return shown * (Fraction(new_tank) - old_tank) if sender == "tells litres" else None
