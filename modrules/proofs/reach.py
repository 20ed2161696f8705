"""Which sides of a limit no vehicle can come to, so that no worked case can stand there.

    out_of_reach(ruleset, edges) -> list[Edge]     the same edges, with what is proved of them

A side is out of reach where that is proved; where it is not proved, a case is asked for as before.
Lists are taken with a few entries, so nothing is said of limits on how many there are, or on what
they come to together.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from z3 import Z3Exception

from modrules.language.tree import ONE, YES_NO, Node, Type, walk
from modrules.proofs.asking import Session
from modrules.proofs.edges import Edge, Limit
from modrules.proofs.examples import Literal
from modrules.proofs.single import so
from modrules.proofs.space import Untranslatable
from modrules.ruleset.typed import TypedCheck
from modrules.screening.prepared import Ruleset

_DAYS = Type("quantity", whole=True)
#: What grows with the number of entries, which proofs keep low.
_GROWING = ("sum", "count")


def out_of_reach(ruleset: Ruleset, edges: Iterable[Edge]) -> list[Edge]:
    """Edges with the sides on which a case is lacking and no vehicle can be."""
    checks = {check.id: check for check in ruleset.typed.checks}
    sessions: dict[str, Session] = {}
    found = []
    for edge in edges:
        check = checks[edge.check]
        if edge.turns_unseen and not check.unfinished and not _grows(check, edge.limit):
            try:
                if check.id not in sessions:
                    sessions[check.id] = Session(ruleset, [check])
                edge = replace(edge, unreachable=tuple(_never(sessions[check.id], check, edge)))
            except (Z3Exception, Untranslatable):
                pass  # What can't be put to the solver is not proved.
        found.append(edge)
    return found


def _grows(check: TypedCheck, limit: Limit) -> bool:
    tops = [limit.node, *([check.applies] if check.applies is not None else [])]
    return any(node.op == "over" and node.value[0] in _GROWING for node in walk(tops))


def _never(session: Session, check: TypedCheck, edge: Edge) -> Iterator[str]:
    applies = [] if edge.limit.condition or check.applies is None else [so(check.applies)]
    for side in edge.lacking:
        if session.ask([*applies, _at(edge.limit, side)]).holds is False:
            yield side


def _at(limit: Limit, side: str) -> Literal:
    """That the two sides of a comparison stand so, for one member of the lists that it is in."""
    measure, other = limit.measure, limit.other
    dates = measure.type.kind != "quantity"
    type_, scale = (_DAYS, ONE) if dates else (measure.type, measure.scale)
    off = Node("sub", type_, (measure, other), None, scale, measure.unit)
    zero = Node("const", type_, (), 0, scale, measure.unit)
    step = Node("const", type_, (), limit.step / scale, scale, measure.unit)
    back = Node("const", type_, (), -limit.step / scale, scale, measure.unit)
    node = {
        "on": _and(_le(off, zero), _le(zero, off)),
        "just under": _and(_le(back, off), _not(_le(zero, off))),
        "just over": _and(_le(off, step), _not(_le(off, zero))),
    }[side]
    for binding in reversed(limit.inside):
        node = Node("over", YES_NO, (node,), ("any", binding, True, False, False), ONE, "")
    return so(node)


def _le(a: Node, b: Node) -> Node:
    return Node("le", YES_NO, (a, b), None, ONE, "")


def _and(a: Node, b: Node) -> Node:
    return Node("and", YES_NO, (a, b), None, ONE, "")


def _not(node: Node) -> Node:
    return Node("not", YES_NO, (node,), None, ONE, "")
