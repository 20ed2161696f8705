"""Worked cases: submission fragments with the outcomes that their author worked out by hand.

They stand in the files of the folder ``cases`` beside the checks:

    cases:
      - case: a lift of 51 mm takes a plate
        of: ride-height-lift
        source: clause 5.2
        given: {modifications: [...]}
        expect: certification required      # a list: exactly the outcomes still possible
        subject: lift                       # where there are several; of a pair, front+rear
        on: 2026-11-01
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from modrules.problems import ModrulesError, Place, Problem, nearest
from modrules.ruleset.find import data_files
from modrules.ruleset.source import read_yaml
from modrules.ruleset.tree import Blank, Map, Node, Scalar, Seq
from modrules.ruleset.typed import BIT
from modrules.ruleset.words import CASE_KEYS, OUTCOMES
from modrules.screening.binding import bind
from modrules.screening.compile import Raw
from modrules.screening.findings import Finding, outcomes_of
from modrules.screening.prepared import Ruleset, Run
from modrules.screening.submission import submission_of
from modrules.screening.values import Problems, one_value

#: The source of a case that was made, as long as nobody has worked it out by hand.
TO_CONFIRM: Final = "made at the limit; to be confirmed by hand"
#: Where a case names no date, it is screened so long after its edition came into force.
_DAYS_IN_FORCE: Final = 183


@dataclass(frozen=True, slots=True)
class Case:
    """One worked case. ``expect`` is the set of outcomes that must be possible."""

    title: str
    check: str
    source: str
    given: Map
    expect: frozenset[str]
    subject: str
    on: datetime.date | None
    place: Place


@dataclass(frozen=True, slots=True)
class CaseResult:
    """What a case came to; ``problem`` is None where it came out as expected.

    ``run`` and ``subject``: the screening, and what its finding is about, where there is one.
    """

    case: Case
    possible: tuple[str, ...]
    problem: Problem | None
    run: Run | None = None
    subject: Any = None


def read_cases(folder: Path) -> tuple[list[Case], list[Problem]]:
    """The cases in the folder ``cases`` of a ruleset, file by file, and what is wrong with them."""
    cases: list[Case] = []
    problems: list[Problem] = []
    try:
        listed = data_files(folder, "cases")
    except ModrulesError as error:
        return [], list(error.problems)
    problems += listed.problems
    for path in listed.files:
        found, wrong = read_case_file(path)
        cases += found
        problems += wrong
    return cases, problems


def read_case_file(path: Path) -> tuple[list[Case], list[Problem]]:
    """The cases in one file, and what is wrong with it."""
    cases: list[Case] = []
    problems: list[Problem] = []
    try:
        tree = read_yaml(path)
    except ModrulesError as error:
        return [], list(error.problems)
    listed = tree.get("cases") if isinstance(tree, Map) else None
    if not isinstance(listed, Seq):
        return [], [Problem("a file of worked cases has a list cases:", tree.place)]
    for entry in listed:
        case = _case(entry, problems)
        if case is not None:
            cases.append(case)
    return cases, problems


def _case(entry: Node, problems: list[Problem]) -> Case | None:
    if not isinstance(entry, Map):
        problems.append(Problem("each case is a mapping", entry.place))
        return None
    before = len(problems)
    for key in entry:
        if key not in CASE_KEYS:
            place = entry.key_place(key)
            problems.append(Problem(f'a case has no "{key}"', place, nearest(key, CASE_KEYS)))
    for key in ("case", "of", "given", "expect", "source"):
        if key not in entry or isinstance(entry[key], Blank):
            problems.append(Problem(f"this case has no {key}", entry.place, f"add {key}: …"))
    single = ("case", "of", "source", "subject", "on")
    one_value(entry, single, "a case", Problems(problems, []))
    given, expect = entry.get("given"), entry.get("expect")
    if given is not None and not isinstance(given, Map):
        problems.append(Problem("given is a fragment of a submission", given.place))
    outcomes = expect if isinstance(expect, Seq) else [expect] if expect is not None else []
    for outcome in outcomes:
        if outcome not in OUTCOMES:
            hint = nearest(str(outcome), OUTCOMES) or f"one of: {', '.join(OUTCOMES)}"
            problems.append(Problem(f'"{outcome}" is no outcome', outcome.place, hint))
    on = entry.get("on")
    day: datetime.date | None = None
    if isinstance(on, Scalar):
        try:
            day = datetime.date.fromisoformat(on)
        except ValueError:
            problems.append(Problem(f"{on} is no date", on.place, "write year-month-day"))
    if len(problems) > before:
        return None
    assert isinstance(given, Map)
    subject = entry.get("subject")
    return Case(
        str(entry["case"]),
        str(entry["of"]),
        str(entry["source"]),
        given,
        frozenset(str(outcome) for outcome in outcomes),
        str(subject) if isinstance(subject, Scalar) else "",
        day,
        entry.place,
    )


def run_case(ruleset: Ruleset, case: Case) -> CaseResult:
    """Screens a case and compares the finding that it is about."""
    if case.check not in ruleset.flat.checks:
        hint = nearest(case.check, ruleset.flat.checks)
        return CaseResult(case, (), Problem(f'there is no check "{case.check}"', case.place, hint))
    try:
        run, found = screened_case(ruleset, case)
    except ModrulesError as error:
        first = error.problems[0]
        message = f'the case "{case.title}" can\'t be screened: {first.message}'
        return CaseResult(case, (), Problem(message, first.place or case.place, first.hint))
    if len(found) != 1:
        subjects = ", ".join(Finding(run, raw).subject for raw in found) or "none"
        return CaseResult(
            case,
            (),
            Problem(
                f'the case "{case.title}" is about {len(found)} findings',
                case.place,
                f"name one with subject: … (there are: {subjects})",
            ),
        )
    finding, subject = Finding(run, found[0]), found[0][1]
    possible = finding.possible
    if frozenset(possible) == case.expect:
        return CaseResult(case, possible, None, run, subject)
    expected = " or ".join(o for o in OUTCOMES if o in case.expect)
    came_to = "every outcome" if possible == OUTCOMES else " or ".join(possible)
    problem = Problem(
        f'the case "{case.title}" of "{case.check}" comes to {came_to}, not to {expected}',
        case.place,
        finding.message,
    )
    return CaseResult(case, possible, problem, run, subject)


def screened_case(ruleset: Ruleset, case: Case) -> tuple[Run, list[Raw]]:
    """The screening of a case, and the findings of the check and the subject it is about.

    Raises ModrulesError where it can't be screened.
    """
    tree = with_modifications(case.given)
    on = case.on or default_day(ruleset)
    submission = submission_of(tree, case.place.file)
    bound = bind(submission, ruleset.typed, ruleset.layout, on, fragment=True)
    run = Run(ruleset, bound)
    index = next(c.index for c in ruleset.typed.checks if c.id == case.check)
    wanted = [raw for raw in run.screen() if raw[0] == index]
    return run, [raw for raw in wanted if case.subject in ("", subject_id(raw[1]))]


def with_modifications(tree: Map) -> Map:
    """The fragment, with no modifications where it says nothing of them."""
    if "modifications" in tree:
        return tree
    full = Map(tree.source, tree.at)
    full.update(tree)
    full.key_at = [*tree.key_at, -1]
    full["modifications"] = Seq(tree.source, tree.at)
    return full


def default_day(ruleset: Ruleset) -> datetime.date:
    """The date of a case that names none: half a year into the edition, or its last day."""
    period = ruleset.flat.in_force
    day = period.first_day + datetime.timedelta(days=_DAYS_IN_FORCE)
    return min(day, period.last_day) if period.last_day is not None else day


def subject_id(subject: Any) -> str:
    """How a case names a subject: its id, or both ids of a pair joined by a plus."""
    records = subject if isinstance(subject, tuple) else (subject,)
    return "+".join(getattr(record, "id", "") for record in records)


def uncovered(ruleset: Ruleset, results: list[CaseResult]) -> Mapping[str, tuple[str, ...]]:
    """Per check: the outcomes that no case comes to, of those that it can give, and "open"."""
    reached: dict[str, set[str]] = {}
    for result in results:
        decided = len(result.possible) == 1
        found = result.possible if decided else ("open",) if result.possible else ()
        reached.setdefault(result.case.check, set()).update(found)
    lacking = {}
    for check in ruleset.typed.checks:
        stated = check.outcomes
        if check.unfinished:
            stated = BIT["not applicable"] if check.applies is not None else 0
        wanted = (*outcomes_of(stated), "open")
        missing = tuple(o for o in wanted if o not in reached.get(check.id, set()))
        if missing:
            lacking[check.id] = missing
    return lacking
