"""Values known from their source but not compared with a copy of it.

They guard against slips; they don't count as checks from outside. Where a source says
otherwise, the source is right.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from modrules.trade import tyres
from modrules.trade.markings import parse_marking
from modrules.trade.masses import FUEL_DENSITY
from modrules.trade.tables import LOAD_INDEX_KG, LOAD_RANGE_PLIES, SPEED_SYMBOL_KMH

#: UN Regulations No. 30 and No. 54, dimension tables: sizes without an aspect ratio.
LISTED_DIAMETERS = {
    "155R13": 578, "165R13": 596, "175R13": 608, "155R14": 604, "165R14": 622, "175R14": 634,
    "185R14": 650, "195R14": 666, "155R15": 630, "165R15": 646, "175R15": 660, "185R15": 674,
    "205R16": 736, "165R13C": 596, "175R14C": 634, "185R14C": 650, "195R14C": 666, "185R15C": 674,
}  # fmt: skip

#: ISO 4000-1, load-capacity indices below and above those in ``values.yaml``.
LOADS = {50: 190, 52: 200, 55: 218, 59: 243, 131: 1950, 135: 2180, 140: 2500, 145: 2900, 150: 3350}


@pytest.mark.parametrize(("text", "mm"), LISTED_DIAMETERS.items())
def test_sizes_without_an_aspect_ratio(text: str, mm: int) -> None:
    """Within 1 per cent of the listed diameter, and nearer with 80 than with 82 on the whole."""
    nominal = tyres.overall_diameter(parse_marking(text))
    assert nominal is not None
    assert abs(nominal / mm - 1) <= Fraction(1, 100)


def test_eighty_is_nearer_to_the_listed_diameters_than_eighty_two() -> None:
    def gap(aspect: int) -> Fraction:
        return sum(
            (
                abs(tyres.rim_diameter(m) + Fraction(2 * (m.width_mm or 0) * aspect, 100) - mm)
                for m, mm in ((parse_marking(text), mm) for text, mm in LISTED_DIAMETERS.items())
            ),
            Fraction(0),
        )

    assert 2 * gap(80) < gap(82)


@pytest.mark.parametrize(("index", "kg"), LOADS.items())
def test_load_indices(index: int, kg: int) -> None:
    assert tyres.load_capacity(index) == kg


def test_the_series_repeats_tenfold_every_80_indices() -> None:
    for index in range(50, 71):
        assert abs(LOAD_INDEX_KG[index + 80] - 10 * LOAD_INDEX_KG[index]) <= 5


def test_low_speed_symbols_go_in_steps_of_five() -> None:
    assert [SPEED_SYMBOL_KMH[f"A{step}"] for step in range(1, 9)] == list(range(5, 45, 5))


def test_load_ranges() -> None:
    """Tyre and rim association: C is 6 plies, D 8, E 10."""
    assert [LOAD_RANGE_PLIES[letter] for letter in "BCDEF"] == [4, 6, 8, 10, 12]


def test_fuel_densities() -> None:
    """EN 228 and EN 590, kg per litre at 15 degrees Celsius."""
    assert FUEL_DENSITY["petrol"].low == Fraction("0.72")
    assert FUEL_DENSITY["diesel"].high == Fraction("0.845")
