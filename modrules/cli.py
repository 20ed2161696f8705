"""The command line: screen a submission, ask for plates, proofread a ruleset, see a demo.

Everything heavy is imported by the command that needs it, so that the start is quick.
"""

from __future__ import annotations

import argparse
import errno
import os
import sys
from collections.abc import Callable, Sequence
from contextlib import suppress
from datetime import date
from functools import cache
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple, NoReturn, TextIO, cast

from modrules.author_commands import add_author_commands
from modrules.commands import add_beside, add_commands, screen_beside, show
from modrules.ending import Ended, ended_by_signals
from modrules.problems import ModrulesError, Place, Problem, in_order
from modrules.reports import FORMS
from modrules.targets import output_of, target_of
from modrules.text_commands import add_text_commands

if TYPE_CHECKING:
    from modrules.reports.shape import Report

NOTHING_TO_DO, ACT, UNUSABLE, UNDECIDED = 0, 1, 2, 3
INTERRUPTED = 130  # as shells have it

_DESCRIPTION = """\
What do the rules say about a modified vehicle? A ruleset and a submission go
in, findings with their working and their clauses come out. A screening aid, no
certificate: the local code and the licensed certifier decide."""

_STATUS = """\
exit status of screen and plates:
  0  nothing to act on
  1  to act on: to be judged by a certifier, to be certified, or not permitted
  3  perhaps to act on: the answer is open, and its worst end would be a 1
  2  the input could not be used; everything wrong with it is listed
With --beside it is 0 or 2, as of other commands unless their help says more."""

_DONE = "exit status: 0 done, whatever the answer is; 2 the input could not be used"

_FIRST = """\
first steps:
  modrules demo
  modrules plates my-vehicle.yaml --ruleset orrinmark"""

_FORMATS = {
    "screen": ("terminal", "json", "html", "pdf", "markdown", "sarif"),
    "plates": ("terminal", "json"),
}
_FORMAT_HELP = {
    "screen": "for the screen (terminal), as a sheet to file (html, pdf, markdown), or for "
    "programs; pdf needs --output, and Chromium or Chrome to print it",
    "plates": "for the screen (terminal) or for programs (json)",
}

_DEMO_RULESET, _DEMO_DAY = "orrinmark", "2026-11-01"
_DEMO_START = """\
Orrinmark, its rules and the vehicles are invented. Each part below shows a
command and the beginning of what it says; run the command to see the whole.
"""
_DEMO_END = """\
Your own vehicle: copy one of these submissions, change it, and run the command.
More: modrules --help
"""
#: What is said, the command, the submission, and how many lines are shown.
_DEMO = (
    (
        "A certifier screens a vehicle: the answer, the plates, and why.",
        "screen",
        "needs-plates",
        105,
    ),
    ("Its owner asks which of the changes take a plate.", "plates", "needs-plates", 64),
    ("Another owner does not know everything: what is missing?", "plates", "incomplete", 25),
)


class Asked(NamedTuple):
    """What ``screen`` and ``plates`` are asked for, checked as far as it can be by itself."""

    submission: Path
    rulesets: list[str]
    texts: dict[str, Path]
    on: date | None
    format: str
    output: Path | None


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command line and return the exit status.

    Nothing is raised, unless the environment asks for it with ``MODRULES_TRACEBACK=1``.
    """
    try:
        with ended_by_signals():
            return _run(argv)
    except ModrulesError as error:
        from modrules.reports.trouble import unusable

        _write(sys.stderr, unusable(error.problems))
        return UNUSABLE
    except KeyboardInterrupt:
        _write(sys.stderr, "modrules: stopped\n")
        return INTERRUPTED
    except Ended as end:
        _write(sys.stderr, "modrules: stopped\n")
        return end.status
    except OSError as error:
        _write(sys.stderr, f"modrules: {_of_the_system(error)}\n")
        return UNUSABLE
    except Exception as error:
        if os.environ.get("MODRULES_TRACEBACK") == "1":
            raise
        _write(sys.stderr, _unexpected(error))
        return UNUSABLE


def _run(argv: Sequence[str] | None) -> int:
    try:
        arguments = _parser().parse_args(argv)
    except SystemExit as end:  # argparse has said why, or shown its help
        _write(sys.stdout, "")
        return end.code if isinstance(end.code, int) else UNUSABLE
    command = cast("Callable[[argparse.Namespace], int]", arguments.command)
    return command(arguments)


# The commands


def _screen_or_plates(arguments: argparse.Namespace) -> int:
    """Screen, show or save the report, and say by the status what is to be done."""
    from modrules.reports.reading import exit_status

    if getattr(arguments, "beside", None) is not None:
        return screen_beside(arguments)
    asked = _asked(arguments)
    report = _report(asked)
    content = _rendered(report, asked, _for_people(arguments))
    if asked.output is None:
        _write(sys.stdout, str(content))
    else:
        from modrules.reports.layout import clean
        from modrules.reports.save import save
        from modrules.reports.wording import answer_line

        save(content, asked.output)
        said = f"saved {clean(asked.output)}; the answer: {answer_line(report['answer'])}\n"
        _write(sys.stderr, said)
    return exit_status(report["answer"])


def _for_people(arguments: argparse.Namespace) -> str:
    """The form that tells the answer to people: of the owner's, a page or all of it."""
    if arguments.name != "plates":
        return "terminal"
    return "plates in full" if arguments.all else "plates"


def _rendered(report: Report, asked: Asked, people: str) -> str | bytes:
    """The report in the format asked for, ``people`` being how it is told to them.

    Each renderer is imported only when it is needed.
    """
    form = people if asked.format == "terminal" else asked.format
    render = import_module(f"modrules.reports.{FORMS[form]}").render
    if form != "sarif":
        return cast("str | bytes", render(report))
    from urllib.parse import quote

    from modrules.reports.places import places_in

    return str(render(report, quote(asked.submission.as_posix()), places_in(asked.submission)))


def _proofread(arguments: argparse.Namespace) -> int:
    problems: list[Problem] = []
    texts = _texts(arguments.text, problems)
    if problems:
        raise ModrulesError(problems)
    import modrules
    from modrules.reports.proofread_sarif import proofread_sarif
    from modrules.reports.trouble import all_problems, proofread_lines, proofread_text

    output = target_of(arguments)
    options = {"proofs": False} if arguments.no_proofs else {}
    if arguments.complete:
        options["complete"] = True
    result = modrules.proofread(arguments.ruleset, texts=texts, **options)
    if arguments.format == "terminal":
        text = proofread_text(arguments.ruleset, result)
    else:
        from modrules.ruleset.find import HEAD_FILE, find_ruleset

        head = str(find_ruleset(arguments.ruleset) / HEAD_FILE)
        as_data = proofread_sarif if arguments.format == "sarif" else proofread_lines
        text = as_data(head, result)
    show(text, output)
    return ACT if all_problems(result) else NOTHING_TO_DO


def _demo(_: argparse.Namespace) -> int:
    from modrules.reports import owner_page, terminal
    from modrules.reports.layout import beginning
    from modrules.ruleset.find import shipped_folder

    folder = shipped_folder() / _DEMO_RULESET
    _write(sys.stdout, _DEMO_START)
    for said, command, name, most in _DEMO:
        path = _short_path(folder / "submissions" / f"{name}.yaml")
        asked = Asked(path, [str(folder)], {}, date.fromisoformat(_DEMO_DAY), "terminal", None)
        render = owner_page.render if command == "plates" else terminal.render
        shown = beginning(render(_report(asked)), most)
        options = f"--ruleset {_DEMO_RULESET} --on {_DEMO_DAY}"
        typed = f"$ modrules {command} {path} \\\n    {options}"
        _write(sys.stdout, f"\n{'=' * 79}\n{said}\n\n{typed}\n\n{shown}")
    _write(sys.stdout, f"\n{'=' * 79}\n{_DEMO_END}")
    return NOTHING_TO_DO


def _report(asked: Asked) -> Report:
    """The report, or ModrulesError with the problems of all rulesets and of the submission."""
    import modrules

    problems: list[Problem] = []
    rulesets = []
    for name in asked.rulesets:
        try:
            rulesets.append(modrules.load_ruleset(name, on=asked.on, cache=True))
        except ModrulesError as error:
            problems += error.problems
    if problems:
        raise ModrulesError(in_order(dict.fromkeys(problems)))
    report = modrules.screen(asked.submission, rulesets, texts=asked.texts, on=asked.on)
    return cast("Report", report.to_dict())


# What was asked for


def _asked(arguments: argparse.Namespace) -> Asked:
    """The arguments as values; ModrulesError with everything that is wrong with them."""
    problems: list[Problem] = []
    submission = Path(arguments.submission)
    for name in sorted({n for n in arguments.ruleset if arguments.ruleset.count(n) > 1}):
        problems.append(Problem(f"--ruleset {name} is given more than once"))
    texts = _texts(arguments.text, problems)
    on = _date(arguments.on, problems)
    output = output_of(arguments, problems)
    if arguments.format == "pdf" and output is None:
        hint = "add --output sheet.pdf"
        problems.append(Problem("a PDF is saved to a file, and none is named", None, hint))
    if problems:
        raise ModrulesError(problems)
    return Asked(submission, arguments.ruleset, texts, on, arguments.format, output)


def _texts(given: Sequence[str], problems: list[Problem]) -> dict[str, Path]:
    texts: dict[str, Path] = {}
    for one in given:
        key, equals, file = one.partition("=")
        if not (key and equals and file):
            hint = "for example --text code=code.md"
            problems.append(Problem(f"--text {one} is not of the form ID=FILE", None, hint))
        elif key in texts:
            problems.append(Problem(f"--text {key} is given more than once", Place(file)))
        else:
            texts[key] = Path(file)
    return texts


def _date(given: str | None, problems: list[Problem]) -> date | None:
    if given is None:
        return None
    try:
        day = date.fromisoformat(given)
        # Python reads other spellings too, which people do not.
        if day.isoformat() == given:
            return day
    except ValueError:
        pass
    hint = "write it as year-month-day, for example 2026-11-01"
    problems.append(Problem(f"--on {given} is no date", None, hint))
    return None


class _Parser(argparse.ArgumentParser):
    """A parser whose complaints cannot carry anything harmful to the screen."""

    def error(self, message: str) -> NoReturn:
        from modrules.reports.layout import clean

        _write(sys.stderr, f"{self.format_usage()}modrules: {clean(message)}\n")
        raise SystemExit(UNUSABLE)


@cache
def _parser() -> argparse.ArgumentParser:
    from modrules import __version__

    plain = argparse.RawDescriptionHelpFormatter
    parser = _Parser(
        "modrules",
        description=_DESCRIPTION,
        epilog=f"{_FIRST}\n\n{_STATUS}",
        formatter_class=plain,
        allow_abbrev=False,
    )
    parser.add_argument("--version", action="version", version=f"modrules {__version__}")
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", required=True)

    def command(
        name: str, run: Callable[[argparse.Namespace], int], summary: str, epilog: str = _DONE
    ) -> argparse.ArgumentParser:
        one = commands.add_parser(
            name,
            help=summary,
            description=summary,
            epilog=epilog,
            formatter_class=plain,
            allow_abbrev=False,
        )
        one.set_defaults(command=run, name=name)
        return one

    for name, summary in (
        ("screen", "every check with its numbers, its working and its clause"),
        ("plates", "the owner's answer: which changes take a plate, what is missing"),
    ):
        one = command(name, _screen_or_plates, summary, _STATUS)
        if name == "plates":
            one.add_argument(
                "--all", action="store_true", help="all that is known, instead of a page of it"
            )
        one.add_argument("submission", metavar="SUBMISSION", help="the vehicle, as YAML or JSON")
        one.add_argument(
            "--ruleset",
            action="append",
            required=True,
            metavar="RULESET",
            help="a folder, or the id of a shipped ruleset; may be repeated",
        )
        _add_text(one)
        one.add_argument("--on", metavar="DATE", help="ask for the rules of this day (today)")
        one.add_argument(
            "--format",
            choices=_FORMATS[name],
            default="terminal",
            help=_FORMAT_HELP[name],
        )
        one.add_argument("--output", metavar="FILE", help="save to a file instead of showing it")
        if name == "screen":
            add_beside(one)
    one = command(
        "proofread",
        _proofread,
        "find what is wrong with a ruleset",
        "exit status: 0 nothing to mend, 1 problems found, 2 cannot be read at all",
    )
    one.add_argument("ruleset", metavar="RULESET", help="a folder, or the id of a shipped ruleset")
    _add_text(one)
    one.add_argument(
        "--no-proofs",
        action="store_true",
        help="leave out what is proved over all vehicles, which takes longest",
    )
    one.add_argument(
        "--format",
        choices=("terminal", "lines", "sarif"),
        default="terminal",
        help="for the screen (terminal), for editors (lines: file:line:column: what), for programs",
    )
    one.add_argument("--output", metavar="FILE", help="save to a file instead of showing it")
    one.add_argument(
        "--complete",
        action="store_true",
        help="count outcomes and limits that no worked case shows as problems",
    )
    add_commands(command)
    add_author_commands(command)
    add_text_commands(command)
    command("demo", _demo, "the main job on shipped rulesets and submissions")
    return parser


def _add_text(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--text",
        action="append",
        default=[],
        metavar="ID=FILE",
        help="your copy of a text that the ruleset cites; may be repeated",
    )


# Writing


def _write(stream: TextIO | None, text: str) -> None:
    """Write what the stream's encoding can show, and ``?`` for the rest.

    A reader that stops early (``| head``) is no error: what it did not want is dropped. A
    standard output that was closed before is one; without a standard error nobody can be told.
    """
    if stream is None:
        if sys.stderr is not None:
            raise OSError(errno.EBADF, "the standard output is closed; open it, or use --output")
        return
    encoding = stream.encoding or "utf-8"
    try:
        stream.write(text.encode(encoding, "replace").decode(encoding))
        stream.flush()
    except OSError as error:
        # What is left in the buffer must go somewhere, or Python complains when it ends.
        with suppress(OSError, ValueError):
            os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
        if not isinstance(error, BrokenPipeError):
            raise


def _short_path(path: Path) -> Path:
    """The path from here, where it lies below."""
    here = Path.cwd()
    return path.relative_to(here) if path.is_relative_to(here) else path


def _of_the_system(error: OSError) -> str:
    from modrules.reports.layout import clean

    where = f"{error.filename}: " if error.filename else ""
    return clean(f"{where}{error.strerror or error}")


def _unexpected(error: Exception) -> str:
    from modrules.reports.layout import clean

    what = clean(f"{type(error).__name__}: {error}")[:300]
    return (
        f"modrules: an error inside modrules, not in your input ({what}); please report it "
        "with the command and its input (MODRULES_TRACEBACK=1 shows where it happened)\n"
    )


if __name__ == "__main__":
    sys.exit(main())
