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
    turned = [one for one in findings if _ways_out(one)]
    fixed = [one for one in findings if not _ways_out(one)]
    lines = ["WHAT TURNS THE ANSWER", *attention(found["changed_text"]), NO_CERTIFICATE, ""]
    lines += paragraph(
        "Each line changes one fact and leaves all else as it is. What the vehicle has from its "
        "maker is no way out, for no work changes it; it is named apart."
    )
    if not findings:
        lines += ["", "No finding is worse than complies."]
    last = ""
    for finding in turned:
        outcome = _outcome(finding["possible"])
        lines += heading(outcome) if outcome != last else [""]
        last = outcome
        lines += wrap(clauses(finding))
        for turn in sorted(_together(_ways_out(finding)), key=_own_first):
            lines += wrap(turn_text(turn), "  - ", "    ")
            if turn["worsens"]:
                worse = [
                    f"{clean(o['title'])}, {clean(o['subject'])}: {_outcome(o['becomes'])}"
                    for o in turn["worsens"]
                ]
                lines += labelled("but then", listed(worse), 9, "    ")
        lines += _as_built(finding)
    lines += _conflicts(found["conflicts"])
    if fixed:
        lines += heading("No single fact turns these")
        for one in fixed:
            lines += wrap(f"{clauses(one)} ({_outcome(one['possible'])})", "  - ", "    ")
            lines += _as_built(one)
    return page(lines)


def _ways_out(finding: Data) -> list[Data]:
    """The changes of what can be changed at all."""
    return [turn for turn in finding["turns"] if not turn["as_built"]]


def _as_built(finding: Data) -> list[str]:
    """What of the vehicle as built it hangs on, by name alone: nothing there is to be changed."""
    names = dict.fromkeys(
        f"{clean(turn['title'])} [{clean(turn['fact'])}]"
        for turn in finding["turns"]
        if turn["as_built"]
    )
    return labelled("as built", f"no way out: {listed(names)}", 9, "    ") if names else []


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
