"""Quantities made at random: of every dimension, by every operation that gives one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from fractions import Fraction

from law_choices import Choices, chance, pick
from law_scope import PRODUCTS, QUOTIENTS, TRADE, QuantitySpec, Scope, TableSpec
from law_vocabulary import DIMENSIONS, GRID, KINDS, LISTS, FactSpec, Vocabulary


@dataclass
class Quantities:
    """Writes quantities over a vocabulary; ``literals`` collects the numbers it used."""

    choices: Choices
    vocabulary: Vocabulary
    tables: tuple[TableSpec, ...] = ()
    quantities: list[QuantitySpec] = field(default_factory=list)
    literals: dict[str, list[tuple[Fraction, str]]] = field(default_factory=dict)

    # -- what may be named -----------------------------------------------------------

    def facts(self, scope: Scope, wanted: Callable[[FactSpec], bool]) -> list[tuple[str, FactSpec]]:
        found = []
        for prefix, subject in scope.prefixes:
            for fact in self.vocabulary.facts.values():
                if fact.subject == subject and wanted(fact):
                    found.append((f"{prefix}.{fact.id.partition('.')[2]}", fact))
        return found

    def named(self, scope: Scope, type: str) -> list[str]:
        """Facts and quantities of a type, as they are written in the scope."""
        names = [name for name, fact in self.facts(scope, lambda f: f.type == type)]
        for quantity in self.quantities:
            if quantity.type == type:
                names += [
                    f"{prefix}.{quantity.id.partition('.')[2]}"
                    for prefix, subject in scope.prefixes
                    if subject == quantity.subject
                ]
        return names

    def one_of(self, *ways: Callable[[], str]) -> str:
        return pick(self.choices, ways)()

    # -- quantities ------------------------------------------------------------------

    def number(self, dimension: str) -> str:
        """A literal of a dimension."""
        if dimension == "time":
            return pick(self.choices, ("90 days", "400 days", "0 days", "24 h", "3000 days"))
        unit = pick(self.choices, DIMENSIONS[dimension][0])
        value = abs(pick(self.choices, GRID))
        self.literals.setdefault(dimension, []).append((value, unit))
        return f"{_decimal(value)} {unit}".strip()

    def plain(self, *, zero: bool = False) -> str:
        """A plain number; not zero unless that is allowed."""
        found = pick(self.choices, ("2", "3", "0.5", "0.333", "7 %", "150 %", "1.5", "12", "0"))
        return found if zero or found != "0" else "4"

    def measured(self, scope: Scope, dimension: str) -> str:
        """A fact or a quantity of a dimension, without its condition of measurement."""
        if dimension == "time":
            return f"({self.date(scope, 0)} - {self.date(scope, 0)})"
        names = self.named(scope, dimension)
        name = pick(self.choices, names)
        fact = self.vocabulary.facts.get(name)
        return f"regardless({name})" if fact is not None and fact.condition else name

    def quantity(self, scope: Scope, dimension: str, depth: int) -> str:
        """An expression of a dimension."""
        if depth <= 0:
            if chance(self.choices, 1, 4):
                return self.number(dimension)
            return self.measured(scope, dimension)
        ways: list[Callable[[], str]] = [
            lambda: self.measured(scope, dimension),
            lambda: self.sum(scope, dimension, depth),
            lambda: f"-{self.atom(self.quantity(scope, dimension, depth - 1))}",
            lambda: self.scaled(scope, dimension, depth),
            lambda: self.conditional(scope, lambda d: self.quantity(scope, dimension, d), depth),
            lambda: self.extreme(scope, dimension, depth),
            lambda: self.wrapped(scope, dimension, depth),
            lambda: self.folded(scope, dimension, depth),
            lambda: self.other(scope, dimension, depth),
        ]
        optional = self.optional(scope, lambda f: f.type == dimension and not f.condition)
        if optional:
            name = optional
            ways.append(
                lambda: f"({name} if stated else {self.atom(self.quantity(scope, dimension, 0))})"
            )
        return self.one_of(*ways)

    def optional(self, scope: Scope, wanted: Callable[[FactSpec], bool]) -> str:
        """A fact that may be none stated, where there is one."""
        found = self.facts(scope, lambda f: f.none_stated and wanted(f))
        return pick(self.choices, found)[0] if found else ""

    def atom(self, text: str) -> str:
        """The text so that it can stand as a part of anything."""
        return text if text.replace("_", "").replace(".", "").isalnum() else f"({text})"

    def sum(self, scope: Scope, dimension: str, depth: int) -> str:
        left = self.quantity(scope, dimension, depth - 1)
        operator = pick(self.choices, ("+", "-"))
        # Now and then the same twice, so that terms cancel.
        again = chance(self.choices, 1, 4)
        right = left if again else self.quantity(scope, dimension, depth - 1)
        return f"{left} {operator} {self.atom(right)}"

    def scaled(self, scope: Scope, dimension: str, depth: int) -> str:
        inner = self.atom(self.quantity(scope, dimension, depth - 1))
        return self.one_of(
            lambda: f"{inner} * {self.plain(zero=True)}",
            lambda: f"{self.plain(zero=True)} * {inner}",
            lambda: f"{inner} / {self.plain()}",
            lambda: f"{inner} * {self.atom(self.measured(scope, 'number'))}",
            lambda: f"{inner} / {self.atom(self.measured(scope, 'number'))}",
            lambda: f"{inner} * -{self.plain()}",
        )

    def extreme(self, scope: Scope, dimension: str, depth: int) -> str:
        function = pick(self.choices, ("largest", "smallest"))
        count = 2 + self.choices.below(2)
        parts = [self.quantity(scope, dimension, depth - 1) for _ in range(count)]
        return f"{function}({', '.join(parts)})"

    def wrapped(self, scope: Scope, dimension: str, depth: int) -> str:
        inner = self.quantity(scope, dimension, depth - 1)
        steps = {"number": "0.25", "time": "7 days", "area": "0.5 m2"}
        step = steps.get(dimension)
        if step is None:
            step = f"{pick(self.choices, ('10', '3', '0.3'))} {DIMENSIONS[dimension][0][0]}"
        return self.one_of(
            lambda: f"absolute({inner})",
            lambda: f"round_up({inner}, {step})",
            lambda: f"round_down({inner}, {step})",
            lambda: f"regardless({inner})",
        )

    def other(self, scope: Scope, dimension: str, depth: int) -> str:
        """Products, quotients, tables, functions: where the dimension has one."""
        ways: list[Callable[[], str]] = [lambda: self.number(dimension)]
        for found, operator in (
            (PRODUCTS.get(dimension), "*"),
            (QUOTIENTS.get(dimension), "/"),
        ):
            if found is not None:
                ways.append(
                    lambda pair=found, sign=operator: (
                        f"{self.atom(self.quantity(scope, pair[0], depth - 2))} {sign} "
                        f"{self.atom(self.measured(scope, pair[1]))}"
                    )
                )
        if dimension == "number":
            of = pick(self.choices, ("length", "mass", "speed"))
            ways.append(
                lambda: (
                    f"{self.atom(self.quantity(scope, of, depth - 2))} / "
                    f"{self.atom(self.measured(scope, of))}"
                )
            )
            ways.append(lambda: f"{self.atom(self.count(scope, 0))} / 3")
        if dimension == "area":
            side = self.atom(self.measured(scope, "length"))
            ways.append(lambda: f"{side} * {side}")
        for form in TRADE.get(dimension, ()):
            ways.append(lambda form=form: self.function(scope, form))
        for table in self.tables:
            for name, type, _ in table.columns:
                if type == dimension:
                    ways.append(
                        lambda table=table, name=name: self.look_up(scope, table, name, depth)
                    )
        return self.one_of(*ways)

    def function(self, scope: Scope, form: str) -> str:
        """A function of the trade, its parameters filled in one by one."""
        text = form
        while "{" in text:
            before, _, rest = text.partition("{")
            kind, _, after = rest.partition("}")
            if kind == "count":
                filled = self.count(scope, 1)
            elif kind == "text":
                filled = self.text(scope, 1)
            elif kind == "marking":
                filled = pick(self.choices, self.named(scope, "tyre_marking"))
            else:
                filled = self.quantity(scope, kind, 0)
            text = f"{before}{filled}{after}"
        return text

    def look_up(self, scope: Scope, table: TableSpec, column: str, depth: int) -> str:
        keys = []
        for _, type, match in table.keys:
            if table.id == "symbols" and chance(self.choices, 1, 2):
                keys.append("vehicle.grade")
            elif match == "exact" and type in DIMENSIONS and chance(self.choices, 1, 2):
                keys.append(self.number(type))
            else:
                keys.append(self.value(scope, type, max(0, depth - 2)))
        return f"look_up({table.id}, {column}, {', '.join(keys)})"

    # -- over lists --------------------------------------------------------------------

    def list(self, scope: Scope) -> str | None:
        """The name of a list that can be gone over here."""
        free = [name for name in (*LISTS, *KINDS, "modification") if name not in scope.inside]
        return pick(self.choices, free) if free else None

    def where(self, inner: Scope, depth: int) -> str:
        if chance(self.choices, 1, 3):
            return f" where {self.yes_no(inner, max(0, depth - 1))}"
        return ""

    def folded(self, scope: Scope, dimension: str, depth: int) -> str:
        name = self.list(scope)
        if name is None or dimension == "time":
            return self.measured(scope, dimension)
        inner = scope.over(name)
        body = self.quantity(inner, dimension, depth - 1)
        where = self.where(inner, depth)
        function = pick(self.choices, ("sum", "largest", "smallest"))
        if function == "sum":
            return f"sum({body} for each {name}{where})"
        default = self.quantity(scope, dimension, 0)
        return f"{function}({body} for each {name}{where} if none {default})"

    # -- what other types of expressions add -------------------------------------------

    def value(self, scope: Scope, type: str, depth: int) -> str:
        """An expression of any type."""
        raise NotImplementedError

    def count(self, scope: Scope, depth: int) -> str:
        raise NotImplementedError

    def text(self, scope: Scope, depth: int) -> str:
        raise NotImplementedError

    def date(self, scope: Scope, depth: int) -> str:
        raise NotImplementedError

    def yes_no(self, scope: Scope, depth: int) -> str:
        raise NotImplementedError

    def conditional(self, scope: Scope, value: Callable[[int], str], depth: int) -> str:
        raise NotImplementedError


def _decimal(value: Fraction) -> str:
    """A terminating fraction as a decimal."""
    text = f"{float(value):.10f}".rstrip("0").rstrip(".")
    assert Fraction(text) == value
    return text
