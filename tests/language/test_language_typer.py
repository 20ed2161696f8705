"""The typer: every kind of mistake is told, at its place; and what every typed tree keeps to."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings

sys.path.insert(0, str(Path(__file__).parents[1] / "laws"))

from generators import CITES, Made, flat_of, rulesets

from modrules.language.tree import Node, common_scale
from modrules.language.units import UNITS
from modrules.problems import ModrulesError, Problem
from modrules.ruleset.tree import Scalar, Source
from modrules.screening.prepared import prepare

calm = settings(max_examples=30, derandomize=True, deadline=None, database=None)
RANGES = {
    "length": ("mm", "0 mm", "100 mm"),
    "mass": ("kg", "0 kg", "100 kg"),
    "number": ("", "0", "9"),
    "count": ("", "0", "9"),
}


def fact(name: str, type: str, **more: Any) -> dict[str, Any]:
    item = {"id": name, "title": name, "type": type, "question": "What is it?", **more}
    if type in RANGES:
        unit, low, high = RANGES[type]
        item["range"] = {"from": low, "to": high}
        if unit:
            item["unit"] = unit
    return item


DATA: dict[str, Any] = {
    "ruleset": "typed",
    "title": "Typed",
    "edition": "1",
    "in_force": {"from": "2020-01-01"},
    "conditions": [{"id": name, "title": name} for name in ("laden", "unladen")],
    "word_sets": [
        {"id": "paint", "words": ["red", "blue"]},
        {"id": "place", "words": ["front", "rear"]},
    ],
    "subjects": [
        {"id": "vehicle", "title": "Vehicle"},
        {"id": "axle", "title": "Axle", "list": "axles"},
    ],
    "kinds": [{"id": "lift", "title": "Lift"}],
    "facts": [
        fact("vehicle.height", "length", condition="unladen"),
        fact("vehicle.drop", "length", condition="laden"),
        fact("vehicle.width", "length"),
        fact("vehicle.mass", "mass"),
        fact("vehicle.limit", "mass", none_stated=True),
        fact("vehicle.ratio", "number"),
        fact("vehicle.seats", "count"),
        fact("vehicle.flag", "yes_no"),
        fact("vehicle.paint", "word", words="paint"),
        fact("vehicle.place", "word", words="place"),
        fact("vehicle.maker", "text"),
        fact("vehicle.built", "date"),
        fact("vehicle.service", "period"),
        fact("axle.load", "mass"),
        fact("axle.radius", "length"),
        fact("lift.change", "length"),
    ],
    "tables": [
        {
            "id": "symbols",
            "title": "Symbols",
            "source": "made up",
            "keys": [{"id": "symbol", "type": "text"}],
            "columns": [{"id": "speed", "type": "speed", "unit": "km/h"}],
            "rows": [["Q", "160"]],
        }
    ],
    "texts": [{"id": "code", "title": "The code", "edition": "1"}],
}


def problems_of(
    check: dict[str, Any], quantities: list[dict[str, Any]] | None = None
) -> list[Problem]:
    """The problems of a ruleset with one check; its expressions know their places."""
    item = {
        "id": "it",
        "title": "It",
        "about": "vehicle",
        "per": "vehicle",
        "cites": CITES,
        **check,
    }
    data = {**DATA, "checks": [item], "quantities": quantities or []}
    try:
        prepare(flat_of(data))
    except ModrulesError as error:
        return list(error.problems)
    return []


def typed(text: str, per: str = "vehicle") -> list[Problem]:
    """The problems of one condition, written on the first line of a file."""
    from modrules.ruleset.models import Head
    from modrules.ruleset.tree import Map, plant

    item = {"id": "it", "title": "It", "about": "lift", "per": per, "cites": CITES}
    tree = plant({**DATA, "checks": [item | {"requires": "vehicle.flag"}]}, "ruleset")
    assert isinstance(tree, Map)
    check: Any = tree["checks"][0]  # type: ignore[index]
    check["requires"] = Scalar(text, Source("checks.yaml", text), 0, len(text))
    from modrules.ruleset.flat import make_flat
    from modrules.ruleset.words import SECTIONS

    head = Head.model_validate(tree)
    items = {name: {i.id: i for i in getattr(head, name)} for name in SECTIONS}
    try:
        prepare(make_flat(head, items, (("typed", "1"),), (), {}, Path()))
    except ModrulesError as error:
        return list(error.problems)
    return []


MISTAKES = [
    # names
    ("vehicle.heigth > 5 mm", "vehicle.heigth", "no fact or quantity", "vehicle.height"),
    ("vehicel.height > 5 mm", "vehicel.height", "no fact or quantity", "vehicle.height"),
    ("nonsense > 5 mm", "nonsense", "has no meaning here", "its subject in front"),
    ("red", "red", "has no meaning here", "expected a yes or no"),
    ("axle.load > 5 kg", "axle.load", '"axle" is a list', "for each axle"),
    ("any(axle.laod > 5 kg for each axle)", "axle.laod", "no fact or quantity", "axle.load"),
    ("any(yes for each axel)", None, 'no list "axel"', "axle"),
    ("any(yes for each vehicle)", None, 'no list "vehicle"', ""),
    ("larges(vehicle.mass, 5 kg) > 1 kg", None, 'no function "larges"', "largest"),
    ("sum(vehicle.mass, 5 kg) > 1 kg", None, 'no function "sum"', "for each LIST"),
    ("largest_of(vehicle.mass for each axle) > 1 kg", None, "does not work over a list", ""),
    # types
    ("vehicle.height", "vehicle.height", "length (unladen), but a yes or no", ""),
    ("vehicle.flag > 5", None, "can't be compared", "numbers, quantities and dates"),
    ("vehicle.flag + 1 > 5", "vehicle.flag", "needs numbers", ""),
    ("not vehicle.mass", "vehicle.mass", "but a yes or no is expected", ""),
    ("-vehicle.flag", "vehicle.flag", "only numbers can be negative", ""),
    ("vehicle.flag and vehicle.mass", "vehicle.mass", "but a yes or no is expected", ""),
    ("if vehicle.mass then yes else no", "vehicle.mass", "but a yes or no is expected", ""),
    ("if vehicle.flag then yes else 5", None, "one side is a yes or no", ""),
    ("vehicle.paint = 5", None, "can't equal", ""),
    ("vehicle.paint = green", "green", "none of the words", "expected one of: red, blue"),
    ("vehicle.paint = bleu", "bleu", "none of the words", "blue"),
    ("vehicle.paint = vehicle.place", None, "never take the same word", ""),
    ("vehicle.built > 5", None, "can't be compared", ""),
    ("vehicle.built + 90 days > today", "90 days", "only calendar periods", "months or years"),
    ("vehicle.service > 5", None, "can't be compared", ""),
    ("largest(vehicle.flag, yes)", "vehicle.flag", "has no order", ""),
    ("absolute(vehicle.flag) > 1", "vehicle.flag", "a quantity is expected", ""),
    ("largest(5 mm) > 1 mm", None, "takes 2 or more values, not 1", ""),
    ("absolute(5 mm, 6 mm) > 1 mm", None, "takes 1 values, not 2", ""),
    ("tyre_diameter(5 mm) > 1 mm", "5 mm", "a text is expected", ""),
    # dimensions
    ("vehicle.width > 5 kg", None, "length can't be compared with mass", ""),
    ("vehicle.width > 5", None, "can't be compared with plain number", "lack its unit"),
    ("vehicle.width + vehicle.mass > 5 mm", None, "length can't be added to mass", ""),
    ("vehicle.width - 5 > 5 mm", None, "can't be taken from", "lack its unit"),
    ("vehicle.width * vehicle.width > 5 mm", None, "area can't be compared with length", ""),
    ("if vehicle.flag then 5 mm else 5 kg", None, "an alternative to", ""),
    ("round_up(vehicle.width, 5 kg) > 5 mm", None, "rounded to", ""),
    ("round_up(vehicle.width, vehicle.width) > 5 mm", "vehicle.width", "step of rounding", ""),
    ("round_up(vehicle.width, 0 mm) > 5 mm", "0 mm", "step of rounding", ""),
    ("vehicle.width / 0 > 5 mm", "0", "divides by zero", ""),
    ("load_capacity(vehicle.width) > 5 kg", "vehicle.width", "length", ""),
    # conditions of measurement
    ("vehicle.height > vehicle.drop", None, 'measured "unladen" can\'t be compared', "regardless"),
    ("vehicle.height - vehicle.drop > 5 mm", None, "can't be taken from", "regardless"),
    ("largest(vehicle.height, vehicle.drop) > 5 mm", None, "an alternative to", ""),
    # equality of measured quantities
    ("vehicle.width = 5 mm", None, "never exactly equal", "use <= or >="),
    ("vehicle.mass != vehicle.mass", None, "never exactly equal", ""),
    ("vehicle.ratio = 5", None, "never exactly equal", ""),
    ("vehicle.seats / 2 = 1", None, "never exactly equal", ""),
    ("vehicle.width in (5 mm, 6 mm)", "vehicle.width", "only words, texts and counts", ""),
    ("vehicle.seats in (1, 2.5)", "2.5", "a count is a whole number", ""),
    ("vehicle.paint in (red, vehicle.paint)", "vehicle.paint", "plain values", ""),
    ("vehicle.paint in (red, green)", "green", "none of the words", ""),
    # none stated
    ("vehicle.mass is stated", "vehicle.mass", "always stated or missing", "none_stated: true"),
    ("(vehicle.mass if stated else 5 kg) > 1 kg", "vehicle.mass", "always stated or missing", ""),
    ("(vehicle.mass + vehicle.limit) is stated", None, "only a fact can be stated", ""),
    ("(vehicle.limit if stated else 5 mm) > 1 kg", None, "an alternative to", ""),
    # lists
    ("largest(axle.load for each axle) > 5 kg", None, "a value for the empty list", "if none"),
    ("sum(axle.load for each axle if none 0 kg) > 5 kg", "0 kg", "needs no value", ""),
    ("largest(axle.load for each axle if none 0 mm) > 5 kg", None, "an alternative to", ""),
    ("count(axle.load for each axle) > 5", None, "count takes no value", "where"),
    ("sum(each axle) > 5", None, "sum needs a value", ""),
    ("all(each axle)", None, "all needs a condition", ""),
    ("sum(axle.load > 5 kg for each axle) > 5", None, "sum needs numbers", ""),
    ("any(axle.load for each axle)", "axle.load", "but a yes or no is expected", ""),
    ("any(any(yes for each axle) for each axle)", None, "each axle is already open", ""),
    # tables
    ('look_up(symbol, speed, "Q") > 5 km/h', "symbol", "no such table", "symbols"),
    ('look_up(symbols, sped, "Q") > 5 km/h', "sped", "no such column", "speed"),
    ('look_up(symbols, "speed", "Q") > 5 km/h', '"speed"', "no such column", "speed"),
    ('look_up(symbols, speed, "Q", "R") > 5 km/h', None, "has 1 keys, not 2", "symbol"),
    ("look_up(symbols, speed, 5) > 5 km/h", "5", "a text is expected", ""),
]


@pytest.mark.parametrize(("text", "piece", "message", "hint"), MISTAKES)
def test_mistakes_are_told_at_their_place(
    text: str, piece: str | None, message: str, hint: str
) -> None:
    (problem,) = typed(text)
    assert message in problem.message
    assert hint in problem.hint
    place = problem.place
    assert place is not None
    assert (place.file, place.line) == ("checks.yaml", 1)
    if piece is not None:
        assert text[place.column - 1 : place.end_column - 1] == piece
    assert "^" in str(problem)


@pytest.mark.parametrize(
    "text",
    [
        "vehicle.width > 5 cm",
        "vehicle.height > vehicle.width",
        "regardless(vehicle.height) > vehicle.drop",
        "vehicle.seats = 2",
        "2 * vehicle.seats = vehicle.seats + 1",
        "vehicle.width * vehicle.width > 5 m2",
        "vehicle.width / vehicle.width > 7 %",
        "vehicle.built < 1973-01-01",
        "vehicle.built - 2000-01-01 > 90 days",
        "vehicle.built + 15 years < today",
        "vehicle.built + vehicle.service < today",
        "vehicle.service <= 2 years",
        "vehicle.limit is not stated",
        "(vehicle.limit if stated else 5 kg) > vehicle.mass",
        "any(axle.load > vehicle.mass for each axle where axle.radius > 5 mm)",
        "largest(axle.load for each axle if none 0 kg) > 5 kg",
        "count(each axle where axle.load > 5 kg) = 2",
        "look_up(symbols, speed, vehicle.maker) >= 50 mph",
        "vehicle.flag = yes and vehicle.paint != red",
        "red = vehicle.paint",
        "vehicle.paint not in (red, blue)",
        "any(each lift where lift.change > 5 mm)",
    ],
)
def test_what_is_right_is_taken(text: str) -> None:
    assert typed(text) == []


def test_all_problems_are_told_at_once() -> None:
    told = typed("vehicle.heigth > 5 mm and vehicle.paint = green")
    assert [problem.place.column for problem in told if problem.place] == [1, 43]


def quantity(name: str, formula: str, unit: str = "mm") -> dict[str, Any]:
    return {"id": name, "title": name, "unit": unit, "formula": formula, "source": "made up"}


def test_quantities_made_from_themselves() -> None:
    circle = [
        quantity("vehicle.one", "vehicle.two + 5 mm"),
        quantity("vehicle.two", "vehicle.three * 2"),
        quantity("vehicle.three", "vehicle.one"),
    ]
    told = problems_of({"requires": "vehicle.one > 5 mm"}, circle)
    assert any("vehicle.one → vehicle.two → vehicle.three → vehicle.one" in p.message for p in told)
    alone = problems_of({"requires": "yes"}, [quantity("vehicle.it", "vehicle.it")])
    assert "made from itself: vehicle.it → vehicle.it" in alone[0].message


def test_a_quantity_of_another_dimension_than_its_unit() -> None:
    (problem,) = problems_of({"requires": "yes"}, [quantity("vehicle.it", "vehicle.mass")])
    assert 'the quantity "vehicle.it" is a mass' in problem.message


def test_a_problem_in_a_quantity_is_told_where_it_stands() -> None:
    told = problems_of(
        {"requires": "vehicle.one > 5 mm"}, [quantity("vehicle.one", "vehicle.widht + 5 mm")]
    )
    assert "no fact or quantity" in told[-1].message or "no fact or quantity" in told[0].message
    assert all(problem.place is not None for problem in told)


def test_an_expression_that_is_too_large() -> None:
    doubled = [quantity("vehicle.q0", "vehicle.width")]
    doubled += [
        quantity(f"vehicle.q{i}", f"vehicle.q{i - 1} + vehicle.q{i - 1}") for i in range(1, 14)
    ]
    told = problems_of({"requires": "vehicle.q13 > 5 mm"}, doubled)
    assert any("too large" in problem.message for problem in told)


def nodes_of(made: Made) -> list[Node]:
    found: dict[Node, None] = {}
    stack = [node for check in made.ruleset.typed.checks for node in check.nodes()]
    while stack:
        node = stack.pop()
        if node not in found:
            found[node] = None
            stack += node.args
    return list(found)


@calm
@given(rulesets())
def test_what_every_typed_tree_keeps_to(made: Made) -> None:
    for node in nodes_of(made):
        assert node.scale > 0
        assert node.size == 1 + sum(arg.size for arg in node.args)
        if node.type.kind == "quantity" and node.unit in UNITS:
            assert UNITS[node.unit].dimension == node.type.dimension
        if node.op in ("add", "sub", "le", "largest", "smallest") and node.type.kind == "quantity":
            assert len({arg.scale for arg in node.args if arg.type.kind == "quantity"}) <= 1
        if node.op == "const" and node.type.kind == "quantity":
            assert isinstance(node.value, int)
        if node.op == "rescale":
            assert node.args[0].scale == node.scale * node.value
        if node.op == "equal" and node.args[0].type.kind == "quantity":
            assert all(arg.type.whole for arg in node.args)


@calm
@given(rulesets())
def test_a_common_scale_divides_all(made: Made) -> None:
    scales = [node.scale for node in nodes_of(made)]
    common = common_scale(*scales) if scales else None
    for scale in scales:
        assert common is not None
        assert (scale / common).denominator == 1
