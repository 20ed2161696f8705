"""Recovery gear: the weakest link, its fit, what a bridle does. Advice; unrated: do not use.

Loads are in kg (as tags and catalogues give them). A working load already has its safety
factor in it, a breaking strength has none: the two are never compared.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from modrules.trade.powers import LARGEST, cosine_down, round_up
from modrules.trade.ranges import Number, TradeError, show

#: A recovery point is chosen with a working load of about this many times the vehicle's mass.
#: Common practice, no published source.
POINT_FACTOR = 2

#: Forces per leg are rounded up to this many decimals of their unit.
LEG_STEP = Fraction(1, 1000)


#: From this angle between the legs on, in degrees, no force is given.
WIDEST_ANGLE = 170

#: The part of the pull in each leg, by the angle between them in degrees, where it is exact.
_EXACT_SHARE = {Fraction(0): Fraction(1, 2), Fraction(120): Fraction(1)}


@dataclass(frozen=True, slots=True)
class Link:
    """A part of the chain from vehicle to vehicle; a rating that it does not carry is ``None``."""

    name: str
    working_load: Number | None = None
    breaking_strength: Number | None = None


@dataclass(frozen=True, slots=True)
class Chain:
    """What a chain of recovery gear is good for.

    ``working_load`` is the least working load, and ``by`` the links that set it;
    ``breaking_strength`` and ``breaks_at`` the same for the links that state only that.
    ``do_not_use`` names the links that state neither: with any of them the chain has no
    rating at all.
    """

    working_load: Number | None
    by: tuple[str, ...]
    breaking_strength: Number | None
    breaks_at: tuple[str, ...]
    do_not_use: tuple[str, ...]

    @property
    def usable(self) -> bool:
        return not self.do_not_use


def weakest(links: Iterable[Link]) -> Chain:
    """The weakest of the links, working loads and breaking strengths apart.

    Raises :class:`TradeError` for an empty chain and for a rating of zero or less.
    """
    chain = tuple(links)
    if not chain:
        raise TradeError("a chain of recovery gear has at least one link")
    for link in chain:
        for rating in (link.working_load, link.breaking_strength):
            if rating is not None and rating <= 0:
                raise TradeError(f'"{link.name}" can\'t be rated at {show(rating)} kg')
    unrated = tuple(
        link.name for link in chain if link.working_load is None and link.breaking_strength is None
    )
    working = [(link.working_load, link.name) for link in chain if link.working_load is not None]
    breaking = [
        (link.breaking_strength, link.name)
        for link in chain
        if link.breaking_strength is not None and link.working_load is None
    ]
    if unrated:
        return Chain(None, (), None, (), unrated)
    least, by = _least(working)
    weak, at = _least(breaking)
    return Chain(least, by, weak, at, ())


def _least(rated: list[tuple[Number, str]]) -> tuple[Number | None, tuple[str, ...]]:
    if not rated:
        return None, ()
    least = min(load for load, _ in rated)
    return least, tuple(name for load, name in rated if load == least)


def working_load_wanted(vehicle_mass: Fraction) -> Fraction | None:
    """The working load that a recovery point is chosen with: twice the vehicle's mass as it
    stands (common practice, no published source). ``None`` for a mass of zero or less."""
    return Fraction(vehicle_mass) * POINT_FACTOR if vehicle_mass > 0 else None


def strong_enough(chain: Chain, vehicle_mass: Number) -> bool | None:
    """Whether the chain's working load is about twice the vehicle's mass.

    ``False`` where a link is unrated; ``None`` where some link states only a breaking strength,
    which says nothing about its working load, and the others would do.
    """
    if not chain.usable:
        return False
    wanted = working_load_wanted(Fraction(vehicle_mass))
    if wanted is None:
        raise TradeError(f"the mass of a vehicle is above zero, not {show(vehicle_mass)}")
    if chain.working_load is not None and chain.working_load < wanted:
        return False
    return None if chain.breaks_at or chain.working_load is None else True


def pin_fits(pin_diameter: Number, hole_diameter: Number, jaw: Number, thickness: Number) -> bool:
    """Whether a shackle goes on a point: its pin through the hole, its jaw over the plate (mm).

    Raises :class:`TradeError` for sizes of zero or less.
    """
    if min(pin_diameter, hole_diameter, jaw, thickness) <= 0:
        raise TradeError("the sizes of shackle and recovery point are above zero")
    return pin_diameter <= hole_diameter and thickness <= jaw


def bridle_leg_force(force: Fraction, angle: Fraction) -> Fraction | None:
    """The force in each leg of a bridle on two points: the pull over twice the cosine of half
    the angle between the legs (deg), rounded up to a thousandth of the unit. Exactly half the
    pull at 0 degrees and the pull itself at 120. ``None`` below 0 and from 170 degrees on, where
    it grows without bounds, and for a pull below zero."""
    if not 0 <= force <= LARGEST or not 0 <= angle < WIDEST_ANGLE:
        return None
    # The two angles whose cosine has an exact value: what is rated for just that may be used.
    if angle in _EXACT_SHARE:
        return force * _EXACT_SHARE[angle]
    leg = round_up(Fraction(force) / (2 * cosine_down(Fraction(angle) / 2)), LEG_STEP)
    # Below 120 degrees no leg takes more than the whole pull, which rounding must not hide.
    return min(leg, Fraction(force)) if angle < 120 else leg
