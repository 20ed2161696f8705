"""The commands on texts: index, pins, two editions, coverage; and what screening says of pins."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import modrules
from modrules.cli import main
from modrules.ruleset.find import shipped_folder

QUOTE = "up to 4 percent without a plate"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A copy of a shipped ruleset, pinned."""
    copy = tmp_path / "orrinmark"
    shutil.copytree(shipped_folder() / "orrinmark", copy)
    (copy / "pins.json").unlink(missing_ok=True)
    assert main(["pin", str(copy)]) == 0
    return copy


def _text(folder: Path) -> str:
    return (folder / "texts" / "code.md").read_text(encoding="utf-8")


def _other(folder: Path, words: str) -> str:
    path = folder.parent / "other.md"
    path.write_text(words, encoding="utf-8")
    return f"code={path}"


def _run(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str]:
    capsys.readouterr()
    status = main(list(arguments))
    said = capsys.readouterr()
    return status, said.out + said.err


def test_the_pins_hold_for_the_text_that_they_were_made_from(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    status, said = _run(capsys, "pins", str(folder))
    assert status == 0
    assert "changed" not in said


def test_flowing_the_text_anew_is_no_change(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    flowed = _text(folder).replace("\n\n", "\n \n").replace("4 percent", "4\npercent")
    status, _ = _run(capsys, "pins", str(folder), "--text", _other(folder, flowed))
    assert status == 0


def test_a_changed_word_is_shown_and_marks_exactly_its_findings(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    changed = _other(folder, _text(folder).replace(QUOTE, QUOTE.replace("4", "3")))
    status, said = _run(capsys, "pins", str(folder), "--text", changed)
    assert status == 1
    assert "1 changed" in said
    assert "[- 4 -]" in said
    submission = str(folder / "submissions" / "needs-plates.yaml")
    common = ["--ruleset", str(folder), "--on", "2026-11-01", "--text", changed]
    status, said = _run(capsys, "screen", submission, *common, "--format", "json")
    assert status == 1
    for finding in json.loads(said)["findings"]:
        statuses = {c["clause"]: c["status"] for c in finding["citations"]}
        for clause, state in statuses.items():
            assert state == ("changed" if clause == "2.2(1)" else "same"), (clause, state)
    status, said = _run(capsys, "screen", submission, *common)
    assert "rest on changed text" in said
    for kind in ("html", "markdown", "sarif"):
        _, said = _run(capsys, "screen", submission, *common, "--format", kind)
        assert "changed text" in said, kind


def test_a_clause_that_only_moved_keeps_its_citations(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    moved = _text(folder).replace("2.12 ", "2.19 ")
    assert moved != _text(folder)
    status, said = _run(capsys, "pins", str(folder), "--text", _other(folder, moved))
    assert status == 0
    assert "\ncode 2.12(1): MOVED\n" in said


def test_a_clause_that_is_gone(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    gone = "\n".join(line for line in _text(folder).splitlines() if QUOTE not in line)
    status, said = _run(capsys, "pins", str(folder), "--text", _other(folder, gone))
    assert status == 1
    assert "2.2(1)" in said


def test_two_editions_by_their_effect(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    changed = _other(folder, _text(folder).replace(QUOTE, QUOTE.replace("4", "3")))
    before = str(folder / "texts" / "code.md")
    status, said = _run(capsys, "amended", str(folder), "--before", before, "--text", changed)
    assert status == 0
    assert "2.2(1) changed: tyre-diameter-large" in said
    assert "total-lift" not in said
    assert "CHANGED CLAUSES THAT NOTHING CITES" in said


def test_a_clause_set_aside_that_changed_is_told(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    head = folder / "ruleset.yaml"
    cited = 'edition: "2026", file: texts/code.md'
    assert cited in head.read_text()
    aside = f'{cited}, set_aside: [{{clause: "Part 1", reason: No change of a vehicle.}}]'
    head.write_text(head.read_text().replace(cited, aside))
    changed = _other(folder, _text(folder).replace("racing that is never", "racing, if it is not"))
    before = str(folder / "texts" / "code.md")
    _, said = _run(capsys, "amended", str(folder), "--before", before, "--text", changed)
    assert "None: every cited clause is the same." in said
    assert "  - 1.4 changed [set aside: No change of a vehicle.]\n" in said


@pytest.mark.parametrize("kind", ["terminal", "json", "html"])
def test_coverage(kind: str, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    status, said = _run(capsys, "coverage", str(folder), "--format", kind)
    assert status == 0
    assert "2.2(1)" in said
    assert "tyre-diameter-large" in said
    assert "not cited" in said


def test_the_index_is_shown_and_searched(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = str(folder / "texts" / "code.md")
    status, said = _run(capsys, "text", file)
    assert status == 0
    assert "21.1" in said or "20.1" in said
    _, said = _run(capsys, "text", file, "--find", "diameter placard")
    assert "2.2(1)" in said
    _, said = _run(capsys, "text", file, "--clause", "2.2(1)")
    assert QUOTE in " ".join(said.split())
    status, said = _run(capsys, "text", file, "--clause", "99.9")
    assert status == 2
    assert "99.9" in said


def test_pinning_what_is_not_there_writes_nothing(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "pins.json").unlink()
    gone = _other(folder, _text(folder).replace(QUOTE, "something else"))
    status, said = _run(capsys, "pin", str(folder), "--text", gone)
    assert status == 2
    assert "2.2(1)" in said
    assert not (folder / "pins.json").exists()


@pytest.mark.parametrize("content", ["{}", "not json", '{"pins": 99}', "[" * 100_000])
def test_damaged_pins_are_said(
    content: str, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "pins.json").write_text(content, encoding="utf-8")
    status, said = _run(capsys, "pins", str(folder))
    assert status == 2
    assert "pins.json" in said
    assert "Traceback" not in said


def test_text_of_a_clause_tells_what_is_in_doubt_and_how_the_citation_was_taken(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "code.txt"
    path.write_text("1 Wheels\n\n1.2 A wheel turns. It is round.\n", encoding="utf-8")
    assert main(["text", str(path), "--clause", "cl. 1.2, second sentence"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "NOTE sentences are not told apart: not sentence 2 alone" in said
    assert "the index is in doubt here: 1.2 comes after 1 (1.2, line 3)" in said


def test_package_runs_as_the_command_does() -> None:
    ran = subprocess.run(
        [sys.executable, "-m", "modrules", "--version"], capture_output=True, text=True, check=False
    )
    assert ran.returncode == 0
    assert modrules.__version__ in ran.stdout + ran.stderr


def test_citation_looked_up_from_the_package(tmp_path: Path) -> None:
    path = tmp_path / "code.txt"
    path.write_text("1 Wheels\n\n1.1 A wheel:\n(a) turns; and\n(b) rolls.\n", encoding="utf-8")
    found = modrules.resolve(modrules.read_text(path, id="code"), "cl. 1.1 b")
    assert isinstance(found, modrules.Excerpt)
    assert (found.status, found.excerpt) == ("found", "A wheel: … (b) rolls.")
