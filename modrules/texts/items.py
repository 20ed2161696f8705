"""Items: (a), (1)(a), a), a., and lists that are printed 1. 2. 3. inside a clause."""

from __future__ import annotations

import re
from dataclasses import dataclass

from modrules.texts import markers as mk
from modrules.texts import outline as ol
from modrules.texts.asides import open_at_end
from modrules.texts.builder import SENTENCE_END, Builder, Open
from modrules.texts.numbers import (
    FIRSTS,
    NEXT_PRINTED,
    follows,
    is_first,
    next_in,
    next_label,
    styles_of,
)
from modrules.texts.references import ends_in_reference, joins

_MORE_ITEMS = re.compile(r"[ \t*_—–]*((?:\([0-9A-Za-z]{1,5}\)[ ]?){1,8})(?=[\s*_A-Z\"“‘]|\Z)")
_BLANK = re.compile(r"_{3,}|\[ {0,3}\]|☐|\.{12,}(?!\s*\S)")
_ITEM = re.compile(r"\(\\?([0-9A-Za-z.-]{1,7})\\?\)")
_ENDS_IN_ITEM = re.compile(r"\([0-9A-Za-z]{1,4}\),?\Z")
_AND_ITEM = re.compile(r",?\s*(?:and|or|to)\s*\(")
_NUMBERS_ALONE = re.compile(r"\)?(?:[ \t]{2,}\([0-9A-Za-z]{1,3}\))+[ \t]*(?=\n|\Z)")
_AFTER_I = re.compile(r"[\s(](ii|j|II|J)\\?[).]|\n[ \t>]{0,20}\(([iI])\)")
MOST_HEADING = 80  # characters of a heading that ends in a full stop
REACH = 2000  # characters looked ahead to tell a roman (i) from the letter after (h)


def past_spaces(body: str, at: int) -> int:
    """Just past spaces, dashes and marks of emphasis."""
    while body[at : at + 1] in (" ", "\t", "*", "_", "—", "–"):
        at += 1
    return at


@dataclass(frozen=True, slots=True)
class Placed:
    """Where an item goes: the depth of its parent, its style, whether it follows, and surely."""

    depth: int
    style: int
    fits: bool = True
    sure: bool = True


def take_items(builder: Builder, marker: mk.Marker) -> bool:
    """Open the item that a marker begins, unless it is a reference; whether it was opened."""
    if marker.kind == mk.ITEMS:
        match = _ITEM.match(marker.label)
        label, series = (match[1] if match else ""), "()"
    else:
        label, series = marker.label, marker.tail + ("1" if marker.label[0].isdigit() else "")
    styles = styles_of(label) if label else ()
    if not styles:
        return False
    if label in FIRSTS:
        open_at_end(builder, marker)
    placed = _place(builder, label, styles, series, marker)
    if "." in label and not placed.fits:
        return False  # (2.1) was put in after (2), or is a quantity
    if marker.inside:
        if not placed.fits:
            return False
        if marker.unsure:
            builder.doubt("possible cross reference", marker.start,
                          f"({label}) stands inside a sentence")  # fmt: skip
    elif not _looks_like_item(builder, marker, label, placed):
        return False
    if marker.items and (same := _open_item(builder, label, series)) > 0:
        builder.close_to(same, marker.start)
        open_items(builder, marker.items, _second(builder.body, marker.start), marker)
        return True
    before = builder.stack[placed.depth + 1].label if placed.depth + 1 < len(builder.stack) else ""
    builder.close_to(placed.depth, marker.start)
    if builder.too_deep(marker):
        return False
    _doubt(builder, marker, label, placed, before)
    if not marker.inside:
        doubt_blank(builder, marker, f"({label})")
    top = builder.stack[-1]
    key = f"Recital {label}" if top.word == "Whereas" else f"{top.base}({label})"
    items, items_at = marker.items, marker.end
    if items:
        items_at = _second(builder.body, marker.start)
    elif marker.kind == mk.ITEMS:
        items, items_at = items_after(builder.body, marker.end)
    opened = builder.add(ol.ITEM, key, marker.start, items_at if items else marker.end)
    opened.series, opened.style = series, placed.style
    opened.lead = top.lead if marker.inside else len(marker.lead)
    if series == "()" and top.word != "Whereas":
        opened.expected = NEXT_PRINTED[placed.style].get(f"({label})", "")
    open_items(builder, items, items_at, marker)
    return True


def doubt_blank(builder: Builder, marker: mk.Marker, printed: str) -> None:
    """Doubt a number whose line has a blank to fill in, and those after it in the same form."""
    line = builder.body[marker.end : marker.end + 200].partition("\n")[0]
    form = series_holder(builder).index
    if _BLANK.search(line) is not None:
        builder.form = form
    if builder.form == form:
        builder.doubt("possible blank of a form", marker.start,
                      f"{printed} may number a blank of a form")  # fmt: skip


def items_after(body: str, at: int) -> tuple[str, int]:
    """Items printed right after a number, as in ``4. (1) (a) A person``, and where they start."""
    more = _MORE_ITEMS.match(body, at)
    first = _ITEM.match(more[1]) if more is not None else None
    if more is None or first is None or first[1] not in FIRSTS:
        return "", at
    return more[1], more.start(1)


def _second(body: str, start: int) -> int:
    """Where the second of several items in a row begins."""
    return body.find("(", body.find(")", start))


def open_items(builder: Builder, items: str, at: int, marker: mk.Marker) -> None:
    """Open the items printed in one go after a number, (b)(ii), of which the first is ``at``."""
    for match in _ITEM.finditer(items.lstrip()) if items else ():
        label, start = match[1], at + match.start()
        styles = styles_of(label)
        if not styles or builder.too_deep(marker):
            return
        opened = builder.add(ol.ITEM, f"{builder.stack[-1].base}({label})", start, at + match.end())
        opened.series, opened.lead = "()", len(marker.lead)
        opened.style = styles[0] if label in FIRSTS else styles[-1]
        builder.cursor = max(builder.cursor, at + match.end())
        opened.expected = NEXT_PRINTED[opened.style].get(f"({label})", "")


def belongs_to_list(builder: Builder, marker: mk.Marker, number: str) -> bool:
    """Whether "1." is an item of a list inside a clause and not a clause of the text.

    Where clauses have a word before their number, as in "Art. 3", a number alone at the
    start of a line is that of a paragraph, if it is the one that comes next.
    """
    clause: Open | None = None
    series: Open | None = None
    for opened in reversed(builder.stack):
        if opened.kind is ol.CLAUSE:
            clause = opened
            if "." not in opened.number:
                break
        elif opened.kind is ol.ITEM and clause is None and series is None:
            if opened.series == marker.tail + "1" and follows(opened.label, number):
                series = opened
        elif opened.kind in (ol.PART, ol.ANNEX, ol.FRONT):
            break
    if clause is None:
        return False
    if not marker.tail:
        first = builder.body[(at := past_spaces(builder.body, marker.end)) : at + 1]
        begins = first.isupper() or first in ('"', "“", "‘", "«")
        other = bool(clause.word) or (clause.number[:1].isalpha() and clause.number.isalnum())
        return other and begins and (series is not None or number == "1")
    if clause.word:
        return True
    top_fits = follows(last_top(builder), number) and clause.level >= 7
    if series is None:
        again = (clause.number, clause.series, clause.lead) == (
            number,
            marker.tail,
            len(marker.lead),
        )
        if again and not leads_in(builder, marker.start):
            return False  # the same number twice, not a list in the clause
        return not top_fits and is_first(number)
    if top_fits and len(marker.lead) == clause.lead and clause.series == marker.tail:
        if len(marker.lead) != series.lead:
            return False
        builder.doubt("level uncertain", marker.start,
                      f"{number}{marker.tail} may go on the list or the clauses")  # fmt: skip
    return True


def last_top(builder: Builder) -> str:
    """The last number of the outermost series, in this schedule or in the body."""
    return series_holder(builder).last


def series_holder(builder: Builder) -> Open:
    """The innermost open schedule, or else the whole text: what the outermost series is in."""
    return next((o for o in reversed(builder.stack) if o.kind is ol.ANNEX), builder.stack[0])


def _doubt(builder: Builder, marker: mk.Marker, label: str, placed: Placed, before: str) -> None:
    if not placed.sure:
        builder.doubt("level uncertain", marker.start, f"({label}) can be read in two ways")
    if not placed.fits:
        after = f"({before})" if before else "nothing"
        builder.doubt("gap in a series", marker.start, f"({label}) comes after {after}")
    if label == "a" and not marker.inside and _after_sentence(builder, marker.start):
        builder.doubt("possible note", marker.start, "(a) follows a sentence that has ended")


def _after_sentence(builder: Builder, at: int) -> bool:
    """Whether what was just opened has more than a heading, and ends in a full stop.

    A list has words that lead into it; without them (a) may be a note at the foot of a page.
    """
    begun = builder.bodies[builder.stack[-1].index]
    # No more is looked at than tells: the words may be those of the whole text so far.
    words = builder.body[max(begun, at - 2 * MOST_HEADING) : at].rstrip(" \t\n>*_")
    return words.endswith(".") and len(words) > MOST_HEADING


def _open_item(builder: Builder, label: str, series: str) -> int:
    for depth in range(len(builder.stack) - 1, 0, -1):
        opened = builder.stack[depth]
        if opened.kind is not ol.ITEM:
            return -1
        if opened.label == label and opened.series == series:
            return depth
    return -1


def _place(builder: Builder, label: str, styles: tuple[int, ...], series: str,
           marker: mk.Marker) -> Placed:  # fmt: skip
    stack = builder.stack
    goes_on: tuple[int, int] | None = None
    repeats: tuple[int, int] | None = None
    parent = len(stack) - 1
    while parent > 0 and stack[parent].kind in (ol.TABLE, ol.ROW):
        parent -= 1
    first = label in FIRSTS
    depth, note = parent, -1
    while depth > 0:
        opened = stack[depth]
        if opened.kind is ol.ITEM:
            if opened.series == series and opened.style in styles:
                if next_in(opened.style, opened.label, label):
                    if goes_on is None or (depth < note and _sets_apart(
                        stack[goes_on[0]], opened, marker)):  # fmt: skip
                        goes_on = depth, opened.style
                elif not first or opened.style == styles[0]:
                    repeats = repeats or (depth, opened.style)
        elif opened.kind in ol.ASIDES:
            note = depth
        elif opened.kind is ol.DEFINITION:
            if first:
                break
        elif opened.kind is ol.HEADING and opened.series:
            if opened.series == series and next_in(opened.style, opened.last, label):
                goes_on = depth, opened.style
            break
        elif opened.kind is not ol.TABLE and opened.kind is not ol.ROW:
            break
        depth -= 1
    if goes_on is not None:
        depth, style = goes_on
        if not first or style == styles[0]:
            return Placed(depth - 1, style)
        nested = _reads_nested(builder, label, marker, stack[depth])  # (i) after (h)
        if nested is None:
            return Placed(depth - 1, style, sure=False)
        return Placed(parent, styles[0]) if nested else Placed(depth - 1, style)
    if (ended := stack[parent].ended) is not None:
        style, ended_series, last = ended
        if style in styles and ended_series == series and next_in(style, last, label):
            return Placed(parent, style, sure=False)  # words between may end a list, or not
    if not first:
        if repeats is not None:
            return Placed(repeats[0] - 1, repeats[1], fits=False)
        return Placed(parent, styles[0], fits=False)
    came_before = note > 0 and note == parent and repeats is None and stack[note].kind is ol.NOTE
    if came_before and not _goes_on(builder, marker):
        return Placed(note - 1, styles[0])  # the note came before the clause's own list
    if repeats is not None and note < 0:
        deeper = len(marker.lead) > stack[parent].lead and not marker.inside
        return Placed(parent if deeper else repeats[0] - 1, styles[0])
    return Placed(parent, styles[0])


def _sets_apart(inner: Open, outer: Open, marker: mk.Marker) -> bool:
    """Whether an item's indentation is that of the list around a note, not of the note's own."""
    return len(marker.lead) == outer.lead != inner.lead


def leads_in(builder: Builder, at: int) -> bool:
    """Whether the words before end as if a list followed."""
    words = builder.body[max(0, at - 20) : at].rstrip().rstrip("*_>").rstrip()
    return words.endswith((":", "—", "–", "--"))


def _goes_on(builder: Builder, marker: mk.Marker) -> bool:
    """Whether a list belongs to the note before it: its words lead in, or nothing parts them."""
    if leads_in(builder, marker.start) or not builder.opens_paragraph(marker):
        return True
    note = builder.starts[builder.stack[-1].index]
    if builder.body[note : marker.start].strip(" >*_\n").isalpha():
        return True  # "Illustrations" stands alone: what it heads is its list
    return ">" in marker.lead and builder.body[note : note + 1] == ">"


def _reads_nested(builder: Builder, label: str, marker: mk.Marker, before: Open) -> bool | None:
    """Look ahead: (ii) means that (i) is roman, (j) that it is the letter; None: unsure.

    Another (i) that comes before may be the first of a list in this one.
    """
    if len(marker.lead) > before.lead and not marker.inside:
        return True
    for match in _AFTER_I.finditer(builder.body, marker.end, marker.end + REACH):
        if match[match.lastindex or 0].islower() == label.islower():
            return None if match[1] is None else match[1] in ("ii", "II")
    return None


def _looks_like_item(builder: Builder, marker: mk.Marker, label: str, placed: Placed) -> bool:
    body, start, fits = builder.body, marker.start, placed.fits
    if marker.kind == mk.ITEMS and _NUMBERS_ALONE.match(body, marker.end - 1):
        return builder.not_taken(marker, f"({label})", "it stands in a row of numbers")
    if not fits and marker.kind == mk.ITEMS and body[marker.end : marker.end + 1].islower():
        return False  # "(s)he": no space, and no series that it would go on
    if marker.level or builder.opens_paragraph(marker):
        if not fits and marker.kind == mk.LIST:
            return builder.not_taken(marker, f"{label}{marker.tail}", "it follows nothing")
        return fits or not label.isalpha() or len(label) <= 3
    if fits and body[start - 2] in ";:—":
        return True
    printed = f"({label})" if marker.kind == mk.ITEMS else f"{label}{marker.tail}"
    before = builder.line_before(start)
    if ends_in_reference(before):
        last = builder.stack[placed.depth + 1] if placed.depth + 1 < len(builder.stack) else None
        if fits and last is not None and last.lead == len(marker.lead) > 0:
            # Set in as the item before it: "before 1990, and" may well end that.
            builder.doubt("possible cross reference", start, f"{printed} follows {before[-12:]!r}")
            return True
        if fits:
            builder.not_taken(marker, printed, "it reads like a cross reference broken over a line")
        return False
    if not fits:
        return builder.not_taken(
            marker, printed, "it stands inside a paragraph and follows nothing"
        )
    if _ENDS_IN_ITEM.search(before):
        if _AND_ITEM.match(body, marker.end):
            return builder.not_taken(marker, printed, "it reads like one of several references")
        builder.doubt("possible cross reference", start, f"{printed} follows another number")
        return True
    if before[-1:] in SENTENCE_END + ",)\"”'’" or joins(before) or builder.after_marker_line(start):
        return True
    if len(marker.lead) > 1 or _is_continued(body, label, placed.style, marker):
        builder.doubt("possible cross reference", start, f"{printed} follows words that do not end")
        return True
    return builder.not_taken(marker, printed, "it stands inside a sentence")


def _is_continued(body: str, label: str, style: int, marker: mk.Marker) -> bool:
    """Whether the next item of the series soon starts a line too."""
    after = next_label(style, label)
    sought = f"({after})" if marker.kind == mk.ITEMS else f"{after}{marker.tail}"
    at = body.find(sought, marker.end, marker.end + REACH) if after else -1
    return at > 0 and not body[body.rfind("\n", 0, at) + 1 : at].strip(" \t>*_-")
