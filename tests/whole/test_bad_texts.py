"""Texts that are bad or hostile, through the commands: one clear message, and no harm."""

from __future__ import annotations

import json
import os
import re
from pathlib import Path

import pytest

from modrules.cli import main
from modrules.texts.reading import MOST_BYTES
from tests.texts.pdfs import encrypted, encrypted_anew, pdf_of
from tests.texts.test_text_formats import ACT
from tests.whole.vellmarch import WORDS, written

SECRET = "the words of another file"
ONE = pdf_of([["1 One."]])


def _act(doctype: str, words: str = "First.") -> bytes:
    return ACT.replace("<akoma", f"{doctype}\n<akoma", 1).replace("First.", words).encode()


BOMB = "<!DOCTYPE a [<!ENTITY a0 'ha'>{}]>".format(
    "".join(f"<!ENTITY a{n} '{f'&a{n - 1};' * 10}'>" for n in range(1, 10))
)
#: Files that are refused: their bytes, and a word of why.
REFUSED: dict[str, tuple[bytes, str]] = {
    "locked.pdf": (encrypted(ONE, "secret"), "encrypted"),
    "locked-anew.pdf": (encrypted_anew(ONE), "encrypted"),
    "cut.pdf": (ONE[:120], "damaged"),
    "noise.pdf": (b"%PDF-1.7\n" + bytes(range(256)) * 8, "damaged"),
    "scan.pdf": (pdf_of([[], [], []]), "no text"),
    "external.xml": (_act('<!DOCTYPE a [<!ENTITY b SYSTEM "SECRET">]>', "&b;"), "document type"),
    "parameter.xml": (_act('<!DOCTYPE a [<!ENTITY % b SYSTEM "SECRET"> %b;]>'), "document type"),
    "elsewhere.xml": (_act('<!DOCTYPE a SYSTEM "SECRET">'), "document type"),
    "bomb.xml": (_act(BOMB, "&a9;"), "document type"),
    "undeclared.xml": (_act("", "&b;"), "damaged"),
    "unmarked.txt": ("1 One.\n".encode("utf-16-le"), "binary"),
    "mismarked.txt": (b"\xff\xfe1", "UTF-16"),
    "no-text.txt": (b"\x81\x8d\x8f\x90\x9d" * 9, "no text"),
    "office.txt": (b"PK\x03\x04" + b"x" * 90, "office document"),
}  # fmt: skip


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A small ruleset with a plan and a secret beside it."""
    (tmp_path / "secret.txt").write_text(SECRET, encoding="utf-8")
    return written(tmp_path)


def _commands(folder: Path, text: Path) -> list[list[str]]:
    plan, given = str(folder.parent / "plan.yaml"), ["--text", f"code={text}"]
    output = ["--output", str(folder.parent / "out")]
    return [
        ["text", str(text), *output],
        ["screen", plan, "--ruleset", str(folder), *given, *output],
        ["plates", plan, "--ruleset", str(folder), *given, *output],
        ["coverage", str(folder), *given, *output],
        ["pin", str(folder), *given],
        ["proofread", str(folder), "--no-proofs", *given],
    ]


def _is_refused(folder: Path, text: Path, word: str, capsys: pytest.CaptureFixture[str]) -> None:
    before = {path.name for path in folder.parent.rglob("*")}
    for command in _commands(folder, text):
        assert main(command) == 2, command
        said = capsys.readouterr()
        told = " ".join(said.err.split())
        assert said.out == ""
        assert text.name in told
        assert word in told
        assert "inside modrules" not in told
        assert "Traceback" not in told
        assert SECRET not in told
    assert {path.name for path in folder.parent.rglob("*")} == before


@pytest.mark.parametrize("name", REFUSED)
def test_a_text_that_is_refused(
    name: str, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    data, word = REFUSED[name]
    text = folder.parent / name
    text.write_bytes(data.replace(b"SECRET", (folder.parent / "secret.txt").as_uri().encode()))
    _is_refused(folder, text, word, capsys)


def test_a_text_of_more_than_200_megabytes(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = folder.parent / "large.txt"
    text.touch()
    os.truncate(text, MOST_BYTES + 1)
    _is_refused(folder, text, "200,000,000", capsys)


HOSTILE = """<!DOCTYPE html [<!ENTITY b SYSTEM "SECRET">]>
<html><head><script>alert("head")</script></head><body onload="alert('load')">
<p>1 Lifts</p>
<p>1.1 A lift <script>alert("run")</script>of &lt;script&gt;alert("shown")&lt;/script&gt;
&lt;img src=x onerror=alert(1)&gt; more than 50 mm &b; takes a [plate](javascript:alert(2)).</p>
<p>1.2 A wide vehicle <img src="x" onerror="alert(3)"> is to be judged.\x1b[2J</p>
</body></html>
"""


@pytest.mark.parametrize("kind", ["terminal", "html", "markdown", "sarif", "json"])
def test_scripts_of_a_page_are_ignored_and_what_it_shows_is_escaped(
    kind: str, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = folder.parent / "code.html"
    uri = (folder.parent / "secret.txt").as_uri()
    text.write_text(HOSTILE.replace("SECRET", uri), encoding="utf-8")
    plan = str(folder.parent / "plan.yaml")
    given = ["--ruleset", str(folder), "--text", f"code={text}", "--format", kind]
    assert main(["screen", plan, *given]) == 1
    said = capsys.readouterr().out
    assert SECRET not in said
    assert "\x1b" not in said
    for ignored in ('"run"', '"head"', "'load'", "alert(3)"):
        assert ignored not in said
    if kind == "html":
        assert "<img" not in said
        assert "<script>alert" not in said
        assert "&lt;script&gt;alert" in said
        assert not re.search(r"""<[^>]+\s(?:onerror|href=["']?javascript)""", said)
    elif kind == "markdown":
        assert r"\<script\>alert" in said
        assert r"\[plate\](javascript" in said
    elif kind == "json":
        words = json.loads(said)["findings"][0]["citations"][0]["excerpt"]
        assert words.startswith('A lift of <script>alert("shown")</script>')


def test_coverage_as_a_page_escapes_the_text(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = folder.parent / "code.html"
    text.write_text(HOSTILE, encoding="utf-8")
    assert main(["coverage", str(folder), "--text", f"code={text}", "--format", "html"]) == 0
    said = capsys.readouterr().out
    assert "&lt;script&gt;alert" in said
    assert "<script>alert" not in said
    assert "<img" not in said


def test_numbers_that_repeat_and_words_in_forty_places_are_told(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = folder.parent / "code.txt"
    lines = "".join(f"{n} A sign {n} says to stop here now.\n\n" for n in range(3, 43))
    text.write_text(f"{WORDS}\n1.1 A lift again.\n\n{lines}", encoding="utf-8")
    rules = (folder / "ruleset.yaml").read_text(encoding="utf-8")
    quoted = rules.replace('clause: "1.2"', 'clause: "99", quote: "stop here now"')
    (folder / "ruleset.yaml").write_text(quoted, encoding="utf-8")
    plan = str(folder.parent / "plan.yaml")
    given = ["--ruleset", str(folder), "--text", f"code={text}", "--format", "json"]
    assert main(["screen", plan, *given]) == 1
    cited = [f["citations"][0] for f in json.loads(capsys.readouterr().out)["findings"]]
    told = {one["clause"]: (one["status"], one["note"]) for one in cited}
    assert told["1.1"] == ("ambiguous", "this number stands in 2 places, on lines 3, 11")
    assert told["99"] == (
        "gone", "there is no such clause; the quotation stands in 3, 4, 5 and 37 more"
    )  # fmt: skip
