"""Problems: what is wrong with an input, where, and what to do about it.

Every layer reports through these values; nothing else is ever shown to a user.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, order=True)
class Place:
    """A stretch of one line in a file; lines and columns count from 1.

    ``end_column`` is the column just past the stretch (0: not known). ``source``
    is the text of the line, where it is at hand, so that a caret can be drawn.
    """

    file: str
    line: int = 0
    column: int = 0
    end_column: int = 0
    source: str = ""

    def __str__(self) -> str:
        parts = [self.file]
        if self.line:
            parts.append(str(self.line))
            if self.column:
                parts.append(str(self.column))
        return ":".join(parts)


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong: a clear sentence, its place, and what to do."""

    message: str
    place: Place | None = None
    hint: str = ""
    #: "error" stops the work; "warning" is reported and the work goes on.
    level: str = "error"

    def __str__(self) -> str:
        where = f"{self.place}: " if self.place is not None else ""
        lines = [f"{where}{self.message}"]
        if self.place is not None and self.place.source and self.place.column:
            lines += _caret(self.place)
        if self.hint:
            lines.append(f"  {self.hint}")
        return "\n".join(lines)


class ModrulesError(Exception):
    """The input could not be used; ``problems`` lists everything found, in file order."""

    def __init__(self, problems: Iterable[Problem] | Problem | str) -> None:
        if isinstance(problems, str):
            problems = Problem(problems)
        if isinstance(problems, Problem):
            problems = (problems,)
        self.problems: tuple[Problem, ...] = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))

    def __reduce__(self) -> tuple[type[ModrulesError], tuple[tuple[Problem, ...]]]:
        return type(self), (self.problems,)


def in_order(problems: Iterable[Problem]) -> list[Problem]:
    """Problems sorted by file, line and column; those without a place come first."""

    def key(problem: Problem) -> tuple[str, int, int]:
        place = problem.place
        return (place.file, place.line, place.column) if place else ("", 0, 0)

    return sorted(problems, key=key)


def nearest(name: str, known: Iterable[str]) -> str:
    """``did you mean "x"?`` for the known name closest to ``name``, or an empty string."""
    from difflib import get_close_matches

    close = get_close_matches(name, list(known), n=1, cutoff=0.6)
    return f'did you mean "{close[0]}"?' if close else ""


def _caret(place: Place) -> list[str]:
    source, column = place.source.rstrip("\n"), place.column
    width = max(1, (place.end_column or column + 1) - column)
    start = max(0, column - 50)
    shown = source[start : start + 100].replace("\t", " ")
    mark = " " * (column - 1 - start) + "^" * max(1, min(width, len(shown) - (column - 1 - start)))
    return [f"    {shown}", f"    {mark}"]
