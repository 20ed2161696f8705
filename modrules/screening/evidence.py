"""What each document of a submission is good for, and what is wrong with it, in sentences.

It judges nothing anew: what counts is decided by ``covering``; here it is said why.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from modrules.language import domains as d
from modrules.language.records import Open, attribute, records_of
from modrules.screening.covering import (
    FITTED,
    is_named,
    known_by,
    says_no_vehicle,
    sufficient,
    within,
)
from modrules.screening.documents import CERTIFYING, CLAIM, NUMBER, PART, VARIANT, Document
from modrules.screening.papers import Row
from modrules.screening.prepared import Run
from modrules.screening.values import shown

if TYPE_CHECKING:
    from modrules.ruleset.models import Certification, Evidence
    from modrules.screening.findings import Finding

#: A certification that is or may be required: its id, its state, and because of what.
Required = tuple[str, str, list["Finding"]]

_KIND: Final = {
    "certificate": "Certificate",
    "plate": "Plate",
    "test_report": "Test report",
    "declaration": "Maker's declaration",
    "seller_claim": "Seller's claim",
    "photograph": "Photograph",
    "measurement": "Measurement",
    "document": "Document",
}
_SAYS_NO_VEHICLE: Final = (
    "It names no vehicle and may be for another; have the vehicle's number stated on it."
)


@dataclass(slots=True)
class Told:
    """What is said of one document, gathered ruleset by ruleset."""

    document: Document
    what: str
    covers: list[str]
    used_for: list[str] = field(default_factory=list)
    needed: bool = False
    problems: list[str] = field(default_factory=list)


class Asked(NamedTuple):
    """A certification that is asked for, and what it is wanted for.

    ``covering``: of each document, whether it covers what some finding asks for; ``supplying``:
    of each item of evidence, whether it counts for all.
    """

    item: Certification
    enough: frozenset[str]
    wanted: list[Any]
    covering: tuple[Row, ...]
    supplying: Row


def _asked(run: Run, name: str, causes: list[Finding]) -> Asked:
    papers, wanted = run.bound.papers, wanted_by(run, causes)
    rows = dict.fromkeys(papers.covering(name, wanted_by(run, [finding])) for finding in causes)
    return Asked(
        run.ruleset.flat.certifications[name],
        run.ruleset.sufficient(name),
        wanted,
        tuple(rows),
        papers.supplying(wanted),
    )


def documents_of(
    screenings: Sequence[tuple[Run, Callable[[str], str], Sequence[Required]]],
) -> list[dict[str, Any]]:
    """Each document of a submission as plain data, in the order in which they were read.

    A screening comes as its run, the spelling of its ids, and the certifications that it asks
    for. ``problems`` are whole sentences; ``used_for`` names what the document is accepted for.
    """
    every: dict[str, Told] = {}
    for run, _, required in screenings:
        asked = [_asked(run, name, causes) for name, _, causes in required]
        for document in run.bound.documents:
            told = every.get(document.id)
            if told is None:
                told = every[document.id] = Told(
                    document, _what(run, document), _covers(run, document)
                )
            _tell(told, document, run, asked)
    for told in every.values():
        if not told.needed:
            told.problems.append("No check of this screening asks for it.")
    return [_data(told) for told in every.values()]


def _data(told: Told) -> dict[str, Any]:
    document = told.document
    return {
        "id": document.id,
        "title": document.title,
        "what": told.what,
        "issuer": document.issuer,
        "number": document.number,
        "issued": _span(document.issued) if document.issued else None,
        "expires": _span(document.expires) if document.expires else None,
        "covers": told.covers,
        "used_for": list(dict.fromkeys(told.used_for)),
        "problems": list(dict.fromkeys(told.problems)),
    }


def _tell(told: Told, document: Document, run: Run, asked: Sequence[Asked]) -> None:
    """Adds what one screening has to say of a document, by its own vocabulary."""
    papers, certifications = run.bound.papers, run.ruleset.flat.certifications
    told.problems += _of_itself(run, document)
    limits = list(_of_limits(run, document))
    for item, enough, wanted, covering, supplying in asked:
        title = str(item.title)
        if document.certification is not None:
            if document.certification not in enough:
                continue
            told.needed = True
            if any(papers.mask(document, row) == d.TRUE for row in covering):
                told.used_for.append(title)
            told.problems += [*_of_parts(run, document, title, wanted), *limits]
            before = certifications[document.certification].approval_before_work
            if item.approval_before_work or before:
                told.problems += _of_approval(run, document, title, wanted)
        for evidence in item.evidence:
            if document.document != evidence.id:
                continue
            told.needed = True
            title = f"{item.title}: {evidence.title}"
            if says_no_vehicle(document, run.ruleset.typed):
                told.problems.append(_SAYS_NO_VEHICLE)
            if papers.mask(document, supplying) == d.TRUE:
                told.used_for.append(title)
            told.problems += [*_of_parts(run, document, title, wanted), *limits]


def evidence_of(run: Run, item: Certification, causes: list[Finding]) -> list[dict[str, Any]]:
    """What a certification takes, and which document supplies it for all that it is for."""
    papers = run.bound.papers
    supplying = papers.supplying(wanted_by(run, causes))
    found = []
    for evidence in item.evidence:
        by = next(
            (
                document.id
                for document in run.bound.documents
                if document.document == evidence.id and papers.mask(document, supplying) == d.TRUE
            ),
            None,
        )
        found.append(
            {
                "document": str(evidence.id),
                "title": str(evidence.title),
                "supplied": by is not None,
                "by": by,
                "given_by": str(evidence.given_by or ""),
                "settle": _due(item, evidence),
            }
        )
    return found


def _due(item: Certification, evidence: Evidence) -> str:
    """When an item of evidence must be at hand, of work that is planned."""
    if evidence.settle is not None:
        return str(evidence.settle)
    return "before_fitting" if item.approval_before_work else "after_fitting"


def note_of(run: Run, name: str, item: Certification, state: str, causes: list[Finding]) -> str:
    """What is to be added to the state of a certification, in few words."""
    before = "approval comes before the work" if item.approval_before_work else ""
    if state not in ("held but does not cover", "open"):
        return before
    wanted = wanted_by(run, causes)
    said = []
    for document in holding(run, name):
        why = wrong_with(run, document, item, wanted)
        if why:
            said.append(f"{document.title}: {' '.join(why)}")
    return " ".join(said) or before


def wrong_with(
    run: Run, document: Document, item: Certification, wanted: Sequence[Any]
) -> list[str]:
    """All that keeps a document from standing for a certification of some modifications."""
    why = [
        *_of_itself(run, document),
        *_of_parts(run, document, str(item.title), wanted),
        *_of_limits(run, document),
    ]
    if item.approval_before_work:
        why += _of_approval(run, document, str(item.title), wanted)
    return list(dict.fromkeys(why))


def holding(run: Run, name: str) -> list[Document]:
    """The documents put forward as a certification, or as a higher one."""
    enough = sufficient(run.ruleset.typed, name)
    return [document for document in run.bound.documents if document.certification in enough]


def wanted_by(run: Run, causes: list[Finding]) -> list[Any]:
    """The modifications that a certification is for; all where it is for none in particular."""
    world = run.bound.world
    names = {name for finding in causes for name in finding.modifications}
    if any(not finding.modifications for finding in causes):
        return list(world.modification_)
    return [m for m in world.modification_ if m.id in names]


# -- the sentences -----------------------------------------------------------------------


def _what(run: Run, document: Document) -> str:
    """What it is put forward as: ``Plate: Running gear plate``."""
    flat = run.ruleset.flat
    kind = _KIND[document.kind]
    if document.certification is not None:
        title = str(flat.certifications[document.certification].title)
        return title if kind.lower() in title.lower() else f"{kind}, put forward as: {title}"
    titles = {str(e.id): str(e.title) for c in flat.certifications.values() for e in c.evidence}
    return f"{kind}, put forward as: {titles[str(document.document)]}"


def _covers(run: Run, document: Document) -> list[str]:
    """What it says that it covers, each in a few words."""
    said = [f"modification {name}" for name in _in_order(run, document)]
    for fact_id, limit in document.up_to.items():
        fact = run.ruleset.typed.names.facts[fact_id]
        said.append(f"{_title(run, fact_id)} up to {shown(limit, fact)}")
    said += [f"vehicle {name or 'not known'}" for name in document.vehicles]
    said += [f"variant {name or 'not known'}" for name in document.variants]
    said += [f"part {name or 'not known'}" for name in document.parts]
    return said


def _in_order(run: Run, document: Document) -> list[str]:
    return [m.id for m in run.bound.world.modification_ if m.id in document.modifications]


def _of_itself(run: Run, document: Document) -> Iterator[str]:
    """What is wrong with it whatever it is wanted for."""
    if document.kind == CLAIM:
        yield "A seller's claim is no declaration and no certificate; it counts for nothing."
    elif document.certification is not None and document.kind not in CERTIFYING:
        yield f"A {_KIND[document.kind].lower()} is not the plate or certificate itself."
    yield from _of_dates(run, document)
    yield from _of_vehicle(run, document)


def _of_dates(run: Run, document: Document) -> Iterator[str]:
    today = run.bound.world.today
    if document.issued is None:
        yield "It has no date of issue."
    elif document.issued[0] > today:
        yield f"It is not yet valid: it is dated {_span(document.issued)}."
    elif document.issued[1] > today:
        yield f"It may not be valid yet: its date is stated only as {_span(document.issued)}."
    if document.expires is not None:
        if document.expires[1] < today:
            yield f"It expired on {_span(document.expires)}."
        elif document.expires[0] < today:
            yield f"It may have expired: the date is stated only as {_span(document.expires)}."


def _of_vehicle(run: Run, document: Document) -> Iterator[str]:
    if document.certification is not None and says_no_vehicle(document, run.ruleset.typed):
        yield _SAYS_NO_VEHICLE
    vehicle = getattr(run.bound.world, attribute("vehicle"), None)
    for fact_id, names, word in (
        (NUMBER, document.vehicles, "vehicle"),
        (VARIANT, document.variants, "variant"),
    ):
        if names:
            yield from _of_name(run, vehicle, fact_id, _stated(names), word, "this vehicle")


def _of_name(
    run: Run, record: Any, fact_id: str, names: Stated, word: str, whose: str
) -> Iterator[str]:
    """Whether a name on the paper is that of what is at hand."""
    fact = run.ruleset.typed.names.facts.get(fact_id)
    value = getattr(record, fact.slot, None) if fact is not None else None
    if value is not None and is_named(names.known, value) == d.TRUE:
        return
    if value is None or isinstance(value, Open):
        yield f"It is for {word} {names.told}, and that of {whose} is not known."
    else:
        yield f'It is for {word} {names.told}, and that of {whose} is "{value}".'


class Stated(NamedTuple):
    """Names on a paper: as they are compared, and in words."""

    known: frozenset[str]
    told: str


def _stated(names: tuple[str, ...]) -> Stated:
    told = _listed(f'"{name}"' for name in names if name) or "an unknown one"
    return Stated(known_by(names), told)


def _of_parts(run: Run, document: Document, title: str, wanted: Sequence[Any]) -> Iterator[str]:
    """Which modifications and parts it does not cover."""
    outside = [m.id for m in wanted if m.id not in document.modifications]
    if outside:
        yield f"It does not cover modification {_listed(outside)}, as {title} would have to."
    if document.parts:
        parts = _stated(document.parts)
        for modification in wanted:
            if modification.id in document.modifications:
                whose = f"modification {modification.id}"
                yield from _of_name(run, modification, PART, parts, "part", whose)


def _of_limits(run: Run, document: Document) -> Iterator[str]:
    """Where it covers less than was done."""
    typed = run.ruleset.typed
    for fact_id, limit in document.up_to.items():
        fact = typed.names.facts[fact_id]
        for record in records_of(run.bound.world, fact.subject):
            concerned = record.kind not in typed.flat.kinds or record.id in document.modifications
            value = getattr(record, fact.slot, None)
            if not concerned or value is None or within(limit, value) == d.TRUE:
                continue
            start = f"It covers {_title(run, fact_id)} up to {shown(limit, fact)}"
            where = f"on {record.id} " if record.id else ""
            yield f"{start}; {where}it {_done(value, fact)}."


def _done(value: Any, fact: Any) -> str:
    if not isinstance(value, Open):
        return f"is {shown(value, fact)}"
    if value.missing or isinstance(value.high, float) or value.low > value.high:
        return "is not known"
    return f"may be {shown(value.high, fact)}"


def _of_approval(run: Run, document: Document, title: str, wanted: Sequence[Any]) -> Iterator[str]:
    """Where the work was done before it was approved."""
    fact = run.ruleset.typed.names.facts.get(FITTED)
    if document.issued is None or fact is None:
        return
    for modification in wanted:
        fitted = getattr(modification, fact.slot)
        ends: Any = (fitted.low, fitted.high) if isinstance(fitted, Open) else (fitted, fitted)
        if document.issued[1] <= ends[0]:
            continue
        when = f"{title} must be approved before the work"
        if any(isinstance(end, float) for end in ends) or getattr(fitted, "missing", False):
            yield f"{when}, and when modification {modification.id} was fitted is not known."
            continue
        known = "may be dated" if document.issued[0] <= ends[1] else "is dated"
        yield (
            f"{when}, and it {known} after it: {_span(document.issued)}, with modification "
            f"{modification.id} fitted on {_span(ends)}."
        )


def _title(run: Run, fact_id: str) -> str:
    item = run.ruleset.flat.facts[fact_id]
    return str(item.title)[:1].lower() + str(item.title)[1:]


def _span(ends: Sequence[int]) -> str:
    """A day, or the first and last of those that it may be."""
    first, last = (datetime.date.fromordinal(int(end)).isoformat() for end in ends)
    return first if first == last else f"{first} to {last}"


def _listed(words: Any) -> str:
    every = list(words)
    if len(every) < 2:
        return "".join(every)
    return f"{', '.join(every[:-1])} and {every[-1]}"
