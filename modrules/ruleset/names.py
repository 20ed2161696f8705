"""What expressions of a ruleset may name: facts, quantities, subjects, tables, functions.

``build_names`` goes from the flattened ruleset to the language's own view of it,
reading every literal on the way. Problems are collected, never raised.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from sys import intern
from typing import TYPE_CHECKING, Any

from modrules.language.literals import LiteralProblem, read_date, read_period, read_quantity
from modrules.language.parser import SyntaxProblem, parse
from modrules.language.syntax import UNREADABLE, Syntax
from modrules.language.tree import (
    COUNT,
    DATE,
    ONE,
    PERIOD,
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
from modrules.language.units import DIMENSIONS, NUMBER, UNITS, in_words, quantum, unit_factor, whole
from modrules.problems import Problem, nearest
from modrules.ruleset.flat import FlatRuleset
from modrules.ruleset.tree import Scalar
from modrules.trade.functions import FUNCTIONS, TradeFunction
from modrules.trade.functions import UNITS as FUNCTION_UNITS

if TYPE_CHECKING:
    from modrules.ruleset.models import Fact, Table

Report = Callable[[str, Scalar | None, str], None]


@dataclass(frozen=True, slots=True)
class FactRange:
    """The hard and usual range of a fact, in its run-time numbers; None: no end declared."""

    low: int | Fraction | None = None
    high: int | Fraction | None = None
    usual_low: int | Fraction | None = None
    usual_high: int | Fraction | None = None


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """The names of a ruleset, and the ranges of its facts."""

    names: Names
    ranges: dict[str, FactRange]
    problems: tuple[Problem, ...]


def build_names(flat: FlatRuleset) -> Vocabulary:
    """The vocabulary, with the problems found in it in no particular order."""
    return _Builder(flat).build()


class _Builder:
    def __init__(self, flat: FlatRuleset) -> None:
        self.flat = flat
        self.problems: list[Problem] = []
        self.word_sets = {
            name: tuple(intern(str(word)) for word in words.words)
            for name, words in flat.word_sets.items()
        }

    def report(self, message: str, at: Scalar | None, hint: str = "") -> None:
        self.problems.append(Problem(message, at.place if at is not None else None, hint))

    def build(self) -> Vocabulary:
        subjects = self.subjects()
        facts, ranges = self.facts(subjects)
        quantities = self.quantities(subjects, facts)
        names = Names(
            facts=facts,
            quantities=quantities,
            subjects=subjects,
            tables=self.tables(),
            functions=functions(),
            words=frozenset(word for words in self.word_sets.values() for word in words),
        )
        return Vocabulary(names, ranges, tuple(self.problems))

    def subjects(self) -> dict[str, SubjectName]:
        subjects = {
            str(s.id): SubjectName(str(s.id), s.list is not None)
            for s in self.flat.subjects.values()
        }
        subjects.setdefault("modification", SubjectName("modification", many=True))
        for kind in self.flat.kinds.values():
            if kind.id in subjects:
                self.report(
                    f'"{kind.id}" is a subject and a kind of modification',
                    kind.id,
                    "give one of them another id",
                )
            subjects[str(kind.id)] = SubjectName(str(kind.id), many=True, is_kind=True)
        return subjects

    def facts(
        self, subjects: dict[str, SubjectName]
    ) -> tuple[dict[str, FactName], dict[str, FactRange]]:
        kinds = tuple(intern(str(kind)) for kind in self.flat.kinds)
        facts = {
            "modification.kind": FactName(
                "modification.kind",
                "modification",
                "modification__kind",
                Type("word", words=kinds),
                ONE,
                "",
            ),
            "modification.fitted": FactName(
                "modification.fitted", "modification", "modification__fitted", DATE, ONE, ""
            ),
        }
        ranges: dict[str, FactRange] = {}
        for fact in self.flat.facts.values():
            name = str(fact.id)
            subject = name.partition(".")[0]
            if subject not in subjects:
                self.report(
                    f'there is no subject or kind "{subject}"', fact.id, nearest(subject, subjects)
                )
                continue
            if name in facts:
                self.report(f'the fact "{name}" is built in', fact.id, "leave it out")
                continue
            type_ = self.fact_type(fact)
            if type_ is None:
                continue
            measured = type_.kind == "quantity" and not type_.whole
            scale = quantum(type_.dimension) if measured else ONE
            unit = str(fact.unit or "")
            facts[name] = FactName(
                name, subject, name.replace(".", "__"), type_, scale, unit, fact.none_stated
            )
            ranges[name] = self.fact_range(fact, facts[name])
        return facts, ranges

    def fact_type(self, fact: Any) -> Type | None:
        word = str(fact.type)
        condition = str(getattr(fact, "condition", None) or "")
        if condition and condition not in self.flat.conditions:
            self.report(
                f'there is no condition of measurement "{condition}"',
                fact.condition,
                nearest(condition, self.flat.conditions),
            )
        if word == "word":
            words = self.word_sets.get(str(fact.words or ""))
            if words is None:
                self.report(
                    "a fact of type word names its word set",
                    fact.words or fact.id,
                    nearest(str(fact.words or ""), self.word_sets),
                )
                return None
            return Type("word", words=words)
        if fact.words is not None:
            self.report(f"only the type word has words, not {word}", fact.words)
        listed_in = getattr(fact, "listed_in", None)
        if listed_in is not None:
            return self.listed_type(fact, listed_in)
        if word in DIMENSIONS:
            return self.measured_type(fact, DIMENSIONS[word], condition)
        if fact.unit is not None:
            self.report(f"the type {word} has no unit", fact.unit)
        simple = {
            "yes_no": YES_NO,
            "text": TEXT,
            "tyre_marking": TEXT,
            "date": DATE,
            "period": PERIOD,
            "count": COUNT,
        }
        return simple[word]

    def listed_type(self, fact: Any, listed_in: Scalar) -> Type | None:
        """The type of a text of which a table lists every value that there is."""
        table = self.flat.tables.get(listed_in)
        if fact.type != "text":
            self.report("only texts are listed in a table", listed_in)
        elif table is None:
            self.report(
                f'there is no table "{listed_in}"', listed_in, nearest(listed_in, self.flat.tables)
            )
        elif len(table.keys) != 1 or table.keys[0].type != "text":
            self.report("a table that lists texts has one key, a text", listed_in)
        else:
            return Type("text", words=tuple(intern(str(row[0])) for row in table.rows if row))
        return None

    def measured_type(self, fact: Any, dimension: Any, condition: str) -> Type | None:
        unit = str(fact.unit or "")
        if dimension == NUMBER and not unit:
            return Type("quantity", NUMBER, condition)
        known = UNITS.get(unit)
        if known is None:
            wanted = ", ".join(u.name for u in UNITS.values() if u.dimension == dimension)
            message = f'"{unit}" is no known unit' if unit else f"a {fact.type} needs a unit"
            self.report(message, fact.unit or fact.id, nearest(unit, UNITS) or f"one of: {wanted}")
            return None
        if known.dimension != dimension:
            self.report(
                f"{unit} is a unit of {in_words(known.dimension)}, not of {fact.type}", fact.unit
            )
            return None
        return Type("quantity", dimension, condition)

    def fact_range(self, fact: Fact, name: FactName) -> FactRange:
        if name.type.kind not in ("quantity", "date", "period"):
            if fact.range is not None or fact.usual is not None:
                self.report("only numbers and dates have a range", fact.id)
            return FactRange()
        if fact.range is None and name.type.kind == "quantity":
            self.report(
                f'the fact "{fact.id}" has no range',
                fact.id,
                "add range: {from: …, to: …}: the values that are possible at all",
            )
        ends: list[int | Fraction | None] = []
        for stretch, what in ((fact.range, "range"), (fact.usual, "usual range")):
            if stretch is None:
                ends += [None, None]
                continue
            low = self.value(stretch.low, name.type, name.unit, name.scale)
            high = self.value(stretch.high, name.type, name.unit, name.scale)
            if low is not None and high is not None and low > high:
                self.report(f"this {what} ends before it begins", stretch.low)
            ends += [low, high]
        return FactRange(*ends)

    def value(self, text: Scalar, type: Type, unit: str, scale: Fraction) -> Any:
        """A literal of a range or a table as a run-time value; None where it can't be read."""
        try:
            return literal(text, type, unit, scale)
        except LiteralProblem as problem:
            self.report(problem.message, text, problem.hint)
            return None

    def quantities(
        self, subjects: dict[str, SubjectName], facts: dict[str, FactName]
    ) -> dict[str, QuantityName]:
        quantities = {}
        for quantity in self.flat.quantities.values():
            name = str(quantity.id)
            subject = name.partition(".")[0]
            if subject not in subjects:
                self.report(
                    f'there is no subject or kind "{subject}"',
                    quantity.id,
                    nearest(subject, subjects),
                )
            elif name in facts:
                self.report(f'"{name}" is a fact and a quantity', quantity.id)
            formula = self.formula(quantity.formula)
            holds = self.formula(quantity.holds) if quantity.holds is not None else None
            unit = str(quantity.unit or "")
            dimension = NUMBER
            if unit in UNITS:
                dimension = UNITS[unit].dimension
            elif unit:
                self.report(f'"{unit}" is no known unit', quantity.unit, nearest(unit, UNITS))
            quantities[name] = QuantityName(
                name, subject, formula, str(quantity.formula), dimension, unit, holds
            )
        return quantities

    def formula(self, text: Scalar) -> Syntax:
        try:
            return parse(text)
        except SyntaxProblem as problem:
            place = text.place_at(*problem.span)
            self.problems.append(Problem(problem.message, place, problem.hint))
            # Whoever uses the quantity is told of its own problem, not of this one again.
            return UNREADABLE

    def tables(self) -> dict[str, TableName]:
        return {str(table.id): self.table(table) for table in self.flat.tables.values()}

    def table(self, table: Table) -> TableName:
        keys = []
        for key in table.keys:
            type_ = self.fact_type(key) or TEXT
            keys.append(TableKey(str(key.id), type_, _scale(type_), key.match == "up_to"))
        columns = {}
        types = []
        for index, column in enumerate(table.columns):
            type_ = self.fact_type(column) or TEXT
            columns[str(column.id)] = (index, type_, _scale(type_), str(column.unit or ""))
            types.append((type_, str(column.unit or "")))
        rows = []
        width = len(keys) + len(types)
        units = [str(key.unit or "") for key in table.keys]
        seen: set[tuple[Any, ...]] = set()
        for row in table.rows:
            if len(row) != width:
                self.report(
                    f"this row has {len(row)} cells, but the table {width} columns",
                    row[0] if row else table.id,
                )
                continue
            cells = row[: len(keys)]
            found = tuple(
                self.value(cell, key.type, unit, key.scale)
                for cell, key, unit in zip(cells, keys, units, strict=True)
            )
            if found in seen and None not in found:
                self.report(
                    f'the key {", ".join(cells)} stands twice in table "{table.id}"', row[0]
                )
            seen.add(found)
            values = tuple(
                self.value(cell, type_, unit, _scale(type_))
                for cell, (type_, unit) in zip(row[len(keys) :], types, strict=True)
            )
            rows.append((found, values))
        if any(key.up_to for key in keys):
            if any(key.up_to and key.type.kind not in ("quantity", "date") for key in keys):
                self.report("match: up_to needs a key with an order", table.id)
            elif all(None not in keys for keys, _ in rows):
                rows.sort(key=lambda row: row[0])
        return TableName(str(table.id), tuple(keys), columns, tuple(rows))


def _scale(type: Type) -> Fraction:
    measured = type.kind == "quantity" and not type.whole
    return quantum(type.dimension) if measured else ONE


def literal(text: str, type: Type, unit: str, scale: Fraction, *, with_unit: bool = False) -> Any:
    """One exact value as the run-time value of ``type``; LiteralProblem where it is none.

    ``with_unit``: a measured value must be written with its unit.
    """
    if type.kind == "quantity":
        value, tolerance, _ = read_quantity(text, type.dimension, unit, with_unit=with_unit)
        if tolerance is not None:
            raise LiteralProblem("a plain value is expected here, without a tolerance")
        if type.whole and value.denominator != 1:
            raise LiteralProblem(f"{text} is no whole number")
        return whole(value / scale)
    if type.kind == "date":
        first, last = read_date(text)
        if first != last:
            raise LiteralProblem("a whole date is expected here", "write year-month-day")
        return first
    if type.kind == "period":
        return read_period(text)
    if type.kind == "yes_no":
        if text in ("yes", "true"):
            return True
        if text in ("no", "false"):
            return False
        raise LiteralProblem(f'"{text}" is neither yes nor no')
    if type.kind == "word" and text not in type.words:
        near = nearest(text, type.words) or f"one of: {', '.join(type.words[:12])}"
        raise LiteralProblem(f'"{text}" is none of the words that this takes', near)
    return intern(str(text))


def functions() -> dict[str, Function]:
    """The trade's functions as the language calls them."""
    return {name: _function(function) for name, function in FUNCTIONS.items()}


def _function(function: TradeFunction) -> Function:
    parameters = tuple(_parameter(word) for word in function.parameters)
    result, unit = _parameter(function.result)
    scale = _scale(result)
    call = function.call
    if result.kind == "quantity":
        factor = unit / scale
        plain = function.call

        def call(*values: Any) -> Any:
            value = plain(*values)
            return None if value is None else whole(Fraction(value) * factor)

    return Function(
        function.name,
        parameters,
        result,
        scale,
        function.result_unit or "",
        call,
        function.monotone,
        function.domain,
    )


def _parameter(word: str) -> tuple[Type, Fraction]:
    if word == "count":
        return COUNT, ONE
    if word == "text":
        return TEXT, ONE
    return Type("quantity", DIMENSIONS[word]), unit_factor(FUNCTION_UNITS[word] or "")
