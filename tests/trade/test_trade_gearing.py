"""A change of tyre: height, speed, gearing, the speedometer's law, rims, match of the axles."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from modrules.trade import gearing
from modrules.trade.ranges import Range, TradeError

_DIAMETERS = st.fractions(500, 1100, max_denominator=10)
_SPEEDS = st.fractions(0, 200, max_denominator=10)


def test_a_taller_tyre() -> None:
    assert gearing.diameter_change(800, 840) == 40
    assert gearing.diameter_change_percent(800, 840) == 5
    assert gearing.clearance_gained(800, 840) == 20
    assert gearing.true_speed(100, 800, 840) == 105
    assert gearing.odometer_error_percent(800, 840) == Fraction(-100, 21)
    assert gearing.engine_speed_factor(800, 840) == Fraction(20, 21)
    assert gearing.overall_gearing_percent(800, 840) == 5
    assert gearing.restoring_ratio(Fraction("3.9"), 800, 840) == Fraction("4.095")


@given(_DIAMETERS, _DIAMETERS)
def test_going_back_undoes_the_change(old: Fraction, new: Fraction) -> None:
    assert gearing.diameter_change(old, new) == -gearing.diameter_change(new, old)
    assert gearing.engine_speed_factor(old, new) * gearing.engine_speed_factor(new, old) == 1
    assert gearing.true_speed(gearing.true_speed(100, old, new), new, old) == 100


@given(_SPEEDS, _DIAMETERS, _DIAMETERS, st.fractions(0, 1))
def test_whatever_the_old_reading_the_new_one_is_held(
    speed: Fraction, old: Fraction, new: Fraction, part: Fraction
) -> None:
    felt = speed * old / new
    on_old = felt + part * (gearing.highest_reading(felt) - felt)
    found = gearing.speedometer_reading(speed, old, new)
    assert found.indicated.low is not None
    assert found.indicated.high is not None
    assert found.indicated.low <= on_old <= found.indicated.high
    allowed = speed <= on_old <= gearing.highest_reading(speed)
    assert found.allowed in (None, allowed)


def test_an_exact_speedometer_under_reads_on_taller_tyres() -> None:
    found = gearing.speedometer_reading(80, 800, 840, over_reading=0)
    assert found.indicated == Range(Fraction(1600, 21), Fraction(1600, 21))
    assert found.allowed is False


def test_one_that_read_enough_too_much_is_still_allowed() -> None:
    assert gearing.speedometer_reading(80, 800, 840, over_reading=5).allowed is True
    assert gearing.speedometer_reading(80, 800, 840, over_reading=(4, 6)).allowed is None


def test_not_measured_a_taller_tyre_leaves_it_open_and_the_same_tyre_does_not() -> None:
    assert gearing.speedometer_reading(80, 800, 840).allowed is None
    assert gearing.speedometer_reading(80, 800, 800).allowed is True
    assert gearing.speedometer_reading(80, 800, 1100).allowed is False


@pytest.mark.parametrize(
    ("top", "speeds"),
    [
        (40, (32,)),
        (90, (40, 72)),
        (120, (40, 80)),
        (140, (40, 80, 112)),
        (180, (40, 80, 120)),
    ],
)
def test_the_test_speeds(top: int, speeds: tuple[int, ...]) -> None:
    assert gearing.speeds_tested(top) == speeds


def test_rims() -> None:
    assert gearing.track_change(30, 10) == 40
    assert gearing.outer_edge_movement(30, 10, 200, 230) == 35
    assert gearing.inner_edge_movement(30, 10, 200, 230) == -5


@given(*[st.integers(-60, 60)] * 2, *[st.integers(100, 400)] * 2)
def test_the_edges_move_apart_by_what_the_width_grows(
    old_offset: int, new_offset: int, old: int, new: int
) -> None:
    out = gearing.outer_edge_movement(old_offset, new_offset, old, new)
    inwards = gearing.inner_edge_movement(old_offset, new_offset, old, new)
    assert out + inwards == new - old


def test_beyond_the_guard_only_if_measured() -> None:
    assert gearing.beyond_guard(10, 35) == Range(25, 25)
    assert gearing.beyond_guard((8, 12), 35) == Range(23, 27)
    assert gearing.beyond_guard(None, 35) == Range(None, None)


def test_match_of_the_axles_and_the_spare() -> None:
    assert gearing.mismatch_percent(808, 800) == gearing.mismatch_percent(800, 808) == 1
    assert gearing.added_mass(32, (38, 40)) == Range(6, 8)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: gearing.diameter_change(0, 800),
        lambda: gearing.true_speed(-1, 800, 800),
        lambda: gearing.outer_edge_movement(0, 0, 0, 200),
        lambda: gearing.restoring_ratio(0, 800, 840),
        lambda: gearing.mismatch_percent(800, -800),
    ],
)
def test_what_cant_be(wrong: object) -> None:
    with pytest.raises(TradeError):
        wrong()  # type: ignore[operator]
