"""By hand: height and speed, suspension parts, steering, brakes. Counts as in by_hand."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from typing import Any

from modrules.language.dates import add_months
from modrules.language.records import NONE_STATED

Found = tuple[str, Any, int, Any, Any, Any]
Held = Callable[[Any, str, Any], int]

BUILT_1979 = date(1979, 1, 1).toordinal()
BUILT_1994 = date(1994, 6, 1).toordinal()
BUILT_1996 = date(1996, 3, 1).toordinal()
BUILT_2003 = date(2003, 10, 1).toordinal()


def height_and_speed(
    found: list[Found],
    world: Any,
    held: Held,
    checks: Mapping[str, Any],
    judged: int,
    lift: int,
    growth: int,
    largest: int,
) -> None:
    """Height, width, stability control and speedometer of the vehicle."""
    vehicle = world.vehicle_
    tyres, suspension, blocks = world.tyres_, world.suspension_, world.body_blocks_

    if tyres or suspension or blocks or world.load_springs_:
        if lift <= 90_000_000:
            outcome, limit = 2, 90_000_000
        elif lift <= 170_000_000:
            outcome, limit = held(checks["total-lift"], "running-gear", None), 90_000_000
        elif lift <= 250_000_000:
            outcome, limit = held(checks["total-lift"], "engineer-full", None), 170_000_000
        else:
            outcome, limit = 128, 250_000_000
        found.append(("total-lift", None, outcome, lift, limit, limit - lift))
    else:
        found.append(("total-lift", None, 1, None, None, None))

    if blocks and judged > 0:
        outcome = held(checks["lift-combination"], "running-gear", None)
        found.append(("lift-combination", None, outcome, None, None, None))
    else:
        found.append(("lift-combination", None, 1, None, None, None))

    if tyres or suspension or world.fuel_tank_ or world.side_rails_:
        clearance = vehicle.vehicle__clearance_between_axles
        limit = vehicle.vehicle__wheelbase * 43
        if limit < 118_000_000_000:
            limit = 118_000_000_000
        room = clearance * 1000 - limit
        if room >= 0:
            outcome = 2
        elif (
            vehicle.vehicle__built < BUILT_1979
            and clearance >= vehicle.vehicle__clearance_between_axles_as_built
        ):
            outcome = 4
        else:
            outcome = 128
        found.append(("ground-clearance", None, outcome, clearance * 1000, limit, room))
    else:
        found.append(("ground-clearance", None, 1, None, None, None))

    if tyres or world.wheels_ or world.side_rails_:
        width = vehicle.vehicle__width
        limit = vehicle.vehicle__width_as_built + 80_000_000
        if limit < 1_960_000_000:
            limit = 1_960_000_000
        elif limit > 2_480_000_000:
            limit = 2_480_000_000
        room = limit - width
        found.append(("width", None, 2 if room >= 0 else 128, width, limit, room))
    else:
        found.append(("width", None, 1, None, None, None))

    if vehicle.vehicle__stability_control_as_built:
        if not tyres:
            found.append(("stability-combination", None, 1, None, None, None))
        elif lift > 60_000_000 and growth * 100 > largest * 3:
            outcome = held(checks["stability-combination"], "stability-certificate", None)
            found.append(("stability-combination", None, outcome, None, None, None))
        else:
            found.append(("stability-combination", None, 2, None, None, None))
        if not (tyres or suspension or world.brakes_ or world.steering_ or world.engine_):
            outcome = 1
        elif not vehicle.vehicle__stability_control_works:
            outcome = 128
        elif (
            vehicle.vehicle__stability_control_recoded
            and not vehicle.vehicle__stability_control_recoded_by_maker
        ):
            outcome = held(checks["stability-works"], "stability-certificate", None)
        else:
            outcome = 2
        found.append(("stability-works", None, outcome, None, None, None))
    else:
        found.append(("stability-combination", None, 1, None, None, None))
        found.append(("stability-works", None, 1, None, None, None))

    applies = tyres
    if not applies:
        for engine in world.engine_:
            if engine.engine__final_drive_changed:
                applies = True
                break
    if applies:
        true_speed = vehicle.vehicle__speedometer__true_speed
        excess = vehicle.vehicle__speedometer__shown - true_speed
        if excess >= 0 and excess * 25 <= true_speed * 2 + 75_000_000:
            outcome = 2
        elif (
            vehicle.vehicle__historic_register
            and add_months(vehicle.vehicle__built, 360) <= world.today
        ):
            outcome = 4
            recent = add_months(world.today, -120)
            for modification in world.modification_:
                if (
                    modification.kind in ("tyres", "engine")
                    and modification.modification__fitted >= recent
                ):
                    outcome = 128
                    break
        else:
            outcome = 128
        found.append(("speedometer", None, outcome, None, None, None))
    else:
        found.append(("speedometer", None, 1, None, None, None))


def suspension_parts(
    found: list[Found],
    world: Any,
    held: Held,
    checks: Mapping[str, Any],
    front: int | None,
    rear: int | None,
) -> None:
    """Lowering, arms, added springs and body blocks, each by itself."""
    none = NONE_STATED
    if world.suspension_:
        for suspension in world.suspension_:
            change = suspension.suspension__ride_height_change
            if change < 0:
                travel = [corner.corner__bump_travel_as_built for corner in world.corner_]
                if -4 * change <= min(travel, default=0):
                    outcome = 2
                else:
                    outcome = held(checks["lowering"], "running-gear", suspension)
                found.append(("lowering", suspension, outcome, -change, None, None))
            else:
                found.append(("lowering", suspension, 1, None, None, None))
            if not suspension.suspension__arms_changed:
                outcome = 1
            elif suspension.suspension__arms_kit_parts:
                kit = (
                    suspension.suspension__arms_kit_whole
                    and not suspension.suspension__arms_built_parts
                    and suspension.modification__approved_vehicle
                    and suspension.modification__approved_variant
                    and suspension.modification__approved_position
                    and suspension.modification__follows_instructions
                )
                outcome = 2 if kit else 128
            elif (
                suspension.suspension__arms_built_parts
                and suspension.suspension__arms_drawn_calculated
                and suspension.suspension__arms_crack_tested
            ):
                highest = 0
                for axle in world.axle_:
                    rating = front if axle.axle__position == "front" else rear
                    if rating is not None:
                        rating *= 50
                    elif axle.axle__rating is not none:
                        rating = axle.axle__rating * 50
                    else:
                        rating = world.ratings_.ratings__gross_mass * 29
                    if rating > highest:
                        highest = rating
                if not world.axle_:
                    highest = 30_000_000_000_000
                outcome = 2 if suspension.suspension__arms_load_test * 20 >= highest else 128
            else:
                outcome = 128
            found.append(("suspension-arms", suspension, outcome, None, None, None))
    else:
        found.append(("lowering", None, 1, None, None, None))
        found.append(("suspension-arms", None, 1, None, None, None))

    if world.load_springs_:
        for spring in world.load_springs_:
            added = spring.load_springs__added_capacity
            if added <= 32_000_000_000 and spring.load_springs__axle == "rear":
                found.append(("load-springs", spring, 2, added, None, None))
            else:
                outcome = held(checks["load-springs"], "running-gear", spring)
                found.append(("load-springs", spring, outcome, added, None, None))
            if spring.load_springs__air_in_coil:
                pressure = spring.load_springs__pressure
                limit = spring.load_springs__pressure_limit
                if limit is none:
                    limit = 180_000_000
                room = limit - pressure
                outcome = 2 if room > 0 else 128
                found.append(("air-spring-pressure", spring, outcome, pressure, limit, room))
            else:
                found.append(("air-spring-pressure", spring, 1, None, None, None))
    else:
        found.append(("load-springs", None, 1, None, None, None))
        found.append(("air-spring-pressure", None, 1, None, None, None))

    if world.body_blocks_:
        for block in world.body_blocks_:
            height, material = block.body_blocks__height, block.body_blocks__material
            if material in ("wood", "plastic"):
                found.append(("body-blocks", block, 128, height, None, None))
                continue
            if height <= 28_000_000:
                outcome = 2
            elif height <= 55_000_000 and material in ("steel", "alloy", "fibre_composite"):
                outcome = held(checks["body-blocks"], "body-certificate", block)
            else:
                outcome = 128
            found.append(("body-blocks", block, outcome, height, None, None))
    else:
        found.append(("body-blocks", None, 1, None, None, None))


def steering_and_brakes(
    found: list[Found],
    world: Any,
    held: Held,
    checks: Mapping[str, Any],
    growth: int,
    largest: int,
) -> None:
    """Steering and brakes of the vehicle."""
    vehicle = world.vehicle_
    tyres, steering, brakes = world.tyres_, world.steering_, world.brakes_
    upgrades = world.mass_upgrade_
    built = vehicle.vehicle__built

    if tyres or steering or world.suspension_:
        play = vehicle.vehicle__steering__free_play
        limit = 22_000_000 if built >= BUILT_1996 else 38_000_000
        outcome = 2 if play * 3 <= limit * 2 else 16 if play <= limit else 128
        found.append(("free-play", None, outcome, play, None, None))
    else:
        found.append(("free-play", None, 1, None, None, None))

    if tyres or steering or world.wheels_:
        circle = vehicle.vehicle__steering__turning_circle * 100
        limit = vehicle.vehicle__steering__turning_circle_as_built * 109
        if limit > 1_460_000_000_000:
            limit = 1_460_000_000_000
        room = limit - circle
        found.append(("turning-circle", None, 2 if room >= 0 else 128, circle, limit, room))
    else:
        found.append(("turning-circle", None, 1, None, None, None))

    if steering:
        for change in steering:
            if change.steering__part_changed and not change.modification__like_for_like:
                outcome = held(checks["steering-change"], "steering-certificate", change)
                found.append(("steering-change", change, outcome, None, None, None))
            else:
                found.append(("steering-change", change, 1, None, None, None))
            if not change.steering__wheel_replaced:
                outcome = 1
            elif vehicle.vehicle__steering__wheel_diameter < 335_000_000:
                outcome = 128
            elif (
                vehicle.vehicle__steering__airbag or not vehicle.vehicle__steering__airbag_as_built
            ):
                outcome = 2
            elif built < BUILT_1994 and not vehicle.vehicle__steering__airbag_required:
                outcome = 4
            else:
                outcome = 128
            found.append(("steering-wheel", change, outcome, None, None, None))
    else:
        found.append(("steering-change", None, 1, None, None, None))
        found.append(("steering-wheel", None, 1, None, None, None))

    applies = tyres and growth * 100 > largest * 7
    if not applies:
        limit = world.ratings_.ratings__gross_mass * 53
        for upgrade in upgrades:
            if upgrade.mass_upgrade__gross_mass * 50 > limit:
                applies = True
                break
    if applies:
        larger = vehicle.vehicle__brakes__friction_material_approved
        kept = vehicle.vehicle__brakes__stopping_test_passed
        if not vehicle.vehicle__brakes__fade_test_passed:
            kept = False
        for axle in world.axle_:
            diameter = axle.axle__brake__diameter
            as_built = axle.axle__brake__diameter_as_built
            sort = axle.axle__brake__brake_kind
            if diameter < as_built:
                larger = kept = False
            else:
                if sort != axle.axle__brake__brake_kind_as_built:
                    kept = False
                if axle.axle__position == "front" and (
                    sort != "disc" or diameter * 25 < as_built * 27
                ):
                    larger = False
        found.append(("brake-packages", None, 2 if larger or kept else 128, None, None, None))
    else:
        found.append(("brake-packages", None, 1, None, None, None))

    applies = changed = False
    for change in brakes:
        if change.brakes__pipes_moved:
            applies = True
        if change.brakes__parking_brake_changed:
            changed = True
    if not applies:
        found.append(("brake-pipes", None, 1, None, None, None))
    elif vehicle.vehicle__brakes__pipe_fixing_interval <= 300_000_000 and (
        vehicle.vehicle__brakes__pipe_exhaust_gap >= 55_000_000
        or vehicle.vehicle__brakes__pipe_shielded
    ):
        found.append(("brake-pipes", None, 2, None, None, None))
    else:
        found.append(("brake-pipes", None, 128, None, None, None))

    if not (brakes and vehicle.vehicle__brakes__anti_lock_as_built):
        outcome = 1
    elif vehicle.vehicle__brakes__anti_lock_works:
        outcome = 2
    elif built < BUILT_2003 and vehicle.vehicle__brakes__anti_lock_form_without:
        outcome = held(checks["anti-lock"], "brake-certificate", None)
    else:
        outcome = 128
    found.append(("anti-lock", None, outcome, None, None, None))

    if brakes or upgrades:
        slope = vehicle.vehicle__brakes__parking_slope
        if slope < 170_000:
            found.append(("parking-brake", None, 128, slope, None, None))
        else:
            found.append(("parking-brake", None, 32 if changed else 2, slope, None, None))
    else:
        found.append(("parking-brake", None, 1, None, None, None))
