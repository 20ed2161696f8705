"""Typing loads with their limits."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from modrules.language.arithmetic import addition
from modrules.language.tree import (
    YES_NO,
    Node,
)
from modrules.language.type_problems import TypeProblem
from modrules.language.units import MASS
from modrules.ruleset.tree import Scalar
from modrules.ruleset.typed import TypedLimit, TypedLoad
from modrules.ruleset.work import Work

if TYPE_CHECKING:
    from modrules.ruleset.models import Load, LoadLimit


def typed_load(work: Work, item: Load) -> TypedLoad | None:
    """A load with its limits; None with its problems reported."""
    per = str(item.per)
    if per not in work.vocabulary.names.subjects:
        work.unknown("subject", item.per, work.vocabulary.names.subjects)
        return None
    scope = work.own_scope(per)
    load = mass(work, item.load, scope)
    if load is None:
        return None
    ledger = mass(work, item.ledger, scope)
    parts = [mass(work, part.mass, scope) for part in item.made_up_of]
    limits = [load_limit(work, limit, scope, load, ledger, item) for limit in item.limits]
    return TypedLoad(
        id=str(item.id),
        per=per,
        applies=work.expression(item.applies_if, scope, YES_NO),
        load=load,
        ledger=ledger,
        residual=less(work, load, ledger, item.ledger),
        parts=tuple(part for part in parts if part is not None),
        each=mass(work, item.left_for.each if item.left_for is not None else None, {}),
        limits=tuple(limit for limit in limits if limit is not None),
    )


def load_limit(
    work: Work,
    item: LoadLimit,
    scope: Mapping[str, str],
    load: Node,
    ledger: Node | None,
    of: Load,
) -> TypedLimit | None:
    """A limit on a load, with the room that it leaves."""
    limit = mass(work, item.limit, scope)
    room = less(work, limit, load, item.limit)
    if limit is None or room is None:
        return None
    return TypedLimit(
        id=str(item.id),
        in_place_of=str(item.in_place_of) if item.in_place_of is not None else None,
        applies=work.expression(item.applies_if, scope, YES_NO),
        limit=limit,
        room=room,
        ledger_room=less(work, limit, ledger, of.ledger),
    )


def mass(work: Work, text: Scalar | None, scope: Mapping[str, str]) -> Node | None:
    """The node of an expression that gives a mass, so that all rooms can be compared."""
    node = work.expression(text, scope)
    if node is not None and (node.type.kind != "quantity" or node.type.dimension != MASS):
        work.report("a load and its limits are masses", text, "give it in kg, t or lb")
        return None
    return node


def less(work: Work, whole: Node | None, taken: Node | None, at: Scalar | None) -> Node | None:
    """What is left of a mass when another, in the same condition, is taken off it."""
    if whole is None or taken is None or at is None:
        return None
    try:
        return addition(work.tree, "-", whole, taken, (0, 0))
    except TypeProblem as problem:
        work.report(problem.message, at, problem.hint)
        return None
