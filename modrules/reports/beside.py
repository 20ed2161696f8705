"""Two screenings side by side, and a plan in stages, for the screen."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from modrules.reports.changed import attention
from modrules.reports.layout import clean, columns, heading, labelled, page, paragraph, wrap
from modrules.reports.limits import clauses, named
from modrules.reports.wording import NO_CERTIFICATE, STATE, answer_line, clauses_of, plural

Data = Mapping[str, Any]

_CHANGES = (
    ("worse", "Worse on the right"),
    ("other", "Different on the right, neither worse nor milder throughout"),
    ("new", "On the right only"),
    ("milder", "Milder on the right"),
    ("gone", "On the left only"),
)


def render(found: Data) -> str:
    """Two reports side by side as plain text, no line wider than 79 columns."""
    lines = ["SIDE BY SIDE", *_sides(found), NO_CERTIFICATE]
    lines += heading("Answers")
    rows = [["", "left", "right"]]
    rows.append(["in all", *(answer_line(found[side]["answer"]) for side in ("left", "right"))])
    for one in found["modifications"]:
        name = f"{clean(one['title'])} ({clean(one['id'])})"
        rows.append([name, _answer(one["left"]), _answer(one["right"])])
    lines += columns(rows, (25, 23))
    if found["certifications"]:
        lines += heading("Plates and certificates")
        rows = [
            [clean(one["title"]), _state(one["left"]), _state(one["right"])]
            for one in found["certifications"]
        ]
        lines += columns(rows, (25, 23))
    for change, title in _CHANGES:
        pairs = [one for one in found["findings"] if one["change"] == change and _tells(one)]
        if pairs:
            lines += heading(f"{title}: {plural(len(pairs), 'finding')}")
            for one in pairs:
                lines += _pair(one)
    same = sum(one["change"] == "same" for one in found["findings"])
    lines += heading("The same on both sides")
    return page([*lines, plural(same, "finding")])


def _sides(found: Data) -> list[str]:
    lines: list[str] = []
    for side in ("left", "right"):
        one = found[side]
        if found["differ"] == "ruleset":
            words = "; ".join(
                f"{clean(r['title'])} ({clean(r['id'])}), edition {clean(r['edition'])}"
                for r in one["rulesets"]
            )
        else:
            words = clean(one["submission"]["title"]) or one["submission"]["digest"][:16]
        lines += [*labelled(side.upper(), words), *attention(one["changed_text"])]
    return lines


def _answer(answer: Any) -> str:
    if answer == "absent":
        return "not there"
    return "the ruleset says nothing" if answer is None else answer_line(answer)


def _state(state: str) -> str:
    return "-" if state == "absent" else STATE[state]


def _tells(one: Data) -> bool:
    """Whether a pair is worth a place: checks that do not apply on the only side are not."""
    sides = [one[side] for side in ("left", "right") if one[side] is not None]
    return any(side["possible"] not in (["not applicable"], ["complies"]) for side in sides)


def _pair(one: Data) -> list[str]:
    subject = clean(one["subject"]).replace("_", " ")
    lines = wrap(f"{clean(one['title'])}, {subject} [{clean(one['check'])}]")
    for side in ("left", "right"):
        finding = one[side]
        if finding is not None:
            lines += labelled(side, finding["message"], 8, "    ")
            lines += labelled("clause", clauses_of(finding["citations"]), 8, "    ")
    return lines


# -- stages ------------------------------------------------------------------------------


def render_stages(found: Data) -> str:
    """A plan in stages as plain text."""
    lines = ["A PLAN IN STAGES", *attention(found["changed_text"]), NO_CERTIFICATE, ""]
    lines += paragraph(
        "One modification after the other. What the submission says of the vehicle itself "
        "(tyres, heights, masses) is taken as it is written at every stage."
    )
    first = found["first_plate"]
    lines.append("")
    if first is None:
        lines += wrap("No stage needs a plate or certificate that is not held.")
    elif first == "":
        lines += wrap("A plate or certificate is or may be needed before any of them is fitted.")
    else:
        lines += wrap(f"The first that needs a plate or certificate, or may: {clean(first)}")
    for number, stage in enumerate(found["stages"]):
        name = clean(stage["modification"] or "")
        title = f"{clean(stage['title'])} ({name})" if name else clean(stage["title"])
        lines += heading(f"{number}. {title}")
        lines += labelled("answer", answer_line(stage["answer"]))
        for need in stage["needs"]:
            lines += labelled("plate", f"{clean(need['title'])}: {STATE[need['state']]}")
        for finding in stage["worse"]:
            ends: Any = {"best": finding["possible"][0], "worst": finding["possible"][-1]}
            told = clauses(finding) if finding["cited_at"] is None else _cited_at(finding, number)
            lines += labelled("worse", f"{told}: {answer_line(ends)}")
    return page(lines)


def _cited_at(finding: Data, number: int) -> str:
    """The check and what it is about, with the stage that has its clauses."""
    where = "above" if finding["cited_at"] == number else f"under {finding['cited_at']}."
    return f"{named(finding)}, clauses as {where}"
