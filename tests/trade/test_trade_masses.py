"""The ledger: axle masses by moments, centre of mass, what is left, the weighbridge."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from modrules.trade.masses import (
    AxleMasses,
    Change,
    Frame,
    Item,
    axle_masses,
    centre_from_axles,
    centre_of_mass,
    centre_shift,
    combination_mass,
    fuel_item,
    kerb_from_tare,
    left_for_people_and_gear,
    on_ball,
    payload,
    reconcile,
)
from modrules.trade.ranges import Range, TradeError, as_range

FRAME = Frame(wheelbase=2800, front_overhang=900, rear_overhang=1200, width=1900, height=2200)
BASE = AxleMasses(as_range(1150), as_range(950), "kerb")

_PLACES = st.integers(-900, 4000)
_MASSES = st.integers(0, 300)


def _axles(*changes: Change) -> AxleMasses:
    return axle_masses(BASE, changes, FRAME)


def test_a_winch_ahead_of_the_front_axle_takes_off_the_rear() -> None:
    found = _axles(Change("winch", (Item("winch", 56, -700),)))
    assert found.front == Range(1220, 1220)
    assert found.rear == Range(936, 936)
    assert found.total == Range(2156, 2156)
    assert found.condition == "kerb"


def test_a_tank_replaces_a_tank() -> None:
    change = Change("tank", (Item("long tank", 40, 2800),), (Item("tank", 15, 2800),))
    assert _axles(change).rear == Range(975, 975)
    assert _axles(change).front == BASE.front


def test_tolerances_pass_through() -> None:
    found = _axles(Change("bar", (Item("bar", (40, 44), (-700, -700)),)))
    assert found.front == Range(1200, 1205)
    assert found.rear == Range(939, 940)


def test_a_part_of_unknown_mass_opens_only_what_it_may_raise() -> None:
    found = _axles(Change("drawers", (Item("drawers", None, 2800),)))
    assert found.front == BASE.front
    assert found.rear == Range(950, None)


def test_a_part_of_unknown_place_is_somewhere_on_the_vehicle() -> None:
    found = _axles(Change("box", (Item("box", 28),)))
    assert found.front == Range(1150 - 12, 1150 + 37)
    assert found.rear == Range(950 - 9, 950 + 40)


@given(
    st.lists(st.tuples(_MASSES, _MASSES, _PLACES, _PLACES, st.booleans()), max_size=6), st.data()
)
def test_whatever_the_parts_turn_out_to_be_the_axles_are_held(
    parts: list[tuple[int, int, int, int, bool]], data: st.DataObject
) -> None:
    loose, strict = [], []
    for number, (m1, m2, p1, p2, off) in enumerate(parts):
        mass, place = sorted((m1, m2)), sorted((p1, p2))
        rough = Item(f"part {number}", (mass[0], mass[1]), (place[0], place[1]))
        fine = Item(
            f"part {number}",
            data.draw(st.integers(mass[0], mass[1])),
            data.draw(st.integers(place[0], place[1])),
        )
        loose.append(Change("c", (), (rough,)) if off else Change("c", (rough,)))
        strict.append(Change("c", (), (fine,)) if off else Change("c", (fine,)))
    wide, narrow = _axles(*loose), _axles(*strict)
    for outer, inner in ((wide.front, narrow.front), (wide.rear, narrow.rear)):
        assert inner.exact is not None
        assert outer.low is not None
        assert outer.high is not None
        assert outer.low <= inner.exact <= outer.high


@given(st.lists(st.tuples(_MASSES, _PLACES), max_size=6))
def test_the_axles_carry_all_that_is_fitted(parts: list[tuple[int, int]]) -> None:
    items = tuple(Item(f"part {number}", *part) for number, part in enumerate(parts))
    assert _axles(Change("all", items)).total.exact == 2100 + sum(mass for mass, _ in parts)


@pytest.mark.parametrize(
    "item",
    [
        Item("winch", 40, -901),
        Item("rack", 40, 4001),
        Item("rack", 40, (3990, 4001)),
        Item("side", 40, 100, across=951),
        Item("roof", 40, 100, height=2201),
        Item("roof", 40, 100, height=-1),
    ],
)
def test_a_mass_outside_the_vehicle_is_refused(item: Item) -> None:
    with pytest.raises(TradeError, match=f'"{item.name}" would stand outside the vehicle'):
        _axles(Change("wrong", (item,)))


def test_a_negative_mass_is_refused() -> None:
    with pytest.raises(TradeError, match='the mass of "bar" can\'t be -1'):
        _axles(Change("wrong", (Item("bar", -1, 0),)))


@pytest.mark.parametrize("name", ["wheelbase", "width", "height", "front_overhang"])
def test_a_frame_has_a_size(name: str) -> None:
    sizes = {
        "wheelbase": 2800, "front_overhang": 900, "rear_overhang": 1, "width": 1, "height": 1,
    }  # fmt: skip
    with pytest.raises(TradeError, match=name.replace("_", " ")):
        Frame(**{**sizes, name: -1})


# --- centre of mass ---


def test_the_centre_shifts_towards_what_is_fitted() -> None:
    base = Item("vehicle", 2000, 1300, 0, 700)
    found = centre_of_mass(base, [Change("roof", (Item("load", 100, 1300, 210, 2100),))], FRAME)
    assert found.mass == Range(2100, 2100)
    assert found.along == Range(1300, 1300)
    assert found.across == Range(10, 10)
    assert found.height.exact == Fraction(2000 * 700 + 100 * 2100, 2100)


def test_the_shift_is_after_less_before() -> None:
    base = Item("vehicle", 2000, 1300, 0, 700)
    found = centre_shift(base, [Change("box", (Item("box", 100, 3400, -210, 910),))], FRAME)
    assert [axis.exact for axis in (found.mass, found.along, found.across, found.height)] == [
        100, 100, -10, 10,
    ]  # fmt: skip


def test_taking_off_undoes_fitting() -> None:
    base, part = Item("vehicle", 2000, 1300, 0, 700), Item("part", 100, 2000, 50, 900)
    found = centre_of_mass(base, [Change("swap", (part,), (part,))], FRAME)
    assert (found.along.exact, found.across.exact, found.height.exact) == (1300, 0, 700)


def test_low_and_central_moves_the_centre_least() -> None:
    base = Item("vehicle", 2000, 1300, 0, 700)
    high = centre_of_mass(base, [Change("high", (Item("load", 80, 1300, 0, 2000),))], FRAME)
    low = centre_of_mass(base, [Change("low", (Item("load", 80, 1300, 0, 700),))], FRAME)
    assert low.height.exact == 700
    assert high.height.exact is not None
    assert high.height.exact > 700


def test_a_centre_from_axle_masses() -> None:
    assert centre_from_axles(BASE, 2800).exact == Fraction(950 * 2800, 2100)
    loose = AxleMasses(as_range((1100, 1200)), as_range((900, 1000)), "kerb")
    assert centre_from_axles(loose, 2800) == Range(1200, Fraction(1000 * 2800, 2100))
    unknown = AxleMasses(as_range(None), as_range(900), "kerb")
    assert centre_from_axles(unknown, 2800) == Range(0, 2800)
    with pytest.raises(TradeError, match="wheelbase"):
        centre_from_axles(BASE, 0)


# --- fuel, payload, ball ---


def test_fuel_counts_at_its_density() -> None:
    assert as_range(fuel_item("tank", 100, "diesel").mass) == Range(82, Fraction("84.5"))
    with pytest.raises(TradeError, match='fuel "steam"'):
        fuel_item("tank", 100, "steam")


def test_a_tare_says_how_much_fuel_it_counts() -> None:
    assert kerb_from_tare(2000, 80, 10, "diesel") == Range(
        2000 + Fraction("57.4"), 2000 + Fraction("59.15")
    )
    assert kerb_from_tare(2000, 80, None, "diesel").low == 2000
    with pytest.raises(TradeError, match="more fuel than the tank"):
        kerb_from_tare(2000, 80, 90, "diesel")


def test_what_is_left_for_people_and_gear() -> None:
    assert payload(3000, 2100) == Range(900, 900)
    assert left_for_people_and_gear(3000, BASE, fuel_to_fill=60, ball=250) == Range(590, 590)
    laden = AxleMasses(BASE.front, BASE.rear, "laden")
    with pytest.raises(TradeError, match="already counts people"):
        left_for_people_and_gear(3000, laden)


def test_a_ball_download_loads_the_rear_axle_by_more_than_itself() -> None:
    found = on_ball(280, 1000, FRAME, BASE)
    assert found.front == Range(1050, 1050)
    assert found.rear == Range(1330, 1330)
    with pytest.raises(TradeError, match="ahead of the rear axle"):
        on_ball(280, -1, FRAME, BASE)


def test_a_combination() -> None:
    assert combination_mass(2900, (2800, 3000)) == Range(5700, 5900)


# --- the weighbridge ---


def test_the_ticket_wins_and_the_residual_is_shown() -> None:
    ledger = AxleMasses(as_range(1200), as_range(1000), "as weighed")
    found = reconcile(ledger, 1220, 1080, 2300)
    assert found.holds.front == Range(1210, 1230)
    assert found.front == Range(10, 30)
    assert found.rear == Range(70, 90)
    assert found.total == Range(80, 120)


def test_a_ticket_that_contradicts_itself_is_refused() -> None:
    ledger = AxleMasses(as_range(1200), as_range(1000), "as weighed")
    assert reconcile(ledger, 1220, 1080, 2330).holds.total == Range(2280, 2320)
    with pytest.raises(TradeError, match="contradicts itself"):
        reconcile(ledger, 1220, 1080, 2331)


def test_a_ledger_in_another_condition_is_not_compared() -> None:
    with pytest.raises(TradeError, match="can't be compared"):
        reconcile(BASE, 1220, 1080)
    assert reconcile(BASE, 1150, 950, condition="kerb").total == Range(-20, 20)
