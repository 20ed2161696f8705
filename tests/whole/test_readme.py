"""What the README shows is tried as it stands."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from modrules import load_ruleset, screen
from modrules.cli import main

README = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"^```yaml\n(.*?)^```$", README, re.M | re.S)
HEAD = """\
ruleset: fellmoor
title: Fellmoor rules
edition: "2"
in_force: {from: 2026-07-01}
files: [vocabulary.yaml, checks.yaml]
texts: [{id: code, title: Fellmoor code, edition: "2", file: texts/code.md}]
"""
CHECKS = """\
checks:
  - id: axle-load
    title: Load on the axle
    about: vehicle
    per: axle
    requires: regardless(axle.load) <= look_up(rim_loads, most, axle.rim)
    cites: {text: code, clause: "1"}
"""


def block(start: str) -> str:
    """The one block of the README that begins so."""
    (found,) = [one for one in BLOCKS if one.startswith(start)]
    return found


def test_a_vocabulary_of_one_s_own_is_one(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "texts").mkdir()
    (tmp_path / "ruleset.yaml").write_text(HEAD, encoding="utf-8")
    (tmp_path / "vocabulary.yaml").write_text(block("subjects:"), encoding="utf-8")
    (tmp_path / "checks.yaml").write_text(CHECKS, encoding="utf-8")
    (tmp_path / "texts" / "code.md").write_text("1 Axles are strong.\n", encoding="utf-8")
    assert main(["proofread", str(tmp_path), "--no-proofs"]) == 0, capsys.readouterr().out
    axles = [{"id": "f", "rim": "light", "load": "1100 kg"},
             {"id": "r", "rim": "heavy", "load": "1600 kg"}]  # fmt: skip
    report = screen({"modifications": [], "axles": axles}, load_ruleset(tmp_path))
    assert [f.possible for f in report.findings] == [("complies",), ("not permitted",)]


def test_the_owner_s_plan_is_answered(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    plan = tmp_path / "plan.yaml"
    plan.write_text(block("submission: Planning a lift"), encoding="utf-8")
    assert main(["plates", str(plan), "--ruleset", "orrinmark"]) == 3
    said = capsys.readouterr().out
    assert "OPEN" in said
    assert "NOT APPLICABLE" in said
