"""What the questions are put together from: the conditions of a check, and numbers in words."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from typing import Any, Final

from modrules.language.tree import ONE, YES_NO, Node, walk
from modrules.language.units import decimal_text, unit_factor
from modrules.ruleset.typed import TypedBand

ALWAYS: Final = Node("const", YES_NO, (), True, ONE, "")


def band_node(band: TypedBand) -> Node:
    """The whole condition of a band: its ends and what else it asks."""
    parts = [*band.ends, *([band.extra] if band.extra is not None else [])]
    node = parts[0] if parts else ALWAYS
    for part in parts[1:]:
        node = Node("and", YES_NO, (node, part), None, ONE, "")
    return node


def facts_in(nodes: Iterable[Node]) -> frozenset[tuple[str, str]]:
    """The facts in some expressions, as (binding, fact)."""
    return frozenset(
        (node.value[0].removeprefix("each "), node.value[1])
        for node in walk(nodes)
        if node.op in ("fact", "fallback", "stated")
    )


def shown(value: Any, node: Node) -> str:
    """A run-time number of a node, in its unit."""
    number = decimal_text(Fraction(value) * node.scale / unit_factor(node.unit), 6)
    return f"{number} {node.unit}".strip()
