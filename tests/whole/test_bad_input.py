"""Bad input through the command line: one clear message each, exit status 2, nothing written."""

from __future__ import annotations

import sys
import textwrap
from collections.abc import Callable
from pathlib import Path

import pytest

from modrules.cli import main

GOOD = """\
submission: A good one
modifications:
  - {id: lift, kind: suspension, ride_height_change: 47 mm}
"""

RULESET = """\
ruleset: small
title: Small
edition: "1"
in_force: {from: 2020-01-01}
builds_on: {ruleset: trade, edition: "1"}
texts: [{id: code, title: The code, edition: "1"}]
checks:
  - id: one
    title: One
    about: suspension
    per: suspension
    requires: REQUIRES
    cites: {text: code, clause: "1"}
"""


def _screen(
    capsys: pytest.CaptureFixture[str], folder: Path, submission: Path | str, *more: str
) -> str:
    """What is said of a bad input; its status is 2, and nothing is written or answered."""
    output = folder / "report.json"
    before = {path: path.stat().st_size for path in folder.rglob("*")}
    arguments = ["screen", str(submission), *(more or ("--ruleset", "orrinmark"))]
    status = main([*arguments, "--format", "json", "--output", str(output)])
    said = capsys.readouterr()
    assert status == 2
    assert said.out == ""
    assert "Traceback" not in said.err
    assert {path: path.stat().st_size for path in folder.rglob("*")} == before
    return said.err


def _file(folder: Path, text: str) -> Path:
    path = folder / "submission.yaml"
    path.write_text(textwrap.dedent(text), encoding="utf-8")
    return path


def _vehicle(line: str) -> str:
    return f"{GOOD}vehicle:\n  {line}\n"


EXPLODING = "a: &a [x, x, x, x]\n" + "".join(
    f"{chr(98 + i)}: &{chr(98 + i)} [{', '.join(['*' + chr(97 + i)] * 9)}]\n" for i in range(20)
)

SUBMISSIONS = {
    "not YAML": ("a: [1, 2\nb: }", ["submission.yaml:"]),
    "not a mapping": ("- a\n- b\n", ["mapping"]),
    "nothing": ("", ["submission.yaml"]),
    "anchors that explode": (EXPLODING, ["anchor"]),
    "10,000 levels": ("a: " + "[" * 10_000 + "]" * 10_000, ["deep"]),
    "duplicate keys": (f"{GOOD}modifications: []\n", ["modifications", ":4:1"]),
    "an unknown key": (GOOD.replace("submission", "submision"), ['"submision"', "submission"]),
    "an unknown fact": (_vehicle("kerb_mas: 2000 kg"), ["kerb_mas", '"kerb_mass"', ":5:3"]),
    "an unknown kind": (GOOD.replace("suspension", "suspention"), ["suspention", '"suspension"']),
    "a unit of the wrong dimension": (_vehicle("kerb_mass: 2000 mm"), ["length", "mass"]),
    "an unknown unit": (_vehicle("kerb_mass: 2000 kgs"), ["kgs", '"kg"']),
    "not a number": (_vehicle("kerb_mass: .nan"), [".nan", "number"]),
    "infinity": (_vehicle("kerb_mass: .inf"), [".inf", "number"]),
    "a negative mass": (_vehicle("kerb_mass: -5 kg"), ["-5 kg", "range"]),
    "a value outside its range": (_vehicle("kerb_mass: 90 t"), ["90 t", "range", "kg"]),
    "an impossible date": (_vehicle("built: 2021-02-30"), ["2021-02-30", "calendar"]),
    "a comma in a number": (_vehicle("kerb_mass: 2,100 kg"), ["comma"]),
    "a word that is none": (_vehicle("drive: sideways"), ["sideways"]),
    "a marking that is none": (
        f"{GOOD}axles:\n  - {{id: front, tyre: {{marking: 255/600R18}}}}\n",
        ["255/600R18", "aspect"],
    ),
    "two modifications with one id": (
        f"{GOOD}  - {{id: lift, kind: tyres}}\n",
        ['"lift"', "submission.yaml:3"],
    ),
    "no modifications said": ("submission: Nothing\n", ["modifications"]),
    "a list that says nothing": (f"{GOOD}lamps:\n", ["lamps", "[]"]),
    "a system both standard and modified": (f"{GOOD}standard: [suspension]\n", ["standard"]),
    "an unknown certification": (
        f"{GOOD}evidence:\n  - {{id: a, certification: runing-gear}}\n",
        ["runing-gear"],
    ),
    "a measured fact that none states": (_vehicle("kerb_mass: none stated"), ["none stated"]),
    "a kind that is a list": (
        GOOD.replace("kind: suspension", "kind: [suspension]"),
        ["each modification has a kind", ":3:"],
    ),
    "a kind that is a mapping": (
        GOOD.replace("kind: suspension", "kind: {a: b}"),
        ["each modification has a kind", ":3:"],
    ),
    "a standard system that is a list": (f"{GOOD}standard: [[brakes]]\n", ["one name", ":4:"]),
    "standard systems as a mapping": (f"{GOOD}standard: {{brakes: yes}}\n", ["one name", ":4:"]),
    "a tolerance that is a list": (
        _vehicle("kerb_mass: {value: 2000 kg, tolerance: [50 kg]}"),
        ["tolerance", "one value", ":5:"],
    ),
    "a tolerance left blank": (
        _vehicle("kerb_mass: {value: 2000 kg, tolerance: }"),
        ["tolerance", "one value", ":5:"],
    ),
    "a tolerance with a tolerance": (
        _vehicle("kerb_mass: {value: 2000 kg, tolerance: 0 kg ± 50 kg}"),
        ["a tolerance has no tolerance", ":5:"],
    ),
}


@pytest.mark.parametrize("name", SUBMISSIONS)
def test_submission(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text, expected = SUBMISSIONS[name]
    path = tmp_path / "submission.yaml"
    path.write_text(text, encoding="utf-8")
    said = _screen(capsys, tmp_path, path)
    for words in expected:
        assert words in said, said


def test_all_problems_are_listed_at_once_in_file_order(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = _file(
        tmp_path,
        """\
        vehicle: {kerb_mass: 5 mm, built: 2021-13}
        submision: typo
        modifications:
          - {id: a, kind: nothing}
          - {id: b, kind: suspension, ride_height_change: tall}
        """,
    )
    said = _screen(capsys, tmp_path, path)
    places = [said.index(words) for words in ("5 mm", "2021-13", "submision", "nothing", "tall")]
    assert places == sorted(places)


def _missing(folder: Path) -> Path:
    return folder / "nowhere.yaml"


def _folder(folder: Path) -> Path:
    path = folder / "folder.yaml"
    path.mkdir()
    return path


def _huge(folder: Path) -> Path:
    path = folder / "huge.yaml"
    with path.open("wb") as file:
        file.truncate(50_000_000)
    return path


def _binary(folder: Path) -> Path:
    path = folder / "binary.yaml"
    path.write_bytes(bytes(range(256)) * 10)
    return path


@pytest.mark.parametrize("make", [_missing, _folder, _huge, _binary])
def test_file(
    make: Callable[[Path], Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = make(tmp_path)
    assert path.name in _screen(capsys, tmp_path, path)


def test_a_text_that_is_binary(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = tmp_path / "code.md"
    text.write_bytes(b"\x00\x01\x02\xff" * 500)
    more = ("--ruleset", "orrinmark", "--text", f"code={text}")
    assert "code.md" in _screen(capsys, tmp_path, _file(tmp_path, GOOD), *more)


def test_a_text_that_no_ruleset_cites(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = tmp_path / "other.md"
    text.write_text("1 Words\n", encoding="utf-8")
    more = ("--ruleset", "orrinmark", "--text", f"other={text}")
    assert '"other"' in _screen(capsys, tmp_path, _file(tmp_path, GOOD), *more)


def test_a_closed_standard_output_is_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    path = _file(tmp_path, GOOD)
    monkeypatch.setattr(sys, "stdout", None)
    assert main(["screen", str(path), "--ruleset", "orrinmark"]) == 2
    assert capsys.readouterr().err.startswith("modrules: the standard output is closed")


def test_without_a_standard_error_the_status_stays_and_the_report_is_saved(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path, output = _file(tmp_path, GOOD), tmp_path / "report.txt"
    monkeypatch.setattr(sys, "stderr", None)
    assert main(["screen", str(path), "--ruleset", "orrinmark", "--output", str(output)]) == 1
    assert "SCREENING" in output.read_text(encoding="utf-8")
    assert main(["screen", str(tmp_path / "nowhere.yaml"), "--ruleset", "orrinmark"]) == 2


def _ruleset(folder: Path, requires: str) -> tuple[str, str]:
    head = RULESET.replace("REQUIRES", requires)
    (folder / "small").mkdir(exist_ok=True)
    (folder / "small" / "ruleset.yaml").write_text(head, encoding="utf-8")
    return "--ruleset", str(folder / "small")


EXPRESSIONS = {
    "10,000 parentheses": ("(" * 10_000 + "1" + ")" * 10_000, ["4000"]),
    "39 parentheses too many": ("(" * 200 + "1" + ")" * 200, ["deep"]),
    "an unknown name": ("suspension.ride_height_chang < 5 mm", ['"suspension.ride_height_change"']),
    "a wrong dimension": ("suspension.ride_height_change < 5 kg", ["length", "mass", "^"]),
    "a missing unit": ("suspension.ride_height_change < 5", ["length", "plain number"]),
    "equality of what is measured": ("suspension.ride_height_change = 5 mm", ["exactly equal"]),
    "an unknown function": ("larges(1, 2) < 3", ['"largest"']),
    "an unknown table": ("look_up(speed_symbols, speed, placard.speed_symbol) > 5 km/h", ["table"]),
    "no condition": ("suspension.ride_height_change", ["yes or no"]),
    "attribute access": ("suspension.__class__.__mro__ = 1", ["no fact"]),
}


@pytest.mark.parametrize("name", EXPRESSIONS)
def test_expression(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    requires, expected = EXPRESSIONS[name]
    more = _ruleset(tmp_path, requires)
    said = _screen(capsys, tmp_path, _file(tmp_path, GOOD), *more)
    assert "ruleset.yaml:12:" in said
    for words in expected:
        assert words in said, said


def test_a_ruleset_that_builds_on_itself(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    more = _ruleset(tmp_path, "yes = yes")
    head = tmp_path / "small" / "ruleset.yaml"
    text = head.read_text(encoding="utf-8")
    itself = text.replace('builds_on: {ruleset: trade, edition: "1"}', "builds_on: {folder: .}")
    head.write_text(itself, encoding="utf-8")
    assert "ruleset.yaml:5" in _screen(capsys, tmp_path, _file(tmp_path, GOOD), *more)


def test_a_ruleset_that_is_nowhere(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    said = _screen(capsys, tmp_path, _file(tmp_path, GOOD), "--ruleset", "orinmark")
    assert '"orrinmark"' in said or "orrinmark" in said


def test_circular_quantities(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    more = _ruleset(tmp_path, "vehicle.a > 1")
    head = tmp_path / "small" / "ruleset.yaml"
    head.write_text(
        head.read_text(encoding="utf-8")
        + "quantities:\n"
        + "  - {id: vehicle.a, title: A, formula: vehicle.b + 1, source: none}\n"
        + "  - {id: vehicle.b, title: B, formula: vehicle.a + 1, source: none}\n",
        encoding="utf-8",
    )
    said = _screen(capsys, tmp_path, _file(tmp_path, GOOD), *more)
    assert "made from itself" in said


@pytest.mark.parametrize("on", ["2026-02-30", "tomorrow", "2026"])
def test_a_date_that_is_none(on: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    more = ("--ruleset", "orrinmark", "--on", on)
    assert on in _screen(capsys, tmp_path, _file(tmp_path, GOOD), *more)
