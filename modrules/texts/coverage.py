"""Coverage: which clauses of a text a ruleset cites, and which it is silent about."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from modrules.texts import outline as ol
from modrules.texts.pins import Citation
from modrules.texts.resolve import index_of
from modrules.texts.text import Text

CITED, AROUND, INSIDE, DEFINES, TITLES, NOT_CITED = (
    "cited", "around a cited clause", "inside a cited clause", "definition", "heading", "not cited",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Row:
    """One clause: its number, heading and own words, and who cites it or a clause around it.

    ``coverage``: cited, inside a cited clause, around a cited clause, definition,
    heading (holds no words of its own), or not cited.
    """

    number: str
    kind: str
    heading: str
    words: str
    lines: tuple[int, int]
    pages: tuple[int, int] | None
    coverage: str
    cited_by: tuple[str, ...]


def coverage(text: Text, citations: Iterable[Citation]) -> tuple[Row, ...]:
    """One row per clause of the text, in order; citations of other texts are left out."""
    cited: dict[int, list[str]] = {}
    for citation in citations:
        if citation.text != text.id:
            continue
        index = index_of(text, citation.clause, citation.quote)
        if index:
            cited.setdefault(index, []).append(citation.by)
    parents = text.outline.parents
    around: set[int] = set()
    for index in cited:
        outer = parents[index]
        while outer > 0 and outer not in around:
            around.add(outer)
            outer = parents[outer]
    inside: set[int] = set()
    rows: list[Row] = []
    for index in range(1, len(parents)):
        parent = parents[index]
        if parent in cited or parent in inside:
            inside.add(index)
        rows.append(_row(text, index, cited, around, inside))
    return tuple(rows)


def _row(text: Text, index: int, cited: dict[int, list[str]], around: set[int],
         inside: set[int]) -> Row:  # fmt: skip
    kind = text.outline.kinds[index]
    words = text.wording.own_words_of(index)
    if index in cited:
        state = CITED
    elif index in inside:
        state = INSIDE
    elif kind == ol.DEFINITION:
        state = DEFINES
    elif not words or kind in (ol.HEADING, ol.PART, ol.ANNEX):
        state = TITLES
    else:
        state = AROUND if index in around else NOT_CITED
    by = tuple(dict.fromkeys(name for name in cited.get(index, []) if name))
    return Row(
        text.name_of(index), kind, text.wording.heading_of(index), words, text.lines_of(index),
        text.pages_of(index), state, by,
    )  # fmt: skip


def coverage_counts(rows: Iterable[Row]) -> dict[str, int]:
    """How many clauses have each coverage, in the order of the list of words for it."""
    counts = dict.fromkeys((CITED, INSIDE, AROUND, DEFINES, TITLES, NOT_CITED), 0)
    for row in rows:
        counts[row.coverage] += 1
    return counts


def coverage_as_data(text: Text, rows: Iterable[Row]) -> dict[str, Any]:
    """Coverage as plain data for JSON: text, counts, and one entry per clause."""
    listed = tuple(rows)
    return {
        "text": {"id": text.id, "title": text.title, "edition": text.edition,
                 "digest": text.digest},
        "counts": coverage_counts(listed),
        "clauses": [
            {"number": row.number, "kind": row.kind, "heading": row.heading, "words": row.words,
             "lines": list(row.lines), "pages": row.pages and list(row.pages),
             "coverage": row.coverage, "cited_by": list(row.cited_by)}
            for row in listed
        ],
    }  # fmt: skip
