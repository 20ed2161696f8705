"""What is worked out from a marking: sizes, load, speed, class, construction."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from modrules.trade import tyres
from modrules.trade.markings import parse_marking
from modrules.trade.tables import (
    LOAD_INDEX_KG,
    SPEED_SYMBOL_KMH,
    certainty_of_load_index,
    certainty_of_speed_symbol,
)


def test_a_metric_tyre() -> None:
    marking = parse_marking("LT265/70R17 121/118S")
    assert tyres.rim_diameter(marking) == Fraction("431.8")
    assert tyres.section_width(marking) == 265
    assert tyres.section_height(marking) == Fraction("185.5")
    assert tyres.overall_diameter(marking) == Fraction("802.8")


def test_a_flotation_tyre() -> None:
    marking = parse_marking("32x11.50R15LT 113Q")
    assert tyres.overall_diameter(marking) == Fraction("812.8")
    assert tyres.section_width(marking) == Fraction("292.1")
    assert tyres.section_height(marking) == Fraction("215.9")


def test_a_numeric_size_does_not_state_its_height_or_width() -> None:
    marking = parse_marking("7.50R16LT 116/114L")
    assert tyres.rim_diameter(marking) == Fraction("406.4")
    assert tyres.overall_diameter(marking) is None
    assert tyres.section_width(marking) is None
    assert tyres.section_height(marking) is None


def test_a_diagonal_size_without_an_aspect_ratio_states_no_height() -> None:
    assert tyres.overall_diameter(parse_marking("165-13")) is None


def test_half_inch_rims_are_exact() -> None:
    assert tyres.rim_diameter(parse_marking("9.50-16.5LT")) == Fraction("419.1")


def test_the_width_follows_the_rim() -> None:
    on_rim = tyres.section_width_on_rim
    assert on_rim(Fraction(265), Fraction(203), Fraction(193)) == 269
    assert on_rim(Fraction(265), Fraction(183), Fraction(193)) == 261
    assert on_rim(Fraction(265), Fraction(0), Fraction(193)) is None
    assert on_rim(Fraction(10), Fraction(1), Fraction(193)) is None


def test_allowed_rim_widths() -> None:
    assert tyres.rim_width_allowed(Fraction(7), Fraction(7), Fraction(9))
    assert tyres.rim_width_allowed(Fraction(9), Fraction(7), Fraction(9))
    assert not tyres.rim_width_allowed(Fraction("9.5"), Fraction(7), Fraction(9))
    with pytest.raises(ValueError, match="is wider than the widest"):
        tyres.rim_width_allowed(Fraction(8), Fraction(9), Fraction(7))


@given(st.fractions(min_value=1, max_value=2000))
def test_circumference_and_turns_hold_the_true_value(diameter: Fraction) -> None:
    low, high = tyres.circumference(diameter)
    assert low < high
    assert high - low <= diameter / 10**15
    least, most = tyres.revolutions_per_km(diameter)
    assert least * high == most * low == 1_000_000


def test_a_diameter_of_nothing_has_no_circumference() -> None:
    with pytest.raises(ValueError, match="above zero"):
        tyres.circumference(Fraction(0))


def test_single_and_twin_wheels_take_their_own_index() -> None:
    marking = parse_marking("LT265/70R17 121/118S")
    assert tyres.capacity(marking) == 1450
    assert tyres.capacity(marking, twin=True) == 1320
    assert tyres.capacity(parse_marking("255/60R18 112S"), twin=True) is None
    assert tyres.capacity(parse_marking("255/60R18")) is None


def test_off_the_table_there_is_no_load() -> None:
    assert tyres.load_capacity(49) is None
    assert tyres.load_capacity(151) is None
    assert (tyres.load_capacity(50), tyres.load_capacity(150)) == (190, 3350)


def test_the_load_grows_with_the_index() -> None:
    loads = [LOAD_INDEX_KG[index] for index in range(50, 151)]
    assert loads == sorted(set(loads))


def test_speed_symbols() -> None:
    assert tyres.speed_of_symbol("h") == 210
    assert tyres.speed_of_symbol("I") is None
    assert sorted(SPEED_SYMBOL_KMH, key=SPEED_SYMBOL_KMH.__getitem__)[-5:] == list("UHVWY")


def test_top_speed() -> None:
    assert tyres.top_speed(parse_marking("255/40ZR18")) == 240
    assert tyres.top_speed(parse_marking("255/40ZR18 (99Y)")) == 300
    assert tyres.top_speed(parse_marking("255/60R18 112S")) == 180
    assert tyres.top_speed(parse_marking("255/60R18")) is None


def test_certainty_is_said_value_by_value() -> None:
    assert [certainty_of_load_index(index) for index in (49, 50, 60, 130, 131)] == [
        None, "memory", "read", "read", "memory",
    ]  # fmt: skip
    assert [certainty_of_speed_symbol(symbol) for symbol in ("A8", "K", "L", "H", "Z")] == [
        "memory", "memory", "read", "read", None,
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("255/60R18 112S", "passenger"),
        ("P265/70R16", "passenger"),
        ("255/55R18 XL 109V", "passenger"),
        ("LT255/75R17 111/108Q", "light truck"),
        ("235/85R16LT 120/116R", "light truck"),
        ("33x12.50R15 108Q", "light truck"),
        ("7.50R16LT 116/114L", "light truck"),
        ("215/75R16C 116/114R", "commercial"),
        ("7.50R16C 122/120N", "commercial"),
        ("265/70R17 121/118S", "commercial"),
        ("255/60R18", None),
        ("225/75R16 10PR", None),
        ("7.50-16", None),
    ],
)
def test_class(text: str, said: str | None) -> None:
    assert tyres.tyre_class(parse_marking(text)) == said


def test_one_axle_has_one_construction() -> None:
    radial, diagonal = parse_marking("7.50R16"), parse_marking("7.50-16")
    assert tyres.axle_construction([radial, radial]) == "radial"
    with pytest.raises(ValueError, match="mix diagonal and radial construction"):
        tyres.axle_construction([radial, diagonal])
    with pytest.raises(ValueError, match="without a tyre"):
        tyres.axle_construction([])
