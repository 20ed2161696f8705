"""By hand: axles and corners. Counts and conventions are those of by_hand."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction
from itertools import combinations
from typing import Any

from modrules.language.dates import add_months
from modrules.language.records import NONE_STATED
from modrules.trade.tables import LOAD_INDEX_KG, SPEED_SYMBOL_KMH

Found = tuple[str, Any, int, Any, Any, Any]
Held = Callable[[Any, str, Any], int]

LOADS = {index: kg * 100_000_000 for index, kg in LOAD_INDEX_KG.items() if 60 <= index <= 130}
SPEEDS = {symbol: kmh * 1_000_000 for symbol, kmh in SPEED_SYMBOL_KMH.items() if len(symbol) == 1}
PER_AXLE = (
    "tyre-diameter-large",
    "tyre-diameter-small",
    "tyre-load-index",
    "tyre-speed",
    "tyre-age",
    "rim-width",
    "track",
    "wheel-spacers",
    "wheel-load-rating",
    "axle-load",
    "brake-size",
)
PER_CORNER = ("tread-cover", "brake-hose", "bump-travel", "rebound-travel", "wheel-clearance")


def axles(
    found: list[Found],
    world: Any,
    held: Held,
    checks: Mapping[str, Any],
    front: int | None,
    rear: int | None,
    largest: int,
    smallest: int,
) -> None:
    """Tyres, wheels, brakes and load of each axle; front and rear against each other.

    ``front`` and ``rear`` are the lowest ratings of mass plates, if there are any;
    ``largest`` and ``smallest`` the listed diameters.
    """
    none = NONE_STATED
    tyres, wheels, brakes = world.tyres_, world.wheels_, world.brakes_
    either, trackable, brakable = tyres or wheels, wheels or world.suspension_, brakes or wheels
    vehicle = world.vehicle_
    off_road = vehicle.vehicle__off_road_features
    gross = world.ratings_.ratings__gross_mass * 29
    today = world.today
    if tyres:
        indexes = [size.listed_tyre__load_index for size in world.listed_tyre_]
        listed = LOADS[min(indexes)] * 50_000_000
        speed = SPEEDS[world.placard_.placard__speed_symbol]
        if speed > 180_000_000:
            speed = 180_000_000
        within = False
        for upgrade in world.mass_upgrade_:
            if upgrade.mass_upgrade__used_within_maker_rating:
                within = True
                break

    for axle in world.axle_:
        twin = axle.axle__twin_wheels
        rating = axle.axle__rating
        maker = gross if rating is none else rating * 50
        plated = front if axle.axle__position == "front" else rear
        rating = maker if plated is None else plated * 50
        count = 4 if twin else 2
        carries = LOADS[axle.axle__tyre__load_index_dual if twin else axle.axle__tyre__load_index]

        if tyres:
            diameter = axle.axle__tyre__overall_diameter
            growth = diameter - largest
            percent = growth * 100
            if percent <= largest * 4:
                outcome = 2
            elif percent <= largest * 7:
                if off_road:
                    outcome = 2
                else:
                    outcome = held(checks["tyre-diameter-large"], "running-gear", axle)
            elif percent <= largest * 10:
                outcome = held(checks["tyre-diameter-large"], "engineer-full", axle)
            else:
                outcome = 128
            share = Fraction(growth * 1_000_000, largest)
            found.append(("tyre-diameter-large", axle, outcome, share, None, None))

            below = smallest - diameter
            if below > 26_000_000:
                found.append(
                    ("tyre-diameter-small", axle, 128, below, 26_000_000, 26_000_000 - below)
                )
            elif below > 12_000_000:
                found.append(
                    ("tyre-diameter-small", axle, 16, below, 26_000_000, 26_000_000 - below)
                )
            else:
                found.append(
                    ("tyre-diameter-small", axle, 2, below, 12_000_000, 12_000_000 - below)
                )

            share = 250_000 if twin else 500_000
            if plated is not None and not within:
                limit = share * rating
            else:
                limit = share * maker
                if listed < limit:
                    limit = listed
            load = carries * 50_000_000
            room = load - limit
            found.append(("tyre-load-index", axle, 2 if room >= 0 else 128, load, limit, room))

            rated = SPEEDS[axle.axle__tyre__speed_symbol]
            room = rated - speed
            if room >= 0:
                outcome = 2
            elif (
                off_road
                and axle.axle__tyre__tread == "deep_off_road"
                and rated >= 140_000_000
                and axle.axle__tyre__reduced_speed_label
                and (vehicle.vehicle__seats <= 8 or vehicle.vehicle__emergency_vehicle)
            ):
                outcome = 4
            else:
                outcome = 128
            found.append(("tyre-speed", axle, outcome, rated, speed, room))

            made = axle.axle__tyre__made
            if today <= add_months(made, 84):
                outcome = 2
            elif today <= add_months(made, 120):
                outcome = 16
            elif (
                vehicle.vehicle__historic_register
                and add_months(vehicle.vehicle__built, 360) <= today
                and vehicle.vehicle__top_speed <= 80_000_000
            ):
                outcome = 4
            else:
                outcome = 128
            found.append(("tyre-age", axle, outcome, None, None, None))
        else:
            found.append(("tyre-diameter-large", axle, 1, None, None, None))
            found.append(("tyre-diameter-small", axle, 1, None, None, None))
            found.append(("tyre-load-index", axle, 1, None, None, None))
            found.append(("tyre-speed", axle, 1, None, None, None))
            found.append(("tyre-age", axle, 1, None, None, None))

        if either:
            rim = axle.axle__wheel__rim_width
            low, high = axle.axle__tyre__maker_rim_from, axle.axle__tyre__maker_rim_up_to
            if low is none or high is none:
                width = axle.axle__tyre__section_width
                outcome = 2 if width * 13 <= rim * 20 <= width * 17 else 128
            else:
                outcome = 2 if low <= rim <= high else 128
            found.append(("rim-width", axle, outcome, None, None, None))
        else:
            found.append(("rim-width", axle, 1, None, None, None))

        if trackable:
            change = axle.axle__track - axle.axle__track_as_built
            if change < -6_000_000:
                found.append(("track", axle, 128, change, None, None))
            else:
                if change <= 36_000_000:
                    outcome = 2
                elif change <= 64_000_000 and axle.axle__suspension == "beam":
                    outcome = held(checks["track"], "running-gear", axle)
                else:
                    outcome = 128
                found.append(("track", axle, outcome, change, None, None))
        else:
            found.append(("track", axle, 1, None, None, None))

        load = axle.axle__load
        strength = axle.axle__wheel__load_rating
        if wheels:
            if not axle.axle__spacer__fitted:
                outcome = 1
            elif axle.axle__spacer__stacked:
                outcome = 128
            elif axle.axle__spacer__approved:
                outcome = 2
            elif axle.axle__spacer__maker_fitted and axle.axle__spacer__thickness < 7_000_000:
                outcome = 4
            else:
                outcome = 128
            found.append(("wheel-spacers", axle, outcome, None, None, None))
            outcome = 32 if strength is none else 2 if rating <= strength * 50 * count else 128
            found.append(("wheel-load-rating", axle, outcome, None, None, None))
        else:
            found.append(("wheel-spacers", axle, 1, None, None, None))
            found.append(("wheel-load-rating", axle, 1, None, None, None))

        if (
            load * 50 <= rating
            and load <= carries * count
            and (strength is none or load <= strength * count)
        ):
            found.append(("axle-load", axle, 2, None, None, None))
        else:
            found.append(("axle-load", axle, 128, None, None, None))

        if brakable:
            sort, as_built = axle.axle__brake__brake_kind, axle.axle__brake__brake_kind_as_built
            across = axle.axle__brake__diameter
            if sort == "drum" and as_built == "disc":
                outcome = 128
            elif sort == "disc" and as_built == "drum":
                outcome = held(checks["brake-size"], "brake-certificate", axle)
            elif across >= axle.axle__brake__diameter_as_built or axle.axle__brake__maker_part:
                outcome = 2
            else:
                outcome = 128
            found.append(("brake-size", axle, outcome, across, None, None))
        else:
            found.append(("brake-size", axle, 1, None, None, None))

    if not world.axle_:
        found += [(name, None, 1, None, None, None) for name in PER_AXLE]
    pairs = list(combinations(world.axle_, 2))
    if pairs and tyres and vehicle.vehicle__drive == "full_time_all_wheels":
        for pair in pairs:
            first, second = pair
            apart = abs(first.axle__tyre__overall_diameter - second.axle__tyre__overall_diameter)
            room = 14_000_000 - apart
            outcome = 2 if room >= 0 else 4 if world.placard_.placard__different_front_rear else 128
            found.append(("tyres-front-rear", pair, outcome, apart, 14_000_000, room))
    else:
        for pair in pairs or (None,):
            found.append(("tyres-front-rear", pair, 1, None, None, None))


def corners(found: list[Found], world: Any, held: Held, checks: Mapping[str, Any]) -> None:
    """Travel, room and cover at each corner; left and right against each other."""
    tyres, wheels, suspension = world.tyres_, world.wheels_, world.suspension_
    coverable, roomy = tyres or wheels, tyres or wheels or suspension
    hoses, sprung = suspension or world.brakes_, suspension or world.load_springs_
    for corner in world.corner_:
        if coverable:
            outcome = 2 if corner.corner__tread_covered else 128
            found.append(("tread-cover", corner, outcome, None, None, None))
        else:
            found.append(("tread-cover", corner, 1, None, None, None))

        if hoses:
            slack = corner.corner__brake_hose_slack
            room = slack - 17_000_000
            outcome = 2 if room >= 0 else 128
            found.append(("brake-hose", corner, outcome, slack, 17_000_000, room))
        else:
            found.append(("brake-hose", corner, 1, None, None, None))

        if sprung:
            travel = corner.corner__bump_travel * 10
            limit = corner.corner__bump_travel_as_built * 7
            if limit < 420_000_000:
                limit = 420_000_000
            room = travel - limit
            outcome = 2 if room >= 0 else 128
            found.append(("bump-travel", corner, outcome, travel, limit, room))
        else:
            found.append(("bump-travel", corner, 1, None, None, None))

        if suspension:
            travel, as_built = corner.corner__rebound_travel, corner.corner__rebound_travel_as_built
            if travel * 5 >= as_built * 3:
                outcome = 2
            elif travel * 20 >= as_built * 9:
                outcome = held(checks["rebound-travel"], "running-gear", corner)
            else:
                outcome = 128
            found.append(("rebound-travel", corner, outcome, travel, None, None))
        else:
            found.append(("rebound-travel", corner, 1, None, None, None))

        if not roomy:
            found.append(("wheel-clearance", corner, 1, None, None, None))
        elif corner.corner__bump_clearance >= 6_000_000 and (
            corner.corner__axle == "rear" or corner.corner__lock_clearance >= 11_000_000
        ):
            found.append(("wheel-clearance", corner, 2, None, None, None))
        else:
            found.append(("wheel-clearance", corner, 128, None, None, None))

    if not world.corner_:
        found += [(name, None, 1, None, None, None) for name in PER_CORNER]
    pairs = list(combinations(world.corner_, 2))
    for pair in pairs:
        first, second = pair
        if first.corner__axle != second.corner__axle:
            found.append(("level-side-to-side", pair, 1, None, None, None))
            found.append(("tyres-alike-on-axle", pair, 1, None, None, None))
            continue
        if suspension:
            apart = abs(first.corner__ride_height - second.corner__ride_height)
            room = 13_000_000 - apart
            outcome = 2 if room >= 0 else 32
            found.append(("level-side-to-side", pair, outcome, apart, 13_000_000, room))
        else:
            found.append(("level-side-to-side", pair, 1, None, None, None))
        if not tyres:
            outcome = 1
        elif (
            first.corner__tyre__marking == second.corner__tyre__marking
            and -9_000_000
            <= first.corner__tyre__overall_diameter - second.corner__tyre__overall_diameter
            <= 9_000_000
        ):
            outcome = 2
        else:
            outcome = 4 if first.corner__spare_in_use or second.corner__spare_in_use else 128
        found.append(("tyres-alike-on-axle", pair, outcome, None, None, None))
    if not pairs:
        found.append(("level-side-to-side", None, 1, None, None, None))
        found.append(("tyres-alike-on-axle", None, 1, None, None, None))
