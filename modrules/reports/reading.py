"""Reading a report: order, groups and counts. No wording, no layout.

Everything here is a pure function of the report dict, shared by all renderers.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from modrules.reports.shape import (
    OUTCOMES,
    RANK,
    Answer,
    Certification,
    Citation,
    Evidence,
    Finding,
    Missing,
    Modification,
    Outcome,
    Report,
)
from modrules.texts.resolve import DOUBTFUL

#: The first outcome on which somebody has to act.
ACT = RANK["inspect"]
#: Certifications in the order of what is left to do about them.
_STATES = ("required", "held but does not cover", "open", "held")


class Numbered(NamedTuple):
    """A finding and its number on the page, from 1, worst first."""

    number: int
    finding: Finding


class Question(NamedTuple):
    """One question, and the missing facts that it asks for: the same of each axle, say."""

    number: int
    facts: list[Missing]


def questions(report: Report) -> list[Question]:
    """What is missing, facts that are asked for in the same words together.

    The order is that of the report: the most decisive first.
    """
    asked: dict[tuple[str | None, ...], list[Missing]] = {}
    for one in report["missing"]:
        # What is to be measured again is asked for one by one, each with its own precision.
        again = one["fact"] if one["given"] else ""
        key = (one["question"], one["title"], one["measure"], one["unit"], again)
        asked.setdefault(key, []).append(one)
    return [Question(number, facts) for number, facts in enumerate(asked.values(), start=1)]


def questions_of(report: Report, modification: Modification) -> list[Question]:
    """The questions that bear on a modification, in its own order, each with its own facts."""
    numbers = {fact["fact"]: number for number, facts in questions(report) for fact in facts}
    facts = {fact["fact"]: fact for fact in report["missing"]}
    found: dict[int, list[Missing]] = {}
    for address in modification["missing"]:
        if address in numbers:
            found.setdefault(numbers[address], []).append(facts[address])
    return [Question(number, own) for number, own in found.items()]


def exit_status(answer: Answer) -> int:
    """0: nothing to act on; 1: the best end is *inspect* or worse; 3: only the worst end is."""
    if RANK[answer["best"]] >= ACT:
        return 1
    return 3 if RANK[answer["worst"]] >= ACT else 0


def ends(finding: Finding) -> tuple[Outcome, Outcome]:
    """The best and the worst outcome still possible."""
    possible = sorted(finding["possible"], key=_rank)
    return possible[0], possible[-1]


def is_open(finding: Finding) -> bool:
    return len(finding["possible"]) > 1


def is_idle(finding: Finding) -> bool:
    """The check does not apply, for certain."""
    return list(finding["possible"]) == [OUTCOMES[0]]


def is_met(finding: Finding) -> bool:
    """The rule is met, for certain."""
    return list(finding["possible"]) == ["complies"]


def worst_first(report: Report) -> list[Numbered]:
    """The findings that may apply: by worst end, then best end, then the report's order."""
    live = [finding for finding in report["findings"] if not is_idle(finding)]

    def key(finding: Finding) -> tuple[int, int]:
        best, worst = ends(finding)
        return -RANK[worst], -RANK[best]

    return [Numbered(n, finding) for n, finding in enumerate(sorted(live, key=key), start=1)]


def idle(report: Report) -> list[Finding]:
    """The findings whose check does not apply."""
    return [finding for finding in report["findings"] if is_idle(finding)]


def none_applies(report: Report) -> list[tuple[Modification, list[str]]]:
    """The modifications that there are checks for, none of which applies; and those checks."""
    found = []
    for one in report["modifications"]:
        if one["answer"] is not None and one["answer"]["worst"] == OUTCOMES[0]:
            mine = [f for f in report["findings"] if one["id"] in f["modifications"]]
            found.append((one, list(dict.fromkeys(f["title"] for f in mine))))
    return found


def combined(findings: Iterable[Finding]) -> Answer | None:
    """The answer of several findings: the worst of their best and of their worst ends."""
    pairs = [ends(finding) for finding in findings]
    if not pairs:
        return None
    return {
        "best": max((best for best, _ in pairs), key=_rank),
        "worst": max((worst for _, worst in pairs), key=_rank),
    }


def decided_counts(report: Report) -> list[tuple[str, int]]:
    """How many decided findings have each outcome, worst first, none that is 0."""
    return _counts(finding["possible"][0] for finding in report["findings"] if not is_open(finding))


def open_counts(report: Report) -> list[tuple[str, int]]:
    """How many open findings have each outcome as their worst end, worst first."""
    return _counts(ends(finding)[1] for finding in report["findings"] if is_open(finding))


def certifications_in_order(report: Report) -> list[Certification]:
    """Required first, then held without covering the work, then open, then held."""
    return sorted(report["certifications"], key=lambda one: _STATES.index(one["state"]))


def outstanding(certification: Certification) -> list[Evidence]:
    """The evidence that nobody has supplied."""
    return [item for item in certification["evidence"] if not item["supplied"]]


def doubtful(finding: Finding) -> list[Citation]:
    """Its citations whose words do not stand in the supplied text as the check has them."""
    return [citation for citation in finding["citations"] if citation["status"] in DOUBTFUL]


def doubtful_findings(report: Report) -> list[Finding]:
    """The findings that rest on changed text."""
    return [finding for finding in report["findings"] if doubtful(finding)]


def is_joint(finding: Finding) -> bool:
    """Whether it is about the vehicle as a whole, or about modifications together."""
    return (
        "vehicle" in finding["about"]
        or not finding["modifications"]
        or len(finding["modifications"]) > 1
    )


def decisive(findings: list[Numbered], answer: Answer) -> list[Numbered]:
    """A finding that sets the worst end and, if another does, one that sets the best end."""
    chosen: list[Numbered] = []
    for place, end in ((1, answer["worst"]), (0, answer["best"])):
        setting = [one for one in findings if ends(one.finding)[place] == end]
        # Where one finding sets both ends, it alone is named.
        already = any(ends(one.finding)[place] == end for one in chosen)
        if setting and not already and RANK[end] > RANK["complies"]:
            chosen.append(setting[0])
    return chosen


def _rank(outcome: str) -> int:
    return RANK[outcome]


def _counts(outcomes: Iterable[str]) -> list[tuple[str, int]]:
    every = list(outcomes)
    return [(name, every.count(name)) for name in reversed(OUTCOMES) if name in every]
