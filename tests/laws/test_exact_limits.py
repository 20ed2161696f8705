"""Exact at the limit: a value that lands right on a limit meets it, whatever the arithmetic."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from law_fillings import decimal
from law_small import finding, only, small
from reference import SI

from modrules.language import literals, units

FACTS = {
    "length": ("mm", ("mm", "in", "ft", "cm", "m", "km")),
    "mass": ("kg", ("kg", "lb", "t", "g")),
    "speed": ("km/h", ("km/h", "mph", "m/s")),
    "pressure": ("kPa", ("kPa", "psi", "bar")),
}
CASES = {name: [(u, w) for u in units_ for w in units_] for name, (_, units_) in FACTS.items()}
tenths = st.integers(-500, 500).map(lambda n: Fraction(n, 10))
divisors = st.integers(1, 60)


def fact(name: str) -> dict[str, object]:
    unit = FACTS[name][0]
    ends = {"from": f"-99999999 {unit}", "to": f"99999999 {unit}"}
    return {"id": "vehicle.it", "type": name, "unit": unit, "range": ends}


def limit_text(value: Fraction, unit: str) -> str:
    """Exactly this SI value, as an expression in a unit: a whole number divided by another."""
    count = value / SI[unit]
    return f"{'-' if count < 0 else ''}{abs(count.numerator)} {unit} / {count.denominator}"


@settings(max_examples=60, derandomize=True, deadline=None, database=None)
@given(
    case=st.sampled_from([(name, *pair) for name, pairs in CASES.items() for pair in pairs]),
    value=tenths,
    times=divisors,
    over=divisors,
    by=st.sampled_from(["", " * 7 %", " * 0.333", " / 3 * 3", " + vehicle.it / 3", " * -1"]),
)
def test_a_value_on_its_limit_meets_it(
    case: tuple[str, str, str], value: Fraction, times: int, over: int, by: str
) -> None:
    meets_its_limit(case, value, times, over, by)


def meets_its_limit(
    case: tuple[str, str, str], value: Fraction, times: int, over: int, by: str
) -> None:
    """Of a value right on its limit: the closed comparisons are met, the open ones not."""
    name, written, limited = case
    effect = {
        "": Fraction(1),
        " * 7 %": Fraction(7, 100),
        " * 0.333": Fraction("0.333"),
        " / 3 * 3": Fraction(1),
        " * -1": Fraction(-1),
    }
    start = value * SI[written]
    exact = start * times / over
    exact = exact * effect[by] if by in effect else exact + start / 3
    formula = f"vehicle.it * {times} / {over}{by}"
    limit = limit_text(exact, limited)
    up_to = {"measures": formula, "bands": [{"up_to": limit, "outcome": "complies"}]}
    up_to["bands"] += [{"outcome": "not permitted"}]
    start_at = {"measures": formula, "bands": [{"over": limit, "outcome": "complies"}]}
    start_at["bands"] += [{"outcome": "caution"}]
    checks = [
        {"requires": f"{formula} <= {limit}"},
        {"requires": f"{formula} >= {limit}"},
        {"requires": f"{formula} < {limit}"},
        {"requires": f"{formula} > {limit}"},
        up_to,
        start_at,
    ]
    given_text = f"{decimal(value)} {written}"
    expected = ["complies", "complies", "not permitted", "not permitted", "complies", "caution"]
    found = [only(small([check], [fact(name)]), it=given_text) for check in checks[:6]]
    assert [outcomes for (outcomes,) in found] == expected
    margin = finding(small([checks[0]], [fact(name)]), it=given_text).margin
    assert margin is not None
    assert margin["value"] == 0


@settings(max_examples=60, derandomize=True, deadline=None, database=None)
@given(a=tenths, b=tenths, c=divisors, d=divisors, units_=st.sampled_from(CASES["length"]))
def test_comparisons_agree_with_rational_arithmetic(
    a: Fraction, b: Fraction, c: int, d: int, units_: tuple[str, str]
) -> None:
    left, right = a * SI[units_[0]] / c, b * SI[units_[1]] / d
    ruleset = small(
        [
            {"requires": f"vehicle.it / {c} <= {limit_text(right, units_[1])}"},
            {"requires": f"vehicle.it / {c} < {limit_text(right, units_[1])}"},
        ],
        [fact("length")],
    )
    run = finding(ruleset, it=f"{decimal(a)} {units_[0]}")._run
    met = [raw[2] == 2 for raw in sorted(run.raw, key=lambda raw: raw[0])]
    assert met == [left <= right, left < right]


@pytest.mark.parametrize("unit", ["in", "lb", "mph", "psi"])
def test_a_unit_as_floating_point_is_noticed(unit: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """A fault planted on purpose: the factor of a unit is rounded as a float would."""
    exact = units.UNITS[unit]
    near = units.Unit(unit, exact.dimension, Fraction(float(exact.factor)))
    monkeypatch.setitem(literals.UNITS, unit, near)
    name = next(name for name, (_, known) in FACTS.items() if unit in known)
    with pytest.raises(AssertionError):
        meets_its_limit((name, unit, FACTS[name][0]), Fraction(3), 7, 3, "")


def test_thirds_of_an_inch() -> None:
    ruleset = small([{"requires": "vehicle.it * 2 / 3 >= 2 in / 3"}], [fact("length")])
    assert only(ruleset, it="25.4 mm") == ("complies",)
    assert only(ruleset, it="1 in") == ("complies",)
    assert only(ruleset, it="25.39999999999 mm") == ("not permitted",)
