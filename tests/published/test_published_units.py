"""Unit conversions and the gas law against pint, a general-purpose units library."""

from __future__ import annotations

from fractions import Fraction

import pint
import pytest

from modrules.trade import tyres
from modrules.trade.functions import FUNCTIONS, UNITS
from modrules.trade.markings import parse_marking
from modrules.trade.powers import cosine_down
from modrules.trade.pressures import ABSOLUTE_ZERO, PSI, STANDARD_AIR, hot_pressure

UNIT: pint.UnitRegistry[float] = pint.UnitRegistry()

#: Words of the table where pint has another.
_IN_PINT = {"degC": "degC", "L": "liter", "km/h": "km/hour", "deg": "degree"}


def test_an_inch() -> None:
    assert float(tyres.INCH) == pytest.approx(UNIT("1 inch").to("mm").magnitude, rel=1e-12)
    rim = tyres.rim_diameter(parse_marking("9.50-16.5LT"))
    assert float(rim) == pytest.approx(UNIT("16.5 inch").to("mm").magnitude, rel=1e-12)


def test_a_pound_per_square_inch() -> None:
    assert float(PSI) == pytest.approx(UNIT("1 psi").to("kPa").magnitude, rel=1e-9)


def test_standard_air_and_absolute_zero() -> None:
    assert float(STANDARD_AIR) == pytest.approx(UNIT("1 atm").to("kPa").magnitude, rel=1e-12)
    zero = UNIT.Quantity(0, "kelvin").to("degC").magnitude
    assert float(ABSOLUTE_ZERO) == pytest.approx(zero, rel=1e-12)


def test_a_right_angle() -> None:
    half_turn = UNIT("180 degree").to("radian").magnitude
    assert float(tyres.PI_LOW) <= half_turn <= float(tyres.PI_HIGH)
    assert float(cosine_down(60)) == pytest.approx(0.5, abs=1e-11)


@pytest.mark.parametrize("unit", sorted({unit for unit in UNITS.values() if unit}))
def test_every_unit_of_the_table_is_a_unit(unit: str) -> None:
    assert UNIT.Unit(_IN_PINT.get(unit, unit)).dimensionality is not None


def test_turns_in_a_km() -> None:
    diameter = Fraction("802.8")
    turns = (UNIT("1 km") / (UNIT.Quantity(float(diameter), "mm") * UNIT("pi"))).to("").magnitude
    low, high = tyres.revolutions_per_km(diameter)
    assert float(low) == pytest.approx(turns, rel=1e-12)
    assert float(high) == pytest.approx(turns, rel=1e-12)


@pytest.mark.parametrize(
    ("cold", "cold_air", "hot_air"), [(250, 15, 45), (240, -10, 30), (450, 35, 20), (300, 20, 20)]
)
def test_cold_to_hot(cold: int, cold_air: int, hot_air: int) -> None:
    """p V = n R T at constant volume: solved for the amount of air, then for the pressure."""
    gas, volume, air = UNIT("1 molar_gas_constant"), UNIT("40 liter"), UNIT("1 atm")
    before = UNIT.Quantity(cold_air, "degC").to("kelvin")
    after = UNIT.Quantity(hot_air, "degC").to("kelvin")
    amount = (UNIT.Quantity(cold, "kPa") + air) * volume / (gas * before)
    expected = (amount * gas * after / volume - air).to("kPa").magnitude
    found = hot_pressure(Fraction(cold), Fraction(cold_air), Fraction(hot_air))
    assert found is not None
    assert float(found) == pytest.approx(expected, rel=1e-9)
    assert FUNCTIONS["hot_pressure"].call(cold, cold_air, hot_air) == found
