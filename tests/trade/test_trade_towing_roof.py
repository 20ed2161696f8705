"""Towing and the roof: the least of the ratings, named, with what stands on it counted in."""

from __future__ import annotations

from fractions import Fraction

import pytest

from modrules.trade import towing
from modrules.trade.ranges import Range, TradeError
from modrules.trade.roof import Layer, roof_load, roof_load_left


def test_the_least_towing_limit_holds_and_is_named() -> None:
    found = towing.trailer_limit({"vehicle": 3000, "tow bar": 2500, "coupling": 3500}, 2600)
    assert found.limit is not None
    assert found.limit.by == ("tow bar",)
    assert (found.met, found.room.exact) == (False, -100)


def test_none_stated_leaves_the_general_ceiling() -> None:
    found = towing.trailer_limit({"general ceiling": 750}, 750)
    assert (found.met, found.room.exact) == (True, 0)


def test_a_limit_not_known_leaves_it_open_unless_another_is_exceeded() -> None:
    ratings = {"vehicle": None, "general ceiling": 750}
    assert towing.trailer_limit(ratings, 500).met is None
    assert towing.trailer_limit(ratings, 751).met is False


def test_no_limit_at_all_is_no_permission() -> None:
    assert towing.trailer_limit({}, 500) == towing.Tow(None, Range(None, None), None)


def test_ball_share() -> None:
    assert towing.ball_share_percent(250, 2500) == Range(10, 10)
    assert towing.ball_share_percent((200, 250), 2500) == Range(8, 10)
    assert towing.ball_share_percent(250, None).high == 100
    with pytest.raises(TradeError, match="more than the whole trailer"):
        towing.ball_share_percent(600, 500)


def test_what_may_go_into_the_trailer_and_what_the_combination_leaves() -> None:
    assert towing.left_in_trailer(2800, 1900, 2500) == Range(600, 600)
    assert towing.combination_room(5500, 3000, 2400) == (Range(100, 100), True)
    assert towing.combination_room(5500, 3000, (2400, 2600)) == (Range(-100, 100), None)
    assert towing.combination_room(None, 3000, 2400)[1] is None


def test_the_roof_carries_bars_and_rack() -> None:
    layers = (Layer("roof", 100), Layer("bars", 90, 6), Layer("rack", 80, 24))
    found = roof_load(layers)
    assert found.value.exact == 66
    assert found.by == ("bars",)


def test_the_makers_off_road_reduction() -> None:
    layers = (Layer("roof", 100, off_road=Fraction(1, 2)), Layer("rack", 80, 20))
    assert roof_load(layers).value.exact == 80
    off = roof_load(layers, off_road=True)
    assert (off.value.exact, off.by) == (30, ("roof",))


def test_a_roof_that_states_nothing_permits_nothing_for_sure() -> None:
    found = roof_load((Layer("roof", None), Layer("rack", 80, 20)))
    assert found.value == Range(0, 80)
    assert found.by == ("roof", "rack")


def test_a_rack_heavier_than_the_roof_may_carry_is_an_error() -> None:
    with pytest.raises(TradeError, match=r"the roof may carry 25 kg, .* weighs 30 kg"):
        roof_load(
            (Layer("roof", 50, off_road=Fraction(1, 2)), Layer("rack", 80, 30)), off_road=True
        )
    assert roof_load_left(Fraction(25), Fraction(80), Fraction(30)) is None


@pytest.mark.parametrize(
    "layers",
    [
        (),
        (Layer("roof", 100), Layer("roof", 80)),
        (Layer("roof", 100, off_road=0),),
        (Layer("roof", 100, off_road=2),),
        (Layer("roof", -1),),
    ],
)
def test_what_cant_be(layers: tuple[Layer, ...]) -> None:
    with pytest.raises(TradeError):
        roof_load(layers)


def test_the_function_agrees_with_the_layers() -> None:
    for rating in (40, 75, 120):
        layers = (Layer("roof", 100), Layer("rack", rating, 30))
        assert roof_load(layers).value.exact == roof_load_left(
            Fraction(100), Fraction(rating), Fraction(30)
        )


def test_a_ball_needs_a_wheelbase() -> None:
    assert towing.ball_on_rear_axle(Fraction(1), Fraction(1), Fraction(0)) is None
    assert towing.ball_off_front_axle(Fraction(1), Fraction(-1), Fraction(1)) is None
