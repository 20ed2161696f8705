"""A tolerance that reaches past the declared range is cut there, and the finding says so."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from modrules.cli import main

RULESET = """\
ruleset: small
title: Small
edition: "1"
in_force: {from: 2020-01-01}
builds_on: {ruleset: trade, edition: "1"}
texts: [{id: code, title: The code, edition: "1"}]
facts:
  - {id: vehicle.gap, title: Gap, type: length, unit: mm, range: {from: 0 mm, to: 100 mm},
     question: Q}
  - {id: vehicle.lining, title: Lining, type: length, unit: mm, range: {from: 0 mm, to: 100 mm},
     safety: true, question: Q}
  - {id: vehicle.moulded, title: Moulded, type: date, range: {from: 2021-03-01, to: 2030-12-31},
     question: Q}
checks:
"""
CHECK = """\
  - {{id: {0}, title: T, about: suspension, per: vehicle, requires: {1},
     cites: {{text: code, clause: "1"}}}}
"""


@pytest.fixture
def small(tmp_path: Path) -> Path:
    folder = tmp_path / "small"
    folder.mkdir()
    checks = {
        "gap-none": "vehicle.gap >= 0 mm",
        "gap-wide": "vehicle.gap <= 90 mm",
        "lining": "vehicle.lining >= 0 mm",
        "moulded": "vehicle.moulded >= 2021-03-01",
    }
    text = RULESET + "".join(CHECK.format(*one) for one in checks.items())
    (folder / "ruleset.yaml").write_text(text, encoding="utf-8")
    return folder


def screened(
    small: Path, vehicle: str, capsys: pytest.CaptureFixture[str], form: str = "json"
) -> str:
    path = small.parent / "plan.yaml"
    path.write_text(
        f"vehicle: {{{vehicle}}}\nmodifications: [{{id: s, kind: suspension}}]\n", encoding="utf-8"
    )
    status = main(["screen", str(path), "--ruleset", str(small), "--format", form])
    captured = capsys.readouterr()
    assert status != 2, captured.err
    return captured.out


def test_what_the_range_cuts_off_is_said_and_what_it_decides_is_assumed(
    small: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    said = screened(small, "gap: 2 mm ± 5 mm", capsys)
    found = {f["check"]: f for f in json.loads(said)["findings"]}
    line = (
        "vehicle.gap: 2 mm ± 5 mm, of which nothing under 0 mm is taken to be possible, "
        "by its declared range"
    )
    assert line in found["gap-none"]["working"]
    assert line in found["gap-wide"]["working"]
    assert found["gap-none"]["possible"] == ["complies"]
    assert found["gap-none"]["assumed"] == ["vehicle.gap"]
    assert found["gap-wide"]["assumed"] == []
    text = " ".join(screened(small, "gap: 2 mm ± 5 mm", capsys, "terminal").split())
    assert "of which nothing under 0 mm is taken to be possible" in text


def test_both_ends_and_no_end(small: Path, capsys: pytest.CaptureFixture[str]) -> None:
    both = screened(small, "gap: 50 mm ± 60 mm", capsys)
    assert "nothing under 0 mm or over 100 mm is taken" in both
    assert "by its declared range" not in screened(small, "gap: 5 mm ± 5 mm", capsys)


def test_where_safety_counts_nothing_is_cut(
    small: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    said = json.loads(screened(small, "lining: 2 mm ± 5 mm", capsys))
    found = {f["check"]: f for f in said["findings"]}["lining"]
    assert found["possible"] == ["complies", "not permitted"]
    assert not any("declared range" in line for line in found["working"])
    exact = json.loads(screened(small, "lining: 5 mm ± 5 mm", capsys))
    assert {f["check"]: f for f in exact["findings"]}["lining"]["possible"] == ["complies"]


def test_a_date_that_is_not_exact_is_cut_too(
    small: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    said = json.loads(screened(small, "moulded: 2021", capsys))
    found = {f["check"]: f for f in said["findings"]}["moulded"]
    assert found["assumed"] == ["vehicle.moulded"]
    assert any("nothing under 2021-03-01 is taken" in line for line in found["working"])


def test_a_value_past_the_range_is_refused_whatever_its_tolerance(
    small: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = small.parent / "plan.yaml"
    path.write_text("vehicle: {gap: -1 mm ± 5 mm}\nmodifications: []\n", encoding="utf-8")
    assert main(["screen", str(path), "--ruleset", str(small)]) == 2
    assert "plan.yaml:1:16:" in capsys.readouterr().err
