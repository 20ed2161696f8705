"""Values as people write them, read exactly; and what can't be read, said clearly."""

from __future__ import annotations

import datetime
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from modrules.language.literals import LiteralProblem, read_date, read_period, read_quantity
from modrules.language.units import LENGTH, MASS, UNITS

MM = Fraction(1, 1000)


@pytest.mark.parametrize(
    ("text", "value", "tolerance"),
    [
        ("47 mm", 47 * MM, None),
        ("47mm", 47 * MM, None),
        ("47", 47 * MM, None),
        (" 47 mm ± 3 mm ", 47 * MM, 3 * MM),
        ("47 mm +/- 3", 47 * MM, 3 * MM),
        ("47 ± 3", 47 * MM, 3 * MM),
        ("47 mm ± 10 %", 47 * MM, Fraction("4.7") * MM),
        ("1.5 in ± 0.1 in", Fraction("38.1") * MM, Fraction("2.54") * MM),
        ("4.7 cm ± 3 mm", 47 * MM, 3 * MM),
        ("-5 mm", -5 * MM, None),
        ("1e3 mm", Fraction(1), None),
    ],
)
def test_quantities(text: str, value: Fraction, tolerance: Fraction | None) -> None:
    assert read_quantity(text, LENGTH, "mm")[:2] == (value, tolerance)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("47 kg", "mass"),
        ("47 mmm", "no known unit"),
        ("nan", "no number"),
        (".inf", "no number"),
        ("1,5 mm", "comma"),
        ("tall", "no number"),
        ("", "no number"),
        ("47 mm ± -3 mm", "negative"),
        ("47 mm 48 mm", "no number"),
        ("1" * 31, "no number"),
        ("٤٧ mm", "no number"),
        ("0x2f mm", "no"),
    ],
)
def test_what_is_no_length(text: str, said: str) -> None:
    with pytest.raises(LiteralProblem) as caught:
        read_quantity(text, LENGTH, "mm")
    assert said in caught.value.message


@given(
    st.decimals(min_value=0, max_value=10**6, places=3),
    st.sampled_from([u for u in UNITS.values() if u.dimension == MASS]),
)
def test_decimals_are_read_exactly(value: object, unit: object) -> None:
    name, factor = unit.name, unit.factor  # type: ignore[attr-defined]
    assert read_quantity(f"{value} {name}", MASS, "kg")[0] == Fraction(str(value)) * factor


@given(st.dates(min_value=datetime.date(1000, 1, 1)))
def test_a_day_is_one_day_and_lies_in_its_month_and_year(day: datetime.date) -> None:
    ordinal = day.toordinal()
    assert read_date(day.isoformat()) == (ordinal, ordinal)
    for part in (day.isoformat()[:7], day.isoformat()[:4]):
        first, last = read_date(part)
        assert first <= ordinal <= last


@pytest.mark.parametrize(
    "text", ["2021-13", "2021-02-30", "21-01-01", "2021/01/01", "0000", "today"]
)
def test_no_dates(text: str) -> None:
    with pytest.raises(LiteralProblem):
        read_date(text)


@pytest.mark.parametrize(("text", "months"), [("15 years", 180), ("6 months", 6), ("1 year", 12)])
def test_periods(text: str, months: int) -> None:
    assert read_period(text) == months


@pytest.mark.parametrize("text", ["15", "15 days", "-1 years", "1.5 years"])
def test_no_periods(text: str) -> None:
    with pytest.raises(LiteralProblem):
        read_period(text)
