"""Measurements: with their unit, on a day that was, in the condition that is asked for."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

import modrules
from modrules.cli import main


def _screen(tmp_path: Path, plan: str, *more: str) -> int:
    path = tmp_path / "plan.yaml"
    path.write_text(f"modifications: []\n{plan}\n", encoding="utf-8")
    return main(["screen", str(path), "--ruleset", "orrinmark", *more])


LIFT = "axles: []\nmodifications: [{id: a, kind: suspension, ride_height_change: VALUE}]\n"
REFUSED = {
    "1.9": "1.9 has no unit",
    "-3": "-3 has no unit",
    "0": "0 has no unit",
    "1.9 ± 0.1": "1.9 has no unit",
    "{value: 1.9}": "1.9 has no unit",
    "{value: 1.9 in, tolerance: 0.1}": "0.1 has no unit",
    "{value: 32 mm, tolerance: -5 mm}": "a tolerance can't be negative",
    "32 mm ± -5 mm": "a tolerance can't be negative",
    "{value: 28 mm, on: 2026-02-30}": "2026-02-30 is no date of the calendar",
    "{value: 28 mm, on: '<i>2026'}": '"<i>2026" is no date',
    "{value: 28 mm, on: last week}": '"last week" is no date',
}


@pytest.mark.parametrize("value", REFUSED)
def test_refused(value: str, tmp_path: Path, capsys: Any) -> None:
    path = tmp_path / "plan.yaml"
    path.write_text(LIFT.replace("VALUE", value), encoding="utf-8")
    assert main(["screen", str(path), "--ruleset", "orrinmark"]) == 2
    said = capsys.readouterr().err
    assert REFUSED[value] in said
    assert "plan.yaml:2:" in said


def test_what_to_write_is_said(tmp_path: Path, capsys: Any) -> None:
    assert _screen(tmp_path, "vehicle: {kerb_mass: 2508}") == 2
    assert "2508 kg or 2508 t or 2508 lb" in capsys.readouterr().err


def test_of_an_embedder_and_of_a_document(capsys: Any, tmp_path: Path) -> None:
    ruleset = modrules.load_ruleset("orrinmark")
    lift = {"id": "a", "kind": "suspension", "ride_height_change": 47}
    with pytest.raises(modrules.ModrulesError, match="47 has no unit"):
        modrules.screen({"modifications": [lift]}, ruleset)
    paper = (
        "evidence: [{id: p, certification: running-gear, "
        "covers: {modifications: [], up_to: {suspension.ride_height_change: 50}}}]"
    )
    assert _screen(tmp_path, paper) == 2
    assert "50 has no unit" in capsys.readouterr().err


def test_counts_and_shares_without_dimension_stay_bare(tmp_path: Path) -> None:
    tyre = "{marking: 265/70R17 121/118S, load_index: 121}"
    assert _screen(tmp_path, f"axles: [{{id: f, position: front, tyre: {tyre}}}]") != 2


@pytest.mark.parametrize(
    ("plan", "refused"),
    [
        ("vehicle: {kerb_mass: {value: 2508 kg, condition: laden}}", True),
        ("vehicle: {kerb_mass: {value: 2508 kg, condition: As weighed}}", True),
        ("vehicle: {kerb_mass: {value: 2508 kg, condition: kerb}}", False),
        ("vehicle: {kerb_mass: {value: 2508 kg, condition: tanks full}}", False),
    ],
)
def test_another_condition(plan: str, refused: bool, tmp_path: Path, capsys: Any) -> None:
    assert (_screen(tmp_path, plan) == 2) is refused
    said = capsys.readouterr().err
    assert ("vehicle.kerb_mass is asked for kerb, and this was measured" in said) is refused
    assert ("plan.yaml:2:" in said) is refused


@pytest.mark.parametrize(
    ("plan", "words"),
    [
        (
            "vehicle: {kerb_mass: {value: 2508 kg, on: 2099-01-01}}",
            "vehicle.kerb_mass was measured on 2099-01-01, which is after the day",
        ),
        ("vehicle: {built: 2027-03}", "vehicle.built = 2027-03 is after the day"),
        ("axles: [{id: f, tyre: {made: 2099}}]", "axles.f.tyre.made = 2099 is after the day"),
        ("plates: [{id: p, issued: 2099-01-01}]", "plates.p.issued = 2099-01-01 is after the day"),
    ],
)
def test_a_day_still_to_come(plan: str, words: str, tmp_path: Path, capsys: Any) -> None:
    def cautions(plan: str) -> str:
        assert _screen(tmp_path, plan, "--on", "2026-11-01", "--format", "json") != 2
        return "\n".join(json.loads(capsys.readouterr().out)["cautions"])

    assert words in cautions(plan)
    for future in ("2099-01-01", "2027-03", "2099"):
        plan = plan.replace(future, "2026-11-01")
    assert "after the day" not in cautions(plan)
    assert "after the day" not in cautions(plan.replace("2026-11-01", "2026"))


def test_a_fitting_may_be_planned(tmp_path: Path, capsys: Any) -> None:
    path = tmp_path / "plan.yaml"
    path.write_text("modifications: [{id: w, kind: winch, fitted: 2099-01-01}]\n", "utf-8")
    main(["screen", str(path), "--ruleset", "orrinmark", "--format", "json"])
    assert "after the day" not in "".join(json.loads(capsys.readouterr().out)["cautions"])


# Lengths


@pytest.mark.parametrize(
    "plan",
    [
        "submission: LONG",
        "vehicle: {kerb_mass: {value: 2508 kg, note: LONG}}",
        "vehicle: {kerb_mass: {value: 2508 kg, by: LONG}}",
        "vehicle: {LONG: 3}",
        "LONG: 3",
        "axles: [{id: LONG}]",
        "evidence: [{id: a, title: LONG}]",
        "standard: [LONG]",
    ],
)
def test_a_long_text(plan: str, tmp_path: Path, capsys: Any) -> None:
    key = ": 3" in plan
    long = '"' + "x" * 900 + '"' if key else "x" * 200_000
    assert _screen(tmp_path, plan.replace("LONG", long)) == 2
    said = capsys.readouterr().err
    assert "characters" in said
    assert len(said) < 1000
    if not key:
        assert "more than 5,000 characters" in said


# An embedder's mistakes


@pytest.mark.parametrize("wrong", [None, [], 3, b"plan.yaml", {1: 2}])
def test_no_submission(wrong: Any) -> None:
    ruleset = modrules.load_ruleset("orrinmark")
    for ask in (modrules.screen, modrules.next_facts, modrules.turns, modrules.stages):
        with pytest.raises(modrules.ModrulesError):
            ask(wrong, ruleset)  # type: ignore[operator]


@pytest.mark.parametrize("wrong", [None, [], "orrinmark", ["orrinmark"], 3, [None]])
def test_no_ruleset(wrong: Any) -> None:
    for ask in (modrules.screen, modrules.next_facts, modrules.turns, modrules.stages):
        with pytest.raises(modrules.ModrulesError, match="no ruleset"):
            ask({"modifications": []}, wrong)  # type: ignore[operator]


@pytest.mark.parametrize("wrong", [{"submission": "a\ud800"}, {"\udfff": 1}])
def test_half_a_character(wrong: dict[str, Any]) -> None:
    ruleset = modrules.load_ruleset("orrinmark")
    with pytest.raises(modrules.ModrulesError, match="half a character"):
        modrules.screen({"modifications": [], **wrong}, ruleset)
