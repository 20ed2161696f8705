"""The submissions that a ruleset ships as examples, held against it.

submission_problems(ruleset, folder) -> list[Problem]
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from modrules.problems import ModrulesError, Problem
from modrules.proofs.cases import default_day
from modrules.ruleset.find import data_files
from modrules.screening.binding import bind
from modrules.screening.prepared import Ruleset
from modrules.screening.submission import read_submission


def submission_problems(ruleset: Ruleset, folder: Path) -> list[Problem]:
    """Why submissions in the folder ``submissions`` can't be screened under it, as warnings."""
    try:
        listed = data_files(folder, "submissions")
    except ModrulesError as error:
        return list(error.problems)
    problems = listed.problems
    for path in listed.files:
        try:
            bind(read_submission(path), ruleset.typed, ruleset.layout, default_day(ruleset))
        except ModrulesError as error:
            problems += [replace(problem, level="warning") for problem in error.problems]
    return problems
