"""What is told is true and helps: no internal names, hints that lead on, words where they count."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import pytest
from vellmarch import RULESET, written

from modrules.cli import main


def _proofread(tmp_path: Path, head: str, capsys: Any) -> str:
    folder = written(tmp_path)
    (folder / "ruleset.yaml").write_text(head, encoding="utf-8")
    assert main(["proofread", str(folder), "--no-proofs"]) == 1
    said: str = capsys.readouterr().out
    return said


def test_no_internal_name(tmp_path: Path, capsys: Any) -> None:
    head = RULESET.replace("requires: lift.height <= 40 mm", "requires: lift.twice <= 40 mm")
    head += (
        "quantities:\n"
        "  - {id: lift.twice, title: T, unit: mm, source: arithmetic, formula: lift.height *}\n"
        "  - {id: lift.more, title: T, unit: mm, source: arithmetic, formula: lift.twice + 1 mm}\n"
    )
    said = _proofread(tmp_path, head, capsys)
    assert "unreadable" not in said
    assert "the expression ends here, but a value is expected" in said
    assert 'the quantity "lift.twice" can\'t be read' in said


@pytest.mark.parametrize(
    ("requires", "words"),
    [
        ("lift.height / 9.81 N/kg <= 4 mm", "becomes the mass of that weight by `/ 9.81 N * 1 kg`"),
        ("3 kN <= 4 kg", "becomes the mass of that weight by `/ 9.81 N * 1 kg`"),
        ("lift.height / 9 mm/kg <= 4 mm", '"mm/kg" is no unit: divide by one and multiply'),
        ("today - lift.made <= 12 months", "as in today <= modification.fitted + 12 months"),
        ("12 months >= today - lift.made", "as in today <= modification.fitted + 12 months"),
    ],
)
def test_a_hint_leads_on(requires: str, words: str, tmp_path: Path, capsys: Any) -> None:
    head = RULESET.replace("requires: lift.height <= 40 mm", f"requires: {requires}")
    fact = "  - {id: lift.made, title: Made, type: date, question: When?}\nchecks:"
    said = _proofread(tmp_path, head.replace("checks:", fact), capsys)
    assert words in said
    assert "did you mean" not in said


def test_what_is_hinted_at_is_right(tmp_path: Path) -> None:
    head = RULESET.replace(
        "requires: lift.height <= 40 mm",
        "requires: lift.pull / 9.81 N * 1 kg <= 40 kg and today <= lift.made + 12 months",
    )
    facts = (
        "  - {id: lift.made, title: Made, type: date, question: When?}\n"
        "  - {id: lift.pull, title: Pull, type: force, unit: N,\n"
        "     range: {from: 0 N, to: 9 kN}, question: How much?}\nchecks:"
    )
    folder = written(tmp_path)
    (folder / "ruleset.yaml").write_text(head.replace("checks:", facts), encoding="utf-8")
    assert main(["proofread", str(folder), "--no-proofs"]) == 0


@pytest.mark.parametrize("quote", ['" "', '"-"'])
def test_a_quotation_without_words(quote: str, tmp_path: Path, capsys: Any) -> None:
    head = RULESET.replace('clause: "1.2"', f'clause: "1.2", quote: {quote}')
    said = _proofread(tmp_path, head, capsys)
    assert "no clause" not in said
    assert "this quotation holds no words" in said


def test_stop_stops_at_a_prompt(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Any
) -> None:
    folder = written(tmp_path)
    for typed in ("stop\n", "lift\nStop\n", "lift\n\nstop\n"):
        monkeypatch.setattr("sys.stdin", io.StringIO(typed + "60 mm\n"))
        assert main(["ask", "--ruleset", str(folder)]) == 0
        said = capsys.readouterr()
        assert "is no" not in said.err
        assert "60 mm" not in said.out


@pytest.mark.parametrize(
    "command", ["limits", "next", "turns", "stages", "letter", "ask", "screen"]
)
def test_help_tells_the_exit_status(command: str, tmp_path: Path, capsys: Any) -> None:
    assert main([command, "--help"]) == 0
    said = capsys.readouterr().out
    told = "exit status of screen and plates:" if command == "screen" else "exit status: 0 done"
    assert told in said
    if command in ("turns", "stages", "next"):
        plan = tmp_path / "open.yaml"
        plan.write_text("modifications: [{id: lift, kind: lift}]\n", encoding="utf-8")
        folder = written(tmp_path)
        assert main(["screen", str(plan), "--ruleset", str(folder)]) == 3
        assert main([command, str(plan), "--ruleset", str(folder)]) == 0
