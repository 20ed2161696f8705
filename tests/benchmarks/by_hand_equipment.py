"""By hand: bars, seats, lights, recovery, engine and batteries. Counts are those of by_hand."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from itertools import combinations
from typing import Any

from modrules.language.dates import add_months
from modrules.language.records import NONE_STATED

Found = tuple[str, Any, int, Any, Any, Any]
Held = Callable[[Any, str, Any], int]

BUILT_1990 = date(1990, 1, 1).toordinal()
BUILT_2000 = date(2000, 1, 1).toordinal()
BUILT_2014 = date(2014, 5, 1).toordinal()
FITTED_2026 = date(2026, 7, 1).toordinal()
FROM_2029 = date(2029, 7, 1).toordinal()


def bars(found: list[Found], world: Any, held: Held, checks: Mapping[str, Any]) -> None:
    """Front and rear bars, side rails and raised air intakes."""
    vehicle = world.vehicle_
    if world.front_bar_:
        airbags = vehicle.vehicle__front_airbags
        built = vehicle.vehicle__built
        marked = built >= BUILT_2014 or (world.today >= FROM_2029 and built >= BUILT_2000)
        for bar in world.front_bar_:
            if not airbags:
                outcome = 1
            elif (
                bar.front_bar__approved_airbags
                and bar.modification__approved_vehicle
                and bar.modification__approved_variant
            ):
                outcome = 2
            elif (
                bar.front_bar__mounted_to_cover_only
                and bar.front_bar__bar_mass < 900_000_000
                and not bar.front_bar__covers_crash_sensor
            ):
                outcome = 4
            else:
                outcome = 128
            found.append(("front-bar-airbags", bar, outcome, None, None, None))

            if marked or (bar.modification__fitted >= FITTED_2026 and built >= BUILT_1990):
                outcome = 2 if bar.front_bar__foot_mark else 128
            else:
                outcome = 1
            found.append(("front-bar-foot-mark", bar, outcome, None, None, None))

            radius = bar.front_bar__edge_radius
            room = radius - 6_000_000
            outcome = 2 if room >= 0 else 32
            found.append(("front-bar-edges", bar, outcome, radius, 6_000_000, room))

            reach = bar.front_bar__reach
            if reach <= 105_000_000:
                outcome = 2
            elif reach <= 165_000_000 and bar.front_bar__carries_winch:
                outcome = held(checks["front-bar-reach"], "body-certificate", bar)
            else:
                outcome = 128
            found.append(("front-bar-reach", bar, outcome, reach, None, None))
    else:
        found.append(("front-bar-airbags", None, 1, None, None, None))
        found.append(("front-bar-foot-mark", None, 1, None, None, None))
        found.append(("front-bar-edges", None, 1, None, None, None))
        found.append(("front-bar-reach", None, 1, None, None, None))

    if world.rear_bar_:
        for bar in world.rear_bar_:
            if (
                bar.rear_bar__lamps_visible_up < 15_000_000
                or bar.rear_bar__lamps_visible_down < 10_000_000
            ):
                outcome = 128
            elif not bar.rear_bar__covers_lamp:
                outcome = 2
            elif not bar.rear_bar__lamp_repeated:
                outcome = 128
            else:
                outcome = 2
                for lamp in world.lamp_:
                    if (
                        lamp.lamp__end == "rear"
                        and lamp.lamp__added
                        and abs(lamp.lamp__height - lamp.lamp__height_of_covered) > 60_000_000
                    ):
                        outcome = 128
                        break
            found.append(("rear-bar-lamps", bar, outcome, None, None, None))
    else:
        found.append(("rear-bar-lamps", None, 1, None, None, None))

    if world.side_rails_:
        high = vehicle.vehicle__clearance_under_body_middle >= 155_000_000
        airbags = vehicle.vehicle__side_airbags
        for rail in world.side_rails_:
            met = high and (
                not airbags
                or (rail.side_rails__approved_side_airbags and rail.modification__approved_variant)
            )
            found.append(("side-rails", rail, 2 if met else 128, None, None, None))
    else:
        found.append(("side-rails", None, 1, None, None, None))

    if world.raised_air_intake_:
        for intake in world.raised_air_intake_:
            limit = 140_000_000 if intake.raised_air_intake__flexible_head else 55_000_000
            if (
                intake.raised_air_intake__reach_before_pillar <= 95_000_000
                and intake.raised_air_intake__height_above_roof <= limit
            ):
                outcome = 2
            else:
                outcome = 128
            found.append(("intake-place", intake, outcome, None, None, None))
            hidden = intake.raised_air_intake__hidden_view
            if hidden <= 2_000_000:
                room = 1_200_000 - hidden
                outcome = 2 if room >= 0 else 32
                found.append(("intake-vision", intake, outcome, hidden, 1_200_000, room))
            else:
                found.append(("intake-vision", intake, 128, hidden, 2_000_000, 2_000_000 - hidden))
    else:
        found.append(("intake-place", None, 1, None, None, None))
        found.append(("intake-vision", None, 1, None, None, None))


def seats(found: list[Found], world: Any, held: Held, checks: Mapping[str, Any]) -> None:
    """Seat covers, seats, and the anchorages of their belts."""
    none = NONE_STATED
    vehicle, changes = world.vehicle_, world.seats_belts_
    fitted, anchorages = world.seat_, world.anchorage_
    if world.seat_covers_:
        for cover in world.seat_covers_:
            if not cover.seat_covers__seat_has_side_airbag:
                outcome = 1
            elif cover.seat_covers__side_left_open or (
                cover.seat_covers__approved_for_seat and cover.seat_covers__opening_seam
            ):
                outcome = 2
            else:
                outcome = 128
            found.append(("seat-covers", cover, outcome, None, None, None))
    else:
        found.append(("seat-covers", None, 1, None, None, None))

    replaced = False
    for change in changes:
        if change.seats_belts__seat_replaced:
            replaced = True
            break
    if not fitted:
        found.append(("replaced-seats", None, 1, None, None, None))
    elif replaced:
        for seat in fitted:
            if seat.seat__as_built:
                outcome = 1
            elif seat.seat__side_airbag_as_built and not seat.seat__side_airbag:
                outcome = 128
            elif seat.seat__at_own_mountings and seat.seat__maker_states_fit:
                outcome = 2
            else:
                outcome = held(checks["replaced-seats"], "seating-certificate", seat)
            found.append(("replaced-seats", seat, outcome, None, None, None))
    else:
        found += [("replaced-seats", seat, 1, None, None, None) for seat in fitted]

    if not (fitted and anchorages):
        found.append(("belt-anchorages", None, 1, None, None, None))
    elif changes:
        for seat in fitted:
            row, position = seat.seat__row, seat.seat__position
            needed = 140_000_000_000
            if seat.seat__carries_belt:
                needed += seat.seat__mass * 19
            for anchorage in anchorages:
                if anchorage.anchorage__row != row or anchorage.anchorage__position != position:
                    outcome = 1
                else:
                    tested = anchorage.anchorage__test_load
                    if tested is none:
                        tested = 14_000_000_000 if anchorage.anchorage__as_built else 0
                    if anchorage.anchorage__distance > 280_000_000 or tested * 10 < needed:
                        outcome = 128
                    else:
                        outcome = 2 if anchorage.anchorage__as_built else 32
                found.append(("belt-anchorages", (seat, anchorage), outcome, None, None, None))
    else:
        found += [
            ("belt-anchorages", (seat, anchorage), 1, None, None, None)
            for seat in fitted
            for anchorage in anchorages
        ]

    if changes:
        outcome = 2
        if vehicle.vehicle__seats > vehicle.vehicle__seats_as_built:
            outcome = 64
        if not vehicle.vehicle__emergency_vehicle:
            for seat in fitted:
                if seat.seat__facing == "sideways" and seat.seat__row > 1:
                    outcome = 128
                    break
        if outcome == 64:
            outcome = held(checks["seats-added"], "seating-certificate", None)
        found.append(("seats-added", None, outcome, None, None, None))
    else:
        found.append(("seats-added", None, 1, None, None, None))


def lights(found: list[Found], world: Any) -> None:
    """Driving lamps, the height of the low beam, and lamps in pairs."""
    lamps = world.lamp_
    if world.lighting_:
        vehicle, today = world.vehicle_, world.today
        for lighting in world.lighting_:
            bars = -(-lighting.lighting__lamp_bar_length // 550_000_000)
            if (
                lighting.lighting__driving_lamps + 2 * bars <= 4
                and lighting.lighting__wired_to_main_beam
            ):
                outcome = 2
            elif vehicle.vehicle__emergency_vehicle or (
                vehicle.vehicle__historic_register
                and add_months(vehicle.vehicle__built, 360) <= today
                and lighting.modification__fitted < add_months(today, -120)
            ):
                outcome = 4
            else:
                outcome = 128
            found.append(("driving-lamps", lighting, outcome, None, None, None))
    else:
        found.append(("driving-lamps", None, 1, None, None, None))

    changed = world.lighting_ or world.suspension_ or world.body_blocks_ or world.tyres_
    for lamp in lamps:
        if changed and lamp.lamp__purpose == "low_beam":
            height = lamp.lamp__height
            if height > 1_140_000_000:
                limit = 1_140_000_000
                found.append(("low-beam-height", lamp, 32, height, limit, limit - height))
            else:
                limit = 480_000_000
                found.append(
                    ("low-beam-height", lamp, 2, height, None, None)
                    if height >= limit
                    else ("low-beam-height", lamp, 128, height, limit, height - limit)
                )
        else:
            found.append(("low-beam-height", lamp, 1, None, None, None))
    if not lamps:
        found.append(("low-beam-height", None, 1, None, None, None))

    pairs = list(combinations(lamps, 2))
    for pair in pairs:
        first, second = pair
        if (
            first.lamp__purpose != second.lamp__purpose
            or first.lamp__end != second.lamp__end
            or not (first.lamp__added or second.lamp__added)
            or (first.lamp__side, second.lamp__side) not in (("left", "right"), ("right", "left"))
        ):
            outcome = 1
        elif (
            -35_000_000 <= first.lamp__height - second.lamp__height <= 35_000_000
            and first.lamp__colour == second.lamp__colour
        ):
            outcome = 2
        else:
            outcome = 128
        found.append(("lamp-pairs", pair, outcome, None, None, None))
    if not pairs:
        found.append(("lamp-pairs", None, 1, None, None, None))


def recovery(found: list[Found], world: Any, gross: int) -> None:
    """Recovery points and winches, against the weight at the gross rating in force."""
    none = NONE_STATED
    points = world.recovery_point_
    if points and world.recovery_fittings_:
        needed = gross * 15_696
        if needed < 5_000_000_000_000_000:
            needed = 5_000_000_000_000_000
        for point in points:
            rating = point.recovery_point__rating
            strength = 0 if rating is none else rating * 100_000
            if point.recovery_point__shared_by_bridle:
                strong = strength * 5 >= needed * 3
            else:
                strong = strength >= needed
            if strong and not point.recovery_point__is_tow_ball:
                outcome = 2
            else:
                excused = rating is none and point.recovery_point__trailer_rope_notice
                outcome = 4 if excused else 128
            found.append(("recovery-points", point, outcome, None, None, None))
    else:
        for point in points or (None,):
            found.append(("recovery-points", point, 1, None, None, None))

    if world.winch_:
        needed = gross * 12_753
        for winch in world.winch_:
            pull = winch.winch__rated_pull
            mount = winch.winch__mount_rating
            if pull > (0 if mount is none else mount):
                outcome = 128
            elif pull * 100_000 >= needed:
                outcome = 2
            else:
                outcome = 16 if winch.winch__marked_light_duty else 128
            found.append(("winch-pull", winch, outcome, pull, None, None))
    else:
        found.append(("winch-pull", None, 1, None, None, None))


def electrics(found: list[Found], world: Any, held: Held, checks: Mapping[str, Any]) -> None:
    """Engine, locking differentials and second batteries."""
    vehicle = world.vehicle_
    if world.engine_:
        as_built = world.ratings_.ratings__power_as_built
        for engine in world.engine_:
            power = engine.engine__power
            if power * 25 <= as_built * 28:
                outcome = 2
            elif power * 10 <= as_built * 13:
                outcome = held(checks["engine-power"], "driveline-certificate", engine)
            elif power * 5 <= vehicle.vehicle__kerb_mass * 8:
                outcome = held(checks["engine-power"], "engineer-full", engine)
            else:
                outcome = 128
            found.append(("engine-power", engine, outcome, power, None, None))
            if not engine.engine__replaced:
                outcome = 1
            elif add_months(engine.engine__made, 120) < vehicle.vehicle__built:
                outcome = 32
            else:
                outcome = 2 if engine.engine__emission_standard_met else 128
            found.append(("engine-emissions", engine, outcome, None, None, None))
            # The code leaves this open: every outcome is possible.
            outcome = 255 if engine.engine__electric_drive else 1
            found.append(("electric-drive", engine, outcome, None, None, None))
    else:
        found.append(("engine-power", None, 1, None, None, None))
        found.append(("engine-emissions", None, 1, None, None, None))
        found.append(("electric-drive", None, 1, None, None, None))

    if world.locking_differentials_:
        for lock in world.locking_differentials_:
            if not lock.locking_differentials__driver_can_release:
                outcome = 128
            elif (
                lock.locking_differentials__axle == "front"
                and vehicle.vehicle__stability_control_as_built
                and not lock.locking_differentials__releases_for_stability_control
            ):
                outcome = held(checks["locking-differential"], "running-gear", lock)
            else:
                outcome = 2
            found.append(("locking-differential", lock, outcome, None, None, None))
    else:
        found.append(("locking-differential", None, 1, None, None, None))

    if world.second_battery_:
        for battery in world.second_battery_:
            place = battery.second_battery__place
            heat = battery.second_battery__temperature_rating
            if (
                battery.second_battery__hold_forward < 20_000_000
                or battery.second_battery__hold_sideways < 8_000_000
                or (
                    place == "under_bonnet"
                    and battery.second_battery__chemistry == "lithium"
                    and (heat is NONE_STATED or heat < 90_000_000)
                )
                or (
                    place == "occupied_space"
                    and not battery.second_battery__sealed
                    and not battery.second_battery__vented_box
                )
            ):
                outcome = 128
            elif battery.second_battery__high_voltage:
                outcome = held(checks["battery-place"], "electrical-certificate", battery)
            else:
                outcome = 2
            found.append(("battery-place", battery, outcome, None, None, None))
            met = (
                battery.second_battery__fuse_at_both_ends
                and battery.second_battery__fuse_within_cable
                and battery.second_battery__fuse_distance <= 220_000_000
            )
            found.append(("battery-cables", battery, 2 if met else 128, None, None, None))
    else:
        found.append(("battery-place", None, 1, None, None, None))
        found.append(("battery-cables", None, 1, None, None, None))
