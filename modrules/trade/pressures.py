"""Tyre pressures: a starting cold pressure from the load, warm pressure, what wear says.

Pressures are in kPa above the air's, loads in kg on one tyre, temperatures in degrees Celsius.
Advice: what the placard and the makers of tyre and rim say goes first.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from modrules.trade.powers import LARGEST, power_down, power_up
from modrules.trade.ranges import Number, TradeError, show

#: Load goes with this power of the pressure, by class of tyre. Light truck: fits the published
#: load-and-pressure table of an LT235/85R16 within 2 per cent. Passenger and commercial: the
#: relation of the European tyre association's manual, from memory; it asks for more pressure.
LOAD_EXPONENTS: dict[str, tuple[int, int]] = {
    "light truck": (7, 10),
    "passenger": (8, 10),
    "commercial": (8, 10),
}

#: Absolute zero in degrees Celsius, and the pressure of standard air in kPa.
ABSOLUTE_ZERO = Fraction(-27315, 100)
STANDARD_AIR = Fraction(101325, 1000)

#: Pounds per square inch in kPa, to its definition's digits.
PSI = Fraction(45359237, 10**8) * Fraction(980665, 10**5) / Fraction(254, 10**4) ** 2 / 1000

#: By how many psi a pressure that suits the load rises once warm. Common practice, no published
#: source.
WARM_RISE_PSI = (2, 3)

_STEP = Fraction(1)


def pressure_for_load(
    tyre_class: str, load: Fraction, reference_load: Fraction, reference_pressure: Fraction
) -> Fraction | None:
    """The cold pressure at which a tyre of a class carries a load: the reference pressure times
    (load / reference load) to the power 1/0.7 (light truck) or 1/0.8 (passenger, commercial),
    rounded up to a whole kPa. ``None`` for another class, for a load above the reference load
    and for values that are not positive."""
    exponent = LOAD_EXPONENTS.get(tyre_class)
    if exponent is None or not _usable(load, reference_load, reference_pressure):
        return None
    if load > reference_load:
        return None
    above, below = exponent
    # p = p0 * (q / q0) ** (below / above), so p ** above = p0 ** above * (q / q0) ** below.
    base = Fraction(reference_pressure) ** above * (Fraction(load) / reference_load) ** below
    return power_up(base, 1, above, _STEP)


def load_at_pressure(
    tyre_class: str, pressure: Fraction, reference_load: Fraction, reference_pressure: Fraction
) -> Fraction | None:
    """The load that a tyre of a class carries at a cold pressure, rounded down to a whole kg:
    the same relation the other way. ``None`` for another class, for a pressure above the
    reference pressure and for values that are not positive."""
    exponent = LOAD_EXPONENTS.get(tyre_class)
    if exponent is None or not _usable(pressure, reference_load, reference_pressure):
        return None
    if pressure > reference_pressure:
        return None
    above, below = exponent
    base = Fraction(reference_load) ** below * (Fraction(pressure) / reference_pressure) ** above
    return power_down(base, 1, below, _STEP)


def hot_pressure(cold: Fraction, cold_air: Fraction, hot_air: Fraction) -> Fraction | None:
    """The pressure of a tyre set at one temperature once its air has another, by the gas law at
    constant volume and standard air pressure. ``None`` below absolute zero and for a pressure
    below zero."""
    if cold < 0 or cold_air <= ABSOLUTE_ZERO or hot_air <= ABSOLUTE_ZERO:
        return None
    ratio = (Fraction(hot_air) - ABSOLUTE_ZERO) / (Fraction(cold_air) - ABSOLUTE_ZERO)
    found = (Fraction(cold) + STANDARD_AIR) * ratio - STANDARD_AIR
    return max(found, Fraction(0))


@dataclass(frozen=True, slots=True)
class Start:
    """A cold pressure to start from, and what sets it: the load or the placard."""

    kpa: Fraction
    by: str


def starting_pressure(
    axle_load: Number | None,
    tyre_class: str,
    reference_load: Number,
    reference_pressure: Number,
    placard: Number,
    *,
    tyres: int = 2,
    tyre_maximum: Number | None = None,
    rim_maximum: Number | None = None,
) -> Start | None:
    """A cold pressure to start from on the road, for the load on an axle.

    ``None`` without the load on the axle. Never below the placard. Raises
    :class:`TradeError` where the load takes more than the tyres carry, or where the pressure
    would be above the maximum of tyre or rim: such a load is no matter of pressure.
    """
    if axle_load is None:
        return None
    if tyres not in (2, 4):
        raise TradeError(f"an axle has two tyres or four, not {tyres}")
    if tyre_class not in LOAD_EXPONENTS:
        known = ", ".join(LOAD_EXPONENTS)
        raise TradeError(f'no relation of load and pressure is known for "{tyre_class}": {known}')
    load = Fraction(axle_load) / tyres
    wanted = pressure_for_load(
        tyre_class, load, Fraction(reference_load), Fraction(reference_pressure)
    )
    if wanted is None:
        raise TradeError(
            f"{show(load)} kg on a tyre that carries {show(reference_load)} kg at "
            f"{show(reference_pressure)} kPa has no pressure"
        )
    start = Start(Fraction(placard), "placard") if placard >= wanted else Start(wanted, "load")
    for what, most in (("tyre", tyre_maximum), ("rim", rim_maximum)):
        if most is not None and start.kpa > most:
            raise TradeError(
                f"the {start.by} asks for {show(start.kpa)} kPa, and the {what} takes at most "
                f"{show(most)} kPa"
            )
    return start


def warm_rise(cold: Number, warm: Number) -> str:
    """What the rise from cold to warm says of the cold pressure: ``suits``, ``too low`` where
    it rose by more than 3 psi, ``too high`` by less than 2. Common practice, no published
    source."""
    if warm < cold:
        raise TradeError("a tyre that lost pressure on the way leaks: its rise says nothing")
    rise = (Fraction(warm) - Fraction(cold)) / PSI
    least, most = WARM_RISE_PSI
    return "too high" if rise < least else "too low" if rise > most else "suits"


def wear_says(wear: str) -> str | None:
    """What a pattern of wear says of the pressure: ``centre`` over-inflated, ``both shoulders``
    under-inflated. ``None`` for any other. Common practice, no published source."""
    return {"centre": "over-inflated", "both shoulders": "under-inflated"}.get(wear)


def _usable(*values: Number) -> bool:
    return all(0 < value <= LARGEST for value in values)
