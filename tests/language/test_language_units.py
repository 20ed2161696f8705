"""Units: exact factors, checked against a general-purpose units library."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from modrules.language.units import (
    _QUANTA,
    DIMENSIONS,
    NUMBER,
    UNITS,
    decimal_text,
    in_words,
    over,
    quantum,
    shown_unit,
    times,
    unit_factor,
    whole,
)

calm = settings(max_examples=200, derandomize=True, deadline=None, database=None)
fractions = st.fractions(min_value=-(10**6), max_value=10**6, max_denominator=10**6)
REGISTRY = pint.UnitRegistry(non_int_type=Decimal)
#: our name, the library's name, and the coherent SI unit
KNOWN = {
    "mm": ("millimeter", "meter"),
    "cm": ("centimeter", "meter"),
    "m": ("meter", "meter"),
    "km": ("kilometer", "meter"),
    "in": ("inch", "meter"),
    "ft": ("foot", "meter"),
    "m2": ("meter ** 2", "meter ** 2"),
    "L": ("liter", "meter ** 3"),
    "mL": ("milliliter", "meter ** 3"),
    "g": ("gram", "kilogram"),
    "kg": ("kilogram", "kilogram"),
    "t": ("metric_ton", "kilogram"),
    "lb": ("pound", "kilogram"),
    "s": ("second", "second"),
    "h": ("hour", "second"),
    "days": ("day", "second"),
    "km/h": ("kilometer / hour", "meter / second"),
    "m/s": ("meter / second", "meter / second"),
    "mph": ("mile / hour", "meter / second"),
    "N": ("newton", "newton"),
    "kN": ("kilonewton", "newton"),
    "Nm": ("newton * meter", "newton * meter"),
    "kPa": ("kilopascal", "pascal"),
    "bar": ("bar", "pascal"),
    "psi": ("pound_force_per_square_inch", "pascal"),
    "kW": ("kilowatt", "watt"),
    "degC": ("delta_degree_Celsius", "kelvin"),
    "deg": ("degree", "degree"),
    "%": ("percent", "dimensionless"),
}


def test_every_unit_is_checked() -> None:
    assert set(KNOWN) == set(UNITS)


@pytest.mark.parametrize("name", UNITS)
def test_the_factor_is_that_of_the_units_library(name: str) -> None:
    theirs, si = KNOWN[name]
    found = REGISTRY.Quantity(Decimal(1), theirs).to(si).magnitude
    # The library divides decimals of 28 digits; an exact factor agrees to that precision.
    assert abs(UNITS[name].factor - Fraction(found)) <= UNITS[name].factor / 10**25


@pytest.mark.parametrize(
    ("one", "other"),
    [(a, b) for a in UNITS for b in UNITS if UNITS[a].dimension == UNITS[b].dimension],
)
def test_each_conversion(one: str, other: str) -> None:
    theirs = REGISTRY.Quantity(Decimal("7.25"), KNOWN[one][0]).to(KNOWN[other][0]).magnitude
    ours = Fraction("7.25") * UNITS[one].factor / UNITS[other].factor
    assert abs(ours - Fraction(theirs)) <= ours / 10**24


@pytest.mark.parametrize("name", UNITS)
def test_the_dimension_is_that_of_the_units_library(name: str) -> None:
    if name in ("deg", "%"):
        assert REGISTRY.Quantity(1, KNOWN[name][0]).dimensionless
        return
    theirs = REGISTRY.Quantity(1, KNOWN[name][0]).dimensionality
    bases = ("[length]", "[mass]", "[time]", "[temperature]")
    assert tuple(int(theirs.get(base, 0)) for base in bases) == UNITS[name].dimension[:4]


@pytest.mark.parametrize(
    "name", ["mm", "in", "ft", "kg", "lb", "g", "t", "km/h", "mph", "L", "kPa", "bar", "deg", "%"]
)
def test_a_unit_is_a_whole_number_of_quanta(name: str) -> None:
    unit = UNITS[name]
    assert (unit.factor / quantum(unit.dimension)).denominator == 1


def test_every_quantum_is_a_part_of_the_unit_it_is_shown_in() -> None:
    for dimension, step in _QUANTA.items():
        assert (unit_factor(shown_unit(dimension)) / step).denominator == 1


@calm
@given(fractions)
def test_a_decimal_text_is_the_nearest(value: Fraction) -> None:
    for places in (0, 3, 9):
        shown = Fraction(decimal_text(value, places))
        assert abs(shown - value) * 2 * 10**places <= 1
        assert not decimal_text(value, places).startswith("-0.") or shown < 0
        assert decimal_text(-value, places).lstrip("-") == decimal_text(value, places).lstrip("-")


@pytest.mark.parametrize(
    ("value", "places", "text"),
    [
        ("0.5", 0, "1"),
        ("-0.5", 0, "-1"),
        ("0.0004", 3, "0"),
        ("-0.0004", 3, "0"),
        ("2.50", 3, "2.5"),
    ],
)
def test_a_half_goes_away_from_zero(value: str, places: int, text: str) -> None:
    assert decimal_text(Fraction(value), places) == text


def test_dimensions_in_words() -> None:
    assert in_words(NUMBER) == "plain number"
    assert in_words(DIMENSIONS["length"]) == "length"
    assert in_words((1, 2, -1, 0, 0)) == "m kg2/s"
    assert in_words((0, 0, -2, 0, 0)) == "1/s2"
    for word, dimension in DIMENSIONS.items():
        assert in_words(dimension) in {word, "length", "plain number"}


@calm
@given(st.sampled_from(list(DIMENSIONS.values())), st.sampled_from(list(DIMENSIONS.values())))
def test_a_quotient_undoes_a_product(a: tuple[int, ...], b: tuple[int, ...]) -> None:
    assert over(times(a, b), b) == a  # type: ignore[arg-type]


@calm
@given(fractions)
def test_whole_numbers_are_ints(value: Fraction) -> None:
    assert whole(value) == value
    assert isinstance(whole(value), int) == (value.denominator == 1)
