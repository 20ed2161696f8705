"""What proofs come to: problems with an example each, and what is not proved."""

from __future__ import annotations

import datetime
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from modrules.problems import Problem
from modrules.ruleset.words import OUTCOMES

#: How many entries a list has at most where proofs look at all of it.
MOST_MEMBERS: Final = 2
_PLAIN: Final = re.compile(r"[A-Za-z0-9_./+-][A-Za-z0-9_./+ %-]*")


@dataclass(frozen=True, slots=True)
class Example:
    """A submission fragment, and the date on which it is screened."""

    given: Mapping[str, Any]
    on: datetime.date


@dataclass(frozen=True, slots=True)
class Found:
    """A problem that holds for all vehicles, or for the one in the example.

    ``possible``: what the engine makes of the example, for each of the checks concerned.
    """

    kind: str
    checks: tuple[str, ...]
    problem: Problem
    example: Example | None = None
    possible: tuple[tuple[str, ...], ...] = ()


@dataclass(frozen=True, slots=True)
class NotProved:
    """A question that stayed open."""

    checks: tuple[str, ...]
    question: str
    reason: str

    def __str__(self) -> str:
        return f"{' and '.join(self.checks)}: {self.question} ({self.reason})"


@dataclass(frozen=True, slots=True)
class Remark:
    """What an author should know of a check, and is no problem; told once for all such checks."""

    check: str
    said: str


@dataclass(frozen=True, slots=True)
class Proofs:
    """What was asked of a ruleset over all vehicles. ``notes`` (level "note") are no problems."""

    found: tuple[Found, ...]
    not_proved: tuple[NotProved, ...]
    asked: int
    notes: tuple[Problem, ...] = ()
    remarks: tuple[Remark, ...] = ()

    @property
    def share_not_proved(self) -> float:
        return len(self.not_proved) / self.asked if self.asked else 0.0


def example_lines(found: Found) -> list[str]:
    """The example of a problem as lines of a worked case; empty where there is none."""
    if found.example is None:
        return []
    lines = given_lines(found.example.on.isoformat(), found.example.given)
    for check, outcomes in zip(found.checks, found.possible, strict=False):
        said = "every outcome" if outcomes == OUTCOMES else " or ".join(outcomes)
        lines.append(f"# {check} comes to: {said}")
    return lines


def given_lines(on: str, given: Mapping[str, Any]) -> list[str]:
    """The date and the submission fragment of an example in YAML, a line for each key."""
    return [f"on: {on}", *(f"{key}: {flow(value)}" for key, value in given.items())]


def flow(value: Any) -> str:
    """A value of a submission in YAML, on one line."""
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{key}: {flow(each)}" for key, each in value.items()) + "}"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(flow(each) for each in value) + "]"
    text = str(value)
    if _PLAIN.fullmatch(text) and not text.endswith(" "):
        return text
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'
