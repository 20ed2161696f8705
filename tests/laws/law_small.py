"""Small rulesets written out, for the corners that laws over random ones seldom reach."""

from __future__ import annotations

from typing import Any

from generators import CITES, TODAY, flat_of

from modrules.screening.binding import bind
from modrules.screening.findings import Finding, outcomes_of
from modrules.screening.prepared import Ruleset, Run, prepare
from modrules.screening.submission import read_submission


def small(checks: list[dict[str, Any]], facts: list[dict[str, Any]], **more: Any) -> Ruleset:
    """A ruleset of these checks and facts; what every check and fact has is filled in."""
    data = {
        "ruleset": "small",
        "title": "Small",
        "edition": "1",
        "in_force": {"from": "2020-01-01"},
        "subjects": [
            {"id": "vehicle", "title": "Vehicle"},
            {"id": "axle", "title": "Axle", "list": "axles"},
            {"id": "wheel", "title": "Wheel", "list": "wheels"},
        ],
        "kinds": [{"id": "lift", "title": "Lift"}, {"id": "tank", "title": "Tank"}],
        "word_sets": [{"id": "colour", "words": ["red", "blue"]}],
        "certifications": [{"id": "plate", "title": "Plate", "kind": "plate"}],
        "texts": [{"id": "code", "title": "The code", "edition": "1"}],
        "facts": [{"title": "A fact", "question": "What is it?", **fact} for fact in facts],
        "checks": [
            {"id": f"check-{i}", "title": "A check", "about": "vehicle", "per": "vehicle"}
            | {"cites": CITES, **check}
            for i, check in enumerate(checks)
        ],
        **more,
    }
    return prepare(flat_of(data))


def length(name: str, **more: Any) -> dict[str, Any]:
    """A length from -1000 to 1000 mm."""
    ends = {"from": "-1000 mm", "to": "1000 mm"}
    return {"id": name, "type": "length", "unit": "mm", "range": ends, **more}


def number(name: str, **more: Any) -> dict[str, Any]:
    """A plain number from -10 to 10."""
    return {"id": name, "type": "number", "range": {"from": "-10", "to": "10"}, **more}


def quantity(name: str, formula: str, unit: str = "") -> dict[str, Any]:
    item = {"id": name, "title": name, "formula": formula, "source": "made up"}
    return item | ({"unit": unit} if unit else {})


def run_of(ruleset: Ruleset, submission: dict[str, Any]) -> Run:
    given = {"modifications": [], **submission}
    run = Run(ruleset, bind(read_submission(given), ruleset.typed, ruleset.layout, TODAY))
    run.screen()
    return run


def findings_of(ruleset: Ruleset, submission: dict[str, Any]) -> dict[str, tuple[str, ...]]:
    """The possible outcomes of each finding, by check and subject: ``check-0 front``."""
    run = run_of(ruleset, submission)
    found = {}
    for raw in run.raw:
        check = ruleset.typed.checks[raw[0]].id
        found[f"{check} {getattr(raw[1], 'id', '')}".strip()] = outcomes_of(raw[2])
    return found


def only(ruleset: Ruleset, **facts: Any) -> tuple[str, ...]:
    """What the only finding may come to, for facts of the vehicle."""
    (found,) = findings_of(ruleset, {"vehicle": facts}).values()
    return found


def finding(ruleset: Ruleset, **facts: Any) -> Finding:
    """The only finding, for facts of the vehicle."""
    run = run_of(ruleset, {"vehicle": facts})
    return Finding(run, run.raw[0])
