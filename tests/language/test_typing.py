"""Names, types, dimensions and conditions of measurement: every kind of mistake is found."""

from __future__ import annotations

from fractions import Fraction

import pytest

from modrules.language.parser import parse
from modrules.language.tree import (
    COUNT,
    DATE,
    ONE,
    TEXT,
    YES_NO,
    FactName,
    Function,
    Names,
    QuantityName,
    SubjectName,
    TableKey,
    TableName,
    Type,
)
from modrules.language.typer import Typer
from modrules.language.units import LENGTH, MASS, quantum

_MM, _KG = quantum(LENGTH), quantum(MASS)


def _fact(name: str, type_: Type, scale: Fraction = ONE, *, none: bool = False) -> FactName:
    slot = name.replace(".", "__")
    return FactName(name, name.partition(".")[0], slot, type_, scale, "", none)


_FACTS = [
    _fact("vehicle.length", Type("quantity", LENGTH), _MM),
    _fact("vehicle.height", Type("quantity", LENGTH, "unladen"), _MM),
    _fact("vehicle.loaded_height", Type("quantity", LENGTH, "laden"), _MM),
    _fact("vehicle.mass", Type("quantity", MASS), _KG, none=True),
    _fact("vehicle.seats", COUNT),
    _fact("vehicle.tall", YES_NO),
    _fact("vehicle.built", DATE),
    _fact("vehicle.maker", TEXT),
    _fact("vehicle.colour", Type("word", words=("red", "blue"))),
    _fact("vehicle.size", Type("word", words=("small", "large"))),
    _fact("axle.load", Type("quantity", MASS), _KG),
]


def _quantity(name: str, formula: str, dimension: tuple[int, ...] = LENGTH) -> QuantityName:
    subject = name.partition(".")[0]
    return QuantityName(name, subject, parse(formula), formula, dimension, "")  # type: ignore[arg-type]


NAMES = Names(
    facts={fact.id: fact for fact in _FACTS},
    quantities={
        q.id: q
        for q in [
            _quantity("vehicle.twice", "2 * vehicle.length"),
            _quantity("vehicle.round_a", "vehicle.round_b + 1 mm"),
            _quantity("vehicle.round_b", "vehicle.round_a + 1 mm"),
            _quantity("axle.half", "axle.load / 2", MASS),
        ]
    },
    subjects={"vehicle": SubjectName("vehicle", False), "axle": SubjectName("axle", True)},
    tables={
        "limit": TableName(
            "limit",
            (TableKey("colour", Type("word", words=("red", "blue")), ONE),),
            {"mass": (0, Type("quantity", MASS), _KG, "kg")},
            ((("red",), (1,)),),
        )
    },
    functions={"size_of": Function("size_of", ((TEXT, ONE),), COUNT, ONE, "", len, (None,))},
    words=frozenset(["red", "blue", "small", "large"]),
)


def _problem(text: str) -> tuple[str, str, str]:
    typer = Typer(NAMES)
    assert typer.expression(parse(text), typer.scope()) is None
    problem = typer.problems[0]
    return problem.message, problem.hint, text[slice(*problem.span)]


WRONG = {
    "an unknown name": ("vehicle.lenght < 3 mm", "vehicle.lenght", "vehicle.length"),
    "an unknown subject": ("vehicel.length < 3 mm", "vehicel.length", "vehicle.length"),
    "a word by itself": ("red", "red", ""),
    "an unknown word": ("vehicle.colour = rde", "rde", "red"),
    "words of two sets": ("vehicle.colour = vehicle.size", "vehicle.colour = vehicle.size", ""),
    "wrong dimensions added": (
        "vehicle.length + vehicle.mass > 0 mm",
        "vehicle.length + vehicle.mass",
        "",
    ),
    "wrong dimensions compared": ("vehicle.length < 3 kg", "vehicle.length < 3 kg", ""),
    "a missing unit": ("vehicle.length < 3", "vehicle.length < 3", "unit"),
    "conditions compared": (
        "vehicle.height < vehicle.loaded_height",
        "vehicle.height < vehicle.loaded_height",
        "regardless",
    ),
    "conditions added": (
        "vehicle.height + vehicle.loaded_height > 1 mm",
        "vehicle.height + vehicle.loaded_height",
        "regardless",
    ),
    "equality of what is measured": ("vehicle.length = 3 mm", "vehicle.length = 3 mm", "<="),
    "a number as a condition": ("vehicle.length and vehicle.tall", "vehicle.length", ""),
    "a condition as a number": ("vehicle.tall + 1 > 2", "vehicle.tall", ""),
    "order of words": ("vehicle.colour < vehicle.colour", "vehicle.colour < vehicle.colour", ""),
    "a date and a number": ("vehicle.built < 3", "vehicle.built < 3", ""),
    "days added to a date": ("vehicle.built + 90 days < today", "90 days", "months or years"),
    "a list used as one": ("axle.load < 3 kg", "axle.load", "each axle"),
    "no such list": (
        "any(axle.load < 3 kg for each axel)",
        "any(axle.load < 3 kg for each axel)",
        "axle",
    ),
    "one-of as a list": (
        "any(vehicle.tall for each vehicle)",
        "any(vehicle.tall for each vehicle)",
        "",
    ),
    "no value for the empty list": (
        "largest(axle.load for each axle) < 3 kg",
        "largest(axle.load for each axle)",
        "if none",
    ),
    "a list in itself": (
        "any(sum(axle.load for each axle) > axle.load for each axle)",
        "sum(axle.load for each axle)",
        "",
    ),
    "an unknown function": ("size_off(vehicle.maker) > 1", "size_off(vehicle.maker)", "size_of"),
    "too many values": (
        "size_of(vehicle.maker, vehicle.maker) > 1",
        "size_of(vehicle.maker, vehicle.maker)",
        "",
    ),
    "a wrong value": ("size_of(vehicle.seats) > 1", "vehicle.seats", ""),
    "an unknown table": ("look_up(limits, mass, vehicle.colour) > 1 kg", "limits", "limit"),
    "an unknown column": ("look_up(limit, mas, vehicle.colour) > 1 kg", "mas", "mass"),
    "a wrong key": ("look_up(limit, mass, vehicle.seats) > 1 kg", "vehicle.seats", ""),
    "stated of what always is": ("vehicle.length is stated", "vehicle.length", "none_stated"),
    "stated of a sum": ("vehicle.mass + 1 kg is stated", "vehicle.mass + 1 kg", ""),
    "division by zero": ("vehicle.length / 0 > 1 mm", "0", ""),
    "a circle": ("vehicle.round_a > 1 mm", "vehicle.round_a", ""),
    "parts of a calendar month": ("vehicle.built + 0.3 months < today", "0.3 months", ""),
    "rounding to nothing": ("round_up(vehicle.length, 0 mm) > 1 mm", "0 mm", ""),
    "count with a value": (
        "count(axle.load for each axle) > 1",
        "count(axle.load for each axle)",
        "where",
    ),
}


@pytest.mark.parametrize("name", WRONG)
def test_mistakes(name: str) -> None:
    text, at, hint = WRONG[name]
    message, said, place = _problem(text)
    assert message
    assert place == at
    assert hint in said


def test_both_sides_of_an_and_are_told() -> None:
    typer = Typer(NAMES)
    text = "vehicle.lenght < 3 mm and vehicle.heigth < 3 mm"
    assert typer.expression(parse(text), typer.scope()) is None
    assert [text[slice(*problem.span)] for problem in typer.problems] == [
        "vehicle.lenght",
        "vehicle.heigth",
    ]


@pytest.mark.parametrize(
    "text",
    [
        "regardless(vehicle.height) < regardless(vehicle.loaded_height)",
        "vehicle.height + vehicle.length > 3 in",
        "vehicle.mass if stated else 750 kg >= 2 * sum(axle.half for each axle)",
        "vehicle.built + 15 years <= today and today - vehicle.built < 9000 days",
        "count(each axle where axle.load > 1 t) in (1, 2)",
        "red = vehicle.colour or vehicle.colour not in (red, blue)",
        "look_up(limit, mass, vehicle.colour) > 1 lb",
        "if vehicle.tall then vehicle.twice > 3 m else vehicle.seats = 5",
        "largest(vehicle.length, 3 m, 40 in) / vehicle.length > 107 %",
        "absolute(vehicle.length - 3 m) <= round_up(vehicle.twice, 10 mm)",
    ],
)
def test_what_is_right_is_taken(text: str) -> None:
    typer = Typer(NAMES)
    assert typer.expression(parse(text), typer.scope(), YES_NO) is not None, typer.problems
