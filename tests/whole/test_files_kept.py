"""What is saved never replaces what was read, and never goes out of a ruleset's folder."""

from __future__ import annotations

import os
import signal
import stat
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest
from vellmarch import PLAN, written

from modrules.cli import main

CASES = """\
cases:
  - {case: Low, of: lift-height, source: by hand, expect: complies,
     given: {modifications: [{id: a, kind: lift, height: 20 mm}]}}
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    found = written(tmp_path).rename(tmp_path / "f")
    (found / "cases").mkdir()
    (found / "cases" / "by-hand.yaml").write_text(CASES, encoding="utf-8")
    return found


def _contents(folder: Path) -> dict[str, bytes]:
    return {str(p): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


#: Each command that has --output, and the files that it must not replace (f is the ruleset).
COMMANDS = {
    "screen plan.yaml --ruleset f": ["plan.yaml", "f/ruleset.yaml", "f/texts/code.txt"],
    "screen plan.yaml --ruleset f --beside f2": ["f2/ruleset.yaml"],
    "plates plan.yaml --ruleset f": ["plan.yaml", "f/ruleset.yaml"],
    "letter plan.yaml --ruleset f": ["plan.yaml", "f/ruleset.yaml"],
    "next plan.yaml --ruleset f": ["plan.yaml", "f/ruleset.yaml"],
    "turns plan.yaml --ruleset f": ["plan.yaml", "f/ruleset.yaml"],
    "stages plan.yaml --ruleset f": ["plan.yaml", "f/ruleset.yaml"],
    "limits plan.yaml --ruleset f --vary modifications.lift.height": [
        "plan.yaml",
        "f/ruleset.yaml",
    ],
    "ask --ruleset f": ["f/ruleset.yaml"],
    "proofread f": ["f/ruleset.yaml", "f/texts/code.txt", "f/cases/by-hand.yaml"],
    "proofread f --text code=copy.txt": ["copy.txt"],
    "reference f": ["f/ruleset.yaml", "f/texts/code.txt", "f/cases/by-hand.yaml"],
    "schema f": ["f/ruleset.yaml"],
    "coverage f": ["f/ruleset.yaml", "f/texts/code.txt"],
    "coverage f --text code=copy.txt": ["copy.txt"],
    "progress f": ["f/ruleset.yaml"],
    "compare f f2": ["f/ruleset.yaml", "f2/ruleset.yaml"],
    "compare f f2 --submissions plans": ["plans/one.yaml"],
    "text f/texts/code.txt": ["f/texts/code.txt"],
    "cases f": ["f/ruleset.yaml", "f/texts/code.txt", "f/cases/by-hand.yaml"],
}


@pytest.mark.parametrize("command", COMMANDS)
def test_no_command_replaces_its_inputs(
    command: str, folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Any
) -> None:
    monkeypatch.chdir(tmp_path)
    written(tmp_path).rename(tmp_path / "f2")
    (tmp_path / "copy.txt").write_bytes((folder / "texts" / "code.txt").read_bytes())
    (tmp_path / "plans").mkdir()
    (tmp_path / "plans" / "one.yaml").write_text(PLAN, encoding="utf-8")
    before = _contents(tmp_path)
    for target in COMMANDS[command]:
        assert main([*command.split(), "--output", target]) == 2, target
        assert f"{target}: " in capsys.readouterr().err
    assert _contents(tmp_path) == before


def test_a_shipped_ruleset_is_kept_too(capsys: Any) -> None:
    from modrules.ruleset.find import shipped_folder

    target = shipped_folder() / "orrinmark" / "ruleset.yaml"
    before = target.read_bytes()
    assert main(["reference", "orrinmark", "--output", str(target)]) == 2
    assert "one of its own inputs" in capsys.readouterr().err
    assert target.read_bytes() == before


def test_made_cases_may_be_made_anew(folder: Path) -> None:
    target = folder / "cases" / "limits.yaml"
    assert main(["cases", str(folder), "--output", str(target)]) == 0
    made = target.read_text(encoding="utf-8")
    assert "to be confirmed by hand" in made
    assert main(["cases", str(folder), "--output", str(target)]) == 0
    assert target.read_text(encoding="utf-8") == made


# Links


def test_pins_are_not_written_through_a_link(folder: Path, tmp_path: Path, capsys: Any) -> None:
    precious = tmp_path / "precious"
    precious.write_text("mine", encoding="utf-8")
    (folder / "pins.json").symlink_to(precious)
    for command in ("pin", "pins"):
        assert main([command, str(folder)]) == 2
        assert "pins.json: the pins of a ruleset are never a link" in capsys.readouterr().err
    assert precious.read_text(encoding="utf-8") == "mine"


def test_pins_are_not_written_over_another_file_of_the_ruleset(folder: Path) -> None:
    before = (folder / "ruleset.yaml").read_bytes()
    (folder / "pins.json").symlink_to("ruleset.yaml")
    assert main(["pin", str(folder)]) == 2
    assert (folder / "ruleset.yaml").read_bytes() == before


@pytest.mark.parametrize("within", ["cases", "submissions"])
def test_files_are_not_read_through_a_link(
    within: str, folder: Path, tmp_path: Path, capsys: Any
) -> None:
    secret = tmp_path / "secret"
    secret.write_text("a: [secret words\n", encoding="utf-8")
    (folder / within).mkdir(exist_ok=True)
    (folder / within / "linked.yaml").symlink_to(secret)
    assert main(["proofread", str(folder), "--no-proofs"]) == 1
    said = capsys.readouterr().out
    assert "linked.yaml` leads out of the folder of the ruleset by a link" in said
    assert "secret words" not in said


@pytest.mark.parametrize("within", ["cases", "submissions"])
def test_a_folder_is_not_read_through_a_link(
    within: str, folder: Path, tmp_path: Path, capsys: Any
) -> None:
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "elsewhere" / "one.yaml").write_text("a: [secret words\n", encoding="utf-8")
    if (folder / within).exists():
        (folder / within).rename(tmp_path / "moved")
    (folder / within).symlink_to(tmp_path / "elsewhere")
    assert main(["proofread", str(folder), "--no-proofs"]) == 1
    said = capsys.readouterr().out
    assert f"the folder `{within}` leads out of the folder of the ruleset by a link" in said
    assert "secret words" not in said


def test_a_head_is_not_read_through_a_link(folder: Path, tmp_path: Path, capsys: Any) -> None:
    (tmp_path / "secret").write_text("a: [secret words\n", encoding="utf-8")
    (folder / "ruleset.yaml").unlink()
    (folder / "ruleset.yaml").symlink_to(tmp_path / "secret")
    for command in (["proofread", str(folder)], ["screen", "p.yaml", "--ruleset", str(folder)]):
        assert main(command) in (1, 2)
        said = "".join(capsys.readouterr())
        assert "by a link" in said
        assert "secret words" not in said


def test_compare_names_what_it_left_out(folder: Path, tmp_path: Path, capsys: Any) -> None:
    plans = tmp_path / "plans"
    (plans / "old").mkdir(parents=True)
    (plans / "one.YML").write_text(PLAN, encoding="utf-8")
    (plans / "notes.txt").write_text("notes", encoding="utf-8")
    (tmp_path / "secret").write_text("a: [secret words\n", encoding="utf-8")
    (plans / "linked.yaml").symlink_to(tmp_path / "secret")
    command = ["compare", str(folder), str(folder), "--no-proofs", "--submissions", str(plans)]
    assert main([*command, "--format", "json"]) == 0
    said = capsys.readouterr().out
    assert "secret words" not in said
    for name in ("one.YML", "notes.txt", "old", "linked.yaml"):
        assert f'"name": "{name}"' in said


# What a file is besides its content


def test_form_keeps_the_mode(folder: Path) -> None:
    path = folder / "ruleset.yaml"
    path.write_text(path.read_text(encoding="utf-8").replace("title:", "title:  "), "utf-8")
    path.chmod(0o640)
    before = path.read_bytes()
    assert main(["format", str(folder)]) == 0
    assert path.read_bytes() != before
    assert stat.S_IMODE(path.stat().st_mode) == 0o640


def test_a_file_with_two_names_is_left_whole(folder: Path, tmp_path: Path, capsys: Any) -> None:
    path, other = folder / "ruleset.yaml", tmp_path / "other"
    path.write_text(path.read_text(encoding="utf-8").replace("title:", "title:  "), "utf-8")
    os.link(path, other)
    before = path.read_bytes()
    assert main(["format", str(folder)]) == 2
    assert "2 names (hard links)" in capsys.readouterr().err
    assert path.read_bytes() == before
    assert path.samefile(other)


# Being told to end


def test_told_to_end_while_printing(tmp_path: Path) -> None:
    """The folder with the sheet is gone, and so are the browser and what it started."""
    programs, temporary = tmp_path / "bin", tmp_path / "temporary"
    programs.mkdir()
    temporary.mkdir()
    pids = tmp_path / "pids"
    browser = programs / "chromium"
    browser.write_text(
        f"#!/bin/sh\nsleep 300 &\necho $$ $! > {pids}.part\nmv {pids}.part {pids}\nwait\n"
    )
    browser.chmod(0o755)
    plan = tmp_path / "plan.yaml"
    plan.write_text("modifications: []\n", encoding="utf-8")
    code = "import sys; from modrules.cli import main; sys.exit(main(sys.argv[1:]))"
    arguments = ["screen", str(plan), "--ruleset", "orrinmark", "--format", "pdf"]
    process = subprocess.Popen(
        [sys.executable, "-c", code, *arguments, "--output", str(tmp_path / "sheet.pdf")],
        env={**os.environ, "PATH": f"{programs}:{os.environ['PATH']}", "TMPDIR": str(temporary)},
        stderr=subprocess.PIPE,
    )
    try:
        while not pids.exists():
            assert process.poll() is None
            time.sleep(0.05)
        assert list(temporary.iterdir())
        process.send_signal(signal.SIGTERM)
        _, said = process.communicate()
    finally:
        process.kill()
    assert process.returncode == 128 + signal.SIGTERM
    assert said == b"modrules: stopped\n"
    assert list(temporary.iterdir()) == []
    assert not (tmp_path / "sheet.pdf").exists()
    for pid in map(int, pids.read_text().split()):
        while _runs(pid):  # the kernel takes a moment; a process left behind never ends
            time.sleep(0.05)


def _runs(pid: int) -> bool:
    try:
        state = Path(f"/proc/{pid}/stat").read_text(encoding="utf-8").rpartition(")")[2].split()[0]
    except OSError:
        return False
    return state != "Z"
