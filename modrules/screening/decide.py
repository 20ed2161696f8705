"""The statements that decide one check about one subject, for exact facts."""

from __future__ import annotations

import ast
from collections.abc import Callable, Iterator
from typing import Any, Final

from modrules.language.codegen import (
    LOAD,
    Emitter,
    Figure,
    call,
    constant,
    difference,
    in_order,
    load,
    value_of,
)
from modrules.language.statements import assign, both, gathered, settled
from modrules.language.tree import Node
from modrules.ruleset.typed import BIT, TypedBand, TypedCheck
from modrules.screening.ends import constant_ends

NOT_APPLICABLE: Final = BIT["not applicable"]
COMPLIES: Final = BIT["complies"]
EXEMPT: Final = BIT["exempt"]

#: Expressions for what was measured, the limit and the margin.
Numbers = tuple[ast.expr | None, ast.expr | None, ast.expr | None]
NO_NUMBERS: Final[Numbers] = (None, None, None)
#: When a band applies (None: always, if none before did), the band, and what its margin is.
Arm = tuple[ast.expr | None, TypedBand, int | None, int]
#: A finding as a plain tuple: check index, subject, outcomes, measured, limit, margin.
Raw = tuple[int, Any, int, Any, Any, Any]


class Deciding:
    """Makes the statements of one check; ``subject`` makes an expression for its subject."""

    def __init__(
        self, emitter: Emitter, check: TypedCheck, subject: Callable[[], ast.expr]
    ) -> None:
        self.emitter = emitter
        self.check = check
        self.subject = subject
        self.body: list[ast.stmt] = []
        self.ends = constant_ends(check)

    def statements(self) -> list[ast.stmt]:
        check = self.check
        known = dict(self.emitter.locals), dict(self.emitter.quotients)
        told: tuple[ast.expr, Numbers] | None = None
        if check.unfinished:
            self.body.append(self.leave())
        elif check.requires is not None:
            told = self.required(check.requires)
        else:
            told = self.banded()
        # What was named for this check is not worked out in any other.
        self.emitter.locals, self.emitter.quotients = known
        applies = self.emitter.test(check.applies) if check.applies is not None else None
        not_applicable = ast.Constant(NOT_APPLICABLE)
        if told is not None:
            outcome, numbers = told
            if applies is not None and not self.body and numbers is NO_NUMBERS:
                return [self.append(ast.IfExp(applies, outcome, not_applicable))]
            self.body.append(self.append(outcome, numbers))
        if applies is None:
            return self.body
        return [ast.If(applies, self.body, [self.append(not_applicable)])]

    def leave(self) -> ast.stmt:
        """Leaves the check to the interval evaluator."""
        return ast.Expr(call("leave", ast.Constant(self.check.index), self.subject()))

    def append(self, outcome: ast.expr, numbers: Numbers = NO_NUMBERS) -> ast.stmt:
        values = [value if value is not None else ast.Constant(None) for value in numbers]
        finding = [ast.Constant(self.check.index), self.subject(), outcome, *values]
        return ast.Expr(call("append", ast.Tuple(finding, LOAD)))

    def outcome(self, bit: int, certification: str | None) -> ast.expr:
        if certification is None:
            return ast.Constant(bit)
        check = load(f"check_{self.check.index}")
        return call("held", check, ast.Constant(certification), self.subject())

    def named(self, node: Node, name: str) -> Figure:
        """A number under a name, so that it is worked out once."""
        over, below = self.emitter.figure(node)
        if not _plain(over):
            stepwise = node.op in ("over", "smallest", "largest")
            self.body += settled(self.emitter, node, name) if stepwise else [assign(name, over)]
            if below is None:
                self.emitter.locals[node] = name
            over = load(name)
        if below is not None and not _plain(below):
            self.body.append(assign(f"{name}_below", below))
            below = load(f"{name}_below")
        if isinstance(over, ast.Name) and isinstance(below, ast.Name):
            self.emitter.quotients[node] = (over.id, below.id)
        return over, below

    def required(self, requires: Node) -> tuple[ast.expr, Numbers]:
        """The outcome of a requirement, and its numbers."""
        check = self.check
        numbers = NO_NUMBERS
        for place, node in enumerate(_loops(requires)):
            if node not in self.emitter.locals and not self.emitter.fails(node):
                self.body += gathered(self.emitter, node, f"over_{place}")
                self.emitter.locals[node] = f"over_{place}"
        if check.measure is not None and check.limit is not None:
            measured = self.named(check.measure, "measured")
            limit = self.named(check.limit, "limit")
            room = (limit, measured) if check.direction > 0 else (measured, limit)
            strict = requires.op == "not"
            met = in_order(room[1], ast.Lt() if strict else ast.LtE(), room[0])
            numbers = value_of(measured), value_of(limit), difference(*room)
        else:
            if check.measure is not None:
                numbers = value_of(self.named(check.measure, "measured")), None, None
            met = self.emitter.test(requires)
        otherwise = self.outcome(check.failure, check.certification)
        if check.exemptions:
            excused = [self.emitter.test(node) for node in check.exemptions]
            test = excused[0] if len(excused) == 1 else ast.BoolOp(ast.Or(), excused)
            otherwise = ast.IfExp(test, ast.Constant(EXEMPT), otherwise)
        return ast.IfExp(met, ast.Constant(COMPLIES), otherwise), numbers

    # -- bands -------------------------------------------------------------------------

    def banded(self) -> tuple[ast.expr, Numbers] | None:
        """The outcome and the numbers of bands; None where each has statements of its own."""
        check = self.check
        measured = self.named(check.measure, "measured") if check.measure is not None else None
        arms: list[Arm] = []
        for index, (band, ends) in enumerate(_telling_ends(check.bands)):
            tests = []
            if measured is not None:
                tests = [in_order(measured, op, (constant(end), None)) for op, end in ends]
            if band.extra is not None:
                tests.append(self.emitter.test(band.extra))
            arms.append((both(*tests) if tests else None, band, *self.constant_end(index)))
        ends_told = {end for _, _, end, _ in arms}
        signs = {sign for _, _, _, sign in arms}
        if arms[-1][0] is not None or len(signs) > 1 or (len(ends_told) > 1 and None in ends_told):
            self.body.append(self.apart(arms, measured))
            return None
        [sign] = signs
        if len(ends_told) > 1:
            self.body.append(self.which(arms))
            assert measured is not None
            return load("outcome"), self.numbers(measured, load("limit"), sign)
        outcome = self.band_outcome(arms[-1])
        for arm in reversed(arms[:-1]):
            assert arm[0] is not None
            outcome = ast.IfExp(arm[0], self.band_outcome(arm), outcome)
        [end] = ends_told
        return outcome, self.numbers(measured, None if end is None else constant(end), sign)

    def constant_end(self, index: int) -> tuple[Any, int]:
        """The end that the margin counts from, in the scale of the measure, and its sign.

        What is not the same wherever the band applies is left to whoever reads the finding.
        """
        end, sign = self.ends.get(index, (None, 1))
        return end, sign

    def band_outcome(self, arm: Arm) -> ast.expr:
        return self.outcome(arm[1].outcome, arm[1].certification)

    def which(self, arms: list[Arm]) -> ast.stmt:
        """Puts the outcome and the limit of the band that applies under their names."""
        made: list[ast.stmt] = []
        for test, band, end, _ in reversed(arms):
            outcome = assign("outcome", self.outcome(band.outcome, band.certification))
            steps = [outcome, assign("limit", constant(end))]
            made = steps if test is None else [ast.If(test, steps, made)]
        return made[0]

    def apart(self, arms: list[Arm], measured: Figure | None) -> ast.stmt:
        """A finding for each band. Where none of them applies, the rule does not say."""
        otherwise = self.leave()
        for test, band, end, sign in reversed(arms):
            limit = None if end is None else constant(end)
            outcome = self.outcome(band.outcome, band.certification)
            found = self.append(outcome, self.numbers(measured, limit, sign))
            otherwise = found if test is None else ast.If(test, [found], [otherwise])
        return otherwise

    def numbers(self, measured: Figure | None, limit: ast.expr | None, sign: int) -> Numbers:
        """What was measured, the end that the margin counts from, and the margin."""
        if measured is None:
            return NO_NUMBERS
        if limit is None:
            return value_of(measured), None, None
        room = ((limit, None), measured) if sign > 0 else (measured, (limit, None))
        return value_of(measured), limit, difference(*room)


def _plain(expression: ast.expr) -> bool:
    return isinstance(expression, (ast.Name, ast.Constant, ast.Attribute))


def _loops(node: Node) -> list[Node]:
    """The list functions of a condition that are no part of another, each once."""
    if node.op == "over":
        return [node] if node.args else []
    if node.op == "quantity":
        return []
    return list(dict.fromkeys(found for arg in node.args for found in _loops(arg)))


def _telling_ends(
    bands: tuple[TypedBand, ...],
) -> Iterator[tuple[TypedBand, list[tuple[ast.cmpop, int]]]]:
    """The bands that can be reached, each with those ends that the bands before leave to ask for.

    A band that fails by one end alone tells on which side of that end the measure lies.
    """
    # The measure is at least the one, at most minus the other; not equal to it where True.
    floor: tuple[int, bool] | None = None
    ceiling: tuple[int, bool] | None = None
    for band in bands:
        ends: list[tuple[ast.cmpop, int]] = []
        if band.low is not None:
            above = (band.low, not band.low_closed)
            if floor is None or floor < above:
                ends.append((ast.GtE() if band.low_closed else ast.Gt(), band.low))
        if band.high is not None:
            under = (-band.high, not band.high_closed)
            if ceiling is None or ceiling < under:
                ends.append((ast.LtE() if band.high_closed else ast.Lt(), band.high))
        yield band, ends
        if band.extra is not None or len(ends) > 1:
            continue
        if not ends:
            return
        operator, end = ends[0]
        if isinstance(operator, (ast.Lt, ast.LtE)):
            above = (end, isinstance(operator, ast.LtE))
            floor = above if floor is None else max(floor, above)
        else:
            under = (-end, isinstance(operator, ast.GtE))
            ceiling = under if ceiling is None else max(ceiling, under)
