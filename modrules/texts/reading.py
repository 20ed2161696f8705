"""Reading a text from a file: limits, formats and encodings."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from modrules.files import read_bytes
from modrules.problems import ModrulesError, Place, Problem
from modrules.texts.furniture import Roll, unrolled
from modrules.texts.html import charset_in, looks_like_html
from modrules.texts.outline import Outline, outline
from modrules.texts.text import Doubt, Text
from modrules.texts.words import clean

MOST_BYTES = 200_000_000
_SPLIT = (
    f"at most {MOST_BYTES:,} bytes are read: split it into its parts, and list them as texts of "
    "their own"
)

# Encodings that a page may declare: tables of signs, and nothing that does more.
_DECLARED = re.compile(
    r"windows-125\d|iso-8859-\d{1,2}|koi8-[ru]|shift_jis|euc-(?:jp|kr)|gb18030|big5"
)

_MARKS = (
    (b"\xff\xfe\x00\x00", "utf-32"), (b"\x00\x00\xfe\xff", "utf-32"),
    (b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16"),
)  # fmt: skip
# First bytes of files that people take for texts, and what to do with them.
_OTHER_FILES = (
    (b"PK\x03\x04", "an office document or an archive", "save it as plain text, HTML or PDF"),
    (b"\xd0\xcf\x11\xe0", "an old office document", "save it as plain text, HTML or PDF"),
    (b"{\\rtf", "a rich text file", "save it as plain text or HTML"),
    (b"\x89PNG", "a picture", "a text with words in it is needed"),
    (b"\xff\xd8\xff", "a picture", "a text with words in it is needed"),
    (b"GIF8", "a picture", "a text with words in it is needed"),
    (b"\x1f\x8b", "a compressed file", "unpack it first"),
)


def read_text(path: Path | str, *, id: str, title: str = "", edition: str = "",
              known: Mapping[str, Text] | None = None, cache: bool = False) -> Text:  # fmt: skip
    """Read and index a text of the jurisdiction from a file.

    ``digest`` of the result is the SHA-256 of the file's bytes. ``known``: texts by
    digest that were read before; a file with one of these digests is not indexed again. With
    ``cache``, the index is kept in the user's folder for caches and found there as long as
    the file is the same. Raises ModrulesError where the file is missing, too large or holds
    no text that can be read.
    """
    path = Path(path)
    data = read_bytes(path, MOST_BYTES, split=_SPLIT)
    digest = hashlib.sha256(data).hexdigest()
    if known is not None and (before := known.get(digest)) is not None:
        return replace(before, id=id, title=title, edition=edition)
    if not cache:
        return _indexed(*_read(data, path), id, title, edition, digest)
    from modrules.texts import keeping

    name = keeping.name_of(digest, path.suffix.lower(), data[:4096])
    found = keeping.find(name, id, title, edition, digest)
    if found is None:
        found = _indexed(*_read(data, path), id, title, edition, digest)
        keeping.keep(name, found)
    return found


def _read(data: bytes, path: Path) -> tuple[Roll, Outline | None, tuple[Doubt, ...]]:
    """The lines of a file by its format, and its outline where the format says it."""
    start, name = data[:4096], str(path)
    if start.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"%PDF-"):
        from modrules.texts.pdf import pdf_as_lines

        roll, empty = pdf_as_lines(data, name)
        listed = ", ".join(map(str, empty[:10])) + (" and more" if len(empty) > 10 else "")
        doubt = Doubt("page without text", 0, "", f"no text on page {listed}: a picture?")
        return roll, None, (doubt,) if empty else ()
    if looks_like_html(start) or path.suffix.lower() in (".html", ".htm", ".xhtml"):
        from modrules.texts.html import html_as_lines

        source, doubts = decode(data, name, charset_in(start))
        return html_as_lines(clean(source)), None, doubts
    if start.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"<?xml") or path.suffix.lower() in (
        ".xml", ".akn",
    ):  # fmt: skip
        from modrules.texts.akoma import akoma_as_text

        return (*akoma_as_text(data, name), ())
    source, doubts = decode(data, name)
    return unrolled(clean(source)), None, doubts


def text_from(source: str, *, id: str, title: str = "", edition: str = "") -> Text:
    """Index a text that is at hand as a string; its digest is that of its UTF-8 bytes."""
    encoded = source.encode("utf-8", "surrogatepass")
    digest = hashlib.sha256(encoded).hexdigest()
    return _indexed(unrolled(clean(source, encoded)), None, (), id, title, edition, digest)


def _indexed(roll: Roll, made: Outline | None, doubts: tuple[Doubt, ...],
             id: str, title: str, edition: str, digest: str) -> Text:  # fmt: skip
    body = "\n" + roll.text
    made = made if made is not None else outline(body, roll.said)
    return Text(id, title, edition, digest, body, made, roll.numbers, roll.pages, doubts)


def refused(path: str, message: str, hint: str = "") -> ModrulesError:
    """The error for a file that cannot be used as a text."""
    return ModrulesError(Problem(message, Place(path), hint))


def decode(data: bytes, path: str, declared: str = "") -> tuple[str, tuple[Doubt, ...]]:
    """The characters of a file: by its byte order mark, else UTF-8, else as it declares
    itself, else Windows-1252 in doubt."""
    for start, what, hint in _OTHER_FILES:
        if data.startswith(start):
            raise refused(path, f"This is {what}, not a text.", hint.capitalize() + ".")
    for mark, encoding in _MARKS:
        if data.startswith(mark):
            try:
                return data.decode(encoding), ()
            except UnicodeDecodeError:
                name = encoding.removesuffix("-sig").upper()
                raise refused(
                    path, f"The text is marked as {name}, and is not.",
                    "Save it again as UTF-8.",
                ) from None  # fmt: skip
    if b"\x00" in data:
        raise refused(path, "This is a binary file, not a text.", "Save the text as UTF-8.")
    try:
        source = data.decode("utf-8")
    except UnicodeDecodeError as error:
        if _DECLARED.fullmatch(declared):
            try:
                return data.decode(declared), ()
            except (UnicodeDecodeError, LookupError):
                pass
        return _as_windows(data, path, error.start)
    _refuse_control_characters(source, path)
    return source, ()


def _as_windows(data: bytes, path: str, at: int) -> tuple[str, tuple[Doubt, ...]]:
    try:
        source = data.decode("windows-1252")
    except UnicodeDecodeError:
        raise refused(
            path, "This is no text in UTF-8, UTF-16 or Windows-1252.", "Save it again as UTF-8."
        ) from None
    _refuse_control_characters(source, path)
    line = data.count(b"\n", 0, at) + 1
    return source, (Doubt("encoding", line, "", "not UTF-8: read as Windows-1252, some signs "
                          "may be wrong"),)  # fmt: skip


def _refuse_control_characters(source: str, path: str) -> None:
    controls = sum(
        map(source[:65536].count, "\x01\x02\x03\x04\x05\x06\x07\x08\x0e\x0f\x10\x11\x12\x13\x14")
    )
    if controls > 4 + min(len(source), 65536) // 200:
        raise refused(path, "This is a binary file, not a text.", "Save the text as UTF-8.")
