"""Where the functions that a ruleset may call have a result: their domains.

Each takes what its functions take, plain and exact, and gives the conditions of which all are met
where there is a result, and nowhere else. They only compare and add, so that symbols may stand for
the numbers. The functions of texts have no domain here: what all texts say is not known.
"""

from __future__ import annotations

from fractions import Fraction

from modrules.trade import fuel, pressures, recovery
from modrules.trade.powers import LARGEST
from modrules.trade.tables import LOAD_INDEX_KG


def above_zero(*values: Fraction) -> tuple[bool, ...]:
    return tuple(value > 0 for value in values)


def everywhere(*_values: Fraction) -> tuple[bool, ...]:
    return ()


def index(index: int) -> tuple[bool, ...]:
    return index >= min(LOAD_INDEX_KG), index <= max(LOAD_INDEX_KG)


def speed(speed: Fraction) -> tuple[bool, ...]:
    return (speed >= 0,)


def reading(speed: Fraction, old: Fraction, new: Fraction) -> tuple[bool, ...]:
    return speed >= 0, old > 0, new > 0


def lever(mass: Fraction, _along: Fraction, wheelbase: Fraction) -> tuple[bool, ...]:
    return mass >= 0, wheelbase > 0


def ball(ball: Fraction, overhang: Fraction, wheelbase: Fraction) -> tuple[bool, ...]:
    return ball >= 0, overhang >= 0, wheelbase > 0


def edge(
    _old: Fraction, _new: Fraction, old_width: Fraction, new_width: Fraction
) -> tuple[bool, ...]:
    return old_width > 0, new_width > 0


def rim(nominal: Fraction, rim: Fraction, theoretical: Fraction) -> tuple[bool, ...]:
    left = 5 * nominal + 2 * rim - 2 * theoretical
    return (*above_zero(nominal, rim, theoretical), left > 0)


def rack(roof: Fraction, rack_rating: Fraction, rack: Fraction) -> tuple[bool, ...]:
    return roof >= 0, rack_rating >= 0, rack >= 0, rack <= roof


def bridle(force: Fraction, angle: Fraction) -> tuple[bool, ...]:
    return force >= 0, force <= LARGEST, angle >= 0, angle < recovery.WIDEST_ANGLE


def range(tank: Fraction, consumption: Fraction, margin: Fraction) -> tuple[bool, ...]:
    return consumption > 0, margin >= 0, margin <= tank


def indicator(sender: str, shown: Fraction, old: Fraction, new: Fraction) -> tuple[bool, ...]:
    return sender in fuel.ASSUMED, shown >= 0, shown <= 1, old > 0, new > 0


def _inflation(tyre_class: str, *values: Fraction) -> tuple[bool, ...]:
    known = tyre_class in pressures.LOAD_EXPONENTS
    return (known, *above_zero(*values), *(value <= LARGEST for value in values))


def pressure(
    tyre_class: str, load: Fraction, reference: Fraction, pressure: Fraction
) -> tuple[bool, ...]:
    return (*_inflation(tyre_class, load, reference, pressure), load <= reference)


def load(
    tyre_class: str, pressure: Fraction, load: Fraction, reference: Fraction
) -> tuple[bool, ...]:
    return (*_inflation(tyre_class, pressure, load, reference), pressure <= reference)


def air(cold: Fraction, cold_air: Fraction, hot_air: Fraction) -> tuple[bool, ...]:
    zero = pressures.ABSOLUTE_ZERO
    return cold >= 0, cold_air > zero, hot_air > zero
