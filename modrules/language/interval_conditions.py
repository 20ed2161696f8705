"""Conditions over what is possible: three truth values, any of which may be possible."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from modrules.language import domains as d
from modrules.language.domains import Choice
from modrules.language.interval_numbers import affine, linear
from modrules.language.possible import Env, Evaluate, Made, Maker, either, nothing
from modrules.language.tree import Node


def _le(made: Made, node: Node) -> Evaluate:
    left_node, right_node = node.args
    left, right = made.closure(left_node), made.closure(right_node)
    if node.args[0].type.kind == "quantity":
        difference = Node("sub", left_node.type, node.args, None, left_node.scale, "")
        if affine(difference)[2]:
            closure = linear(made, difference)
            return lambda env: d.at_most(closure(env), (0, 0, False))
    return lambda env: d.at_most(left(env), right(env))


def _equal(made: Made, node: Node) -> Evaluate:
    left, right = (made.closure(arg) for arg in node.args)
    kind = node.args[0].type.kind
    if kind == "yes_no":

        def same_truth(env: Env) -> int:
            a, b = left(env), right(env)
            both = d.OR[d.AND[a][b]][d.AND[d.NOT[a]][d.NOT[b]]]
            # Without a value on one side there is none for the whole.
            return (both & ~d.GAP) | ((a | b) & d.GAP) if not (a == d.GAP or b == d.GAP) else d.GAP

        return same_truth
    if kind in ("word", "text"):
        return lambda env: _same_choice(left(env), right(env))

    def same_number(env: Env) -> int:
        a, b = left(env), right(env)
        if a[0] > a[1] or b[0] > b[1]:
            return d.GAP
        mask = d.GAP if a[2] or b[2] else 0
        if a[0] == a[1] == b[0] == b[1]:
            return mask | d.TRUE
        return mask | (d.FALSE if a[1] < b[0] or b[1] < a[0] else d.UNDECIDED)

    return same_number


def _same_choice(a: Choice, b: Choice) -> int:
    mask = d.GAP if a[1] or b[1] else 0
    if a[0] is None or b[0] is None:
        empty = frozenset() in (a[0], b[0])
        return mask if empty else mask | d.UNDECIDED
    if not a[0] or not b[0]:
        return mask
    if a[0] & b[0]:
        mask |= d.TRUE
    if len(a[0]) > 1 or len(b[0]) > 1 or a[0] != b[0]:
        mask |= d.FALSE
    return mask


def _in(made: Made, node: Node) -> Evaluate:
    inner = made.closure(node.args[0])
    wanted = node.value
    if node.args[0].type.kind == "quantity":

        def number_in(env: Env) -> int:
            low, high, gap = inner(env)
            if low > high:
                return d.GAP
            mask = d.GAP if gap else 0
            inside = [value for value in wanted if low <= value <= high]
            if inside:
                mask |= d.TRUE
            if isinstance(low, float) or isinstance(high, float) or high - low >= len(inside):
                mask |= d.FALSE
            return mask

        return number_in

    def word_in(env: Env) -> int:
        values, gap = inner(env)
        mask = d.GAP if gap else 0
        if values is None:
            return mask | d.UNDECIDED
        if values & wanted:
            mask |= d.TRUE
        if values - wanted:
            mask |= d.FALSE
        return mask

    return word_in


def _not(made: Made, node: Node) -> Evaluate:
    inner = made.closure(node.args[0])
    return lambda env: d.NOT[inner(env)]


def _and(made: Made, node: Node) -> Evaluate:
    left, right = (made.closure(arg) for arg in node.args)

    def evaluate(env: Env) -> int:
        first = left(env)
        return first if first == d.FALSE else d.AND[first][right(env)]

    return evaluate


def _or(made: Made, node: Node) -> Evaluate:
    left, right = (made.closure(arg) for arg in node.args)

    def evaluate(env: Env) -> int:
        first = left(env)
        return first if first == d.TRUE else d.OR[first][right(env)]

    return evaluate


def _if(made: Made, node: Node) -> Evaluate:
    condition, then, other = (made.closure(arg) for arg in node.args)
    kind = node.type.kind

    def evaluate(env: Env) -> Any:
        mask = condition(env)
        if mask == d.TRUE:
            return then(env)
        if mask == d.FALSE:
            return other(env)
        result = nothing(kind) if mask & d.GAP else None
        for bit, branch in ((d.TRUE, then), (d.FALSE, other)):
            if mask & bit:
                value = branch(env)
                result = value if result is None else either(kind, result, value)
        return result

    return evaluate


CONDITIONS: Final[Mapping[str, Maker]] = {
    "le": _le,
    "equal": _equal,
    "in": _in,
    "not": _not,
    "and": _and,
    "or": _or,
    "if": _if,
}
