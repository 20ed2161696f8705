"""The command line by itself: what it asks the library for, what it does with the answer.

The library is replaced by a stand-in, so that every answer and failure can be brought about.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from datetime import date
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
import report_samples

import modrules
from modrules import cli
from modrules.problems import ModrulesError, Place, Problem


class Library:
    """Stands in for the engine: remembers what it was asked, answers what it was told."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.report = report_samples.full()
        self.asked: list[Any] = []
        self.fail: dict[str, Exception] = {}
        self.proof = SimpleNamespace(
            problems=(), cases_run=0, cases_failed=(), summary=[], examples={}
        )
        for name in ("load_ruleset", "screen", "proofread"):
            monkeypatch.setattr(modrules, name, getattr(self, name), raising=False)

    def load_ruleset(self, name: str, *, on: date | None = None, cache: bool = True) -> str:
        self.asked.append(("load", name, on, cache))
        if name in self.fail:
            raise self.fail[name]
        return f"<{name}>"

    def screen(self, submission: Any, rulesets: Any, *, texts: Any, on: Any) -> Any:
        self.asked.append(("screen", submission, rulesets, texts, on))
        if "screen" in self.fail:
            raise self.fail["screen"]
        return SimpleNamespace(to_dict=lambda: self.report)

    def proofread(self, name: str, *, texts: Any) -> Any:
        self.asked.append(("proofread", name, texts))
        if "proofread" in self.fail:
            raise self.fail["proofread"]
        return self.proof


@pytest.fixture
def library(monkeypatch: pytest.MonkeyPatch) -> Library:
    return Library(monkeypatch)


def screen(*more: str) -> int:
    return cli.main(["screen", "build.yaml", "--ruleset", "orrinmark", *more])


def test_screen_passes_on_what_it_was_given(library: Library) -> None:
    more = ["--ruleset", "velmere", "--text", "code=a=b.md", "--on", "2026-11-01"]
    cli.main(["screen", "build.yaml", "--ruleset", "orrinmark", *more])
    on = date(2026, 11, 1)
    assert library.asked == [
        ("load", "orrinmark", on, True),
        ("load", "velmere", on, True),
        ("screen", Path("build.yaml"), ["<orrinmark>", "<velmere>"], {"code": Path("a=b.md")}, on),
    ]


@pytest.mark.parametrize(
    ("best", "worst", "status"),
    [("complies", "caution", 0), ("inspect", "not permitted", 1), ("complies", "inspect", 3)],
)
def test_exit_status(library: Library, best: str, worst: str, status: int) -> None:
    library.report["answer"] = {"best": best, "worst": worst}
    assert screen() == status
    assert screen("--format", "json") == status


def test_screen_and_plates_show_their_page(library: Library, capsys: Any) -> None:
    screen()
    assert capsys.readouterr().out.startswith("SCREENING ")
    cli.main(["plates", "build.yaml", "--ruleset", "orrinmark"])
    assert capsys.readouterr().out.startswith("PLATES FOR ")
    screen("--format", "json")
    assert json.loads(capsys.readouterr().out) == library.report


@pytest.mark.parametrize(
    ("name", "start"),
    [("html", "<!DOCTYPE html>"), ("markdown", "# Desk screening"), ("sarif", '{\n  "$schema"')],
)
def test_other_formats(
    library: Library, capsys: Any, tmp_path: Path, name: str, start: str
) -> None:
    build = tmp_path / "a build.yaml"
    build.write_text("submission: x\nmodifications:\n  - id: lift\n")
    arguments = [str(build), "--ruleset", "orrinmark", "--format", name]
    assert cli.main(["screen", *arguments]) == 1
    text = capsys.readouterr().out
    assert text.startswith(start)
    assert len(library.asked) == 2
    if name == "sarif":
        spots = [one["locations"][0] for one in json.loads(text)["runs"][0]["results"]]
        lift = {"startLine": 3, "startColumn": 5}
        assert lift in [one["physicalLocation"].get("region") for one in spots]
        assert spots[0]["physicalLocation"]["artifactLocation"]["uri"].endswith("a%20build.yaml")
    assert cli.main(["plates", *arguments]) == 2


# Saving


def test_output_is_saved_whole(library: Library, tmp_path: Path, capsys: Any) -> None:
    target = tmp_path / "report.json"
    target.write_text("before")
    assert screen("--format", "json", "--output", str(target)) == 1
    assert json.loads(target.read_text()) == library.report
    assert os.listdir(tmp_path) == ["report.json"]
    said = capsys.readouterr()
    assert said.out == ""
    assert "saved" in said.err
    assert "not permitted" in said.err


@pytest.mark.usefixtures("library")
def test_output_follows_a_link_to_its_file(tmp_path: Path) -> None:
    (tmp_path / "real.txt").write_text("before")
    (tmp_path / "link.txt").symlink_to("real.txt")
    screen("--output", str(tmp_path / "link.txt"))
    assert (tmp_path / "link.txt").is_symlink()
    assert (tmp_path / "real.txt").read_text(encoding="utf-8").startswith("SCREENING")


def test_output_refuses_what_is_no_place_for_a_file(
    library: Library, tmp_path: Path, capsys: Any
) -> None:
    for target, words in (
        (tmp_path, "this is a folder"),
        (tmp_path / "none" / "report.txt", "does not exist"),
        (Path("/dev/null"), "no ordinary file"),
        (Path(""), "this is a folder"),
        (tmp_path / ("x" * 300), "no file can be saved here"),
    ):
        assert screen("--output", str(target)) == 2
        assert words in capsys.readouterr().err
    assert library.asked == []
    assert os.listdir(tmp_path) == []


@pytest.mark.usefixtures("library")
def test_output_never_replaces_an_input(tmp_path: Path, capsys: Any) -> None:
    build = tmp_path / "build.yaml"
    build.write_text("submission: x")
    status = cli.main(["screen", str(build), "--ruleset", "o", "--output", str(build)])
    assert status == 2
    assert "one of its own inputs" in capsys.readouterr().err
    assert build.read_text() == "submission: x"
    rules = tmp_path / "mine"
    rules.mkdir()
    (rules / "ruleset.yaml").write_text("ruleset: mine")
    target = str(rules / "ruleset.yaml")
    assert cli.main(["screen", "b.yaml", "--ruleset", str(rules), "--output", target]) == 2
    assert (rules / "ruleset.yaml").read_text() == "ruleset: mine"


@pytest.mark.usefixtures("library")
def test_a_failed_save_leaves_everything_as_it_was(
    tmp_path: Path, capsys: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "report.txt"
    target.write_text("before")

    def full_disk(*_: Any) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", full_disk)
    assert screen("--output", str(target)) == 2
    assert "could not be saved: no space left on device" in capsys.readouterr().err
    assert target.read_text() == "before"
    assert os.listdir(tmp_path) == ["report.txt"]


def test_nothing_is_written_when_the_input_is_unusable(
    library: Library, tmp_path: Path, capsys: Any
) -> None:
    library.fail["screen"] = ModrulesError("no such file")
    target = tmp_path / "report.txt"
    assert screen("--output", str(target)) == 2
    assert not target.exists()
    assert capsys.readouterr().out == ""


# Bad input


def test_all_problems_are_listed_on_the_error_stream(library: Library, capsys: Any) -> None:
    library.fail["orrinmark"] = ModrulesError(
        [
            Problem("second", Place("b.yaml", 2, 1)),
            Problem("the unit is wrong", Place("a.yaml", 3, 7, 9, "mass: 12 mm"), "use kg"),
        ]
    )
    library.fail["velmere"] = ModrulesError("there is no ruleset velmere")
    assert screen("--ruleset", "velmere") == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.split("\n") == [
        "modrules: the input could not be used: 3 problems",
        "there is no ruleset velmere",
        "a.yaml:3:7: the unit is wrong",
        "    mass: 12 mm",
        "          ^^",
        "  use kg",
        "b.yaml:2:1: second",
        "",
    ]


def test_problems_cannot_fake_the_screen(library: Library, capsys: Any) -> None:
    attack = report_samples.ATTACK
    place = Place(f"a{attack}.yaml", 1, 12, 14, f"key: \x1b[1m{attack}")
    library.fail["orrinmark"] = ModrulesError(Problem(f"bad {attack}", place, attack))
    assert screen() == 2
    lines = capsys.readouterr().err.split("\n")
    assert len(lines) == 6
    assert all(line.isprintable() for line in lines)


@pytest.mark.parametrize("day", ["2026-02-30", "tomorrow", "20261101", "2026-W01-1", ""])
def test_a_date_must_be_a_real_date(library: Library, capsys: Any, day: str) -> None:
    assert screen("--on", day) == 2
    assert f"--on {day} is no date".replace("  ", " ") in " ".join(capsys.readouterr().err.split())
    assert library.asked == []


@pytest.mark.usefixtures("library")
def test_everything_wrong_with_the_arguments_is_said_at_once(tmp_path: Path, capsys: Any) -> None:
    more = ["--on", "x", "--text", "code", "--text", "=f", "--text", "a=b", "--text", "a=c"]
    assert screen(*more, "--ruleset", "orrinmark", "--output", str(tmp_path)) == 2
    said = capsys.readouterr().err
    assert "6 problems" in said
    for words in (
        "--ruleset orrinmark is given more than once",
        "--text code is not of the form",
        "--text =f is not",
        "--text a is given more than once",
        "this is a folder",
    ):
        assert words in said


@pytest.mark.parametrize(
    "arguments",
    [
        [],
        ["fly"],
        ["screen"],
        ["screen", "a.yaml"],
        ["plates", "a.yaml", "--ruleset"],
        ["screen", "a.yaml", "--ruleset", "o", "--format", "poem"],
        ["screen", "a.yaml", "--ruleset", "o", "extra\x1b[2J"],
        ["screen", "a.yaml", "--rules", "o"],
        ["proofread"],
    ],
)
def test_wrong_usage_is_said_and_ends_with_2(
    library: Library, capsys: Any, arguments: list[str]
) -> None:
    assert cli.main(arguments) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.startswith("usage: modrules")
    assert "\x1b" not in said.err
    assert library.asked == []


def test_an_error_of_the_program_asks_to_be_reported(
    library: Library, capsys: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    library.fail["screen"] = KeyError("wheel\x1b[2J\nspoke")
    assert screen() == 2
    said = capsys.readouterr().err
    assert "please report it" in said
    assert "KeyError" in said
    assert said.count("\n") == 1
    assert "\x1b" not in said
    monkeypatch.setenv("MODRULES_TRACEBACK", "1")
    with pytest.raises(KeyError):
        screen()


def test_recursion_and_system_errors_are_no_traceback(library: Library, capsys: Any) -> None:
    library.fail["screen"] = RecursionError("too deep")
    assert screen() == 2
    assert "RecursionError" in capsys.readouterr().err
    library.fail["screen"] = PermissionError(13, "Permission denied", "build.yaml")
    assert screen() == 2
    assert capsys.readouterr().err == "modrules: build.yaml: Permission denied\n"


def test_a_keyboard_interrupt_stops_quietly(library: Library, capsys: Any) -> None:
    library.fail["screen"] = KeyboardInterrupt()  # type: ignore[assignment]
    assert screen() == 130
    assert capsys.readouterr().err == "modrules: stopped\n"


# Proofreading


def test_proofreading_a_clean_ruleset(library: Library, capsys: Any) -> None:
    library.proof.cases_run = 40
    library.proof.summary = ["52 checks on 80 clauses", "  two of them new"]
    assert cli.main(["proofread", "orrinmark", "--text", "code=c.md"]) == 0
    assert library.asked == [("proofread", "orrinmark", {"code": Path("c.md")})]
    said = capsys.readouterr().out
    assert "RESULT         nothing to mend" in said
    assert "WORKED CASES   40 run, all as expected" in said
    assert "  - 52 checks on 80 clauses\n    - two of them new\n" in said


def test_proofreading_lists_problems_and_failed_cases(library: Library, capsys: Any) -> None:
    wrong = Problem("no such clause", Place("checks.yaml", 4, 3), level="warning")
    failed = Problem("the case gives complies", Place("cases.yaml", 9, 3))
    library.proof = SimpleNamespace(
        problems=(wrong, failed), cases_run=3, cases_failed=(failed,), summary=[], examples={}
    )
    assert cli.main(["proofread", "orrinmark"]) == 1
    said = capsys.readouterr().out
    assert "RESULT         1 error and 1 warning" in said
    assert "3 run, 1 failed" in said
    assert "warning: checks.yaml:4:3: no such clause" in said
    assert said.count("the case gives complies") == 1


def test_proofreading_what_cannot_be_read(library: Library, capsys: Any) -> None:
    library.fail["proofread"] = ModrulesError("there is no such ruleset")
    assert cli.main(["proofread", "nowhere"]) == 2
    assert "there is no such ruleset" in capsys.readouterr().err
    assert cli.main(["proofread", "nowhere", "--text", "x"]) == 2


# As a program


def run(*arguments: str, **options: Any) -> subprocess.CompletedProcess[bytes]:
    root = Path(__file__).parents[2]
    command = [sys.executable, "-m", "modrules.cli", *arguments]
    return subprocess.run(command, cwd=root, capture_output=True, timeout=60, **options)


def test_version_and_help() -> None:
    assert run("--version").stdout.decode().strip() == f"modrules {modrules.__version__}"
    text = run("--help").stdout.decode()
    for words in (
        "screen",
        "plates",
        "proofread",
        "demo",
        "exit status",
        "the licensed certifier decide",
    ):
        assert words in text
    assert max(map(len, text.split("\n"))) <= 80


def test_a_reader_that_stops_early_is_no_error() -> None:
    root = Path(__file__).parents[2]
    read, write = os.pipe()
    os.close(read)
    program = (
        "import sys; from modrules import cli; cli._write(sys.stdout, 'x' * 100000); sys.exit(3)"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], cwd=root, stdout=write, stderr=subprocess.PIPE, timeout=60
    )
    os.close(write)
    assert (done.returncode, done.stderr) == (3, b"")


def test_a_screen_that_shows_little_gets_question_marks() -> None:
    environment = {**os.environ, "PYTHONIOENCODING": "ascii"}
    root = Path(__file__).parents[2]
    program = "import sys; from modrules import cli; cli._write(sys.stdout, '3 ± 1')"
    done = subprocess.run(
        [sys.executable, "-c", program], cwd=root, env=environment, capture_output=True, timeout=60
    )
    assert (done.stdout, done.stderr) == (b"3 ? 1", b"")


def test_asking_for_help_imports_nothing_heavy() -> None:
    root = Path(__file__).parents[2]
    program = (
        "import sys; from modrules import cli; cli.main(['--version']);"
        "print(sorted({'pydantic', 'jsonschema', 'yaml', 'typing_extensions'} & set(sys.modules)))"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], cwd=root, capture_output=True, timeout=60
    )
    assert done.stdout.decode().splitlines()[1:] == ["[]"]
