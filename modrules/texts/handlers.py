"""What to do with each kind of marker; headings, fenced blocks and what is passed over."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

from modrules.texts import markers as mk
from modrules.texts import outline as ol
from modrules.texts.asides import take_aside
from modrules.texts.builder import Builder
from modrules.texts.definitions import doubt_more, take_marked, take_plain
from modrules.texts.divisions import open_word
from modrules.texts.items import take_items
from modrules.texts.numbered import take_number
from modrules.texts.paragraphs import take_closing, take_paragraph
from modrules.texts.quotations import CLAUSES, quoted_numbers
from modrules.texts.unnumbered import open_heading

_FENCE_END = {"`": "\n```", "~": "\n~~~"}


def _take_title(builder: Builder, marker: mk.Marker) -> bool:
    open_heading(builder, marker.start, marker.end, marker.label, marker.level)
    return True


def _take_underline(builder: Builder, marker: mk.Marker) -> bool:
    """A line of === or --- below a line of words makes that line a heading."""
    body, start = builder.body, marker.start
    line_from = body.rfind("\n", 0, start - 1) + 1
    words = body[line_from : start - 1]
    apart = line_from < 2 or body[line_from - 2 : line_from] == "\n\n"
    if apart and words.strip() and builder.starts[-1] < line_from and len(words) < 200:
        level = 1 if marker.label[0] == "=" else 2
        open_heading(builder, line_from, marker.end, words, level)
    return True


def _take_fence(builder: Builder, marker: mk.Marker) -> bool:
    """Markers in a fenced block are no clauses."""
    close = builder.body.find(_FENCE_END[marker.label[0]], marker.end)
    builder.skip = len(builder.body) if close < 0 else close + 4
    builder.cursor = builder.skip
    return True


def _take_quotation(builder: Builder, marker: mk.Marker) -> bool:
    """What is numbered in a quotation is none of the text's own clauses; each is doubted."""
    kinds = (*CLAUSES, mk.NOTE)
    builder.not_taken(marker, "a quotation with numbers", "what it quotes is another's")
    for quoted in quoted_numbers(builder.body, marker.start, marker.end, kinds):
        printed = builder.body[quoted.start : quoted.end].strip()
        builder.not_taken(quoted, printed, "it stands in a quotation")
    builder.skip = max(builder.skip, marker.end)
    return False


def _take_contents(builder: Builder, marker: mk.Marker) -> bool:
    """What stands in a table of contents is told once, and is nothing but words."""
    builder.doubt("table of contents", marker.start, "what stands from here to the next clause is "
                  "taken for a table of contents", 0)  # fmt: skip
    builder.skip = max(builder.skip, marker.end)
    return True


def _take_paragraph(builder: Builder, marker: mk.Marker) -> bool:
    top = builder.stack[-1]
    if take_plain(builder, marker):
        return True
    take_paragraph(builder, marker)
    if top.kind is ol.DEFINITION and builder.stack[-1] is top:
        doubt_more(builder, marker)
    return True


def _take_line(builder: Builder, marker: mk.Marker) -> bool:
    return take_plain(builder, marker) or take_closing(builder, marker)


HANDLERS: Mapping[int, Callable[[Builder, mk.Marker], bool]] = MappingProxyType({
    mk.ITEMS: take_items, mk.LIST: take_items, mk.NUMBER: take_number, mk.WORD: open_word,
    mk.NOTE: take_aside, mk.DEFINITION: take_marked, mk.TITLE: _take_title,
    mk.FENCE: _take_fence, mk.UNDERLINE: _take_underline,
    mk.PARAGRAPH: _take_paragraph, mk.CLOSING: _take_line, mk.QUOTATION: _take_quotation,
    mk.CONTENTS: _take_contents,
})  # fmt: skip
