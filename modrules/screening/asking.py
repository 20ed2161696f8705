"""A questionnaire without a terminal: what to ask next, and what an answer makes of it.

A ``State`` is a submission as far as it is known, and what was left unanswered. Only what
can still change the report is asked, and nothing that is given already: facts first, then the
papers at hand, then the systems that stay as built.
"""

from __future__ import annotations

import copy
import datetime
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import chain
from pathlib import Path
from typing import Any, Final

from modrules.problems import ModrulesError, Problem
from modrules.screening.asking_papers import (
    EVIDENCE,
    STANDARD,
    paper_questions,
    papers,
    system_questions,
    systems,
)
from modrules.screening.kinds import kind_hint
from modrules.screening.next_facts import NextFact, next_facts
from modrules.screening.planning import first_question
from modrules.screening.prepared import Ruleset
from modrules.screening.question import Question
from modrules.screening.report import Report
from modrules.screening.submission import Submission, plain
from modrules.texts import Text

MODIFICATIONS: Final = "modifications"
_NONE: Final = ("none", "[]")
_ID: Final = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,39}")


@dataclass(frozen=True, slots=True)
class State:
    """A questionnaire so far. ``data`` is the submission; it is never changed, but replaced."""

    rulesets: tuple[Ruleset, ...]
    data: Mapping[str, Any]
    on: datetime.date
    skipped: frozenset[str] = frozenset()
    texts: Mapping[str, str | Path | Text] = field(default_factory=dict)


def begin(
    rulesets: Ruleset | Sequence[Ruleset],
    submission: Submission | Mapping[str, Any] | None = None,
    on: datetime.date | None = None,
    texts: Mapping[str, str | Path | Text] | None = None,
) -> State:
    """The questionnaire at its start, or where a submission left off."""
    chosen = (rulesets,) if isinstance(rulesets, Ruleset) else tuple(rulesets)
    data: Any = submission if submission is not None else {}
    if isinstance(data, Submission):
        data = plain(data.tree)
    day = on or datetime.date.today()
    return State(chosen, copy.deepcopy(dict(data)), day, texts=dict(texts or {}))


def report_of(state: State) -> Report:
    """The report on what is known so far. Raises ModrulesError where the data is no good."""
    from modrules.api import screen

    data = state.data if MODIFICATIONS in state.data else {**state.data, MODIFICATIONS: []}
    return screen(data, list(state.rulesets), texts=state.texts, on=state.on)


def next_question(state: State) -> Question | None:
    """The most telling question that can still change the report; None where there is none."""
    if MODIFICATIONS not in state.data:
        if MODIFICATIONS in state.skipped:
            return None
        return _first(state)
    report = report_of(state)
    ranked = [f for f in next_facts(report) if not f.given and f.address not in state.skipped]
    if ranked:
        return _question(first_question(report, ranked), len(ranked))
    others = chain(paper_questions(state.data, report), system_questions(state.data, report))
    return next((one for one in others if one.address not in state.skipped), None)


def answered(state: State, address: str, text: str) -> State:
    """The state after an answer, written as in a submission. Raises ModrulesError.

    To a list the answer is the ids of its entries with commas between, or ``none``; to the
    modifications, their kinds; to papers and systems, the words that were offered.
    """
    value: Any = text.strip()
    if not value:
        raise ModrulesError(Problem("this is no answer", None, "write a value, or stop"))
    steps = address.split(".")
    if address == MODIFICATIONS:
        value = _modifications(state, value)
    elif address == EVIDENCE:
        value = papers(report_of(state)._screenings, _words(value))
    elif address == STANDARD:
        value = systems(report_of(state), _words(value))
    elif "." not in address:
        # What is known of entries that are there already is kept.
        known = state.data.get(address)
        listed = known if isinstance(known, list) else []
        own = {str(each.get("id")): each for each in listed if isinstance(each, dict)}
        value = [own.get(name, {"id": name}) for name in _ids(value)]
    elif steps[0] == EVIDENCE and steps[-2:] == ["covers", MODIFICATIONS]:
        value = _ids(value)
    elif steps[0] == EVIDENCE and "up_to" in steps:
        # What a document covers is kept under the whole names of facts.
        end = steps.index("up_to") + 1
        steps[end:] = [".".join(steps[end:])]
    data = copy.deepcopy(dict(state.data))
    _put(data, steps, value)
    after = replace(state, data=data)
    report_of(after)
    return after


def skipped(state: State, address: str) -> State:
    """The state after a question that nobody can answer: it is not asked again."""
    return replace(state, skipped=state.skipped | {address})


def _first(state: State) -> Question:
    kinds = {str(k): str(v.title) for r in state.rulesets for k, v in r.flat.kinds.items()}
    return Question(
        MODIFICATIONS,
        "modifications",
        "Modifications",
        "What was changed on the vehicle, or is to be changed?",
        "Write the kinds with commas between, or none.",
        words=tuple(kinds),
        meanings=tuple(kinds.values()),
    )


def _question(fact: NextFact, left: int) -> Question:
    target = fact.target
    words: tuple[str, ...] = ()
    if target is not None and target.fact.type.kind == "yes_no":
        words = ("yes", "no")
    elif target is not None:
        words = tuple(target.fact.type.words)
    ids = "Write an id for each, as front, rear; or none."
    if not fact.may_be_empty:
        ids = "Write an id for each that the vehicle has, as front, rear."
    return Question(
        fact.address,
        "fact" if target is not None else "list",
        fact.title,
        fact.question if target is not None else f"{fact.title}: which are there?",
        fact.measure if target is not None else ids,
        fact.unit,
        words,
        none_stated=target is not None and target.fact.none_stated,
        settles=fact,
        left=left,
    )


def _words(text: str) -> list[str]:
    """What stands between commas; nothing where there is none."""
    if text.lower() in _NONE:
        return []
    return [word.strip() for word in text.split(",") if word.strip()]


def _ids(text: str) -> list[str]:
    """Ids with commas between, none twice."""
    names = _words(text)
    for name in names:
        if not _ID.fullmatch(name):
            hint = "letters, digits, - and _, as front-left"
            raise ModrulesError(Problem(f'"{name[:40]}" is no id', None, hint))
        if names.count(name) > 1:
            raise ModrulesError(Problem(f'"{name}" is there twice', None, "give each its own id"))
    return names


def _modifications(state: State, text: str) -> list[dict[str, str]]:
    """Entries of the kinds named; the second of a kind gets a number of its own."""
    kinds = {str(k): v for ruleset in state.rulesets for k, v in ruleset.flat.kinds.items()}
    made: list[dict[str, str]] = []
    if text.lower() in _NONE:
        return made
    for kind in (part.strip() for part in text.split(",")):
        if kind not in kinds:
            said = f'"{kind[:40]}" is no kind of modification'
            raise ModrulesError(Problem(said, None, kind_hint(kind, kinds)))
        count = sum(entry["kind"] == kind for entry in made)
        made.append({"id": f"{kind}-{count + 1}" if count else kind, "kind": kind})
    return made


def _put(data: dict[str, Any], steps: list[str], value: Any) -> None:
    """Sets the value at an address; entries of lists are found by their ids."""
    if len(steps) == 1:
        data[steps[0]] = value
        return
    branch = data.get(steps[0])
    if isinstance(branch, list):
        for length in range(1, len(steps) - 1):
            # An id may have dots of its own.
            name = ".".join(steps[1 : 1 + length])
            for entry in branch:
                if isinstance(entry, dict) and str(entry.get("id")) == name:
                    _put(entry, steps[1 + length :], value)
                    return
        raise ModrulesError(Problem(f'there is no entry for "{".".join(steps)}"'))
    if not isinstance(branch, dict):
        branch = data[steps[0]] = {}
    _put(branch, steps[1:], value)
