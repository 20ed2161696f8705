"""The values of ``values.yaml``, published outside this project, against the functions.

Each group of the file names its source and how its values were obtained; the name of each
test carries both. Rules that belong to a place's law are not checked here.
"""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
import yaml

from modrules.trade import gearing, tyres
from modrules.trade.functions import FUNCTIONS
from modrules.trade.markings import parse_marking
from modrules.trade.pressures import PSI, load_at_pressure, pressure_for_load
from modrules.trade.tables import certainty_of_load_index

VALUES: dict[str, dict[str, Any]] = yaml.safe_load(
    (Path(__file__).parent / "values.yaml").read_text(encoding="utf-8")
)

#: Pound to kilogram, exactly.
POUND = Fraction("0.45359237")


def _rows(group: str, key: str) -> list[Any]:
    """The rows of a group, each named by its source and the certainty of the group."""
    said = VALUES[group]
    return [
        pytest.param(name, value, id=f"{name}={value} [{said['source']}; {said['certainty']}]")
        for name, value in said[key].items()
    ]


def test_every_group_names_source_and_certainty() -> None:
    for said in VALUES.values():
        assert said["source"]
        assert said["certainty"].startswith(("read", "memory"))


@pytest.mark.parametrize(("index", "kg"), _rows("load_index", "kg"))
def test_load_index(index: int, kg: int) -> None:
    assert tyres.load_capacity(index) == FUNCTIONS["load_capacity"].call(index) == kg
    assert certainty_of_load_index(index) == "read"


@pytest.mark.parametrize(("symbol", "km_h"), _rows("speed_symbol", "km_h"))
def test_speed_symbol(symbol: str, km_h: int) -> None:
    assert tyres.speed_of_symbol(symbol) == km_h


@pytest.mark.parametrize(("speed", "most"), _rows("speedometer", "highest_indicated_at_true"))
def test_speedometer(speed: int, most: int) -> None:
    assert gearing.highest_reading(speed) == most
    # On the limit the reading is allowed, just beyond it is not, and nor is one below the truth.
    over = Fraction(100 * (most - speed), speed)
    just = Fraction(1, 10**6)
    assert gearing.speedometer_reading(speed, 800, 800, over).allowed is True
    assert gearing.speedometer_reading(speed, 800, 800, over + just).allowed is False
    assert gearing.speedometer_reading(speed, 800, 800, 0).allowed is True
    assert gearing.speedometer_reading(speed, 800, 800, -just).allowed is False


def test_tyre_size_formulas() -> None:
    """UN R30, 6.1; read for the width, from memory for the diameter."""
    marking = parse_marking("205/55R16 91V")
    assert tyres.overall_diameter(marking) == 16 * Fraction("25.4") + 2 * 205 * Fraction("0.55")
    rim, theoretical = Fraction("165.1"), Fraction("143.5")
    assert tyres.section_width_on_rim(Fraction(205), rim, theoretical) == 205 + Fraction("0.4") * (
        rim - theoretical
    )


@pytest.mark.parametrize(("marking", "mm"), _rows("tyre_overall_diameter", "mm"))
def test_overall_diameter(marking: str, mm: int) -> None:
    """The design diameter lies within what the function says of its own accuracy."""
    function = FUNCTIONS["tyre_diameter"]
    nominal = function.call(marking)
    assert isinstance(nominal, Fraction)
    assert abs(nominal - mm) <= function.tolerance * nominal
    if "x" not in marking:
        assert abs(nominal - mm) < 1


@pytest.mark.parametrize(("psi", "pounds"), _rows("load_and_pressure", "lb_at_psi"))
def test_load_and_pressure(psi: int, pounds: int) -> None:
    """Within 2 per cent of every row, from the table's last row alone."""
    last = max(VALUES["load_and_pressure"]["lb_at_psi"])
    full = VALUES["load_and_pressure"]["lb_at_psi"][last] * POUND
    load = load_at_pressure("light truck", psi * PSI, full, last * PSI)
    assert load is not None
    assert abs(load / (pounds * POUND) - 1) <= Fraction(2, 100)
    pressure = pressure_for_load("light truck", pounds * POUND, full, last * PSI)
    assert pressure is not None
    assert abs(pressure / (psi * PSI) - 1) <= Fraction(2, 100)


def test_load_and_pressure_agrees_with_the_load_index_of_the_size() -> None:
    """LT235/85R16 in load range E is marked 120: 1400 kg, the table's last row is 3042 lb."""
    full = VALUES["load_and_pressure"]["lb_at_psi"][80] * POUND
    kg = tyres.load_capacity(120)
    assert kg is not None
    assert abs(full / kg - 1) <= Fraction(2, 100)


def test_height_gained_by_tyres_is_half_their_change() -> None:
    """50 mm of tyre diameter raise a vehicle by 25 mm (suspension manual, section 3.1: at most
    75 mm in all of 50 mm suspension and 50 mm of tyre diameter)."""
    suspension, tyre = 50, gearing.clearance_gained(750, 800)
    assert suspension + tyre == 75
