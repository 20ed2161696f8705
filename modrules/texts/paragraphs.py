"""Words between markers: closing lines and plain headings.

Only a paragraph that starts after a blank line, or a line set further out than the
item before it, can be anything but more words of the clause that is open.
"""

from __future__ import annotations

import re
from functools import lru_cache

from modrules.texts import markers as mk
from modrules.texts import outline as ol
from modrules.texts.breaks import NARROW, STOPS, was_set
from modrules.texts.builder import Builder
from modrules.texts.numbered import NO_LEVEL, inside_annex, is_expected, seek
from modrules.texts.numbers import DIGITS, next_in
from modrules.texts.references import ends_in_reference
from modrules.texts.tables import CELLS, end_of_columns
from modrules.texts.unnumbered import open_heading

_LINKS = frozenset({"and", "or", "and/or", "; and", "; or", "but", "then"})
_NEXT_ITEM = re.compile(r"\s{0,20}\((\d{1,3}(?:\.\d{1,2})?[A-Z]{0,2})\)")
MOST_HEADING = 90
CENTRED = 10  # spaces before a heading in the middle of the line
_TWO_SENTENCES = re.compile(r"[a-z]{2}[.!?] [A-Z]")
#: A paragraph that may be numbered in a way of its own: ``Box 3.``, ``Form R1:``, ``c1)``.
_NAMED = re.compile(
    r"(?:[A-Z][a-z]{1,12}|[A-Z]{1,6}|[a-z])[ .-]{0,2}[A-Z]?\d{1,4}[a-z]?[.:)]+(?=\s)"
)
_FORMULA = frozenset("=≤≥<>×÷±")
PLAIN_LEVEL = 6  # rank of a heading without a mark among Markdown's levels


def look_between(builder: Builder, start: int, stop: int) -> None:
    """Look for a line set further out than the open item, up to where the next marker stands."""
    top = builder.stack[-1]
    if top.kind is ol.ITEM and top.lead > 0 and builder.body.find("\n", start, stop - 1) >= 0:
        _dedented(builder, start, stop)


def take_paragraph(builder: Builder, marker: mk.Marker) -> bool:
    """Say whose words a paragraph is that no marker begins; it opens nothing but headings."""
    body, begin = builder.body, marker.start
    line_end = body.find("\n", begin)
    line_end = len(body) if line_end < 0 else line_end
    line = body[begin:line_end]
    text = line.lstrip(" \t>")
    lead = len(line) - len(text)
    first = text[:1]
    if first == "|":
        _leave_table(builder, begin)
        return True
    if text.strip("*_ .:").lower() == "table":
        builder.doubt("table without a number", begin, "a table that bears no number, and is no "
                      "clause of its own", builder.stack[-1].index)  # fmt: skip
    if first and CELLS.search(text) is not None:
        end = end_of_columns(body, begin)
        if end > begin:
            builder.doubt("table without a number", begin, "lines in columns: no number in them is "
                          "taken for a clause", builder.stack[-1].index)  # fmt: skip
            builder.skip = max(builder.skip, end)
            _leave_table(builder, begin)
            return True
    if not first or _take_heading(builder, begin, line_end, text, lead):
        return True
    if builder.stack[-1].kind in (ol.ITEM, *ol.BESIDE):
        _closing(builder, begin, lead, text)
    if marker.kind == mk.PARAGRAPH and (named := _NAMED.match(text)) is not None:
        builder.not_taken(
            marker, named[0].strip(), "no word that this index knows stands before it"
        )
    return True


def take_closing(builder: Builder, marker: mk.Marker) -> bool:
    """Say whose words a line is that nothing but its break sets apart; it is always in doubt."""
    body, begin = builder.body, marker.start
    top = builder.stack[-1]
    if body[begin - 2] == ":":
        return False  # words that lead into a line end nothing
    if top.kind is ol.ITEM and len(marker.lead) < top.lead:
        _dedented(builder, begin - 1, begin + len(marker.lead) + 2)
    elif top.kind is ol.ITEM and was_set(body, begin, NARROW) and not _refers(builder, begin):
        line_end = body.find("\n", begin)
        text = body[begin : line_end if line_end >= 0 else len(body)].lstrip(" \t>")
        builder.doubt("closing words", begin,
                      "a line after a list that nothing but its break sets apart",
                      top.index)  # fmt: skip
        # Without a stop before it only the lines around tell that the break was set.
        if body[begin - 2] in STOPS or was_set(body, begin):
            _closing(builder, begin, len(marker.lead), text)
    return False


def _refers(builder: Builder, begin: int) -> bool:
    """Whether a line goes on with references: ``paragraphs (a)`` / ``and (b) say``."""
    before = builder.line_before(begin)
    return before[-1:] == ")" or ends_in_reference(before)


def _take_heading(builder: Builder, begin: int, line_end: int, text: str, lead: int) -> bool:
    body, top = builder.body, builder.stack[-1]
    if not _is_heading(builder, text, lead):
        return False
    after = mk.CANDIDATE.match(body, line_end)
    if after is not None and mk.marker_of(after).kind == mk.UNDERLINE:
        return True  # it will be taken for a heading by its underline
    below = body[line_end + 1 : line_end + 200].partition("\n")[0]
    titled = (text.isupper() and " " in text) or (
        below.isupper()
        and body[line_end + len(below) + 2 : line_end + len(below) + 3] in ("", "\n")
    )
    if (
        below
        and not titled
        and (after is None or ends_in_reference(text.rstrip("*_ ")) or _is_stray(builder, after))
    ):
        if after is None and _is_set_title(body, text, line_end, below):
            builder.doubt("heading by its looks", begin, f"{text.strip()[:60]!r} may be a heading, "
                          "and is taken for words", top.index)  # fmt: skip
        return False  # the sentence goes on, be it with a number: "under section / 41 of"
    if top.kind in (ol.ANNEX, ol.PART, ol.CLAUSE) and not (
        body[builder.bodies[top.index] : begin].strip()
    ):
        return True  # the heading of what was just opened
    if text.count(" ") >= 2 and _leads_in(body, line_end):
        builder.doubt("heading by its looks", begin,
                      f"{text.strip()[:60]!r} is taken for words that lead into a list",
                      top.index)  # fmt: skip
        return False
    series = _series_after(builder, line_end)
    sure = text.isupper() and not (below and after is None)
    if not sure and not _introduces(builder, begin, line_end, series is not None):
        words = text.strip()[:60]
        builder.doubt("heading by its looks", begin, f"{words!r} is taken for a heading")
    if series is None:
        open_heading(builder, begin, line_end, text, PLAIN_LEVEL)
    else:
        depth, label = series
        style, printed = builder.stack[depth].style, builder.stack[depth].series
        builder.close_to(depth - 1, begin)
        open_heading(builder, begin, line_end, text, NO_LEVEL + 1)
        note = builder.stack[-1]
        note.style, note.series, note.last = style, printed, label
    return True


def _is_set_title(body: str, text: str, line_end: int, below: str) -> bool:
    """Whether a short line has a whole paragraph right below it, which begins anew."""
    whole = len(below) >= NARROW and below[0].isupper()
    return whole and text.count(" ") < 8 and was_set(body, line_end + 1)


def _is_stray(builder: Builder, match: re.Match[str]) -> bool:
    """Whether a line begins with a number that no clause would have here: ``next / 30 June``."""
    marker = mk.marker_of(match)
    number = inside_annex(builder, marker.label.rstrip(".-"))
    return (
        marker.kind == mk.NUMBER and not marker.level
        and not is_expected(builder, number, seek(builder, number, marker))
    )  # fmt: skip


def _leads_in(body: str, line_end: int) -> bool:
    """Whether an item follows whose words begin small: the sentence goes on in it."""
    after = line_end
    while body.startswith("\n\n", after):
        after += 1
    match = mk.CANDIDATE.match(body, after)
    marker = mk.marker_of(match) if match is not None else None
    if marker is None or marker.kind not in (mk.ITEMS, mk.LIST, mk.NUMBER) or marker.level:
        return False
    return body[marker.end : marker.end + 20].lstrip(" \t*_")[:1].islower()


def _introduces(builder: Builder, begin: int, line_end: int, goes_on: bool) -> bool:
    """Whether a line stands between a sentence that has ended and the number that comes next.

    The title of a part, which ends in no stop, is as good as a sentence. Such a line can
    be nothing but a heading, be it a note in the margin.
    """
    body = builder.body
    before = begin - 1
    while before > 0 and body[before] in " \t\n>*_":
        before -= 1
    top = builder.stack[-1]
    title = body[builder.starts[top.index] : before] if top.kind in (ol.PART, ol.ANNEX) else "\n\n"
    if body[before] not in ".;:!?" and "\n\n" in title:
        return False
    if goes_on:
        return True
    after = line_end
    while body.startswith("\n\n", after):
        after += 1
    match = mk.CANDIDATE.match(body, after)
    marker = mk.marker_of(match) if match is not None else None
    if marker is None or marker.kind != mk.NUMBER:
        return False
    number = inside_annex(builder, marker.label.rstrip(".-"))
    return is_expected(builder, number, seek(builder, number, marker))


def _series_after(builder: Builder, end: int) -> tuple[int, str] | None:
    """The open item that goes on after a heading, as a note between (1) and (2) is, or None.

    Returns its depth on the stack and its label.
    """
    match = _NEXT_ITEM.match(builder.body, end)
    if match is None:
        return None
    for depth in range(len(builder.stack) - 1, 0, -1):
        opened = builder.stack[depth]
        if opened.kind is ol.ITEM and opened.series == "()" and opened.style == DIGITS:
            if next_in(DIGITS, opened.label, match[1]):
                return depth, opened.label
        elif opened.kind not in (ol.ITEM, ol.DEFINITION):
            break
    return None


def _is_heading(builder: Builder, text: str, lead: int) -> bool:
    """A short line on its own that starts with a capital and does not end like a sentence."""
    text = text.rstrip("*_ ")
    if len(text) > MOST_HEADING or not text or text[-1] in ".;:,!—–" or text[0] in "(|-+*>`<![":
        return False
    if not text[0].isupper() and not text[0].isdigit():
        return False
    if text.count(" ") > 11 or text[0].isdigit() or not _FORMULA.isdisjoint(text):
        return False
    if _TWO_SENTENCES.search(text) is not None or CELLS.search(text) is not None:
        return False
    if lead >= CENTRED and text.isupper():
        return True
    top = builder.stack[-1]
    return not (top.kind in (ol.ITEM, ol.DEFINITION) and lead > top.lead)


def _closing(builder: Builder, begin: int, lead: int, text: str) -> None:
    """Words after the last item of a list belong to the clause that holds the list."""
    stack = builder.stack
    if text.strip("*_ .").lower() in _LINKS:
        return
    depth = len(stack) - 1
    while stack[depth].kind in (ol.TABLE, ol.ROW):
        depth -= 1
    top = stack[depth]
    moved = depth < len(stack) - 1
    if top.kind in ol.ASIDES and lead <= top.lead:
        depth, moved = depth - 1, True
        top = stack[depth]
    if top.kind is ol.ITEM:
        outdented = False
        while stack[depth].kind is ol.ITEM and stack[depth].lead > lead:
            depth, outdented = depth - 1, True
        if stack[depth].kind is ol.ITEM and stack[depth].lead == lead:
            depth = _flat_closing(builder, depth, begin, text, nested=outdented)
        moved = moved or depth < len(stack) - 1
    if moved:
        last = stack[depth + 1] if depth + 1 < len(stack) else None
        if last is not None and last.kind is ol.ITEM:
            stack[depth].ended = (last.style, last.series, last.label)
        builder.close_to(depth, begin)
        builder.give(begin)


def _leave_table(builder: Builder, begin: int) -> None:
    """Bars below a table that has ended are those of another one, in the clause around it."""
    depth = len(builder.stack) - 1
    while builder.stack[depth].kind in (ol.TABLE, ol.ROW):
        depth -= 1
    if depth < len(builder.stack) - 1:
        builder.close_to(depth, begin)
        builder.give(begin)


def _flat_closing(builder: Builder, depth: int, begin: int, text: str, nested: bool) -> int:
    """Without indentation to go by: a small letter goes on the sentence around the list."""
    stack = builder.stack
    item = stack[depth]
    numbered = item.style == DIGITS and (item.series == "()" or stack[depth - 1].word)
    begun = builder.bodies[item.index]
    small = builder.body[begun : begun + 20].lstrip(" *_")[:1].islower()
    if numbered and not (small and text[:1].islower()):
        return depth  # a second paragraph of (1), as a rule
    if text[:1].islower():
        if nested or (stack[depth - 1].kind is ol.ITEM and stack[depth - 1].style != DIGITS):
            builder.doubt(
                "closing words",
                begin,
                "a closing line after nested items may belong further up",
                stack[depth - 1].index,
            )
        return depth - 1
    while stack[depth].kind is ol.ITEM and stack[depth].style != DIGITS:
        depth -= 1
    builder.doubt(
        "closing words",
        begin,
        "a paragraph after a list may belong to its last item",
        stack[depth].index,
    )
    return depth


@lru_cache(maxsize=64)
def _further_out(lead: int) -> re.Pattern[str]:
    return re.compile(rf"\n[ \t]{{0,{min(lead, 60) - 1}}}(?=[^\s>|])")


def _dedented(builder: Builder, start: int, stop: int) -> None:
    """A line set further out than its item, right after it, closes the list."""
    body, stack = builder.body, builder.stack
    top = stack[-1]
    match = _further_out(top.lead).search(body, start, stop - 1)
    if match is None:
        return
    line = match.end()
    before = builder.line_before(match.start() + 1)
    if before[-1:] not in ";,.:—–" and not before.endswith((" and", " or")):
        return  # the sentence goes on: only its first line was indented
    lead = match.end() - match.start() - 1
    depth = len(stack) - 1
    while stack[depth].kind is ol.ITEM and stack[depth].lead > lead:
        depth -= 1
    begin = match.start() + 1
    builder.close_to(depth, begin)
    builder.give(begin)
    if body[line : line + 1].isupper() and before[-1:] == ".":
        builder.doubt(
            "closing words",
            begin,
            "a line set further out after a list may belong to its last item",
            stack[depth].index,
        )
