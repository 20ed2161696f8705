"""Documents: plates and certificates held, and the evidence that others take.

A document with ``certification`` is that plate or certificate; one with ``document``
is an item of evidence. What they come to is worked out in ``covering``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from modrules.language.literals import LiteralProblem, read_date
from modrules.problems import nearest
from modrules.ruleset.names import literal
from modrules.ruleset.tree import Blank, Map, Node, Scalar, Seq
from modrules.ruleset.typed import TypedRuleset
from modrules.screening.values import LONGEST_TEXT, Problems, one_value

#: What a document may be. A seller's claim proves nothing, whatever it is offered for.
KINDS: Final = (
    "certificate",
    "plate",
    "test_report",
    "declaration",
    "seller_claim",
    "photograph",
    "measurement",
    "document",
)
#: The kinds that can themselves be a certification.
CERTIFYING: Final = ("certificate", "plate")
CLAIM: Final = "seller_claim"
#: Written where a document states no end and no limit, rather than that nobody looked.
NONE_STATED: Final = "none stated"
#: The facts by which a document is known to be for this vehicle and these parts.
NUMBER: Final = "vehicle.identification_number"
VARIANT: Final = "vehicle.variant"
PART: Final = "modification.part_number"
#: The facts by which a plate on the vehicle is known to be this document, and to be lived up to.
PLATE_NUMBER: Final = "plate.number"
CONDITIONS_KEPT: Final = "plate.conditions_kept"
PLATE_PAPER: Final = "plate.paper_in_force"
_KEYS: Final = (
    "id",
    "title",
    "kind",
    "certification",
    "document",
    "issued",
    "expires",
    "issuer",
    "number",
    "covers",
    "note",
)
MOST_DOCUMENTS: Final = 60
_COVER_KEYS: Final = ("modifications", "up_to", "vehicle", "variant", "part")


@dataclass(frozen=True, slots=True)
class Document:
    """One document. Dates are first and last possible day; None: not stated.

    ``up_to`` maps a fact to the largest value covered, in its run-time numbers. ``vehicles``,
    ``variants`` and ``parts`` are the names that it is for; empty: it names none.
    """

    id: str
    title: str
    certification: str | None
    document: str | None
    issued: tuple[int, int] | None
    expires: tuple[int, int] | None
    modifications: frozenset[str]
    up_to: Mapping[str, Any] = field(default_factory=dict)
    kind: str = "document"
    issuer: str = ""
    number: str = ""
    vehicles: tuple[str, ...] = ()
    variants: tuple[str, ...] = ()
    parts: tuple[str, ...] = ()

    @property
    def facts(self) -> tuple[str, ...]:
        """The facts on which it hangs whether the document covers what was done."""
        names = ((NUMBER, self.vehicles), (VARIANT, self.variants), (PART, self.parts))
        return (*self.up_to, *(fact for fact, stated in names if stated))


def read_documents(
    node: Node | None,
    modifications: tuple[Any, ...],
    typed: TypedRuleset,
    problems: Problems,
    elsewhere: frozenset[str] = frozenset(),
) -> tuple[tuple[Document, ...], tuple[Document, ...]]:
    """The documents of a submission; problems are reported.

    Those meant for another ruleset, which knows the names in ``elsewhere``, come apart: that one
    reports their problems, but an expired paper is expired here too.
    """
    if node is None:
        return (), ()
    if not isinstance(node, Seq):
        problems.error(
            '"evidence" is a list of documents', node.place, "write [] where there is none"
        )
        return (), ()
    if len(node) > MOST_DOCUMENTS:
        message = f'"evidence" has {len(node)} documents, and at most {MOST_DOCUMENTS} are taken'
        problems.error(message, node.place, "leave out what proves nothing here")
        return (), ()
    known = {m.id for m in modifications}
    found: list[Document] = []
    others: list[Document] = []
    seen: set[str] = set()
    for entry in node:
        if not isinstance(entry, Map):
            problems.error("each document is a mapping", entry.place)
            continue
        if _meant_elsewhere(entry, typed, elsewhere):
            other = _document(entry, known, typed, Problems([], []), elsewhere)
            others += [other] if other is not None else []
            continue
        document = _document(entry, known, typed, problems, elsewhere)
        if document is None:
            continue
        if document.id in seen:
            problems.error(f'two documents have the id "{document.id}"', entry.place)
        seen.add(document.id)
        found.append(document)
    return tuple(found), tuple(others)


def _meant_elsewhere(entry: Map, typed: TypedRuleset, elsewhere: frozenset[str]) -> bool:
    certification, document = _text(entry, "certification"), _text(entry, "document")
    if certification is not None:
        return certification in elsewhere and certification not in typed.flat.certifications
    return document is not None and document in elsewhere and document not in _taken(typed)


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
    # Passed over, an end or a kind that speaks against the paper would count for it.
    one_value(entry, [key for key in _KEYS if key != "covers"], "a document", problems)
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
    stated = entry.get("covers")
    covers, up_to = _covers(stated, known, typed, problems, elsewhere)
    vehicles, variants, parts = (
        _names(stated, key, problems) for key in ("vehicle", "variant", "part")
    )
    return Document(
        str(name),
        str(_text(entry, "title") or name),
        str(certification) if certification is not None else None,
        str(document) if document is not None else None,
        _day(entry, "issued", problems),
        _day(entry, "expires", problems),
        covers,
        up_to,
        _kind(entry, certification, typed, problems),
        str(_text(entry, "issuer") or ""),
        str(_text(entry, "number") or ""),
        vehicles,
        variants,
        parts,
    )


def _kind(entry: Map, certification: Scalar | None, typed: TypedRuleset, problems: Problems) -> str:
    """What sort of paper it is: as stated, else what it is put forward as."""
    kind = _text(entry, "kind")
    if kind is not None and kind not in KINDS:
        problems.error(
            f'"{str(kind)[:40]}" is no kind of document',
            kind.place,
            nearest(kind, KINDS) or f"one of: {', '.join(KINDS)}",
        )
    if kind is not None:
        return str(kind)
    item = typed.flat.certifications.get(str(certification)) if certification else None
    return str(item.kind) if item is not None else "document"


def _names(covers: Node | None, key: str, problems: Problems) -> tuple[str, ...]:
    """The names under a key of ``covers``: one or a list. One left blank is an unknown one."""
    node = covers.get(key) if isinstance(covers, Map) else None
    if node is None:
        return ()
    found = []
    for each in node if isinstance(node, Seq) else [node]:
        if isinstance(each, Scalar):
            found.append(" ".join(each.split())[:LONGEST_TEXT])
        elif isinstance(each, Blank):
            found.append("")
        else:
            problems.error(f"{key} is one name or a list of names", each.place)
    return tuple(found) or ("",)


def _text(entry: Map, key: str) -> Scalar | None:
    value = entry.get(key)
    return value if isinstance(value, Scalar) else None


def _day(entry: Map, key: str, problems: Problems) -> tuple[int, int] | None:
    value = _text(entry, key)
    if key == "expires" and isinstance(entry.get(key), Blank):
        problems.error(
            "expires is left blank, so nobody knows until when it counts",
            entry.key_place(key),
            "write the last day on which it counts, or none stated where it states no end",
        )
    if value is None or (key == "expires" and value == NONE_STATED):
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
            if value == NONE_STATED:
                continue
            try:
                limits[key] = literal(str(value), fact.type, fact.unit, fact.scale, with_unit=True)
            except LiteralProblem as problem:
                problems.error(problem.message, value.place, problem.hint)
    return frozenset(covered), limits
