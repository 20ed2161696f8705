"""The owner's answer for one modification, drawn from both ends of its outcomes."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from modrules.reports import reading
from modrules.reports.layout import clean
from modrules.reports.shape import Answer, Modification, Report

#: What an owner reads for a decided outcome; the words are short enough for a margin.
#: "No plate" stands here and nowhere else: it is never said of what is open, of what no
#: check covers or of what no check applies to.
_DECIDED: dict[str, tuple[str, str]] = {
    "not applicable": (
        "NOT APPLICABLE",
        "There are checks for it, and none applies to it as described. That is no permission.",
    ),
    "complies": ("NO PLATE", "It needs no plate under {these}."),
    "exempt": ("NO PLATE", "It needs no plate under {these}, thanks to an exemption."),
    "certified": ("CERTIFIED", "It takes a plate or certificate, which is held for what was done."),
    "caution": ("CAUTION", "It needs no plate under {these}; heed the caution."),
    "inspect": ("TO BE JUDGED", "The rule leaves it to a licensed certifier's judgement."),
    "certification required": ("PLATE", "It needs a plate or certificate that is not held yet."),
    "not permitted": ("NOT PERMITTED", "A rule forbids it as described."),
}
NOT_COVERED = "NOT COVERED"
#: Of what checks look at and none applies to, in a line of a table.
IDLE = "checks on it exist, none applies"
OPEN = "OPEN"
#: Every word that an owner may read, what needs doing first.
WORDS = (
    "NOT PERMITTED",
    OPEN,
    "PLATE",
    "TO BE JUDGED",
    NOT_COVERED,
    "CAUTION",
    "CERTIFIED",
    "NO PLATE",
    "NOT APPLICABLE",
)


#: An end of an open answer, short enough for a line of a table.
_SHORT = {"inspect": "certifier judges", "certification required": "plate"}


class Owner(NamedTuple):
    """A word or two in capitals, and a sentence that explains them."""

    word: str
    sentence: str


def of_answer(answer: Answer, rulesets: int = 1) -> Owner:
    """The owner's answer for both ends; open unless they are one and the same outcome.

    ``rulesets`` is the number of rulesets that the answer rests on.
    """
    best, worst = answer["best"], answer["worst"]
    if best != worst:
        return Owner(OPEN, f"Not settled: anything from {best} to {worst}.")
    word, sentence = _DECIDED[best]
    return Owner(word, sentence.format(these="this ruleset" if rulesets == 1 else "these rulesets"))


def of_modification(modification: Modification, rulesets: int = 1) -> Owner:
    """The owner's answer for a modification, covered by a check or not."""
    if not modification["covered"] or modification["answer"] is None:
        silence = silent(rulesets)
        return Owner(
            NOT_COVERED,
            f"{silence[0].upper()}{silence[1:]} about it. That is no permission: "
            "ask the licensed certifier.",
        )
    return of_answer(modification["answer"], rulesets)


def sentences(modification: Modification, report: Report) -> str:
    """The owner's answer explained; where no check applies, with those that looked."""
    told = of_modification(modification, len(report["rulesets"])).sentence
    for one, checks in reading.none_applies(report):
        if one["id"] == modification["id"]:
            told += f" Looked at by: {looked(checks)}."
    return told


def looked(checks: Iterable[str]) -> str:
    """The checks that looked at a modification and don't apply to it."""
    return "; ".join(map(clean, checks))


def silent(rulesets: int) -> str:
    """``this ruleset says nothing``, for one ruleset or several."""
    return "this ruleset says nothing" if rulesets == 1 else "none of these rulesets says anything"


def span(answer: Answer) -> str:
    """Both ends of an open answer in few words, ``plate to not permitted``; else nothing."""
    best, worst = answer["best"], answer["worst"]
    if best == worst:
        return ""
    return f"{_SHORT.get(best, best)} to {_SHORT.get(worst, worst)}"


def name(modification: Modification) -> str:
    """Title and id, or the title alone where the id says the same."""
    title, key = clean(modification["title"]), clean(modification["id"])
    return title if title.lower() == key.lower() or not key else f"{title} ({key})"
