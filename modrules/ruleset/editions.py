"""Editions of one ruleset side by side, and the one in force on a date.

    pick_edition(folder, on) -> Path
    later_editions(folder, picked) -> [(Path, name)]

The folder of a ruleset may list, under `editions`, folders in it that hold its other editions.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path

from modrules.problems import ModrulesError, Place, Problem, in_order
from modrules.ruleset.find import HEAD_FILE, edition_in, find_ruleset
from modrules.ruleset.layer import Memo, read_head
from modrules.ruleset.models import Head


def pick_edition(folder: Path, on: date) -> Path:
    """The folder of the edition in force on the date ``on``: ``folder`` or one of its `editions`.

    Where several are in force, the one whose period began last. ModrulesError where none is in
    force, two begin on one day, or an edition is not of the same ruleset.
    """
    folder = find_ruleset(folder)
    found = _editions(folder)
    in_force = [each for each in found if each[1].in_force.holds(on)]
    if not in_force:
        raise ModrulesError(
            Problem(
                f"no edition of `{found[0][1].ruleset}` is in force on {on}",
                Place(str(folder / HEAD_FILE)),
                f"there is: {'; '.join(_in_words(each) for _, each in found)}",
            )
        )
    return max(in_force, key=lambda each: each[1].in_force.first_day)[0]


def later_editions(folder: Path, picked: Path) -> list[tuple[Path, str]]:
    """The folders and names of the editions that began after the one in ``picked``, by their day.

    ModrulesError as ``pick_edition``.
    """
    found = _editions(find_ruleset(folder))
    (day,) = (head.in_force.first_day for path, head in found if path == picked)
    after = [each for each in found if each[1].in_force.first_day > day]
    after.sort(key=lambda each: each[1].in_force.first_day)
    return [(path, str(head.edition)) for path, head in after]


def _editions(folder: Path) -> list[tuple[Path, Head]]:
    """Every edition with its folder, that of ``folder`` itself first."""
    memo: Memo = {}
    head = read_head(folder, memo)
    found: list[tuple[Path, Head]] = [(folder, head)]
    problems: list[Problem] = []
    for name in head.editions:
        try:
            path = edition_in(folder, name, name.place)
            other = read_head(path, memo)
        except ModrulesError as error:
            problems += error.problems
            continue
        problems += _clashes(other, [each for _, each in found])
        found.append((path, other))
    if problems:
        raise ModrulesError(in_order(problems))
    return found


def _clashes(other: Head, found: list[Head]) -> list[Problem]:
    """Why ``other`` cannot stand beside the editions ``found`` before it."""
    first = found[0]
    if other.ruleset != first.ruleset:
        return [
            Problem(
                f"this is an edition of `{other.ruleset}` and not of `{first.ruleset}`",
                other.ruleset.place,
            )
        ]
    problems = []
    for each in found:
        if each.edition == other.edition:
            problems.append(
                Problem(f"there are two editions `{other.edition}`", other.edition.place)
            )
        elif each.in_force.first_day == other.in_force.first_day:
            problems.append(
                Problem(
                    f"the editions `{each.edition}` and `{other.edition}` come into force on one "
                    f"day, {other.in_force.first_day}",
                    other.edition.place,
                )
            )
    return problems


def _in_words(head: Head) -> str:
    period = head.in_force
    end = f" up to {period.last_day}" if period.last_day else ""
    return f"edition {head.edition} from {period.first_day}{end}"
