"""What rests on changed text is said by every command and in every format; and pages of PDFs."""

from __future__ import annotations

import html
import io
import json
import re
import sys
from pathlib import Path
from typing import Any

import pytest

from modrules.cli import _parser, main
from modrules.texts import STATUS_WORDS
from tests.texts.pdfs import pdf_of
from tests.whole.vellmarch import RULESET, WORDS, written

#: The text in which clause 1.1 has each status.
AMENDED = {
    "same": WORDS.replace("of more than 50 mm", "of more\nthan 50 mm"),
    "changed": WORDS.replace("50 mm", "40 mm"),
    "gone": WORDS.replace("1.1 A lift of more than 50 mm takes a plate.\n\n", ""),
    "moved": WORDS.replace("1.1 ", "1.7 "),
    "ambiguous": WORDS.replace("1.1 A", "1.8 A")
    + "\n2.2 A lift of more than 50 mm takes a plate.\n",
}  # fmt: skip
#: The index is in doubt about both clauses that are cited.
DOUBTED = WORDS.replace("1.2 A", "1.3 A").replace("1.1 A", "1.2 A").replace("1.3 A", "1.1 A")
_DRAWN = {
    "limits": ("limits", "PLAN", "--vary", "vehicle.width"), "turns": ("turns", "PLAN"),
    "stages": ("stages", "PLAN"), "next": ("next", "PLAN"),
    "beside": ("screen", "PLAN", "--beside", "PLAN"),
}  # fmt: skip
#: Every way to ask for an answer: the command with its further arguments.
COMMANDS: dict[str, tuple[str, ...]] = {
    **{kind: ("screen", "PLAN", "--format", kind)
       for kind in ("terminal", "html", "markdown", "sarif", "json")},
    "plates": ("plates", "PLAN"),
    "letter": ("letter", "PLAN"),
    **_DRAWN,
    **{f"{name} json": (*words, "--format", "json") for name, words in _DRAWN.items()},
    "ask": ("ask", "--from", "PLAN"),
}  # fmt: skip


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The ruleset, pinned, and a plan beside it. Nothing that is tried here writes to it."""
    made = written(tmp_path_factory.mktemp("vellmarch"))
    assert main(["pin", str(made)]) == 0
    return made


def said(
    folder: Path, words: tuple[str, ...], text: Path,
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch,
) -> str:  # fmt: skip
    """All that a command says."""
    monkeypatch.setattr(sys, "stdin", io.StringIO(""))
    capsys.readouterr()
    plan = str(folder.parent / "plan.yaml")
    arguments = [plan if word == "PLAN" else word for word in words]
    common = ["--ruleset", str(folder), "--on", "2026-11-01", "--text", f"code={text}"]
    assert main([*arguments, *common]) in (0, 1, 3)
    out, err = capsys.readouterr()
    return out + err


def plainly(words: str) -> str:
    """Running words without the marks of HTML and Markdown."""
    return " ".join(html.unescape(re.sub("</?[a-z][^<>]*>", " ", words)).replace("\\", "").split())


def citations(data: Any) -> list[tuple[str, str]]:
    """(clause, status) of every citation anywhere in JSON."""
    if isinstance(data, list):
        return [pair for one in data for pair in citations(one)]
    if not isinstance(data, dict):
        return []
    own = [(data["clause"], data["status"])] if "status" in data else []
    return own + [pair for value in data.values() for pair in citations(value)]


def changed(data: Any) -> list[str]:
    """The checks listed under every key ``changed_text``."""
    if not isinstance(data, dict):
        return []
    own = [finding["check"] for finding in data.get("changed_text", ())]
    return own + [check for value in data.values() for check in changed(value)]


@pytest.mark.parametrize("status", AMENDED)
@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_says_what_rests_on_changed_text(
    name: str, status: str, folder: Path, tmp_path: Path,
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    text = tmp_path / "code.txt"
    text.write_text(AMENDED[status], encoding="utf-8")
    doubtful = status in ("changed", "gone", "ambiguous")
    found = said(folder, COMMANDS[name], text, capsys, monkeypatch)
    if not name.endswith("json"):
        words = plainly(found)
        assert ("on changed text" in words) == doubtful
        assert ("findings rest on changed text" in words) == (doubtful and name != "sarif")
        if doubtful:
            assert f"1.1 ({status})" in words
        return
    data = json.loads(found)
    if name == "json":
        assert {state for clause, state in citations(data) if clause == "1.1"} == {status}
    else:
        both = 2 if name == "beside json" else 1
        assert changed(data) == ["lift-height", "lift-care"] * both * doubtful
    assert {state for _, state in citations(data)} <= set(STATUS_WORDS)
    assert ("1.2", "changed") not in citations(data)


#: A plate that a clause grants, and a higher certificate that does in its place.
GRANTED = """\
certifications:
  - id: plate
    title: Plate
    kind: plate
    covered_by: [full]
    cites: {text: code, clause: "2.1"}
  - {id: full, title: Full certificate, kind: certificate, cites: {text: code, clause: "3.1"}}
"""
FULL = """\
evidence:
  - {id: paper, certification: full, issued: 2026-01-01, covers: {modifications: [lift]}}
"""


@pytest.mark.parametrize("held", [False, True])
@pytest.mark.parametrize("clause", ["2.1", "3.1"])
@pytest.mark.parametrize("name", COMMANDS)
def test_what_rests_on_a_plate_rests_on_the_clause_that_grants_it(
    name: str, clause: str, held: bool, tmp_path: Path,
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    made, words = written(tmp_path), f"{WORDS}\n3 Papers\n\n3.1 An engineer grants it.\n"
    head = made / "ruleset.yaml"
    plain = "certifications:\n  - {id: plate, title: Plate, kind: plate}\n"
    assert plain in RULESET
    head.write_text(RULESET.replace(plain, GRANTED), encoding="utf-8")
    (made / "texts" / "code.txt").write_text(words, encoding="utf-8")
    if held:
        plan = tmp_path / "plan.yaml"
        plan.write_text(plan.read_text(encoding="utf-8") + FULL, encoding="utf-8")
    assert main(["pin", str(made)]) == 0
    text = tmp_path / "code.txt"
    amended = words.replace("must be tied", "may be tied").replace("An engineer", "Nobody")
    kept = {"2.1": ("Nobody", "An engineer"), "3.1": ("may be tied", "must be tied")}[clause]
    text.write_text(amended.replace(*kept), encoding="utf-8")
    found = said(made, COMMANDS[name], text, capsys, monkeypatch)
    # The paper that is held rests on its own clause and stands for the plate.
    concerned = clause == "2.1" or held
    if name.endswith("json") and name != "json":
        both = 2 if name == "beside json" else 1
        assert changed(json.loads(found)) == ["lift-height"] * both * concerned
        return
    if name == "json":
        rest = [
            f["check"] for f in json.loads(found)["findings"] if "changed" in str(f["citations"])
        ]
        assert rest == ["lift-height"] * concerned
        return
    told = plainly(found)
    assert ("on changed text" in told) == concerned
    assert (f"{clause} (changed)" in told) == concerned


@pytest.mark.parametrize("name", COMMANDS)
def test_every_citation_of_a_doubted_clause_says_so(
    name: str, tmp_path: Path,
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    text = tmp_path / "code.txt"
    text.write_text(DOUBTED, encoding="utf-8")
    found = said(written(tmp_path / "unpinned"), COMMANDS[name], text, capsys, monkeypatch)
    if name.endswith("json"):
        notes = [note for clause, _, note in noted(json.loads(found))]
        assert all("the index is in doubt here" in note for note in notes)
        assert notes or name == "next json"  # which names no clause
        return
    words = plainly(found)
    marks = re.findall(r"clauses? 1\.[12] (\(index in doubt\))?", words)
    assert all(marks), words
    assert marks or name in ("next", "beside", "ask")  # which name no clause
    if name in ("terminal", "html", "markdown"):
        assert "index is in doubt here: 1.1 comes after 1.2 (1.1, line 5)" in words


def noted(data: Any) -> list[tuple[str, str, str]]:
    """(clause, status, note) of every citation anywhere in JSON."""
    if isinstance(data, list):
        return [each for one in data for each in noted(one)]
    if not isinstance(data, dict):
        return []
    own = [(data["clause"], data["status"], data["note"])] if "status" in data else []
    return own + [each for value in data.values() for each in noted(value)]


def test_no_command_that_screens_is_left_out() -> None:
    (commands,) = (a.choices for a in _parser()._actions if isinstance(a.choices, dict))
    screens = {
        name
        for name, parser in commands.items()
        if any("--ruleset" in action.option_strings for action in parser._actions)
    }
    assert screens == {words[0] for words in COMMANDS.values()} | {"verify"}


def test_verify_tells_that_a_text_changed(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    filed, text = tmp_path / "report.json", tmp_path / "code.txt"
    plan = str(folder.parent / "plan.yaml")
    common = [plan, "--ruleset", str(folder)]
    main(["screen", *common, "--on", "2026-11-01", "--format", "json", "--output", str(filed)])
    text.write_text(AMENDED["changed"], encoding="utf-8")
    assert main(["verify", str(filed), *common, "--text", f"code={text}"]) == 1
    assert "changed" in capsys.readouterr().out


@pytest.mark.parametrize("name", ["terminal", "html", "markdown", "sarif", "json"])
def test_excerpts_of_a_text_with_pages_name_the_page(
    name: str, folder: Path, tmp_path: Path,
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    path = tmp_path / "code.pdf"
    pages = [["Contents of this code are as follows."], *(part.split("\n") for part in
             WORDS.split("\n\n"))]  # fmt: skip
    path.write_bytes(pdf_of(pages))
    found = said(folder, COMMANDS[name], path, capsys, monkeypatch)
    if name == "json":
        told = {c["clause"]: c["pages"] for f in json.loads(found)["findings"]
                for c in f["citations"]}  # fmt: skip
        assert told == {"1.1": [3, 3], "1.2": [4, 4]}
    else:
        words = plainly(found)
        assert re.search(r"1\.1, page 3, line \d", words)
        assert re.search(r"1\.2, page 4, line \d", words)
