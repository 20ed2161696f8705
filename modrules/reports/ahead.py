"""What lies ahead of an owner: what to settle and when, what voids a plate held, whom to ask."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from modrules.reports import owner, reading
from modrules.reports.head import named
from modrules.reports.layout import bullets, clean, heading, labelled, listed, paragraph, wrap
from modrules.reports.questions import answered
from modrules.reports.shape import Certification, Document, Modification, Report, Room, Settle
from modrules.reports.wording import STATE, asked_for, clauses_of, quantity

#: By the number of a question, the modification that the page tells it with.
Told = Mapping[int, Modification]

_WHEN: dict[Settle, tuple[str, str]] = {
    "before_buying": (
        "Settle before buying",
        "The part that is chosen decides these. Ask its maker or seller, in writing, or measure "
        "the part before you pay for it.",
    ),
    "before_fitting": (
        "Settle before fitting",
        "Once the work has begun it is too late for these, or they can no longer be measured.",
    ),
}
_UNTOLD = "the licensed certifier (the ruleset does not say who grants it)"
_LABEL, _INDENT = 11, "    "


def render(report: Report, told: Told | None = None) -> list[str]:
    """The parts of the page, each left out where there is nothing to say in it.

    Each question says how to answer it; one that is ``told`` elsewhere on the page, by its number,
    says where.
    """
    lines: list[str] = []
    for when, (title, why) in _WHEN.items():
        items = [
            *_approvals(report, when),
            *_facts(report, when, told or {}),
            *_papers(report, when),
        ]
        if items:
            lines += [*heading(title), *paragraph(why), *items]
    return [*lines, *_held(report), *_whom(report)]


# -- what to settle ----------------------------------------------------------------------


def _planned(report: Report) -> list[Modification]:
    return [one for one in report["modifications"] if one["planned"]]


def _wanting(report: Report, certification: Certification) -> list[Modification]:
    """The planned modifications for which a certification is not held, or may not be."""
    if certification["state"] == "held":
        return []
    return [
        one
        for one in _planned(report)
        if certification["id"] in (each["id"] for each in one["certifications"])
    ]


def _approvals(report: Report, when: Settle) -> Iterator[str]:
    """The certifications that must be approved before the work."""
    if when != "before_fitting":
        return
    for one in reading.certifications_in_order(report):
        wanting = _wanting(report, one)
        if one["approval_before_work"] and wanting:
            text = f"{named(one)} ({STATE[one['state']]}): have it approved before the work begins"
            yield from wrap(text, "  - ", _INDENT)
            yield from labelled("for", listed(map(owner.name, wanting)), _LABEL, _INDENT)
            yield from labelled("ask", _issuer(one), _LABEL, _INDENT)


def _facts(report: Report, when: Settle, told: Told) -> Iterator[str]:
    """The open facts, each with the planned modifications that it bears on and how to measure."""
    for number, facts in reading.questions(report):
        for_ = [
            one
            for one in _planned(report)
            if any(fact["fact"] in one["missing"] for fact in facts if fact["settle"] == when)
        ]
        if not for_:
            continue
        yield from wrap(asked_for(facts[0]), "  - ", _INDENT)
        yield from labelled("for", listed(map(owner.name, for_)), _LABEL, _INDENT)
        if number in told:
            yield from labelled("how", f"told under {owner.name(told[number])}", _LABEL, _INDENT)
        else:
            yield from answered(facts)


def _papers(report: Report, when: Settle) -> Iterator[str]:
    """The evidence that must be at hand by then, with whom it comes from."""
    for one in reading.certifications_in_order(report):
        wanting = _wanting(report, one)
        for item in reading.outstanding(one) if wanting else []:
            if item["settle"] != when:
                continue
            text = f"{clean(item['title'])}, which {named(one)} takes ({STATE[one['state']]})"
            yield from wrap(text, "  - ", _INDENT)
            yield from labelled("for", listed(map(owner.name, wanting)), _LABEL, _INDENT)
            if item["given_by"]:
                yield from labelled("from", item["given_by"], _LABEL, _INDENT)


# -- what voids --------------------------------------------------------------------------


def _held(report: Report) -> list[str]:
    held = [one for one in report["documents"] if one["certification"] is not None]
    if not held:
        return []
    lines = heading("What would void a plate or certificate already held")
    lines += paragraph(
        "It covers what it names and no more, up to the values that it names, while it lasts. "
        "Another modification, or more of one, is not covered by it."
    )
    for one in held:
        lines += ["", *wrap(f"{clean(one['title'])} ({clean(one['what'])})", "")]
        for place, said in enumerate(one["void"]):
            lines += labelled("" if place else "against it", said, _LABEL, _INDENT)
        if not one["void"]:
            lines += labelled("now", "nothing that was told voids it", _LABEL, _INDENT)
        lines += _limits(one)
    return lines


def _limits(document: Document) -> Iterator[str]:
    covers = [clean(said) for said in document["covers"] if said.startswith("modification ")]
    if covers:
        yield from labelled("covers", f"{listed(covers)} and no other", _LABEL, _INDENT)
    for room in document["room"]:
        yield from labelled("room", _room(room), _LABEL, _INDENT)
    if document["expires"]:
        yield from labelled("lasts", f"until {document['expires']}", _LABEL, _INDENT)


def _room(room: Room) -> str:
    """``Reach (…): 47 mm, covered up to 50 mm: 3 mm more would still be covered``."""
    start = f"{clean(room['title'])} ({clean(room['fact'])}): "
    covered = f"covered up to {quantity(room['covered'])}"
    now, left = room["now"], room["room"]
    if now is None or left is None:
        return f"{start}not known, {covered}"
    start += f"{quantity(now)}, {covered}: "
    least = left["low"] if left["value"] is None else left["value"]
    if least is None:
        return f"{start}what room is left is not known"
    unit = left["unit"]
    if least > 0:
        return f"{start}{quantity({'value': least, 'unit': unit})} more would still be covered"
    if least == 0:
        return f"{start}nothing more would be covered"
    past = quantity({"value": -least, "unit": unit})
    words = "past it by" if left["value"] is not None else "perhaps past it by up to"
    return f"{start}{words} {past}"


# -- whom to ask -------------------------------------------------------------------------


def _issuer(certification: Certification) -> str:
    return clean(certification["issued_by"]) or _UNTOLD


def _whom(report: Report) -> list[str]:
    """Who grants what is not held yet, each once with all that may be asked of them."""
    asked: dict[str, list[Certification]] = {}
    for one in reading.certifications_in_order(report):
        if one["state"] != "held":
            asked.setdefault(_issuer(one), []).append(one)
    silent = [one for one in report["modifications"] if not one["covered"]]
    if not asked and not silent:
        return []
    lines = heading("Whom to ask")
    for issuer, ones in asked.items():
        lines += wrap(f"{issuer[:1].upper()}{issuer[1:]}", "  - ", _INDENT)
        told = [
            f"{named(one)} ({STATE[one['state']]}"
            f"{'; before the work' if one['approval_before_work'] else ''})"
            for one in ones
        ]
        lines += labelled("about", "; ".join(told), _LABEL, _INDENT)
        cited = [citation for one in ones for citation in one["citations"]]
        if cited:
            lines += labelled("under", clauses_of(cited), _LABEL, _INDENT)
    if silent:
        names = listed(map(owner.name, silent))
        lines += bullets([f"The licensed certifier, about what the rules don't cover: {names}"])
    return lines
