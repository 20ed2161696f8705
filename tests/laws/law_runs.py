"""Running the laws, always on the same examples, and counting what occurred."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from generators import Made, make_ruleset
from hypothesis import HealthCheck, Phase, given, settings
from law_choices import Choices, choices, simplest
from laws import LAWS, LawBroken, Tally

from modrules.language.parser import parse
from modrules.language.syntax import Syntax, parts_of
from modrules.language.tree import Node
from modrules.ruleset.typed import TypedCheck


def try_law(law: str, choices: Choices, tally: Tally, focus: str = "") -> None:
    """One example of a law: a ruleset, and three submissions for it."""
    made = make_ruleset(choices, focus)
    count_constructs(made, tally)
    for _ in range(3):
        LAWS[law](choices, made, tally)


# -- counting ------------------------------------------------------------------------------


def count_constructs(made: Made, tally: Tally) -> None:
    """Counts each class of syntax, each op of the typed trees and each shape of check."""
    for item in made.data["checks"]:
        for shape in ("requires", "measures", "unfinished", "exempt_if", "applies_if", "in_force"):
            tally.note(f"check: {shape}", shape in item)
        tally.note("check: pair", isinstance(item["per"], list))
        for band in item.get("bands", ()):
            for key in band:
                tally.note(f"band: {key}")
        tally.note("check: bands without a measure", "bands" in item and "measures" not in item)
    for text in _expressions(made.data["checks"]):
        for piece in _pieces(parse(text)):
            tally.note(f"syntax: {type(piece).__name__}")
    for check in made.ruleset.typed.checks:
        for node in _nodes(check):
            tally.note(f"op: {node.op}")


def _expressions(checks: list[dict[str, Any]]) -> Iterator[str]:
    for item in checks:
        for key in ("applies_if", "requires", "measures"):
            if key in item:
                yield item[key]
        yield from (exemption["condition"] for exemption in item.get("exempt_if", ()))
        for band in item.get("bands", ()):
            for key in ("over", "from", "up_to", "under", "only_if", "unless"):
                if key in band:
                    yield band[key]


def _pieces(tree: Syntax) -> Iterator[Syntax]:
    yield tree
    for part in parts_of(tree):
        yield from _pieces(part)


def _nodes(check: TypedCheck) -> Iterator[Node]:
    seen: set[Node] = set()
    stack = list(check.nodes())
    while stack:
        node = stack.pop()
        if node not in seen:
            seen.add(node)
            yield node
            stack += node.args


# -- runs ----------------------------------------------------------------------------------


def run_law(law: str, examples: int, tally: Tally) -> None:
    """Tries a law on so many examples, always the same ones; a failure is made small."""

    @settings(
        max_examples=examples,
        derandomize=True,
        database=None,
        deadline=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(choices())
    def holds(chosen: Choices) -> None:
        tally.note(f"examples: {law}")
        try:
            try_law(law, chosen, tally)
        except LawBroken:
            raise simplified(law, chosen) from None

    holds()


def simplified(law: str, chosen: Choices) -> LawBroken:
    """A counterexample made simple, for whoever looks into a failure."""

    def fails(other: Choices) -> bool:
        try:
            try_law(law, other, Tally())
        except LawBroken:
            return True
        except Exception:  # another failure is no simpler one
            return False
        return False

    try:
        try_law(law, Choices(given=simplest(chosen.made, fails)), Tally())
    except LawBroken as broken:
        return broken
    raise AssertionError("a counterexample that holds when it is tried again")


def counterexample(law: str, focus: str = "", examples: int = 400) -> LawBroken | None:
    """The first counterexample among so many examples; None where there is none."""
    for seed in range(examples):
        try:
            try_law(law, Choices(seed), Tally(), focus)
        except LawBroken as broken:
            return broken
    return None
