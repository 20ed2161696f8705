"""Which way a condition pulls the facts in it: where a larger value, or a yes, helps it to hold.

    pulls(node) -> {(binding, fact): UP | DOWN | UP | DOWN together}

A fact that a condition depends on in a way that is not known to go one way is pulled both ways.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from modrules.language.tree import Node

UP: Final = 1
DOWN: Final = 2
_BOTH: Final = UP | DOWN
_FLIPPED: Final = {UP: DOWN, DOWN: UP, _BOTH: _BOTH}
#: Operations that grow with what they are made from; "if" beside its condition.
_GROWING: Final = frozenset(
    ["and", "or", "add", "same", "rescale", "quantity", "smallest", "largest", "round", "date_plus"]
)

Pulls = dict[tuple[str, str], int]


def pulls(node: Node) -> Pulls:
    """The way in which each fact of a yes/no node is pulled by the wish that it be so."""
    found: Pulls = {}
    seen: set[tuple[int, int]] = set()
    stack = [(node, UP)]
    while stack:
        piece, way = stack.pop()
        if (id(piece), way) in seen:
            continue
        seen.add((id(piece), way))
        if piece.op in ("fact", "fallback", "stated"):
            binding, fact, _ = piece.value
            key = (binding.removeprefix("each "), fact)
            ordered = piece.type.kind in ("quantity", "date", "yes_no") and piece.op != "stated"
            found[key] = found.get(key, 0) | (way if ordered else _BOTH)
        stack += _parts(piece, way)
    return found


def _parts(node: Node, way: int) -> Iterator[tuple[Node, int]]:
    args, op = node.args, node.op
    if op in _GROWING:
        yield from ((arg, way) for arg in args)
    elif op in ("not", "neg"):
        yield args[0], _FLIPPED[way]
    elif op == "sub":
        yield from ((args[0], way), (args[1], _FLIPPED[way]))
    elif op == "le":
        yield from ((args[0], _FLIPPED[way]), (args[1], way))
    elif op == "mul" and "const" in (args[0].op, args[1].op):
        factor, other = args if args[0].op == "const" else (args[1], args[0])
        yield other, way if factor.value >= 0 else _FLIPPED[way]
    elif op == "div" and args[1].op == "const":
        yield args[0], way if args[1].value >= 0 else _FLIPPED[way]
    elif op == "if":
        condition, then, other = args
        if then.op == "const" and then.value is True:
            yield condition, way
        elif then.op == "const" and then.value is False:
            yield condition, _FLIPPED[way]
        else:
            yield condition, _BOTH
        yield from ((then, way), (other, way))
    elif op == "over" and node.value[0] in ("any", "sum", "count"):
        yield from ((arg, way) for arg in args)
    else:
        # Not known to go one way: also a product, which depends on signs.
        yield from ((arg, _BOTH) for arg in args)


def opposed(first: Pulls, second: Pulls) -> frozenset[tuple[str, str]]:
    """The facts that are pulled one way by the one and the other way by the other."""
    return frozenset(
        key
        for key, way in first.items()
        if (other := second.get(key, 0)) and (way, other) not in ((UP, UP), (DOWN, DOWN))
    )
