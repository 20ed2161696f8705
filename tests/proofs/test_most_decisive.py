"""Facts without which most of a ruleset may stay open."""

from __future__ import annotations

from pathlib import Path

import little
import pytest

import modrules
from modrules import cli
from modrules.proofs.unused import most_decisive

RULES = ("vehicle.p", "vehicle.p or vehicle.q", "vehicle.n <= 3 and vehicle.p", "vehicle.r")


def said(*checks: str) -> list[str]:
    return [note.message for note in most_decisive(little.load(*checks))]


def test_a_fact_in_more_than_half_of_the_checks_is_named_with_their_number() -> None:
    checks = [little.check(f"c-{n}", rule) for n, rule in enumerate(RULES)]
    assert said(*checks) == ['without "vehicle.p", 3 of 4 checks may stay open']
    # Half of them is not most of them, and two checks are too few to speak of.
    half = [little.check("c-5", "vehicle.q"), little.check("c-6", "vehicle.n <= 3")]
    assert said(*checks, *half) == []
    assert said(*checks[:2]) == []


def test_it_is_a_note_where_the_fact_is_declared_and_no_problem(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    checks = [little.check(f"c-{n}", f"{rule} or vehicle.p") for n, rule in enumerate(RULES)]
    text = little.text(*checks)
    file = tmp_path / "ruleset.yaml"
    file.write_text(text, encoding="utf-8")
    line = 1 + next(n for n, each in enumerate(text.splitlines()) if "vehicle.p" in each)
    message = 'without "vehicle.p", 4 of 4 checks may stay open'
    result = modrules.proofread(tmp_path)
    assert [(note.message, note.place.line) for note in result.notes] == [(message, line)]
    assert not any("may stay open" in problem.message for problem in result.problems)
    assert any(each.endswith(message) and f"{file}:{line}:" in each for each in result.summary)
    cli.main(["proofread", str(tmp_path), "--format", "lines"])
    assert f": note: {message}\n" in capsys.readouterr().out


def test_it_is_so_by_screening() -> None:
    checks = [little.check(f"c-{n}", rule) for n, rule in enumerate(RULES)]
    given = {"modifications": [], "vehicle": {"q": "no", "r": "no", "n": "3"}}
    findings = modrules.screen(given, little.load(*checks)).findings
    assert [finding.check for finding in findings if not finding.decided] == ["c-0", "c-1", "c-2"]
