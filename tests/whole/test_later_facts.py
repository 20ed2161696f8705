"""On an earlier day, what only a later edition knows is left out, and every answer says so."""

from __future__ import annotations

import datetime
import json
import pickle
from pathlib import Path
from typing import Any

import pytest

import modrules
from modrules.cli import main

HEAD = """\
ruleset: marrowdale
title: Marrowdale rules
edition: "{0}"
in_force: {{from: {1}}}
builds_on: {{ruleset: trade, edition: "1"}}
texts: [{{id: code, title: The code, edition: "{0}"}}]
checks:
  - id: lift
    title: Lift
    about: suspension
    per: suspension
    requires: suspension.ride_height_change < 50 mm
    cites: {{text: code, clause: "1"}}
"""
FACT = (
    "  - {{id: {0}, title: T, type: length, unit: mm, range: {{from: 0 mm, to: 90 mm}}, "
    "question: Q}}\n"
)
NEW = ("vehicle.hull", "suspension.droop", "modification.shine", "vehicle.sill.left", "axle.bend")
PLAN = """\
vehicle: {hull: 3 mm, sill: {left: 4 mm}}
axles: [{id: front, bend: 1 mm}]
modifications:
  - {id: lift, kind: suspension, ride_height_change: 40 mm, droop: 5 mm, shine: 6 mm}
"""
SAID = (
    "vehicle.hull",
    "vehicle.sill.left",
    "axles.front.bend",
    "modifications.lift.droop",
    "modifications.lift.shine",
)
EARLY, LATE = "2024-05-01", "2026-05-01"


@pytest.fixture
def marrowdale(tmp_path: Path) -> Path:
    folder = tmp_path / "marrowdale"
    (folder / "2023").mkdir(parents=True)
    newer = HEAD.format("2026", "2026-01-01") + "editions: ['2023']\nfacts:\n"
    newer += "".join(map(FACT.format, NEW))
    (folder / "ruleset.yaml").write_text(newer, encoding="utf-8")
    older = HEAD.format("2023", "2023-01-01")
    (folder / "2023" / "ruleset.yaml").write_text(older, encoding="utf-8")
    return folder


def screened(
    folder: Path, plan: str, on: str, capsys: pytest.CaptureFixture[str], *more: str
) -> tuple[int, str, str]:
    path = folder.parent / "plan.yaml"
    path.write_text(plan, encoding="utf-8")
    status = main(["screen", str(path), "--ruleset", str(folder), "--on", on, *more])
    captured = capsys.readouterr()
    return status, captured.out, captured.err


def left_out(report: dict[str, Any]) -> list[str]:
    return [said.split(" ")[0] for said in report["cautions"] if "left out of account" in said]


def test_each_later_fact_is_named_and_changes_nothing(
    marrowdale: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    _, out, _ = screened(marrowdale, PLAN, EARLY, capsys, "--format", "json")
    report = json.loads(out)
    assert left_out(report) == list(SAID)
    assert (
        "vehicle.hull was left out of account: edition 2023 of marrowdale, in force on "
        "2024-05-01, knows no such fact; edition 2026 does."
    ) in report["cautions"]
    plain = "modifications:\n  - {id: lift, kind: suspension, ride_height_change: 40 mm}\n"
    without = json.loads(screened(marrowdale, plain, EARLY, capsys, "--format", "json")[1])
    for key in ("findings", "answer", "missing"):
        assert report[key] == without[key]
    for form in ("terminal", "markdown", "html"):
        said = screened(marrowdale, PLAN, EARLY, capsys, "--format", form)[1]
        assert "vehicle.hull was left out of account" in " ".join(said.split())


def test_in_force_they_are_facts_like_others(
    marrowdale: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    report = json.loads(screened(marrowdale, PLAN, LATE, capsys, "--format", "json")[1])
    assert left_out(report) == []
    assert "vehicle.hull" in {one["fact"] for one in report["measurements"]}


@pytest.mark.parametrize(
    ("plan", "said"),
    [
        (PLAN.replace("hull:", "hul:"), 'there is no fact "hul" of vehicle'),
        (PLAN.replace("{left: 4 mm}", "{left: 4 mm, right: 4 mm}"), 'no fact "sill" of vehicle'),
        (PLAN.replace("{left: 4 mm}", "4 mm"), 'no fact "sill" of vehicle'),
        (PLAN.replace("bend", "hull"), 'there is no fact "hull" of axle'),
    ],
)
def test_what_no_edition_knows_is_refused_as_ever(
    plan: str, said: str, marrowdale: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    status, _, err = screened(marrowdale, plan, EARLY, capsys)
    assert status == 2
    assert said in err


def test_a_kept_or_pickled_ruleset_knows_them_too(marrowdale: Path) -> None:
    day = datetime.date.fromisoformat(EARLY)
    plan = {"modifications": [], "vehicle": {"hull": "3 mm"}}
    first = modrules.load_ruleset(marrowdale, on=day, cache=True)
    kept = modrules.load_ruleset(marrowdale, on=day, cache=True)
    for ruleset in (first, kept, pickle.loads(pickle.dumps(first))):
        report = modrules.screen(plan, ruleset, on=day).to_dict()
        assert left_out(report) == ["vehicle.hull"]
    # Another fact in the later edition is another answer, also of the kept one.
    head = marrowdale / "ruleset.yaml"
    head.write_text(
        head.read_text(encoding="utf-8").replace("vehicle.hull,", "vehicle.keel,"), encoding="utf-8"
    )
    with pytest.raises(modrules.ModrulesError, match='no fact "hull"'):
        modrules.screen(plan, modrules.load_ruleset(marrowdale, on=day, cache=True), on=day)


def test_a_stage_says_it_too(marrowdale: Path) -> None:
    day = datetime.date.fromisoformat(EARLY)
    plan = {
        "vehicle": {"hull": "3 mm"},
        "modifications": [{"id": "lift", "kind": "suspension", "ride_height_change": "40 mm"}],
    }
    found = modrules.stages(plan, modrules.load_ruleset(marrowdale, on=day), on=day)
    for stage in found.stages:
        assert left_out(stage.report.to_dict()) == ["vehicle.hull"]
