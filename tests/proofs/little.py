"""A little ruleset of one vehicle, to which tests add checks."""

from __future__ import annotations

import datetime
import itertools
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import modrules
from modrules.proofs.cases import default_day
from modrules.screening.binding import bind
from modrules.screening.findings import outcomes_of
from modrules.screening.prepared import Ruleset, Run
from modrules.screening.submission import read_submission

HEAD = """\
ruleset: little
title: Little
edition: "1"
in_force: {from: 2026-01-01}
texts: [{id: code, title: Code, edition: "1"}]
subjects: [{id: vehicle, title: Vehicle}]
facts:
  - {id: vehicle.p, title: P, type: yes_no, question: P?}
  - {id: vehicle.q, title: Q, type: yes_no, question: Q?}
  - {id: vehicle.r, title: R, type: yes_no, question: R?}
  - {id: vehicle.n, title: N, type: count, range: {from: 0, to: 4}, question: How many?}
"""
VALUES = {"p": ("yes", "no"), "q": ("yes", "no"), "r": ("yes", "no"), "n": tuple("01234")}


def check(name: str, rule: str, applies: str = "", more: str = "") -> str:
    """A check of the vehicle; ``rule`` is its requirement, or lines of bands."""
    given = f'    applies_if: "{applies}"\n' if applies else ""
    rule = rule if rule.startswith("    ") else f'    requires: "{rule}"\n'
    return (
        f"  - id: {name}\n    title: {name}\n    about: vehicle\n    per: vehicle\n"
        f'{given}{rule}{more}    cites: {{text: code, clause: "1"}}\n'
    )


def exempt_if(condition: str) -> str:
    cites = '{text: code, clause: "2"}'
    return f'    exempt_if:\n      - {{condition: "{condition}", cites: {cites}}}\n'


def text(*checks: str, more: str = "") -> str:
    return f"{HEAD}{more}checks:\n{''.join(checks)}"


def load(*checks: str, more: str = "") -> Ruleset:
    """The ruleset with these checks, and further sections before them."""
    return loaded(text(*checks, more=more))


def loaded(content: str) -> Ruleset:
    """The ruleset of one file."""
    with folder(content) as made:
        return modrules.load_ruleset(made, on=datetime.date(2026, 6, 1))


@contextmanager
def folder(content: str) -> Iterator[Path]:
    """A folder with a ruleset of one file, for a while."""
    with tempfile.TemporaryDirectory() as made:
        (Path(made) / "ruleset.yaml").write_text(content, encoding="utf-8")
        yield Path(made)


def vehicles(*rulesets: Ruleset) -> Iterator[tuple[dict[str, str], list[dict[str, str]]]]:
    """Every vehicle, and what each check of each ruleset comes to (what is open: "open")."""
    for values in itertools.product(*VALUES.values()):
        vehicle = dict(zip(VALUES, values, strict=True))
        tree = {"submission": "x", "modifications": [], "vehicle": vehicle}
        yield vehicle, [_outcomes(ruleset, tree) for ruleset in rulesets]


def _outcomes(ruleset: Ruleset, tree: object) -> dict[str, str]:
    bound = bind(read_submission(tree), ruleset.typed, ruleset.layout, default_day(ruleset))
    found = {}
    for raw in Run(ruleset, bound).screen():
        outcomes = outcomes_of(raw[2])
        found[ruleset.typed.checks[raw[0]].id] = outcomes[0] if len(outcomes) == 1 else "open"
    return found
