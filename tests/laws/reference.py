"""A naive evaluator, written from the design and not from the engine.

It walks the syntax trees of a ruleset given as plain data, over submissions in which every
fact is exact, none stated included. A value is a Fraction (in SI units), an int (a date as
ordinal, a period as months), a bool, a text, or None: no value. What it gives is the set of
possible outcomes of each check on each subject: one, or all where there is no value.
"""

from __future__ import annotations

import calendar
import datetime
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from functools import lru_cache
from itertools import combinations, product
from typing import Any

from modrules.language import syntax as s
from modrules.language.parser import parse
from modrules.trade.functions import FUNCTIONS

EVERYTHING = frozenset(
    (
        "not applicable",
        "complies",
        "exempt",
        "certified",
        "caution",
        "inspect",
        "certification required",
        "not permitted",
    )
)
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


class _Period(int):
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


class Reference:
    """The evaluator of one ruleset on one submission."""

    def __init__(self, data: Mapping[str, Any], world: World) -> None:
        self.data = data
        self.world = world
        self.lists = {item["id"] for item in data["subjects"] if "list" in item}
        self.kinds = {item["id"] for item in data["kinds"]}
        self.facts = {item["id"]: item for item in data["facts"]}
        self.quantities = {item["id"]: item for item in data["quantities"]}
        self.tables = {item["id"]: item for item in data["tables"]}
        self.certifications = {item["id"]: item for item in data["certifications"]}

    # -- checks ------------------------------------------------------------------------

    def findings(self) -> dict[tuple[str, tuple[str, ...]], frozenset[str]]:
        """The outcomes of each check on each subject, by ids; no ids where there is none."""
        found = {}
        for check in self.data["checks"]:
            subjects = self.subjects_of(check)
            for ids, names in subjects:
                found[check["id"], ids] = self.outcomes(check, names)
            if not subjects:
                found[check["id"], ()] = frozenset(("not applicable",))
        return found

    def records(self, subject: str) -> list[Mapping[str, Any]]:
        if subject in self.kinds:
            return [m for m in self.world.subjects["modification"] if m["kind"] == subject]
        found = self.world.subjects[subject]
        return list(found) if isinstance(found, (list, tuple)) else [found]

    def subjects_of(self, check: Mapping[str, Any]) -> list[tuple[tuple[str, ...], Subjects]]:
        per = [check["per"]] if isinstance(check["per"], str) else list(check["per"])
        if len(per) == 2 and per[0] == per[1]:
            return [
                ((a["id"], b["id"]), {"first": a, "second": b})
                for a, b in combinations(self.records(per[0]), 2)
            ]
        lists = []
        for subject in per:
            records = self.records(subject)
            if subject == "modification" and "vehicle" not in check["about"]:
                records = [m for m in records if m["kind"] in check["about"]]
            lists.append(records)
        found = []
        for chosen in product(*lists):
            names = dict(zip(per, chosen, strict=True))
            if len(per) == 1 and per[0] in self.kinds:
                names["modification"] = chosen[0]
            ids = tuple(record["id"] for record in chosen if "id" in record)
            found.append((ids, names))
        return found

    def outcomes(self, check: Mapping[str, Any], names: Subjects) -> frozenset[str]:
        applies = self.in_force(check)
        if "applies_if" in check:
            applies = _and(applies, lambda: self.value(check["applies_if"], names))
        if applies is None:
            return EVERYTHING
        if not applies:
            return frozenset(("not applicable",))
        if check.get("unfinished"):
            return EVERYTHING
        outcome = self.required(check, names) if "requires" in check else self.banded(check, names)
        return EVERYTHING if outcome is None else frozenset((outcome,))

    def in_force(self, check: Mapping[str, Any]) -> bool:
        period = check.get("in_force", {})
        first, last = period.get("from", "0001-01-01"), period.get("up_to", "9999-12-31")
        return _ordinal(first) <= self.world.today <= _ordinal(last)

    def required(self, check: Mapping[str, Any], names: Subjects) -> str | None:
        met = self.value(check["requires"], names)
        if met is None:
            return None
        if met:
            return "complies"
        excused: bool | None = False
        for exemption in check.get("exempt_if", ()):
            excused = _or(excused, lambda e=exemption: self.value(e["condition"], names))
        if excused is None:
            return None
        if excused:
            return "exempt"
        return self.certified(
            check.get("otherwise", "not permitted"), check.get("certification"), check, names
        )

    def banded(self, check: Mapping[str, Any], names: Subjects) -> str | None:
        measured = None
        if "measures" in check:
            measured = self.value(check["measures"], names)
            if measured is None:
                return None
        for band in check["bands"]:
            matches = self.matches(band, measured, names)
            if matches is None:
                return None
            if matches:
                return self.certified(band["outcome"], band.get("certification"), check, names)
        return None

    def matches(self, band: Mapping[str, Any], measured: Any, names: Subjects) -> bool | None:
        found: bool | None = True
        for key, holds in _ENDS.items():
            if key in band:
                end = self.value(band[key], names)
                holding = None if end is None else holds(measured, end)
                found = _and(found, lambda holding=holding: holding)
        if "only_if" in band:
            found = _and(found, lambda: self.value(band["only_if"], names))
        if "unless" in band:
            found = _and(found, lambda: _not(self.value(band["unless"], names)))
        return found

    # -- certifications ------------------------------------------------------------------

    def certified(
        self, outcome: str, name: str | None, check: Mapping[str, Any], names: Subjects
    ) -> str:
        if outcome != "certification required" or name is None:
            return outcome
        own = {m["id"]: m for m in names.values() if m.get("kind") in self.kinds}
        if not own:
            mods = self.world.subjects["modification"]
            # What is filed under no kind that was modified bears on all modifications.
            own = {m["id"]: m for m in mods if m["kind"] in check["about"]}
            own = own or {m["id"]: m for m in mods}
        held = any(self.covers(paper, name, list(own.values())) for paper in self.world.papers)
        return "certified" if held else outcome

    def covers(self, paper: Paper, name: str, mods: list[Mapping[str, Any]]) -> bool:
        enough = {name}
        while True:
            more = {o for each in enough for o in self.certifications[each].get("covered_by", ())}
            if more <= enough:
                break
            enough |= more
        if paper.certification not in enough:
            return False
        if paper.issued is None or paper.issued > self.world.today:
            return False
        if paper.expires is not None and paper.expires < self.world.today:
            return False
        if not {m["id"] for m in mods} <= paper.modifications:
            return False
        before = any(
            self.certifications[each].get("approval_before_work")
            for each in (name, paper.certification)
        )
        if before and any(paper.issued > m["modification.fitted"] for m in mods):
            return False
        return all(self.within(paper, fact, limit) for fact, limit in paper.up_to.items())

    def within(self, paper: Paper, fact: str, limit: Fraction) -> bool:
        """Whether what was done stays within what the paper covers; a value that nobody
        states is not shown to."""
        for record in self.records(fact.partition(".")[0]):
            if "kind" in record and record["id"] not in paper.modifications:
                continue
            value = record[fact]
            if value is NONE_STATED or value > limit:
                return False
        return True

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
            return _Period(tree.value * MONTHS[tree.unit])
        return tree.value * SI[tree.unit]

    def date(self, tree: s.Date, _names: Subjects) -> Any:
        return _ordinal(tree.value)

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
            return _not(value)
        return None if value is None else type(value)(-value)

    def binary(self, tree: s.Binary, names: Subjects) -> Any:
        if tree.operator in ("and", "or"):
            rule = _and if tree.operator == "and" else _or
            return rule(self.of(tree.left, names), lambda: self.of(tree.right, names))
        left, right = self.of(tree.left, names), self.of(tree.right, names)
        if left is None or right is None:
            return None
        if tree.operator in "+-" and isinstance(right, _Period):
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
                    found = _or(found, lambda m=member, v=value: _and(m, lambda: v))
                else:
                    found = _and(found, lambda m=member, v=value: _or(_not(m), lambda: v))
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


def _ordinal(text: str) -> int:
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
        return _ordinal(text)
    number, _, unit = text.partition(" ")
    return Fraction(number) * SI[unit or of.get("unit", "")]


def _not(value: bool | None) -> bool | None:
    return None if value is None else not value


def _and(left: bool | None, right: Callable[[], bool | None]) -> bool | None:
    if left is False:
        return False
    other = right()
    if other is False:
        return False
    return None if left is None or other is None else True


def _or(left: bool | None, right: Callable[[], bool | None]) -> bool | None:
    return _not(_and(_not(left), lambda: _not(right())))


_ENDS: dict[str, Callable[[Any, Any], bool]] = {
    "over": lambda value, end: value > end,
    "from": lambda value, end: value >= end,
    "up_to": lambda value, end: value <= end,
    "under": lambda value, end: value < end,
}
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
_RULES: dict[type, Callable[[Reference, Any, Subjects], Any]] = {
    s.Number: Reference.number,
    s.Date: Reference.date,
    s.Text: Reference.text,
    s.Name: Reference.name,
    s.Unary: Reference.unary,
    s.Binary: Reference.binary,
    s.Member: Reference.member,
    s.Stated: Reference.stated,
    s.Fallback: Reference.fallback,
    s.Conditional: Reference.conditional,
    s.Call: Reference.call,
    s.Over: Reference.over,
}
