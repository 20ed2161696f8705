"""Parts, schedules, tables, and clauses whose number has a word before it."""

from __future__ import annotations

import re

from modrules.texts import outline as ol
from modrules.texts.builder import SENTENCE_END, Builder
from modrules.texts.items import MOST_HEADING, open_items
from modrules.texts.markers import Marker
from modrules.texts.numbered import inside_annex, is_expected, open_number, seek
from modrules.texts.numbers import ANNEXES, ORDINALS, PARTS, follows, is_first, next_in, styles_of
from modrules.texts.references import ends_in_reference
from modrules.texts.tables import rows_after

_ARTICLES = re.compile(r"\n[#* ]*(?:Article|ARTICLE)[ \t]+\d")
_SECTION_SIGNS = re.compile(r"\n[#* ]*§")
_APPENDIX_OF = re.compile(
    r"[ \t]*[—–-]{1,2}[ \t]*(?:Appendix|APPENDIX)[ \t]+([A-Z]{1,2}|\d{1,3}|[IVX]{1,5})\b"
)
# The end of a line that goes on with a reference, which a heading does not end in.
_SENTENCE_TO = re.compile(
    r"\b(?:of|in|to|by|with|under|at|and|or|see|from|than|per|for|the|both)\Z"
)


def part_words(body: str) -> frozenset[str]:
    """The words that open parts in a text: sections hold articles in one, articles § in another."""
    words = set(PARTS) - {"Section"}
    if _SECTION_SIGNS.search(body) is not None:
        words.add("Article")
    elif _ARTICLES.search(body) is not None:
        words.add("Section")
    return frozenset(words)


def open_word(builder: Builder, marker: Marker) -> bool:
    """Open what ``Part 2``, ``Schedule 3``, ``Article 7``, ``§ 4`` or ``Table 2`` begins."""
    word = marker.word.capitalize()
    word = "Figure" if word == "Fig" else word
    if word == "Whereas":
        builder.close_to(0, marker.start)
        opened = builder.add(ol.PART, "Recitals", marker.start, marker.start)
        opened.word = "Whereas"
        return True
    if not _stands_alone(builder, marker):
        return False
    number = marker.label.replace("\\", "").rstrip(".-")
    if word in ANNEXES:
        _open_annex(builder, marker, "Annex" if word == "Annexe" else word, number)
        return True
    if number in ORDINALS:
        _open_part(builder, marker, word, number)
        return True
    if word in ("Table", "Figure"):
        _open_table(builder, marker, f"{word} {number}")
        return True
    if word == "Recital":
        return open_number(builder, marker, f"Recital {number}", 0, True, word)
    if word in builder.part_words or (word in PARTS and number.isalpha()):
        _open_part(builder, marker, word, number)
        return True
    if _points_back(builder, marker):
        return builder.not_taken(marker, f"{marker.word} {number}", "below the head of a schedule "
                                 "it tells for which clause that is")  # fmt: skip
    own = inside_annex(builder, number)
    depth = seek(builder, own, marker)
    return open_number(builder, marker, own, depth, is_expected(builder, own, depth), word)


def _points_back(builder: Builder, marker: Marker) -> bool:
    """Whether a clause is named alone on the line below the head of a schedule."""
    top, body = builder.stack[-1], builder.body
    below = top.kind is ol.ANNEX and not body[builder.bodies[top.index] : marker.start].strip()
    return below and not body[marker.end : marker.end + 200].partition("\n")[0].strip(" .*_")


def _name(word: str, number: str) -> str:
    """``Part 2``, ``First Part``, ``Schedule``."""
    return f"{number} {word}" if number in ORDINALS else f"{word} {number}".rstrip()


def _stands_alone(builder: Builder, marker: Marker) -> bool:
    """Tell "Part 3 — Brakes" from "Part 3 applies to" at the start of a line."""
    if marker.level:
        return True
    body = builder.body
    line_end = body.find("\n", marker.end)
    rest = body[marker.end : line_end if line_end >= 0 else len(body)]
    if not marker.label or marker.label in ORDINALS:
        return builder.opens_paragraph(marker) and len(rest) <= MOST_HEADING and rest[-1:] != "."
    words = rest.lstrip(" \t*_")
    printed = f"{marker.word} {marker.label}{marker.items}"
    separated = bool(marker.tail) or words[:1] in ("", "—", "–", "-", ":", ".", "(", "[")
    if not separated and not words[:1].isupper() and words[:1] not in "\"'“‘":
        if builder.opens_paragraph(marker):
            builder.not_taken(marker, printed, "what follows reads like running words")
        return False
    if builder.opens_paragraph(marker):
        return True
    before = builder.line_before(marker.start)
    if _SENTENCE_TO.search(before):
        return builder.not_taken(marker, printed, "it reads like a cross reference")
    if before[-1:] in SENTENCE_END or builder.after_marker_line(marker.start):
        return True
    if len(before) < 40 and not ends_in_reference(before) and before[-1:] not in ",(":
        return True
    return builder.not_taken(marker, printed, "it stands inside a paragraph")


def _open_annex(
    builder: Builder, marker: Marker, word: str, number: str, alone: bool = False
) -> None:
    stack = builder.stack
    within = _APPENDIX_OF.match(builder.body, marker.end)
    if within is not None and word == "Annex" and not alone:
        if not any(o.kind is ol.ANNEX and o.word == word and o.number == number for o in stack):
            _open_annex(builder, marker, word, number, alone=True)
        word, number = "Appendix", within[1]
    depth = 0
    for position, opened in enumerate(stack):
        titled = opened.kind is ol.HEADING and marker.level and opened.level < marker.level
        holds = opened.kind is ol.ANNEX and word == "Appendix" and opened.word == "Annex"
        if (titled and depth == max(0, position - 1)) or holds:
            depth = position
    builder.close_to(depth, marker.start)
    outer = next((o for o in reversed(stack) if o.kind is ol.ANNEX), None)
    key = (outer.base + ", " if outer else "") + _name(word, number)
    text_from = within.end() if within is not None and not alone else marker.end
    opened = builder.add(ol.ANNEX, key, marker.start, text_from)
    opened.word, opened.level, opened.number = word, marker.level, number
    builder.prefix, builder.annex, builder.last_number = key + ", ", number, ""
    if marker.items:
        open_items(builder, marker.items, builder.body.find("(", marker.start), marker)


def _open_part(builder: Builder, marker: Marker, word: str, number: str) -> None:
    stack = builder.stack
    depth = len(stack) - 1
    same = [n for n, opened in enumerate(stack) if opened.kind is ol.PART and opened.word == word]
    if same:
        depth = same[0] - 1
    else:
        while depth > 0:
            opened = stack[depth]
            if opened.kind is ol.ANNEX or (opened.kind is ol.PART and opened.word != "Whereas"):
                break
            if opened.kind is ol.HEADING and opened.level < marker.level:
                break
            depth -= 1
    builder.close_to(depth, marker.start)
    _leave_annex(builder)
    key = builder.prefix + _name(word, number)
    series = builder.prefix + word
    before = builder.last_parts.get(series, "")
    if number not in ORDINALS and not _comes_next(before, number):
        after = f"{word} {before}" if before else "nothing"
        builder.doubt("gap in a series", marker.start, f"{word} {number} comes after {after}")
    builder.last_parts[series] = number
    opened = builder.add(ol.PART, key, marker.start, marker.end)
    opened.word, opened.level = word, marker.level
    builder.restart = True


def _comes_next(before: str, number: str) -> bool:
    """Whether a part has the number that one would expect: parts of a part begin again with 1."""
    if is_first(number):
        return True
    if not before:
        return False
    return follows(before, number) or any(
        next_in(style, before, number) for style in styles_of(number)
    )


def _leave_annex(builder: Builder) -> None:
    if not any(opened.kind is ol.ANNEX for opened in builder.stack):
        builder.prefix = builder.annex = ""


def _open_table(builder: Builder, marker: Marker, key: str) -> None:
    """A table by its caption; its rows are counted as they are printed."""
    body, stack = builder.body, builder.stack
    depth = len(stack) - 1
    while depth > 0 and stack[depth].kind in (ol.TABLE, ol.ROW):
        depth -= 1
    builder.close_to(depth, marker.start)
    drawn = key.startswith("Figure")  # which has no rows
    rows, end, doubt = ([], marker.end, "") if drawn else rows_after(body, marker.end)
    builder.add(ol.TABLE, key, marker.start, marker.end)
    table = len(stack) - 1
    for number, (at, line_end) in enumerate(rows, 1):
        builder.close_to(table, at)
        if doubt:
            builder.doubt("rows of a table", at, doubt)
        builder.add(ol.ROW, f"{key}, row {number}", at, at)
        builder.cursor = line_end
    if rows:
        builder.close_to(table, end)
        builder.give(end)
        builder.skip = end
        builder.cursor = max(builder.cursor, end)
