"""Whose answer changes between two editions: over a folder of submissions.

effects(old, new, folder, on) -> Effects
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from modrules.files import is_folder
from modrules.problems import ModrulesError, Place, Problem
from modrules.proofs.cases import subject_id
from modrules.ruleset.find import data_files
from modrules.screening.binding import bind
from modrules.screening.findings import Finding
from modrules.screening.prepared import Ruleset, Run
from modrules.screening.report import combined
from modrules.screening.submission import read_submission

#: A check that an edition does not have is as good as one that does not apply.
_NOT_ASKED: Final = ("not applicable",)
_NO_SUBMISSION: Final = Problem("passed over, since it is no YAML or JSON file")


@dataclass(frozen=True, slots=True)
class Effect:
    """What changes for one submission: both ends of the answer, and the findings that differ.

    ``findings``: check, subject, and what is possible before and after (empty: no such check).
    """

    name: str
    before: Mapping[str, str]
    after: Mapping[str, str]
    findings: tuple[tuple[str, str, tuple[str, ...], tuple[str, ...]], ...]

    @property
    def answer_changes(self) -> bool:
        return self.before != self.after


@dataclass(frozen=True, slots=True)
class Effects:
    """The submissions that were screened, and those that can't be screened by both editions."""

    screened: tuple[Effect, ...]
    left_out: tuple[tuple[str, Problem], ...]


def effects(old: Ruleset, new: Ruleset, folder: Path, on: datetime.date) -> Effects:
    """Screens every submission of a folder by both editions, on one date.

    Raises ModrulesError where there is no such folder.
    """
    if not is_folder(folder):
        raise ModrulesError(Problem("there is no such folder of submissions", Place(str(folder))))
    screened: list[Effect] = []
    listed = data_files(folder)
    left_out = [(path.name, problem) for path, problem in listed.refused]
    left_out += [(path.name, _NO_SUBMISSION) for path in listed.passed_over]
    for path in listed.files:
        try:
            before, first = _screened(old, new, path, on)
            after, second = _screened(new, old, path, on)
        except ModrulesError as error:
            left_out.append((path.name, error.problems[0]))
            continue
        keys = [*first, *(key for key in second if key not in first)]
        changed = tuple(
            (*key, first.get(key, ()), second.get(key, ()))
            for key in keys
            if first.get(key, _NOT_ASKED) != second.get(key, _NOT_ASKED)
        )
        screened.append(Effect(path.name, before, after, changed))
    return Effects(tuple(screened), tuple(left_out))


def _screened(
    ruleset: Ruleset, other: Ruleset, path: Path, on: datetime.date
) -> tuple[dict[str, str], dict[tuple[str, str], tuple[str, ...]]]:
    """The answer, and what each check comes to for each subject."""
    submission = read_submission(path)
    # What only the other edition knows is passed over.
    run = Run(ruleset, bind(submission, ruleset.typed, ruleset.layout, on, [other.typed]))
    raws = sorted(run.screen(), key=lambda raw: raw[0])
    findings = [Finding(run, raw) for raw in raws]
    by_subject = {
        (ruleset.typed.checks[raw[0]].id, subject_id(raw[1])): finding.possible
        for raw, finding in zip(raws, findings, strict=True)
    }
    return combined(findings), by_subject
