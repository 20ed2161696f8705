"""Evaluation over what is possible: the typed tree as closures over ranges and masks.

Used for the checks in which some fact is open. Each op has one function that makes
its closure, in a plain mapping. A closure takes an ``Env`` and gives a mask (yes/no),
a Range (quantities, dates, periods) or a Choice (words, texts).

Sound: whatever the open facts turn out to be, the exact value is among the possible
ones. Monotone: narrower facts never give a wider result.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from modrules.language import domains as d
from modrules.language.interval_conditions import CONDITIONS
from modrules.language.interval_lists import LISTS
from modrules.language.interval_numbers import NUMBERS
from modrules.language.interval_tables import TABLES
from modrules.language.possible import (
    Env,
    Evaluate,
    Made,
    Maker,
    either,
    is_none,
    possible_value,
    read,
    without_gap,
)
from modrules.language.records import Layout, Open
from modrules.language.tree import Names, Node


class Intervals:
    """Makes and keeps the closures of one vocabulary's trees."""

    __slots__ = ("_made", "layout", "names")

    def __init__(self, names: Names, layout: Layout) -> None:
        self.names = names
        self.layout = layout
        self._made: dict[Node, Evaluate] = {}

    def closure(self, node: Node) -> Evaluate:
        found = self._made.get(node)
        if found is None:
            found = self._made[node] = _assumable(node, MAKERS[node.op](self, node))
        return found


def _assumable(node: Node, evaluate: Evaluate) -> Evaluate:
    if node.type.kind != "yes_no" or node.op in ("const", "and", "or", "not", "fact", "stated"):
        return evaluate

    def assumed(env: Env) -> Any:
        value = env.nodes.get(node) if env.nodes else None
        return evaluate(env) if value is None else value

    return assumed


def _const(_: Made, node: Node) -> Evaluate:
    value = possible_value(node.type.kind, node.value)
    return lambda _env: value


def _fact(_: Made, node: Node) -> Evaluate:
    kind = node.type.kind
    binding, fact, slot = node.value
    return lambda env: possible_value(kind, read(env, binding, fact, slot))


def _stated(_: Made, node: Node) -> Evaluate:
    binding, fact, slot = node.value

    def evaluate(env: Env) -> int:
        value = read(env, binding, fact, slot)
        if not isinstance(value, Open) or not value.none:
            return d.TRUE
        return d.FALSE if is_none(value) else d.UNDECIDED

    return evaluate


def _fallback(made: Made, node: Node) -> Evaluate:
    fact, other = (made.closure(arg) for arg in node.args)
    binding, name, slot = node.value
    kind = node.type.kind

    def evaluate(env: Env) -> Any:
        value = read(env, binding, name, slot)
        if not isinstance(value, Open) or not value.none:
            return fact(env)
        if is_none(value):
            return other(env)
        return either(kind, without_gap(kind, fact(env)), other(env))

    return evaluate


def _today(_: Made, _node: Node) -> Evaluate:
    return lambda env: (env.world.today, env.world.today, False)


def _quantity(made: Made, node: Node) -> Evaluate:
    return made.closure(node.args[0])


#: The maker of each op.
MAKERS: Final[Mapping[str, Maker]] = {
    "const": _const,
    "fact": _fact,
    "stated": _stated,
    "fallback": _fallback,
    "today": _today,
    "quantity": _quantity,
    **NUMBERS,
    **CONDITIONS,
    **TABLES,
    **LISTS,
}
