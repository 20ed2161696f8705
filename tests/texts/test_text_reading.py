"""Files: limits, encodings, and what is no text."""

from __future__ import annotations

import hashlib
import os
import pickle
from pathlib import Path

import pytest

from modrules.texts import read_text, text_from
from modrules.texts.reading import MOST_BYTES
from tests.texts.samples import refusal

WORDS = "1 The maker’s plate — “as built”.\n\n2 Größe.\n"


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-32"])
def test_encodings_without_doubt(tmp_path: Path, encoding: str) -> None:
    path = tmp_path / "code.txt"
    path.write_bytes(WORDS.encode(encoding))
    text = read_text(path, id="t", title="The code", edition="2026")
    assert text.clauses["1"].words == "The maker’s plate — “as built”."
    assert text.doubts == ()
    assert (text.id, text.title, text.edition) == ("t", "The code", "2026")


@pytest.mark.parametrize("encoding", ["utf-16-le", "utf-16-be"])
def test_utf_16_by_its_mark(tmp_path: Path, encoding: str) -> None:
    path = tmp_path / "code.txt"
    path.write_bytes(("\ufeff" + WORDS).encode(encoding))
    assert read_text(path, id="t").clauses["2"].words == "Größe."


def test_windows_1252_is_doubted(tmp_path: Path) -> None:
    path = tmp_path / "code.txt"
    path.write_bytes(WORDS.encode("windows-1252"))
    text = read_text(path, id="t")
    assert text.clauses["1"].words == "The maker’s plate — “as built”."
    assert [doubt.kind for doubt in text.doubts] == ["encoding"]


def test_digest_is_of_the_bytes(tmp_path: Path) -> None:
    path = tmp_path / "code.txt"
    path.write_bytes(b"1 One.\r\n\r\n2 Two.\r\n")
    text = read_text(path, id="t")
    assert text.digest == hashlib.sha256(path.read_bytes()).hexdigest()
    assert list(text.clauses) == ["1", "2"]
    assert text.clauses["2"].first_line == 3


def test_folder_missing_and_empty(tmp_path: Path) -> None:
    assert "folder" in refusal(tmp_path)
    assert "no such file" in refusal(tmp_path / "none.txt")
    (tmp_path / "empty.txt").write_bytes(b"")
    assert len(read_text(tmp_path / "empty.txt", id="t").clauses) == 0


def test_too_large_is_refused_with_the_limit(tmp_path: Path) -> None:
    path = tmp_path / "large.txt"
    path.touch()
    os.truncate(path, MOST_BYTES + 1)
    assert "200,000,000" in refusal(path)


@pytest.mark.parametrize(
    ("data", "word"),
    [
        (b"PK\x03\x04" + b"x" * 50, "office document"),
        (b"\x89PNG\r\n\x1a\n" + b"\x00" * 50, "picture"),
        (b"1 One\x00\x01\x02", "binary"),
        (bytes(range(1, 9)) * 20, "binary"),
        ("1 One".encode("utf-16-le"), "binary"),
        (b"\xff\xfe1", "UTF-16"),
        (b"\x81\x8d\x8f\x90\x9d" * 9, "no text"),
    ],
)
def test_what_is_no_text(tmp_path: Path, data: bytes, word: str) -> None:
    path = tmp_path / "code.txt"
    path.write_bytes(data)
    assert word in refusal(path)


def test_text_is_a_value(tmp_path: Path) -> None:
    path = tmp_path / "code.txt"
    path.write_text(WORDS, encoding="utf-8")
    first, second = read_text(path, id="t"), read_text(path, id="t")
    assert first == second
    assert hash(first) == hash(second)
    assert first != read_text(path, id="u")
    with pytest.raises(AttributeError):
        first.title = "x"  # type: ignore[misc]
    with pytest.raises(TypeError):
        first.clauses["1"] = first.clauses["2"]  # type: ignore[index]
    again = pickle.loads(pickle.dumps(first))
    assert again == first
    assert again.clauses["1"] == first.clauses["1"]


def test_known_text_is_not_indexed_again(tmp_path: Path) -> None:
    path = tmp_path / "code.txt"
    path.write_text(WORDS, encoding="utf-8")
    first = read_text(path, id="t", edition="1")
    again = read_text(path, id="u", edition="2", known={first.digest: first})
    assert again.outline is first.outline
    assert (again.id, again.edition, again.digest) == ("u", "2", first.digest)
    path.write_text(WORDS + "3 Three.", encoding="utf-8")
    assert "3" in read_text(path, id="t", known={first.digest: first}).clauses


def test_heads_with_the_page_number_at_the_outer_side_are_left_out() -> None:
    page = "{}\n\n" + "\n\n".join(f"{{}}.{n} Words of a clause." for n in range(1, 6)) + "\n\n"
    heads = ("2      A plain guide", "A plain guide      3", "4      A plain guide")
    source = "".join(page.format(head, *[n] * 5) for n, head in enumerate(heads, 1))
    text = text_from(source, id="t")
    assert "A plain guide" not in text.body
    assert [d.kind for d in text.doubts].count("line left out") == 3
    assert list(text.clauses)[:2] == ["1.1", "1.2"]
