"""Sides of a limit on which no vehicle can be: told apart from those that lack a case."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import little
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from modrules import cli
from modrules.proofs.cases import read_cases, run_case
from modrules.proofs.edges import SIDES, touched
from modrules.proofs.reach import out_of_reach
from modrules.screening.prepared import Ruleset

WHEELS = """\
  - {id: axle.length, title: L, type: length, unit: mm, range: {from: 100 mm, to: 900 mm},
     question: L?, measure: So.}
"""


def never(ruleset: Ruleset) -> list[tuple[str, ...]]:
    """The sides that are proved out of reach, for each limit, without a case."""
    return [edge.unreachable for edge in out_of_reach(ruleset, touched(ruleset, []))]


def with_wheels(rule: str, applies: str = "") -> Ruleset:
    subjects = "{id: vehicle, title: Vehicle}, {id: axle, title: Axle, list: axles}"
    text = little.text(little.check("a", rule, applies), more=WHEELS)
    return little.loaded(text.replace("{id: vehicle, title: Vehicle}", subjects))


def case(number: int, vehicle: dict[str, str]) -> str:
    given = ", ".join(f"{key}: {value}" for key, value in vehicle.items())
    return (
        f'  - {{case: "{number}", of: a, source: "1", given: {{vehicle: {{{given}}}}}, '
        "expect: complies}\n"
    )


def test_what_no_vehicle_reaches_is_no_problem_and_is_said(tmp_path: Path, capsys: Any) -> None:
    check = little.check("a", "vehicle.n <= 4 and vehicle.p", applies="vehicle.n >= 3")
    (tmp_path / "ruleset.yaml").write_text(little.text(check), encoding="utf-8")
    (tmp_path / "cases").mkdir()
    cases = [case(n, {"n": str(n), "p": "yes"}) for n in (3, 4)]
    outside = case(2, {"n": "2", "p": "yes"}).replace("expect: complies", "expect: not applicable")
    (tmp_path / "cases" / "all.yaml").write_text("".join(["cases:\n", *cases, outside]))

    def told(*options: str) -> str:
        cli.main(["proofread", str(tmp_path), "--complete", *options])
        return " ".join(capsys.readouterr().out.split())

    lacking = "no case just over the limit: vehicle.n against 4"
    assert "a: no vehicle comes just over the limit: vehicle.n against 4" in told()
    assert lacking not in told()
    # Counted as what it is: a limit on which no case stands where it turns.
    assert "limits with a case on each and one just where it turns: 1 of 2" in told()
    # Without proofs nothing is known to be out of reach.
    assert lacking in told("--no-proofs")
    assert "no vehicle comes" not in told("--no-proofs")


def test_dates_that_declare_no_range_may_be_any() -> None:
    more = "  - {id: vehicle.built, title: B, type: date, question: B?}\n"
    check = little.check("a", "vehicle.built > 1850-01-01 or vehicle.p")
    assert never(little.load(check, more=more)) == [()]


conditions = st.sampled_from(["", "vehicle.n >= 2", "vehicle.n < 3 or vehicle.p", "vehicle.q"])
numbers = st.integers(0, 4)


@settings(max_examples=25, derandomize=True)
@given(conditions, numbers, numbers, st.sampled_from(["<=", "<", ">=", ">"]))
def test_as_cases_of_all_vehicles_say(applies: str, first: int, second: int, sign: str) -> None:
    rule = f"vehicle.n {sign} {first} or vehicle.r"
    check = little.check("a", rule, applies, more=little.exempt_if(f"vehicle.n {sign} {second}"))
    ruleset = little.load(check)
    with little.folder(little.text(check)) as folder:
        (folder / "cases").mkdir()
        listed = [case(n, vehicle) for n, (vehicle, _) in enumerate(little.vehicles())]
        (folder / "cases" / "all.yaml").write_text("".join(["cases:\n", *listed]))
        cases, problems = read_cases(folder)
    assert problems == []
    lacking = [edge.lacking for edge in touched(ruleset, [run_case(ruleset, c) for c in cases])]
    assert never(ruleset) == lacking


@pytest.mark.parametrize(
    ("rule", "applies", "expected"),
    [
        # In a list: some axle stands there.
        ("all(axle.length > 900 mm for each axle)", "", ("just over",)),
        ("all(axle.length > 899 mm for each axle where axle.length < 500 mm)", "", ()),
        ("largest(axle.length for each axle if none 0 mm) < 950 mm", "", tuple(SIDES)),
        # More entries than are looked at may reach it.
        ("sum(axle.length for each axle) < 5 m", "", ()),
        ("largest(axle.length for each axle if none 0 mm) < 950 mm", "count(each axle) > 9", ()),
        (
            "largest(axle.length for each axle if none 0 mm) < 850 mm",
            "any(axle.length < 200 mm for each axle) and any(axle.length > 300 mm and axle.length "
            "< 400 mm for each axle)",
            (),
        ),
    ],
)
def test_lists(rule: str, applies: str, expected: tuple[str, ...]) -> None:
    first = never(with_wheels(rule, applies))[-1 if applies else 0]
    assert first == expected
