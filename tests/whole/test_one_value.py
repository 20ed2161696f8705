"""Where one value is meant, a list or mapping is refused with its place, and not passed over."""

from __future__ import annotations

from pathlib import Path

import pytest

from modrules.cli import main

SUBMISSIONS = {
    "by": "vehicle: {kerb_mass: {value: 2508 kg, by: [I. Marrowby]}}",
    "on": "vehicle: {kerb_mass: {value: 2508 kg, on: {day: 2026-09-12}}}",
    "with": "vehicle: {kerb_mass: {value: 2508 kg, with: [scale, eye]}}",
    "condition": "vehicle: {kerb_mass: {value: 2508 kg, condition: {tanks: full}}}",
    "source": "vehicle: {kerb_mass: {value: 2508 kg, source: [ticket]}}",
    "note": "axles: [{id: front, note: [left]}]",
    "submission": "submission: [A, plan]",
    "title": "evidence: [{id: p, certification: mass-plate, title: {of: it}}]",
}
CASE = {
    "case": "[one, two]",
    "of": "[gross-mass]",
    "source": "{clause: 4}",
    "subject": "[lift]",
    "on": "[2026-11-01]",
}
RULESET = """\
ruleset: small
title: Small
edition: "1"
in_force: {from: 2020-01-01}
builds_on: {ruleset: trade, edition: "1"}
texts: [{id: code, title: The code, edition: "1"}]
checks:
  - id: one
    title: One
    about: suspension
    per: suspension
    requires: suspension.ride_height_change < 50 mm
    cites: {text: code, clause: "1"}
"""


@pytest.mark.parametrize("key", SUBMISSIONS)
def test_of_a_submission(key: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    line = SUBMISSIONS[key]
    path = tmp_path / "plan.yaml"
    path.write_text(f"modifications: []\n{line}\n", encoding="utf-8")
    assert main(["screen", str(path), "--ruleset", "orrinmark"]) == 2
    column = line.index(f"{key}: ") + len(key) + 3
    said = capsys.readouterr().err
    assert f"plan.yaml:2:{column}: {key} of " in said
    assert "is one value" in said


@pytest.mark.parametrize("key", ["title", "note"])
def test_of_a_modification(key: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    line = f"  - {{id: lift, kind: suspension, {key}: [tall]}}"
    path = tmp_path / "plan.yaml"
    path.write_text(f"modifications:\n{line}\n", encoding="utf-8")
    assert main(["screen", str(path), "--ruleset", "orrinmark"]) == 2
    place = f"plan.yaml:2:{line.index('[') + 1}"
    assert f'{place}: {key} of "modifications.lift" is one value' in capsys.readouterr().err


@pytest.mark.parametrize("key", CASE)
def test_of_a_worked_case(key: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "small"
    (folder / "cases").mkdir(parents=True)
    (folder / "ruleset.yaml").write_text(RULESET, encoding="utf-8")
    keys = {
        "case": "low",
        "of": "one",
        "source": '"1"',
        "given": "{modifications: [{id: lift, kind: suspension, ride_height_change: 1 mm}]}",
        "expect": "complies",
    }
    cases = folder / "cases" / "one.yaml"

    def proofread(**more: str) -> tuple[int, str]:
        lines = [f"{name}: {value}" for name, value in {**keys, **more}.items()]
        cases.write_text("cases:\n  - " + "\n    ".join(lines) + "\n", encoding="utf-8")
        status = main(["proofread", str(folder), "--no-proofs", "--format", "lines"])
        return status, capsys.readouterr().out

    assert "is one value" not in proofread()[1]
    status, said = proofread(**{key: CASE[key]})
    assert status == 1
    line = [*keys, key].index(key) + 2
    assert f"one.yaml:{line}:{5 + len(key) + 2}: error: {key} of a case is one value" in said
