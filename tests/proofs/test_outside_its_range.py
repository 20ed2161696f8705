"""A quantity or a table used outside the range where its source holds."""

from __future__ import annotations

from pathlib import Path

import little
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import modrules
from modrules.proofs.examples import screened
from modrules.proofs.found import Found
from modrules.proofs.proving import prove
from modrules.ruleset.words import OUTCOMES
from modrules.screening.prepared import Ruleset

QUANTITY = """\
quantities:
  - {{id: vehicle.twice, title: Twice, formula: 2 * vehicle.n, source: x, holds: "{}"}}
"""
TABLE = """\
tables:
  - {{id: most, title: Most, source: x, keys: [{{id: n, type: count{}}}],
     columns: [{{id: most, type: count}}], rows: [[0, 1], [1, 1], [2, 5], [3, 5]{}]}}
"""


def outside(ruleset: Ruleset) -> list[Found]:
    proofs = prove(ruleset)
    assert proofs.not_proved == ()
    return [each for each in proofs.found if each.kind == "outside its range"]


def test_outside_it_every_outcome_is_possible_and_the_reason_is_said() -> None:
    check = little.check("a", "vehicle.twice <= 6")
    ruleset = little.load(check, more=QUANTITY.format("vehicle.n <= 2"))
    for n, possible in (("2", ("complies",)), ("3", tuple(OUTCOMES))):
        given = {"modifications": [], "vehicle": {"n": n}}
        (finding,) = modrules.screen(given, ruleset).findings
        assert finding.possible == possible
    assert "vehicle.twice is outside the range where its source holds" in str(finding.reason)
    # Not known whether it holds: nothing is decided by a formula that may not count.
    (finding,) = modrules.screen({"modifications": [], "vehicle": {}}, ruleset).findings
    assert finding.possible == tuple(OUTCOMES)
    # Where the rest decides, the formula is not asked.
    other = little.check("a", "vehicle.p or vehicle.twice <= 6")
    ruleset = little.load(other, more=QUANTITY.format("vehicle.n <= 2"))
    given = {"modifications": [], "vehicle": {"n": "3", "p": "yes"}}
    assert modrules.screen(given, ruleset).findings[0].possible == ("complies",)


def test_a_check_that_uses_it_outside_is_found_with_an_example() -> None:
    check = little.check("a", "vehicle.p or vehicle.twice <= 6")
    ruleset = little.load(check, more=QUANTITY.format("vehicle.n <= 2"))
    (found,) = outside(ruleset)
    assert 'uses the quantity "vehicle.twice" outside the range' in found.problem.message
    assert found.problem.place is not None
    assert found.problem.place.line
    assert found.example is not None
    assert found.possible == (tuple(OUTCOMES),)
    assert screened(ruleset, found.example, ruleset.typed.checks[0]) == found.possible
    guarded = little.check("a", "vehicle.twice <= 6", applies="vehicle.n < 3")
    assert outside(little.load(guarded, more=QUANTITY.format("vehicle.n <= 2"))) == []


@pytest.mark.parametrize(
    ("match", "row", "found"), [("", "", 1), (", match: up_to", "", 1), ("", ", [4, 5]", 0)]
)
def test_a_table_looked_up_beyond_its_rows(match: str, row: str, found: int) -> None:
    check = little.check("a", "vehicle.n <= look_up(most, most, vehicle.n) and vehicle.n <= 4")
    assert len(outside(little.load(check, more=TABLE.format(match, row)))) == found


conditions = st.sampled_from(
    ["vehicle.n <= 2", "vehicle.n < 4 or vehicle.p", "vehicle.n >= 1 and vehicle.q", "vehicle.r"]
)
switches = st.sampled_from(["vehicle.p", "vehicle.q", "vehicle.n <= 2", "vehicle.r or vehicle.q"])


@settings(max_examples=20, derandomize=True)
@given(conditions, switches, switches, switches)
def test_as_trying_everything_says(holds: str, applies: str, excuse: str, exemption: str) -> None:
    rule = f"{excuse} or vehicle.twice <= 5"
    check = little.check("a", rule, applies=applies, more=little.exempt_if(exemption))
    ruleset = little.load(check, more=QUANTITY.format(holds))
    opened = any(seen["a"] == "open" for _, (seen,) in little.vehicles(ruleset))
    assert bool(outside(ruleset)) == opened


@pytest.mark.parametrize(
    ("holds", "said"),
    [
        ("vehicle.n + 1", "yes or no"),
        ("vehicle.m <= 2", 'there is no fact or quantity "vehicle.m"'),
        ("vehicle.n <=", "expected"),
        ("vehicle.twice <= 2", "made from itself"),
    ],
)
def test_a_condition_that_is_none_is_told_at_its_place(
    holds: str, said: str, tmp_path: Path
) -> None:
    text = little.text(little.check("a", "vehicle.n <= 2"), more=QUANTITY.format(holds))
    (tmp_path / "ruleset.yaml").write_text(text, encoding="utf-8")
    problems = modrules.proofread(tmp_path, proofs=False).problems
    line = next(n for n, each in enumerate(text.splitlines(), 1) if "holds:" in each)
    assert any(said in each.message and each.place.line == line for each in problems), problems
