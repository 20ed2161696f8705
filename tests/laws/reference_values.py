"""The values of expressions, for the naive evaluator: Fractions, and None for no value."""

from __future__ import annotations

import calendar
import datetime
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from functools import lru_cache
from typing import Any

from modrules.language import syntax as s
from modrules.language.parser import parse
from modrules.trade.functions import FUNCTIONS

#: SI value of one of each unit
SI = {
    "": Fraction(1),
    "%": Fraction(1, 100),
    "mm": Fraction(1, 1000),
    "cm": Fraction(1, 100),
    "m": Fraction(1),
    "km": Fraction(1000),
    "in": Fraction("0.0254"),
    "ft": Fraction("0.3048"),
    "m2": Fraction(1),
    "L": Fraction(1, 1000),
    "mL": Fraction(1, 10**6),
    "kg": Fraction(1),
    "g": Fraction(1, 1000),
    "t": Fraction(1000),
    "lb": Fraction("0.45359237"),
    "km/h": Fraction(1000, 3600),
    "mph": Fraction("1609.344") / 3600,
    "m/s": Fraction(1),
    "N": Fraction(1),
    "kN": Fraction(1000),
    "Nm": Fraction(1),
    "kPa": Fraction(1000),
    "bar": Fraction(100000),
    "psi": Fraction("0.45359237") * Fraction("9.80665") / Fraction("0.0254") ** 2,
    "kW": Fraction(1000),
    "degC": Fraction(1),
    "deg": Fraction(1),
    "days": Fraction(86400),
    "h": Fraction(3600),
    "s": Fraction(1),
}
MONTHS = {"year": 12, "years": 12, "month": 1, "months": 1}
#: the unit of plain numbers that the trade's functions take and give
_FUNCTION_UNIT = {"length": "mm", "mass": "kg", "speed": "km/h", "number": "", "count": ""}


class Period(int):
    """A calendar period in months, kept apart from the ordinal of a date."""


@dataclass(frozen=True)
class Paper:
    """A document: dates as ordinals (None: not stated), largest values covered in SI units."""

    certification: str
    issued: int | None
    expires: int | None
    modifications: frozenset[str]
    up_to: Mapping[str, Fraction] = field(default_factory=dict)


@dataclass(frozen=True)
class World:
    """A submission of exact facts: one mapping per subject, a list of them for lists.

    The mappings go from the id of a fact to its value; ``NONE_STATED`` stands for none stated.
    Modifications are under ``modification``, each with its ``kind``.
    """

    subjects: Mapping[str, Any]
    today: int
    papers: tuple[Paper, ...] = ()


NONE_STATED = object()
Subjects = Mapping[str, Mapping[str, Any]]


@lru_cache(maxsize=4096)
def _tree(text: str) -> s.Syntax:
    return parse(" ".join(text.split()))


class Expressions:
    """Evaluates the expressions of one ruleset on one submission."""

    def __init__(self, data: Mapping[str, Any], world: World) -> None:
        self.data = data
        self.world = world
        self.lists = {item["id"] for item in data["subjects"] if "list" in item}
        self.kinds = {item["id"] for item in data["kinds"]}
        self.facts = {item["id"]: item for item in data["facts"]}
        self.quantities = {item["id"]: item for item in data["quantities"]}
        self.tables = {item["id"]: item for item in data["tables"]}
        self.certifications = {item["id"]: item for item in data["certifications"]}

    def records(self, subject: str) -> list[Mapping[str, Any]]:
        if subject in self.kinds:
            return [m for m in self.world.subjects["modification"] if m["kind"] == subject]
        found = self.world.subjects[subject]
        return list(found) if isinstance(found, (list, tuple)) else [found]

    # -- expressions ---------------------------------------------------------------------

    def value(self, text: str, names: Subjects) -> Any:
        """The value of an expression, with the subjects that its names stand for."""
        singles = {
            name: found
            for name, found in self.world.subjects.items()
            if name not in self.lists and name not in self.kinds
        }
        return self.of(_tree(str(text)), {**singles, **names})

    def of(self, tree: s.Syntax, names: Subjects) -> Any:
        return _RULES[type(tree)](self, tree, names)

    def number(self, tree: s.Number, _names: Subjects) -> Any:
        if tree.unit in MONTHS:
            return Period(tree.value * MONTHS[tree.unit])
        return tree.value * SI[tree.unit]

    def date(self, tree: s.Date, _names: Subjects) -> Any:
        return ordinal(tree.value)

    def text(self, tree: s.Text, _names: Subjects) -> Any:
        return tree.value

    def name(self, tree: s.Name, names: Subjects) -> Any:
        if tree.name in ("yes", "no"):
            return tree.name == "yes"
        if tree.name == "today":
            return self.world.today
        if "." not in tree.name:
            return tree.name
        found = self.raw(tree.name, names)
        return None if found is NONE_STATED else found

    def raw(self, name: str, names: Subjects) -> Any:
        """A fact as it is given, or the value of a quantity."""
        prefix, _, rest = name.partition(".")
        record = names[prefix]
        subject = "axle" if prefix in ("first", "second") else prefix
        quantity = self.quantities.get(f"{subject}.{rest}")
        if quantity is None:
            return record[f"{subject}.{rest}"]
        own: dict[str, Mapping[str, Any]] = {}
        if subject in self.lists or subject in self.kinds:
            own[subject] = record
        if subject in self.kinds:
            own["modification"] = record
        return self.value(quantity["formula"], own)

    def unary(self, tree: s.Unary, names: Subjects) -> Any:
        value = self.of(tree.operand, names)
        if tree.operator == "not":
            return negation(value)
        return None if value is None else type(value)(-value)

    def binary(self, tree: s.Binary, names: Subjects) -> Any:
        if tree.operator in ("and", "or"):
            rule = both if tree.operator == "and" else either
            return rule(self.of(tree.left, names), lambda: self.of(tree.right, names))
        left, right = self.of(tree.left, names), self.of(tree.right, names)
        if left is None or right is None:
            return None
        if tree.operator in "+-" and isinstance(right, Period):
            return _months_later(left, right if tree.operator == "+" else -right)
        if tree.operator == "-" and type(left) is int and type(right) is int:
            return Fraction(left - right) * SI["days"]
        if tree.operator == "/":
            return Fraction(left) / right if right != 0 else None
        return _OPERATORS[tree.operator](left, right)

    def member(self, tree: s.Member, names: Subjects) -> Any:
        value = self.of(tree.operand, names)
        if value is None:
            return None
        found = any(value == self.of(choice, names) for choice in tree.choices)
        return found != tree.negated

    def stated(self, tree: s.Stated, names: Subjects) -> Any:
        assert isinstance(tree.operand, s.Name)
        return (self.raw(tree.operand.name, names) is NONE_STATED) == tree.negated

    def fallback(self, tree: s.Fallback, names: Subjects) -> Any:
        assert isinstance(tree.operand, s.Name)
        value = self.raw(tree.operand.name, names)
        return self.of(tree.other, names) if value is NONE_STATED else value

    def conditional(self, tree: s.Conditional, names: Subjects) -> Any:
        condition = self.of(tree.condition, names)
        if condition is None:
            return None
        return self.of(tree.then if condition else tree.other, names)

    def call(self, tree: s.Call, names: Subjects) -> Any:
        if tree.function == "look_up":
            return self.look_up(tree, names)
        values = [self.of(argument, names) for argument in tree.arguments]
        if None in values:
            return None
        if tree.function in ("largest", "smallest"):
            return (max if tree.function == "largest" else min)(values)
        if tree.function == "absolute":
            return abs(values[0])
        if tree.function == "regardless":
            return values[0]
        if tree.function in ("round_up", "round_down"):
            steps = values[0] / Fraction(values[1])
            return (-(-steps // 1) if tree.function == "round_up" else steps // 1) * values[1]
        known = FUNCTIONS[tree.function]
        given = [
            value if kind == "text" else value / SI[_FUNCTION_UNIT[kind]]
            for value, kind in zip(values, known.parameters, strict=True)
        ]
        result = known.call(*given)
        if result is None or isinstance(result, str):
            return result
        return Fraction(result) * SI[_FUNCTION_UNIT[known.result]]

    def look_up(self, tree: s.Call, names: Subjects) -> Any:
        table_name, column_name = tree.arguments[:2]
        assert isinstance(table_name, s.Name)
        assert isinstance(column_name, s.Name)
        table = self.tables[table_name.name]
        asked = [self.of(argument, names) for argument in tree.arguments[2:]]
        if None in asked:
            return None
        keys = table["keys"]
        rows = [
            ([_cell(cell, of) for cell, of in zip(row, keys, strict=False)], row)
            for row in table["rows"]
        ]
        if any(key.get("match") == "up_to" for key in keys):
            rows.sort(key=lambda row: row[0])
        column = next(i for i, c in enumerate(table["columns"]) if c["id"] == column_name.name)
        for found, row in rows:
            if all(
                want <= have if key.get("match") == "up_to" else want == have
                for key, want, have in zip(keys, asked, found, strict=True)
            ):
                return _cell(row[len(keys) + column], table["columns"][column])
        return None

    def over(self, tree: s.Over, names: Subjects) -> Any:
        conditions, values = [], []
        for record in self.records(tree.subject):
            inner = {**names, tree.subject: record}
            if tree.subject in self.kinds:
                inner["modification"] = record
            member = True if tree.where is None else self.of(tree.where, inner)
            conditions.append(member)
            if tree.body is None:
                values.append(True)
            else:
                values.append(self.of(tree.body, inner) if member is not False else None)
        pairs = list(zip(conditions, values, strict=True))
        if tree.function in ("any", "all"):
            found: bool | None = tree.function == "all"
            for member, value in pairs:
                if tree.function == "any":
                    found = either(found, lambda m=member, v=value: both(m, lambda: v))
                else:
                    found = both(found, lambda m=member, v=value: either(negation(m), lambda: v))
            return found
        if None in conditions:
            return None
        if tree.function == "count":
            return Fraction(sum(conditions))
        taken = [value for member, value in pairs if member]
        if None in taken:
            return None
        if tree.function == "sum":
            return sum(taken, Fraction(0))
        if not taken:
            assert tree.default is not None
            return self.of(tree.default, names)
        return max(taken) if tree.function == "largest" else min(taken)


def ordinal(text: str) -> int:
    return datetime.date.fromisoformat(str(text)).toordinal()


def _months_later(day: int, months: int) -> int:
    date = datetime.date.fromordinal(day)
    year, month = divmod(date.year * 12 + date.month - 1 + months, 12)
    if year > 9999:
        return datetime.date.max.toordinal()
    if year < 1:
        return datetime.date.min.toordinal()
    last = calendar.monthrange(year, month + 1)[1]
    return datetime.date(year, month + 1, min(date.day, last)).toordinal()


def _cell(text: str, of: Mapping[str, Any]) -> Any:
    """A cell of a table by the type of its key or column."""
    kind = of["type"]
    if kind in ("text", "word"):
        return text
    if kind == "yes_no":
        return text == "yes"
    if kind == "date":
        return ordinal(text)
    number, _, unit = text.partition(" ")
    return Fraction(number) * SI[unit or of.get("unit", "")]


def negation(value: bool | None) -> bool | None:
    return None if value is None else not value


def both(left: bool | None, right: Callable[[], bool | None]) -> bool | None:
    if left is False:
        return False
    other = right()
    if other is False:
        return False
    return None if left is None or other is None else True


def either(left: bool | None, right: Callable[[], bool | None]) -> bool | None:
    return negation(both(negation(left), lambda: negation(right())))


_OPERATORS: dict[str, Callable[[Any, Any], Any]] = {
    "+": lambda a, b: a + b,
    "-": lambda a, b: a - b,
    "*": lambda a, b: a * b,
    "<": lambda a, b: a < b,
    "<=": lambda a, b: a <= b,
    ">": lambda a, b: a > b,
    ">=": lambda a, b: a >= b,
    "=": lambda a, b: a == b,
    "!=": lambda a, b: a != b,
}
_RULES: dict[type, Callable[[Expressions, Any, Subjects], Any]] = {
    s.Number: Expressions.number,
    s.Date: Expressions.date,
    s.Text: Expressions.text,
    s.Name: Expressions.name,
    s.Unary: Expressions.unary,
    s.Binary: Expressions.binary,
    s.Member: Expressions.member,
    s.Stated: Expressions.stated,
    s.Fallback: Expressions.fallback,
    s.Conditional: Expressions.conditional,
    s.Call: Expressions.call,
    s.Over: Expressions.over,
}
