"""Expressions made at random: well-typed, and of every construct of the language.

``Writer`` writes the text of an expression of a wanted type in a scope. It knows what
may be named there, so that what it writes always loads.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from law_choices import chance, pick, some
from law_quantities import Quantities
from law_scope import Scope
from law_vocabulary import DAYS, DIMENSIONS, TEXTS, WORDS, words_of


@dataclass
class Writer(Quantities):
    """Writes expressions of every type."""

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
