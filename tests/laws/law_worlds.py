"""Worlds at run time in which more or less is known of some facts."""

from __future__ import annotations

import copy
from collections.abc import Callable
from fractions import Fraction
from typing import Any

from generators import Made
from law_choices import Choices, chance, pick, some

from modrules.language.records import NONE_STATED, Open, attribute
from modrules.language.tree import FactName
from modrules.screening.lists import settle
from modrules.screening.prepared import Run


def opened(choices: Choices, made: Made, run: Run, world: Any) -> Any:
    """A copy of a world in which less is known of some facts that the ruleset reads."""
    used = {fact.id for fact in made.used}

    def less(fact: FactName, value: Any) -> Any:
        known = fact.id in used and chance(choices, 1, 2)
        return wider(choices, fact, value) if known else value

    return changed_world(run, world, less)


def closed(choices: Choices, run: Run, world: Any) -> Any:
    """A copy of a world in which every fact is exact."""
    return changed_world(run, world, lambda fact, value: one_of(choices, fact, value))


def changed_world(run: Run, world: Any, change: Callable[[FactName, Any], Any]) -> Any:
    layout, facts = run.ruleset.layout, run.ruleset.typed.names.facts.values()
    made = copy.copy(world)
    replaced: dict[int, Any] = {}

    def changed(record: Any) -> Any:
        known = replaced.get(id(record))
        if known is not None:
            return known
        new = replaced[id(record)] = copy.copy(record)
        new.mask = 0
        for fact in facts:
            if hasattr(new, fact.slot):
                value = change(fact, getattr(new, fact.slot))
                setattr(new, fact.slot, value)
                if isinstance(value, Open):
                    new.mask |= layout.bits[fact.id]
        return new

    for name in layout.singles:
        setattr(made, attribute(name), changed(getattr(world, attribute(name))))
    for name in layout.lists:
        records = getattr(world, attribute(name))
        setattr(made, attribute(name), tuple(changed(record) for record in records))
    settle(layout, made)
    return made


def wider(choices: Choices, fact: FactName, value: Any) -> Any:
    """An open value that allows all that the given one allows."""
    kind = fact.type.kind
    open_value = isinstance(value, Open)
    none = (open_value and value.none) or (fact.none_stated and chance(choices, 1, 3))
    if kind in ("quantity", "date", "period"):
        low, high = (value.low, value.high) if open_value else (value, value)
        if low > high:
            low = high = pick(choices, (10**9, 0, 730000)) if kind == "quantity" else 730000
        step = pick(choices, (0, 1, 10**8, 10**9)) if kind == "quantity" else choices.below(400)
        low = low - step * choices.below(3)
        high = high + step * choices.below(3)
        if kind == "quantity" and not fact.type.whole and chance(choices, 1, 6):
            high += Fraction(1, 3)
        if chance(choices, 1, 8):
            low = -float("inf")
        if chance(choices, 1, 8):
            high = float("inf")
        if kind != "quantity":
            low, high = max(low, 1), min(high, 3_000_000)
        return value if low == high and not none else Open(low, high, None, none)
    values = value.values if open_value else frozenset((value,))
    every = {"yes_no": (False, True), "word": fact.type.words, "text": ("Q", "R", "none of these")}
    if kind == "text" and fact.type.words:
        every["text"] = fact.type.words
    elif kind == "text" and (values is None or chance(choices, 1, 3)):
        return Open(none=none)
    assert values is not None
    wide = values | frozenset(some(choices, every[kind]))
    return value if len(wide) == 1 and not none else Open(1, 0, wide, none)


def one_of(choices: Choices, fact: FactName, value: Any) -> Any:
    """An exact value that an open one allows."""
    if not isinstance(value, Open):
        return value
    empty = value.low > value.high and not value.values
    if empty or (value.none and chance(choices, 1, 4)):
        return NONE_STATED
    if fact.type.kind not in ("quantity", "date", "period"):
        return pick(choices, sorted(value.values if value.values is not None else ("Q", "R", "x")))
    low = value.low if not isinstance(value.low, float) else min(value.high, 0) - 10**9
    high = value.high if not isinstance(value.high, float) else max(low, 0) + 10**9
    if fact.type.kind != "quantity":
        low, high = max(int(low), 1), min(int(high), 3_000_000)
    options = [low, high, (low + high) // 2]
    if fact.type.kind == "quantity" and not fact.type.whole:
        options += [low + Fraction(1, 7) * (high - low)]
    options += [end for end in (0, 10**9, 730000) if low <= end <= high]
    found = pick(choices, options)
    return found.numerator if Fraction(found).denominator == 1 else found
