"""What turns the answer, for the screen: per finding and fact the smallest change."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from modrules.reports.changed import attention
from modrules.reports.layout import clean, heading, labelled, listed, page, paragraph, wrap
from modrules.reports.limits import amount, clauses
from modrules.reports.shape import RANK
from modrules.reports.wording import NO_CERTIFICATE, answer_line, plural

Data = Mapping[str, Any]


def render(found: Data) -> str:
    """The turns as plain text, worst finding first, no line wider than 79 columns."""
    findings = sorted(found["findings"], key=lambda one: -RANK[one["possible"][-1]])
    turned = [one for one in findings if one["turns"]]
    fixed = [one for one in findings if not one["turns"]]
    lines = ["WHAT TURNS THE ANSWER", *attention(found["changed_text"]), NO_CERTIFICATE, ""]
    lines += paragraph(
        "Each line changes one fact and leaves all else as it is. What belongs to the vehicle as "
        "built is no matter of choice: another value there is another vehicle."
    )
    if not findings:
        lines += ["", "No finding is worse than complies."]
    last = ""
    for finding in turned:
        outcome = _outcome(finding["possible"])
        lines += heading(outcome) if outcome != last else [""]
        last = outcome
        lines += wrap(clauses(finding))
        for turn in sorted(_together(finding["turns"]), key=_own_first):
            lines += wrap(turn_text(turn), "  - ", "    ")
            if turn["worsens"]:
                worse = [
                    f"{clean(o['title'])}, {clean(o['subject'])}: {_outcome(o['becomes'])}"
                    for o in turn["worsens"]
                ]
                lines += labelled("but then", listed(worse), 9, "    ")
    lines += _conflicts(found["conflicts"])
    if fixed:
        lines += heading("No single fact turns these")
        for one in fixed:
            lines += wrap(f"{clauses(one)} ({_outcome(one['possible'])})", "  - ", "    ")
    return page(lines)


def turn_text(turn: Data) -> str:
    """One change: what, from what, to what, by how much, and what it comes to then."""
    unit = clean(turn["unit"])
    name = f"{clean(turn['title'])} [{clean(turn['fact'])}]"
    if turn["to"] is None:
        said = f"{clean(turn['value'])} in place of {clean(turn['now'])}"
    else:
        said = _end(turn["to"], turn["direction"], unit)
        said += "" if turn["exact"] else ", which is enough"
        if turn["change"] is not None:
            by = amount(turn["change"], "days" if turn["to"]["exact"][4:5] == "-" else unit)
            just = "" if turn["to"]["closed"] else "just over "
            said += f" ({just}{by} {turn['direction']})"
        else:
            said += f" (now {clean(turn['now'])} {unit})".replace(" )", ")")
    return f"{name}: {said}: {_outcome(turn['becomes'])}"


def _together(turns: list[Data]) -> list[Data]:
    """The words that come to the same, as one change with the choice of them."""
    groups: dict[str, list[Data]] = {}
    for number, turn in enumerate(turns):
        alike = turn["to"] is None and not turn["worsens"]
        key = f"{turn['fact']} {turn['becomes']}" if alike else str(number)
        groups.setdefault(key, []).append(turn)
    return [
        {**own[0], "value": listed((one["value"] for one in own), "or")} for own in groups.values()
    ]


def _end(end: Data, direction: str, unit: str) -> str:
    value = amount(end, unit)
    if not end["closed"]:
        return f"more than {value}" if direction == "more" else f"less than {value}"
    return f"{value} or more" if direction == "more" else f"{value} or less"


def _outcome(possible: list[str]) -> str:
    ends: Any = {"best": possible[0], "worst": possible[-1]}
    return answer_line(ends)


def _own_first(turn: Data) -> tuple[bool, str]:
    """What a modification itself says comes before what is said of the vehicle."""
    return not str(turn["fact"]).startswith("modifications."), str(turn["fact"])


def _conflicts(conflicts: list[Data]) -> list[str]:
    if not conflicts:
        return []
    lines = heading(f"Against each other: {plural(len(conflicts), 'conflict')}")
    for one in conflicts:
        unit = clean(one["unit"])
        lines += wrap(
            f"{clean(one['title'])} [{clean(one['fact'])}], now {clean(one['now'])} {unit}"
        )
        for side in ("more", "less"):
            end = _end(one[side]["to"], side, unit)
            lines += wrap(f"{end}: {clauses(one[side])}", "  - ", "    ")
    return lines
