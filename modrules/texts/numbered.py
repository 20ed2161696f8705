"""Numbered clauses: 4.2.1, S5.1.2, 12A, 99-1204, 4.2(b)(ii), with or without a word before."""

from __future__ import annotations

import re

from modrules.texts import markers as mk
from modrules.texts import outline as ol
from modrules.texts.breaks import NARROW
from modrules.texts.builder import SENTENCE_END, Builder
from modrules.texts.definitions import open_columns
from modrules.texts.items import (
    MOST_HEADING,
    belongs_to_list,
    doubt_blank,
    items_after,
    last_top,
    open_items,
    series_holder,
    take_items,
)
from modrules.texts.numbers import follows, is_first, split_number
from modrules.texts.references import ends_in_reference, joins
from modrules.texts.tables import CELLS

NO_LEVEL = 7  # ranks a clause without a heading's mark below every heading with one

_UNIT = re.compile(
    r"[ \t]*(?:mm|cm|m|km|kg|t|g|kN|N|kPa|bar|psi|Nm|%|per\s?cent"
    r"|km/h|mph|°|deg|degrees?|inch(?:es)?"
    r"|in|ft|litres?|l|kW|V|seconds?|minutes?|hours?|days?|months?|years?|times|metres?"
    r"|millimetres?|kilograms?|tonnes?|a\.m|p\.m|am|pm)(?!\w)"
)
# "4–7 (repealed)": one clause for several numbers.
_TO_LAST = re.compile(
    r"[ ]?[–—-][ ]?(\d{1,5}[A-Za-z]{0,2})[.:]?[ \t]+[\[(*_]{0,3}"
    r"(?i:repealed|reserved|revoked|deleted|omitted|withdrawn|void|spent|not\s+used|expired)\b"
)
#: What a page prints again above the clause that goes on on it.
_CONTINUED = re.compile(r"[^\n]{0,200}\((?:continued|cont'?d\.?|cont\.)\)[*_ \t]*(?=\n|\Z)", re.I)
_DATE = re.compile(r"\d{4}-\d\d-\d\d\Z")
_DAY = re.compile(r"[ \t]*(?:January|February|March|April|May|June|July|August|September|October"
                  r"|November|December)(?:,?\s+\d{4}\b|[.,;)])")  # fmt: skip
_YEAR = re.compile(r"(?:1[89]|20)\d\d")
_STOPPED_AND = re.compile(r"[;,.]\s+\w+\Z")


def take_number(builder: Builder, marker: mk.Marker) -> bool:
    """Open the clause that a number begins, unless it is a quantity or a reference."""
    number = marker.label.replace("\\", "").rstrip(".-")
    plain_number = number.isalnum() and number[0].isdigit() and not marker.level
    if plain_number and not marker.items and belongs_to_list(builder, marker, number):
        return take_items(builder, marker)
    own = inside_annex(builder, number)
    if _depth_of(builder, own) >= 0 and _CONTINUED.match(builder.body, marker.end) is not None:
        return builder.not_taken(marker, number, "it says that it goes on")
    depth = seek(builder, own, marker)
    fits = is_expected(builder, own, depth)
    sure = marker.level or _TO_LAST.match(builder.body, marker.end) is not None
    if not sure:
        if not _looks_like_clause(builder, marker, number, fits):
            return False
        line = builder.body[marker.end : marker.end + 200].partition("\n")[0]
        if CELLS.search(line.strip()):
            builder.doubt("possible row", marker.start, f"{number} may number a row of a table")
        doubt_blank(builder, marker, number)
        if builder.worded and not builder.annex and builder.stack[depth].kind is not ol.CLAUSE:
            builder.doubt("level uncertain", marker.start, f"{number} has no word before it, as "
                          "the clauses of this text have")  # fmt: skip
    return open_number(builder, marker, own, depth, fits, "")


def inside_annex(builder: Builder, number: str) -> str:
    """B.6.1 in Appendix B is its 6.1."""
    name = builder.annex
    if name and number.startswith(name) and len(number) > len(name) and name.isalpha():
        return number[len(name) :].lstrip(".-") or number
    return number


def seek(builder: Builder, number: str, marker: mk.Marker) -> int:
    """The depth of the open clause that a number goes below."""
    stack = builder.stack
    for depth in range(len(stack) - 1, 0, -1):
        opened = stack[depth]
        kind = opened.kind
        if kind is ol.CLAUSE:
            if _is_below(number, opened.number):
                return depth
        elif kind is ol.PART or kind is ol.ANNEX:
            return depth
        elif kind is ol.HEADING:
            ranked = marker.level and opened.level >= marker.level
            if not ranked and all(
                o.kind is not ol.CLAUSE or _is_below(number, o.number) for o in stack[:depth]
            ):
                return depth
    return 0


def _is_below(number: str, outer: str) -> bool:
    """4.2.1 is below 4.2 and 4; 6.1a is below 6.1."""
    if not number.startswith(outer) or len(number) == len(outer):
        return False
    after = number[len(outer)]
    return after == "." or (after.islower() and len(number) == len(outer) + 1 and "." in number)


def is_expected(builder: Builder, number: str, depth: int) -> bool:
    """Whether a number is the next that one would expect below an open clause."""
    opened = builder.stack[depth]
    head, tail = split_number(number)
    if opened.kind is ol.CLAUSE:
        below = number[len(opened.number) :].lstrip(".-")
        if "." in below:
            return False
        return follows(opened.last, below) if opened.last else is_first(below) or below == "a"
    if head:
        before = builder.last_tails.get(builder.prefix + head)
        return follows(before, tail) if before else is_first(tail)
    last = last_top(builder)
    if builder.restart and is_first(number):
        return True
    return follows(last, number) if last else is_first(number)


def open_number(builder: Builder, marker: mk.Marker, number: str, depth: int, fits: bool,
                word: str) -> bool:  # fmt: skip
    """Open a numbered clause at a depth, and the items printed with its number."""
    body, stack = builder.body, builder.stack
    several = None if marker.items else _TO_LAST.match(body, marker.end)
    if several is not None:
        builder.doubt("several numbers", marker.start,
                      f"{number} to {several[1]} stand together as one clause")  # fmt: skip
    if marker.items:
        items, items_at = marker.items, body.find("(", marker.start)
        again = _depth_of(builder, number)
        if again >= 0:
            builder.close_to(again, marker.start)
            open_items(builder, items, items_at, marker)
            return True
    else:
        items, items_at = items_after(body, marker.end)
    builder.close_to(depth, marker.start)
    if builder.too_deep(marker):
        return False
    builder.worded = builder.worded or word != ""
    if not fits:
        before = builder.last_number if "." in number else last_top(builder)
        builder.doubt(
            "gap in a series", marker.start, f"{number} comes after {before or 'nothing'}"
        )
    parent = stack[depth]
    text_from = items_at if items else marker.end
    if several is not None:
        number, text_from = f"{number}-{several[1]}", several.end(1)
    opened = builder.add(ol.CLAUSE, builder.prefix + number, marker.start, text_from)
    opened.number, opened.level, opened.word = number, marker.level or NO_LEVEL, word
    opened.lead, opened.series = len(marker.lead), marker.tail
    if parent.kind is ol.CLAUSE:
        parent.last = number[len(parent.number) :].lstrip(".-")
    elif "." not in number:
        builder.restart = False
        series_holder(builder).last = several[1] if several is not None else number
    builder.last_number = number
    head, tail = split_number(number)
    if head:
        builder.last_tails[builder.prefix + head] = tail
    open_items(builder, items, items_at, marker)
    if not items:
        open_columns(builder, marker.end)
    return True


def _depth_of(builder: Builder, number: str) -> int:
    for depth in range(len(builder.stack) - 1, 0, -1):
        opened = builder.stack[depth]
        if opened.kind is ol.CLAUSE and opened.number == number:
            return depth
    return -1


def _is_below_heading(body: str, start: int, most: int = MOST_HEADING) -> bool:
    """Whether the line above is short, begins with a capital, and has a blank one above it."""
    line = body.rfind("\n", 0, start - 1) + 1
    words = body[line : start - 1].strip(" \t>*_")
    apart = line < 2 or body[line - 2] == "\n"
    return apart and len(words) <= most and words[:1].isupper() and words[-1:] not in ",;"


def _looks_like_clause(builder: Builder, marker: mk.Marker, number: str, fits: bool) -> bool:
    """Tell a clause's number from a quantity and from a cross reference."""
    body, end, start = builder.body, marker.end, marker.start
    first = body[end : end + 24].lstrip(" \t*_—–:\\")[:1]
    if _DATE.match(number) or _DAY.match(body, end):
        return False
    if body[end : end + 3].strip(" \t") == "|":
        return False  # the first cell of a row
    bare = not marker.tail and not marker.marked and not marker.items
    if bare and _UNIT.match(body, end):
        return False
    apart = builder.opens_paragraph(marker)
    dotted = "." in number or "-" in number or bool(marker.items)
    running = first.isalnum() and not first.isupper()
    if not marker.tail and not dotted and running:
        # "12 persons may": words of the text, though it may be the number that comes next.
        if fits and apart:
            return builder.not_taken(marker, number, "what follows reads like running words")
        return False
    if apart:
        year = bare and not dotted and _YEAR.fullmatch(number) is not None
        if not fits and not marker.tail and (running or year):
            return builder.not_taken(marker, number, "it does not follow and reads like a quantity")
        return True
    before = builder.line_before(start)
    if ends_in_reference(before):
        if fits and marker.tail and not running and _is_below_heading(body, start, NARROW):
            builder.doubt("possible cross reference", start, f"{number} follows {before[-12:]!r}")
            return True
        if fits:
            builder.not_taken(marker, number, "it reads like a cross reference broken over a line")
        return False
    closed = before[-1:] in SENTENCE_END + "\"”'’)"
    stopped_and = joins(before) and _STOPPED_AND.search(before) is not None
    if fits and (closed or stopped_and) and (not running or before[-1:] in ";:—"):
        return True
    above = builder.after_marker_line(start) or len(before) < 40 or _is_below_heading(body, start)
    if fits and not running and above:
        return True
    last = builder.stack[-1]
    below = last.kind is ol.CLAUSE and _is_below(number, last.number)
    if below and not running and builder.after_marker_line(start):
        return True  # right below its heading, though not the first that would come
    line = body[end : end + 100].partition("\n")[0]
    if closed and (dotted or marker.tail) and line.isupper():
        return True  # printed as a heading, though not the number that would come next
    if dotted or marker.tail or (closed and first.isupper()):
        return builder.not_taken(marker, number, "it stands inside a paragraph")
    return False
