"""Whether documents cover what was done.

``covered`` says what a certification that a check requires has turned into: certified where a
document definitely covers what was done, still required where none can, both where that
depends on an open fact. Whatever is not plainly covered stays required.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

from modrules.language import domains as d
from modrules.language.records import Open, attribute, records_of
from modrules.language.tree import FactName
from modrules.ruleset.typed import BIT, TypedRuleset
from modrules.screening.documents import CERTIFYING, CLAIM, NUMBER, PART, VARIANT, Document

REQUIRED: Final = BIT["certification required"]
CERTIFIED: Final = BIT["certified"]
FITTED: Final = "modification.fitted"
#: Written for a name that nobody knows: it is the same as no other, and as no second unknown one.
NAMELESS: Final = ("", "unknown", "notknown", "?", "-")


def sufficient(typed: TypedRuleset, certification: str) -> frozenset[str]:
    """The certification itself and all higher ones that cover it."""
    found: set[str] = set()
    wanted = [certification]
    while wanted:
        name = wanted.pop()
        if name in found or name not in typed.flat.certifications:
            continue
        found.add(name)
        wanted += [str(other) for other in typed.flat.certifications[name].covered_by]
    return frozenset(found)


def covers(
    document: Document, certification: str, needed: tuple[Any, ...], world: Any, typed: TypedRuleset
) -> int:
    """Whether a document covers a certification for the modifications: a truth mask."""
    if document.certification not in sufficient(typed, certification):
        return d.FALSE
    if document.kind not in CERTIFYING:
        return d.FALSE
    mask = d.AND[dated(document, world.today)][meant_for(document, needed, world, typed)]
    item = typed.flat.certifications[str(document.certification)]
    for modification in needed:
        if modification.id not in document.modifications:
            return d.FALSE
        if (
            item.approval_before_work
            or typed.flat.certifications[certification].approval_before_work
        ):
            fitted = _ends(modification.modification__fitted)
            issued = document.issued
            mask = d.AND[mask][
                d.at_most((issued[0], issued[1], False), fitted) if issued else d.FALSE
            ]
    return d.AND[mask][held_up_to(document, world, typed)]


def held_up_to(document: Document, world: Any, typed: TypedRuleset) -> int:
    """Whether what was done stays within what a document covers at most: a truth mask."""
    mask = d.TRUE
    for fact_id, limit in document.up_to.items():
        fact = typed.names.facts[fact_id]
        if fact.subject in world.unlisted:
            mask = d.AND[mask][d.UNDECIDED]
        for record in records_of(world, fact.subject):
            concerned = record.kind not in typed.flat.kinds or record.id in document.modifications
            if concerned and hasattr(record, fact.slot):
                mask = d.AND[mask][within(getattr(record, fact.slot), limit)]
                if mask == d.FALSE:
                    return mask
    return mask


def within(value: Any, limit: Any) -> int:
    """Whether what was done stays within what a document covers.

    A value that nobody states is not shown to, so it is not covered.
    """
    low, high, none = value.range if isinstance(value, Open) else (value, value, False)
    mask = d.FALSE if none else 0
    if low <= high:
        mask |= d.at_most((low, high, False), (limit, limit, False))
    return mask


def meant_for(document: Document, needed: tuple[Any, ...], world: Any, typed: TypedRuleset) -> int:
    """Whether the vehicle and parts that a document names are those at hand: a truth mask."""
    mask = of_this_vehicle(document, world, typed)
    if says_no_vehicle(document, typed):
        mask = d.AND[mask][d.UNDECIDED]
    if document.parts:
        for modification in needed:
            mask = d.AND[mask][named(modification, PART, document.parts, typed)]
    return mask


def of_this_vehicle(document: Document, world: Any, typed: TypedRuleset) -> int:
    """Whether the vehicle and variant that a document names, if any, are this one: a mask."""
    vehicle = getattr(world, attribute("vehicle"), None)
    mask = d.TRUE
    for fact, names in ((NUMBER, document.vehicles), (VARIANT, document.variants)):
        if names:
            mask = d.AND[mask][named(vehicle, fact, names, typed)]
    return mask


def says_no_vehicle(document: Document, typed: TypedRuleset) -> bool:
    """Whether a document may be for another vehicle because it does not say for which it is.

    That holds whether or not the number of the vehicle at hand is given: to give it is more
    information about the vehicle, and makes the paper neither better nor worse.
    """
    return not document.vehicles and NUMBER in typed.names.facts


def named(record: Any, fact_id: str, names: tuple[str, ...], typed: TypedRuleset) -> int:
    """Whether a text fact of a record is one of some names: a truth mask.

    Case and blanks don't count. Where the vocabulary lacks the fact nothing can show it.
    """
    fact = typed.names.facts.get(fact_id)
    if fact is None or not hasattr(record, fact.slot):
        return d.FALSE
    wanted = {plain(name) for name in names} - set(NAMELESS)
    if not wanted:
        return d.FALSE
    value = getattr(record, fact.slot)
    if isinstance(value, Open):
        stated = value.values is None or bool(value.values)
        return d.UNDECIDED if stated else d.FALSE
    return d.TRUE if plain(value) in wanted else d.FALSE


def plain(name: str) -> str:
    """A name without case and blanks, by which two are compared."""
    return "".join(name.split()).casefold()


def dated(document: Document, today: int) -> int:
    """Whether it is issued and not expired on a day: a truth mask."""
    now: d.Range = (today, today, False)
    if document.issued is None:
        return d.FALSE
    mask = d.at_most((*document.issued, False), now)
    if document.expires is not None:
        mask = d.AND[mask][d.at_most(now, (*document.expires, False))]
    return mask


def _ends(value: Any) -> d.Range:
    return (value.low, value.high, False) if isinstance(value, Open) else (value, value, False)


def item_covers(
    document: Document, needed: tuple[Any, ...], world: Any, typed: TypedRuleset
) -> int:
    """Whether an item of evidence counts for the modifications that it is needed for: a mask."""
    if document.kind == CLAIM or not {m.id for m in needed} <= document.modifications:
        return d.FALSE
    mask = d.AND[dated(document, world.today)][meant_for(document, needed, world, typed)]
    return d.AND[mask][held_up_to(document, world, typed)]


def covered(
    documents: tuple[Document, ...],
    certification: str,
    needed: tuple[Any, ...],
    world: Any,
    typed: TypedRuleset,
) -> int:
    """The outcomes that a required certification may have turned into."""
    mask = d.FALSE
    for document in documents:
        if document.certification is not None:
            mask = d.OR[mask][covers(document, certification, needed, world, typed) & ~d.GAP]
            if mask == d.TRUE:
                break
    outcomes = REQUIRED if mask & d.FALSE else 0
    return outcomes | (CERTIFIED if mask & d.TRUE else 0)


def resting_on(documents: tuple[Document, ...], typed: TypedRuleset) -> tuple[FactName, ...]:
    """The facts on which it hangs whether these documents cover anything."""
    found = {FITTED, *(fact for document in documents for fact in document.facts)}
    return tuple(typed.names.facts[fact] for fact in sorted(found & typed.names.facts.keys()))


def values_of(facts: tuple[FactName, ...], world: Any) -> tuple[Any, ...]:
    """What is known of some facts: where it is the same, what documents cover is too."""
    found: list[Any] = []
    for fact in facts:
        found.append(fact.subject in world.unlisted)
        found += [getattr(record, fact.slot, None) for record in records_of(world, fact.subject)]
    return tuple(found)


def open_facts(
    documents: tuple[Document, ...], needed: tuple[Any, ...], world: Any, typed: TypedRuleset
) -> Iterator[tuple[Any, FactName, tuple[str, ...]]]:
    """Record and name of each open fact on which it hangs whether documents cover the work.

    With a text come the names that a document states for it.
    """
    names = typed.names.facts
    for document in documents:
        if document.certification is None:
            continue
        stated = {NUMBER: document.vehicles, VARIANT: document.variants, PART: document.parts}
        for fact_id in (*document.facts, FITTED):
            fact = names.get(fact_id)
            if fact is None:
                continue
            records = needed if fact.subject == "modification" else records_of(world, fact.subject)
            for record in records:
                value = getattr(record, fact.slot, None)
                if isinstance(value, Open) and not (value.none and value.low > value.high):
                    yield record, fact, stated.get(fact_id, ())
