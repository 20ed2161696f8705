"""Facts at run time: one slotted class per kind of subject.

A slot holds the exact value (int or Fraction counted in quanta, bool, interned
word or text, ordinal of a date), or an Open value when more than one is possible
or none is stated; then the fact's bit is set in the record's mask of open facts.
A slot is never None.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import reduce
from typing import Any, Final

from modrules.language.domains import INFINITE, Choice, Number, Range
from modrules.language.tree import Names


@dataclass(frozen=True, slots=True)
class Open:
    """What is known of a fact that is not exactly known.

    Numbers and dates have ends; words, texts and yes/no have ``values`` (None: any).
    ``none``: the maker may state none. ``missing``: nothing at all was given.
    """

    low: Number = -INFINITE
    high: Number = INFINITE
    values: frozenset[Any] | None = None
    none: bool = False
    missing: bool = False

    @property
    def range(self) -> Range:
        return self.low, self.high, self.none

    @property
    def choice(self) -> Choice:
        return self.values, self.none


#: a number or date that is known to be not stated
NONE_STATED: Final = Open(1, 0, frozenset(), none=True)


#: What a world has beside its records: the day of the screening, for each list that may lack
#: entries one of which nothing is known (``unlisted``), and for each list that is given on which
#: condition it names all (``whole_if``): an evaluator, and such an entry.
_OF_THE_WORLD: Final = ("today", "day", "unlisted", "whole_if")


class Layout:
    """The record classes of one vocabulary and the bit of each fact.

    A fact of a list subject has two bits: one where the check is about one of the
    list (set in that record's mask), one where the check reads the whole list (set
    in the world's mask). A list that may lack entries has a bit of its own.
    """

    __slots__ = (
        "bits",
        "each_bits",
        "lists",
        "names",
        "records",
        "seen",
        "singles",
        "unknown",
        "world",
    )

    def __init__(self, names: Names) -> None:
        self.names = names
        self.singles = tuple(n for n, subject in names.subjects.items() if not subject.many)
        self.lists = tuple(n for n, subject in names.subjects.items() if subject.many)
        slots: dict[str, list[str]] = {name: [] for name in names.subjects}
        for fact in names.facts.values():
            slots[fact.subject].append(fact.slot)
        common = slots.get("modification", [])
        self.records: dict[str, type[Any]] = {}
        for name, subject in names.subjects.items():
            own = slots[name] + (common if subject.is_kind else [])
            self.records[name] = _record_class(name, own)
        #: by subject, a vocabulary and the slots of a record of which it knows nothing, once made
        self.unknown: dict[str, tuple[Any, tuple[tuple[str, Any], ...]]] = {}
        self.world = _record_class("world", [*map(attribute, names.subjects), *_OF_THE_WORLD])
        # Shared counting: facts first, so that most masks stay small.
        self.bits = {fact: 1 << i for i, fact in enumerate(names.facts)}
        many = [f.id for f in names.facts.values() if names.subjects[f.subject].many]
        start = len(self.bits)
        self.each_bits = {fact: 1 << (start + i) for i, fact in enumerate(many)}
        start += len(many)
        #: for the bit of a fact in a record of a list, its bit as seen from outside
        self.seen = {self.bits[fact]: bit for fact, bit in self.each_bits.items()}
        for i, name in enumerate(self.lists):
            self.each_bits[f"each {name}"] = 1 << (start + i)


def attribute(subject: str) -> str:
    """The world's attribute for a subject: the record, or a tuple of those that are given."""
    return f"{subject}_"


def records_of(world: Any, subject: str) -> tuple[Any, ...]:
    """The records of a subject that are given."""
    found = getattr(world, attribute(subject), ())
    return found if isinstance(found, tuple) else (found,)


def bound_records(world: Any, bound: Mapping[str, Any], binding: str) -> tuple[Any, ...]:
    """What a binding stands for: its own record, or the records of its subject, if any."""
    if binding in bound:
        return (bound[binding],)
    return records_of(world, binding.removeprefix("each "))


def _record_class(name: str, slots: Iterable[str]) -> type[Any]:
    members: Mapping[str, Any] = {"__slots__": ("id", "kind", "mask", "place", *slots)}
    return type(name, (), dict(members))


def world_mask(layout: Layout, world: Any) -> int:
    """The open facts of the one-of subjects, and of all lists as seen from outside."""
    mask = 0
    for name in layout.singles:
        mask |= getattr(world, attribute(name)).mask
    for name in layout.lists:
        if name in world.unlisted:
            mask |= layout.each_bits[f"each {name}"]
        inside = reduce(lambda m, record: m | record.mask, getattr(world, attribute(name)), 0)
        while inside:
            bit = inside & -inside
            mask |= layout.seen[bit]
            inside ^= bit
    return mask
