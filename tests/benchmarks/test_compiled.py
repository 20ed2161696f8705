"""What the code made for exact facts leaves out, it may leave out: ends of bands that are known
by then, divisions, list functions that are worked out beforehand. The interval evaluator, which
leaves nothing out, says what must come of it."""

from __future__ import annotations

import datetime
from fractions import Fraction
from pathlib import Path
from random import Random
from typing import Any

import pytest

import modrules
from modrules.language.possible import Env
from modrules.screening.binding import bind
from modrules.screening.prepared import Ruleset, Run, bindings
from modrules.screening.submission import read_submission

ON = datetime.date(2026, 11, 1)
HEAD = """\
ruleset: small
title: Small
edition: "1"
in_force: {from: 2020-01-01}
texts: [{id: code, title: The code, edition: "1"}]
certifications: [{id: plate, title: A plate, kind: plate}]
subjects: [{id: vehicle, title: The vehicle}, {id: axle, title: Axle, list: axles}]
kinds: [{id: tyres, title: Tyres}]
facts:
"""
FACT = """\
  - {{id: {id}, title: A number, type: {type}, {more} question: How much?}}
"""
NUMBERS = ("vehicle.a", "vehicle.b", "axle.c", "axle.d")
CHECK = (
    "  - {{id: check-{n}, title: Check {n}, about: tyres, per: {per}, {rule}, cites: {cites}}}\n"
)
CITES = '{text: code, clause: "1"}'


def ruleset_of(folder: Path, rules: list[tuple[str, str]]) -> Ruleset:
    """A ruleset of checks, each per a subject and with a rule."""
    written = [HEAD]
    for name in NUMBERS:
        more = "unit: mm, range: {from: -50 mm, to: 50 mm}, none_stated: true,"
        written.append(FACT.format(id=name, type="length", more=more))
    for name in ("vehicle.yes", "axle.yes"):
        written.append(FACT.format(id=name, type="yes_no", more=""))
    written.append("quantities:\n")
    for subject, a, b in (("vehicle", "a", "b"), ("axle", "c", "d")):
        written.append(
            f"  - {{id: {subject}.ratio, title: Ratio, source: made up, "
            f'formula: "{subject}.{a} / {subject}.{b}"}}\n'
        )
    written.append("checks:\n")
    for n, (per, rule) in enumerate(rules):
        written.append(CHECK.format(n=n, per=per, rule=rule, cites=CITES))
    folder.mkdir()
    (folder / "ruleset.yaml").write_text("".join(written), encoding="utf-8")
    return modrules.load_ruleset(folder)


def compared(ruleset: Ruleset, tree: dict[str, Any]) -> int:
    """Compares all findings on a submission; gives how many had numbers."""
    bound = bind(read_submission(tree), ruleset.typed, ruleset.layout, ON)
    run = Run(ruleset, bound)
    numbers = 0
    for index, subject, outcomes, measured, limit, margin in run.screen():
        check = ruleset.typed.checks[index]
        rule = ruleset.flat.checks[check.id]
        if subject is None and check.per == ("axle",):
            assert (outcomes, tree["axles"]) == (1, [])
            continue
        assert outcomes == run.evaluate(check, subject), (rule, tree)
        if measured is None:
            continue
        numbers += 1
        env = Env(bound.world, bindings(check, subject))
        assert check.measure is not None
        assert ruleset.intervals.closure(check.measure)(env) == (measured, measured, False)
        if limit is not None:
            assert abs(margin) == abs(limit - measured), (rule, tree)
        if check.limit is not None:
            assert ruleset.intervals.closure(check.limit)(env) == (limit, limit, False)
            assert margin == (limit - measured) * check.direction
            assert (margin > 0) <= (outcomes == 2)
    return numbers


def submission(random: Random, values: tuple[str, ...]) -> dict[str, Any]:
    def record(*names: str) -> dict[str, str]:
        return {name: random.choice(values) for name in names} | {
            "yes": random.choice(("yes", "no"))
        }

    return {
        "vehicle": record("a", "b"),
        "axles": [{"id": f"{n}"} | record("c", "d") for n in range(random.choice((0, 1, 2, 3)))],
        "modifications": [{"id": "t", "kind": "tyres", "fitted": "2026-01-01"}],
    }


def bands(random: Random, unit: str) -> str:
    """Bands in any order, with gaps and overlaps, some with a condition."""
    made = []
    for _ in range(random.randint(1, 5)):
        parts = []
        low, high = sorted(random.sample(range(-3, 8), 2))
        if random.random() < 0.6:
            parts.append(f"{random.choice(('over', 'from'))}: {low * 10} {unit}")
        if random.random() < 0.6:
            parts.append(f"{random.choice(('under', 'up_to'))}: {high * 10} {unit}")
        if random.random() < 0.3:
            parts.append("only_if: vehicle.yes")
        parts.append(f"outcome: {random.choice(('complies', 'caution', 'not permitted'))}")
        made.append(f"{{{', '.join(parts)}}}")
    return f"bands: [{', '.join(made)}]"


@pytest.mark.parametrize(
    ("per", "measure", "unit"),
    [
        ("vehicle", "vehicle.a", "mm"),
        ("axle", "axle.c - vehicle.a", "mm"),
        ("vehicle", "vehicle.ratio", "%"),
        ("axle", "axle.ratio", "%"),
        ("vehicle", "vehicle.a / vehicle.b", "%"),
        ("vehicle", "largest(axle.c for each axle if none 7 mm)", "mm"),
    ],
)
def test_bands_in_any_order(tmp_path: Path, per: str, measure: str, unit: str) -> None:
    random = Random(measure)
    rules = [(per, f'measures: "{measure}", {bands(random, unit)}') for _ in range(60)]
    ruleset = ruleset_of(tmp_path / "small", rules)
    values = ("-50 mm", "-30 mm", "-7 mm", "0 mm", "9 mm", "10 mm", "30 mm", "50 mm")
    numbers = sum(compared(ruleset, submission(random, values)) for _ in range(40))
    assert numbers > 500


REQUIREMENTS = (
    "vehicle.a / vehicle.b <= 40 %",
    "vehicle.ratio >= vehicle.a / 10 mm",
    "axle.ratio < vehicle.ratio",
    "vehicle.a <= smallest(vehicle.b, 30 mm, 2 * vehicle.b)",
    "vehicle.a > largest(vehicle.b, 9 mm) or not vehicle.a < smallest(vehicle.b, 9 mm)",
    "vehicle.a >= smallest(axle.c for each axle if none vehicle.b)",
    "smallest(vehicle.b, largest(axle.c for each axle if none 1 mm), -7 mm) <= vehicle.a",
    "any(axle.ratio > 50 % for each axle) or vehicle.yes",
    "all(axle.c >= vehicle.a for each axle where axle.yes) and not any(each axle)",
    "count(each axle where axle.c > vehicle.a) <= 1",
    "sum(axle.c for each axle) <= 2 * vehicle.a",
    "vehicle.a is stated and vehicle.a > 0 mm",
    "vehicle.a is not stated or vehicle.a > 0 mm",
    "(vehicle.a is not stated and vehicle.yes) or vehicle.a > 0 mm",
    "not (vehicle.a is stated and vehicle.yes) and vehicle.a > 0 mm",
    "(vehicle.a if stated else 9 mm) <= (vehicle.b if stated else vehicle.a)",
    "if vehicle.a is stated then vehicle.a <= 9 mm else vehicle.yes",
    "(if vehicle.yes then vehicle.a else vehicle.b) <= 9 mm",
    "(if vehicle.yes then vehicle.a is stated else vehicle.b is stated)"
    " and (if vehicle.yes then vehicle.a else vehicle.b) <= 9 mm",
    "largest(axle.c for each axle where axle.c is stated if none 0 mm) <= 30 mm",
    "any(axle.c is not stated and axle.yes for each axle)",
)


def test_requirements(tmp_path: Path) -> None:
    random = Random(7)
    rules = [
        ("axle" if rule.startswith("axle.") else "vehicle", f'requires: "{rule}"')
        for rule in REQUIREMENTS
    ]
    rules += [(per, f'applies_if: "{other}", {rule}') for per, rule in rules for other in APPLYING]
    ruleset = ruleset_of(tmp_path / "small", rules)
    values = ("-50 mm", "-7 mm", "0 mm", "9 mm", "10 mm", "30 mm", "none stated")
    numbers = 0
    for _ in range(300):
        tree = submission(random, values)
        if random.random() < 0.3:
            tree["vehicle"].pop(random.choice(list(tree["vehicle"])))
        numbers += compared(ruleset, tree)
    assert numbers > 1000


APPLYING = (
    "vehicle.a is stated",
    "any(axle.c > 0 mm for each axle)",
    "vehicle.yes and (vehicle.b if stated else 0 mm) > -10 mm",
)


def test_a_quotient_is_exact(tmp_path: Path) -> None:
    ruleset = ruleset_of(tmp_path / "small", [("vehicle", 'requires: "vehicle.ratio <= 5"')])
    tree = submission(Random(1), ("1 mm",))
    tree["vehicle"] |= {"a": "-10 mm", "b": "-3 mm"}
    bound = bind(read_submission(tree), ruleset.typed, ruleset.layout, ON)
    [(_, _, outcomes, measured, limit, margin)] = Run(ruleset, bound).screen()
    assert (outcomes, measured / limit) == (2, Fraction(2, 3))
    assert margin == limit - measured
