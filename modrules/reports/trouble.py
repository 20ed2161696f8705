"""Problems of an input as text: for the error stream, and for whoever proofreads a ruleset."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Protocol

from modrules.problems import Place, Problem
from modrules.reports.layout import bullets, clean, heading, labelled, masked, page, wrap
from modrules.reports.wording import plural


class Proofread(Protocol):
    """What proofreading a ruleset found; see ``modrules.proofread``."""

    @property
    def problems(self) -> Sequence[Problem]: ...
    @property
    def cases_run(self) -> int: ...
    @property
    def cases_failed(self) -> Sequence[Problem]: ...
    @property
    def summary(self) -> Sequence[str]: ...
    @property
    def notes(self) -> Sequence[Problem]: ...
    @property
    def examples(self) -> Mapping[Problem, Sequence[str]]: ...
    @property
    def kinds(self) -> Mapping[Problem, str]: ...


def problem_text(problem: Problem) -> str:
    """A problem with its place, its line with a caret, and what to do; nothing harmful in it."""
    place = problem.place
    if place is not None:
        # Columns must stay put under the caret, so its line is masked, not shortened.
        source = masked(place.source.replace("\t", " ").rstrip("\r\n"))
        place = Place(clean(place.file), place.line, place.column, place.end_column, source)
    message, hint = clean(problem.message), clean(problem.hint)
    return str(replace(problem, message=message, place=place, hint=hint))


def unusable(problems: Sequence[Problem]) -> str:
    """All that stands in the way of using the input, in the order given."""
    count = "" if len(problems) == 1 else f": {len(problems)} problems"
    texts = [problem_text(problem) for problem in problems]
    return "\n".join([f"modrules: the input could not be used{count}", *texts]) + "\n"


def proofread_text(name: str, result: Proofread) -> str:
    """What proofreading found, for the screen: the result first, then every problem."""
    problems = all_problems(result)
    lines = labelled("PROOFREADING", name)
    lines += labelled("RESULT", _result(problems))
    failed = f", {len(result.cases_failed)} failed" if result.cases_failed else ", all as expected"
    run = f"{result.cases_run} run{failed}" if result.cases_run else "none"
    lines += labelled("WORKED CASES", run)
    if result.summary:
        lines.append("")
        for line in result.summary:  # an indented line belongs to the one above it
            lines += bullets([line], indent=2 + min(8, len(line) - len(line.lstrip())))
    if problems:
        lines += heading(plural(len(problems), "problem"))
        # Not wrapped: editors find their way by "file:line:column:" on one line.
        for problem in problems:
            lines.append(f"{problem.level}: {problem_text(problem)}")
            example = result.examples.get(problem)
            if example:
                lines.append("  for example, as confirmed by screening it:")
                for line in example:
                    note = line.startswith("# ")
                    lines += (
                        wrap(line[2:], "    # ", "    # ") if note else wrap(line, "    ", "      ")
                    )
            lines.append("")
    return page(lines)


def proofread_lines(name: str, result: Proofread) -> str:
    """Every problem as one line, ``file:line:column: level: message (what to do)``; for editors.

    What has no place of its own stands at the beginning of ``name``. Notes that have a
    place come after the problems.
    """
    lines = []
    for problem in [*all_problems(result), *(note for note in result.notes if note.place)]:
        place = problem.place or Place(name)
        where = f"{clean(place.file)}:{place.line or 1}:{place.column or 1}"
        hint = f" ({clean(problem.hint)})" if problem.hint else ""
        lines.append(f"{where}: {problem.level}: {clean(problem.message)}{hint}\n")
    return "".join(lines)


def all_problems(result: Proofread) -> list[Problem]:
    """The problems and the failed cases, each once."""
    return list(dict.fromkeys([*result.problems, *result.cases_failed]))


def _result(problems: Iterable[Problem]) -> str:
    levels = [problem.level for problem in problems]
    if not levels:
        return "nothing to mend"
    counts = [
        plural(levels.count(level), level) for level in ("error", "warning") if level in levels
    ]
    return " and ".join(counts)
