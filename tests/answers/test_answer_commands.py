"""The commands on the shipped rulesets: what they show, save and say by their status."""

from __future__ import annotations

import io
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from loaded import load_ruleset
from small_rulesets import VOCABULARY, check

import modrules
from modrules import cli

ROOT = Path(__file__).parents[2]
SUBMISSIONS = ROOT / "rulesets" / "orrinmark" / "submissions"
ON = "2026-11-01"

Run = Callable[..., tuple[int, str, str]]


@pytest.fixture(autouse=True)
def _loaded_once(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(modrules, "load_ruleset", load_ruleset)


@pytest.fixture
def run(capsys: Any, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Run:
    def call(*arguments: str, typed: str = "") -> tuple[int, str, str]:
        monkeypatch.setattr("sys.stdin", io.StringIO(typed))
        status = cli.main(list(arguments))
        said = capsys.readouterr()
        if "json" not in arguments and status != cli.UNUSABLE:  # a path may be as long as it is
            shown = (said.out + said.err).replace(str(tmp_path), "")
            assert max(map(len, shown.splitlines()), default=0) <= 79
        return status, said.out, said.err

    return call


def on_orrinmark(command: str, name: str, *more: str) -> list[str]:
    path = str(SUBMISSIONS / f"{name}.yaml")
    return [command, path, "--ruleset", "orrinmark", "--on", ON, *more]


LIFT = ("--vary", "modifications.lift.ride_height_change")


def test_limits_for_the_screen_and_for_programs(run: Run) -> None:
    status, text, _ = run(*on_orrinmark("limits", "needs-plates", *LIFT))
    assert status == 0
    assert "over 107 up to 400 mm                 not permitted" in text
    status, text, _ = run(*on_orrinmark("limits", "needs-plates", *LIFT, "--format", "json"))
    found = json.loads(text)
    assert (status, found["edges"][0]["from"]["value"]) == (0, 107)
    (setting,) = found["edges"][0]["set_by"]
    assert setting["check"] == "total-lift"
    assert setting["citations"][0]["clause"] == "3.1(1)"


def test_limits_of_nothing_is_no_use(run: Run) -> None:
    status, text, said = run(*on_orrinmark("limits", "needs-plates", "--vary", "vehicle.kerbmass"))
    assert (status, text) == (2, "")
    assert 'did you mean "vehicle.kerb_mass"?' in said


def test_limits_are_saved(run: Run, tmp_path: Path) -> None:
    target = tmp_path / "limits.txt"
    _, shown, _ = run(*on_orrinmark("limits", "needs-plates", *LIFT))
    status, text, _ = run(*on_orrinmark("limits", "needs-plates", *LIFT, "--output", str(target)))
    assert (status, text) == (0, "")
    assert target.read_text() == shown


def test_next(run: Run) -> None:
    status, text, _ = run(*on_orrinmark("next", "incomplete"))
    assert status == 0
    assert "MISSING, THE MOST TELLING FIRST" in text
    assert "GIVEN, BUT NOT PRECISELY ENOUGH" in text
    status, text, _ = run(*on_orrinmark("next", "incomplete", "--format", "json"))
    facts = json.loads(text)["next"]
    assert {fact["fact"] for fact in facts if fact["given"]} >= {"modifications.tank.capacity"}


# -- the questionnaire --------------------------------------------------------------------


@pytest.fixture
def small(tmp_path: Path) -> str:
    """A ruleset of two checks, in a folder."""
    folder = tmp_path / "small"
    folder.mkdir()
    checks = [
        check("high", "requires: lift.height <= 50 mm", per="lift", about="lift"),
        check("tow", "requires: not vehicle.towed or vehicle.a <= 30 mm"),
    ]
    (folder / "ruleset.yaml").write_text(VOCABULARY + "".join(checks), encoding="utf-8")
    return str(folder)


def test_ask_to_the_end_and_screen_it(run: Run, small: str, tmp_path: Path) -> None:
    target = tmp_path / "mine.yaml"
    typed = "lift\n40 mm\nno\n"
    status, text, said = run("ask", "--ruleset", small, "--output", str(target), typed=typed)
    assert (status, text) == (0, "")
    assert "The answer so far: complies." in said
    assert modrules.screen(target, modrules.load_ruleset(small)).answer["worst"] == "complies"
    assert [p.name for p in tmp_path.iterdir() if p.suffix == ".part"] == []


def test_ask_stops_and_goes_on(run: Run, small: str, tmp_path: Path) -> None:
    target = tmp_path / "mine.yaml"
    run("ask", "--ruleset", small, "--output", str(target), typed="lift\n\nstop\n")
    first = modrules.read_submission(target)
    assert set(first.tree) == {"modifications"}
    options = ("--from", str(target), "--output", str(target))
    status, _, said = run("ask", "--ruleset", small, *options, typed="40 mm\n")
    assert status == 0
    assert "How high is the lift?" in said
    assert "What was changed" not in said
    status, text, said = run("ask", "--ruleset", small, "--from", str(target), typed="no\n")
    assert "How high is the lift?" not in said
    assert "towed: 'no'" in text


def test_ask_replaces_no_file_that_it_did_not_begin_with(
    run: Run, small: str, tmp_path: Path
) -> None:
    target = tmp_path / "mine.yaml"
    target.write_text("modifications: []  # precious\n")
    status, _, said = run("ask", "--ruleset", small, "--output", str(target), typed="lift\n")
    assert status == 2
    assert "there is a file of that name already" in said
    assert "precious" in target.read_text()


def test_ask_says_what_is_wrong_and_asks_again(run: Run, small: str) -> None:
    typed = "nothing\nlift\n900 mm\n40 mm\nno\n"
    status, text, said = run("ask", "--ruleset", small, typed=typed)
    assert status == 0
    assert "is no kind of modification" in said
    assert "it lies from 0 mm to 200 mm" in said
    assert "height: 40 mm" in text


def test_what_is_skipped_is_not_asked_again(run: Run, small: str) -> None:
    _, text, said = run("ask", "--ruleset", small, typed="none\n\n\n\n\n")
    assert text == "modifications: []\n"
    assert said.count("Does it tow?") == 1
    assert said.count("How long is the first?") == 1
    assert "open" in said


# -- turns, side by side, stages, verify ----------------------------------------------------


def test_turns(run: Run) -> None:
    status, text, _ = run(*on_orrinmark("turns", "needs-plates"))
    assert status == 0
    assert "27 mm or less (13 mm less): complies" in " ".join(text.split())
    status, text, _ = run(*on_orrinmark("turns", "needs-plates", "--format", "json"))
    assert {f["check"] for f in json.loads(text)["findings"]} >= {"total-lift", "fuel-capacity"}


def test_beside_a_submission_and_a_ruleset(run: Run) -> None:
    other = str(SUBMISSIONS / "not-permitted.yaml")
    status, text, _ = run(*on_orrinmark("screen", "needs-plates", "--beside", other))
    assert status == 0
    assert "RIGHT          Show build of an Ulvenna Thornwick" in text
    places = on_orrinmark("screen", "needs-plates", "--beside", "quillander", "--format", "json")
    status, text, _ = run(*places)
    assert (status, json.loads(text)["differ"]) == (0, "ruleset")
    sheet = on_orrinmark("screen", "needs-plates", "--beside", other, "--format", "html")
    status, _, said = run(*sheet)
    assert status == 2
    assert "side by side" in said


def test_stages(run: Run) -> None:
    status, text, _ = run(*on_orrinmark("stages", "needs-plates", "--order", "covers,winch"))
    assert status == 0
    assert "1. CANVAS COVERS, FRONT SEATS (COVERS)" in text
    status, _, said = run(*on_orrinmark("stages", "needs-plates", "--order", "wench"))
    assert status == 2
    assert 'did you mean "winch"?' in said


def test_verify(run: Run, tmp_path: Path) -> None:
    report = str(tmp_path / "filed.json")
    run(*on_orrinmark("screen", "needs-plates", "--format", "json", "--output", report))
    same = str(SUBMISSIONS / "needs-plates.yaml")
    status, text, _ = run("verify", report, same, "--ruleset", "orrinmark")
    assert (status, text[:15]) == (0, "The same bytes,")
    other = str(SUBMISSIONS / "compliant.yaml")
    status, text, _ = run("verify", report, other, "--ruleset", "orrinmark")
    assert status == 1
    assert "NOT THE SAME" in text
    status, _, said = run("verify", same, same, "--ruleset", "orrinmark")
    assert status == 2
    assert "this is no report in JSON" in said
