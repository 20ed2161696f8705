"""The typed tree: what an expression means, with every name resolved.

Nodes are interned per tree: two pieces that mean the same are one object. A
numeric node has a static *scale*: the value in SI units is the run-time number
(an int, or a Fraction where it is not whole) times the scale. Nothing is ever
rounded, so comparisons agree with rational arithmetic.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from math import gcd
from typing import Any, Final

from modrules.language.syntax import Syntax
from modrules.language.units import NUMBER, Dimension, in_words


@dataclass(frozen=True, slots=True)
class Type:
    """The type of a value.

    ``kind`` is quantity, yes_no, word, text, date or period. A quantity has a
    dimension, may have a condition of measurement, and may be whole (a count).
    """

    kind: str
    dimension: Dimension = NUMBER
    condition: str = ""
    words: tuple[str, ...] = ()
    whole: bool = False

    def __str__(self) -> str:
        if self.kind == "quantity":
            name = "count" if self.whole else in_words(self.dimension)
            return f"{name} ({self.condition})" if self.condition else name
        if self.kind == "word" and self.words:
            shown = ", ".join(self.words[:8]) + (", …" if len(self.words) > 8 else "")
            return f"word ({shown})"
        return {"yes_no": "yes or no"}.get(self.kind, self.kind)


YES_NO: Final = Type("yes_no")
TEXT: Final = Type("text")
DATE: Final = Type("date")
PERIOD: Final = Type("period")
COUNT: Final = Type("quantity", whole=True)


class Node:
    """One node of the typed tree. ``op`` names what it does, ``value`` what it needs to know.

    Ops: const fact stated fallback today neg add sub mul div same rescale le equal
    and or not in if call look_up over largest smallest absolute round date_plus quantity.
    """

    __slots__ = ("args", "depth", "op", "scale", "size", "type", "unit", "value")

    def __init__(
        self, op: str, type: Type, args: tuple[Node, ...], value: Any, scale: Fraction, unit: str
    ) -> None:
        self.op = op
        self.type = type
        self.args = args
        self.value = value
        self.scale = scale
        self.unit = unit
        #: how many nodes there are if shared parts are counted each time
        self.size: int = 1 + sum(arg.size for arg in args)
        #: how many nodes stand one under the other at most
        self.depth: int = 1 + max((arg.depth for arg in args), default=0)

    def __repr__(self) -> str:
        inner = ", ".join(map(repr, self.args))
        return (
            f"{self.op}[{self.value}]({inner})" if self.value is not None else f"{self.op}({inner})"
        )


ONE: Final = Fraction(1)


def walk(nodes: Iterable[Node]) -> Iterator[Node]:
    """Every node of these trees once, each before its parts, in the order of the text."""
    seen: set[Node] = set()
    stack = list(nodes)[::-1]
    while stack:
        node = stack.pop()
        if node not in seen:
            seen.add(node)
            yield node
            stack += reversed(node.args)


class Tree:
    """Makes nodes, one object for each meaning."""

    __slots__ = ("_nodes",)

    def __init__(self) -> None:
        self._nodes: dict[tuple[Any, ...], Node] = {}

    def node(
        self,
        op: str,
        type: Type,
        args: tuple[Node, ...] = (),
        value: Any = None,
        scale: Fraction = ONE,
        unit: str = "",
    ) -> Node:
        """The one node with these parts."""
        key = (op, type, args, value, value.__class__, scale, unit)
        found = self._nodes.get(key)
        if found is None:
            found = self._nodes[key] = Node(op, type, args, value, scale, unit)
        return found

    def rescale(self, node: Node, scale: Fraction) -> Node:
        """The same quantity counted in units of ``scale``, which must divide the node's scale."""
        factor = node.scale / scale
        if factor == 1:
            return node
        if node.op == "const":
            return self.node("const", node.type, (), node.value * int(factor), scale, node.unit)
        return self.node("rescale", node.type, (node,), int(factor), scale, node.unit)

    def aligned(self, *nodes: Node) -> tuple[Node, ...]:
        """The nodes, all counted in their greatest common scale."""
        scale = common_scale(*(node.scale for node in nodes))
        return tuple(self.rescale(node, scale) for node in nodes)


def common_scale(*scales: Fraction) -> Fraction:
    """The greatest scale of which all of ``scales`` are whole multiples."""
    numerator, denominator = scales[0].numerator, scales[0].denominator
    for scale in scales[1:]:
        numerator = gcd(numerator * scale.denominator, scale.numerator * denominator)
        denominator *= scale.denominator
        shared = gcd(numerator, denominator)
        numerator //= shared
        denominator //= shared
    return Fraction(numerator, denominator)


@dataclass(frozen=True, slots=True)
class FactName:
    """A fact as the language sees it; ``slot`` is the attribute that holds its value."""

    id: str
    subject: str
    slot: str
    type: Type
    scale: Fraction
    unit: str
    none_stated: bool = False


@dataclass(frozen=True, slots=True)
class QuantityName:
    """A quantity as the language sees it. Its dimension is checked against ``unit``.

    Where ``holds`` is not so, it has no value: its source says nothing about that.
    """

    id: str
    subject: str
    formula: Syntax
    text: str
    dimension: Dimension
    unit: str
    holds: Syntax | None = None


@dataclass(frozen=True, slots=True)
class SubjectName:
    """A subject; ``many`` where a submission has a list of them, ``kind`` for modifications."""

    id: str
    many: bool
    is_kind: bool = False


@dataclass(frozen=True, slots=True)
class Function:
    """A pure function that rulesets may call.

    ``call`` takes and gives plain exact numbers in the units stated (or texts), and
    gives None where there is no value. ``monotone`` tells per parameter "up", "down"
    or None; a function is evaluated over an interval only where that is known.
    ``domain`` takes the same as ``call`` and gives the conditions of which all are met where
    there is a value, and nowhere else; None: not known. It only compares and adds, so that it
    takes symbols too.
    """

    name: str
    parameters: tuple[tuple[Type, Fraction], ...]
    result: Type
    scale: Fraction
    unit: str
    call: Callable[..., Any]
    monotone: tuple[str | None, ...]
    domain: Callable[..., tuple[Any, ...]] | None


@dataclass(frozen=True, slots=True)
class TableKey:
    """A key of a table: its type, the scale of its values, and how a row is matched."""

    id: str
    type: Type
    scale: Fraction
    up_to: bool = False


@dataclass(frozen=True, slots=True)
class TableName:
    """A table: exact keys in ``rows``, each with one value per column (None: left empty)."""

    id: str
    keys: tuple[TableKey, ...]
    columns: Mapping[str, tuple[int, Type, Fraction, str]]
    rows: tuple[tuple[tuple[Any, ...], tuple[Any, ...]], ...]


@dataclass(frozen=True, slots=True)
class Names:
    """Everything that an expression may name."""

    facts: Mapping[str, FactName]
    quantities: Mapping[str, QuantityName]
    subjects: Mapping[str, SubjectName]
    tables: Mapping[str, TableName]
    functions: Mapping[str, Function]
    words: frozenset[str] = field(default_factory=frozenset)
