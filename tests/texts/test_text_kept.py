"""Indexes kept on disk: the same as made anew, and never used when something has changed."""

from __future__ import annotations

import datetime
import json
from pathlib import Path

import pytest

import modrules
from modrules import kept
from modrules.cli import main
from modrules.texts import Text, read_text, reading, resolve, text_from
from tests.texts.pdfs import pdf_of
from tests.texts.samples import FIXTURES, NAMES
from tests.texts.test_text_formats import ACT, PAGE, manual_pages

ON = datetime.date(2026, 11, 1)
WORDS = "1 One:\n\n(a) a wheel; and\n\n(b) a tyre,\n\nas built.\n\n1 Again.\n"


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of caches of the test's own, which does not exist yet."""
    monkeypatch.setenv("MODRULES_CACHE", str(tmp_path / "cache"))
    return tmp_path / "cache"


@pytest.fixture
def code(tmp_path: Path) -> Path:
    path = tmp_path / "code.txt"
    path.write_text(WORDS, encoding="utf-8")
    return path


def everything(text: Text) -> list[object]:
    clauses = [
        (c, c.heading, c.own_words, c.words, c.digest, c.pages) for c in text.clauses.values()
    ]
    resolved = [resolve(text, number) for number in text.clauses]
    return [clauses, resolved, text.spans, text.doubts, text.digests, text.body, text.digest]


def not_indexed(monkeypatch: pytest.MonkeyPatch) -> None:
    """From here on, no file can be indexed."""

    def refuse(*_: object) -> None:
        raise AssertionError("indexed")

    monkeypatch.setattr(reading, "_read", refuse)


SOURCES = {
    **{name: next(p for p in FIXTURES.glob(f"{name}.*") if p.suffix != ".clauses").read_bytes()
       for name in NAMES},
    "act.xml": ACT.encode(), "page.html": PAGE.encode(), "code.pdf": pdf_of(manual_pages()),
    "old.txt": "1 Größe.\n".encode("windows-1252"), "pages.txt": b"1 One\n\fhas\n\f2 Two.\n",
    "empty.txt": b"",
}  # fmt: skip


@pytest.mark.parametrize("name", SOURCES)
def test_a_kept_text_is_the_same(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / name
    path.write_bytes(SOURCES[name])
    anew = read_text(path, id="t", title="T", edition="1")
    first = read_text(path, id="u", cache=True)
    not_indexed(monkeypatch)
    again = read_text(path, id="t", title="T", edition="1", cache=True)
    assert again == anew
    assert everything(again) == everything(anew)
    assert everything(first)[2:] == everything(anew)[2:]


def test_without_being_asked_nothing_is_kept(code: Path, folder: Path) -> None:
    read_text(code, id="t")
    modrules.screen({"modifications": []}, modrules.load_ruleset("orrinmark", on=ON), on=ON)
    assert not folder.exists()


def test_a_changed_file_is_indexed_anew(code: Path) -> None:
    assert "3" not in read_text(code, id="t", cache=True).clauses
    code.write_text(WORDS + "\n3 Three.\n", encoding="utf-8")
    assert "3" in read_text(code, id="t", cache=True).clauses


def test_the_same_bytes_under_a_name_of_another_format(code: Path) -> None:
    code.write_text("1 One <b>and</b>\n", encoding="utf-8")
    page = code.with_suffix(".html")
    page.write_bytes(code.read_bytes())
    bodies = [read_text(path, id="t", cache=True).body.strip() for path in (code, page)]
    assert bodies == ["1 One <b>and</b>", "1 One and"]


def entry_of(folder: Path) -> Path:
    (entry,) = folder.glob("*.text")
    return entry


def with_body(data: bytes, body: bytes) -> bytes:
    """An entry whose body was swapped by somebody who knows how entries are made."""
    head = json.loads(data.partition(b"\n")[0])
    head["body"] = kept.sha256(body).hexdigest()
    return json.dumps(head).encode() + b"\n" + body


@pytest.mark.parametrize("damage", ["empty", "garbage", "cut", "flipped", "list", "other", "deep"])
def test_a_damaged_or_foreign_entry_is_passed_over(damage: str, code: Path, folder: Path) -> None:
    anew = read_text(code, id="t", cache=True)
    entry = entry_of(folder)
    data = entry.read_bytes()
    other = json.loads(data.partition(b"\n")[2]) | {"digest": "0" * 64}
    entry.write_bytes({
        "empty": b"",
        "garbage": b"\x80\x04garbage",
        "cut": data[:-9],
        "flipped": data.replace(b"a wheel", b"a tyre!"),
        "list": with_body(data, b"[1, 2]"),
        "other": with_body(data, json.dumps(other).encode()),
        "deep": with_body(data, b"[" * 100_000),
    }[damage])  # fmt: skip
    assert everything(read_text(code, id="t", cache=True)) == everything(anew)
    assert entry.read_bytes() == data


def test_a_folder_that_others_can_write_to_is_not_used(code: Path, folder: Path) -> None:
    read_text(code, id="t", cache=True)
    entry = entry_of(folder)
    entry.write_bytes(entry.read_bytes() + b" ")  # it would have to be written anew
    folder.chmod(0o777)
    before = entry.read_bytes()
    assert "1(b)" in read_text(code, id="t", cache=True).clauses
    assert entry.read_bytes() == before


def test_where_nothing_can_be_kept_the_text_is_read_all_the_same(
    code: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("MODRULES_CACHE", str(code / "in a file"))
    assert "1(b)" in read_text(code, id="t", cache=True).clauses


def test_half_an_entry_is_never_left(
    code: Path, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise OSError("no room")

    monkeypatch.setattr(kept.Path, "replace", full)
    assert "1(b)" in read_text(code, id="t", cache=True).clauses
    assert list(folder.iterdir()) == []


def test_the_oldest_entries_give_way(tmp_path: Path, folder: Path) -> None:
    for number in range(kept.MOST_ENTRIES + 3):
        path = tmp_path / "code.txt"
        path.write_text(f"{number} One.\n", encoding="utf-8")
        read_text(path, id="t", cache=True)
    assert len(list(folder.glob("*.text"))) == kept.MOST_ENTRIES


COMMANDS = (
    ["screen", "SUBMISSION", "--ruleset", "orrinmark", "--on", "2026-11-01"],
    ["pins", "orrinmark"],
    ["coverage", "orrinmark"],
    ["text", "CODE"],
)


@pytest.mark.parametrize("command", COMMANDS, ids=lambda command: command[0])
def test_commands_keep_what_they_read_and_say_the_same(
    command: list[str], code: Path, folder: Path,
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    submission = code.with_name("s.yaml")
    submission.write_text("modifications: [{id: lift, kind: suspension}]\n", encoding="utf-8")
    words = {"SUBMISSION": str(submission), "CODE": str(code)}
    arguments = [words.get(word, word) for word in command]
    status = main(arguments)
    said = capsys.readouterr().out
    assert list(folder.glob("*.text"))
    not_indexed(monkeypatch)
    assert main(arguments) == status
    assert capsys.readouterr().out == said


def test_a_text_at_hand_is_no_file() -> None:
    assert text_from(WORDS, id="t").digests == text_from(WORDS, id="u").digests
