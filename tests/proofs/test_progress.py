"""From a draft to finished checks: what is told by clause, and what an unfinished check does."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

import modrules
from modrules import cli
from modrules.author_commands import load
from modrules.proofs.draft import requirements
from modrules.proofs.progress import progress
from modrules.ruleset.words import OUTCOMES

TEXT = """\
# Code of lifts

## 1 Words

1.1 The office may publish advice.

## 2 Lifts

2.1 A lift must not exceed 50 mm.

2.2 A lift of more than 30 mm takes a plate:

(a) where it is made by springs;

(b) where it is made by blocks of at most 40 mm.

## 3 Buses

3.1 A bus must not be lifted.
"""
SHIFT = "requires: suspension.ride_height_change <= 50 mm"


@pytest.fixture
def folder(tmp_path: Path, capsys: Any) -> Path:
    (tmp_path / "code.md").write_text(TEXT)
    made = tmp_path / "marrowdale"
    begun = ["draft", str(tmp_path / "code.md"), "--id", "marrowdale", "--output", str(made)]
    assert cli.main([*begun, "--from", "2026-01-01"]) == 0
    capsys.readouterr()
    return made


def edited(folder: Path, file: str, before: str, after: str) -> None:
    text = (folder / file).read_text()
    assert before in text
    (folder / file).write_text(text.replace(before, after, 1))


def states(folder: Path) -> dict[str, tuple[str, tuple[str, ...]]]:
    flat = load(str(folder)).ruleset.flat
    text = modrules.read_text(folder / "texts" / "code.md", id="text")
    return {row.clause: (row.state, row.checks) for row in progress(text, flat)}


def test_a_draft_is_written_in_form(folder: Path) -> None:
    assert cli.main(["format", str(folder), "--check"]) == 0


def test_every_state_of_a_clause(folder: Path, capsys: Any) -> None:
    assert states(folder) == {
        "1.1": ("no demand", ()),
        "2.1": ("unfinished", ("clause-2-1",)),
        "2.2": ("unfinished", ("clause-2-2",)),
        "2.2(a)": ("unfinished", ("clause-2-2",)),
        "2.2(b)": ("unfinished", ("clause-2-2-b",)),
        "3.1": ("unfinished", ("clause-3-1",)),
    }
    first, _, last = (folder / "checks.yaml").read_text().rpartition("\n  # line")
    assert "clause-3-1" in last
    (folder / "checks.yaml").write_text(first)
    assert states(folder)["3.1"] == ("not begun", ())
    edited(folder, "checks.yaml", "unfinished: true", "requires: vehicle.wheelbase > 2 m")
    edited(
        folder,
        "ruleset.yaml",
        "file: texts/code.md",
        'file: texts/code.md, set_aside: [{clause: "3", reason: Buses are none of ours.}]',
    )
    assert states(folder)["2.1"] == ("finished", ("clause-2-1",))
    assert states(folder)["3.1"] == ("set aside", ())
    assert cli.main(["progress", str(folder)]) == 0
    page = capsys.readouterr().out
    assert (
        "CLAUSES        0 not begun, 3 unfinished, 1 finished, 1 set aside, 1 no demand\n" in page
    )
    assert "  set aside   3.1           A bus must not be lifted. [Buses are none of ours.]" in page
    assert cli.main(["progress", str(folder), "--format", "json"]) == 0
    (told,) = json.loads(capsys.readouterr().out)["texts"]
    assert (told["text"]["id"], told["counts"]["set aside"]) == ("text", 1)
    assert told["clauses"][-1] == {
        "clause": "3.1",
        "words": "A bus must not be lifted.",
        "state": "set aside",
        "checks": [],
        "reason": "Buses are none of ours.",
    }


def test_one_unfinished_check_leaves_its_clause_unfinished(folder: Path) -> None:
    text = (folder / "checks.yaml").read_text()
    again = text[text.index("  - id: clause-2-1") : text.index("\n  # line 11")]
    done = again.replace("clause-2-1", "other").replace("unfinished: true", SHIFT)
    done = done.replace("vehicle", "suspension")
    (folder / "checks.yaml").write_text(f"{text.rstrip()}\n\n{done}")
    assert states(folder)["2.1"] == ("unfinished", ("clause-2-1", "other"))


def test_a_clause_that_a_certification_cites_is_finished(folder: Path) -> None:
    cites = 'cites: {text: text, clause: "1.1"}'
    plate = f"certifications: [{{id: plate, title: Plate, kind: plate, {cites}}}]\n"
    head = folder / "ruleset.yaml"
    head.write_text(head.read_text() + plate)
    assert states(folder)["1.1"] == ("finished", ("plate",))
    # An unfinished check on it still counts first.
    edited(folder, "checks.yaml", 'cites: {text: text, clause: "2.1"', cites[:-1])
    assert states(folder)["1.1"] == ("unfinished", ("plate", "clause-2-1"))


def test_a_long_clause_is_cut_at_a_word_and_marked(folder: Path, capsys: Any) -> None:
    long = "A bus must not be lifted" + " or let down" * 20
    edited(folder, "texts/code.md", "A bus must not be lifted", long)
    assert cli.main(["progress", str(folder)]) == 0
    last = " ".join(capsys.readouterr().out.split()).rpartition("3.1 ")[2]
    words, mark, check = last.partition(" … ")
    assert mark
    assert check.startswith("[clause-3-1]")
    assert long.startswith(words + " ")


def test_an_item_demands_what_the_words_that_lead_to_it_demand(tmp_path: Path) -> None:
    (tmp_path / "code.md").write_text(
        "# Code\n\n## 1 Tyres\n\n1.1 Each tyre must\n\n(a) be round; and\n\n(b) hold air.\n\n"
        "1.2 The office may visit\n\n(a) owners; and\n\n(b) workshops.\n"
    )
    text = modrules.read_text(tmp_path / "code.md", id="text")
    drafted = {each.clause: each.quote for each in requirements(text)}
    assert drafted == {"1.1(a)": "be round", "1.1(b)": "hold air"}


def test_a_check_that_is_half_written_decides_nothing(folder: Path, capsys: Any) -> None:
    def possible() -> dict[str, tuple[str, ...]]:
        lift = {"id": "lift", "kind": "suspension", "ride_height_change": "47 mm"}
        report = modrules.screen({"modifications": [lift]}, modrules.load_ruleset(folder))
        return {finding.check: finding.possible for finding in report.findings}

    assert set(possible().values()) == {tuple(OUTCOMES)}
    for mark in ("vehicle\n    per: vehicle", "unfinished: true"):
        new = mark.replace("vehicle", "suspension") + (f"\n    {SHIFT}" if "true" in mark else "")
        edited(folder, "checks.yaml", mark, new)
    # Its requirement is met, and yet nothing is decided while the mark stands.
    assert possible()["clause-2-1"] == tuple(OUTCOMES)
    assert cli.main(["proofread", str(folder), "--no-proofs"]) == 0
    assert "checks not finished: 4, see modrules progress" in capsys.readouterr().out
    edited(folder, "checks.yaml", "    unfinished: true\n", "")
    assert possible()["clause-2-1"] == ("complies",)


def test_outcomes_without_a_case_are_listed_of_finished_checks(folder: Path, capsys: Any) -> None:
    edited(folder, "checks.yaml", "unfinished: true", "requires: vehicle.wheelbase > 2 m")
    given = "given: {vehicle: {wheelbase: 2100 mm}}"
    case = f'cases: [{{case: a, of: clause-2-1, source: "2.1", {given}, expect: complies}}]\n'
    (folder / "cases").mkdir(exist_ok=True)
    (folder / "cases" / "lift.yaml").write_text(case)
    asked = ["proofread", str(folder), "--no-proofs"]
    assert cli.main(asked) == 0
    said = capsys.readouterr().out
    assert "checks not finished: 3" in said
    assert "checks whose every outcome has a case: 0 of 4" in said
    assert "- clause-2-1: no case comes to not permitted, open" in said
    assert "- clause-2-2: no case" not in said
    # Nothing unfinished is complete.
    assert cli.main([*asked, "--complete"]) == 1
    assert 'of "clause-2-2", no case comes to open' in capsys.readouterr().out


def test_an_unfinished_check_is_open_wherever_it_applies(folder: Path) -> None:
    condition = "unfinished: true\n    applies_if: vehicle.off_road_features"
    edited(folder, "checks.yaml", "unfinished: true", condition)
    ruleset = modrules.load_ruleset(folder)
    for said, possible in (("yes", tuple(OUTCOMES)), ("no", ("not applicable",))):
        vehicle = {"off_road_features": said}
        report = modrules.screen({"modifications": [], "vehicle": vehicle}, ruleset)
        found = {finding.check: finding.possible for finding in report.findings}
        assert found["clause-2-1"] == possible
        assert found["clause-2-2"] == tuple(OUTCOMES)


def test_what_stands_beside_the_mark_is_looked_at(folder: Path, capsys: Any) -> None:
    wrong = "unfinished: true\n    requires: vehicle.wheelbase < 50 kg"
    edited(folder, "checks.yaml", "unfinished: true", wrong)
    assert cli.main(["proofread", str(folder), "--no-proofs", "--format", "lines"]) == 1
    assert "checks.yaml:13:15: error: length" in capsys.readouterr().out


def test_what_an_unfinished_check_may_use_is_not_called_unused(folder: Path, capsys: Any) -> None:
    fact = "{id: vehicle.flag, title: Flag, type: yes_no, question: Is there a flag?}"
    edited(folder, "ruleset.yaml", "texts:", f"facts: [{fact}]\ntexts:")
    assert cli.main(["proofread", str(folder)]) == 0
    said = "  - what nothing uses was not looked for, since 4 checks are unfinished\n"
    assert said in capsys.readouterr().out
    text = (folder / "checks.yaml").read_text()
    done = text.replace("unfinished: true", "requires: vehicle.wheelbase > 2 m")
    (folder / "checks.yaml").write_text(done)
    assert cli.main(["proofread", str(folder), "--format", "lines"]) == 1
    assert 'the fact "vehicle.flag" is asked for and never used' in capsys.readouterr().out


def test_a_clause_set_aside_must_be_there(folder: Path, capsys: Any) -> None:
    aside = 'file: texts/code.md, set_aside: [{clause: "9", reason: None of ours.}]'
    edited(folder, "ruleset.yaml", "file: texts/code.md", aside)
    assert cli.main(["proofread", str(folder), "--no-proofs", "--format", "lines"]) == 1
    assert 'there is no clause 9 of text "text" to set aside' in capsys.readouterr().out


def test_progress_without_a_text(folder: Path, capsys: Any) -> None:
    (folder / "texts" / "code.md").unlink()
    assert cli.main(["progress", str(folder)]) == 2
    assert "no text is at hand" in capsys.readouterr().err
