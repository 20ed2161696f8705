"""Every load of a ruleset with its limits: what is left under each, and which one binds.

Loads are evaluated over what is possible, like quantities. What is not known stays in the list
as open; a limit is left out only where it surely does not apply. Which limit binds is decided
by loads as weighed alone: a list of parts tells what to expect, and vouches for nothing.
"""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from math import floor
from typing import Any, Final

from modrules.language import domains as d
from modrules.language.possible import Env
from modrules.language.records import Open, records_of
from modrules.language.tree import FactName, Node
from modrules.ruleset.typed import TypedLimit, TypedLoad
from modrules.screening.explain import (
    MOST_TRIED,
    OpenFact,
    address_of,
    facts_read,
    lists_read,
    not_given,
    open_among,
    trials,
    with_value,
)
from modrules.screening.lists import lacks
from modrules.screening.measured import source_of
from modrules.screening.prepared import NotGiven, Run, subject_words
from modrules.screening.show import plain_number, quantity_data

IN_FORCE: Final = "in force"
PERHAPS: Final = "perhaps in force"
REPLACED: Final = "replaced"
NONE_STATED: Final = "none stated"
_NOTHING_KNOWN: Final[d.Range] = (-d.INFINITE, d.INFINITE, True)


@dataclass(slots=True)
class _Row:
    """A limit on one subject's load; rooms are in kg."""

    typed: TypedLimit
    #: by the load as weighed, and as shown: perhaps by the list of parts
    room: d.Range
    shown: d.Range
    #: whether there is such a limit by itself, and with all that replace it
    own: str
    state: str
    data: dict[str, Any]


def loads_of(run: Run) -> list[dict[str, Any]]:
    """Every load as plain data, in the order of the ruleset and of the subjects."""
    rows: list[_Row] = []
    found = []
    world = _without_ranges(run)
    for load in run.ruleset.typed.loads:
        for (subject, env), (_, ranged) in zip(
            _subjects(run, load.per, world), _subjects(run, load.per, run.bound.world), strict=True
        ):
            applies = _mask(run, load.applies, env)
            if applies == d.FALSE:
                continue
            data, limits = _load(run, load, subject, _Seen(env, ranged, applies == d.TRUE))
            found.append(data)
            # What is planned asks another question than what is carried now.
            if data["left_for"] is None:
                rows += limits
    _mark(rows, "binds", lambda row: row.state)
    _mark(rows, "bound_before", lambda row: row.own if row.typed.in_place_of is None else "")
    return found


@dataclass(frozen=True, slots=True)
class _Seen:
    """How a load of one subject is seen.

    In ``env`` a number that was not given may be anything; in ``ranged``, for the list of parts,
    it lies in its declared range. ``certain``: there surely is such a load.
    """

    env: Env
    ranged: Env
    certain: bool


def _without_ranges(run: Run) -> Any:
    """The world in which no missing number leans on its declared range."""
    changes: dict[str, tuple[OpenFact, Any]] = {}
    for load in run.ruleset.typed.loads:
        for _, env in _subjects(run, load.per, run.bound.world):
            for fact in open_among(run, load.nodes(), env.records):
                free = _freed(fact.fact, fact.value)
                if free is not None and not _unlisted(env):
                    changes.setdefault(fact.address, (fact, free))
    return with_value(run, None, list(changes.values()))[0] if changes else run.bound.world


def _freed(fact: FactName, value: Any) -> Open | None:
    """What a missing number may be without its declared range; None for anything else."""
    if fact.type.kind != "quantity" or not isinstance(value, Open) or not value.missing:
        return None
    return Open(none=value.none, missing=True)


def _subjects(run: Run, per: str, world: Any) -> Iterator[tuple[str, Env]]:
    """Each subject in words, with what its names are bound to."""
    if not run.ruleset.typed.names.subjects[per].many:
        yield per, Env(world, {})
        return
    for record in records_of(world, per):
        yield subject_words(record, (per,)), Env(world, {per: record})
    if lacks(world, per):
        unknown = copy.copy(world.unlisted[per])
        if world is not run.bound.world:
            for fact in run.ruleset.typed.names.facts.values():
                free = _freed(fact, getattr(unknown, fact.slot, None))
                if free is not None:
                    setattr(unknown, fact.slot, free)
        yield subject_words(NotGiven((per,)), (per,)), Env(world, {per: unknown})


def _unlisted(env: Env) -> list[str]:
    """The subject whose list is not given, for which an unknown one stands."""
    return [name for name, record in env.records.items() if not record.id]


def _load(
    run: Run, load: TypedLoad, subject: str, seen: _Seen
) -> tuple[dict[str, Any], list[_Row]]:
    item, env = run.ruleset.flat.loads[load.id], seen.env
    value, ledger = _range(run, load.load, env), _range(run, load.ledger, seen.ranged)
    read = [load.load] if seen.certain or load.applies is None else [load.applies, load.load]
    missing = [] if seen.certain and _exact(value) else _missing(run, read, seen.ranged)
    listed = ledger is not None and _bounded(ledger)
    # A list of which hardly anything is known tells no more than the declared ranges do.
    weighed = _exact(value) or not missing
    by_ledger = not weighed and listed and 2 * _width(ledger) <= _width(value)
    rows = [
        _limit(run, limit, words, seen, by_ledger, lost=value is None or value[2])
        for limit, words in zip(load.limits, item.limits, strict=True)
    ]
    _replace(rows)
    room = _least((row.state, row.shown) for row in rows)
    parts = [
        {"title": str(words.title), "mass": _surely(run, node, env)}
        for words, node in zip(item.made_up_of, load.parts, strict=True)
    ]
    residual = _data(run, load.residual, seen.ranged) if listed and weighed else None
    data = {
        "ruleset": run.ruleset.id,
        "load": load.id,
        "title": str(item.title),
        "subject": subject,
        "certain": seen.certain,
        "mass": _surely(run, load.load, env),
        "made_up_of": parts,
        "ledger": _data(run, load.ledger, seen.ranged) if listed else None,
        "residual": residual,
        "by_ledger": by_ledger,
        "room": _in_kg(room),
        "left_for": _left_for(run, load, item.left_for, env, room),
        "limits": [row.data for row in rows],
        "missing": missing,
    }
    return data, rows


def _limit(
    run: Run, limit: TypedLimit, item: Any, seen: _Seen, by_ledger: bool, *, lost: bool
) -> _Row:
    """A limit with the room under it; ``lost``: the load itself may have no value."""
    env = seen.env
    value = _range(run, limit.limit, env)
    assert value is not None
    own = _existence(value, _mask(run, limit.applies, env), seen.certain)
    room = _NOTHING_KNOWN if lost else _kg(run, limit.room, env)
    read = [node for node in (limit.applies, limit.limit) if node is not None]
    shown = room
    if by_ledger and limit.ledger_room is not None:
        shown = _kg(run, limit.ledger_room, seen.ranged)
    data = {
        "limit": limit.id,
        "title": str(item.title),
        "set_by": str(item.set_by),
        "document": _document(run, limit.limit, env, value),
        "mass": _data(run, limit.limit, env),
        "state": own,
        "in_place_of": limit.in_place_of,
        "room": None if own == NONE_STATED else _in_kg(shown),
        "binds": "no",
        "bound_before": "no",
        "missing": [] if own != PERHAPS and _exact(value) else _missing(run, read, seen.ranged),
    }
    return _Row(limit, room, shown, own, own, data)


def _existence(value: d.Range, applies: int, certain: bool) -> str:
    """Whether there is such a limit, apart from what replaces it; empty: there is none."""
    if applies == d.FALSE:
        return ""
    if value[0] > value[1]:
        return NONE_STATED
    return IN_FORCE if applies == d.TRUE and not value[2] and certain else PERHAPS


def _replace(rows: list[_Row]) -> None:
    """Leaves out what does not apply, and settles what stands in place of what."""
    rows[:] = [row for row in rows if row.own]
    for row in rows:
        over = [each.own for each in rows if each.typed.in_place_of == row.typed.id]
        if IN_FORCE in over and row.own in (IN_FORCE, PERHAPS):
            row.state = REPLACED
        elif PERHAPS in over and row.own == IN_FORCE:
            row.state = PERHAPS
        row.data["state"] = row.state


def _mark(rows: list[_Row], key: str, state: Callable[[_Row], str]) -> None:
    """Marks the limits that have, or may have, the least room of those in force."""
    there = [row for row in rows if state(row) in (IN_FORCE, PERHAPS)]
    least = min((row.room[1] for row in there if state(row) == IN_FORCE), default=d.INFINITE)
    named = [row for row in there if row.room[0] <= least]
    settled = all(row.room[0] == row.room[1] and state(row) == IN_FORCE for row in named)
    alone = len(named) == 1 and state(named[0]) == IN_FORCE
    for row in named:
        row.data[key] = "yes" if settled or alone else "perhaps"


def _least(rooms: Iterable[tuple[str, d.Range]]) -> d.Range | None:
    """The room under whichever limit leaves least; None where no limit is stated."""
    there = [(state, room) for state, room in rooms if state in (IN_FORCE, PERHAPS)]
    if not there:
        return None
    low = min(room[0] for _, room in there)
    high = min((room[1] for state, room in there if state == IN_FORCE), default=d.INFINITE)
    return low, high, False


def _left_for(
    run: Run, load: TypedLoad, item: Any, env: Env, room: d.Range | None
) -> dict[str, Any] | None:
    if item is None:
        return None
    each = _kg(run, load.each, env) if load.each is not None else _NOTHING_KNOWN
    low, high = (room[0], room[1]) if room is not None else (-d.INFINITE, d.INFINITE)
    # The heaviest leave room for the fewest.
    counted = [_count(low, each[1], each), _count(high, each[0], each)]
    return {
        "title": str(item.title),
        "one": str(item.one or ""),
        "many": str(item.many or ""),
        "each": _data(run, load.each, env),
        "source": str(item.source or ""),
        "at_least": counted[0],
        "at_most": counted[1],
    }


def _count(room: d.Number, one: d.Number, each: d.Range) -> int | None:
    """How many of one mass there is room for; None where that is not known."""
    if each[2] or each[0] <= 0 or isinstance(room, float) or isinstance(one, float):
        return None
    return max(floor(Fraction(room) / Fraction(one)), 0)


# -- values ------------------------------------------------------------------------


def _mask(run: Run, node: Node | None, env: Env) -> int:
    found: int = d.TRUE if node is None else run.ruleset.intervals.closure(node)(env)
    return found


def _range(run: Run, node: Node | None, env: Env) -> d.Range | None:
    return None if node is None else run.ruleset.intervals.closure(node)(env)


def _kg(run: Run, node: Node, env: Env) -> d.Range:
    """The range of a mass in kg; without a value nothing is known of it."""
    low, high, gap = run.ruleset.intervals.closure(node)(env)
    if low > high:
        return _NOTHING_KNOWN
    ends = [end if isinstance(end, float) else Fraction(end) * node.scale for end in (low, high)]
    return ends[0], ends[1], gap


def _bounded(found: d.Range) -> bool:
    return not found[2] and not isinstance(found[0], float) and not isinstance(found[1], float)


def _exact(found: d.Range | None) -> bool:
    """Whether nothing that is still open can matter to a number."""
    return found is not None and found[0] == found[1] and not found[2]


def _width(found: d.Range | None) -> d.Number:
    """How far apart the ends are; endless where there is no value."""
    if found is None or not _bounded(found):
        return d.INFINITE
    return found[1] - found[0]


def _data(run: Run, node: Node | None, env: Env) -> dict[str, Any] | None:
    found = _range(run, node, env)
    if node is None or found is None or found[0] > found[1]:
        return None
    return quantity_data(found[0], found[1], node)


def _surely(run: Run, node: Node, env: Env) -> dict[str, Any] | None:
    """A mass as plain data; None where it may have no value, for then its ends tell nothing."""
    found = _range(run, node, env)
    return None if found is None or found[2] else _data(run, node, env)


def _in_kg(room: d.Range | None) -> dict[str, Any] | None:
    """A range in kg as plain data; infinite ends are null."""
    if room is None:
        return None
    low, high = (None if isinstance(e, float) else plain_number(Fraction(e)) for e in room[:2])
    if low is not None and low == high:
        return {"value": low, "unit": "kg"}
    return {"value": None, "unit": "kg", "low": low, "high": high}


# -- what is missing, and what it rests on -------------------------------------------


def _missing(run: Run, nodes: list[Node], env: Env) -> list[str]:
    """The addresses of what nobody gave and expressions hang on: facts, and lists.

    Those of which a value alone narrows an expression; all, where only several can.
    """
    facts = [fact for fact in open_among(run, nodes, env.records) if fact.value.missing]
    unlisted = _unlisted(env)
    # What a list that is not given would hold is asked for with the list.
    facts = [fact for fact in facts if not unlisted or fact.record not in env.records.values()]
    if 1 < len(facts) <= MOST_TRIED:
        facts = [fact for fact in facts if _narrows(run, fact, nodes, env)] or facts
    return [*(f.address for f in facts), *not_given(run, [*unlisted, *lists_read(nodes)])]


def _narrows(run: Run, fact: OpenFact, nodes: list[Node], env: Env) -> bool:
    """Whether some value of a fact, by itself, leaves less possible than there is."""
    known = [run.ruleset.intervals.closure(node)(env) for node in nodes]
    name, record = next(iter(env.records.items()), ("", None))
    for value in trials(fact, run.bound.world.today):
        world, moved = with_value(run, record, [(fact, value)])
        tried = Env(world, {name: moved} if name else {})
        if known != [run.ruleset.intervals.closure(node)(tried) for node in nodes]:
            return True
    return False


def _document(run: Run, node: Node, env: Env, value: d.Range) -> str:
    """Where the figure of a limit stands, as far as the submission tells: what carries the very
    value, else all that it is made of."""
    carrying: dict[str, None] = {}
    others: dict[str, None] = {}
    for record, fact, known in facts_read(run, [node], env.records):
        if fact.type.kind != "quantity":
            continue
        told = run.bound.told.get(address_of(run.ruleset, record, fact), {})
        said = told.get("source") or source_of(run, record, fact)
        if said:
            same = value[0] == value[1] and known == value[0] and fact.scale == node.scale
            (carrying if same else others)[said] = None
    return "; ".join(carrying or others)
