"""Editions, drafts, worked cases as pytest items, and proofreading with and without proofs."""

from __future__ import annotations

import datetime
import os
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest
from loaded import load_ruleset

import modrules
from modrules import cli
from modrules.author_commands import load
from modrules.problems import ModrulesError
from modrules.proofs import proofread
from modrules.proofs.draft import draft
from modrules.proofs.editions import changed_quantities, differences
from modrules.proofs.effects import effects
from modrules.ruleset.find import find_ruleset
from modrules.ruleset.words import OUTCOMES

MARROWDALE = """\
ruleset: marrowdale
title: Marrowdale
edition: "{edition}"
in_force: {{from: 2026-01-01}}
builds_on: {{ruleset: trade, edition: "1"}}
texts: [{{id: code, title: Code, edition: "1"}}]
quantities:
  - {{id: vehicle.twice, title: Twice, unit: mm, formula: {factor} * vehicle.wheelbase, source: x}}
checks:
  - id: lift
    title: Lift
    about: suspension
    per: suspension
    measures: suspension.ride_height_change
    bands:
      - {{up_to: {limit} mm, outcome: complies}}
      - {{over: {limit} mm, outcome: not permitted}}
    cites: {{text: code, clause: "1"}}
  - id: long
    title: Length
    about: vehicle
    per: vehicle
    requires: vehicle.twice <= 8 m
{exemption}    cites: {{text: code, clause: "2"}}
"""
EXEMPTION = """\
    exempt_if:
      - {condition: vehicle.off_road_features, cites: {text: code, clause: "3"}}
"""
CASES = """\
cases:
  - case: a lift on the limit
    of: lift
    source: "1"
    given: {modifications: [{id: m, kind: suspension, ride_height_change: 50 mm}]}
    expect: complies
  - case: a lift over it
    of: lift
    source: "1"
    given: {modifications: [{id: m, kind: suspension, ride_height_change: 51 mm}]}
    expect: %s
"""


def written(folder: Path, edition: str, limit: int, exemption: str, factor: int = 2) -> Path:
    folder.mkdir(parents=True)
    text = MARROWDALE.format(edition=edition, limit=limit, exemption=exemption, factor=factor)
    (folder / "ruleset.yaml").write_text(text, encoding="utf-8")
    return folder


# Editions


def test_the_difference_in_words_and_by_effect(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    old = written(tmp_path / "old", "1", 50, "")
    new = written(tmp_path / "new", "2", 75, EXEMPTION, factor=3)
    before, now = load(str(old)).ruleset, load(str(new)).ruleset
    found = [(each.id, each.change) for each in differences(before, now)]
    assert ("lift", "limit of the band complies from up_to 50 mm to up_to 75 mm") in found
    assert ("lift", "limit of the band not permitted from over 50 mm to over 75 mm") in found
    assert ("long", "new exemption: vehicle.off_road_features") in found
    assert ("vehicle.twice", "limit in the formula from 2 to 3") in found
    assert len(found) == 4
    assert changed_quantities(before, now) == {"vehicle.twice": ["long"]}
    assert [each.change for each in differences(now, before)][2] == (
        "exemption withdrawn: vehicle.off_road_features"
    )

    folder = tmp_path / "submissions"
    folder.mkdir()
    lift = "modifications: [{id: m, kind: suspension, ride_height_change: %s mm}]\n"
    vehicle = "vehicle: {wheelbase: 2600 mm, off_road_features: no}\n"
    for name, height in (("low", 40), ("high", 60)):
        text = f"submission: {name}\n{vehicle}{lift % height}"
        (folder / f"{name}.yaml").write_text(text, encoding="utf-8")
    (folder / "odd.yaml").write_text("submission: odd\nwheels: 4\n", encoding="utf-8")
    seen = effects(before, now, folder, datetime.date(2026, 6, 1))
    assert [(each.name, each.answer_changes) for each in seen.screened] == [
        ("high.yaml", False),
        ("low.yaml", False),
    ] or [each.name for each in seen.screened] == ["high.yaml", "low.yaml"]
    high, low = seen.screened
    assert ("lift", "m", ("not permitted",), ("complies",)) in high.findings
    assert high.before == {"best": "not permitted", "worst": "not permitted"}
    assert ("lift", "m", ("complies",), ("complies",)) not in low.findings
    assert [name for name, _ in seen.left_out] == ["odd.yaml"]

    arguments = ["compare", str(old), str(new), "--submissions", str(folder)]
    assert cli.main(arguments) == 0
    said = capsys.readouterr().out
    assert "limit of the band complies from up_to 50 mm to up_to 75 mm" in said
    assert "checks that rest on it: long" in said
    assert "lift, m: from not permitted to complies" in said
    assert "odd.yaml: not screened by both" in said
    assert all(len(line) <= 79 for line in said.splitlines())


def test_an_edition_does_not_differ_from_itself() -> None:
    ruleset = load("quillander").ruleset
    assert differences(ruleset, ruleset) == []


def test_editions_that_ship_differ_where_their_files_say_so() -> None:
    folder = find_ruleset("quillander")
    found = differences(load(str(folder / "2022")).ruleset, load(str(folder)).ruleset)
    changes = {(each.id, each.change) for each in found}
    assert ("tyre-age", "check withdrawn") in changes
    assert ("points", "new check") in changes


# From text to ruleset


@cache
def code() -> Path:
    return find_ruleset("orrinmark") / "texts" / "code.md"


def test_a_draft_loads_and_leaves_every_outcome_possible(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "fernholt"
    begun = ["draft", str(code()), "--id", "fernholt", "--output", str(folder)]
    assert cli.main([*begun, "--from", "2026-01-01"]) == 0
    said = capsys.readouterr().out
    assert "read like requirements" in said
    result = modrules.proofread(folder)
    assert [str(problem) for problem in result.problems] == []
    ruleset = modrules.load_ruleset(folder, on=datetime.date(2026, 6, 1))
    assert len(ruleset.flat.checks) > 100
    report = modrules.screen({"modifications": []}, ruleset, on=datetime.date(2026, 6, 1))
    assert {finding.possible for finding in report.findings} == {tuple(OUTCOMES)}
    citations = [c for check in ruleset.flat.checks.values() for c in check.cites]
    assert sum(citation.quote is not None for citation in citations) > 0.9 * len(citations)
    larger = ruleset.flat.checks["clause-2-2-1"]
    assert str(larger.title) == "Tyres larger than the placard"
    assert "where these stand: 4 percent" in (folder / "checks.yaml").read_text()
    # What is there already is never written over.
    assert cli.main(begun) == 2
    assert "there is something here already" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("text", "id", "said"),
    [
        ("1 Purpose\n\nThis is a code.\n", "ferndale", "no clause"),
        ("1 Lift\n\nA lift must not exceed 50 mm.\n", "Fern Dale", "can't be the id"),
    ],
)
def test_no_draft_from_nothing(text: str, id: str, said: str, tmp_path: Path) -> None:
    file = tmp_path / "text.md"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(ModrulesError, match=said):
        draft(file, id=id, folder=tmp_path / "new")
    assert not (tmp_path / "new").exists()


def test_a_clause_with_quotation_marks_and_a_quantity(tmp_path: Path) -> None:
    file = tmp_path / "text.md"
    text = '# 1 Lift\n\n1.1 A "lift" of 50 mm: the wheels stay where\nthey are, 7 % aside.\n'
    file.write_text(text, encoding="utf-8")
    result = draft(file, id="ferndale", folder=tmp_path / "new")
    assert [each.numbers for each in result.drafted] == [("50 mm", "7 %")]
    assert modrules.proofread(tmp_path / "new").clean


# Worked cases as pytest items


def items(folder: Path) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "pytest", "-p", "modrules.proofs.pytest_plugin"]
    options = ["-p", "no:cacheprovider", "-v", "--rootdir", str(folder)]
    # Named above; where the library is installed, it would also be found by its entry point.
    alone = {**os.environ, "PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1"}
    return subprocess.run(
        [*command, *options, str(folder)],
        capture_output=True,
        text=True,
        check=False,
        cwd=folder,
        env=alone,
    )


def test_worked_cases_are_pytest_items(tmp_path: Path) -> None:
    folder = written(tmp_path / "marrowdale", "1", 50, "")
    (folder / "cases").mkdir()
    (folder / "cases" / "good.yaml").write_text(CASES % "not permitted", encoding="utf-8")
    (folder / "elsewhere").mkdir()
    (folder / "elsewhere" / "other.yaml").write_text("cases: []\n", encoding="utf-8")
    (folder / "cases" / "bad.yaml").write_text(CASES % "caution", encoding="utf-8")
    (folder / "cases" / "ugly.yaml").write_text("cases: [{case: x}]\n", encoding="utf-8")
    bad = items(folder)
    assert bad.returncode == 1
    assert "good.yaml::a lift over it PASSED" in bad.stdout
    assert "2 failed, 3 passed" in bad.stdout
    assert (
        'the case "a lift over it" of "lift" comes to not permitted, not to caution' in bad.stdout
    )
    assert "this case has no given" in bad.stdout
    assert "Traceback" not in bad.stdout


# Cases at the limits


def test_confirmed_cases_are_not_written_over(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = written(tmp_path / "marrowdale", "1", 50, "")
    file = tmp_path / "lift.yaml"
    command = ["cases", str(folder), "--check", "lift", "--output", str(file)]
    assert cli.main(command) == 0
    made = file.read_text()
    # What nobody has confirmed may be made anew.
    assert cli.main(command) == 0
    assert file.read_text() == made
    confirmed = made.replace("made at the limit; to be confirmed by hand", '"2.1"', 1)
    for kept, said in ((confirmed, "1 worked case confirmed"), ("a: b\n", "other things")):
        file.write_text(kept)
        capsys.readouterr()
        assert cli.main(command) == 2
        assert said in capsys.readouterr().err
        assert file.read_text() == kept


# Proofreading


def test_proofs_are_left_out_only_with_a_word_about_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = written(tmp_path / "marrowdale", "1", 50, EXEMPTION)
    text = (folder / "ruleset.yaml").read_text(encoding="utf-8")
    gap = text.replace("over: 50 mm", "over: 52 mm")
    (folder / "ruleset.yaml").write_text(gap, encoding="utf-8")
    assert cli.main(["proofread", str(folder)]) == 1
    said = capsys.readouterr().out
    assert 'the bands of "lift" have a gap: no band covers what lies from ' in said
    assert "ruleset.yaml:17:16: " in said
    assert "ride_height_change: 52 mm" in " ".join(said.split())
    assert "# lift comes to: every outcome" in said
    result = modrules.proofread(folder)
    assert result.proofs is not None
    assert [each.kind for each in result.proofs.found] == ["gap"]
    assert cli.main(["proofread", str(folder), "--no-proofs"]) == 0
    assert "proofs were not run: left out as asked" in capsys.readouterr().out
    monkeypatch.setattr(proofread, "available", lambda: False)
    assert cli.main(["proofread", str(folder)]) == 0
    assert "proofs were not run: install modrules[proofs]" in capsys.readouterr().out


def test_what_the_budget_does_not_reach_is_not_proved_and_never_clean() -> None:
    from modrules.proofs.proving import prove

    proofs = prove(load_ruleset("quillander"), only=["whole-travel"], budget=50)
    assert proofs.not_proved
    assert any("the budget is used up" in str(each) for each in proofs.not_proved)
    assert proofs.share_not_proved > 0


def test_a_name_that_is_not_found_proves_nothing_while_a_file_can_not_be_read(
    tmp_path: Path,
) -> None:
    folder = written(tmp_path / "marrowdale", "1", 50, "")
    head = folder / "ruleset.yaml"
    text = head.read_text(encoding="utf-8").replace("vehicle.twice <=", "vehicle.thrice <=")
    head.write_text(text + "files: [more.yaml]\n", encoding="utf-8")
    thrice = "{id: vehicle.thrice, title: T, unit: mm, formula: 3 * vehicle.wheelbase, source: x}"
    listed = f"quantities: [{thrice}]\n"
    (folder / "more.yaml").write_text(listed + listed, encoding="utf-8")
    found = modrules.proofread(folder)
    assert [each.message for each in found.problems] == [
        "the key `quantities` is here a second time"
    ]
    assert "names and expressions were not looked at: a part could not be read" in found.summary
    (folder / "more.yaml").write_text(listed, encoding="utf-8")
    assert not [each for each in modrules.proofread(folder).problems if each.level == "error"]
    head.write_text(text, encoding="utf-8")
    messages = [each.message for each in modrules.proofread(folder).problems]
    assert 'there is no fact or quantity "vehicle.thrice"' in messages


@pytest.mark.parametrize(
    ("measures", "message"),
    [
        ("    measures: suspension.lift\n", 'there is no fact or quantity "suspension.lift"'),
        ("", "this band has an end, and the check `lift` has no `measures`"),
    ],
)
def test_what_is_measured_is_blamed_and_not_the_ends_of_the_bands_too(
    measures: str, message: str, tmp_path: Path
) -> None:
    folder = written(tmp_path / "marrowdale", "1", 50, "")
    head = folder / "ruleset.yaml"
    text = head.read_text(encoding="utf-8")
    wrong = text.replace("    measures: suspension.ride_height_change\n", measures)
    head.write_text(wrong, encoding="utf-8")
    messages = {each.message for each in modrules.proofread(folder).problems}
    assert messages == {message}


def test_clauses_cited_about_which_the_index_is_in_doubt_are_told(
    capsys: pytest.CaptureFixture[str],
) -> None:
    extract = Path(__file__).parents[2] / "rulesets" / "orrinmark" / "2023"
    assert cli.main(["proofread", str(extract), "--no-proofs"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "clauses cited about which the index is in doubt" in said
    assert "code 6.3: the index is in doubt here: 6.3 comes after 3.6" in said
    assert cli.main(["proofread", str(extract.parent), "--no-proofs"]) == 0
    assert "in doubt" not in capsys.readouterr().out
