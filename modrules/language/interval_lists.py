"""Functions over lists, some of whose entries may or may not take part."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final

from modrules.language import domains as d
from modrules.language.domains import Range
from modrules.language.possible import Env, Evaluate, Made, Maker
from modrules.language.records import attribute
from modrules.language.tree import Node


def _over(made: Made, node: Node) -> Evaluate:
    function, binding, has_body, has_where, has_default = node.value
    pieces = iter([made.closure(arg) for arg in node.args])
    body = next(pieces) if has_body else None
    where = next(pieces) if has_where else None
    default = next(pieces) if has_default else None
    subject = binding.removeprefix("each ")
    name = attribute(subject)
    fold = _FOLDS[function]

    def evaluate(env: Env) -> Any:
        records = getattr(env.world, name)
        unlisted = env.world.unlisted.get(subject)
        if unlisted is not None:
            records = (*records, unlisted)
        fallback = default(env) if default is not None else None
        outer = env.records.get(binding)
        members: Members = []
        try:
            for record in records:
                env.records[binding] = record
                member = where(env) if where is not None else d.TRUE
                value = None
                if body is not None and member != d.FALSE:
                    value = body(env)
                members.append((member, value))
        finally:
            if outer is None:
                env.records.pop(binding, None)
            else:
                env.records[binding] = outer
        if unlisted is None:
            return fold(members, fallback)
        *given, (member, value) = members
        return _with_unlisted(function, given, (member | d.FALSE, value), fallback)

    return evaluate


Members = list[tuple[int, Any]]


def _with_unlisted(function: str, given: Members, unlisted: tuple[int, Any], default: Any) -> Any:
    """Over the entries given and any number of others, each as one of which nothing is known."""
    fold = _FOLDS[function]
    several = fold([*given, *[unlisted] * 3], default)
    if function not in ("count", "sum"):
        # Three truth values, or the ends of one range: a fourth entry brings nothing new.
        return several
    low, high, gap = several
    own_low, own_high, _ = fold(given, default)
    return -d.INFINITE if low < own_low else low, d.INFINITE if high > own_high else high, gap


def _any_of(members: Members, _default: Any) -> int:
    mask = d.FALSE
    for member, value in members:
        mask = d.OR[mask][member if value is None else d.AND[member][value]]
    return mask


def _all_of(members: Members, _default: Any) -> int:
    mask = d.TRUE
    for member, value in members:
        mask = d.AND[mask][d.NOT[member] if value is None else d.OR[d.NOT[member]][value]]
    return mask


def _count_of(members: Members, _default: Any) -> Range:
    low = high = 0
    gap = False
    for member, _ in members:
        if member == d.GAP:
            return d.NOTHING
        gap = gap or bool(member & d.GAP)
        low += not member & d.FALSE
        high += bool(member & d.TRUE)
    return low, high, gap


def _sum_of(members: Members, _default: Any) -> Range:
    total: Range = (0, 0, False)
    for member, value in members:
        if member == d.GAP:
            return d.NOTHING
        if member & d.TRUE:
            part = (
                value
                if member & d.TRUE and not member & d.FALSE
                else d.hull((value, (0, 0, False)))
            )
            total = d.range_add(total, part)
        if member & d.GAP:
            total = (total[0], total[1], True)
    return total


def _extreme_of(operation: Callable[[Range, Range], Range]) -> Callable[[Members, Any], Range]:
    def fold(members: Members, default: Any) -> Range:
        certain: Range | None = None
        possible: list[Range] = []
        gap = False
        for member, value in members:
            if member == d.GAP:
                return d.NOTHING
            gap = gap or bool(member & d.GAP)
            if not member & d.TRUE:
                continue
            if member & d.FALSE:
                possible.append(value)
            else:
                certain = value if certain is None else operation(certain, value)
        # Some or none of the uncertain members take part.
        base = [certain] if certain is not None else [default, *possible]
        result = d.hull(base)
        for value in possible:
            # A member that lacks a value would take the whole result with it.
            result = d.hull((result, operation(result, value)))
        return result[0], result[1], result[2] or gap

    return fold


_FOLDS: Final[Mapping[str, Callable[[Members, Any], Any]]] = {
    "any": _any_of,
    "all": _all_of,
    "count": _count_of,
    "sum": _sum_of,
    "largest": _extreme_of(d.range_largest),
    "smallest": _extreme_of(d.range_smallest),
}


LISTS: Final[Mapping[str, Maker]] = {"over": _over}
