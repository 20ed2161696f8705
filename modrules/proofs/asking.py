"""Asking whether some vehicle is so: never, or here is one, or not proved within the budget.

    Session(ruleset, checks, budget).ask(literals) -> Answer

The budget is z3's own count of its steps, so that the answer is the same on every machine.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Final

import z3

from modrules.language.tree import Node, walk
from modrules.language.units import UNITS, unit_factor
from modrules.proofs.called import actual, same_result
from modrules.proofs.examples import Literal, Seen, confirm, ends, fragment
from modrules.proofs.found import Example
from modrules.proofs.space import FIRST_DAY, LAST_DAY, Record, Space, Value, either
from modrules.proofs.symbolic import Symbolic
from modrules.ruleset.typed import TypedCheck, TypedRuleset
from modrules.screening.prepared import Ruleset

#: z3's steps for one question.
BUDGET: Final = 3_000_000
#: How many models are tried before a question counts as not proved.
TRIES: Final = 8
ALL_DAYS: Final = (datetime.date.min.toordinal(), datetime.date.max.toordinal())
_STEPS: Final = (*map(Fraction, (100, 10, 1)), Fraction(1, 10), Fraction(1, 1000))


@dataclass(frozen=True, slots=True)
class Answer:
    """``holds``: True with an example that the engine confirms, False for never, None: not proved.

    ``reason`` says why it is not proved.
    """

    holds: bool | None
    example: Example | None = None
    seen: Seen | None = None
    reason: str = ""


NEVER: Final = Answer(False)


class Session:
    """Questions about one check, or about two on one vehicle."""

    def __init__(
        self,
        ruleset: Ruleset,
        checks: Sequence[TypedCheck],
        budget: int = BUDGET,
        typed: TypedRuleset | None = None,
        *,
        any_day: bool = False,
    ) -> None:
        self.ruleset = ruleset
        self.checks = tuple(checks)
        period = ruleset.flat.in_force
        last = period.last_day.toordinal() if period.last_day is not None else LAST_DAY
        days = (period.first_day.toordinal(), last)
        #: ``typed``: other declarations of the facts than those of the ruleset; ``any_day``: on
        #: whatever day of the calendar, also for dates that declare no range
        calendar = ALL_DAYS if any_day else (FIRST_DAY, LAST_DAY)
        days = ALL_DAYS if any_day else days
        self.space = Space(typed or ruleset.typed, checks, days, calendar)
        self.symbolic = Symbolic(self.space)
        self.solver = z3.Solver(ctx=self.space.ctx)
        self.solver.set("rlimit", budget)
        self._told = 0

    def ask(self, literals: Sequence[Literal], *, plain: bool = False) -> Answer:
        """Whether some vehicle makes all literals so.

        ``plain`` looks for an example with round numbers, to be read by people.
        """
        wanted = [self.condition(literal) for literal in literals]
        if any(each is False for each in wanted):
            return NEVER
        self._tell()
        self.solver.push()
        try:
            self.solver.add(*(each for each in wanted if each is not True))
            return self._tried(literals, plain)
        finally:
            self.solver.pop()

    def condition(self, literal: Literal) -> Any:
        """A literal as a condition on the symbols."""
        return self.symbolic.holds(literal.node, literal.mask)

    def confirmed(self, example: Example, literals: Sequence[Literal]) -> Seen | None:
        """What the engine says to an example; None where it is not as supposed."""
        return confirm(self.ruleset, example, self.space, self.checks, literals)

    def _tell(self) -> None:
        """Adds what always holds and has been learnt since."""
        rules = self.space.rules
        new = [rule for rule in rules[self._told :] if rule is not True]
        self._told = len(rules)
        self.solver.add(*new)

    def _tried(self, literals: Sequence[Literal], plain: bool) -> Answer:
        learnt: list[Any] = []
        # First what is usual, then all that can be screened, then all that is possible.
        within = [self.space.narrower + self._agreeing()]
        within.insert(0, within[0] + self.space.usual)
        try:
            pinned: list[Any] = []
            for turn in range(TRIES):
                # Where the results of functions are known, the other facts may make up for it.
                kept = [*within[0], *pinned]
                result = self.solver.check(*kept)
                if result != z3.sat and pinned:
                    pinned = []
                    kept = within[0]
                    result = self.solver.check(*kept)
                while result == z3.unsat and len(within) > 1:
                    del within[0]
                    kept = within[0]
                    result = self.solver.check(*kept)
                if result == z3.unsat and kept:
                    result = self.solver.check()
                    if result == z3.sat:
                        return Answer(None, reason="no example is within reach")
                if result == z3.unsat:
                    return NEVER
                if result != z3.sat:
                    return Answer(None, reason="the budget is used up")
                model = self.solver.model()
                if plain or turn:
                    model = self._rounded(model, kept, turn)
                example = self._example(model)
                seen = self.confirmed(example, literals)
                if seen is not None:
                    return Answer(True, example, seen)
                lemmas, pinned = self._lemmas(model)
                learnt += lemmas
                self.solver.add(*lemmas)
            return Answer(None, reason="the engine confirms none of the examples found")
        finally:
            self.space.rules += learnt

    def _lemmas(self, model: Any) -> tuple[list[Any], list[Any]]:
        """What free symbols are at the point of this model, and what makes that point."""
        found: list[Any] = []
        pins: list[Any] = []
        for node, arguments, term, gap in self.space.free:
            if not arguments:
                continue
            values: list[Any] = []
            same: list[Any] = []
            for arg, value in zip(node.args, arguments, strict=False):
                exact = number(model.eval(value.term, model_completion=True))
                if exact is None:
                    break
                same.append(value.term == model.eval(value.term, model_completion=True))
                values.append(exact)
                if arg.type.kind in ("word", "text"):
                    texts = {code: text for text, code in self.space.codes.items()}
                    values[-1] = texts.get(int(exact), "")
            else:
                result = same_result(self.symbolic, node, values, Value(term, gap))
                found.append(z3.Implies(z3.And(same), result))
                found += self._monotone(node, arguments, values, term, gap)
                pins += same
        return found, pins

    def _monotone(
        self, node: Node, arguments: Sequence[Value], values: Sequence[Any], term: Any, gap: Any
    ) -> list[Any]:
        """How a function that moves one way lies beyond and before a point that is known."""
        if node.op != "call" or node.type.kind not in ("quantity", "date"):
            return []
        known = actual(self.symbolic, node, list(values))
        if known is None:
            return []
        beyond: list[Any] = []
        before: list[Any] = []
        directions = self.ruleset.typed.names.functions[node.value].monotone
        for arg, argument, value, direction in zip(
            node.args, arguments, values, directions, strict=True
        ):
            if arg.type.kind in ("word", "text"):
                value = self.space.code(value)
            at = self.space.real(value)
            up, down = argument.term >= at, argument.term <= at
            if direction is None:
                up = down = argument.term == at
            beyond.append(down if direction == "down" else up)
            before.append(up if direction == "down" else down)
        return [
            z3.Implies(z3.And(*beyond, z3.Not(gap)), term >= self.space.real(known)),
            z3.Implies(z3.And(*before, z3.Not(gap)), term <= self.space.real(known)),
        ]

    # -- models --------------------------------------------------------------------------

    def _rounded(self, model: Any, within: Sequence[Any], turn: int) -> Any:
        """A model whose numbers are as round as the question allows."""
        fixed: list[Any] = list(within)
        # Where one number follows from another, which of them is made round first matters.
        order = [(key[1], variable) for key, (variable, _) in self.space.variables.items()]
        order = order[turn:] + order[:turn]
        for fact_id, variable in reversed(order) if turn % 2 else order:
            if not z3.is_real(variable):
                continue
            value = number(model.eval(variable, model_completion=True))
            steps = self._steps(fact_id, others=turn % 4 >= 2)
            for near in _near(value, steps) if value is not None else ():
                equal = variable == self.space.real(near)
                if self.solver.check(*fixed, equal) == z3.sat:
                    model = self.solver.model()
                    fixed.append(equal)
                    break
        return model

    def _steps(self, fact_id: str, *, others: bool) -> Sequence[Fraction]:
        """Round steps in the declared unit of a fact; those of other units, where asked, first."""
        fact = self.space.typed.names.facts[fact_id]
        if not others:
            return _STEPS
        own = unit_factor(fact.unit)
        alike = [u.factor / own for u in UNITS.values() if u.dimension == fact.type.dimension]
        return (*(factor for factor in alike if not ends(factor)), *_STEPS)

    def _agreeing(self) -> list[Any]:
        """That estimates agree with the facts of which they are made, where both are at hand."""
        space, found = self.space, []
        for (record, fact_id), own in list(space.facts.items()):
            estimate = self.ruleset.typed.estimates.get(fact_id)
            if estimate is None:
                continue
            node, tolerance = estimate
            needs = {each.value[:2] for each in walk([node]) if each.op == "fact"}
            owners = {(record if b == record[0] else (b, 0), f) for b, f in needs}
            if not owners <= space.facts.keys():
                continue
            value = self.symbolic.value(node, {record[0]: record})
            fact = self.ruleset.typed.names.facts[fact_id]
            if fact.type.kind == "quantity":
                factor = node.scale / fact.scale
                amount = Fraction(0)
                if tolerance is not None:
                    amount = Fraction(tolerance.value) * tolerance.scale
                # Half of the tolerance is enough for examples, and spares the cases at its ends.
                middle = value.term * self.space.real(factor)
                spread = middle * self.space.real(amount / 2)
                if tolerance is not None and tolerance.type.dimension == fact.type.dimension:
                    spread = self.space.real(amount / fact.scale / 2)
                near = z3.And(own.term >= middle - spread, own.term <= middle + spread)
            else:
                near = own.term == value.term
            found.append(either(value.gap, own.gap, near))
        self._tell()
        return found

    def _example(self, model: Any) -> Example:
        space = self.space
        present: list[Record] = []
        known: set[Record] = set()
        members = [m for subject in sorted(space.lists) for m in space.members(subject)]
        for record, there in [*((r, True) for r in space.bound.values()), *members]:
            if record not in known and (there is True or _true(model, there)):
                present.append(record)
                known.add(record)
        values: dict[tuple[Record, str], Any] = {}
        for key, (variable, gap) in space.variables.items():
            if gap is not False and _true(model, gap):
                values[key] = None
            elif z3.is_bool(variable):
                values[key] = _true(model, variable)
            else:
                values[key] = number(model.eval(variable, model_completion=True)) or Fraction(0)
        day = number(model.eval(space.today, model_completion=True)) or Fraction(1)
        present.sort()
        return Example(fragment(space, present, values), datetime.date.fromordinal(int(day)))


def _near(value: Fraction, steps: Sequence[Fraction]) -> Iterator[Fraction]:
    """Values in the neighbourhood of a number, the roundest first."""
    for step in steps:
        middle = Fraction(round(value / step)) * step
        yield from (middle, middle + step, middle - step)


def _true(model: Any, term: Any) -> bool:
    return bool(z3.is_true(model.eval(term, model_completion=True)))


def number(term: Any) -> Fraction | None:
    """A number of a model; one with an endless expansion is cut."""
    if z3.is_int_value(term):
        return Fraction(term.as_long())
    if z3.is_rational_value(term):
        return Fraction(term.numerator_as_long(), term.denominator_as_long())
    if z3.is_algebraic_value(term):
        near = term.approx(20)
        return Fraction(near.numerator_as_long(), near.denominator_as_long())
    return None
