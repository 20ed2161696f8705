"""Arithmetic over ranges of numbers and dates."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction
from math import lcm
from typing import Any, Final

from modrules.language import domains as d
from modrules.language.dates import add_months
from modrules.language.domains import Range
from modrules.language.possible import Env, Evaluate, Made, Maker
from modrules.language.tree import Node


def linear(made: Made, node: Node) -> Evaluate:
    """Sums and differences, in affine form where a term occurs more than once."""
    terms, constant, repeated = affine(node)
    if not repeated:
        return _plain_sum(made, node)
    divisor = lcm(*(c.denominator for c in terms.values()), constant.denominator)
    parts = [(made.closure(term), int(c * divisor)) for term, c in terms.items() if c]
    gaps = [made.closure(term) for term, c in terms.items() if not c]
    start = int(constant * divisor)

    def evaluate(env: Env) -> Range:
        total: Range = (start, start, False)
        for closure, factor in parts:
            total = d.range_add(total, d.range_times(closure(env), (factor, factor, False)))
        for closure in gaps:
            low, high, gap = closure(env)
            total = d.NOTHING if low > high else (total[0], total[1], total[2] or gap)
        if divisor != 1:
            total = d.range_times(total, (Fraction(1, divisor), Fraction(1, divisor), False))
        return total

    return evaluate


def _plain_sum(made: Made, node: Node) -> Evaluate:
    left, right = (made.closure(arg) for arg in node.args)
    if node.op == "add":
        return lambda env: d.range_add(left(env), right(env))
    return lambda env: d.range_add(left(env), d.range_negative(right(env)))


def affine(node: Node) -> tuple[dict[Node, Fraction], Fraction, bool]:
    """A numeric node as a sum of terms: run-time number = constant + sum(factor * term).

    Also whether some term was met more than once.
    """
    terms: dict[Node, Fraction] = {}
    constant = Fraction(0)
    repeated = False
    stack = [(node, Fraction(1))]
    while stack:
        piece, factor = stack.pop()
        if piece.op == "const":
            constant += factor * piece.value
        elif piece.op in ("add", "sub"):
            left, right = piece.args
            stack += [(left, factor), (right, factor if piece.op == "add" else -factor)]
        elif piece.op == "neg":
            stack.append((piece.args[0], -factor))
        elif piece.op == "rescale":
            stack.append((piece.args[0], factor * piece.value))
        elif piece.op in ("same", "quantity"):
            stack.append((piece.args[0], factor))
        else:
            repeated = repeated or piece in terms
            terms[piece] = terms.get(piece, Fraction(0)) + factor
    return terms, constant, repeated


def _negative(made: Made, node: Node) -> Evaluate:
    inner = made.closure(node.args[0])
    return lambda env: d.range_negative(inner(env))


def _same(made: Made, node: Node) -> Evaluate:
    return made.closure(node.args[0])


def _rescale(made: Made, node: Node) -> Evaluate:
    inner = made.closure(node.args[0])
    factor = (node.value, node.value, False)
    return lambda env: d.range_times(inner(env), factor)


def _two(operation: Callable[[Any, Any], Any]) -> Maker:
    def make(made: Made, node: Node) -> Evaluate:
        left, right = (made.closure(arg) for arg in node.args)
        return lambda env: operation(left(env), right(env))

    return make


def _mul(made: Made, node: Node) -> Evaluate:
    left, right = (made.closure(arg) for arg in node.args)
    if node.args[0] is node.args[1]:
        # A square is never negative, which a product of two ranges would not know.
        def square(env: Env) -> Range:
            size = d.range_absolute(left(env))
            return d.range_times(size, size)

        return square
    return lambda env: d.range_times(left(env), right(env))


def _absolute(made: Made, node: Node) -> Evaluate:
    inner = made.closure(node.args[0])
    return lambda env: d.range_absolute(inner(env))


def _round(made: Made, node: Node) -> Evaluate:
    inner = made.closure(node.args[0])
    direction, step = node.value
    operation = d.range_ceiling if direction == "round_up" else d.range_floor
    return lambda env: operation(inner(env), step)


def _date_plus(made: Made, node: Node) -> Evaluate:
    date, period = (made.closure(arg) for arg in node.args)

    def shifted(day: d.Number, months: d.Number) -> d.Number:
        if isinstance(day, float) or isinstance(months, float):
            return d.add(day, months)
        return add_months(int(day), int(months))

    def evaluate(env: Env) -> Range:
        a, b = date(env), period(env)
        if a[0] > a[1] or b[0] > b[1]:
            return d.NOTHING
        return shifted(a[0], b[0]), shifted(a[1], b[1]), a[2] or b[2]

    return evaluate


NUMBERS: Final[Mapping[str, Maker]] = {
    "neg": _negative,
    "add": linear,
    "sub": linear,
    "same": _same,
    "rescale": _rescale,
    "mul": _mul,
    "div": _two(d.range_over),
    "smallest": _two(d.range_smallest),
    "largest": _two(d.range_largest),
    "absolute": _absolute,
    "round": _round,
    "date_plus": _date_plus,
}
