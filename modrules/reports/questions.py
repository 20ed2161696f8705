"""Questions on a page: what is asked, how it is measured, and how the answer is written."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from modrules.reports import reading
from modrules.reports.layout import clean, labelled, listed, wrap
from modrules.reports.reading import Question
from modrules.reports.shape import Report
from modrules.reports.wording import asked_for

#: So many questions of each modification, before the rest is only counted.
MOST_OF_ONE = 3
_LABEL, _INDENT = 11, "    "

#: What is told with a question beside it, line by line.
Lines = list[str]


def asked(question: Question, extra: str = "") -> Lines:
    """A question under its number, how it is measured, and how it is written."""
    first = wrap(asked_for(question.facts[0]), f"{question.number:>2}. ", _INDENT)
    return [*first, *answered(question.facts, extra)]


def answered(facts: Sequence[Mapping[str, Any]], extra: str = "") -> Lines:
    """How facts that are asked for in the same words are measured, and how they are written."""
    how = facts[0]["measure"]
    lines = labelled("how", how, _LABEL, _INDENT) if how else []
    return lines + labelled("written as", written(facts) + extra, _LABEL, _INDENT)


def written(facts: Iterable[Mapping[str, Any]]) -> str:
    """``ride_height_change: 67 mm ± 1 mm (your own figures), under {id: lift, ...} in ...``."""
    places: dict[str, list[str]] = {}
    for fact in facts:
        line = clean(fact["line"])
        if any(map(str.isdigit, line.partition(": ")[2])):
            line += " (your own figures)"
        places.setdefault(line, []).append(clean(fact["under"]))
    return "; ".join(
        f"{line}, under {listed(dict.fromkeys(own))}" if any(own) else line
        for line, own in places.items()
    )


def first_of_each(report: Report) -> dict[str, list[Question]]:
    """By modification, the questions that it begins with."""
    return {
        one["id"]: reading.questions_of(report, one)[:MOST_OF_ONE]
        for one in report["modifications"]
    }
