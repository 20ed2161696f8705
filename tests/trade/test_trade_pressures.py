"""Pressures: from the load, within placard and maxima, warm, and what wear says."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from modrules.trade import pressures
from modrules.trade.pressures import PSI, Start, starting_pressure
from modrules.trade.ranges import TradeError

#: An LT tyre that carries 1380 kg at 550 kPa, on a vehicle with a placard of 240 kPa.
TYRE = ("light truck", 1380, 550, 240)


def test_the_load_sets_the_pressure_above_the_placard() -> None:
    found = starting_pressure(1800, *TYRE)
    assert found is not None
    assert found.by == "load"
    assert found.kpa == 299
    # One kPa less carries less than 900 kg, and this much carries them.
    args = (Fraction(1380), Fraction(550))
    assert pressures.load_at_pressure("light truck", Fraction(299), *args) >= 900  # type: ignore[operator]
    assert pressures.load_at_pressure("light truck", Fraction(298), *args) < 900  # type: ignore[operator]


def test_never_below_the_placard_on_the_road() -> None:
    assert starting_pressure(800, *TYRE) == Start(Fraction(240), "placard")


def test_no_number_without_an_axle_load() -> None:
    assert starting_pressure(None, *TYRE) is None


def test_never_above_tyre_or_rim() -> None:
    with pytest.raises(TradeError, match="the rim takes at most 280 kPa"):
        starting_pressure(1800, *TYRE, rim_maximum=280)
    with pytest.raises(TradeError, match="the tyre takes at most 290 kPa"):
        starting_pressure(1800, *TYRE, tyre_maximum=290, rim_maximum=280)
    with pytest.raises(TradeError, match="the placard asks for 240 kPa"):
        starting_pressure(800, *TYRE, tyre_maximum=200)


def test_a_load_above_the_tyres_has_no_pressure() -> None:
    with pytest.raises(TradeError, match="has no pressure"):
        starting_pressure(2761, *TYRE)
    assert starting_pressure(2760, *TYRE) == Start(Fraction(550), "load")


def test_tyres_on_the_axle_and_their_class() -> None:
    four = starting_pressure(3600, *TYRE, tyres=4)
    assert four == starting_pressure(1800, *TYRE)
    with pytest.raises(TradeError, match="two tyres or four"):
        starting_pressure(1800, *TYRE, tyres=3)
    with pytest.raises(TradeError, match='known for "tractor"'):
        starting_pressure(1800, "tractor", 1380, 550, 240)


@given(
    st.sampled_from(["light truck", "passenger", "commercial"]),
    st.fractions(1, 1380, max_denominator=10),
)
def test_the_pressure_carries_the_load_and_one_kpa_less_does_not(
    tyre_class: str, load: Fraction
) -> None:
    reference = (Fraction(1380), Fraction(550))
    found = pressures.pressure_for_load(tyre_class, load, *reference)
    assert found is not None
    carried = pressures.load_at_pressure(tyre_class, found, *reference)
    assert carried is not None
    assert carried >= int(load)
    if found > 1:
        less = pressures.load_at_pressure(tyre_class, found - 1, *reference)
        assert less is not None
        assert less < load


def test_passenger_tyres_ask_for_more() -> None:
    values = (Fraction(700), Fraction(1000), Fraction(250))
    passenger = pressures.pressure_for_load("passenger", *values)
    light_truck = pressures.pressure_for_load("light truck", *values)
    assert passenger is not None
    assert light_truck is not None
    assert passenger > light_truck


def test_warm_rise() -> None:
    cold = Fraction(250)
    assert pressures.warm_rise(cold, cold + 1 * PSI) == "too high"
    assert pressures.warm_rise(cold, cold + 2 * PSI) == "suits"
    assert pressures.warm_rise(cold, cold + 3 * PSI) == "suits"
    assert pressures.warm_rise(cold, cold + 4 * PSI) == "too low"
    with pytest.raises(TradeError, match="leaks"):
        pressures.warm_rise(cold, cold - 1)


def test_wear() -> None:
    assert pressures.wear_says("centre") == "over-inflated"
    assert pressures.wear_says("both shoulders") == "under-inflated"
    assert pressures.wear_says("one shoulder") is None


def test_air_below_absolute_zero_has_no_pressure() -> None:
    assert pressures.hot_pressure(Fraction(250), Fraction(-300), Fraction(20)) is None
    assert pressures.hot_pressure(Fraction(0), Fraction(20), Fraction(-200)) == 0
