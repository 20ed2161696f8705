"""Facts that can be estimated from others, such as a tyre's diameter from its marking.

An estimate has a tolerance; a measurement of the same thing is intersected with it.
Where the two exclude each other, that is said, and both stay possible.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from modrules.language import domains as d
from modrules.language.intervals import Intervals
from modrules.language.possible import Env
from modrules.language.records import NONE_STATED, Layout, Open, records_of
from modrules.language.tree import FactName, Node
from modrules.language.units import NUMBER, whole
from modrules.ruleset.names import FactRange
from modrules.ruleset.typed import TypedRuleset
from modrules.screening.values import Problems, shown


def estimate_facts(
    world: Any, typed: TypedRuleset, layout: Layout, intervals: Intervals, problems: Problems
) -> None:
    """Sets each fact that has an estimate to what its estimate and its value leave possible."""
    for fact_id, (node, tolerance) in typed.estimates.items():
        fact = typed.names.facts[fact_id]
        evaluate = intervals.closure(node)
        limits = typed.vocabulary.ranges[fact_id]
        for record in records_of(world, fact.subject):
            found = evaluate(Env(world, {fact.subject: record}))
            value = getattr(record, fact.slot)
            if fact.type.kind == "yes_no":
                answers = frozenset(a for a in (True, False) if found & d.truth(a))
                value = _choose(value, (answers, bool(found & d.GAP)), fact, record, problems)
            elif fact.type.kind in ("word", "text"):
                value = _choose(value, found, fact, record, problems)
            elif fact.type.kind in ("quantity", "date"):
                estimate = widened(found, node, tolerance, fact)
                # A range never helps to decide about safety, nor with an estimate beside it.
                missing = isinstance(value, Open) and value.missing
                free = missing and typed.flat.facts[fact_id].safety
                ends = FactRange() if free else limits
                value = _narrow(value, estimate, fact, ends, record, problems)
            setattr(record, fact.slot, value)
            bit = layout.bits[fact_id]
            record.mask = record.mask | bit if isinstance(value, Open) else record.mask & ~bit


def widened(found: d.Range, node: Node, tolerance: Node | None, fact: FactName) -> d.Range | None:
    """The estimate with its tolerance, in the fact's scale; None where there is none."""
    low, high, gap = found
    # Where there may be no estimate, nothing is excluded yet.
    if gap or low > high or isinstance(low, float) or isinstance(high, float):
        return None
    factor = node.scale / fact.scale if fact.type.kind == "quantity" else Fraction(1)
    low, high = low * factor, high * factor
    if tolerance is None:
        return low, high, False
    amount = Fraction(tolerance.value) * tolerance.scale
    if tolerance.type.dimension == NUMBER and fact.type.dimension != NUMBER:
        return low - abs(low) * amount, high + abs(high) * amount, False
    return low - amount / fact.scale, high + amount / fact.scale, False


def _narrow(
    value: Any,
    estimate: d.Range | None,
    fact: FactName,
    limits: FactRange,
    record: Any,
    problems: Problems,
) -> Any:
    if estimate is None:
        return value
    low, high, _ = estimate
    if isinstance(value, Open):
        if value.low > value.high:
            return value
        bottom, top = max(low, value.low), min(high, value.high)
    else:
        bottom, top = max(low, value), min(high, value)
    if limits.low is not None:
        bottom = max(bottom, limits.low)
    if limits.high is not None:
        top = min(top, limits.high)
    if bottom > top:
        if isinstance(value, Open):
            bottom, top = min(low, value.low), max(high, value.high)
        else:
            bottom, top = min(low, value), max(high, value)
        problems.caution(
            f"{record.kind} {record.id}".strip()
            + f': the value given for "{fact.id}" and what its marking says exclude each other '
            f"(by the marking {shown(_number(low), fact)} to {shown(_number(high), fact)}); "
            "both stay possible until that is cleared up"
        )
    none = isinstance(value, Open) and value.none
    if bottom == top and not none:
        return whole(Fraction(bottom))
    return Open(_number(bottom), _number(top), None, none)


def _number(value: Any) -> Any:
    return value if isinstance(value, float) else whole(Fraction(value))


def _choose(value: Any, found: d.Choice, fact: FactName, record: Any, problems: Problems) -> Any:
    values, gap = found
    if values is None or gap or not values:
        return value
    if value == NONE_STATED:
        return value
    none = isinstance(value, Open) and value.none
    own = value.values if isinstance(value, Open) else frozenset((value,))
    both = values if own is None else values & own
    if not both:
        problems.caution(
            f"{record.kind} {record.id}".strip()
            + f': the value given for "{fact.id}" and what its '
            "marking says exclude each other; both stay possible until that is cleared up"
        )
        both = values | (own or frozenset())
    if len(both) == 1 and not none:
        return next(iter(both))
    return Open(1, 0, both, none)
