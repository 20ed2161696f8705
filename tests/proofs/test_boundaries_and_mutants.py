"""Cases at the limits, and mutants: made by machine, judged by the engine."""

from __future__ import annotations

from collections import Counter
from functools import cache
from pathlib import Path

import little
import pytest
from loaded import load_ruleset

from modrules import author_commands
from modrules.proofs import mutation
from modrules.proofs.alike import differ
from modrules.proofs.boundaries import boundary_cases, cases_text
from modrules.proofs.cases import Case, read_cases, run_case
from modrules.proofs.mutants import mutants
from modrules.ruleset.checking import type_check
from modrules.ruleset.find import find_ruleset
from modrules.screening.prepared import Ruleset

SOME = (
    "tyre-diameter-large",
    "tyre-speed",
    "tyre-age",
    "coupling-load",
    "seats-added",
    "free-play",
)


@cache
def orrinmark() -> tuple[Ruleset, tuple[Case, ...]]:
    cases, problems = read_cases(find_ruleset("orrinmark"))
    assert problems == []
    return load_ruleset("orrinmark"), tuple(cases)


def test_cases_at_the_limits_come_out_as_they_say(tmp_path: Path) -> None:
    ruleset, _ = orrinmark()
    found = boundary_cases(ruleset, SOME)
    assert found.without == ()
    (tmp_path / "cases").mkdir()
    (tmp_path / "cases" / "limits.yaml").write_text(cases_text(found), encoding="utf-8")
    cases, problems = read_cases(tmp_path)
    assert problems == []
    assert len(cases) == len(found.cases) > 25
    assert [run_case(ruleset, case).problem for case in cases] == [None] * len(cases)


def test_each_limit_has_its_four_cases() -> None:
    found = boundary_cases(orrinmark()[0], ["tyre-diameter-large"])
    outcomes = {case.title: case.expect for case in found.cases}
    for limit in ("4 %", "7 %", "10 %"):
        assert f"axle.diameter_change_share on {limit}" in outcomes
        assert f"axle.diameter_change_share just under {limit}" in outcomes
        assert f"axle.diameter_change_share just over {limit}" in outcomes
    assert sum("missing" in title for title in outcomes) == 3
    assert outcomes["axle.diameter_change_share on 10 %"] == ("certification required",)
    assert outcomes["axle.diameter_change_share just over 10 %"] == ("not permitted",)
    assert all(len(outcomes[title]) > 1 for title in outcomes if "missing" in title)


def test_the_limit_of_an_exemption_has_a_case_that_it_excuses() -> None:
    flag = little.check("flag", "not vehicle.q", more=little.exempt_if("vehicle.n >= 2"))
    found = boundary_cases(little.load(flag))
    outcomes = {case.title: case.expect for case in found.cases}
    assert outcomes["vehicle.n on 2"] == ("exempt",)
    assert outcomes["vehicle.n just under 2"] == ("not permitted",)


def test_a_limit_that_is_reckoned_is_not_called_by_the_name_of_a_fact_in_it() -> None:
    made = "  - {id: vehicle.made, title: Made, type: date, question: When?}\n"
    age = little.check("age", "today <= vehicle.made + 8 years")
    found = boundary_cases(little.load(age, more=made))
    assert {case.title: case.expect for case in found.cases} == {
        "today on what follows from vehicle.made": ("complies",),
        "today just under what follows from vehicle.made": ("complies",),
        "today just over what follows from vehicle.made": ("not permitted",),
        # The fact that is missing may stand on either side of the limit.
        "today against what follows from vehicle.made, vehicle.made missing": (
            "complies",
            "not permitted",
        ),
    }


def test_mutants_of_one_check_are_those_expected() -> None:
    ruleset, _ = orrinmark()
    check = ruleset.flat.checks["tyre-speed"]
    found = [(mutant.kind, mutant.change) for mutant in mutants(check)]
    assert ("limit", "180 km/h becomes 181 km/h") in found
    assert ("limit", "180 km/h becomes 179 km/h") in found
    assert ("unit", "180 km/h becomes 180 mph") in found
    assert ("operator", '">=" becomes ">"') in found
    assert ("operator", '"and" becomes "or"') in found
    assert ("exemption", "the exemption is dropped") in found
    place = next(m.place for m in mutants(check) if m.change == "180 km/h becomes 181 km/h")
    assert place.source[place.column - 1 : place.end_column - 1] == "180 km/h"


def test_a_case_less_and_a_mutant_goes_unnoticed() -> None:
    ruleset, cases = orrinmark()
    full = mutation.mutate(ruleset, cases, ["tyre-diameter-large"])
    assert full.unnoticed == ()
    assert full.alike is not None
    assert 0 < full.alike < full.made
    fewer = [case for case in cases if "10 percent" not in case.title]
    less = mutation.mutate(ruleset, fewer, ["tyre-diameter-large"])
    assert less.made == full.made
    assert {mutant.place.source.strip()[:13] for mutant in less.unnoticed} <= {
        "- {over: 7 %,",
        "- {over: 10 %",
    }
    assert less.unnoticed
    none = mutation.mutate(ruleset, [], ["tyre-diameter-large"])
    assert none.made == full.made
    assert len(none.unnoticed) == full.made - full.alike


def test_a_mutant_costs_less_than_three_screenings_of_all_cases(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Counted, not timed: how often a check is evaluated for one mutant."""
    ruleset, cases = orrinmark()
    evaluated: Counter[str] = Counter()
    possible = mutation.Evaluator.possible

    def counting(self: object, *rest: object) -> int:
        evaluated["mutants"] += 1
        return possible(self, *rest)  # type: ignore[arg-type]

    monkeypatch.setattr(mutation.Evaluator, "possible", counting)
    made = mutation.mutate(ruleset, cases, ["body-blocks"]).made
    own = sum(case.check == "body-blocks" for case in cases)
    # Each screening of a case evaluates every check of the ruleset at least once.
    assert evaluated["mutants"] <= made * own + made + own * len(ruleset.typed.checks)


def test_what_no_vehicle_tells_apart_is_proved_so() -> None:
    ruleset, _ = orrinmark()
    check = next(c for c in ruleset.typed.checks if c.id == "tyre-diameter-large")
    item = ruleset.flat.checks[check.id]
    told: dict[str, bool | None] = {}
    for mutant in mutants(item):
        if "4 %" not in mutant.change or "becomes 4" in mutant.change:
            continue
        typed, problems = type_check(ruleset.typed, mutant.item, check.index)
        if not problems:
            told[mutant.change] = differ(ruleset, check, typed).holds
    # The row before takes 4 % itself, so that the next may begin with it or after it.
    assert told["over 4 % becomes from 4 %"] is False
    assert told["up_to 4 % becomes under 4 %"] is True
    assert None not in told.values()


def test_commands_for_cases_and_mutants(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from modrules import cli

    loaded = author_commands.load("orrinmark")
    monkeypatch.setattr(author_commands, "load", lambda _: loaded)
    target = tmp_path / "limits.yaml"
    arguments = ["cases", "orrinmark", "--check", "body-blocks", "--output", str(target)]
    assert cli.main(arguments) == 0
    assert "body_blocks.height on 28 mm" in target.read_text(encoding="utf-8")
    assert cli.main(["mutate", "orrinmark", "--check", "tyre-diameter-large"]) == 0
    said = capsys.readouterr().out
    assert "0 of " in said
    assert all(len(line) <= 79 for line in said.splitlines())
    assert cli.main(["mutate", "orrinmark", "--check", "tyre-diametre-large"]) == 2
    assert 'did you mean "tyre-diameter-large"?' in capsys.readouterr().err
    monkeypatch.setattr("modrules.proofs.proving.available", lambda: False)
    assert cli.main(arguments) == 2
    assert "install modrules[proofs]" in capsys.readouterr().err
