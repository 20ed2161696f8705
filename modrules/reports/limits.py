"""How far one fact may go, for the screen: stretches, edges, and the clause that sets each."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any

from modrules.reports.changed import attention
from modrules.reports.layout import clean, columns, heading, labelled, listed, page, paragraph, wrap
from modrules.reports.wording import NO_CERTIFICATE, answer_line, clauses_of, number, plural

Data = Mapping[str, Any]


def as_json(found: Data) -> str:
    """Plain data as JSON text in plain ASCII, which can't fake a screen."""
    text = json.dumps(found, indent=2, ensure_ascii=True, allow_nan=False) + "\n"
    return text.replace("\x7f", "\\u007f")


def render(found: Data) -> str:
    """The limits as plain text, no line wider than 79 columns."""
    unit = clean(found["unit"])
    now = clean(found["now"]) + (f" {unit}" if unit and found["now"][:1].isdigit() else "")
    return page(
        [
            *wrap(f"HOW FAR: {clean(found['title'])}"),
            *labelled("FACT", found["fact"]),
            *labelled("NOW", f"{now}: {answer_line(found['answer_now'])}"),
            *attention(found["changed_text"]),
            "Everything else stays as it is in the submission.",
            NO_CERTIFICATE,
            *_stretches(found, unit),
            *_edges(found, unit),
            *_values(found),
            *_findings(found, unit),
        ]
    )


def amount(end: Data, unit: str = "") -> str:
    """A value exactly; one that no decimal number can give, as a fraction beside it."""
    exact = clean(end["exact"])
    if "/" in exact:
        return f"{number(end['value'])} {unit}".strip() + f" ({exact})"
    return f"{exact} {unit}".strip()


def span(stretch: Data, unit: str) -> str:
    """``from 0 up to 50 mm``, ``over 50 and under 75 mm``."""
    low, high = stretch["from"], stretch["to"]
    if low["exact"] == high["exact"]:
        return f"{amount(low, unit)} exactly"
    first = f"{'from' if low['closed'] else 'over'} {amount(low)}"
    last = f"{'up to' if high['closed'] else 'and under'} {amount(high, unit)}"
    return f"{first} {last}"


def clauses(finding: Data) -> str:
    """The check, what it is about, and its clauses."""
    return f"{named(finding)}: {clauses_of(finding['citations'])}"


def named(finding: Data) -> str:
    """The check and what it is about: ``Load, axle front [ruleset/load]``."""
    subject = clean(finding["subject"]).replace("_", " ")
    name = f"{clean(finding['ruleset'])}/{clean(finding['check']).rpartition('/')[2]}"
    return f"{clean(finding['title'])}, {subject} [{name}]"


def ends(stretch: Data) -> str:
    """The answer over a stretch; where it is only enclosed, that is said."""
    line = answer_line({"best": stretch["best"], "worst": stretch["worst"]})
    return line if stretch["exact"] else f"{line} (at most)"


def _stretches(found: Data, unit: str) -> list[str]:
    if not found["stretches"]:
        return []
    rows = [[span(stretch, unit), ends(stretch)] for stretch in found["stretches"]]
    lines = heading("The whole answer, value by value")
    lines += columns(rows, (36,))
    every = [*found["stretches"], *(s for f in found["findings"] for s in f["stretches"])]
    if not all(one["exact"] for one in every):
        lines += ["", *paragraph('"At most": only enclosed; no other outcome is possible there.')]
    return lines


def _edges(found: Data, unit: str) -> list[str]:
    if not found["stretches"]:
        return []
    if not found["edges"]:
        lines = heading("Edges")
        return lines + paragraph(
            "None: no value of this fact makes the whole answer any other. "
            "What it does to single findings stands below."
        )
    lines = heading(f"What sets each edge: {plural(len(found['edges']), 'edge')}")
    for edge in found["edges"]:
        low, high = edge["from"], edge["to"]
        if edge["exact"]:
            place = f"at {amount(low, unit)}"
        else:
            place = f"between {amount(low)} and {amount(high, unit)}"
        lines += wrap(place)
        lines += [line for one in edge["set_by"] for line in wrap(clauses(one), "    - ")]
    return lines


def _values(found: Data) -> list[str]:
    if not found["values"]:
        return []
    rows = [
        [clean(one["value"]) + (" (now)" if one["now"] else ""), answer_line(_answer(one))]
        for one in found["values"]
    ]
    lines = heading("The whole answer for each value")
    if found["type"] == "tyre_marking":
        lines += paragraph(
            "For another size, what was measured on the tyre that is fitted now is left out; its "
            "own size says how large it is, within a tolerance."
        )
    return lines + columns(rows, (36,))


def _answer(one: Data) -> Any:
    return {"best": one["best"], "worst": one["worst"]}


def _findings(found: Data, unit: str) -> list[str]:
    """The single findings: those that the fact turns in full, the others by name."""
    turned: list[Data] = []
    fixed: list[Data] = []
    for finding in found["findings"]:
        several = len(finding["stretches"]) > 1 or len(set(map(tuple, finding["values"]))) > 1
        (turned if several else fixed).append(finding)
    lines = heading(f"Single findings that it turns: {len(turned)}") if turned else []
    for finding in turned:
        lines += wrap(clauses(finding))
        rows = [[span(one, unit), ends(one)] for one in finding["stretches"]]
        rows += _grouped(found["values"], finding["values"]) if finding["values"] else []
        lines += [*columns(rows, (34,), indent=4), ""]
    waiting = [finding for finding in fixed if finding["open_for"]]
    if waiting:
        lines += heading("Findings that stay open whatever it is, until more is known")
    for finding in waiting:
        lines += wrap(f"{_named(finding)}: first find out", "  - ", "    ")
        lines += [line for one in finding["open_for"] for line in wrap(clean(one), "      ")]
    if len(waiting) < len(fixed):
        lines += heading("Findings that read it and stay the same")
        lines += paragraph("; ".join(_named(one) for one in fixed if not one["open_for"]))
    if not found["findings"]:
        lines += heading("Findings")
        lines += paragraph("No check reads this fact. That is no permission.")
    return lines


def _named(finding: Data) -> str:
    return f"{clean(finding['title'])} ({clean(finding['subject']).replace('_', ' ')})"


def _grouped(values: Sequence[Data], possible: Sequence[Sequence[str]]) -> list[list[str]]:
    """The values that come to the same outcomes, in one row."""
    groups: dict[str, list[str]] = {}
    for one, outcomes in zip(values, possible, strict=False):
        line = answer_line({"best": outcomes[0], "worst": outcomes[-1]})  # type: ignore[typeddict-item]
        groups.setdefault(line, []).append(clean(one["value"]))
    return [[listed(names, "or"), line] for line, names in groups.items()]
