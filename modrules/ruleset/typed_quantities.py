"""Typing quantities, and the estimates of facts."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from modrules.language import syntax
from modrules.language.tree import (
    YES_NO,
    FactName,
    Node,
    QuantityName,
)
from modrules.language.type_problems import TypeProblem
from modrules.language.typer import MOST_NODES
from modrules.ruleset.work import Work

if TYPE_CHECKING:
    from modrules.ruleset.models import Quantity


def quantities(work: Work) -> dict[str, Node]:
    """The node of every quantity, by its id."""
    nodes: dict[str, Node] = {}
    for quantity in work.vocabulary.names.quantities.values():
        item = work.flat.quantities[quantity.id]
        subject = work.vocabulary.names.subjects.get(quantity.subject)
        if subject is None:
            continue
        scope = work.typer.scope(**work.typer.own_scope(quantity, quantity.subject))
        # First alone, so that its own problems stand at their own place.
        body = work.typer.expression(quantity.formula, scope)
        failed = bool(work.typer.problems)
        if quantity.formula is not syntax.UNREADABLE:
            work.take_problems(item.formula)
        work.typer.problems.clear()
        if failed or body is None or not held(work, quantity, item, scope):
            continue
        try:
            nodes[quantity.id] = work.typer.quantity(quantity, quantity.subject, (0, 0))
        except TypeProblem as problem:
            work.report(problem.message, item.formula, problem.hint)
            continue
        if body.type.kind != "quantity":
            if item.unit is not None:
                work.report(f"this quantity is a {body.type}, which has no unit", item.unit)
        elif body.size > MOST_NODES:
            work.report(f"this quantity is too large: {body.size} parts", item.formula)
    return nodes


def held(work: Work, quantity: QuantityName, item: Quantity, scope: Mapping[str, str]) -> bool:
    """Whether the condition under which a quantity holds, if any, is in order."""
    if item.holds is None:
        return True
    # What can't be read has been reported.
    readable = quantity.holds is not None and quantity.holds is not syntax.UNREADABLE
    return readable and work.expression(item.holds, scope, YES_NO) is not None


def estimates(work: Work) -> dict[str, tuple[Node, Node | None]]:
    """The estimate of each fact that has one, with its tolerance."""
    found: dict[str, tuple[Node, Node | None]] = {}
    for fact in work.flat.facts.values():
        name = work.vocabulary.names.facts.get(str(fact.id))
        if fact.estimate is None or name is None:
            continue
        scope = work.own_scope(name.subject)
        expected = name.type
        node = work.expression(fact.estimate, scope, expected)
        tolerance = None
        if fact.estimate_tolerance is not None:
            tolerance = work.expression(fact.estimate_tolerance, {})
            if tolerance is not None and tolerance.op != "const":
                work.report("a tolerance is a plain value", fact.estimate_tolerance)
                continue
        if node is None:
            continue
        wrong = not_simple(work, node, name)
        if wrong:
            work.report(wrong, fact.estimate, "an estimate is made from other facts alone")
            continue
        found[name.id] = (node, tolerance)
    return found


def not_simple(work: Work, node: Node, own: FactName) -> str:
    """Why a node can't serve as an estimate; empty where it can."""
    stack = [node]
    while stack:
        piece = stack.pop()
        if piece.op in ("quantity", "over"):
            return "an estimate uses neither quantities nor lists"
        if piece.op == "fact":
            _, fact, _ = piece.value
            if work.flat.facts[fact].estimate is not None if fact in work.flat.facts else False:
                return f'"{fact}" is itself an estimate'
            if fact == own.id:
                return "this estimate is made from the fact itself"
        stack += piece.args
    return ""
