"""What would void a plate or certificate that is held, and how far what it covers may still go.

A plate that falls short today says so whatever asks for it; for each value that it states,
the room that is left says at what change it stops covering the work.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from modrules.language import domains as d
from modrules.language.records import Open, records_of
from modrules.language.tree import FactName
from modrules.screening.covering import FITTED, sufficient, within
from modrules.screening.documents import CONDITIONS_KEPT, Document
from modrules.screening.evidence import Required, wanted_by, wrong_with
from modrules.screening.explain import address_of
from modrules.screening.plate_papers import is_paper_of
from modrules.screening.prepared import Run
from modrules.screening.show import quantity_of


def void_of(run: Run, document: Document, required: Iterable[Required]) -> list[str]:
    """What voids a plate or certificate as things stand, or may, in whole sentences."""
    typed = run.ruleset.typed
    if document.certification is None:
        return []
    world = run.bound.world
    wanted = {m.id: m for m in world.modification_ if m.id in document.modifications}
    for name, _, causes in required:
        if document.certification in sufficient(typed, name):
            wanted.update({m.id: m for m in wanted_by(run, causes)})
    item = typed.flat.certifications[document.certification]
    found = wrong_with(run, document, item, [m for m in world.modification_ if m.id in wanted])
    return [*found, *_conditions(run, document)]


def _conditions(run: Run, document: Document) -> Iterator[str]:
    """Whether the conditions on a plate are kept, where the plate on the vehicle says so."""
    typed = run.ruleset.typed
    kept = typed.names.facts.get(CONDITIONS_KEPT)
    if kept is None:
        return
    for plate in records_of(run.bound.world, kept.subject):
        if is_paper_of(plate, document, run.bound.papers, typed) != d.TRUE:
            continue
        value = getattr(plate, kept.slot)
        if value is False:
            yield f"Its conditions are not kept (plate {plate.id})."
        elif isinstance(value, Open):
            yield f"Whether its conditions are kept is not known (plate {plate.id})."


def room_of(run: Run, document: Document) -> list[dict[str, Any]]:
    """For each value up to which a document covers: what it is now, and what room is left.

    ``room`` is a quantity in the unit of the fact, less than 0 where the value is past what is
    covered; None where the value is not known at all.
    """
    return [
        {
            "fact": address_of(run.ruleset, record, fact),
            "title": str(run.ruleset.flat.facts[fact.id].title),
            "covered": quantity_of(limit, limit, fact),
            "now": None if ends is None else quantity_of(*ends, fact),
            "room": None if ends is None else quantity_of(limit - ends[1], limit - ends[0], fact),
            "within": within(limit, getattr(record, fact.slot)) == d.TRUE,
        }
        for record, fact, limit in _covered(run, document)
        for ends in [_ends(getattr(record, fact.slot))]
    ]


def planned(run: Run, modification: Any) -> bool:
    """Whether a modification is or may be still to come: no past date of fitting is given."""
    fitted = getattr(modification, run.ruleset.typed.names.facts[FITTED].slot)
    last = fitted.high if isinstance(fitted, Open) else fitted
    return bool(last > run.bound.world.today)


def _covered(run: Run, document: Document) -> Iterator[tuple[Any, FactName, Any]]:
    """Record, fact and limit of each value up to which a document covers."""
    typed = run.ruleset.typed
    for name, limit in document.up_to.items():
        fact = typed.names.facts[name]
        for record in records_of(run.bound.world, fact.subject):
            concerned = record.kind not in typed.flat.kinds or record.id in document.modifications
            if concerned and hasattr(record, fact.slot):
                yield record, fact, limit


def _ends(value: Any) -> tuple[Any, Any] | None:
    """The least and the greatest that a number may be; None where nothing is known of it."""
    if not isinstance(value, Open):
        return value, value
    low, high, _ = value.range
    if value.missing or low > high or isinstance(low, float) or isinstance(high, float):
        return None
    return low, high
