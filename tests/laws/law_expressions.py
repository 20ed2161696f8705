"""Expressions made at random: well-typed, and of every construct of the language.

``Writer`` writes the text of an expression of a wanted type in a scope. It knows what
may be named there, so that what it writes always loads.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from fractions import Fraction

from law_choices import Choices, chance, pick, some
from law_vocabulary import (
    DAYS,
    DIMENSIONS,
    GRID,
    KINDS,
    LISTS,
    MARKINGS,
    SINGLES,
    TEXTS,
    WORDS,
    FactSpec,
    Vocabulary,
    words_of,
)

#: a dimension as the product of two others
PRODUCTS = {
    "area": ("length", "length"),
    "volume": ("area", "length"),
    "torque": ("force", "length"),
    "power": ("force", "speed"),
    "force": ("pressure", "area"),
}
#: a dimension as the quotient of two others
QUOTIENTS = {
    "length": ("area", "length"),
    "area": ("volume", "length"),
    "pressure": ("force", "area"),
    "speed": ("power", "force"),
}
TRADE = {
    "mass": ("load_capacity({count})",),
    "length": ("clearance_gained({length}, {length})", "tyre_diameter({marking})"),
    "speed": ("speed_of_symbol({text})", "true_speed({speed}, {length}, {length})"),
    "number": ("diameter_change_ratio({length}, {length})",),
    "volume": (),
}


@dataclass(frozen=True)
class QuantitySpec:
    """A quantity of the ruleset: ``type`` is a dimension, yes_no, date or count."""

    id: str
    type: str
    formula: str
    unit: str

    @property
    def subject(self) -> str:
        return self.id.partition(".")[0]


@dataclass(frozen=True)
class TableSpec:
    """A table: the types of its keys and columns (a word type as ``word:colour``)."""

    id: str
    keys: tuple[tuple[str, str, str], ...]
    columns: tuple[tuple[str, str, str], ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Scope:
    """What may be named: prefixes with their subjects, and the lists already gone over."""

    prefixes: tuple[tuple[str, str], ...]
    inside: frozenset[str] = frozenset()

    def over(self, name: str) -> Scope:
        """The scope inside ``each name``."""
        own = {name: name}
        if name in KINDS:
            own["modification"] = "modification"
        kept = tuple(each for each in self.prefixes if each[0] not in own)
        return replace(self, prefixes=(*kept, *own.items()), inside=self.inside | {name})


def scope_of(*bindings: tuple[str, str]) -> Scope:
    """The one-of subjects and the bindings given."""
    return Scope((*((name, name) for name in SINGLES), *bindings))


@dataclass
class Writer:
    """Writes expressions over a vocabulary; ``literals`` collects the numbers it used."""

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

    def value(self, scope: Scope, type: str, depth: int) -> str:
        """An expression of any type."""
        if type == "yes_no":
            return self.yes_no(scope, depth)
        if type == "count":
            return self.count(scope, depth)
        if type == "text":
            return self.text(scope, depth)
        if type == "date":
            return self.date(scope, depth)
        if type.startswith("word:"):
            return self.word(scope, type[5:], depth)
        return self.quantity(scope, type, depth)

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

    def counted(self, scope: Scope, depth: int) -> str:
        name = self.list(scope)
        if name is None:
            return "2"
        return f"count(each {name}{self.where(scope.over(name), depth)})"

    def any_or_all(self, scope: Scope, depth: int) -> str:
        name = self.list(scope)
        if name is None:
            return "yes"
        inner = scope.over(name)
        where = self.where(inner, depth)
        if chance(self.choices, 1, 4):
            return f"any(each {name}{where})"
        function = pick(self.choices, ("any", "all"))
        return f"{function}({self.yes_no(inner, depth - 1)} for each {name}{where})"

    # -- counts, words, texts, dates -----------------------------------------------------

    def count(self, scope: Scope, depth: int) -> str:
        names = self.named(scope, "count")
        if depth <= 0:
            return self.one_of(
                lambda: pick(self.choices, names), lambda: pick(self.choices, ("2", "1", "3"))
            )
        return self.one_of(
            lambda: pick(self.choices, names),
            lambda: self.counted(scope, depth),
            lambda: (
                f"{pick(self.choices, names)} {pick(self.choices, ('+', '-', '*'))} "
                f"{self.atom(self.count(scope, depth - 1))}"
            ),
            lambda: f"2 * {self.atom(self.count(scope, depth - 1))}",
            lambda: f"tyre_load_index({pick(self.choices, self.named(scope, 'tyre_marking'))})",
            lambda: self.conditional(scope, lambda d: self.count(scope, d), depth),
            lambda: self.table_of(scope, "count", depth) or "3",
            lambda: f"round_up({self.count(scope, depth - 1)}, 2)",
            lambda: f"largest({self.count(scope, depth - 1)}, {self.count(scope, 0)})",
        )

    def table_of(self, scope: Scope, type: str, depth: int) -> str:
        """A look-up that gives ``type``; empty where no table has it."""
        found = [(t, name) for t in self.tables for name, of, _ in t.columns if of == type]
        return self.look_up(scope, *pick(self.choices, found), depth) if found else ""

    def word(self, scope: Scope, words: str, depth: int) -> str:
        found = self.facts(scope, lambda f: f.words == words)
        names = [name for name, _ in found]
        optional = [name for name, fact in found if fact.none_stated]
        ways: list[Callable[[], str]] = [lambda: pick(self.choices, names)]
        if depth > 0 and optional:
            ways.append(
                lambda: f"{pick(self.choices, optional)} if stated else {pick(self.choices, names)}"
            )
        if depth > 0:
            ways.append(lambda: self.conditional(scope, lambda _: pick(self.choices, names), depth))
            ways.append(
                lambda: self.table_of(scope, f"word:{words}", depth) or pick(self.choices, names)
            )
        return self.one_of(*ways)

    def text(self, scope: Scope, depth: int) -> str:
        names = self.named(scope, "text")
        ways: list[Callable[[], str]] = [lambda: pick(self.choices, names)]
        ways.append(lambda: f'"{pick(self.choices, TEXTS)}"')
        if depth > 0:
            ways.append(
                lambda: (
                    f"tyre_speed_symbol({pick(self.choices, self.named(scope, 'tyre_marking'))})"
                )
            )
            ways.append(lambda: self.conditional(scope, lambda _: self.text(scope, 0), depth))
            ways.append(lambda: self.table_of(scope, "text", depth) or pick(self.choices, names))
        return self.one_of(*ways)

    def date(self, scope: Scope, depth: int) -> str:
        names = self.named(scope, "date")
        ways: list[Callable[[], str]] = [
            lambda: pick(self.choices, names),
            lambda: pick(self.choices, DAYS),
            lambda: "today",
        ]
        if depth > 0:
            ways += [
                lambda: (
                    f"{self.atom(self.date(scope, depth - 1))} "
                    f"{pick(self.choices, ('+', '-'))} {self.period(scope)}"
                ),
                lambda: f"largest({self.date(scope, depth - 1)}, {self.date(scope, 0)})",
                lambda: self.conditional(scope, lambda d: self.date(scope, d), depth),
            ]
            name = self.list(scope)
            if name is not None:
                ways.append(
                    lambda: (
                        f"smallest({self.date(scope.over(name), 0)} for each {name} "
                        f"if none {self.date(scope, 0)})"
                    )
                )
        return self.one_of(*ways)

    def period(self, scope: Scope) -> str:
        names = self.named(scope, "period")
        return pick(
            self.choices, ("15 years", "6 months", "1 month", "1 year", *names, "9000 years")
        )

    # -- conditions ------------------------------------------------------------------------

    def conditional(self, scope: Scope, value: Callable[[int], str], depth: int) -> str:
        condition = self.yes_no(scope, depth - 1)
        return f"(if {condition} then {value(depth - 1)} else {value(depth - 1)})"

    def yes_no(self, scope: Scope, depth: int) -> str:
        """A condition."""
        if depth <= 0:
            return self.one_of(
                lambda: pick(self.choices, self.named(scope, "yes_no")),
                lambda: self.compared(scope, 0),
                lambda: self.equal(scope, 0),
            )
        ways: list[Callable[[], str]] = [
            lambda: self.compared(scope, depth),
            lambda: self.both(scope, "and", depth),
            lambda: self.both(scope, "or", depth),
            lambda: f"not {self.atom(self.yes_no(scope, depth - 1))}",
            lambda: self.equal(scope, depth),
            lambda: self.chosen(scope, depth),
            lambda: self.any_or_all(scope, depth),
            lambda: self.conditional(scope, lambda d: self.yes_no(scope, d), depth),
            lambda: self.table_of(scope, "yes_no", depth) or "yes",
            lambda: self.measured_alike(),
            lambda: self.twice(scope),
        ]
        optional = self.optional(scope, lambda _: True)
        if optional:
            ways.append(lambda: f"{optional} is {pick(self.choices, ('stated', 'not stated'))}")
        perhaps = self.optional(scope, lambda f: f.type == "yes_no")
        if perhaps:
            ways.append(lambda: f"({perhaps} if stated else {pick(self.choices, ('yes', 'no'))})")
        return self.one_of(*ways)

    def both(self, scope: Scope, operator: str, depth: int) -> str:
        left = self.atom(self.yes_no(scope, depth - 1))
        right = self.atom(self.yes_no(scope, depth - 1))
        if chance(self.choices, 1, 3):
            # The same condition twice is what cases are tried for.
            right = f"(not {left} {pick(self.choices, ('and', 'or'))} {right})"
        return f"{left} {operator} {right}"

    def tabled(self, scope: Scope) -> str:
        """What a table gives against a number."""
        found = [
            (t, name, of) for t in self.tables for name, of, _ in t.columns if of in DIMENSIONS
        ]
        steps = [each for each in found if each[0].keys[0][2] == "up_to"]
        table, name, type = pick(self.choices, [*found, *steps, *steps])
        operator = pick(self.choices, ("<=", "<", ">", ">="))
        return f"{self.look_up(scope, table, name, 0)} {operator} {self.number(type)}"

    def twice(self, scope: Scope) -> str:
        """A condition that stands there twice, which is what cases are tried for."""
        one, other = self.simple(scope), self.atom(self.yes_no(scope, 0))
        if chance(self.choices, 1, 2):
            return f"(if {one} then {other} else {self.yes_no(scope, 0)}) or ({one} and {other})"
        sign = pick(self.choices, ("and", "or"))
        return f"({one} {sign} {other}) and (not ({one}) {sign} {other})"

    def compared(self, scope: Scope, depth: int) -> str:
        operator = pick(self.choices, ("<=", "<", ">", ">="))
        kind = self.choices.below(6)
        if kind == 0:
            left, right = self.date(scope, depth - 1), self.date(scope, depth - 1)
        elif kind == 1:
            left, right = self.count(scope, depth - 1), self.count(scope, 0)
        elif kind == 2 and depth > 0:
            left, right = self.period(scope), self.period(scope)
        else:
            dimension = pick(self.choices, (*DIMENSIONS, "time"))
            left = self.quantity(scope, dimension, depth - 1)
            right = self.quantity(scope, dimension, depth - 1)
        return f"{left} {operator} {right}"

    def simple(self, scope: Scope) -> str:
        """A fact against a number, which may lie outside the range of the fact."""
        if chance(self.choices, 1, 4):
            date = pick(self.choices, self.named(scope, "date"))
            return f"{date} {pick(self.choices, ('<=', '<', '>', '>='))} {pick(self.choices, DAYS)}"
        dimension = pick(self.choices, tuple(DIMENSIONS))
        number = self.number(dimension)
        if chance(self.choices, 1, 2):
            number = f"{pick(self.choices, ('9000', '5000'))} {DIMENSIONS[dimension][0][0]}".strip()
        operator = pick(self.choices, ("<=", "<", ">", ">="))
        estimated = self.facts(scope, lambda f: f.type == dimension and bool(f.estimate))
        if estimated:
            return f"{estimated[0][0]} {operator} {number}"
        return f"{self.measured(scope, dimension)} {operator} {number}"

    def measured_alike(self) -> str:
        """A comparison of values measured under the same condition."""
        operator = pick(self.choices, ("<=", ">", "<"))
        more = pick(self.choices, ("", " + 10 mm", " / 2", " - vehicle.length"))
        return f"vehicle.height {operator} vehicle.sag{more}"

    def equal(self, scope: Scope, depth: int) -> str:
        operator = pick(self.choices, ("=", "!="))
        kind = self.choices.below(6)
        if kind == 5:
            listed = [row[0] for row in self.tables[0].rows]
            right = pick(self.choices, ("vehicle.maker", *(f'"{text}"' for text in listed)))
            return f"vehicle.grade {operator} {right}"
        if kind == 0:
            words = pick(self.choices, tuple(WORDS))
            left = self.word(scope, words, depth - 1)
            literal = chance(self.choices, 2, 3)
            right = pick(self.choices, WORDS[words]) if literal else self.word(scope, words, 0)
        elif kind == 1:
            left, right = self.text(scope, depth - 1), self.text(scope, 0)
        elif kind == 2:
            left, right = self.date(scope, depth - 1), self.date(scope, 0)
        elif kind == 3:
            left, right = self.count(scope, depth - 1), self.count(scope, depth - 1)
        else:
            left = self.atom(self.yes_no(scope, 0 if depth < 2 else depth - 2))
            right = pick(self.choices, ("yes", "no", *self.named(scope, "yes_no")))
            if not self._plain(left):
                left = f"({left})"
        return f"{self._side(left)} {operator} {self._side(right)}"

    def _plain(self, text: str) -> bool:
        return text.replace("_", "").replace(".", "").isalnum()

    def _side(self, text: str) -> str:
        return f"({text})" if " if stated " in text or " = " in text else text

    def chosen(self, scope: Scope, depth: int) -> str:
        """Membership in a list of plain values."""
        word = pick(self.choices, ("in", "not in"))
        kind = self.choices.below(5)
        if kind == 4:
            rows = [f'"{row[0]}"' for row in self.tables[0].rows]
            return f"vehicle.grade {word} ({', '.join(some(self.choices, rows, 1))})"
        if kind == 0:
            marked = self.facts(scope, lambda f: bool(f.words))
            name, fact = pick(self.choices, marked)
            return f"{name} {word} ({', '.join(some(self.choices, words_of(fact), 1))})"
        if kind == 1:
            listed = ", ".join(f'"{text}"' for text in some(self.choices, TEXTS, 1))
            return f"{self.text(scope, depth - 1)} {word} ({listed})"
        listed = ", ".join(some(self.choices, ("1", "2", "3", "4", "0", "-2"), 1))
        return f"{self._side(self.count(scope, depth - 1))} {word} ({listed})"


def _decimal(value: Fraction) -> str:
    """A terminating fraction as a decimal."""
    text = f"{float(value):.10f}".rstrip("0").rstrip(".")
    assert Fraction(text) == value
    return text


__all__ = ["MARKINGS", "QuantitySpec", "Scope", "TableSpec", "Writer", "scope_of"]
