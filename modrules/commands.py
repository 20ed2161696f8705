"""The commands that draw answers from findings; ``cli`` adds them to its parser.

Each asks the library for its answer and only shows it.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple, cast

from modrules.problems import ModrulesError, Place, Problem, in_order
from modrules.targets import output_of

if TYPE_CHECKING:
    from modrules.reports.shape import Report as ReportDict
    from modrules.screening.prepared import Ruleset

Run = Callable[[argparse.Namespace], int]
#: Adds a command: its name, what runs it, and a line on it; the parser for its arguments.
Add = Callable[..., argparse.ArgumentParser]


class Given(NamedTuple):
    """What these commands are given, checked as far as it can be by itself."""

    rulesets: list[Ruleset]
    texts: dict[str, Path]
    on: date | None
    output: Path | None


def add_commands(command: Add) -> None:
    """The commands of this module."""
    one = command("limits", _limits, "how far one fact may go, and which clause stops it")
    _submission(one)
    one.add_argument(
        "--vary",
        required=True,
        metavar="FACT",
        help="address of a fact, as vehicle.kerb_mass or modifications.lift.ride_height_change",
    )
    _common(one)
    one = command("next", _next, "what to find out next, the most telling first")
    _submission(one)
    _common(one)
    one = command("turns", _turns, "the smallest change of each fact that turns a finding")
    _submission(one)
    _common(one)
    one = command("stages", _stages, "one modification after the other: which first needs a plate")
    _submission(one)
    one.add_argument("--order", metavar="ID,ID", help="the order of fitting (by date, as written)")
    _common(one)
    one = command(
        "verify",
        _verify,
        "make a filed report again: the same bytes, or what differs",
        "exit status: 0 the same bytes, 1 something differs, 2 cannot be compared",
    )
    one.add_argument("report", metavar="REPORT", help="a report filed with --format json")
    _submission(one)
    _rules(one, dated=False)
    one = command("letter", _letter, "ask the applicant for exactly what is outstanding")
    _submission(one)
    _rules(one)
    one.add_argument("--output", metavar="FILE", help="save to a file instead of showing it")
    one = command("ask", _ask, "answer questions until nothing can change the answer any more")
    one.add_argument(
        "--from",
        dest="start",
        metavar="FILE",
        help="go on with this submission (comments in it are not kept)",
    )
    _rules(one)
    one.add_argument("--output", metavar="FILE", help="save the submission here, answer by answer")


def add_beside(parser: argparse.ArgumentParser) -> None:
    """The option of ``screen`` that sets a second screening beside the first."""
    parser.add_argument(
        "--beside",
        metavar="RULESET|FILE",
        help="side by side with another ruleset, or with another submission (a file)",
    )


def _submission(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("submission", metavar="SUBMISSION", help="the vehicle, as YAML or JSON")


def _rules(parser: argparse.ArgumentParser, *, dated: bool = True) -> None:
    from modrules.cli import _add_text

    parser.add_argument(
        "--ruleset",
        action="append",
        required=True,
        metavar="RULESET",
        help="a folder, or the id of a shipped ruleset; may be repeated",
    )
    _add_text(parser)
    if dated:
        parser.add_argument("--on", metavar="DATE", help="ask for the rules of this day (today)")


def _common(parser: argparse.ArgumentParser) -> None:
    _rules(parser)
    parser.add_argument(
        "--format",
        choices=("terminal", "json"),
        default="terminal",
        help="for the screen (terminal) or for programs (json)",
    )
    parser.add_argument("--output", metavar="FILE", help="save to a file instead of showing it")


def given(arguments: argparse.Namespace) -> Given:
    """The common arguments as values; ModrulesError with everything that is wrong with them."""
    import modrules
    from modrules.cli import _date, _texts

    problems: list[Problem] = []
    texts = _texts(arguments.text, problems)
    on = _date(arguments.on, problems)
    output = output_of(arguments, problems)
    if problems:
        raise ModrulesError(problems)
    rulesets = []
    for name in dict.fromkeys(arguments.ruleset):
        try:
            rulesets.append(modrules.load_ruleset(name, on=on, cache=True))
        except ModrulesError as error:
            problems += error.problems
    if problems:
        raise ModrulesError(in_order(dict.fromkeys(problems)))
    return Given(rulesets, texts, on, output)


def show(text: str, output: Path | None) -> None:
    """Shows a text, or saves it whole."""
    from modrules.cli import _write

    if output is None:
        _write(sys.stdout, text)
        return
    from modrules.reports.layout import clean
    from modrules.reports.save import save

    save(text, output)
    _write(sys.stderr, f"saved {clean(output)}\n")


def _letter(arguments: argparse.Namespace) -> int:
    import modrules
    from modrules.reports import letter

    path = Path(arguments.submission)
    asked = given(arguments)
    report = modrules.screen(path, asked.rulesets, texts=asked.texts, on=asked.on)
    show(letter.render(cast("ReportDict", report.to_dict())), asked.output)
    return 0


def _limits(arguments: argparse.Namespace) -> int:
    import modrules
    from modrules.reports import limits

    asked = given(arguments)
    found = modrules.limits(
        Path(arguments.submission), asked.rulesets, arguments.vary, texts=asked.texts, on=asked.on
    ).to_dict()
    show(_formatted(arguments, found, limits.render), asked.output)
    return 0


def _next(arguments: argparse.Namespace) -> int:
    import modrules
    from modrules.reports import asking
    from modrules.screening.findings import changed_text
    from modrules.screening.next_facts import next_facts

    path = Path(arguments.submission)
    asked = given(arguments)
    report = modrules.screen(path, asked.rulesets, texts=asked.texts, on=asked.on)
    found = {
        "next": [fact.to_dict() for fact in next_facts(report)],
        "changed_text": changed_text(report.findings),
    }
    show(_formatted(arguments, found, asking.render), asked.output)
    return 0


def _turns(arguments: argparse.Namespace) -> int:
    import modrules
    from modrules.reports import turning

    path = Path(arguments.submission)
    asked = given(arguments)
    found = modrules.turns(path, asked.rulesets, texts=asked.texts, on=asked.on).to_dict()
    show(_formatted(arguments, found, turning.render), asked.output)
    return 0


def _stages(arguments: argparse.Namespace) -> int:
    import modrules
    from modrules.reports import beside

    path = Path(arguments.submission)
    asked = given(arguments)
    order = None
    if arguments.order is not None:
        order = [name.strip() for name in arguments.order.split(",")]
    found = modrules.stages(
        path, asked.rulesets, order=order, texts=asked.texts, on=asked.on
    ).to_dict()
    show(_formatted(arguments, found, beside.render_stages), asked.output)
    return 0


def _verify(arguments: argparse.Namespace) -> int:
    from modrules.reports.verifying import differences, read_filed, render_differences

    raw, filed = read_filed(Path(arguments.report))
    # The rules of the day on which it was screened, whatever day it is now.
    arguments.on, arguments.output = filed["on"], None
    asked = given(arguments)
    import modrules

    now = modrules.screen(
        Path(arguments.submission), asked.rulesets, texts=asked.texts, on=asked.on
    ).to_dict()
    found = differences(raw, filed, now)
    show(render_differences(found, filed), None)
    return 1 if found else 0


def screen_beside(arguments: argparse.Namespace) -> int:
    """``screen --beside``: another ruleset, or another submission."""
    import modrules
    from modrules.reports import beside

    if arguments.format not in ("terminal", "json"):
        hint = "leave --format out, or take json"
        raise ModrulesError(Problem("side by side goes to the screen or to programs", None, hint))
    path, other = Path(arguments.submission), Path(arguments.beside)
    asked = given(arguments)
    if other.is_file():
        found = modrules.beside(path, asked.rulesets, other, texts=asked.texts, on=asked.on)
    else:
        ruleset = modrules.load_ruleset(arguments.beside, on=asked.on, cache=True)
        found = modrules.beside(path, asked.rulesets, ruleset, texts=asked.texts, on=asked.on)
    show(_formatted(arguments, found.to_dict(), beside.render), asked.output)
    return 0


def _ask(arguments: argparse.Namespace) -> int:
    """Asks on the error stream, so that the submission alone is what comes out."""
    import modrules
    from modrules.cli import _write
    from modrules.reports.asking import ASK_START, submission_text
    from modrules.reports.changed import attention
    from modrules.reports.layout import page
    from modrules.reports.wording import answer_line
    from modrules.screening.asking import begin, report_of
    from modrules.screening.findings import changed_text

    asked = given(arguments)
    start = modrules.read_submission(arguments.start) if arguments.start else None
    if asked.output is not None and asked.output.exists():
        here = arguments.start is not None and asked.output.samefile(arguments.start)
        if not here:
            hint = f"go on with it: --from {asked.output}, or save to another file"
            place = Place(str(asked.output))
            raise ModrulesError(Problem("there is a file of that name already", place, hint))
    state = begin(asked.rulesets, start, asked.on, asked.texts)
    report_of(state)
    _write(sys.stderr, ASK_START)
    state = _questions(state, asked.output)
    report = report_of(state)
    answer: Any = report.answer
    _write(sys.stderr, f"\nThe answer so far: {answer_line(answer)}.\n")
    _write(sys.stderr, page(attention(changed_text(report.findings))))
    show(submission_text(state.data), asked.output)
    return 0


def _questions(state: Any, output: Path | None) -> Any:
    """One question after the other, each answer saved; up to the last one or a stop."""
    from modrules.cli import _write
    from modrules.reports.asking import no_answer, question_text, submission_text
    from modrules.reports.save import save
    from modrules.screening.asking import answered, next_question, skipped

    number, question = 1, next_question(state)
    while question is not None:
        _write(sys.stderr, f"\n{question_text(question, number)}> ")
        line = sys.stdin.readline()
        if not line or _stops(line, question):
            break
        if not line.strip():
            _write(sys.stderr, "Not known? An empty line for the next question, stop to stop.\n> ")
            line = sys.stdin.readline()
            if not line or _stops(line, question):
                break
            if not line.strip():
                state = skipped(state, question.address)
                number, question = number + 1, next_question(state)
                continue
        try:
            state = answered(state, question.address, line)
        except ModrulesError as error:
            _write(sys.stderr, no_answer(error.problems))
            continue
        if output is not None:
            save(submission_text(state.data), output)
        number, question = number + 1, next_question(state)
    return state


def _stops(line: str, question: Any) -> bool:
    """Whether a line says to stop, and is no answer to the question."""
    return line.strip().lower() == "stop" and "stop" not in question.words


def _formatted(
    arguments: argparse.Namespace, found: dict[str, Any], render: Callable[[Any], str]
) -> str:
    from modrules.reports.limits import as_json

    return as_json(found) if arguments.format == "json" else render(found)
