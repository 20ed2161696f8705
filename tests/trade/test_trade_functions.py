"""The table of functions: what it says of each function is what the function does."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from modrules.trade.functions import FUNCTIONS, UNITS, TradeFunction


def _sixtieths(low: int, high: int) -> st.SearchStrategy[Fraction]:
    """Numbers between whole ones among them; drawn far faster than any fraction at all."""
    return st.integers(low * 60, high * 60).map(lambda n: Fraction(n, 60))


#: Sensible and senseless numbers of each type, in the unit of the table.
_NUMBERS: dict[str, st.SearchStrategy[Any]] = {
    "length": _sixtieths(-500, 4000),
    "mass": _sixtieths(-50, 4000),
    "speed": _sixtieths(-10, 300),
    "pressure": _sixtieths(-20, 700),
    "volume": _sixtieths(-10, 300),
    "force": _sixtieths(-10, 100_000),
    "angle": _sixtieths(-10, 180),
    "temperature": _sixtieths(-300, 120),
    "number": _sixtieths(-2, 40),
    "count": st.integers(40, 160),
}
_TEXTS = st.sampled_from(
    ["passenger", "light truck", "commercial", "S", "h", "LT265/70R17 121/118S", "7.50-16", "", "x"]
)
_WORDS = {
    "tyre_class": st.sampled_from(["passenger", "light truck", "commercial", "tractor"]),
    "sender": st.sampled_from(["spans the tank", "tells litres", "tells gallons"]),
}
_NUMERIC = [function for function in FUNCTIONS.values() if set(function.parameters) != {"text"}]


def _values(function: TradeFunction) -> st.SearchStrategy[tuple[Any, ...]]:
    return st.tuples(
        *(
            _WORDS.get(name, _NUMBERS.get(word, _TEXTS))
            for name, word in zip(function.parameter_names, function.parameters, strict=True)
        )
    )


def _name(function: TradeFunction) -> str:
    return function.name


def test_the_functions_that_the_format_promises_are_there() -> None:
    assert {
        "tyre_diameter",
        "tyre_section_width",
        "tyre_rim_diameter",
        "tyre_load_index",
        "tyre_load_index_dual",
        "tyre_speed_symbol",
        "tyre_class",
        "load_capacity",
        "speed_of_symbol",
    } <= set(FUNCTIONS)


@pytest.mark.parametrize("function", FUNCTIONS.values(), ids=_name)
def test_every_row_is_whole(function: TradeFunction) -> None:
    assert FUNCTIONS[function.name] is function
    arity = len(function.parameters)
    assert arity == len(function.units) == len(function.parameter_names) == len(function.monotone)
    assert [UNITS[word] for word in function.parameters] == list(function.units)
    assert UNITS[function.result] == function.result_unit
    assert function.doc.endswith(".")
    assert function.source
    assert 0 <= function.tolerance < 1
    for word, direction in zip(function.parameters, function.monotone, strict=True):
        assert direction in ("up", "down", None)
        assert not (word == "text" and direction)


@pytest.mark.parametrize("function", FUNCTIONS.values(), ids=_name)
@given(data=st.data())
def test_calls_are_total_and_exact(function: TradeFunction, data: st.DataObject) -> None:
    values = data.draw(_values(function))
    result = function.call(*values)
    assert result == function.call(*values)
    if result is not None:
        expected = str if function.result == "text" else (int, Fraction)
        assert isinstance(result, expected)


@pytest.mark.parametrize("function", _NUMERIC, ids=_name)
def test_the_domain_of_a_function_is_where_it_has_a_value(function: TradeFunction) -> None:
    if function.domain is None:
        assert "text" in function.parameters
        return
    seen = set()

    @settings(max_examples=300, derandomize=True)
    @given(_values(function))
    def agree(values: tuple[Any, ...]) -> None:
        assert function.domain is not None
        has_value = function.call(*values) is not None
        assert all(function.domain(*values)) == has_value
        seen.add(has_value)

    agree()
    # Both sides were tried, but for the one function that has a value everywhere.
    assert seen == ({True} if function.name == "track_change" else {True, False})


@pytest.mark.parametrize("function", _NUMERIC, ids=_name)
@given(data=st.data())
def test_the_ends_hold_what_is_between(function: TradeFunction, data: st.DataObject) -> None:
    """For each parameter marked up or down, taken together: a box is held by two corners."""
    first, second, share = (
        data.draw(_values(function)),
        data.draw(_values(function)),
        data.draw(st.tuples(*(_sixtieths(0, 1) for _ in function.parameters))),
    )
    least, most, inside = [], [], []
    for one, other, part, direction, word in zip(
        first, second, share, function.monotone, function.parameters, strict=True
    ):
        if direction is None:
            least.append(one)
            most.append(one)
            inside.append(one)
            continue
        low, high = min(one, other), max(one, other)
        between = low + part * (high - low)
        inside.append(int(between) if word == "count" else between)
        least.append(low if direction == "up" else high)
        most.append(high if direction == "up" else low)
    bottom, top = function.call(*least), function.call(*most)
    if bottom is None or top is None:
        return
    middle = function.call(*inside)
    assert middle is not None
    assert bottom <= middle <= top  # type: ignore[operator]


def test_a_marking_that_is_none_has_no_value() -> None:
    for function in FUNCTIONS.values():
        if function.name.startswith("tyre_") and function.parameters == ("text",):
            assert function.call("no tyre") is None


def test_values_of_a_marking() -> None:
    text = "LT265/70R17 LR E 10PR 121/118S"
    found = {
        name: FUNCTIONS[name].call(text)
        for name in FUNCTIONS
        if name.startswith("tyre_") and FUNCTIONS[name].parameters == ("text",)
    }
    assert found == {
        "tyre_diameter": Fraction("802.8"),
        "tyre_section_width": 265,
        "tyre_section_height": Fraction("185.5"),
        "tyre_rim_diameter": Fraction("431.8"),
        "tyre_load_index": 121,
        "tyre_load_index_dual": 118,
        "tyre_speed_symbol": "S",
        "tyre_ply_rating": 10,
        "tyre_class": "light truck",
        "tyre_construction": "radial",
    }


@pytest.mark.parametrize(
    ("name", "values", "result"),
    [
        ("clearance_gained", (780, 810), 15),
        ("diameter_change_ratio", (800, 840), Fraction(1, 20)),
        ("tyre_mismatch", (808, 800), Fraction(1, 100)),
        ("true_speed", (100, 800, 840), 105),
        ("engine_speed_factor", (800, 1000), Fraction(4, 5)),
        ("track_change", (30, 10), 40),
        ("on_rear_axle", (100, 3000, 2500), 120),
        ("on_front_axle", (100, 3000, 2500), -20),
        ("ball_on_rear_axle", (200, 1250, 2500), 300),
        ("ball_off_front_axle", (200, 1250, 2500), 100),
        ("roof_load_left", (100, 75, 30), 70),
        ("working_load_wanted", (2500,), 5000),
        ("bridle_leg_force", (1000, 0), 500),
        ("bridle_leg_force", (1000, 120), 1000),
        ("indicator_error", ("tells litres", Fraction(1, 4), 80, 160), 20),
        ("fuel_range", (120, 15, 20), Fraction(2000, 3)),
        ("pressure_for_load", ("light truck", 1380, 1380, 550), 550),
        ("load_at_pressure", ("light truck", 550, 1380, 550), 1380),
        ("hot_pressure", (250, 20, 20), 250),
        # Bad input gives no value.
        ("clearance_gained", (0, 810), None),
        ("load_capacity", (151,), None),
        ("roof_load_left", (20, 75, 30), None),
        ("fuel_range", (120, 0, 20), None),
        ("fuel_range", (120, 15, 121), None),
        ("pressure_for_load", ("light truck", 1381, 1380, 550), None),
        ("pressure_for_load", ("numeric", 1000, 1380, 550), None),
        ("bridle_leg_force", (1000, 170), None),
    ],
)
def test_values(name: str, values: tuple[Any, ...], result: object) -> None:
    exact = tuple(Fraction(value) if isinstance(value, int) else value for value in values)
    assert FUNCTIONS[name].call(*exact) == result
