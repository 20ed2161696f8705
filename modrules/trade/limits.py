"""Limits on masses: which are met, with how much room, and which one binds.

A limit that the maker does not state is left out. A load that is not known leaves its limit
open, unless it can't matter. Every limit names the document that sets it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from modrules.trade.ranges import (
    UNKNOWN,
    Measured,
    Range,
    TradeError,
    as_range,
    at_least_nothing,
)
from modrules.trade.tyres import load_capacity

#: What a limit may be on.
LOADS = (
    "gross",
    "front axle",
    "rear axle",
    "roof",
    "ball",
    "trailer braked",
    "trailer unbraked",
    "combination",
)


@dataclass(frozen=True, slots=True)
class Limit:
    """A limit in kg on one load, and the document that sets it.

    Several limits may stand on one load: an axle's own, that of its tyres, that of its wheels.
    """

    name: str
    on: str
    kg: Measured
    document: str

    def __post_init__(self) -> None:
        if self.on not in LOADS:
            raise TradeError(f'"{self.on}" is no load; known: {", ".join(LOADS)}')
        at_least_nothing(self.kg, f'the limit "{self.name}"')


@dataclass(frozen=True, slots=True)
class Margin:
    """The room left under a limit in kg (below zero: over it), and whether it is met."""

    limit: Limit
    load: Range
    room: Range
    met: bool | None


def tyre_limit(axle: str, index: int, *, tyres: int = 2, document: str = "tyre marking") -> Limit:
    """The limit that the tyres set on an axle: the load of their index, times their number.

    ``index`` is the one for single wheels, or for twin wheels where four tyres stand on the
    axle. Raises :class:`TradeError` for an index off the table.
    """
    kg = load_capacity(index)
    if kg is None:
        raise TradeError(f"load index {index} is not on the table, which goes from 50 to 150")
    if tyres not in (2, 4):
        raise TradeError(f"an axle has two tyres or four, not {tyres}")
    return Limit(f"tyres, {axle}", axle, tyres * kg, document)


def wheel_limit(axle: str, rating: Measured, *, wheels: int = 2, document: str) -> Limit:
    """The limit that the wheels set on an axle: the rating of one, times their number."""
    kg = at_least_nothing(rating, "the rating of a wheel")
    return Limit(f"wheels, {axle}", axle, kg.times(wheels), document)


def margins(loads: Mapping[str, Measured], limits: Iterable[Limit]) -> tuple[Margin, ...]:
    """The room under each limit, in the order of the limits.

    ``loads`` are the kg on each of :data:`LOADS`; one that is left out is not known.
    """
    unknown = [name for name in loads if name not in LOADS]
    if unknown:
        raise TradeError(f'"{unknown[0]}" is no load; known: {", ".join(LOADS)}')
    found = []
    for limit in limits:
        load = as_range(loads.get(limit.on))
        kg = at_least_nothing(limit.kg, limit.name) if limit.kg is not None else UNKNOWN
        found.append(Margin(limit, load, kg - load, load.at_most(kg)))
    return tuple(found)


def binding(found: Iterable[Margin]) -> tuple[Margin, ...]:
    """The margins that may be the least one: a single one where the figures decide it."""
    rows = tuple(found)
    highs = [row.room.high for row in rows if row.room.high is not None]
    if not highs:
        return rows
    least = min(highs)
    return tuple(row for row in rows if row.room.low is None or row.room.low <= least)


@dataclass(frozen=True, slots=True)
class Upgrade:
    """A limit before and after an upgrade; ``after`` is the same where nothing changed."""

    before: Limit
    after: Limit


def upgraded(limits: Iterable[Limit], new: Iterable[Limit]) -> tuple[Upgrade, ...]:
    """Each limit before and after; a new limit takes the place of the one with its name.

    Raises :class:`TradeError` where a new limit has no old one, or is on another load: an
    upgrade does not create a limit.
    """
    known = {limit.name: limit for limit in limits}
    after = dict(known)
    for limit in new:
        old = known.get(limit.name)
        if old is None:
            raise TradeError(f'there is no limit "{limit.name}" to upgrade')
        if old.on != limit.on:
            raise TradeError(f'limit "{limit.name}" is on {old.on}, not on {limit.on}')
        after[limit.name] = limit
    return tuple(Upgrade(known[name], after[name]) for name in known)
