"""Every conversion of the trade's units against a general-purpose units library (pint)."""

from __future__ import annotations

from fractions import Fraction

import pint
import pytest

from modrules.language.units import PERIODS, UNITS, decimal_text, in_words, quantum

_PINT = {
    "m2": "m**2",
    "L": "liter",
    "mL": "milliliter",
    "Nm": "N*m",
    "in": "inch",
    "ft": "foot",
    "lb": "pound",
    "t": "metric_ton",
    "km/h": "km/hour",
    "h": "hour",
    "days": "day",
    "deg": "degree",
    "degC": "delta_degC",
    "%": "percent",
    "mph": "mile/hour",
}
_BASE = {
    "length": "m",
    "area": "m**2",
    "volume": "m**3",
    "mass": "kg",
    "time": "s",
    "speed": "m/s",
    "force": "N",
    "torque": "N*m",
    "pressure": "Pa",
    "power": "W",
    "temperature": "delta_degC",
    "angle": "degree",
    "plain number": "dimensionless",
}
_REGISTRY: pint.UnitRegistry = pint.UnitRegistry(non_int_type=Fraction)


@pytest.mark.parametrize("name", UNITS)
def test_factor(name: str) -> None:
    unit = UNITS[name]
    base = _BASE[in_words(unit.dimension)]
    expected = _REGISTRY.Quantity(Fraction(1), _PINT.get(name, name)).to(base).magnitude
    assert float(unit.factor) == pytest.approx(float(expected), rel=1e-12)


@pytest.mark.parametrize("name", PERIODS)
def test_calendar_unit(name: str) -> None:
    months = _REGISTRY.Quantity(1, name.rstrip("s")).to("month").magnitude
    assert float(months) == pytest.approx(PERIODS[name], rel=1e-9)


@pytest.mark.parametrize(
    "name", ["mm", "in", "ft", "kg", "lb", "t", "km/h", "mph", "L", "bar", "%"]
)
def test_a_unit_of_the_trade_is_a_whole_number_of_quanta(name: str) -> None:
    unit = UNITS[name]
    assert (unit.factor / quantum(unit.dimension)).denominator == 1


def test_a_pound_force_per_square_inch_is_exact() -> None:
    # 0.45359237 kg * 9.80665 m/s2 / (0.0254 m)2, by definition; no decimal fraction.
    expected = Fraction("0.45359237") * Fraction("9.80665") / Fraction("0.0254") ** 2
    assert UNITS["psi"].factor == expected


@pytest.mark.parametrize(
    ("value", "places", "text"),
    [
        (Fraction(1, 3), 3, "0.333"),
        (Fraction(2, 3), 3, "0.667"),
        (Fraction(-1, 2), 0, "-1"),
        (Fraction(1, 2), 0, "1"),
        (Fraction(50), 6, "50"),
        (Fraction("0.0004"), 3, "0"),
        (Fraction("-0.0004"), 3, "0"),
        (Fraction("12.50"), 6, "12.5"),
    ],
)
def test_decimals(value: Fraction, places: int, text: str) -> None:
    assert decimal_text(value, places) == text
