"""What of a finding is open: the facts and lists that can still change it, and how precisely.

Everything here is worked out when it is asked for, from the same typed tree and the
same evaluator that decided; nothing is remembered from the screening.
"""

from __future__ import annotations

import copy
import datetime
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Final

from modrules.language.possible import Env, is_none
from modrules.language.records import Open, attribute, bound_records
from modrules.language.tree import FactName, Node, walk
from modrules.ruleset.typed import TypedCheck
from modrules.screening import covering
from modrules.screening.lists import conditions, lacks, settle, telling_whole
from modrules.screening.prepared import NotGiven, Ruleset, Run, bindings, concerned
from modrules.screening.show import number_words

MOST_TRIED: Final = 40
#: Where both are possible, it hangs on a document.
HELD: Final = covering.REQUIRED | covering.CERTIFIED
_LAST_DAY: Final = datetime.date.max.toordinal()


@dataclass(frozen=True, slots=True)
class OpenFact:
    """An open fact that a check reads: its address, its record and its value."""

    address: str
    fact: FactName
    record: Any
    value: Open
    #: The names to try for a text; empty: there are none to try.
    names: tuple[str, ...] = ()


# -- open facts --------------------------------------------------------------------


def open_facts(run: Run, check: TypedCheck, subject: Any) -> list[OpenFact]:
    """The open facts that a check reads, in the order of its text."""
    if isinstance(subject, NotGiven):
        return open_among(run, _lacking(run, subject.per), {})
    over = _lacking(run, lists_read(check.nodes()))
    return open_among(run, [*check.nodes(), *over], bindings(check, subject))


def _lacking(run: Run, subjects: Iterable[str]) -> list[Node]:
    """On what it hangs that lists which may lack entries are whole."""
    world = run.bound.world
    lists = [name for name in subjects if lacks(world, name)]
    return conditions(run.ruleset.typed, world, lists)


def open_among(run: Run, tops: Iterable[Node], bound: Mapping[str, Any]) -> list[OpenFact]:
    """The open facts that expressions read, in the order of their text."""
    found: dict[str, OpenFact] = {}
    for record, fact, value in facts_read(run, tops, bound):
        if isinstance(value, Open) and not is_none(value):
            address = address_of(run.ruleset, record, fact)
            found.setdefault(address, OpenFact(address, fact, record, value))
    return list(found.values())


def facts_read(
    run: Run, tops: Iterable[Node], bound: Mapping[str, Any]
) -> Iterator[tuple[Any, FactName, Any]]:
    """The facts that expressions read, each with its record and its value there."""
    for node in _reads(tops):
        binding, fact_id, slot = node.value
        fact = run.ruleset.typed.names.facts[fact_id]
        for record in bound_records(run.bound.world, bound, binding):
            yield record, fact, getattr(record, slot, None)


def lists_missing(run: Run, check: TypedCheck, subject: Any) -> list[str]:
    """The lists that a check reads and that may lack entries, by their keys."""
    names = lists_read(check.nodes())
    if isinstance(subject, NotGiven):
        names += [name for name in subject.per if run.ruleset.typed.names.subjects[name].many]
    return not_given(run, names)


def lists_read(tops: Iterable[Node]) -> list[str]:
    """The subjects over whose lists expressions run."""
    return [n.value[1].removeprefix("each ") for n in walk(tops) if n.op == "over"]


def not_given(run: Run, names: Iterable[str]) -> list[str]:
    """The keys of those of these lists that may lack entries."""
    world = run.bound.world
    keys = []
    for name in names:
        if lacks(world, name):
            item = run.ruleset.flat.subjects.get(name)
            key = str(item.list) if item is not None and item.list is not None else name
            if key not in keys:
                keys.append(key)
    return keys


def _reads(tops: Iterable[Node]) -> Iterator[Node]:
    return (node for node in walk(tops) if node.op in ("fact", "stated", "fallback"))


def address_of(ruleset: Ruleset, record: Any, fact: FactName) -> str:
    """Where a fact stands in a submission: ``axles.front.tyre.marking``."""
    rest = fact.id.partition(".")[2]
    if record.kind in ruleset.flat.kinds:
        return f"modifications.{record.id}.{rest}"
    item = ruleset.flat.subjects.get(record.kind)
    if item is not None and item.list is not None:
        return f"{item.list}.{record.id}.{rest}"
    return f"{record.kind}.{rest}"


def with_value(run: Run, subject: Any, changes: list[tuple[OpenFact, Any]]) -> tuple[Any, Any]:
    """A copy of the world in which some facts have other values, and the subject in it."""
    world = copy.copy(run.bound.world)
    layout = run.ruleset.layout
    replaced: dict[int, Any] = {}
    for fact, value in changes:
        record = replaced.get(id(fact.record))
        if record is None:
            record = replaced[id(fact.record)] = copy.copy(fact.record)
        setattr(record, fact.fact.slot, value)
        bit = layout.bits[fact.fact.id]
        record.mask = record.mask | bit if isinstance(value, Open) else record.mask & ~bit
    # Of many subjects few are changed: the others stay the very same.
    for name in {name for fact, _ in changes for name in _found_under(run, fact.record)}:
        old = getattr(world, attribute(name))
        if isinstance(old, tuple):
            setattr(world, attribute(name), tuple([replaced.get(id(r), r) for r in old]))
        else:
            setattr(world, attribute(name), replaced.get(id(old), old))
    settle(layout, world)
    if isinstance(subject, tuple):
        return world, tuple(replaced.get(id(r), r) for r in subject)
    return world, replaced.get(id(subject), subject)


def _found_under(run: Run, record: Any) -> tuple[str, ...]:
    """The subjects under which a world has a record: a modification under its kind too."""
    if record.kind in run.ruleset.flat.kinds:
        return record.kind, "modification"
    return (record.kind,)


def trials(fact: OpenFact, today: int) -> list[Any]:
    """Values to try for an open fact: each of a few, or the ends and what lies between."""
    value = fact.value
    if value.values is not None and value.low > value.high:
        cases: list[Any] = sorted(value.values)[:MOST_TRIED]
    elif fact.fact.type.kind in ("word", "text"):
        cases = list(fact.names)
    else:
        first, last = (1, _LAST_DAY) if fact.fact.type.kind == "date" else (0, 10**15)
        low = first if isinstance(value.low, float) else value.low
        high = last if isinstance(value.high, float) else value.high
        between = today if fact.fact.type.kind == "date" else Fraction(low + high) / 2
        cases = sorted({low, high, *([between] if low <= between <= high else [])})
    if value.none:
        cases.append(Open(1, 0, frozenset(), none=True))
    return cases


def missing(run: Run, check: TypedCheck, subject: Any, possible: int) -> list[OpenFact]:
    """The open facts of which a value alone can narrow the finding; all, where only several can."""
    candidates = open_facts(run, check, subject)
    read = len(candidates)
    if possible & HELD == HELD:
        known = {fact.address for fact in candidates}
        candidates += _open_papers(run, check, subject, known)
    if len(candidates) < 2:
        return candidates
    whole = telling_whole(run.ruleset.typed, run.bound.world)

    def tried(fact: OpenFact, value: Any, *, read: bool) -> int:
        if not (read or isinstance(subject, NotGiven) or fact.fact.id in whole):
            here = run.bound.papers.here_with(fact.record, fact.fact, value)
            if here is not None:
                return run.evaluate_by(check, subject, here, enough=possible)
        world, moved = with_value(run, subject, [(fact, value)])
        return run.evaluate(check, moved, world, enough=possible)

    deciding = [
        fact
        for number, fact in enumerate(candidates[:MOST_TRIED])
        if any(
            tried(fact, value, read=number < read) != possible
            for value in trials(fact, run.bound.world.today)
        )
    ]
    return deciding or candidates


def _open_papers(run: Run, check: TypedCheck, subject: Any, known: set[str]) -> list[OpenFact]:
    """The open facts on which it hangs whether a document covers the work, but those known."""
    bound = run.bound
    needed = concerned(check, subject, bound.world, run.ruleset.flat.kinds)
    found: dict[str, OpenFact] = {}
    for record, fact, names in bound.papers.open_facts(needed or bound.world.modification_):
        address = address_of(run.ruleset, record, fact)
        if address not in known:
            value = getattr(record, fact.slot)
            found.setdefault(address, OpenFact(address, fact, record, value, names))
    return list(found.values())


def precision(run: Run, check: TypedCheck, subject: Any) -> str | None:
    """How precisely the measure must be known to settle which side of an end it lies on."""
    if check.measure is None or isinstance(subject, NotGiven):
        return None
    env = Env(run.bound.world, bindings(check, subject))
    evaluator = run.ruleset.evaluator(check)
    assert evaluator.measure is not None
    low, high, gap = evaluator.measure(env)
    if gap or low >= high or isinstance(low, float) or isinstance(high, float):
        return None
    if any(fact.value.missing for fact in open_facts(run, check, subject)):
        return None
    ends: list[Any] = [e for band in check.bands for e in (band.low, band.high) if e is not None]
    if check.limit is not None:
        limit = run.ruleset.intervals.closure(check.limit)(env)
        if limit[0] == limit[1]:
            ends.append(limit[0])
    between = [end for end in ends if low <= end <= high]
    if not between:
        return None
    middle = (Fraction(low) + Fraction(high)) / 2
    nearest_end = min(between, key=lambda end: abs(middle - end))
    distance = abs(middle - nearest_end)
    limit_words = number_words(nearest_end, check.measure)
    if distance == 0:
        return f"lies right on {limit_words}; only an exact measurement settles it"
    return (
        f"must be known to within {number_words(distance, check.measure)} to settle {limit_words}"
    )
