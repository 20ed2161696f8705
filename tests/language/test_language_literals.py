"""The values that people write: read exactly, or refused with a sentence and a hint."""

from __future__ import annotations

import datetime
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from modrules.language.literals import (
    LiteralProblem,
    read_date,
    read_period,
    read_quantity,
)
from modrules.language.units import LENGTH, MASS, NUMBER, SPEED, UNITS, decimal_text

calm = settings(max_examples=200, derandomize=True, deadline=None, database=None)
numbers = st.integers(-(10**9), 10**9).map(lambda n: Fraction(n, 1000))
lengths = st.sampled_from([name for name, unit in UNITS.items() if unit.dimension == LENGTH])


@calm
@given(
    value=numbers,
    spread=st.none() | st.integers(0, 10**6).map(lambda n: Fraction(n, 1000)),
    unit=lengths,
    other=st.none() | lengths,
    sign=st.sampled_from(["±", "+/-"]),
    gap=st.sampled_from(["", " ", "  "]),
)
def test_a_quantity_is_read_exactly(
    value: Fraction, spread: Fraction | None, unit: str, other: str | None, sign: str, gap: str
) -> None:
    text = f"{decimal_text(value, 3)}{gap}{unit}"
    if spread is not None:
        text += f"{gap}{sign}{gap}{decimal_text(spread, 3)}{gap}{other or ''}".rstrip()
    found, tolerance, written = read_quantity(text, LENGTH, "mm")
    assert found == value * UNITS[unit].factor
    assert tolerance == (None if spread is None else spread * UNITS[other or unit].factor)
    assert written == unit


@pytest.mark.parametrize(
    ("text", "dimension", "unit", "value", "tolerance"),
    [
        ("47", LENGTH, "mm", "0.047", None),
        ("+47 mm", LENGTH, "mm", "0.047", None),
        ("-47mm±3mm", LENGTH, "mm", "-0.047", "0.003"),
        ("47 mm ± 3", LENGTH, "mm", "0.047", "0.003"),
        ("47 mm +/- 0.5 cm", LENGTH, "mm", "0.047", "0.005"),
        ("-50 mm ± 2 %", LENGTH, "mm", "-0.05", "0.001"),
        ("60 mph", SPEED, "km/h", "26.8224", None),
        ("1 lb", MASS, "kg", "0.45359237", None),
        ("7 %", NUMBER, "%", "0.07", None),
        ("7", NUMBER, "%", "0.07", None),
        ("7 % ± 1 %", NUMBER, "%", "0.07", "0.01"),
        ("0.5 ± 10 %", NUMBER, "", "0.5", "0.05"),
        ("1e3 mm", LENGTH, "mm", "1", None),
        ("4.10 m", LENGTH, "mm", "4.1", None),
    ],
)
def test_quantities(
    text: str, dimension: object, unit: str, value: str, tolerance: str | None
) -> None:
    found = read_quantity(text, dimension, unit)  # type: ignore[arg-type]
    assert found[0] == Fraction(value)
    assert found[1] == (None if tolerance is None else Fraction(tolerance))


@pytest.mark.parametrize(
    ("text", "message", "hint"),
    [
        ("nan", "no number that can be measured", "47 mm"),
        ("-inf mm", "no number that can be measured", "47 mm"),
        (".inf", "no number that can be measured", "47 mm"),
        ("1,5 mm", "a comma", "a point"),
        ("1,000 mm", "a comma", "thousands"),
        ("47 mmm", '"mmm" is no known unit', 'did you mean "mm"?'),
        ("47 kg", "kg is a unit of mass, not of length", "mm or cm or m"),
        ("47 mm ± 3 kg", "kg is a unit of mass, not of length", "mm"),
        ("47 mm ± -3 mm", "can't be negative", ""),
        ("47 mm 3", "no number with a unit", "47 mm"),
        ("about 47 mm", "no number with a unit", "47 mm"),
        ("", "no number with a unit", "47 mm"),
        ("47 mm ±", "no number with a unit", "47 mm"),
        ("٤٧ mm", "no number with a unit", "47 mm"),
        ("9" * 31 + " mm", "no number with a unit", "47 mm"),
        ("x" * 9000, "no number with a unit", "47 mm"),
    ],
)
def test_what_is_no_quantity(text: str, message: str, hint: str) -> None:
    with pytest.raises(LiteralProblem) as caught:
        read_quantity(text, LENGTH, "mm")
    assert message in caught.value.message
    assert hint in caught.value.hint
    assert len(caught.value.message) < 200


@calm
@given(st.dates())
def test_a_day_a_month_a_year(day: datetime.date) -> None:
    ordinal = day.toordinal()
    assert read_date(f" {day.isoformat()} ") == (ordinal, ordinal)
    first, last = read_date(day.isoformat()[:7])
    assert first <= ordinal <= last
    assert last - first in (27, 28, 29, 30)
    low, high = read_date(day.isoformat()[:4])
    assert low <= first <= last <= high
    assert high - low in (364, 365)


@pytest.mark.parametrize(
    "text", ["2021-02-29", "2021-13", "2021-00", "0000", "21-01-01", "2021-1-1", "1:30", "", "٢٠٢١"]
)
def test_what_is_no_date(text: str) -> None:
    with pytest.raises(LiteralProblem) as caught:
        read_date(text)
    assert "2024-07-01" in caught.value.hint


def test_periods() -> None:
    assert read_period("15 years") == 180
    assert read_period(" 1 month ") == 1
    for text in ("15", "15 days", "1.5 years", "-1 years", "99999 years"):
        with pytest.raises(LiteralProblem):
            read_period(text)
