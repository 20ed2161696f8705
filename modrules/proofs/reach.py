"""Which sides of a limit no vehicle can come to, so that no worked case can stand there.

    out_of_reach(ruleset, edges) -> list[Edge]     the same edges, with what is proved of them

A side is out of reach where that is proved, on whatever day; where it is not proved, a case is
asked for as before. Proofs look at lists with a few entries, so nothing is said of limits for which
more may be needed.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import replace

from z3 import Z3Exception

from modrules.language.tree import ONE, YES_NO, Node, Type, walk
from modrules.proofs.asking import Session
from modrules.proofs.edges import Edge, Limit
from modrules.proofs.examples import Literal
from modrules.proofs.found import MOST_MEMBERS
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
        if edge.turns_unseen and not check.unfinished and _few_will_do(ruleset, check, edge.limit):
            try:
                if check.id not in sessions:
                    sessions[check.id] = Session(ruleset, [check], any_day=True)
                edge = replace(edge, unreachable=tuple(_never(sessions[check.id], check, edge)))
            except (Z3Exception, Untranslatable):
                pass  # What can't be put to the solver is not proved.
        found.append(edge)
    return found


def _few_will_do(ruleset: Ruleset, check: TypedCheck, limit: Limit) -> bool:
    """Whether lists with as few entries as proofs look at reach all that longer ones reach.

    Each subject of the check, each list that the limit is in, and each fold over one needs an
    entry to bear it out, and no more: a fold whose truth is about all entries holds for fewer too.
    Not so what sums or counts, nor a fold in a fold.
    """
    subjects = ruleset.typed.names.subjects
    tops = [limit.node, *([check.applies] if check.applies is not None else [])]
    folds = [node for node in walk(tops) if node.op == "over"]
    if any(fold.value[0] in _GROWING for fold in folds):
        return False
    if any(node.op == "over" for fold in folds for node in walk(fold.args)):
        return False
    bound = [binding.partition(":")[2] or binding for binding in check.bindings]
    listed = [*limit.inside, *(fold.value[1] for fold in folds)]
    needed = Counter(bound) + Counter(each.removeprefix("each ") for each in listed)
    at_large = needed["modification"]
    return all(
        count + (at_large if subjects[name].is_kind else 0) <= MOST_MEMBERS
        for name, count in needed.items()
        if subjects[name].many
    )


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
