"""For which vehicles the outcome of a check differs between two editions: over all vehicles.

    changed(old, new) -> Changed         needs z3 (the extra "proofs")

All facts of a vehicle are known, no document is held, and the day is one on which the new edition
is in force. Where a fact is declared otherwise in the two editions, only what both take is looked
at. Each change is shown by an example that both editions were screened on.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from z3 import Z3Exception

from modrules.language import domains as d
from modrules.language.tree import ONE, YES_NO, FactName, Node
from modrules.proofs.alike import ANYTHING, labels, outcome, word
from modrules.proofs.asking import BUDGET, Session
from modrules.proofs.conditions import facts_in
from modrules.proofs.examples import Literal, Seen, confirm
from modrules.proofs.found import Example
from modrules.proofs.space import Untranslatable, Value
from modrules.proofs.symbolic import Symbolic
from modrules.ruleset.names import FactRange
from modrules.ruleset.typed import TypedCheck, TypedRuleset
from modrules.screening.prepared import Ruleset

NO_CHECK: Final = "no such check"
Number = int | Fraction | None
_NOT_APPLICABLE: Final = "not applicable"


@dataclass(frozen=True, slots=True)
class Change:
    """From one outcome to another, and a vehicle for which it is so."""

    before: str
    after: str
    example: Example


@dataclass(frozen=True, slots=True)
class CheckChange:
    """What changes in one check. ``not_proved``: the changes of which it is not known."""

    check: str
    title: str
    changes: tuple[Change, ...]
    not_proved: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Changed:
    """Every check of both editions; ``facts``: those that are declared otherwise."""

    checks: tuple[CheckChange, ...]
    facts: tuple[str, ...]

    @property
    def differing(self) -> tuple[CheckChange, ...]:
        return tuple(each for each in self.checks if each.changes)

    @property
    def same(self) -> tuple[CheckChange, ...]:
        """Those that come to the same for every vehicle, as is proved."""
        return tuple(each for each in self.checks if not each.changes and not each.not_proved)


def changed(old: Ruleset, new: Ruleset, budget: int = BUDGET) -> Changed:
    """The changes of outcome of every check, in the order of the new edition."""
    typed, facts = _common(old.typed, new.typed)
    before = {check.id: check for check in old.typed.checks}
    after = {check.id: check for check in new.typed.checks}
    found = []
    for id in (*after, *(id for id in before if id not in after)):
        first, second = before.get(id), after.get(id)
        if first is not None and second is not None and first.bindings != second.bindings:
            # Another subject is another question: the findings have nothing to be compared by.
            pairs = [(first, None), (None, second)]
        else:
            pairs = [(first, second)]
        changes: list[Change] = []
        not_proved: list[str] = []
        for one, other in pairs:
            try:
                _compare(_Both(old, new, one, other, typed, budget), changes, not_proved)
            except (Z3Exception, Untranslatable) as error:
                not_proved.append(f"all of it: {error}")
        item = (new if second is not None else old).flat.checks[id]
        found.append(CheckChange(id, str(item.title), tuple(changes), tuple(not_proved)))
    return Changed(tuple(found), facts)


@dataclass(frozen=True, slots=True)
class _Sided(Literal):
    """A literal about the check of one of the two editions."""

    old: bool


class _Both(Session):
    """Questions about one check in two editions, on one vehicle."""

    def __init__(
        self,
        old: Ruleset,
        new: Ruleset,
        first: TypedCheck | None,
        second: TypedCheck | None,
        typed: TypedRuleset,
        budget: int,
    ) -> None:
        checks = [check for check in (first, second) if check is not None]
        for _, fact in sorted(facts_in(node for check in checks for node in check.nodes())):
            if fact not in typed.names.facts:
                raise Untranslatable(f'"{fact}" is of another type now')
        super().__init__(new, checks, budget, typed)
        self.sides = ((old, first, new), (new, second, old))
        self.before = Symbolic(self.space, old.typed.names)

    def condition(self, literal: Literal) -> object:
        old = isinstance(literal, _Sided) and literal.old
        return (self.before if old else self.symbolic).holds(literal.node, literal.mask)

    def confirmed(self, example: Example, literals: Sequence[Literal]) -> Seen | None:
        possible: list[tuple[str, ...]] = []
        for ruleset, check, other in self.sides:
            own = [
                literal
                for literal in literals
                if isinstance(literal, _Sided) and literal.old == (ruleset is self.sides[0][0])
            ]
            checks = [check] if check is not None else []
            seen = confirm(ruleset, example, self.space, checks, own, [other.typed])
            if seen is None:
                return None
            possible += seen.possible
        return Seen(tuple(possible))


def _compare(both: _Both, changes: list[Change], not_proved: list[str]) -> None:
    """Adds every change of outcome from the one check to the other."""
    (_, first, _), (_, second, _) = both.sides
    one = both.before.value(outcome(first)) if first is not None else None
    other = both.symbolic.value(outcome(second)) if second is not None else None
    if both.ask([]).holds is False:
        # Else nothing would be found to differ, of no vehicle at all.
        not_proved.append("all of it: there is no vehicle that both editions take")
        return
    if one is not None and other is not None and _same(one, other):
        return
    for before, literals in _outcomes(first, old=True):
        for after, others in _outcomes(second, old=False):
            if before == after or {before, after} == {NO_CHECK, _NOT_APPLICABLE}:
                continue
            answer = both.ask([*literals, *others], plain=True)
            if answer.holds and answer.example is not None:
                changes.append(Change(before, after, answer.example))
            elif answer.holds is None:
                not_proved.append(f"from {before} to {after}: {answer.reason}")


def _same(one: Value, other: Value) -> bool:
    """Whether two values are one and the same term."""
    pairs = ((one.term, other.term), (one.gap, other.gap))
    return all(
        a is b if isinstance(a, bool) else not isinstance(b, bool) and a.eq(b) for a, b in pairs
    )


def _outcomes(check: TypedCheck | None, *, old: bool) -> Iterator[tuple[str, list[Literal]]]:
    """What a check may come to, and when it does."""
    if check is None:
        yield NO_CHECK, []
        return
    node = outcome(check)
    for label in labels(check):
        mask = d.TRUE | d.GAP if label == ANYTHING else d.TRUE
        same = Node("equal", YES_NO, (node, word(label)), None, ONE, "")
        yield label, [_Sided(same, mask, old)]


# -- facts that both editions take ---------------------------------------------------------------


def _common(old: TypedRuleset, new: TypedRuleset) -> tuple[TypedRuleset, tuple[str, ...]]:
    """The facts of both editions as both take them, and those that are declared otherwise."""
    facts: dict[str, FactName] = {**old.names.facts, **new.names.facts}
    ranges = {**old.vocabulary.ranges, **new.vocabulary.ranges}
    differing = []
    for id in old.names.facts.keys() & new.names.facts.keys():
        one, other = old.names.facts[id], new.names.facts[id]
        first, second = old.vocabulary.ranges.get(id), new.vocabulary.ranges.get(id)
        if one == other and first == second:
            continue
        differing.append(id)
        common = _fact(one, other)
        if common is None:
            del facts[id]
            continue
        facts[id] = common
        if first is not None and second is not None:
            ranges[id] = _range(first, second)
        elif first is not None:
            ranges[id] = first
    subjects = {**old.names.subjects, **new.names.subjects}
    names = dataclasses.replace(new.names, facts=facts, subjects=subjects)
    flat = dataclasses.replace(
        new.flat,
        facts={**old.flat.facts, **new.flat.facts},
        subjects={**old.flat.subjects, **new.flat.subjects},
        kinds={**old.flat.kinds, **new.flat.kinds},
    )
    vocabulary = dataclasses.replace(new.vocabulary, names=names, ranges=ranges)
    return dataclasses.replace(new, flat=flat, vocabulary=vocabulary), tuple(sorted(differing))


def _fact(one: FactName, other: FactName) -> FactName | None:
    """A fact that has the values that both declarations have; None where the types differ."""
    first, second = one.type, other.type
    if (first.kind, first.dimension, first.whole) != (second.kind, second.dimension, second.whole):
        return None
    words = tuple(word for word in second.words if word in first.words)
    return dataclasses.replace(
        other,
        type=dataclasses.replace(second, words=words),
        none_stated=one.none_stated and other.none_stated,
    )


def _range(one: FactRange, other: FactRange) -> FactRange:
    def inner(a: Number, b: Number, larger: bool) -> Number:
        if a is None or b is None:
            return b if a is None else a
        return max(a, b) if larger else min(a, b)

    return FactRange(
        inner(one.low, other.low, True),
        inner(one.high, other.high, False),
        other.usual_low,
        other.usual_high,
    )
