"""Typing the bands of a check: their ends, constant or computed, and their conditions."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from modrules.language.arithmetic import negation, same_measure
from modrules.language.tree import (
    YES_NO,
    Node,
    Type,
)
from modrules.language.type_problems import TypeProblem
from modrules.problems import Problem
from modrules.ruleset.tree import Scalar
from modrules.ruleset.typed import BIT, TypedBand
from modrules.ruleset.work import Work

if TYPE_CHECKING:
    from modrules.ruleset.models import Band


def ends_of(
    work: Work, band: Band, scope: Mapping[str, str], measure: Node
) -> tuple[Node | None, Node | None]:
    """The lower and the upper end of a band, None where it has none."""
    if band.over is not None and band.over_or_at is not None:
        work.report("a band has one lower end: over, or from", band.over_or_at)
    if band.up_to is not None and band.under is not None:
        work.report("a band has one upper end: up_to, or under", band.under)
    low = end_of(work, band.over or band.over_or_at, scope, measure)
    high = end_of(work, band.up_to or band.under, scope, measure)
    if low is not None and high is not None and low.op == high.op == "const":
        a, b = work.tree.aligned(low, high)
        closed = band.over_or_at is not None and band.up_to is not None
        if a.value > b.value or (a.value == b.value and not closed):
            work.report("this band ends before it begins", band.up_to or band.under)
    return low, high


def end_of(work: Work, text: Scalar | None, scope: Mapping[str, str], measure: Node) -> Node | None:
    """One end of a band, of the dimension and condition of the measure."""
    node = work.expression(text, scope, Type("quantity", measure.type.dimension))
    if node is None or text is None:
        return None
    try:
        same_measure(measure, node, (0, len(text)), "compared with")
    except TypeProblem as problem:
        work.problems.append(Problem(problem.message, text.place_at(*problem.span), problem.hint))
        return None
    return node


def typed_band(
    work: Work,
    band: Band,
    ends: tuple[Node | None, Node | None],
    scope: Mapping[str, str],
    measure: Node | None,
) -> TypedBand:
    """A band with its ends and conditions typed."""
    low_node, high_node = ends
    computed: list[Node] = []
    end_nodes: list[Node] = []
    constants: list[int | None] = []
    for end, is_low in ((low_node, True), (high_node, False)):
        constant = None
        if end is not None and measure is not None:
            open_end = band.over is not None if is_low else band.under is not None
            node = end_condition(work, measure, end, is_low, open_end)
            if end.op == "const":
                constant = work.tree.rescale(end, measure.scale).value
                end_nodes.append(node)
            else:
                computed.append(node)
        constants.append(constant)
    conditions: list[Node] = []
    only_if = work.expression(band.only_if, scope, YES_NO)
    unless = work.expression(band.unless, scope, YES_NO)
    if only_if is not None:
        conditions.append(only_if)
    if unless is not None:
        conditions.append(negation(work.tree, unless))
    return TypedBand(
        outcome=BIT[str(band.outcome)],
        certification=str(band.certification) if band.certification else None,
        low=constants[0],
        low_closed=band.over_or_at is not None,
        high=constants[1],
        high_closed=band.up_to is not None,
        ends=tuple(end_nodes),
        extra=all_of(work, [*computed, *conditions]),
        low_end=low_node,
        high_end=high_node,
        condition=all_of(work, conditions),
    )


def all_of(work: Work, conditions: list[Node]) -> Node | None:
    """All of the conditions as one; None where there is none."""
    met: Node | None = None
    for condition in conditions:
        met = condition if met is None else work.tree.node("and", YES_NO, (met, condition))
    return met


def end_condition(work: Work, measure: Node, end: Node, is_low: bool, is_open: bool) -> Node:
    """That the measure lies on the right side of an end."""
    m, e = work.tree.aligned(measure, end)
    if is_low:
        # over e: not (m <= e); from e: e <= m
        node = work.tree.node("le", YES_NO, (m, e) if is_open else (e, m))
    else:
        # under e: not (e <= m); up to e: m <= e
        node = work.tree.node("le", YES_NO, (e, m) if is_open else (m, e))
    return negation(work.tree, node) if is_open else node
