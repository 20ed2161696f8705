"""Divisions and functions that have no value for some vehicle to which a check applies."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import little
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from modrules import cli
from modrules.proofs.examples import screened
from modrules.proofs.found import Found
from modrules.proofs.proving import prove
from modrules.ruleset.words import OUTCOMES
from modrules.screening.prepared import Ruleset

FACTS = """\
  - {{id: vehicle.angle, title: A, type: angle, unit: deg, range: {{from: 0 deg, to: {} deg}},
     question: A?, measure: So.}}
  - {{id: vehicle.index, title: I, type: count, range: {{from: {}, to: 150}}, question: I?}}
  - {{id: vehicle.marking, title: M, type: tyre_marking, question: M?}}
"""
WHEELS = """\
  - {id: axle.length, title: L, type: length, unit: mm, range: {from: 100 mm, to: 900 mm},
     question: L?, measure: So.}
  - {id: axle.driven, title: D, type: yes_no, question: D?}
"""
LARGEST = "largest(axle.length for each axle{} if none 0 mm)"
HOLDS = """\
quantities:
  - {id: vehicle.twice, title: Twice, formula: 2 * vehicle.n, source: x, holds: vehicle.n > 0}
"""


def without(ruleset: Ruleset) -> list[Found]:
    proofs = prove(ruleset)
    assert proofs.not_proved == ()
    for each in proofs.found:
        if each.kind == "without a value":
            assert each.problem.place is not None
            assert each.problem.place.line
            assert each.example is not None
            assert each.possible == (tuple(OUTCOMES),)
            assert screened(ruleset, each.example, ruleset.typed.checks[0]) == each.possible
    return [each for each in proofs.found if each.kind == "without a value"]


def with_facts(rule: str, widest: int = 180, least: int = 40) -> Ruleset:
    return little.load(little.check("a", rule), more=FACTS.format(widest, least))


def with_wheels(rule: str) -> Ruleset:
    subjects = "{id: vehicle, title: Vehicle}, {id: axle, title: Axle, list: axles}"
    text = little.text(little.check("a", rule), more=WHEELS)
    return little.loaded(text.replace("{id: vehicle, title: Vehicle}", subjects))


def test_a_division_by_what_may_be_zero() -> None:
    (found,) = without(little.load(little.check("a", "12 / vehicle.n <= 4")))
    assert found.example is not None
    assert found.example.given["vehicle"]["n"] == "0"
    assert '"a" divides by vehicle.n where that is zero' in found.problem.message
    guarded = little.check("a", "12 / vehicle.n <= 4", applies="vehicle.n > 0")
    assert without(little.load(guarded)) == []
    assert without(little.load(little.check("a", "vehicle.n = 0 or 12 / vehicle.n <= 4"))) == []
    assert without(little.load(little.check("a", "12 / (vehicle.n + 1) <= 4"))) == []


@pytest.mark.parametrize(
    ("rule", "outside", "inside"),
    [
        ("bridle_leg_force(1 kN, vehicle.angle) <= 2 kN", {"widest": 170}, {"widest": 169}),
        ("load_capacity(vehicle.index) >= 200 kg", {"least": 49}, {"least": 50}),
    ],
)
def test_a_function_outside_its_domain(
    rule: str, outside: dict[str, int], inside: dict[str, int]
) -> None:
    (found,) = without(with_facts(rule, **outside))
    assert f'calls "{rule.partition("(")[0]}" where it has no value' in found.problem.message
    assert without(with_facts(rule, **inside)) == []


def test_what_lacks_a_value_only_beside_another_is_told_with_it() -> None:
    check = little.check("a", "12 / vehicle.n + vehicle.twice <= 9")
    proofs = prove(little.load(check, more=HOLDS))
    (found,) = (each for each in proofs.found if each.possible == (tuple(OUTCOMES),))
    assert 'divides by vehicle.n where that is zero and uses the quantity "vehicle.twice"' in (
        found.problem.message
    )
    assert found.example is not None
    assert found.example.given["vehicle"]["n"] == "0"


def test_a_list_without_entries_is_a_remark_and_one_that_leaves_all_out_a_problem() -> None:
    ruleset = with_wheels(f"900 mm / {LARGEST.format('')} <= 2")
    assert without(ruleset) == []
    (remark,) = prove(ruleset).remarks
    assert (remark.check, "with no axle nothing can be reckoned" in remark.said) == ("a", True)
    (found,) = without(with_wheels(f"900 mm / {LARGEST.format(' where axle.driven')} <= 2"))
    assert found.example is not None
    assert [each["driven"] for each in found.example.given["axles"]][:1] == ["no"]


def test_what_is_not_asked_is_said_and_never_clean(tmp_path: Path, capsys: Any) -> None:
    rule = "tyre_diameter(vehicle.marking) <= 900 mm"
    (tmp_path / "ruleset.yaml").write_text(
        little.text(little.check("a", rule), more=FACTS.format(90, 50)), encoding="utf-8"
    )
    cli.main(["proofread", str(tmp_path)])
    page = " ".join(capsys.readouterr().out.split())
    said = 'not asked whether it has a value for every vehicle: "tyre_diameter" of a text (a)'
    assert said in page
    marking = '"265/70R17 121/118S"'
    known = little.check("a", f"    requires: vehicle.p or tyre_diameter({marking}) > 900 mm\n")
    assert prove(little.load(known)).remarks == ()


conditions = st.sampled_from(["vehicle.p", "vehicle.q", "vehicle.n <= 2", "vehicle.n > 0"])
divisors = st.sampled_from(["vehicle.n", "(vehicle.n - 2)", "(vehicle.n + 1)", "(3 - vehicle.n)"])


@settings(max_examples=25, derandomize=True)
@given(divisors, conditions, conditions, conditions)
def test_as_trying_everything_says(divisor: str, applies: str, excuse: str, also: str) -> None:
    rule = f"{excuse} or (12 / {divisor} <= 5)"
    check = little.check("a", rule, applies=applies, more=little.exempt_if(also))
    ruleset = little.load(check)
    opened = any(seen["a"] == "open" for _, (seen,) in little.vehicles(ruleset))
    assert bool(without(ruleset)) == opened
