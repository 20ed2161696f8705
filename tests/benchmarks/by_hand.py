"""All checks of the Orrinmark rules, edition 2026-1, written by hand in plain Python.

This is what the engine's generated code is measured against: the same findings from the
same records, with values in common worked out once, lists walked once, local names, no
function calls that can be avoided, and a fraction only where something is divided by what
was measured. As there, the limit of bands is left to whoever reads the finding where it hangs on
a condition, on what is computed, or on which of two ends is nearer. It expects facts that are
known exactly (``none stated`` is such a fact), every list given, and at least one listed tyre size.

Numbers are the engine's counts: 1 mm is 10**6, 1 kg 10**8, 1 % 10**4, 1 km/h 10**6, 1 L 10**9,
1 N 10**6, 1 kPa 10**6, 1 degree (of angle or heat) 10**6, 1 W 10**6; dates are ordinals. A
requirement is measured in the scale in which both of its sides are whole, so some are multiplied.
This file has what concerns the vehicle as a whole, the others its wheels and its equipment.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from typing import Any

from by_hand_equipment import bars, electrics, lights, recovery, seats
from by_hand_parts import height_and_speed, steering_and_brakes, suspension_parts
from by_hand_wheels import axles, corners

from modrules.language.dates import add_months
from modrules.language.records import NONE_STATED

#: Check, subject, outcome (one bit), measured, limit, margin.
Found = tuple[str, Any, int, Any, Any, Any]
Held = Callable[[Any, str, Any], int]

# The first days on which an added tank needs vapour control.
BUILT_2005 = date(2005, 4, 1).toordinal()
FITTED_2027 = date(2027, 1, 1).toordinal()


def screen(world: Any, held: Held, checks: Mapping[str, Any]) -> list[Found]:
    """The findings of every check. ``checks`` maps the id of a check to what ``held`` asks for."""
    found: list[Found] = []
    none = NONE_STATED
    gross = front = rear = combination = None
    for plate in world.plate_:
        kept = plate.plate__conditions_kept and plate.plate__paper_in_force
        if kept and plate.plate__issued <= world.today:
            sort = plate.plate__plate_kind
            if sort == "mass":
                value = plate.plate__gross_mass
                if value is not none and (gross is None or value < gross):
                    gross = value
                value = plate.plate__front_axle_rating
                if value is not none and (front is None or value < front):
                    front = value
                value = plate.plate__rear_axle_rating
                if value is not none and (rear is None or value < rear):
                    rear = value
            elif sort == "towing":
                value = plate.plate__combination_mass
                if value is not none and (combination is None or value < combination):
                    combination = value
    if gross is None:
        gross = world.ratings_.ratings__gross_mass
    sizes = [size.listed_tyre__overall_diameter for size in world.listed_tyre_]
    largest = max(sizes)
    fitted = [axle.axle__tyre__overall_diameter for axle in world.axle_]
    growth = max(fitted, default=0) - largest

    judged = 0
    for suspension in world.suspension_:
        judged += (
            max(suspension.suspension__highest_setting, suspension.suspension__ride_height_change)
            if suspension.suspension__adjustable_on_the_move
            else suspension.suspension__ride_height_change
        )
    lift = judged
    for spring in world.load_springs_:
        lift += spring.load_springs__ride_height_change
    if lift < 0:
        lift = 0
    for block in world.body_blocks_:
        lift += block.body_blocks__height
    lift += lift
    if growth > 0 and world.tyres_:
        lift += growth

    axles(found, world, held, checks, front, rear, largest, min(sizes))
    corners(found, world, held, checks)
    height_and_speed(found, world, held, checks, judged, lift, growth, largest)
    suspension_parts(found, world, held, checks, front, rear)
    steering_and_brakes(found, world, held, checks, growth, largest)
    masses(found, world, held, checks, gross)
    towing(found, world, held, checks, gross, combination)
    roof_and_fuel(found, world, held, checks)
    bars(found, world, held, checks)
    seats(found, world, held, checks)
    lights(found, world)
    recovery(found, world, gross)
    electrics(found, world, held, checks)
    return found


def masses(
    found: list[Found], world: Any, held: Held, checks: Mapping[str, Any], gross: int
) -> None:
    """Masses, ratings and raised ratings of the vehicle."""
    none = NONE_STATED
    vehicle = world.vehicle_
    maker = world.ratings_.ratings__gross_mass
    mass = vehicle.vehicle__mass_in_use

    room = 425_000_000_000 - maker
    outcome = 2 if room >= 0 else 32
    found.append(("vehicle-in-scope", None, outcome, maker, 425_000_000_000, room))
    room = gross - mass
    found.append(("gross-mass", None, 2 if room >= 0 else 128, mass, gross, room))

    payload = gross - vehicle.vehicle__kerb_mass
    limit = vehicle.vehicle__seats * 6_800_000_000 + 4_000_000_000
    room = payload - limit
    found.append(("payload", None, 2 if room >= 0 else 32, payload, limit, room))

    load = 0
    for axle in world.axle_:
        if axle.axle__position == "front":
            load += axle.axle__load
    share = load * 100
    outcome = 2 if share >= mass * 39 else 16 if share >= mass * 34 else 128
    found.append(("front-axle-share", None, outcome, load, None, None))

    if world.mass_upgrade_:
        for upgrade in world.mass_upgrade_:
            raised = upgrade.mass_upgrade__gross_mass
            if raised <= maker:
                found.append(("mass-upgrade", upgrade, 1, None, None, None))
                continue
            if raised * 50 > maker * 57:
                outcome = 128
            else:
                limit = 0
                for axle in world.axle_:
                    if axle.axle__position == "front":
                        rating = upgrade.mass_upgrade__front_axle_rating
                    else:
                        rating = upgrade.mass_upgrade__rear_axle_rating
                    if rating is none:
                        rating = axle.axle__rating
                    limit += maker * 29 if rating is none else rating * 50
                if raised * 50 > limit or upgrade.modification__fitted > add_months(
                    vehicle.vehicle__built, 180
                ):
                    outcome = 128
                else:
                    outcome = held(checks["mass-upgrade"], "mass-plate", upgrade)
            found.append(("mass-upgrade", upgrade, outcome, raised, None, None))
    else:
        found.append(("mass-upgrade", None, 1, None, None, None))


def towing(
    found: list[Found],
    world: Any,
    held: Held,
    checks: Mapping[str, Any],
    gross: int,
    combination: int | None,
) -> None:
    """The trailer, the combination and the tow bar."""
    none = NONE_STATED
    trailer, ratings = world.trailer_, world.ratings_
    if trailer.trailer__towed:
        mass, load, brakes = (
            trailer.trailer__mass,
            trailer.trailer__coupling_load,
            trailer.trailer__brakes,
        )
        if brakes == "unbraked":
            limit = ratings.ratings__trailer_unbraked
            towable = 325_000_000_000 if limit is none else limit * 5
        else:
            limit = ratings.ratings__trailer_braked
            towable = world.vehicle_.vehicle__kerb_mass * 6 if limit is none else limit * 5

        if mass <= 70_000_000_000:
            outcome = 2
        elif mass <= 190_000_000_000:
            outcome = 128 if brakes == "unbraked" else 2
        else:
            outcome = 2 if brakes == "all_wheels_from_seat" else 128
        found.append(("trailer-brakes", None, outcome, mass, None, None))

        limit = trailer.trailer__coupling_rating
        limit = 0 if limit is none else limit * 5
        if towable < limit:
            limit = towable
        for bar in world.tow_bar_:
            rating = bar.tow_bar__rating
            rating = 0 if rating is none else rating * 5
            if rating < limit:
                limit = rating
        room = limit - mass * 5
        found.append(("trailer-mass", None, 2 if room >= 0 else 128, mass * 5, limit, room))

        limit = ratings.ratings__coupling_load
        if load * 25 > mass * 3 or load * 500 > (towable * 9 if limit is none else limit * 500):
            outcome = 128
        else:
            outcome = 16 if load * 50 < mass * 3 else 2
        found.append(("coupling-load", None, outcome, load, None, None))

        if combination is not None:
            limit = combination * 5
        else:
            limit = ratings.ratings__combination_mass
            limit = gross * 5 + towable if limit is none else limit * 5
        total = world.vehicle_.vehicle__mass_in_use + mass - load
        if total * 5 <= limit:
            outcome = 2
        elif total * 125 <= limit * 27:
            outcome = held(checks["combination-mass"], "towing-plate", None)
        else:
            outcome = 128
        found.append(("combination-mass", None, outcome, total, None, None))
    else:
        found.append(("trailer-brakes", None, 1, None, None, None))
        found.append(("trailer-mass", None, 1, None, None, None))
        found.append(("coupling-load", None, 1, None, None, None))
        found.append(("combination-mass", None, 1, None, None, None))

    if world.tow_bar_:
        for bar in world.tow_bar_:
            if bar.tow_bar__supplied_by_vehicle_maker:
                outcome = 2
            elif not (bar.tow_bar__marked_with_rating and bar.modification__approved_vehicle):
                outcome = 128
            elif bar.modification__approved_variant:
                outcome = 2
            else:
                outcome = held(checks["tow-bar-approval"], "towing-plate", bar)
            found.append(("tow-bar-approval", bar, outcome, None, None, None))
    else:
        found.append(("tow-bar-approval", None, 1, None, None, None))


def roof_and_fuel(found: list[Found], world: Any, held: Held, checks: Mapping[str, Any]) -> None:
    """Roof load, height, overhang and fuel tanks."""
    none = NONE_STATED
    vehicle, roof = world.vehicle_, world.roof_
    racks, trays, tanks = world.roof_rack_, world.canopy_tray_, world.fuel_tank_

    if racks:
        load = roof.roof__load
        limit = roof.roof__limit
        if limit is none:
            limit = 6_200_000_000
        for rack in racks:
            mass = rack.roof_rack__rack_mass
            load += mass
            rating = rack.roof_rack__rating
            rating = mass + (4_500_000_000 if rating is none else rating)
            if rating < limit:
                limit = rating
            if rack.roof_rack__at_maker_points:
                outcome = 2
            else:
                outcome = 128 if roof.roof__fixing_points else 32
            found.append(("rack-fixing", rack, outcome, None, None, None))
        limit *= 2 if roof.roof__used_off_road else 3
        load *= 3
        room = limit - load
        found.append(("roof-load", None, 2 if room >= 0 else 128, load, limit, room))
    else:
        found.append(("rack-fixing", None, 1, None, None, None))
        found.append(("roof-load", None, 1, None, None, None))

    if racks or trays:
        height = vehicle.vehicle__height
        if height <= 2_300_000_000:
            outcome, limit = 2, 2_300_000_000
        elif height <= 3_100_000_000:
            outcome, limit = 16, 3_100_000_000
        elif height <= 3_800_000_000:
            outcome = held(checks["vehicle-height"], "body-certificate", None)
            limit = 3_100_000_000
        else:
            outcome, limit = 128, 3_800_000_000
        found.append(("vehicle-height", None, outcome, height, limit, limit - height))
    else:
        found.append(("vehicle-height", None, 1, None, None, None))

    if trays:
        overhang, wheelbase = vehicle.vehicle__overhang_rear, vehicle.vehicle__wheelbase
        if overhang <= 3_300_000_000 and overhang * 25 <= wheelbase * 14:
            outcome = 2
        elif overhang * 50 <= wheelbase * 31:
            outcome = held(checks["rear-overhang"], "body-certificate", None)
        else:
            outcome = 128
        found.append(("rear-overhang", None, outcome, overhang, None, None))
    else:
        found.append(("rear-overhang", None, 1, None, None, None))

    if tanks:
        as_built = world.ratings_.ratings__fuel_capacity_as_built
        capacity = as_built
        guarded = vehicle.vehicle__fuel == "petrol"
        since = vehicle.vehicle__built >= BUILT_2005
        for tank in tanks:
            capacity += tank.fuel_tank__capacity - tank.fuel_tank__tank_as_built_capacity
            gap = 30_000_000 if tank.fuel_tank__shielded else 75_000_000
            if tank.fuel_tank__exhaust_gap >= gap and not tank.fuel_tank__in_occupied_space:
                found.append(("fuel-tank-place", tank, 2, None, None, None))
            else:
                found.append(("fuel-tank-place", tank, 128, None, None, None))
            if guarded and (since or tank.modification__fitted >= FITTED_2027):
                outcome = 2 if tank.fuel_tank__vapour_control else 128
            else:
                outcome = 1
            found.append(("fuel-vapour", tank, outcome, None, None, None))
        if capacity > 310_000_000_000:
            found.append(("fuel-capacity", None, 128, capacity, None, None))
        else:
            if capacity > 215_000_000_000 or capacity * 5 > as_built * 12:
                outcome = held(checks["fuel-capacity"], "fuel-plate", None)
            else:
                outcome = 2
            found.append(("fuel-capacity", None, outcome, capacity, None, None))
    else:
        found.append(("fuel-capacity", None, 1, None, None, None))
        found.append(("fuel-tank-place", None, 1, None, None, None))
        found.append(("fuel-vapour", None, 1, None, None, None))
