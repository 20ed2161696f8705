"""Facts of the trade. Each is common practice and has no published source."""

from __future__ import annotations

from fractions import Fraction

from modrules.trade.masses import (
    AxleMasses,
    Change,
    Frame,
    Item,
    axle_masses,
    centre_of_mass,
    payload,
)
from modrules.trade.pressures import PSI, warm_rise, wear_says
from modrules.trade.ranges import as_range
from modrules.trade.recovery import Link, strong_enough, weakest, working_load_wanted
from modrules.trade.roof import Layer, roof_load
from modrules.trade.towing import trailer_limit

FRAME = Frame(wheelbase=2800, front_overhang=900, rear_overhang=1200, width=1900, height=2200)
BASE = AxleMasses(as_range(1150), as_range(950), "kerb")


def test_the_roof_limit_includes_the_rack() -> None:
    assert roof_load((Layer("roof", 100), Layer("rack", 200, 28))).value.exact == 72


def test_the_unbraked_limit_of_a_light_vehicle_can_lie_far_below_the_ceiling() -> None:
    found = trailer_limit({"vehicle": 450, "general ceiling": 750}, 700)
    assert found.met is False
    assert found.limit is not None
    assert found.limit.by == ("vehicle",)


def test_every_part_fitted_comes_off_the_payload() -> None:
    parts = [Change(f"part {n}", (Item(f"part {n}", 20 + n, 400 * n),)) for n in range(8)]
    before = payload(3000, BASE.total).exact
    after = payload(3000, axle_masses(BASE, parts, FRAME).total).exact
    assert before is not None
    assert before - sum(20 + n for n in range(8)) == after


def test_a_pressure_that_suits_the_load_rises_by_two_to_three_psi() -> None:
    said = [warm_rise(250, 250 + rise * PSI) for rise in (Fraction(1), 2, Fraction(5, 2), 3, 4)]
    assert said == ["too high", "suits", "suits", "suits", "too low"]


def test_wear_in_the_centre_and_on_both_shoulders() -> None:
    assert wear_says("centre") == "over-inflated"
    assert wear_says("both shoulders") == "under-inflated"


def test_a_recovery_point_has_a_working_load_of_about_twice_the_mass() -> None:
    assert working_load_wanted(Fraction(2400)) == 4800
    assert strong_enough(weakest([Link("point", working_load=4800)]), 2400) is True
    assert strong_enough(weakest([Link("point", working_load=4799)]), 2400) is False


def test_heavy_things_go_low_and_central() -> None:
    base = Item("vehicle", 2100, 1300, 0, 700)

    def height(load_height: int) -> Fraction:
        item = Item("load", 100, 1300, 0, load_height)
        found = centre_of_mass(base, [Change("load", (item,))], FRAME).height.exact
        assert found is not None
        return Fraction(found)

    assert height(600) < 700 < height(1200) < height(2000)
    tail = axle_masses(BASE, [Change("tail", (Item("load", 100, 3900),))], FRAME)
    middle = axle_masses(BASE, [Change("middle", (Item("load", 100, 1400),))], FRAME)
    assert tail.rear.exact is not None
    assert middle.rear.exact is not None
    assert tail.rear.exact - 950 > 100 > middle.rear.exact - 950
