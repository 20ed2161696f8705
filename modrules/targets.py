"""Where a command saves what it makes: one rule for all of them.

    output_of(arguments, problems) -> Path | None
    target_of(arguments) -> Path | None       the same, with the problems raised

A command never replaces a file that it was given to read, nor one in the folder of a ruleset.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from modrules.files import STANDARD_STREAM
from modrules.problems import ModrulesError, Place, Problem

#: The arguments that name what a command reads, whichever of them it has. What ``ask`` goes on
#: with is not among them: that is saved anew, answer by answer.
_INPUTS: Final = (
    "submission", "report", "file", "ruleset", "beside", "before", "now", "submissions", "text",
)  # fmt: skip


def output_of(arguments: argparse.Namespace, problems: list[Problem]) -> Path | None:
    """The file to save to, if one is asked for; why it can't be is added to ``problems``."""
    from modrules.reports.save import check_target

    if arguments.output is None:
        return None
    if arguments.output == STANDARD_STREAM:
        hint = "leave --output out to see it on the screen; a file of this very name is ./-"
        problems.append(Problem("the standard output is not named", Place(STANDARD_STREAM), hint))
    target = Path(arguments.output)
    problems += check_target(target, _inputs(arguments))
    return target


def target_of(arguments: argparse.Namespace) -> Path | None:
    """The file to save to, if one is asked for. ModrulesError where it can't be saved to."""
    problems: list[Problem] = []
    target = output_of(arguments, problems)
    if problems:
        raise ModrulesError(problems)
    return target


def _inputs(arguments: argparse.Namespace) -> Iterator[Path]:
    from modrules.ruleset.find import find_ruleset

    for name in _INPUTS:
        given = getattr(arguments, name, None)
        for one in given if isinstance(given, list) else [given]:
            if not isinstance(one, str) or not one:
                continue
            file = one.partition("=")[2] if name == "text" and isinstance(given, list) else one
            yield Path(file)
            try:
                yield find_ruleset(one)  # by its id
            except ModrulesError:
                continue
