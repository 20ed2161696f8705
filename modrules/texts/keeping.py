"""Indexed texts kept on disk, found again by the digest of the file.

What is kept is data in JSON, so that reading it can do nothing but fail. The words that
citations are held against are kept too: working them out takes as long as indexing.
"""

from __future__ import annotations

import json
from contextlib import suppress
from importlib.metadata import PackageNotFoundError, version
from typing import Any, Final

from modrules import kept
from modrules.texts.outline import Outline, RawDoubt
from modrules.texts.text import Doubt, Text

FORMAT: Final = "2"
MOST_CHARACTERS: Final = 40_000_000  # of a text that is kept


def name_of(digest: str, suffix: str, start: bytes) -> str:
    """The name under which the index of a file is kept: its digest, and what else decides on it."""
    reader = ""
    if b"%PDF-" in start:
        # Another version of the library may find other words in the same file.
        with suppress(PackageNotFoundError):
            reader = version("pypdf")
    return kept.name_of("text", FORMAT, digest, suffix, reader)


def find(name: str, id: str, title: str, edition: str, digest: str) -> Text | None:
    """The text kept under a name, if there is one that can be used."""
    entry = kept.find(name)
    if entry is None:
        return None
    with suppress(ValueError, KeyError, TypeError, RecursionError):
        data = json.loads(entry[1])
        if data["digest"] == digest:
            return _thawed(data, id, title, edition)
    return None


def keep(name: str, text: Text) -> None:
    """Keeps an indexed text."""
    if len(text.body) <= MOST_CHARACTERS:
        kept.keep(name, json.dumps(_frozen(text), separators=(",", ":")).encode("ascii"))


def _frozen(text: Text) -> dict[str, Any]:
    out = text.outline
    return {
        "digest": text.digest,
        "body": text.body,
        "columns": [out.keys, out.kinds, out.parents, out.starts, out.bodies, out.ends],
        "returns": out.returns,
        "terms": list(out.terms.items()),
        "repeats": out.repeats,
        "doubts": out.doubts,
        "unlisted": out.unlisted,
        "numbers": text.line_numbers,
        "pages": text.line_pages,
        "reading_doubts": text.reading_doubts,
        "digests": text.digests,
        "joined": text.wording.joined,
    }


def _thawed(data: dict[str, Any], id: str, title: str, edition: str) -> Text:
    keys, kinds, parents, starts, bodies, ends = map(tuple, data["columns"])
    by_key = dict(zip(reversed(keys), range(len(keys) - 1, -1, -1), strict=True))
    outline = Outline(
        keys, kinds, parents, starts, bodies, ends,
        tuple([(at, index) for at, index in data["returns"]]), dict(data["terms"]), by_key,
        data["repeats"], tuple([RawDoubt(*each) for each in data["doubts"]]), data["unlisted"],
    )  # fmt: skip
    text = Text(
        id, title, edition, data["digest"], data["body"], outline,
        tuple(data["numbers"]) if data["numbers"] is not None else None,
        tuple(data["pages"]) if data["pages"] is not None else None,
        tuple([Doubt(*each) for each in data["reading_doubts"]]),
    )  # fmt: skip
    # These are worked out when they are first asked for; here they are known already.
    vars(text)["digests"] = tuple(data["digests"])
    vars(text.wording)["joined"] = tuple(data["joined"])
    return text
