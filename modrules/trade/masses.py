"""Where the mass of a vehicle goes: a ledger of changes, axle masses by moments, what is left.

Masses are in kg, places in mm: ``along`` behind the front axle, ``across`` to the right of the
middle, ``height`` above the ground. Every measured value may be exact, a pair (low, high) or
``None`` (not known): a part of unknown mass weighs nothing or more, a part of unknown place
stands somewhere on the vehicle. So an answer stays open only where it matters.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal, TypeGuard

from modrules.trade.ranges import (
    Measured,
    Number,
    Range,
    TradeError,
    as_range,
    at_least_nothing,
    product,
    quotient,
    show,
    total,
)

#: tare: empty, with the fuel that is said; kerb: fluids and tank full, no people; as weighed: as
#: it stood on the scale; laden: with people and load.
Condition = Literal["tare", "kerb", "as weighed", "laden"]

#: kg per L, from low to high, from the fuel standards EN 228 and EN 590 (from memory).
FUEL_DENSITY: dict[str, Range] = {
    "petrol": Range(Fraction(720, 1000), Fraction(775, 1000)),
    "diesel": Range(Fraction(820, 1000), Fraction(845, 1000)),
}


@dataclass(frozen=True, slots=True)
class Frame:
    """The outline of a vehicle in mm, by which places are bounded."""

    wheelbase: Number
    front_overhang: Number
    rear_overhang: Number
    width: Number
    height: Number

    def __post_init__(self) -> None:
        for name in ("wheelbase", "width", "height"):
            if getattr(self, name) <= 0:
                raise TradeError(f"the {name} is above zero, not {show(getattr(self, name))}")
        for name in ("front_overhang", "rear_overhang"):
            if getattr(self, name) < 0:
                said = name.replace("_", " ")
                raise TradeError(f"the {said} can't be {show(getattr(self, name))}")

    @property
    def along(self) -> Range:
        return Range(-self.front_overhang, self.wheelbase + self.rear_overhang)

    @property
    def across(self) -> Range:
        return Range(-Fraction(self.width) / 2, Fraction(self.width) / 2)

    @property
    def up(self) -> Range:
        return Range(0, self.height)


@dataclass(frozen=True, slots=True)
class Item:
    """A thing with a mass at a place."""

    name: str
    mass: Measured
    along: Measured = None
    across: Measured = None
    height: Measured = None


@dataclass(frozen=True, slots=True)
class Change:
    """What a modification fits and what it takes off; a part that replaces another does both."""

    name: str
    fitted: tuple[Item, ...] = ()
    taken_off: tuple[Item, ...] = ()


@dataclass(frozen=True, slots=True)
class AxleMasses:
    """What stands on each axle, and in which condition."""

    front: Range
    rear: Range
    condition: Condition

    @property
    def total(self) -> Range:
        return self.front + self.rear


def fuel_item(name: str, litres: Measured, fuel: str, along: Measured = None) -> Item:
    """Fuel in a tank as an item: litres times the density of ``petrol`` or ``diesel``."""
    if fuel not in FUEL_DENSITY:
        raise TradeError(f'fuel "{fuel}" has no density here; known: {", ".join(FUEL_DENSITY)}')
    return Item(name, product(at_least_nothing(litres, name), FUEL_DENSITY[fuel]), along)


def kerb_from_tare(tare: Measured, tank: Measured, fuel_at_tare: Measured, fuel: str) -> Range:
    """The kerb mass: the tare and the fuel that fills the tank from what the tare counts (L)."""
    missing = as_range(tank) - as_range(fuel_at_tare)
    if missing.high is not None and missing.high < 0:
        raise TradeError("the tare counts more fuel than the tank holds")
    if missing.low is None or missing.low < 0:
        missing = Range(0, missing.high)
    return as_range(tare) + as_range(fuel_item("fuel", missing, fuel).mass)


def axle_masses(base: AxleMasses, changes: Iterable[Change], frame: Frame) -> AxleMasses:
    """The axle masses after the changes, by moments about the axles.

    An item at ``along`` puts its mass times ``along / wheelbase`` on the rear axle and the rest
    on the front; one behind the rear axle or ahead of the front takes off from the other.
    Raises :class:`TradeError` for a negative mass and for a place outside the frame.
    """
    wheelbase, least, most = frame.wheelbase, -frame.front_overhang, frame.wheelbase
    most += frame.rear_overhang
    mass_sum: Number = 0
    moment_sum: Number = 0
    on_front, on_rear = Range(0, 0), Range(0, 0)
    for change in changes:
        for sign, items in ((1, change.fitted), (-1, change.taken_off)):
            for item in items:
                kg, place = item.mass, item.along
                # The common case, plain numbers in bounds, adds up without a range for each.
                if (
                    _plain(kg)
                    and _plain(place)
                    and kg >= 0
                    and least <= place <= most
                    and item.across is None
                    and item.height is None
                ):
                    signed = kg if sign > 0 else -kg
                    mass_sum += signed
                    moment_sum += signed * place
                    continue
                mass, along = placed(item, frame)
                # Each axle takes its own moment, so that the ranges stay as narrow as they can.
                on_rear = on_rear + product(mass, along).times(sign)
                on_front = on_front + product(mass, as_range(wheelbase) - along).times(sign)
    on_rear = on_rear + as_range(moment_sum)
    on_front = on_front + as_range(mass_sum * wheelbase - moment_sum)
    return AxleMasses(
        base.front + on_front.over(wheelbase), base.rear + on_rear.over(wheelbase), base.condition
    )


def _plain(value: Measured) -> TypeGuard[Number]:
    return type(value) is int or type(value) is Fraction


def placed(item: Item, frame: Frame) -> tuple[Range, Range]:
    """The mass of an item and its place along, bounded by the frame.

    Raises :class:`TradeError` for a place outside the vehicle.
    """
    mass = at_least_nothing(item.mass, f'the mass of "{item.name}"')
    along = _within(item, "along", item.along, frame.along)
    if item.across is not None:
        _within(item, "across", item.across, frame.across)
    if item.height is not None:
        _within(item, "height", item.height, frame.up)
    return mass, along


def _within(item: Item, name: str, value: Measured, bounds: Range) -> Range:
    if value is None:
        return bounds
    place = as_range(value)
    assert bounds.low is not None
    assert bounds.high is not None
    low = bounds.low if place.low is None else place.low
    high = bounds.high if place.high is None else place.high
    if low < bounds.low or high > bounds.high:
        raise TradeError(
            f'"{item.name}" would stand outside the vehicle: {name} {place} mm, '
            f"where the vehicle reaches from {show(bounds.low)} to {show(bounds.high)} mm"
        )
    return Range(low, high)


# --- the centre of mass ---


@dataclass(frozen=True, slots=True)
class Centre:
    """The centre of mass, and the mass that it is of."""

    mass: Range
    along: Range
    across: Range
    height: Range


def centre_of_mass(base: Item, changes: Iterable[Change], frame: Frame) -> Centre:
    """The centre of mass of ``base`` after the changes: moments over mass, along each axis.

    Where a place of an item is not known, the frame bounds it. With tolerances the result
    holds every possible centre, and may be wider than they are.
    """
    masses: list[Range] = []
    moments: tuple[list[Range], list[Range], list[Range]] = ([], [], [])
    everything = [(1, base)]
    for change in changes:
        everything += [(1, item) for item in change.fitted]
        everything += [(-1, item) for item in change.taken_off]
    for sign, item in everything:
        mass, along = placed(item, frame)
        across = _within(item, "across", item.across, frame.across)
        height = _within(item, "height", item.height, frame.up)
        masses.append(mass.times(sign))
        for axis, place in zip(moments, (along, across, height), strict=True):
            axis.append(product(mass, place).times(sign))
    mass = total(masses)
    return Centre(mass, *(quotient(total(axis), mass) for axis in moments))


def centre_shift(base: Item, changes: Iterable[Change], frame: Frame) -> Centre:
    """How far the changes move the centre of mass of ``base`` (mm), and the mass they add."""
    before, after = centre_of_mass(base, (), frame), centre_of_mass(base, changes, frame)
    return Centre(
        after.mass - before.mass,
        after.along - before.along,
        after.across - before.across,
        after.height - before.height,
    )


def centre_from_axles(axles: AxleMasses, wheelbase: Number) -> Range:
    """How far behind the front axle the centre of mass lies, in mm."""
    if wheelbase <= 0:
        raise TradeError(f"the wheelbase is above zero, not {show(wheelbase)}")
    front, rear = axles.front, axles.rear
    if front.exact is not None and rear.exact is not None and front.exact + rear.exact > 0:
        return as_range(Fraction(rear.exact) * wheelbase / (front.exact + rear.exact))
    ends = (front.low, front.high, rear.low, rear.high)
    if any(end is None or end < 0 for end in ends) or not (front.low or rear.low):
        return Range(0, wheelbase)
    assert front.low is not None
    assert front.high is not None
    assert rear.low is not None
    assert rear.high is not None
    return Range(
        Fraction(rear.low) * wheelbase / (rear.low + front.high),
        Fraction(rear.high) * wheelbase / (rear.high + front.low),
    )


# --- what is left ---


def payload(gross: Measured, built: Measured) -> Range:
    """The kg between the gross mass and the vehicle as built; below zero it is overloaded."""
    return as_range(gross) - as_range(built)


def left_for_people_and_gear(
    gross: Measured, as_built: AxleMasses, fuel_to_fill: Measured = 0, ball: Measured = 0
) -> Range:
    """The kg left with the tank full and the trailer coupled.

    ``fuel_to_fill`` is the kg of fuel that the mass as built does not count; a kerb mass
    counts all of it. Raises :class:`TradeError` for a laden mass, which has people in it.
    """
    if as_built.condition == "laden":
        raise TradeError("a laden mass already counts people and gear")
    return payload(gross, as_built.total) - as_range(fuel_to_fill) - as_range(ball)


def on_ball(ball: Measured, overhang: Number, frame: Frame, axles: AxleMasses) -> AxleMasses:
    """The axle masses with a download on a ball ``overhang`` mm behind the rear axle.

    The rear axle takes more than the download, by what the front axle loses.
    """
    download = at_least_nothing(ball, "the download on the ball")
    if overhang < 0:
        raise TradeError("a ball ahead of the rear axle is no tow ball")
    lift = download.times(Fraction(overhang) / frame.wheelbase)
    return AxleMasses(axles.front - lift, axles.rear + download + lift, axles.condition)


def combination_mass(vehicle: Measured, trailer: Measured) -> Range:
    """Vehicle and trailer together; the download counts once, with one of them."""
    return at_least_nothing(vehicle, "the mass of the vehicle") + at_least_nothing(
        trailer, "the mass of the trailer"
    )


# --- the weighbridge ---


def same_condition(first: Condition, second: Condition) -> None:
    """Raises :class:`TradeError` where two masses were taken in different conditions."""
    if first != second:
        raise TradeError(f'a mass "{first}" can\'t be compared with a mass "{second}"')


@dataclass(frozen=True, slots=True)
class Residual:
    """What the weighbridge found beyond the ledger, and the masses that hold: the ticket's."""

    holds: AxleMasses
    front: Range
    rear: Range

    @property
    def total(self) -> Range:
        return self.front + self.rear


def reconcile(
    ledger: AxleMasses,
    front: Measured,
    rear: Measured,
    whole: Measured = None,
    graduation: Number = 20,
    condition: Condition = "as weighed",
) -> Residual:
    """A weighbridge ticket against the ledger: the ticket wins, the residual is shown.

    ``condition`` is that in which the vehicle was weighed; the ledger must be in the same.
    Each of the three weighings may be off by half a graduation (kg). Raises
    :class:`TradeError` where the axles and the whole differ by more than that allows.
    """
    same_condition(ledger.condition, condition)
    on_front, on_rear = at_least_nothing(front, "front axle"), at_least_nothing(rear, "rear axle")
    if whole is not None:
        gap = as_range(whole) - on_front - on_rear
        allowed = Fraction(3, 2) * graduation
        if (gap.low is not None and gap.low > allowed) or (
            gap.high is not None and gap.high < -allowed
        ):
            raise TradeError(
                f"the ticket contradicts itself: the whole differs from its axles by {gap} kg"
            )
    half = Range(-Fraction(graduation) / 2, Fraction(graduation) / 2)
    holds = AxleMasses(on_front + half, on_rear + half, condition)
    return Residual(holds, holds.front - ledger.front, holds.rear - ledger.rear)
