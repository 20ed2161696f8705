"""Submissions made at random: a target in which everything is exact, and looser ones.

A target gives each fact that the ruleset reads one exact value, consistent with the
estimates. ``loosened`` says less about the same vehicle: a tolerance around a value, a month
in place of a day, nothing at all. So the target is always among what the looser one allows.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from generators import CERTIFICATIONS, TODAY, Made
from law_choices import Choices, chance, pick, some
from law_vocabulary import (
    DAYS,
    FIRST_DAY,
    GRID,
    KINDS,
    LAST_DAY,
    LISTS,
    MARKINGS,
    SINGLES,
    TEXTS,
    FactSpec,
    words_of,
)
from reference import NONE_STATED, SI, Paper, Period, Reference, World

Address = tuple[str, str]


@dataclass(frozen=True)
class Exact:
    """One value: as it is written, and as the reference takes it."""

    text: str
    value: Any


@dataclass(frozen=True)
class Around:
    """A measurement with its tolerance, or a date of which only the year or month is known."""

    text: str
    low: Any
    high: Any
    unit: str


#: what is said of a fact; None: nothing
Said = Exact | Around | None


@dataclass(frozen=True)
class Vehicle:
    """A submission: its records, what is said of each fact, its documents.

    ``records`` maps a subject to the ids of its records; None: the list is not given.
    ``said`` is keyed by (id of the record, id of the fact); one-of subjects have the id "".
    """

    records: Mapping[str, tuple[str, ...] | None]
    kinds: Mapping[str, str]
    said: Mapping[Address, Said]
    papers: tuple[Mapping[str, Any], ...] = ()

    def data(self) -> dict[str, Any]:
        """The submission as plain data."""
        made: dict[str, Any] = {"submission": "Made up", "modifications": []}
        for (record, fact), said in self.said.items():
            if said is None:
                continue
            subject = fact.partition(".")[0]
            branch = made.setdefault(subject, {}) if not record else self._entry(made, record)
            *stems, leaf = fact.split(".")[1:]
            for stem in stems:
                branch = branch.setdefault(stem, {})
            branch[leaf] = said.text
        for subject, key in LISTS.items():
            ids = self.records[subject]
            if ids is None:
                made.pop(key, None)
            else:
                made[key] = [self._entry(made, name) for name in ids]
        made["modifications"] = [self._entry(made, n) for n in self.records["modification"] or ()]
        made.pop("entries", None)
        if self.papers:
            made["evidence"] = [dict(paper) for paper in self.papers]
        return made

    def _entry(self, made: dict[str, Any], record: str) -> dict[str, Any]:
        entries: dict[str, Any] = made.setdefault("entries", {})
        own = {"id": record} | ({"kind": self.kinds[record]} if record in self.kinds else {})
        found: dict[str, Any] = entries.setdefault(record, own)
        return found

    def world(self, facts: Mapping[str, FactSpec]) -> World:
        """The same for the reference; every fact said must be exact."""
        subjects: dict[str, Any] = {name: {} for name in SINGLES}
        entries: dict[str, dict[str, Any]] = {}
        for ids in self.records.values():
            for name in ids or ():
                entries[name] = {"id": name}
                if name in self.kinds:
                    entries[name] |= {
                        "kind": self.kinds[name],
                        "modification.kind": self.kinds[name],
                    }
        for (record, fact), said in self.said.items():
            if said is not None:
                assert isinstance(said, Exact)
                owner = entries[record] if record else subjects[facts[fact].subject]
                owner[fact] = said.value
        for subject in (*LISTS, "modification"):
            subjects[subject] = [entries[name] for name in self.records[subject] or ()]
        return World(subjects, TODAY.toordinal(), tuple(paper_of(p) for p in self.papers))


def paper_of(document: Mapping[str, Any]) -> Paper:
    """A document for the reference."""
    covers = document.get("covers", {})
    return Paper(
        document["certification"],
        _ordinal(document["issued"]) if "issued" in document else None,
        _ordinal(document["expires"]) if "expires" in document else None,
        frozenset(covers.get("modifications", ())),
        {fact: _si(text) for fact, text in covers.get("up_to", {}).items()},
    )


def _ordinal(text: str) -> int:
    return datetime.date.fromisoformat(text).toordinal()


def _si(text: str) -> Fraction:
    number, _, unit = text.partition(" ")
    return Fraction(number) * SI[unit]


# -- targets -----------------------------------------------------------------------------


def make_target(choices: Choices, made: Made) -> Vehicle:
    """An exact submission for a ruleset."""
    records: dict[str, tuple[str, ...] | None] = {
        "axle": tuple(f"axle-{i}" for i in range(pick(choices, (2, 1, 3, 2, 0, 1)))),
        "wheel": tuple(f"wheel-{i}" for i in range(pick(choices, (1, 2, 1, 0)))),
    }
    kinds: dict[str, str] = {}
    for i in range(pick(choices, (1, 2, 3, 2, 0))):
        kinds[f"mod-{i}"] = pick(choices, KINDS)
    records["modification"] = tuple(kinds)
    said: dict[Address, Said] = {}
    # Estimates come last: what they are made from must be there first.
    for fact in sorted(made.used, key=lambda f: bool(f.estimate)):
        for record in _owners(fact, records, kinds):
            value = exact_value(choices, made, fact)
            if fact.estimate:
                value = _consistent(choices, made, fact, record, said, value)
            said[record, fact.id] = value
    return Vehicle(records, kinds, said, _papers(choices, made, kinds))


def _owners(
    fact: FactSpec, records: Mapping[str, tuple[str, ...] | None], kinds: Mapping[str, str]
) -> Iterator[str]:
    if fact.subject in SINGLES:
        yield ""
    elif fact.subject in KINDS:
        yield from (name for name, kind in kinds.items() if kind == fact.subject)
    else:
        yield from records[fact.subject] or ()


def exact_value(choices: Choices, made: Made, fact: FactSpec) -> Exact:
    """One value of a fact, often a number that stands in the ruleset."""
    if fact.none_stated and chance(choices, 1, 5):
        return Exact("none stated", NONE_STATED)
    if fact.type == "yes_no":
        return pick(choices, (Exact("yes", True), Exact("no", False)))
    if fact.type == "word":
        word = pick(choices, words_of(fact))
        return Exact(word, word)
    if fact.type == "listed":
        listed = next(table["rows"] for table in made.data["tables"] if table["id"] == "symbols")
        text = pick(choices, [row[0] for row in listed])
        return Exact(text, text)
    if fact.type in ("text", "tyre_marking"):
        text = pick(choices, TEXTS if fact.type == "text" else MARKINGS)
        return Exact(text, text)
    if fact.type == "date":
        return day(pick(choices, (*DAYS, "2026-07-15", "2026-07-16", "2024-02-29")))
    if fact.type == "period":
        text = pick(choices, ("6 months", "15 months", "1 months", "2 years", "5 years"))
        number, _, unit = text.partition(" ")
        return Exact(text, Period(int(number) * (12 if unit == "years" else 1)))
    if fact.type == "count":
        number = pick(choices, ("2", "1", "0", "3", "4"))
        return Exact(number, Fraction(number))
    keys = made.literals.get(f"key {fact.type}", [])
    pool = keys if chance(choices, 1, 4) else made.literals.get(fact.type, [])
    if pool and chance(choices, 1, 2):
        number, unit = pick(choices, pool)
        if unit not in fact.units:
            number, unit = number * 100, "%"
        for value in (number, number * pick(choices, (1, 2, 3)), -number):
            if _inside(value, unit, fact):
                return measured(value, unit)
    unit = pick(choices, fact.units)
    value = pick(choices, GRID)
    while not _inside(value, unit, fact):
        value /= 10
    return measured(value, unit)


def measured(value: Fraction, unit: str) -> Exact:
    """A value written in a unit."""
    return Exact(f"{decimal(value)} {unit}".strip(), value * SI[unit])


def day(text: str) -> Exact:
    return Exact(text, _ordinal(text))


def _inside(value: Fraction, unit: str, fact: FactSpec) -> bool:
    low, high, own = fact.ends
    return low * SI[own] <= value * SI[unit] <= high * SI[own]


def decimal(value: Fraction) -> str:
    """A terminating fraction as a decimal."""
    text = decimal_or_none(value)
    assert text is not None
    return text


def decimal_or_none(value: Fraction) -> str | None:
    for places in range(13):
        scaled = value * 10**places
        if scaled.denominator == 1:
            sign = "-" if value < 0 else ""
            digits = f"{abs(scaled.numerator):0{places + 1}d}"
            return f"{sign}{digits[:-places]}.{digits[-places:]}" if places else f"{sign}{digits}"
    return None


def _consistent(
    choices: Choices,
    made: Made,
    fact: FactSpec,
    record: str,
    said: Mapping[Address, Said],
    otherwise: Exact,
) -> Exact:
    """A value that the estimate of the fact allows; the other one where there is no estimate."""
    ends = estimate(made, fact, record, said)
    if ends is None or otherwise.value is NONE_STATED:
        return otherwise
    low, high = ends
    if not isinstance(low, Fraction):
        return Exact(low, low) if isinstance(low, str) else day(_iso(low))
    bottom, top, own = fact.ends
    low, high = max(low, bottom * SI[own]), min(high, top * SI[own])
    assert low <= high, "the ranges of estimated facts are wide enough"
    options = [low, high, (low + high) / 2]
    for value in [pick(choices, options), *options]:
        for unit in (fact.unit, *fact.units):
            if decimal_or_none(value / SI[unit]) is not None:
                return measured(value / SI[unit], unit)
    # No end is a decimal: cut one between them off.
    middle = Fraction(round(sum(options[:2]) / 2 / SI[own] * 10**9), 10**9)
    assert low <= middle * SI[own] <= high
    return measured(middle, own)


def estimate(
    made: Made, fact: FactSpec, record: str, said: Mapping[Address, Said]
) -> tuple[Any, Any] | None:
    """The ends of an estimate with its tolerance, by the reference; None where it has no value."""
    names: dict[str, Any] = {name: {} for name in SINGLES}
    own: dict[str, Any] = {}
    for (owner, other), value in said.items():
        assert isinstance(value, Exact)
        if not owner:
            names[other.partition(".")[0]][other] = value.value
        elif owner == record:
            own[other] = value.value
    if record:
        names[fact.subject] = own
    found = Reference(made.data, World({}, 0)).value(fact.estimate, names)
    if found is None:
        return None
    if not fact.tolerance or not isinstance(found, Fraction):
        return found, found
    number, _, unit = fact.tolerance.partition(" ")
    spread = Fraction(number) * SI[unit] * (abs(found) if unit == "%" else 1)
    return found - spread, found + spread


def _iso(ordinal: int) -> str:
    return datetime.date.fromordinal(ordinal).isoformat()


def _papers(
    choices: Choices, made: Made, kinds: Mapping[str, str]
) -> tuple[Mapping[str, Any], ...]:
    papers = []
    for index in range(choices.below(4)):
        paper: dict[str, Any] = {
            "id": f"doc-{index}",
            "certification": pick(choices, CERTIFICATIONS),
            "issued": pick(choices, ("2019-12-31", "2026-07-15", "2026-07-16", "2021-03-14")),
        }
        if chance(choices, 1, 3):
            paper["expires"] = pick(choices, ("2026-07-15", "2026-07-14", "2030-01-01"))
        if chance(choices, 1, 8):
            del paper["issued"]
        covered = tuple(kinds) if chance(choices, 1, 2) else some(choices, tuple(kinds))
        paper["covers"] = {"modifications": list(covered)}
        limits = [f for f in made.used if f.measured]
        if limits and chance(choices, 1, 2):
            fact = pick(choices, limits)
            unit = fact.units[0]
            paper["covers"]["up_to"] = {
                fact.id: pick(choices, (f"1 {unit}", f"0 {unit}", f"50 {unit}")).strip()
            }
        papers.append(paper)
    return tuple(papers)


# -- saying less ---------------------------------------------------------------------------


def loosened(choices: Choices, made: Made, vehicle: Vehicle, often: int = 2) -> Vehicle:
    """The same vehicle with less said of about ``often`` in four of its facts."""
    facts = made.vocabulary.facts
    said = {
        address: looser(choices, facts[address[1]], value) if chance(choices, often, 4) else value
        for address, value in vehicle.said.items()
    }
    return Vehicle(vehicle.records, vehicle.kinds, said, vehicle.papers)


def looser(choices: Choices, fact: FactSpec, said: Said) -> Said:
    """Less than what was said, and nothing that excludes it."""
    if said is None or chance(choices, 1, 3):
        return None
    if isinstance(said, Exact) and said.value is NONE_STATED:
        return None
    if fact.type == "date":
        text = said.text[:7] if len(said.text) > 7 and chance(choices, 2, 3) else said.text[:4]
        return Around(text, *_span(text), "")
    if not fact.measured:
        return None
    if isinstance(said, Exact):
        number, _, unit = said.text.partition(" ")
        low = high = Fraction(number)
    else:
        low, high, unit = said.low, said.high, said.unit
    step = pick(choices, (Fraction(1, 10), Fraction(1, 2), Fraction(2), Fraction(30)))
    below, above = step * choices.below(3), step * choices.below(3)
    low, high = low - below, high + above
    middle = (low + high) / 2
    if low == high or not _inside(middle, unit, fact):
        return said
    text = f"{decimal(middle)} {unit} ± {decimal((high - low) / 2)} {unit}"
    return Around(" ".join(text.split()), low, high, unit)


def _span(text: str) -> tuple[int, int]:
    if len(text) == 4:
        return _ordinal(f"{text}-01-01"), _ordinal(f"{text}-12-31")
    year, month = map(int, text.split("-"))
    after = datetime.date(year + month // 12, month % 12 + 1, 1)
    return _ordinal(f"{text}-01"), after.toordinal() - 1


# -- completing ----------------------------------------------------------------------------


def completed(choices: Choices, made: Made, vehicle: Vehicle) -> Vehicle | None:
    """An exact submission that the given one allows: ends and edges are tried first.

    None where it would contradict an estimate.
    """
    said: dict[Address, Said] = {}
    facts = made.vocabulary.facts
    for (record, name), value in sorted(
        vehicle.said.items(), key=lambda item: bool(facts[item[0][1]].estimate)
    ):
        fact = facts[name]
        exact = value if isinstance(value, Exact) else _within(choices, made, fact, value)
        if fact.estimate and exact.value is not NONE_STATED:
            ends = estimate(made, fact, record, said)
            if ends is not None and not ends[0] <= exact.value <= ends[1]:
                if value is not None:
                    return None
                exact = _consistent(choices, made, fact, record, said, exact)
        said[record, name] = exact
    return Vehicle(vehicle.records, vehicle.kinds, said, vehicle.papers)


def _within(choices: Choices, made: Made, fact: FactSpec, said: Around | None) -> Exact:
    if said is None:
        if fact.measured and chance(choices, 1, 3):
            low, high, unit = fact.ends
            return measured(pick(choices, (low, high)), unit)
        if fact.type == "date" and fact.ranged and chance(choices, 1, 3):
            return day(pick(choices, (FIRST_DAY, LAST_DAY)))
        return exact_value(choices, made, fact)
    if fact.type == "date":
        low, high = said.low, said.high
        if fact.ranged:
            low, high = max(low, _ordinal(FIRST_DAY)), min(high, _ordinal(LAST_DAY))
        return day(_iso(pick(choices, (low, high, (low + high) // 2))))
    bottom, top, own = fact.ends
    factor = SI[own] / SI[said.unit]
    candidates = [said.low, said.high, (said.low + said.high) / 2]
    candidates += [
        number * SI[unit] / SI[said.unit] for number, unit in made.literals.get(fact.type, ())
    ]
    ends = max(said.low, bottom * factor), min(said.high, top * factor)
    fitting = [c for c in candidates if ends[0] <= c <= ends[1] and decimal_or_none(c) is not None]
    if not fitting:
        fitting = [(said.low + said.high) / 2]
    return measured(pick(choices, fitting), said.unit)


__all__ = ["Around", "Exact", "Said", "Vehicle", "completed", "loosened", "make_target"]
