"""What an evaluation over what is possible works with.

A value is a mask (yes/no), a Range (quantities, dates, periods) or a Choice (words, texts), as
in ``domains``; *gap* is one of the things that it may be.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Protocol

from modrules.language import domains as d
from modrules.language.records import Open, attribute
from modrules.language.tree import Names, Node

#: Evaluates one expression: a closure over its parts.
Evaluate = Callable[["Env"], Any]


class Made(Protocol):
    """What makes and keeps the closures of one vocabulary's trees."""

    @property
    def names(self) -> Names: ...

    def closure(self, node: Node) -> Evaluate: ...


#: Makes the closure of a node of one op.
Maker = Callable[[Made, Node], Evaluate]


class Env:
    """What an evaluation sees: the world, the records that names are bound to, and assumptions.

    ``facts`` and ``nodes`` hold the values assumed in the case at hand.
    """

    __slots__ = ("facts", "nodes", "records", "world")

    def __init__(self, world: Any, records: dict[str, Any]) -> None:
        self.world = world
        self.records = records
        self.facts: dict[tuple[str, str], Any] = {}
        self.nodes: dict[Node, Any] = {}


def read(env: Env, binding: str, fact: str, slot: str) -> Any:
    """The exact value or Open value of a fact, as assumed in the case at hand."""
    if env.facts:
        assumed = env.facts.get((binding, fact))
        if assumed is not None:
            return assumed
    record = env.records.get(binding)
    if record is None:
        record = getattr(env.world, attribute(binding))
    return getattr(record, slot)


def possible_value(kind: str, value: Any) -> Any:
    """A fact's value as a mask, Range or Choice."""
    if isinstance(value, Open):
        if kind == "yes_no":
            values = value.values if value.values is not None else (True, False)
            mask = d.GAP if value.none else 0
            for known in values:
                mask |= d.truth(known)
            return mask
        return value.choice if kind in ("word", "text") else value.range
    if kind == "yes_no":
        return d.truth(value)
    if kind in ("word", "text"):
        return frozenset((value,)), False
    return value, value, False


def is_none(value: Open) -> bool:
    return value.none and value.low > value.high and not value.values


def without_gap(kind: str, value: Any) -> Any:
    if kind == "yes_no":
        return value & ~d.GAP
    return (value[0], False) if kind in ("word", "text") else (value[0], value[1], False)


def either(kind: str, a: Any, b: Any) -> Any:
    if kind == "yes_no":
        return a | b
    return d.choice_union((a, b)) if kind in ("word", "text") else d.hull((a, b))


def nothing(kind: str) -> Any:
    if kind == "yes_no":
        return d.GAP
    return (frozenset(), True) if kind in ("word", "text") else d.NOTHING


def anything(kind: str) -> Any:
    if kind == "yes_no":
        return d.UNDECIDED | d.GAP
    return (None, True) if kind in ("word", "text") else d.ANYTHING
