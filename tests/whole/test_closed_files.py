"""Pipes, devices and closed files: one clear sentence with the place, and no waiting."""

from __future__ import annotations

import json
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from unprivileged import unprivileged
from vellmarch import written

from modrules import kept
from modrules.cli import main


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return written(tmp_path).rename(tmp_path / "f")


#: What a command is given in place of PIPE.
READING = (
    "screen PIPE --ruleset f",
    "screen plan.yaml --ruleset f --text code=PIPE",
    "verify PIPE plan.yaml --ruleset f",
    "text PIPE",
    "amended f --before PIPE --text code=f/texts/code.txt",
    "draft PIPE --id new --output new",
    "format PIPE",
    "ask --from PIPE --ruleset f",
)


@pytest.mark.usefixtures("folder")
@pytest.mark.parametrize("command", READING)
def test_a_pipe_is_not_waited_for(
    command: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Any
) -> None:
    monkeypatch.chdir(tmp_path)
    os.mkfifo("pipe")
    assert main(command.replace("PIPE", "pipe").split()) == 2
    assert "pipe: this is not an ordinary file" in capsys.readouterr().err


@pytest.mark.usefixtures("folder")
@pytest.mark.parametrize("command", READING)
def test_the_standard_input_is_refused_by_its_name(
    command: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Any
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(command.replace("PIPE", "-").split()) == 2
    assert "-: the standard input is not read" in capsys.readouterr().err


@pytest.mark.usefixtures("folder")
def test_the_standard_output_is_refused_by_its_name(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Any
) -> None:
    monkeypatch.chdir(tmp_path)
    for command in ("screen plan.yaml --ruleset f", "text f/texts/code.txt", "reference f"):
        assert main([*command.split(), "--output", "-"]) == 2
        assert "leave --output out" in capsys.readouterr().err
    assert not Path("-").exists()


def test_a_device_without_end_is_not_read(folder: Path, tmp_path: Path, capsys: Any) -> None:
    plan = str(tmp_path / "plan.yaml")
    assert main(["verify", "/dev/zero", plan, "--ruleset", str(folder)]) == 2
    assert "/dev/zero: this is not an ordinary file" in capsys.readouterr().err


def test_a_pipe_among_what_is_kept_is_passed_over(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    cache = tmp_path / "cache"
    monkeypatch.setenv("MODRULES_CACHE", str(cache))
    command = ["screen", str(tmp_path / "plan.yaml"), "--ruleset", str(folder)]
    status = main(command)
    entries = list(cache.iterdir())
    assert {path.suffix for path in entries} == {".ruleset", ".text"}
    for path in entries:
        path.unlink()
        os.mkfifo(path)
    assert main(command) == status


def test_a_kept_ruleset_made_from_what_is_now_a_pipe(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    cache = tmp_path / "cache"
    monkeypatch.setenv("MODRULES_CACHE", str(cache))
    command = ["screen", str(tmp_path / "plan.yaml"), "--ruleset", str(folder)]
    main(command)
    head = folder / "ruleset.yaml"
    head.rename(folder / "old.yaml")
    os.mkfifo(head)
    assert main(command) == 2


# Closed to the reader


def _text(folder: Path) -> tuple[Path, list[str], int]:
    command = ["screen", str(folder.parent / "plan.yaml"), "--ruleset", str(folder)]
    return folder / "texts" / "code.txt", command, 2


def _texts(folder: Path) -> tuple[Path, list[str], int]:
    command = ["screen", str(folder.parent / "plan.yaml"), "--ruleset", str(folder)]
    return folder / "texts", command, 2


def _submissions(folder: Path) -> tuple[Path, list[str], int]:
    plans = folder.parent / "plans"
    plans.mkdir()
    command = ["compare", str(folder), str(folder), "--no-proofs", "--submissions", str(plans)]
    return plans, command, 2


def _own_submissions(folder: Path) -> tuple[Path, list[str], int]:
    (folder / "submissions").mkdir()
    return folder / "submissions", ["proofread", str(folder), "--no-proofs"], 1


def _cases(folder: Path) -> tuple[Path, list[str], int]:
    (folder / "cases").mkdir()
    return folder / "cases", ["proofread", str(folder), "--no-proofs"], 1


def _pins(folder: Path) -> tuple[Path, list[str], int]:
    assert main(["pin", str(folder)]) == 0
    return folder / "pins.json", ["pins", str(folder)], 2


@pytest.mark.parametrize("made", [_text, _texts, _submissions, _own_submissions, _cases, _pins])
def test_closed(
    made: Callable[[Path], tuple[Path, list[str], int]], folder: Path, capsys: Any
) -> None:
    closed, command, status = made(folder)
    main(command)  # imports what the command takes, as long as all is open
    capsys.readouterr()
    mode = closed.stat().st_mode
    closed.chmod(0)
    try:
        with unprivileged(folder.parent):
            assert main(command) == status
    finally:
        closed.chmod(mode)
    said = "".join(capsys.readouterr())
    assert ": the file cannot be " in said or ": the folder cannot be read" in said
    assert "permission denied" in said
    assert str(closed) in said
    assert not said.startswith("modrules: /")


def test_nothing_can_be_saved_is_told_before_the_first_question(
    folder: Path, tmp_path: Path, capsys: Any
) -> None:
    closed = tmp_path / "closed"
    closed.mkdir(mode=0o555)
    with unprivileged(tmp_path):
        assert main(["ask", "--ruleset", str(folder), "--output", str(closed / "plan.yaml")]) == 2
    said = capsys.readouterr().err
    assert "nothing can be saved in the folder" in said
    assert ">" not in said


# What lies beside


def test_cases_and_submissions_of_every_spelling(folder: Path, capsys: Any) -> None:
    case = (
        "{case: C, of: lift-height, source: by hand, expect: complies,\n"
        "   given: {modifications: [{id: a, kind: lift, height: 20 mm}]}}"
    )
    (folder / "cases" / "old").mkdir(parents=True)
    (folder / "cases" / "a.yml").write_text(f"cases: [{case}]\n", encoding="utf-8")
    (folder / "cases" / "b.YAML").write_text(f"cases: [{case}]\n", encoding="utf-8")
    given: dict[str, Any] = {"modifications": [{"id": "a", "kind": "lift", "height": "20 mm"}]}
    listed = {"case": "C", "of": "lift-height", "source": "s", "expect": "complies", "given": given}
    (folder / "cases" / "c.json").write_text(json.dumps({"cases": [listed]}), encoding="utf-8")
    (folder / "cases" / "notes.txt").write_text("notes", encoding="utf-8")
    (folder / "submissions").mkdir()
    (folder / "submissions" / "wrong.yml").write_text("modifications: 3\n", encoding="utf-8")
    assert main(["proofread", str(folder), "--no-proofs"]) == 1
    said = capsys.readouterr().out
    assert "WORKED CASES   3 run" in said
    assert "passed over in cases/, being no YAML or JSON file: notes.txt, old/" in said
    assert 'wrong.yml:1:16: "modifications" is a list' in said


def test_an_edition_is_not_the_ruleset_itself(folder: Path, capsys: Any) -> None:
    head = folder / "ruleset.yaml"
    text = head.read_text(encoding="utf-8")
    for name in (".", "./", "texts/../."):
        head.write_text(f'{text}editions: ["{name}"]\n', encoding="utf-8")
        for command in (["proofread", str(folder)], ["screen", "p.yaml", "--ruleset", str(folder)]):
            assert main(command) in (1, 2)
            said = "".join(capsys.readouterr())
            assert "is the folder of the ruleset itself" in said or ".." in name


def test_what_is_kept_is_read_back(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("MODRULES_CACHE", str(tmp_path / "cache"))
    kept.keep("name.kind", b"body", more=1)
    found = kept.find("name.kind")
    assert found is not None
    assert found[1] == b"body"
