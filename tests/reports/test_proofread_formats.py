"""What proofreading finds, for editors (lines) and for programs (SARIF)."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from modrules import cli
from modrules.problems import Problem
from modrules.proofs.proofread import Proofreading
from modrules.reports.proofread_sarif import proofread_sarif
from modrules.reports.trouble import proofread_lines

RULESET = """\
ruleset: marrowdale
title: Marrowdale
edition: "1"
in_force: {from: 2026-01-01}
builds_on: {ruleset: trade, edition: "1"}
texts:
  - {id: code, title: Code, edition: "1", file: texts/code of lifts.md}
checks:
  - id: lift
    title: Lift
    about: suspension
    per: suspension
    measures: suspension.ride_height_change
    bands:
      - {up_to: 50 mm, outcome: complies}
      - {over: 60 mm, outcome: not permitted}
    cites: {text: code, clause: "1.1", quote: "not in it"}
"""
CASE = """\
cases:
  - case: a lift of 61 mm
    of: lift
    source: "1.1"
    given: {modifications: [{id: m, kind: suspension, ride_height_change: 61 mm}]}
    expect: complies
"""
TEXT = "# Code\n\n## 1 Lift\n\n1.1 A lift must not exceed 50 mm.\n"


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A ruleset with a citation, a case and a band to mend; named from where one stands."""
    made = tmp_path / "of mine"
    (made / "texts").mkdir(parents=True)
    (made / "cases").mkdir()
    (made / "ruleset.yaml").write_text(RULESET)
    (made / "cases" / "lift.yaml").write_text(CASE)
    (made / "texts" / "code of lifts.md").write_text(TEXT)
    monkeypatch.chdir(tmp_path)
    return Path("of mine")


def test_each_problem_is_one_line_with_its_place(folder: Path, capsys: Any) -> None:
    assert cli.main(["proofread", str(folder), "--format", "lines"]) == 1
    assert capsys.readouterr().out.splitlines() == [
        "of mine/ruleset.yaml:16:16: warning: "
        'the bands of "lift" have a gap: no band covers what lies from over 50 mm to 60 mm '
        "(every outcome stays possible there; add a band or move an end)",
        "of mine/ruleset.yaml:17:47: warning: "
        'the quotation does not stand in clause 1.1 of text "code"',
        "of mine/cases/lift.yaml:2:5: error: "
        'the case "a lift of 61 mm" of "lift" comes to not permitted, not to complies '
        "(61 mm; the limit is 60 mm; past it by 1 mm: not permitted)",
    ]


def test_a_clean_ruleset_has_no_lines(folder: Path, capsys: Any) -> None:
    (folder / "cases" / "lift.yaml").unlink()
    mended = RULESET.replace("60 mm", "50 mm").replace("not in it", "must not exceed 50 mm")
    (folder / "ruleset.yaml").write_text(mended)
    assert cli.main(["proofread", str(folder), "--format", "lines"]) == 0
    assert capsys.readouterr().out == ""


def test_a_problem_without_a_place_stands_at_the_head_on_one_line() -> None:
    result = Proofreading((Problem("so\nit is\x1b[2J", None, "mend\nit"),), 0, (), ())
    assert proofread_lines("m/ruleset.yaml", result) == (
        "m/ruleset.yaml:1:1: error: so it is[2J (mend it)\n"
    )
    (one,) = json.loads(proofread_sarif("m/ruleset.yaml", result))["runs"][0]["results"]
    where = {"artifactLocation": {"uri": "m/ruleset.yaml"}}
    assert one["locations"] == [{"physicalLocation": where}]


def test_sarif_tells_what_found_each_problem(folder: Path, tmp_path: Path) -> None:
    output = tmp_path / "found.sarif"
    command = ["proofread", str(folder), "--format", "sarif", "--output", str(output)]
    assert cli.main(command) == 1
    first = output.read_bytes()
    assert cli.main(command) == 1
    assert output.read_bytes() == first
    log = json.loads(first)
    check_sarif(log)
    told = [
        (
            one["ruleId"],
            one["level"],
            one["locations"][0]["physicalLocation"]["artifactLocation"]["uri"],
            one["locations"][0]["physicalLocation"]["region"],
            "example" in one.get("properties", {}),
        )
        for one in log["runs"][0]["results"]
    ]

    def region(line: int, column: int, end: int) -> dict[str, int]:
        return {"startLine": line, "startColumn": column, "endColumn": end}

    assert told == [
        ("proof", "warning", "of%20mine/ruleset.yaml", region(16, 16, 21), True),
        ("citation", "warning", "of%20mine/ruleset.yaml", region(17, 47, 58), False),
        ("worked-case", "error", "of%20mine/cases/lift.yaml", region(2, 5, 6), False),
    ]


def test_sarif_of_a_file_that_is_no_yaml(folder: Path, capsys: Any) -> None:
    (folder / "ruleset.yaml").write_text(RULESET.replace("checks:", "checks: {"))
    assert cli.main(["proofread", str(folder), "--format", "sarif"]) == 1
    log = json.loads(capsys.readouterr().out)
    check_sarif(log)
    assert {one["ruleId"] for one in log["runs"][0]["results"]} >= {"ruleset"}


def test_nothing_of_the_ruleset_is_written_over(folder: Path, capsys: Any) -> None:
    before = (folder / "ruleset.yaml").read_bytes()
    target = str(folder / "ruleset.yaml")
    assert cli.main(["proofread", str(folder), "--format", "lines", "--output", target]) == 2
    assert (folder / "ruleset.yaml").read_bytes() == before
    assert "would replace" in capsys.readouterr().err


def check_sarif(log: Any) -> None:
    """What SARIF 2.1.0 demands of what is used of it.

    Source: OASIS, Static Analysis Results Interchange Format 2.1.0, 3.13 (log), 3.14 (run),
    3.19 (tool component), 3.27 (result), 3.29 and 3.30 (places); read from memory.
    """
    assert set(log) == {"$schema", "version", "runs"}
    assert log["version"] == "2.1.0"
    for run in log["runs"]:
        assert set(run) <= {"tool", "columnKind", "results", "properties"}
        assert run["columnKind"] in ("utf16CodeUnits", "unicodeCodePoints")
        driver = run["tool"]["driver"]
        assert driver["name"]
        rules = [rule["id"] for rule in driver["rules"]]
        assert len(set(rules)) == len(rules)
        for result in run["results"]:
            assert set(result) <= {
                "ruleId", "ruleIndex", "kind", "level", "message", "locations", "properties",
            }  # fmt: skip
            assert rules[result["ruleIndex"]] == result["ruleId"]
            assert result["kind"] == "fail"
            assert result["level"] in ("warning", "error")
            assert result["message"]["text"]
            for each in result["locations"]:
                place = each["physicalLocation"]
                assert re.fullmatch(r"[\w./%~-]+", place["artifactLocation"]["uri"], re.A)
                for value in place.get("region", {"startLine": 1}).values():
                    assert isinstance(value, int)
                    assert value >= 1
