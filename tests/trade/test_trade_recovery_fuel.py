"""Recovery gear and range: weakest link, fit, bridle, planned range, the indicator."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from modrules.trade import fuel
from modrules.trade.powers import cosine_down, power_down, power_up
from modrules.trade.ranges import TradeError
from modrules.trade.recovery import (
    Link,
    bridle_leg_force,
    pin_fits,
    strong_enough,
    weakest,
    working_load_wanted,
)

POINT = Link("point", working_load=5000)
SHACKLE = Link("shackle", working_load=4750)
STRAP = Link("strap", breaking_strength=11_000)


def test_the_weakest_link_is_named() -> None:
    chain = weakest([POINT, SHACKLE])
    assert (chain.working_load, chain.by) == (4750, ("shackle",))
    assert chain.usable


def test_a_working_load_is_never_compared_with_a_breaking_strength() -> None:
    chain = weakest([POINT, SHACKLE, STRAP])
    assert (chain.working_load, chain.by) == (4750, ("shackle",))
    assert (chain.breaking_strength, chain.breaks_at) == (11_000, ("strap",))
    assert strong_enough(chain, 2300) is None
    assert strong_enough(chain, 2400) is False


def test_unrated_means_do_not_use() -> None:
    chain = weakest([POINT, Link("old hook")])
    assert not chain.usable
    assert chain.do_not_use == ("old hook",)
    assert chain.working_load is None
    assert strong_enough(chain, 1) is False


def test_about_twice_the_mass() -> None:
    assert working_load_wanted(Fraction(2500)) == 5000
    assert working_load_wanted(Fraction(0)) is None
    assert strong_enough(weakest([POINT]), 2500) is True
    assert strong_enough(weakest([POINT]), 2501) is False
    with pytest.raises(TradeError, match="above zero"):
        strong_enough(weakest([POINT]), 0)


def test_no_chain_and_no_load() -> None:
    with pytest.raises(TradeError, match="at least one link"):
        weakest([])
    with pytest.raises(TradeError, match="can't be rated at 0 kg"):
        weakest([Link("point", working_load=0)])


def test_fit() -> None:
    assert pin_fits(19, 20, 27, 25)
    assert not pin_fits(22, 20, 27, 25)
    assert not pin_fits(19, 20, 24, 25)
    with pytest.raises(TradeError):
        pin_fits(0, 20, 24, 25)


@given(st.fractions(0, 170, max_denominator=50).filter(lambda angle: angle < 170))
def test_a_bridle_leg_is_never_understated(angle: Fraction) -> None:
    found = bridle_leg_force(Fraction(10_000), angle)
    assert found is not None
    true = 10_000 / (2 * math.cos(math.radians(angle / 2)))
    assert true - 1e-6 <= float(found) <= true + 0.0011


def test_a_bridle_at_known_angles() -> None:
    assert bridle_leg_force(Fraction(1000), Fraction(0)) == 500
    # Exactly the pull, whatever the pull: what is rated for just that is not past it.
    assert bridle_leg_force(Fraction(1000), Fraction(120)) == 1000
    assert bridle_leg_force(Fraction(1000, 3), Fraction(120)) == Fraction(1000, 3)
    assert bridle_leg_force(Fraction(-1), Fraction(10)) is None
    assert bridle_leg_force(Fraction(1), Fraction(-1)) is None


@given(
    st.fractions(0, 20_000, max_denominator=3),
    st.sampled_from([0, 60, 120]).flatmap(
        lambda near: st.tuples(
            st.fractions(max(near - 1, 0), near + 1, max_denominator=10**6),
            st.fractions(max(near - 1, 0), near + 1, max_denominator=10**6),
        )
    ),
)
def test_a_wider_bridle_never_takes_less(
    force: Fraction, angles: tuple[Fraction, Fraction]
) -> None:
    narrow, wide = (bridle_leg_force(force, angle) for angle in sorted(angles))
    exact = bridle_leg_force(force, Fraction(120))
    assert narrow is not None
    assert wide is not None
    assert exact is not None
    assert narrow <= wide
    assert (wide <= exact) if max(angles) <= 120 else (wide >= exact)


@given(st.fractions(0, 90, max_denominator=100))
def test_the_cosine_is_just_below(angle: Fraction) -> None:
    assert -1e-15 <= math.cos(math.radians(angle)) - float(cosine_down(angle)) + 1e-16 <= 1e-11


@given(
    st.fractions(0, 1000, max_denominator=30),
    st.integers(1, 10),
    st.integers(1, 10),
    st.sampled_from([Fraction(1), Fraction(1, 1000), Fraction(5)]),
)
def test_powers_are_rounded_outwards(
    base: Fraction, numerator: int, denominator: int, step: Fraction
) -> None:
    down = power_down(base, numerator, denominator, step)
    up = power_up(base, numerator, denominator, step)
    assert down**denominator <= base**numerator <= up**denominator
    assert (down + step) ** denominator > base**numerator
    assert up == down or (up == down + step and down**denominator != base**numerator)


# --- range ---


def test_range_is_planned_on_the_worst() -> None:
    assert fuel.planned_range(120, [11, 15, 13], 15) == 700


@pytest.mark.parametrize(
    ("tank", "used", "margin"), [(120, [], 10), (120, [0], 10), (10, [12], 11)]
)
def test_no_range_without_figures(tank: int, used: list[int], margin: int) -> None:
    with pytest.raises(TradeError):
        fuel.planned_range(tank, used, margin)


def test_the_indicator_after_a_bigger_tank_and_its_assumption() -> None:
    spans, assumed = fuel.indicated_share(70, 70, 140, "spans the tank")
    assert spans == Fraction(1, 2)
    assert "in proportion to litres" in assumed
    tells, assumed = fuel.indicated_share(105, 70, 140, "tells litres")
    assert tells == 1
    assert "up to what the old tank held" in assumed
    assert fuel.indicator_error_litres(70, 70, 140, "spans the tank")[0] == -35
    assert fuel.indicator_error_litres(35, 70, 140, "tells litres")[0] == 0


def test_what_the_indicator_hides_from_who_reckons_with_the_new_tank() -> None:
    quarter, half = Fraction(1, 4), Fraction(1, 2)
    assert fuel.indicator_error("tells litres", quarter, Fraction(80), Fraction(160)) == 20
    assert fuel.indicator_error("spans the tank", quarter, Fraction(80), Fraction(160)) == 0
    assert fuel.indicator_error("tells litres", half, Fraction(80), Fraction(60)) == -10
    assert fuel.indicator_error("is guessed", half, Fraction(80), Fraction(160)) is None
    assert fuel.indicator_error("tells litres", Fraction(2), Fraction(80), Fraction(160)) is None
    assert fuel.indicator_error("tells litres", half, Fraction(0), Fraction(160)) is None


@given(st.fractions(0, 1), st.integers(1, 300), st.integers(1, 300))
def test_the_two_ways_of_telling_the_same_error(shown: Fraction, old: int, new: int) -> None:
    litres = shown * min(old, new)
    share, _ = fuel.indicated_share(litres, old, new, "tells litres")
    found = fuel.indicator_error("tells litres", share, Fraction(old), Fraction(new))
    assert found == share * new - litres


def test_more_fuel_than_fits() -> None:
    with pytest.raises(TradeError, match="141 L are not in a tank of 140 L"):
        fuel.indicated_share(141, 70, 140, "tells litres")
    with pytest.raises(TradeError, match="more than nothing"):
        fuel.indicated_share(0, 0, 140, "tells litres")
