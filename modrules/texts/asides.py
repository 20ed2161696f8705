"""What stands beside a clause and has lists of its own: notes, provisos, steps."""

from __future__ import annotations

import re

from modrules.texts import markers as mk
from modrules.texts import outline as ol
from modrules.texts.builder import SENTENCE_END, Builder, Open
from modrules.texts.numbers import BINDING, DIGITS, NOTES, next_label

_AT_END = re.compile(
    r"(?<=[.;:!?] )({})s?(?: (\d{{1,3}}))?[*_]*\s?[:—–]\Z".format(
        "|".join(word.capitalize() for word in NOTES)
    )
)
REACH = 2000  # characters in which the list that it stands in goes on
_OF_SECTION = re.compile(r"\b(?:this|the)\s+(?:section|clause|regulation|rule|article)\b", re.I)
_OF_PART = re.compile(r"\bthis\s+(?:sub-?\s?\w+|paragraph|item)\b", re.I)
#: Those that qualify all that the section or the sub-section says, whatever list they follow.
_OF_SECTIONS = ("explanation", "illustration", "exception")


def take_aside(builder: Builder, marker: mk.Marker) -> bool:
    """A note, an example, a proviso, a step: the lists in it are its own."""
    stack = builder.stack
    apart = builder.opens_paragraph(marker)
    if not apart and not builder.after_marker_line(marker.start):
        printed = builder.body[marker.start : marker.end]
        certain = printed.isupper() or printed.endswith("entry") or stack[-1].kind in ol.BESIDE
        if not certain and builder.line_before(marker.start)[-1:] not in SENTENCE_END + ")":
            return False
    depth = _depth_for(builder, marker, apart)
    if depth + 1 < len(stack) and stack[depth + 1].kind is ol.ITEM:
        item = stack[depth + 1]
        stack[depth].ended = (item.style, item.series, item.label)
    builder.close_to(depth, marker.start)
    if builder.too_deep(marker):
        return False
    opened = _open(builder, marker.word, marker.label, marker.start)
    opened.lead = len(marker.lead)
    return True


def open_at_end(builder: Builder, marker: mk.Marker) -> None:
    """Open a note whose word ends the line before its list: it is the note's."""
    match = _AT_END.search(builder.line_before(marker.start))
    if match is not None and not builder.too_deep(marker):
        start = builder.body.rfind(match[1], 0, marker.start)
        _open(builder, match[1].lower(), match[2] or "", start)


def _open(builder: Builder, word: str, number: str, start: int) -> Open:
    """Put one below the innermost open clause; of several without a number each has its own."""
    around = builder.stack[-1]
    if not number and word == "proviso":
        around.provisos += 1
        number = str(around.provisos) if around.provisos > 1 else ""
    name = f"{word} {number}".rstrip()
    key = f"{around.base}, {name}" if around.base else name
    return builder.add(word if word in BINDING else ol.NOTE, key, start, start)


def _depth_for(builder: Builder, marker: mk.Marker, apart: bool) -> int:
    """The depth of the clause that it stands beside."""
    stack = builder.stack
    depth = len(stack) - 1
    if apart or stack[depth].kind is not ol.TABLE:  # right below its rows, it is the table's
        while depth > 0 and stack[depth].kind in ol.BESIDE:
            depth -= 1
    for lower in range(depth, 0, -1):
        if stack[lower].kind in ol.ASIDES:
            depth = lower - 1
    while stack[depth].kind in (ol.ITEM, ol.DEFINITION) and stack[depth].lead > len(marker.lead):
        depth -= 1
    inner = depth
    if marker.word == "proviso":
        while stack[depth].kind is ol.ITEM and stack[depth].style != DIGITS:
            depth -= 1
    elif marker.word in _OF_SECTIONS:
        begins = builder.body[marker.end : marker.end + 120]
        numbered = _OF_PART.search(begins) is not None
        while stack[depth].kind is ol.ITEM and not (numbered and stack[depth].style == DIGITS):
            depth -= 1
        if _OF_SECTION.search(begins) is not None:
            return depth
    last = stack[inner]
    item = last.kind is ol.ITEM and (last.style != DIGITS or not _goes_on(builder, marker, last))
    beside = ">" in marker.lead or len(marker.lead) >= last.lead
    if depth < inner or (item and beside):
        builder.doubt("level uncertain", marker.start, f"the {marker.word} may be about the whole "
                      "clause, or about the last item alone")  # fmt: skip
    return depth


def _goes_on(builder: Builder, marker: mk.Marker, item: Open) -> bool:
    """Whether the next item of a list comes soon: then what stands between is about this one."""
    after = next_label(item.style, item.label)
    return after != "" and builder.body.find(f"\n({after})", marker.end, marker.end + REACH) > 0
