"""A plan in stages: modifications fitted one after the other, screened after each.

What the submission says of the vehicle is taken as it is written at every stage; only the
modifications, and what documents cover of them, are those fitted so far.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from modrules.problems import ModrulesError, Problem, nearest
from modrules.ruleset.tree import Map, Scalar, plant
from modrules.ruleset.words import OUTCOMES
from modrules.screening.beside import answers, certifications
from modrules.screening.findings import Finding, changed_text, said_of
from modrules.screening.prepared import Ruleset
from modrules.screening.report import Report, again
from modrules.screening.submission import Submission, plain, submission_of
from modrules.texts import Text


@dataclass(frozen=True, slots=True)
class Stage:
    """The vehicle once one more modification is fitted (the first stage: none).

    ``needs`` are certifications that are required, or may be, from here on and were not
    before; ``worse`` the findings that got worse by this modification.
    """

    modification: str | None
    title: str
    report: Report
    needs: tuple[tuple[str, str, str], ...]
    worse: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class Stages:
    stages: tuple[Stage, ...]

    @property
    def first_plate(self) -> str | None:
        """The modification at which a certification is first required or may be."""
        for stage in self.stages:
            if stage.needs:
                return stage.modification or ""
        return None

    def _findings(self) -> Iterator[Finding]:
        """Those of the last stage, and those of checks that only rest on more before it."""
        last = self.stages[-1].report.findings
        yield from last
        known = {finding.check for finding in last if finding.rests_on_changed_text}
        for stage in self.stages[:-1]:
            yield from (f for f in stage.report.findings if f.check not in known)

    def to_dict(self) -> dict[str, Any]:
        """The same as plain data."""
        first: dict[tuple[str, str], int] = {}
        return {
            "first_plate": self.first_plate,
            "changed_text": changed_text(self._findings()),
            "stages": [
                {
                    "modification": stage.modification,
                    "title": stage.title,
                    "answer": dict(stage.report.answer),
                    "needs": [
                        {"id": name, "title": title, "state": state}
                        for name, title, state in stage.needs
                    ],
                    "worse": [_worsened(finding, number, first) for finding in stage.worse],
                }
                for number, stage in enumerate(self.stages)
            ],
        }


def _worsened(finding: Finding, number: int, first: dict[tuple[str, str], int]) -> dict[str, Any]:
    """A finding that got worse at a stage; its clauses stand where its check is told first.

    ``first`` is added to: from ruleset and check to that stage, which is ``cited_at`` elsewhere.
    Where text has changed, every finding that rests on it says so itself.
    """
    said = said_of(finding)
    key = said["ruleset"], said["check"]
    cited_at = None if finding.rests_on_changed_text else first.get(key)
    first.setdefault(key, number)
    citations = said["citations"] if cited_at is None else []
    return {
        **said,
        "citations": citations,
        "cited_at": cited_at,
        "possible": list(finding.possible),
    }


def stages(
    submission: Submission,
    rulesets: Ruleset | Sequence[Ruleset],
    *,
    order: Sequence[str] | None = None,
    texts: Mapping[str, str | Path | Text] | None = None,
    on: datetime.date | None = None,
) -> Stages:
    """The stages of a plan, in the order given, else by date of fitting.

    ``order`` names modifications by id; those left out follow. Raises ModrulesError.
    """
    from modrules.api import screen

    whole = screen(submission, rulesets, texts=texts, on=on)
    titles = {name: title for name, (title, _) in answers(whole).items()}
    wanted = _ordered(submission, list(titles), order)
    found: list[Stage] = []
    for count in range(len(wanted) + 1):
        part = _with(submission, frozenset(wanted[:count]))
        report = again(whole, part)
        name = wanted[count - 1] if count else None
        before = found[-1].report if found else None
        title = titles[name] if name is not None else "Before any of them"
        found.append(Stage(name, title, report, _needs(before, report), _worse(before, report)))
    return Stages(tuple(found))


def _ordered(submission: Submission, names: list[str], order: Sequence[str] | None) -> list[str]:
    if order is not None:
        problems = [
            Problem(f'there is no modification "{name}"', None, nearest(name, names))
            for name in order
            if name not in names
        ]
        twice = {name for name in order if list(order).count(name) > 1}
        problems += [Problem(f'"{name}" is fitted once only') for name in sorted(twice)]
        if problems:
            raise ModrulesError(problems)
        return [*order, *(name for name in names if name not in order)]
    dates = {
        str(entry.get("id")): str(entry.get("fitted"))
        for entry in submission.tree.get("modifications") or []
        if isinstance(entry, Map) and isinstance(entry.get("fitted"), Scalar)
    }
    # Text in the order of a date; what has none comes last, in the order of the submission.
    return sorted(names, key=lambda name: (name not in dates, dates.get(name, "")))


def _with(submission: Submission, names: frozenset[str]) -> Submission:
    """The submission with these modifications alone."""
    tree = submission.tree
    data = dict(tree.items())
    entries = tree.get("modifications")
    kept = [e for e in entries or [] if isinstance(e, Map) and str(e.get("id")) in names]
    gone = {
        str(e.get("id"))
        for e in entries or []
        if isinstance(e, Map) and str(e.get("id")) not in names
    }
    made = {key: plain(value) for key, value in data.items()}
    made["modifications"] = [plain(entry) for entry in kept]
    for document in made.get("evidence") or []:
        covers = document.get("covers") if isinstance(document, dict) else None
        listed = covers.get("modifications") if isinstance(covers, dict) else None
        if isinstance(covers, dict) and isinstance(listed, list):
            covers["modifications"] = [name for name in listed if name not in gone]
        elif isinstance(covers, dict) and listed in gone:
            covers["modifications"] = []
    planted = plant(made, submission.name)
    assert isinstance(planted, Map)
    return submission_of(planted, submission.name)


def _needs(before: Report | None, after: Report) -> tuple[tuple[str, str, str], ...]:
    earlier = certifications(before) if before is not None else {}
    asked = ("required", "open", "held but does not cover")
    return tuple(
        (name, title, state)
        for name, (title, state) in certifications(after).items()
        if state in asked and earlier.get(name, ("", ""))[1] != state
    )


def _worse(before: Report | None, after: Report) -> tuple[Finding, ...]:
    if before is None:
        return ()
    rank = OUTCOMES.index
    earlier = {(f.check, f.subject): rank(f.worst) for f in before.findings}
    return tuple(
        finding
        for finding in after.findings
        if rank(finding.worst) > rank("complies")
        and rank(finding.worst) > earlier.get((finding.check, finding.subject), 0)
    )
