"""Documents: plates and certificates held, and the evidence that others take.

A document with ``certification`` is that plate or certificate; one with ``document``
is an item of evidence. ``covered`` says what a certification that a check requires
has turned into: certified where a document definitely covers what was done, still
required where none can, both where that depends on an open fact.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from modrules.language import domains as d
from modrules.language.literals import LiteralProblem, read_date
from modrules.language.records import Open, attribute
from modrules.problems import nearest
from modrules.ruleset.names import literal
from modrules.ruleset.tree import Blank, Map, Node, Scalar, Seq
from modrules.ruleset.typed import BIT, TypedRuleset
from modrules.screening.values import Problems

REQUIRED: Final = BIT["certification required"]
CERTIFIED: Final = BIT["certified"]
_KEYS: Final = (
    "id",
    "title",
    "certification",
    "document",
    "issued",
    "expires",
    "issuer",
    "number",
    "covers",
    "note",
)
_COVER_KEYS: Final = ("modifications", "up_to")


@dataclass(frozen=True, slots=True)
class Document:
    """One document. Dates are first and last possible day; None: not stated.

    ``up_to`` maps a fact to the largest value covered, in its run-time numbers.
    """

    id: str
    title: str
    certification: str | None
    document: str | None
    issued: tuple[int, int] | None
    expires: tuple[int, int] | None
    modifications: frozenset[str]
    up_to: Mapping[str, Any] = field(default_factory=dict)


def read_documents(
    node: Node | None,
    modifications: tuple[Any, ...],
    typed: TypedRuleset,
    problems: Problems,
    elsewhere: frozenset[str] = frozenset(),
) -> tuple[Document, ...]:
    """The documents of a submission; problems are reported.

    Documents meant for another ruleset, which knows the names in ``elsewhere``, are passed over.
    """
    if node is None:
        return ()
    if not isinstance(node, Seq):
        problems.error(
            '"evidence" is a list of documents', node.place, "write [] where there is none"
        )
        return ()
    known = {m.id for m in modifications}
    found: list[Document] = []
    seen: set[str] = set()
    for entry in node:
        if not isinstance(entry, Map):
            problems.error("each document is a mapping", entry.place)
            continue
        if _meant_elsewhere(entry, typed, elsewhere):
            continue
        document = _document(entry, known, typed, problems, elsewhere)
        if document is None:
            continue
        if document.id in seen:
            problems.error(f'two documents have the id "{document.id}"', entry.place)
        seen.add(document.id)
        found.append(document)
    return tuple(found)


def _meant_elsewhere(entry: Map, typed: TypedRuleset, elsewhere: frozenset[str]) -> bool:
    certification, document = entry.get("certification"), entry.get("document")
    if certification is not None:
        return certification in elsewhere and certification not in typed.flat.certifications
    return document in elsewhere and document not in _taken(typed)


def _taken(typed: TypedRuleset) -> set[str]:
    """The items of evidence that some certification takes."""
    return {str(e.id) for c in typed.flat.certifications.values() for e in c.evidence}


def _document(
    entry: Map,
    known: set[str],
    typed: TypedRuleset,
    problems: Problems,
    elsewhere: frozenset[str],
) -> Document | None:
    for key in entry:
        if key not in _KEYS:
            problems.error(f'a document has no "{key}"', entry.key_place(key), nearest(key, _KEYS))
    name = entry.get("id")
    if not isinstance(name, Scalar):
        problems.error("each document has an id", entry.place, "add id: …")
        return None
    certification, document = _text(entry, "certification"), _text(entry, "document")
    if (certification is None) == (document is None):
        problems.error(
            f'the document "{name}" is either a certification or an item of evidence',
            entry.place,
            "add certification: … for a plate or certificate, document: … for other evidence",
        )
        return None
    if certification is not None and certification not in typed.flat.certifications:
        problems.error(
            f'there is no certification "{certification}"',
            certification.place,
            nearest(certification, typed.flat.certifications),
        )
    if document is not None:
        taken = _taken(typed)
        if document not in taken:
            problems.error(
                f'no certification takes the document "{document}"',
                document.place,
                nearest(document, taken),
            )
    covers, up_to = _covers(entry.get("covers"), known, typed, problems, elsewhere)
    return Document(
        str(name),
        str(_text(entry, "title") or name),
        str(certification) if certification is not None else None,
        str(document) if document is not None else None,
        _day(entry, "issued", problems),
        _day(entry, "expires", problems),
        covers,
        up_to,
    )


def _text(entry: Map, key: str) -> Scalar | None:
    value = entry.get(key)
    return value if isinstance(value, Scalar) else None


def _day(entry: Map, key: str, problems: Problems) -> tuple[int, int] | None:
    value = _text(entry, key)
    if value is None:
        return None
    try:
        return read_date(value)
    except LiteralProblem as problem:
        problems.error(f"{key}: {problem.message}", value.place, problem.hint)
        return None


def _covers(
    node: Node | None,
    known: set[str],
    typed: TypedRuleset,
    problems: Problems,
    elsewhere: frozenset[str],
) -> tuple[frozenset[str], dict[str, Any]]:
    if node is None or isinstance(node, Blank):
        return frozenset(), {}
    if not isinstance(node, Map):
        problems.error("covers is a mapping", node.place, "write covers: {modifications: [...]}")
        return frozenset(), {}
    for key in node:
        if key not in _COVER_KEYS:
            problems.error(
                f'a document covers no "{key}"', node.key_place(key), nearest(key, _COVER_KEYS)
            )
    covered: set[str] = set()
    listed = node.get("modifications")
    for each in listed if isinstance(listed, Seq) else [listed] if listed is not None else []:
        if not isinstance(each, Scalar) or each not in known:
            problems.error(
                f'there is no modification "{each}"', each.place, nearest(str(each), known)
            )
        else:
            covered.add(str(each))
    limits: dict[str, Any] = {}
    up_to = node.get("up_to")
    if up_to is not None and not isinstance(up_to, Map):
        problems.error("up_to is a mapping from facts to values", up_to.place)
    elif up_to is not None:
        for key, value in up_to.items():
            fact = typed.names.facts.get(key)
            if fact is None and key in elsewhere:
                continue
            if fact is None or fact.type.kind != "quantity":
                problems.error(
                    f'there is no measured fact "{key}"',
                    up_to.key_place(key),
                    nearest(key, typed.names.facts),
                )
                continue
            try:
                limits[key] = literal(str(value), fact.type, fact.unit, fact.scale)
            except LiteralProblem as problem:
                problems.error(problem.message, value.place, problem.hint)
    return frozenset(covered), limits


# -- what a certification that is required has turned into ------------------------------


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
    mask = _dated(document, world.today)
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
    for fact_id, limit in document.up_to.items():
        fact = typed.names.facts[fact_id]
        records = _subjects(world, fact.subject)
        if records is None:
            mask = d.AND[mask][d.UNDECIDED]
            continue
        for record in records:
            concerned = record.kind not in typed.flat.kinds or record.id in document.modifications
            if concerned and hasattr(record, fact.slot):
                mask = d.AND[mask][_within(getattr(record, fact.slot), limit)]
    return mask


def _within(value: Any, limit: Any) -> int:
    """Whether what was done stays within what a document covers.

    A value that nobody states is not shown to, so it is not covered.
    """
    low, high, none = value.range if isinstance(value, Open) else (value, value, False)
    mask = d.FALSE if none else 0
    if low <= high:
        mask |= d.at_most((low, high, False), (limit, limit, False))
    return mask


def _dated(document: Document, today: int) -> int:
    now: d.Range = (today, today, False)
    if document.issued is None:
        return d.FALSE
    mask = d.at_most((*document.issued, False), now)
    if document.expires is not None:
        mask = d.AND[mask][d.at_most(now, (*document.expires, False))]
    return mask


def _ends(value: Any) -> d.Range:
    return (value.low, value.high, False) if isinstance(value, Open) else (value, value, False)


def _subjects(world: Any, subject: str) -> tuple[Any, ...] | None:
    found = getattr(world, attribute(subject))
    return found if found is None or isinstance(found, tuple) else (found,)


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
    outcomes = REQUIRED if mask & d.FALSE else 0
    return outcomes | (CERTIFIED if mask & d.TRUE else 0)
