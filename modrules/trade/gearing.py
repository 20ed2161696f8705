"""What a change of tyre or rim does: height, speed shown, gearing, track, match of the axles.

Diameters, offsets and widths are in mm, speeds in km/h, all exact. Whatever follows from the
ratio of two tyres needs no circumference: pi and the flattening under load cancel.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from modrules.trade.ranges import Measured, Number, Range, TradeError, as_range, show

#: How a speedometer may read (UN Regulation No. 39, paragraph 5): never less than the true
#: speed, and at most a tenth and 4 km/h more.
SPEEDOMETER_SHARE = Fraction(1, 10)
SPEEDOMETER_OFFSET = 4


def diameter_change(old: Number, new: Number) -> Number:
    """How many mm the new tyre is taller (below zero: lower)."""
    _diameters(old, new)
    return new - old


def diameter_change_percent(old: Number, new: Number) -> Fraction:
    """The change of diameter in per cent of the old one."""
    _diameters(old, new)
    return Fraction(100 * (new - old)) / old


def clearance_gained(old: Number, new: Number) -> Fraction:
    """The mm that axle and body rise: half the change of diameter."""
    _diameters(old, new)
    return Fraction(new - old) / 2


def true_speed(indicated: Number, old: Number, new: Number) -> Fraction:
    """The speed driven where an instrument that was exact on the old tyres shows ``indicated``."""
    _diameters(old, new)
    _speed(indicated)
    return Fraction(indicated) * new / old


def odometer_error_percent(old: Number, new: Number) -> Fraction:
    """How much more distance is shown than driven, in per cent (below zero: less)."""
    _diameters(old, new)
    return Fraction(100 * (old - new)) / new


def engine_speed_factor(old: Number, new: Number) -> Fraction:
    """The engine speed at a given road speed, as a multiple of what it was."""
    _diameters(old, new)
    return Fraction(old) / new


def overall_gearing_percent(old: Number, new: Number) -> Fraction:
    """How much farther the vehicle goes on a turn of the engine, in per cent."""
    return diameter_change_percent(old, new)


def restoring_ratio(final_drive: Number, old: Number, new: Number) -> Fraction:
    """The final drive ratio with which the new tyres give the old gearing."""
    _diameters(old, new)
    if final_drive <= 0:
        raise TradeError(f"a final drive ratio is above zero, not {show(final_drive)}")
    return Fraction(final_drive) * new / old


# --- the speedometer, UN Regulation No. 39 ---


def highest_reading(speed: Number) -> Fraction:
    """The highest reading allowed at a true speed (UN R39, paragraph 5)."""
    _speed(speed)
    return speed + SPEEDOMETER_SHARE * speed + SPEEDOMETER_OFFSET


def speeds_tested(top_speed: Number) -> tuple[Fraction, ...]:
    """The true speeds at which UN R39 tests a vehicle of a top speed (annex 3, from memory)."""
    _speed(top_speed)
    most = Fraction(top_speed) * Fraction(4, 5)
    if top_speed <= 45:
        return (most,)
    if top_speed <= 100:
        return Fraction(40), most
    if top_speed <= 150:
        return (Fraction(40), Fraction(80), *((most,) if most >= 100 else ()))
    return Fraction(40), Fraction(80), Fraction(120)


@dataclass(frozen=True, slots=True)
class Reading:
    """What the speedometer shows at a true speed on the new tyres.

    ``allowed`` is ``True`` or ``False`` where every possible reading is or is not allowed,
    ``None`` where the reading on the old tyres would have to be measured.
    """

    speed: Number
    indicated: Range
    allowed: bool | None


def speedometer_reading(
    speed: Number, old: Number, new: Number, over_reading: Measured = None
) -> Reading:
    """The reading at a true ``speed`` after the change, and whether UN R39 allows it.

    ``over_reading`` is by how many per cent the instrument read too much on the old tyres;
    not known, it may have read anything that was allowed.
    """
    _diameters(old, new)
    _speed(speed)
    felt = Fraction(speed) * old / new
    shown = as_range(over_reading)
    if shown.low is None or shown.high is None:
        indicated = Range(felt, highest_reading(felt))
    else:
        indicated = Range(felt * (100 + shown.low) / 100, felt * (100 + shown.high) / 100)
    most = highest_reading(speed)
    not_under = as_range(speed).at_most(indicated)
    not_over = indicated.at_most(as_range(most))
    if not_under is False or not_over is False:
        allowed: bool | None = False
    else:
        allowed = True if not_under and not_over else None
    return Reading(speed, indicated, allowed)


# --- rims ---


def track_change(old_offset: Number, new_offset: Number) -> Number:
    """The mm that the track grows, where both wheels of an axle change their offset.

    The offset is positive where the mounting face lies outboard of the rim's middle, so that a
    smaller offset moves each wheel outwards.
    """
    return 2 * (old_offset - new_offset)


def outer_edge_movement(
    old_offset: Number, new_offset: Number, old_width: Number, new_width: Number
) -> Fraction:
    """The mm that the outer edge moves outwards; widths of rim, or of tyre, each with its own."""
    _widths(old_width, new_width)
    return Fraction(new_width - old_width) / 2 + (old_offset - new_offset)


def inner_edge_movement(
    old_offset: Number, new_offset: Number, old_width: Number, new_width: Number
) -> Fraction:
    """The mm that the inner edge moves inwards, towards suspension and frame."""
    _widths(old_width, new_width)
    return Fraction(new_width - old_width) / 2 - (old_offset - new_offset)


def beyond_guard(measured_inside: Measured, movement: Number) -> Range:
    """The mm that the tyre stands beyond the guard after its outer edge moved by ``movement``.

    ``measured_inside`` is how far the old tyre stood inside the guard; not measured, the
    result is not known. Below zero the tyre is still inside.
    """
    return as_range(movement) - as_range(measured_inside)


# --- four-wheel drive, the spare, the mass of a wheel ---


def mismatch_percent(first: Number, second: Number) -> Fraction:
    """By how many per cent the larger of two tyres is larger than the smaller.

    For the axles of a vehicle with permanent four-wheel drive, and for the spare against the
    axle that it may have to serve. Circumferences differ as diameters do.
    """
    _diameters(first, second)
    small, large = sorted((first, second))
    return Fraction(100 * (large - small)) / small


def added_mass(old_wheel: Measured, new_wheel: Measured) -> Range:
    """The kg that one wheel with its tyre gains."""
    return as_range(new_wheel) - as_range(old_wheel)


def _diameters(*diameters: Number) -> None:
    for diameter in diameters:
        if diameter <= 0:
            raise TradeError(f"a tyre diameter is above zero, not {show(diameter)}")


def _widths(*widths: Number) -> None:
    for width in widths:
        if width <= 0:
            raise TradeError(f"a width is above zero, not {show(width)}")


def _speed(speed: Number) -> None:
    if speed < 0:
        raise TradeError(f"a speed can't be {show(speed)}")
