"""The space of all vehicles, as symbols: what every fact of a few checks may be.

    Space(typed, checks, days)      the symbols of these checks; ``rules`` is what always holds
    space.fact(record, fact)        the symbol of a fact of a record
    space.members(subject)          the records that a list may hold, each with "is it there?"

A record is named by its subject and its number in the list. A list holds up to ``MOST_MEMBERS``
of them (more where something is counted). Numbers are symbols in the declared unit of their
fact; words and texts are whole numbers that stand for them.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import count, pairwise
from typing import Any, Final

import z3

from modrules.language.tree import FactName, Node, walk
from modrules.language.units import unit_factor
from modrules.proofs.found import MOST_MEMBERS
from modrules.ruleset.typed import TypedCheck, TypedRuleset

MOST_COUNTED: Final = 4
#: Dates without a declared range lie between these, unless it is said otherwise.
FIRST_DAY: Final = datetime.date(1900, 1, 1).toordinal()
LAST_DAY: Final = datetime.date(2199, 12, 31).toordinal()
#: Markings that stand for all in examples; proofs do not rest on these being all there are.
MARKINGS: Final = (
    "265/65R17 112S",
    "265/70R17 121/118S",
    "245/70R16 107Q",
    "225/75R16 110/107N",
    "LT285/70R17 121/118Q",
    "31x10.50R15 109R",
    "205/55R16 91V",
    "235/85R16 120/116L",
    "7.50-16 112/110L",
)

Record = tuple[str, int]


class Untranslatable(Exception):
    """What a check says has no translation into symbols."""


@dataclass(frozen=True, slots=True)
class Value:
    """A symbolic value. ``term`` is a number, a code of a word or text, or "it is true".

    Where ``gap`` holds there is no value; a truth that holds has one.
    """

    term: Any
    gap: Any = False


def both(*parts: Any) -> Any:
    """All of them; plain True and False are folded away."""
    left = [part for part in parts if part is not True]
    if any(part is False for part in left):
        return False
    if not left:
        return True
    return left[0] if len(left) == 1 else z3.And(left)


def either(*parts: Any) -> Any:
    left = [part for part in parts if part is not False]
    if any(part is True for part in left):
        return True
    if not left:
        return False
    return left[0] if len(left) == 1 else z3.Or(left)


def opposite(part: Any) -> Any:
    return (not part) if isinstance(part, bool) else z3.Not(part)


def choose(condition: Any, then: Any, other: Any) -> Any:
    if isinstance(condition, bool):
        return then if condition else other
    if isinstance(then, bool) and isinstance(other, bool):
        if then == other:
            return then
        return condition if then else z3.Not(condition)
    if isinstance(then, bool):
        return either(condition, other) if then else both(z3.Not(condition), other)
    if isinstance(other, bool):
        return either(z3.Not(condition), then) if other else both(condition, then)
    return z3.If(condition, then, other)


def same_term(term: Any) -> object:
    """What equal terms have in common."""
    return term if isinstance(term, bool) else term.get_id()


class Space:
    """The symbols of the facts of some checks, and what always holds of them."""

    def __init__(
        self,
        typed: TypedRuleset,
        checks: Iterable[TypedCheck],
        days: tuple[int, int],
        calendar: tuple[int, int] = (FIRST_DAY, LAST_DAY),
    ) -> None:
        self.typed = typed
        #: between which days dates without a declared range lie
        self.calendar = calendar
        #: of its own: what z3 answers hangs on everything that was ever said in a context
        self.ctx = z3.Context()
        self.rules: list[Any] = []
        #: what examples keep to besides: markings that are known, estimates that agree
        self.narrower: list[Any] = []
        #: what examples keep to if they can: numbers that are usual
        self.usual: list[Any] = []
        self.facts: dict[tuple[Record, str], Value] = {}
        self.variables: dict[tuple[Record, str], tuple[Any, Any]] = {}
        self.codes: dict[str, int] = {}
        #: symbols that stand for a result: node, its arguments, the symbol, its gap
        self.free: list[tuple[Node, tuple[Value, ...], Any, Any]] = []
        #: what operations that take symbols of their own come to, by what they are made from
        self.results: dict[tuple[object, ...], Value] = {}
        self.numbers = count(1)
        self.today = z3.Int("today", self.ctx)
        self.rules += [self.today >= days[0], self.today <= days[1]]
        self._reals: dict[Fraction | int, Any] = {}
        self._present: dict[Record, Any] = {}
        self._members: dict[str, list[tuple[Record, Any]]] = {}
        #: the record that each binding of the checks stands for
        self.bound: dict[str, Record] = {}
        self.about: frozenset[str] = frozenset()
        checks = list(checks)
        nodes = list(walk(node for check in checks for node in check.nodes()))
        counted = any(node.op == "over" and node.value[0] == "count" for node in nodes)
        self.most = MOST_COUNTED if counted else MOST_MEMBERS
        self.kinds = self._kinds(checks, nodes)
        for check in checks:
            for binding in check.bindings:
                self._bind(binding, check)
        if self.about & set(self.kinds):
            # The one modification would have to be on the list of its kind too.
            raise Untranslatable("a modification at large beside a list of its kind")
        self.lists = set(self._lists(nodes))
        for name in sorted(self.lists):
            self.members(name)

    def _kinds(self, checks: list[TypedCheck], nodes: list[Node]) -> tuple[str, ...]:
        """The kinds of modification that have records of their own here."""
        subjects = self.typed.names.subjects
        named = {binding for check in checks for binding in check.per}
        named |= set(self._lists(nodes))
        return tuple(sorted(n for n in named if n in subjects and subjects[n].is_kind))

    @staticmethod
    def _lists(nodes: list[Node]) -> Iterator[str]:
        for node in nodes:
            if node.op == "over":
                yield node.value[1].removeprefix("each ")

    def _bind(self, binding: str, check: TypedCheck) -> None:
        if binding in self.bound or not self.typed.names.subjects[_owner(binding)].many:
            return
        subject = _owner(binding)
        record = (subject, 1 if binding.startswith("second:") else 0)
        self.bound[binding] = record
        self._present[record] = True
        if subject == "modification":
            self.about = self.about | frozenset(check.about)
            kind = self.fact(record, "modification.kind")
            self.rules.append(either(*(kind.term == self.code(each) for each in check.about)))

    # -- constants --------------------------------------------------------------------

    def real(self, value: Fraction | int) -> Any:
        """A number as a term."""
        found = self._reals.get(value)
        if found is None:
            found = self._reals[value] = z3.RealVal(str(Fraction(value)), self.ctx)
        return found

    def whole(self, value: int) -> Any:
        """A count, a day or a code as a term."""
        return z3.IntVal(value, self.ctx)

    # -- records ---------------------------------------------------------------------

    def record(self, binding: str) -> Record:
        """The record that a binding outside lists stands for."""
        return self.bound.get(binding, (binding, 0))

    def present(self, record: Record) -> Any:
        found = self._present.get(record)
        if found is None:
            found = self._present[record] = z3.Bool(f"{record[0]}#{record[1]} is there", self.ctx)
        return found

    def members(self, subject: str) -> list[tuple[Record, Any]]:
        """The records that the list of a subject may hold, and whether each is there."""
        found = self._members.get(subject)
        if found is not None:
            return found
        own = [((subject, n), self.present((subject, n))) for n in range(self.most)]
        for (_, before), (_, after) in pairwise(own):
            if before is not True:
                self.rules.append(z3.Implies(after, before) if after is not True else before)
        if subject == "modification":
            for record, there in own:
                kind = self.fact(record, "modification.kind").term
                for other in self.kinds:
                    self.rules.append(either(opposite(there), kind != self.code(other)))
            for kind_name in self.kinds:
                own += self.members(kind_name)
        self._members[subject] = own
        return own

    # -- facts -----------------------------------------------------------------------

    def code(self, text: str) -> int:
        """The number that stands for a word or text."""
        return self.codes.setdefault(text, len(self.codes))

    def fact(self, record: Record, fact_id: str) -> Value:
        """The symbol of a fact of a record."""
        key = (record, fact_id)
        found = self.facts.get(key)
        if found is None:
            found = self.facts[key] = self._made(record, fact_id)
        return found

    def _made(self, record: Record, fact_id: str) -> Value:
        fact = self.typed.names.facts[fact_id]
        name = f"{record[0]}#{record[1]} {fact_id}"
        if fact_id == "modification.kind" and record[0] != "modification":
            return Value(self.whole(self.code(record[0])))
        gap: Any = z3.Bool(f"{name} is none", self.ctx) if fact.none_stated else False
        kind = fact.type.kind
        if kind == "yes_no":
            variable = z3.Bool(name, self.ctx)
            self.variables[record, fact_id] = (variable, gap)
            return Value(both(opposite(gap), variable), gap)
        whole = kind != "quantity" or fact.type.whole
        variable = z3.Int(name, self.ctx) if whole else z3.Real(name, self.ctx)
        self.variables[record, fact_id] = (variable, gap)
        if kind in ("word", "text"):
            self._choice(variable, fact)
            return Value(variable, gap)
        if kind == "date":
            self._within(variable, fact, Fraction(1), self.calendar)
            return Value(variable, gap)
        factor = Fraction(1) if fact.type.whole else unit_factor(fact.unit) / fact.scale
        self._within(variable, fact, factor, (None, None))
        number = z3.ToReal(variable) if whole else variable
        return Value(number if factor == 1 else number * self.real(factor), gap)

    def _within(
        self, variable: Any, fact: FactName, factor: Fraction, default: tuple[Any, Any]
    ) -> None:
        limits = self.typed.vocabulary.ranges.get(fact.id)
        low = limits.low if limits is not None and limits.low is not None else default[0]
        high = limits.high if limits is not None and limits.high is not None else default[1]
        if low is not None:
            self.rules.append(variable >= self.real(low / factor))
        if high is not None:
            self.rules.append(variable <= self.real(high / factor))
        if limits is not None and limits.usual_low is not None:
            self.usual.append(variable >= self.real(limits.usual_low / factor))
        if limits is not None and limits.usual_high is not None:
            self.usual.append(variable <= self.real(limits.usual_high / factor))

    def _choice(self, variable: Any, fact: FactName) -> None:
        if fact.type.kind == "word":
            self.rules.append(either(*(variable == self.code(word) for word in fact.type.words)))
            return
        self.rules.append(variable >= 0)
        item = self.typed.flat.facts.get(fact.id)
        if item is not None and item.type == "tyre_marking":
            self.narrower.append(either(*(variable == self.code(m) for m in self.markings())))

    def markings(self) -> tuple[str, ...]:
        from modrules.trade.markings import parse_marking

        return tuple(str(parse_marking(marking)) for marking in MARKINGS)


def _owner(binding: str) -> str:
    return binding.partition(":")[2] or binding
