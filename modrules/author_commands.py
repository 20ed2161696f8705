"""The commands for who writes a ruleset; ``cli`` adds them to its parser.

Each asks the library for its answer and only shows it.
"""

from __future__ import annotations

import argparse
import datetime
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from modrules.files import is_file
from modrules.problems import ModrulesError, Place, Problem, nearest
from modrules.targets import target_of

if TYPE_CHECKING:
    from modrules.screening.prepared import Ruleset

#: Adds a command: its name, what runs it, and a line on it; the parser for its arguments.
Add = Callable[..., argparse.ArgumentParser]

_NEEDS_SOLVER = "exit status: 0 done, 2 the ruleset could not be used, or z3 is not installed"


class Loaded(NamedTuple):
    """A ruleset with its folder: the very edition that stands there, in force or not."""

    folder: Path
    ruleset: Ruleset


def add_author_commands(command: Add) -> None:
    """The commands of this module."""
    one = command(
        "cases", _cases, "make worked cases at every limit, for you to confirm", _NEEDS_SOLVER
    )
    _ruleset(one)
    _output(one)
    one = command(
        "mutate",
        _mutate,
        "change each limit, operator, unit and exemption, and see which no case notices",
        "exit status: 0 all noticed, 1 some are not, 2 the ruleset could not be used",
    )
    _ruleset(one)
    one = command("compare", _compare, "the difference between two editions of a ruleset")
    one.add_argument("before", metavar="BEFORE", help="a folder, or the id of a shipped ruleset")
    one.add_argument("now", metavar="NOW", help="the same, of the edition to compare it with")
    one.add_argument(
        "--submissions", metavar="FOLDER", help="screen these by both: whose answer changes"
    )
    one.add_argument("--on", metavar="DATE", help="screen on this day (the first of NOW)")
    one.add_argument(
        "--no-proofs",
        action="store_true",
        help="leave out for which of all vehicles the outcomes differ, which takes longest",
    )
    one.add_argument(
        "--format",
        choices=("terminal", "json"),
        default="terminal",
        help="for the screen (terminal) or for programs (json)",
    )
    _output(one)
    one = command(
        "format",
        _format,
        "write a ruleset's files in one form; comments stay, the digest too",
        "exit status: 0 done, or nothing to change; 1 --check: some would change; 2 unusable",
    )
    one.add_argument("path", nargs="+", metavar="FOLDER|FILE", help="a ruleset, or one file")
    one.add_argument("--check", action="store_true", help="only say which files would change")
    one = command("reference", _reference, "a page on all that a ruleset's expressions may name")
    one.add_argument("ruleset", metavar="RULESET", help="a folder, or the id of a shipped ruleset")
    one.add_argument("--format", choices=("markdown", "html"), default="markdown")
    _output(one)
    one = command("schema", _schema, "a JSON Schema for editors, with the names of a ruleset")
    one.add_argument("ruleset", metavar="RULESET", help="a folder, or the id of a shipped ruleset")
    one.add_argument(
        "--of",
        choices=("submissions", "files", "cases"),
        default="submissions",
        help="of submissions to it, of the ruleset's own files, or of its worked cases",
    )
    _output(one)
    one = command("draft", _draft, "begin a ruleset from a text: a check for each clause")
    one.add_argument("text", metavar="TEXT", help="the text, as plain text, Markdown, HTML or PDF")
    one.add_argument("--id", required=True, metavar="NAME", help="id of the new ruleset")
    one.add_argument("--output", required=True, metavar="FOLDER", help="a new folder")
    one.add_argument("--title", default="", metavar="TITLE", help="what it is called (the id)")
    one.add_argument("--edition", default="1", metavar="EDITION", help="which edition it is (1)")
    one.add_argument("--from", dest="first_day", metavar="DATE", help="first day in force (today)")


def _ruleset(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "ruleset", metavar="RULESET", help="a folder, or the id of a shipped ruleset"
    )
    parser.add_argument(
        "--check", action="append", metavar="ID", help="only this check; may be repeated"
    )


def _output(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--output", metavar="FILE", help="save to a file instead of showing it")


def load(name: str) -> Loaded:
    """The ruleset in a folder or of that id, with the places of all that stands in it."""
    from modrules.ruleset.load import find_ruleset, read_folder
    from modrules.screening.prepared import prepare

    folder = find_ruleset(name)
    return Loaded(folder, prepare(read_folder(folder)))


def _chosen(arguments: argparse.Namespace, ruleset: Ruleset) -> list[str] | None:
    """The checks asked for; ModrulesError for one that there is not."""
    if arguments.check is None:
        return None
    known = ruleset.flat.checks
    problems = [
        Problem(f'there is no check "{name}"', None, nearest(name, known))
        for name in arguments.check
        if name not in known
    ]
    if problems:
        raise ModrulesError(problems)
    return list(arguments.check)


def _day(given: str | None) -> datetime.date | None:
    from modrules.cli import _date

    problems: list[Problem] = []
    day = _date(given, problems)
    if problems:
        raise ModrulesError(problems)
    return day


def _show(text: str, output: Path | None) -> None:
    from modrules.commands import show

    show(text, output)


def _cases(arguments: argparse.Namespace) -> int:
    from modrules.proofs.proving import available

    if not available():
        hint = "install modrules[proofs]"
        raise ModrulesError(Problem("cases at the limits are made with the solver z3", None, hint))
    from modrules.proofs.boundaries import boundary_cases, cases_text
    from modrules.ruleset.formatting import formatted

    loaded = load(arguments.ruleset)
    output = _output_of_cases(arguments)
    found = boundary_cases(loaded.ruleset, _chosen(arguments, loaded.ruleset))
    _show(formatted(cases_text(found), "the cases"), output)
    return 0


def _output_of_cases(arguments: argparse.Namespace) -> Path | None:
    """The file to save to. Cases made before may be made anew, in a ruleset's folder too.

    ModrulesError where they would replace what somebody worked out by hand, or anything else.
    """
    output = Path(arguments.output) if arguments.output is not None else None
    if output is None or not is_file(output):
        return target_of(arguments)
    _keep_confirmed(output)
    return output


def _keep_confirmed(output: Path) -> None:
    """ModrulesError where made cases would replace what somebody worked out by hand."""
    from modrules.proofs.cases import TO_CONFIRM, read_case_file
    from modrules.reports.wording import plural

    cases, problems = read_case_file(output)
    confirmed = sum(case.source != TO_CONFIRM for case in cases)
    if problems or confirmed:
        count = plural(confirmed, "worked case")
        lost = f"{count} confirmed by hand" if confirmed else "other things"
        message = f"this file holds {lost}, which would be lost"
        raise ModrulesError(Problem(message, Place(str(output)), "save to a new file"))


def _mutate(arguments: argparse.Namespace) -> int:
    from modrules.cli import _write
    from modrules.proofs.cases import read_cases
    from modrules.proofs.mutation import mutate
    from modrules.reports.author import mutation_text

    loaded = load(arguments.ruleset)
    chosen = _chosen(arguments, loaded.ruleset)
    cases, problems = read_cases(loaded.folder)
    if problems:
        raise ModrulesError(problems)
    result = mutate(loaded.ruleset, cases, chosen)
    _write(sys.stdout, mutation_text(arguments.ruleset, result))
    return 1 if result.unnoticed else 0


def _compare(arguments: argparse.Namespace) -> int:
    from modrules.proofs.editions import changed_quantities, differences
    from modrules.proofs.effects import effects
    from modrules.reports.comparison import differences_data, render, submissions_data
    from modrules.reports.limits import as_json

    before, now = load(arguments.before).ruleset, load(arguments.now).ruleset
    output = target_of(arguments)
    on = _day(arguments.on) or now.flat.in_force.first_day
    folder = Path(arguments.submissions) if arguments.submissions is not None else None
    in_words = differences_data(differences(before, now), changed_quantities(before, now))
    screened = effects(before, now, folder, on) if folder is not None else None
    found = {
        "before": f"{before.title}, edition {before.edition}",
        "now": f"{now.title}, edition {now.edition}",
        "differences": in_words,
        "submissions": submissions_data(screened, on.isoformat()) if screened else None,
        "vehicles": _over_all_vehicles(arguments, before, now, in_words),
    }
    _show(as_json(found) if arguments.format == "json" else render(found), output)
    return 0


def _format(arguments: argparse.Namespace) -> int:
    from modrules.cli import _write
    from modrules.reports.author import format_text
    from modrules.reports.save import save
    from modrules.ruleset.formatting import format_path

    # All are made before the first is saved, so that a problem in one leaves all as they are.
    files = [one for path in arguments.path for one in format_path(Path(path))]
    changed = [one for one in files if one.changes]
    if not arguments.check:
        for one in changed:
            save(one.after, one.path)
    said = format_text([str(one.path) for one in changed], len(files), check=arguments.check)
    _write(sys.stdout, said)
    return 1 if arguments.check and changed else 0


def _reference(arguments: argparse.Namespace) -> int:
    from modrules.reports.html import sheet_page
    from modrules.reports.markdown import sheet_text
    from modrules.reports.reference import reference
    from modrules.ruleset.uses import uses

    output = target_of(arguments)
    ruleset = load(arguments.ruleset).ruleset
    page = reference(ruleset.flat, uses(ruleset.typed))
    _show(sheet_page(page) if arguments.format == "html" else sheet_text(page), output)
    return 0


def _over_all_vehicles(
    arguments: argparse.Namespace, before: Ruleset, now: Ruleset, in_words: list[dict[str, Any]]
) -> dict[str, Any] | str:
    """What differs over all vehicles, or why it is not looked for."""
    from modrules.proofs.proving import available

    if arguments.no_proofs:
        return "left out as asked"
    if not available():
        return "install modrules[proofs]"
    from modrules.proofs.changed import changed
    from modrules.reports.comparison import vehicles_data

    reworded = {item["id"] for item in in_words if item["section"] == "checks"}
    reworded.update(check for item in in_words for check in item.get("checks", ()))
    return vehicles_data(changed(before, now), sorted(reworded))


def _schema(arguments: argparse.Namespace) -> int:
    from modrules.proofs.cases_schema import cases_schema
    from modrules.ruleset.load import collect
    from modrules.ruleset.schema import as_text, schema_of
    from modrules.screening.submission_schema import submission_schema

    output = target_of(arguments)
    if arguments.of == "files":
        # Wanted most while the files are still being written, so their faults don't matter.
        schema = schema_of(collect(Path(arguments.ruleset)).ruleset)
    else:
        make = cases_schema if arguments.of == "cases" else submission_schema
        schema = make(load(arguments.ruleset).ruleset.typed)
    _show(as_text(schema), output)
    return 0


def _draft(arguments: argparse.Namespace) -> int:
    from modrules.cli import _write
    from modrules.proofs.draft import draft
    from modrules.reports.author import draft_text

    text = Path(arguments.text)
    result = draft(
        text,
        id=arguments.id,
        folder=Path(arguments.output),
        title=arguments.title,
        edition=arguments.edition,
        first_day=_day(arguments.first_day),
    )
    _write(sys.stdout, draft_text(result))
    return 0
