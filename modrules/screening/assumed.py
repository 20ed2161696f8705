"""What rests on the declared range of a fact: what was never given, and what was cut off by it."""

from __future__ import annotations

from typing import Any

from modrules.language.records import Open
from modrules.ruleset.typed import TypedCheck
from modrules.screening.explain import OpenFact, lists_read, open_among, open_facts, with_value
from modrules.screening.lists import conditions
from modrules.screening.prepared import Run, bindings
from modrules.screening.values import shown


def assumed(run: Run, check: TypedCheck, subject: Any, possible: int) -> list[OpenFact]:
    """Numbers whose declared range alone decides the finding: missing ones, and those cut by it.

    The range may decide that a list is whole, too.
    """
    lists = [*check.per, *lists_read(check.nodes())]
    tops = [*check.nodes(), *conditions(run.ruleset.typed, run.bound.world, lists)]
    free = [
        (fact, freed)
        for fact in open_among(run, tops, bindings(check, subject))
        for freed in [_freed(run, fact)]
        if freed is not None
    ]
    if not free:
        return []
    world, moved = with_value(run, subject, free)
    if run.evaluate(check, moved, world) == possible:
        return []
    deciding = []
    for change in free:
        world, moved = with_value(run, subject, [change])
        if run.evaluate(check, moved, world) != possible:
            deciding.append(change[0])
    return deciding or [fact for fact, _ in free]


def _freed(run: Run, fact: OpenFact) -> Open | None:
    """What a number may be without its declared range; None where that leaves it as it is."""
    value = fact.value
    if fact.fact.type.kind not in ("quantity", "date", "period"):
        return None
    if value.missing:
        bounded = not (isinstance(value.low, float) and isinstance(value.high, float))
        return Open(none=value.none, missing=True) if bounded else None
    if fact.address not in run.bound.cuts:
        return None
    limits = run.ruleset.typed.vocabulary.ranges[fact.fact.id]
    low, high = run.bound.cuts[fact.address]
    # Where an estimate leaves less, that end does not rest on the range.
    return Open(
        low if value.low == limits.low else value.low,
        high if value.high == limits.high else value.high,
        none=value.none,
    )


def cut_off(run: Run, check: TypedCheck, subject: Any) -> list[str]:
    """A line for each value that was given with a tolerance past its declared range."""
    lines = []
    for fact in open_facts(run, check, subject):
        if fact.address in run.bound.cuts:
            limits = run.ruleset.typed.vocabulary.ranges[fact.fact.id]
            low, high = run.bound.cuts[fact.address]
            ends = []
            if limits.low is not None and low < limits.low:
                ends.append(f"under {shown(limits.low, fact.fact)}")
            if limits.high is not None and high > limits.high:
                ends.append(f"over {shown(limits.high, fact.fact)}")
            lines.append(
                f"{fact.address}: {run.bound.given[fact.address]}, of which nothing "
                f"{' or '.join(ends)} is taken to be possible, by its declared range"
            )
    return lines
