"""What was said of facts, for people: identification, parts and measurements.

A submission may say of a value who found it, when, with what and in which condition. That is
kept beside the value and never decides anything.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Final

from modrules.language.records import NONE_STATED, Open
from modrules.language.tree import FactName
from modrules.screening.explain import address_of
from modrules.screening.prepared import Run
from modrules.screening.show import quantity_of
from modrules.screening.values import TOLD

KIND: Final = "modification.kind"


def identification(run: Run) -> dict[str, str]:
    """What tells this vehicle from others: title to value, as it was written."""
    found = {}
    for item in run.ruleset.flat.facts.values():
        value = run.bound.given.get(str(item.id))
        if item.identifies and value:
            found[str(item.title)] = _words(value)
    return found


def unidentified(run: Run) -> list[str]:
    """The titles of the facts that would tell this vehicle from others and were not given."""
    facts = run.ruleset.flat.facts.values()
    given = run.bound.given
    return [str(item.title) for item in facts if item.identifies and not given.get(str(item.id))]


def facts_of(run: Run, record: Any) -> list[dict[str, str]]:
    """The facts given of one modification: title and value as it was written."""
    found = []
    for fact in _facts(run, record):
        value = run.bound.given.get(address_of(run.ruleset, record, fact))
        if value and fact.id != KIND:
            found.append({"fact": fact.id, "title": _title(run, fact), "value": _said(value, fact)})
    return found


def measurements_of(run: Run) -> list[dict[str, Any]]:
    """Every measured fact given, and whatever else was told of with who, when or with what."""
    found = []
    for record in _records(run):
        for fact in _facts(run, record):
            address = address_of(run.ruleset, record, fact)
            value = run.bound.given.get(address)
            told = run.bound.told.get(address, {})
            measured = fact.type.kind == "quantity" and not fact.type.whole
            if not value or not (told or measured):
                continue
            source = told.get("source") or source_of(run, record, fact)
            item = run.ruleset.flat.facts.get(fact.id)
            condition = str(item.condition) if item is not None and item.condition else ""
            asked = run.ruleset.flat.conditions.get(condition)
            found.append(
                {
                    "fact": address,
                    "title": _title(run, fact),
                    "value": _said(value, fact),
                    "quantity": _quantity(getattr(record, fact.slot, None), fact),
                    **{key: told.get(key, "") for key in TOLD},
                    "source": source,
                    "wanted": str(asked.title) if asked is not None else "",
                }
            )
    return found


def source_of(run: Run, record: Any, fact: FactName) -> str:
    """The plate on which a rating stands: its own, or the maker's with the same value."""
    if record.kind == "plate":
        return _plate(run, record)
    leaf = fact.id.partition(".")[2]
    if fact.subject != "ratings":
        return ""
    own = run.ruleset.typed.names.facts.get(f"plate.{leaf}")
    for plate in getattr(run.bound.world, "plate_", ()):
        same = own is not None and getattr(plate, own.slot) == getattr(record, fact.slot)
        if same and run.bound.given.get(f"plates.{plate.id}.plate_kind") == "build":
            return _plate(run, plate)
    return ""


def _plate(run: Run, plate: Any) -> str:
    """A plate in words: ``plate mass-plate: mass, engineer, number OM-0417, 2026-08-19``."""
    given = run.bound.given
    parts = [_words(given.get(f"plates.{plate.id}.{key}", "")) for key in ("plate_kind", "source")]
    number = given.get(f"plates.{plate.id}.number", "")
    parts += [f"number {number}" if number else "", given.get(f"plates.{plate.id}.issued", "")]
    return f"plate {plate.id}: {', '.join(filter(None, parts))}"


def _records(run: Run) -> Iterator[Any]:
    """The records of a submission, in the order of the vocabulary's subjects."""
    layout, world = run.ruleset.layout, run.bound.world
    kinds = run.ruleset.flat.kinds
    for name in layout.singles:
        yield getattr(world, f"{name}_")
    for name in layout.lists:
        if name not in kinds:
            yield from getattr(world, f"{name}_") or ()


def _facts(run: Run, record: Any) -> Iterator[FactName]:
    for fact in run.ruleset.typed.names.facts.values():
        own = fact.subject in (record.kind, "modification")
        if own and hasattr(record, fact.slot):
            yield fact


def _title(run: Run, fact: FactName) -> str:
    item = run.ruleset.flat.facts.get(fact.id)
    return str(item.title) if item is not None else "Date of fitting"


def _said(value: str, fact: FactName) -> str:
    """A value as it was written; yes and no in these words, however the file spelt them."""
    if fact.type.kind == "yes_no":
        return {"true": "yes", "false": "no"}.get(value.lower(), value)
    return _words(value) if fact.type.kind == "word" else value


def _words(value: str) -> str:
    """A word of the vocabulary as people write it."""
    return value.replace("_", " ") if value.replace("_", "").isalpha() else value


def _quantity(value: Any, fact: FactName) -> Mapping[str, Any] | None:
    """The number of a measured fact in its declared unit, with its ends where it has any."""
    if fact.type.kind != "quantity" or value is None or value == NONE_STATED:
        return None
    low, high = (value.low, value.high) if isinstance(value, Open) else (value, value)
    return quantity_of(low, high, fact)
