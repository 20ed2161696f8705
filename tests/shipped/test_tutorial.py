"""The tutorial: every file, change and command in it, with exactly the outputs that it shows."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))

from tutorial_player import TUTORIAL, played

import modrules
from modrules import cli
from modrules.author_commands import load
from modrules.proofs.progress import progress


def test_the_tutorial_is_as_it_says(tmp_path: Path) -> None:
    text = (TUTORIAL / "tutorial.md").read_text(encoding="utf-8")
    assert text.count("\n$ modrules ") > 20
    assert played(text, tmp_path) == text
    # It ends with two editions that are whole.
    for name in ("vessenmoor", "vessenmoor-2027"):
        result = modrules.proofread(tmp_path / name, proofs=False)
        assert result.clean
        assert result.cases_run > 0
        assert cli.main(["format", str(tmp_path / name), "--check"]) == 0
        text = modrules.read_text(tmp_path / name / "texts" / "code.md", id="text")
        rows = progress(text, load(str(tmp_path / name)).ruleset.flat)
        assert {row.state for row in rows} == {"finished", "set aside"}
