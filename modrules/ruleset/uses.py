"""What uses what in a ruleset.

uses(typed) -> Uses     for each fact, quantity, table, function and certification: its users
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from modrules.language.tree import Node
from modrules.ruleset.typed import TypedRuleset

#: The nodes that name something: which of the lists below, and the name in the node's value.
_FACTS = ("fact", "stated", "fallback")


@dataclass(frozen=True, slots=True)
class Uses:
    """The users of each name, in the order of the ruleset: ``check lift``, ``quantity a.b``.

    Only what names it itself; a check that rests on it through a quantity uses the quantity.
    """

    facts: Mapping[str, tuple[str, ...]]
    quantities: Mapping[str, tuple[str, ...]]
    tables: Mapping[str, tuple[str, ...]]
    functions: Mapping[str, tuple[str, ...]]
    certifications: Mapping[str, tuple[str, ...]]


def uses(typed: TypedRuleset) -> Uses:
    """Who uses what, worked out from the typed expressions."""
    found: dict[str, dict[str, list[str]]] = {
        part: {} for part in ("facts", "quantities", "tables", "functions", "certifications")
    }

    def note(part: str, name: str, user: str) -> None:
        users = found[part].setdefault(name, [])
        if user not in users:
            users.append(user)

    for name, fact in typed.flat.facts.items():
        if fact.listed_in is not None:
            note("tables", str(fact.listed_in), f"fact {name}")
    for name, (node, tolerance) in typed.estimates.items():
        for part, used in _named([node] if tolerance is None else [node, tolerance]):
            note(part, used, f"estimate of {name}")
    for name, node in typed.quantities.items():
        # The formula stands under a node of its own, so that it is worked out once.
        for part, used in _named(node.args if node.op == "quantity" else [node]):
            note(part, used, f"quantity {name}")
    for name, node in typed.whole.items():
        for part, used in _named([node]):
            note(part, used, f"subject {name}")
    for check in typed.checks:
        for part, used in _named(check.nodes()):
            note(part, used, f"check {check.id}")
        for certification in (check.certification, *(band.certification for band in check.bands)):
            if certification is not None:
                note("certifications", certification, f"check {check.id}")
    return Uses(**{part: {n: tuple(u) for n, u in names.items()} for part, names in found.items()})


def _named(tops: Iterable[Node]) -> Iterator[tuple[str, str]]:
    """What the expressions themselves name: a part of ``Uses``, and the name."""
    waiting, seen = list(tops), set[Node]()
    while waiting:
        node = waiting.pop()
        if node in seen:
            continue
        seen.add(node)
        if node.op == "quantity":
            yield "quantities", str(node.value[0])
            continue
        if node.op in _FACTS:
            yield "facts", str(node.value[1])
        elif node.op == "look_up":
            yield "tables", str(node.value[0])
        elif node.op == "call":
            yield "functions", str(node.value)
        waiting += node.args
