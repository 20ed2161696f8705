"""One finding in full: the outcome, the numbers, the working, the clause and its words."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import NamedTuple

from modrules.reports.layout import block, clean, labelled, listed, paragraph, wrap
from modrules.reports.reading import Numbered, ends, is_met, is_open
from modrules.reports.shape import RANK, Citation, Finding, Report
from modrules.reports.wording import (
    STATUS,
    UNKNOWN,
    check_of,
    clauses_of,
    margin,
    message_of,
    number_of,
    outcome_line,
    place_of,
    quantity,
    subject_of,
    text_of,
)

_INDENT = 4
_LABEL = 11  # the width of the labels inside a finding
#: More lines of one clause than this are left out; the report as JSON has all of them.
_MOST_LINES = 10

#: Where the words of a clause were printed before: (text, clause) to the finding's number.
Printed = dict[tuple[str, str, str], int]


class Names(NamedTuple):
    """Titles of what findings refer to: facts by address, certifications by id."""

    facts: Mapping[str, str]
    certifications: Mapping[str, str]


def names_of(report: Report) -> Names:
    return Names(
        {one["fact"]: one["title"] for one in report["missing"]},
        {one["id"]: one["title"] for one in report["certifications"]},
    )


def full(one: Numbered, names: Names, printed: Printed) -> list[str]:
    """The finding as lines; ``printed`` is added to.

    The words of a clause are printed once; later findings on it point to the first. Where a
    rule is met, the clause is named and quoted, and its words and advice are left out.
    """
    number, finding = one
    met = is_met(finding)
    mark = f"[{number}] "
    lines = wrap(outcome_line(finding), mark, " " * _INDENT)
    lines += paragraph(f"{clean(finding['title'])}, {subject_of(finding)}", _INDENT)
    if message := message_of(finding):
        lines += paragraph(message, _INDENT)
    lines += _numbers(finding)
    if finding["missing"]:
        lines += _at("missing", addressed(finding["missing"], names))
    if finding["assumed"]:
        facts = addressed(finding["assumed"], names)
        lines += _at("assumed", f"decided by the declared range alone, not by a value, of {facts}")
    for label, text in remarks(finding):
        if not (met and label in ("caution", "advice")):
            lines += _at(label, text)
    if finding["certification"] and RANK[ends(finding)[1]] >= RANK["certified"]:
        takes = finding["certification"]
        lines += _at("takes", names.certifications.get(takes, takes))
    lines += _citations(finding, number, None if met else printed)
    for place, step in enumerate(finding["working"]):
        # Steps are indented below what they are part of; that is kept.
        depth = min(len(step) - len(step.lstrip()), 8)
        label = f"{'' if place else 'working':<{_LABEL}}"
        lines += wrap(step, " " * _INDENT + label + " " * depth)
    return [*lines, *_at("check", filed(finding)), ""]


def alike(findings: Iterable[Numbered]) -> list[list[Numbered]]:
    """Findings that differ in nothing but their subject together, such as those of two axles."""
    groups: dict[object, list[Numbered]] = {}
    for one in findings:
        finding = one.finding
        key = (
            check_of(finding),
            finding["title"],
            tuple(finding["possible"]),
            message_of(finding),
            tuple(remarks(finding)),
            tuple(finding["modifications"]),
            clauses_of(finding["citations"]),
        )
        groups.setdefault(key, []).append(one)
    return list(groups.values())


def brief(ones: list[Numbered]) -> list[str]:
    """Findings that are ``alike`` in a few lines: outcome, title, message, what is to be done.

    What to be careful about is left out where it is open: the page has all cautions at its end.
    """
    finding = ones[0].finding
    mark = "".join(f"[{number}] " for number, _ in ones)
    lines = wrap(outcome_line(finding), mark, " " * _INDENT)
    subjects = listed(subject_of(other) for _, other in ones)
    lines += paragraph(f"{clean(finding['title'])}, {subjects}", _INDENT)
    if message := message_of(finding):
        lines += paragraph(message, _INDENT)
    for label, text in remarks(finding):
        if label != "caution" or not is_open(finding):
            lines += _at(label, text)
    if finding["citations"]:
        lines += _at("clause", clauses_of(finding["citations"]))
    return lines


def remarks(finding: Finding) -> list[tuple[str, str]]:
    """Whatever is to be said in words, each with its label."""
    every = (
        ("precision", finding["precision"]),
        ("reason", finding["reason"]),
        ("exempt", finding["exemption"]),
        ("to judge", finding["question"]),
        ("caution", finding["caution"]),
        ("advice", finding["advice"]),
    )
    return [(label, text) for label, text in every if text]


def _at(label: str, text: object) -> list[str]:
    return labelled(label, text, _LABEL, " " * _INDENT)


def _numbers(finding: Finding) -> list[str]:
    parts: list[str] = []
    measured = finding["measured"]
    if measured and quantity(measured) != UNKNOWN:
        # A number that rests on a missing fact is no measurement, only its bounds.
        known = "can be" if finding["missing"] else "measured"
        parts.append(f"{known} {quantity(measured)}")
    if finding["limit"]:
        parts.append(f"limit {quantity(finding['limit'])}")
    if finding["margin"]:
        parts.append(margin(finding["margin"]))
    said = clean(finding["message"])
    if all(re.sub(r"^(measured|can be|limit) |about ", "", part) in said for part in parts):
        return []  # the message has told them
    return _at("numbers", "; ".join(parts))


def addressed(addresses: list[str], names: Names) -> str:
    """Facts by title and address, as far as their titles are known."""
    return "; ".join(
        f"{clean(names.facts[address])} ({clean(address)})"
        if address in names.facts
        else clean(address)
        for address in addresses
    )


def _citations(finding: Finding, number: int, printed: Printed | None) -> list[str]:
    """Each clause with its quotation and its words; the name of a text once, above them.

    ``printed`` of None leaves the words out.
    """
    lines: list[str] = []
    last = ""
    for citation in finding["citations"]:
        text = text_of(citation)
        if text != last:
            lines += _at("clause", text)
            last = text
        lines += _citation(citation, number, printed)
    return lines


def _citation(citation: Citation, number: int, printed: Printed | None) -> list[str]:
    key = (citation["text"], citation["clause"], citation["excerpt"])
    before = number
    if citation["excerpt"] and printed is not None:
        before = printed.setdefault(key, number)
    parts = [number_of(citation)]
    if place := place_of(citation):
        parts.append(place)
    if before != number:
        parts.append(f"printed at [{before}]")
    quote = f': "{clean(citation["quote"])}"' if citation["quote"] else ""
    lines = _at("", ", ".join(parts) + quote)
    if STATUS[citation["status"]]:
        lines += _at("", STATUS[citation["status"]])
    if note := citation.get("note"):
        lines += _at("", note)
    if before != number or printed is None:
        return lines
    words, more = block(citation["excerpt"], _INDENT + _LABEL, _MOST_LINES)
    if more:
        words += _at("", f"and {more} more lines of this clause in the text")
    return lines + words


def filed(finding: Finding) -> str:
    """Which check of which ruleset it is, what it is about and on which modifications."""
    parts = [check_of(finding)]
    if finding["about"]:
        parts.append(f"about {listed(finding['about'])}")
    if finding["modifications"]:
        parts.append(f"on modification {listed(finding['modifications'])}")
    return "; ".join(parts)
