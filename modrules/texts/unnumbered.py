"""Headings without a number: by a mark, by an underline, or by their looks."""

from __future__ import annotations

import re

from modrules.texts import outline as ol
from modrules.texts.builder import Builder
from modrules.texts.citations import heading_key
from modrules.texts.definitions import open_columns
from modrules.texts.numbered import inside_annex

_NEXT_NUMBER = re.compile(r"\n[ \t>]*(?:#{1,6}[ \t]+)?[*_]{0,3}([A-Z]{0,4}[.-]?\d[\dA-Za-z.-]*)")
_RECITALS = frozenset({"recital", "recitals", "whereas"})  # headings whose items are recitals
REACH = 4000  # characters after a heading in which the next number is looked for


def _coming_number(builder: Builder, end: int) -> str:
    """The next number that starts a line soon after ``end``; "" where there is none."""
    if builder.coming_at < end:
        # What was found is kept, so that the text is gone through once for all headings.
        later = _NEXT_NUMBER.search(builder.body, end)
        builder.coming_at = later.start() if later else len(builder.body) + REACH
        builder.coming = later[1].rstrip(".") if later else ""
    near = builder.coming_at - end <= REACH
    return inside_annex(builder, builder.coming) if near and builder.coming else ""


def open_heading(builder: Builder, start: int, end: int, words: str, level: int) -> None:
    """Open a heading: it closes what its rank closes, but no clause that goes on after it."""
    stack = builder.stack
    coming = _coming_number(builder, end)
    depth = len(stack) - 1
    while depth > 0:
        opened = stack[depth]
        if opened.kind is ol.CLAUSE and coming.startswith(opened.number + "."):
            break
        holds = opened.kind in (ol.CLAUSE, ol.PART, ol.ANNEX, ol.HEADING)
        if holds and opened.level < level:
            break
        depth -= 1
    builder.close_to(depth, start)
    if len(stack) >= ol.MOST_DEEP:
        return
    key = heading_key(words) or "untitled heading"
    base = next((o.base for o in reversed(stack) if o.kind in (ol.CLAUSE, ol.ANNEX, ol.PART)), "")
    opened = builder.add(ol.HEADING, key, start, start)
    opened.level, opened.base = level, base or key
    if key in _RECITALS:
        opened.word = "Whereas"
    builder.cursor = max(builder.cursor, end)
    open_columns(builder, start)
