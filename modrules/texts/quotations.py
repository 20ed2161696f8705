"""Quotations over several lines: what is numbered in them is no clause of the text.

An act that amends another prints the words that it puts there, and a rule may say what a
sign must read. A number that starts a line of such words is another document's.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence

from modrules.texts import markers as mk

REACH = 4000  # characters in which a quotation must end; one that does not is none
MOST_LEAD = 100  # characters before the mark that opens a paragraph of one
CLAUSES = (mk.ITEMS, mk.LIST, mk.NUMBER, mk.WORD)
_BEFORE_OPENING = " \t\n([—–:*_>"
_PLAIN, _OPENING, _CLOSING = '"', "“", "”"


def quotations(body: str, within: Sequence[tuple[int, int]]) -> list[mk.Marker]:
    """Each quotation with a number at the start of a line in it: from where to where."""
    return [
        mk.Marker(start, end, mk.QUOTATION, "", inside=True)
        for start, end in within
        if any(quoted_numbers(body, start, end))
    ]


def unquoted(found: list[mk.Marker], within: Sequence[tuple[int, int]]) -> list[mk.Marker]:
    """Lists inside a paragraph without those that begin in a quotation."""
    starts = [start for start, _ in within]

    def quoted(marker: mk.Marker) -> bool:
        before = bisect_left(starts, marker.start)
        return before > 0 and marker.start < within[before - 1][1]

    return [marker for marker in found if not quoted(marker)]


def quoted_numbers(
    body: str, start: int, end: int, kinds: tuple[int, ...] = CLAUSES
) -> Iterator[mk.Marker]:
    """What would begin clauses if it did not stand between quotation marks."""
    for match in mk.CANDIDATE.finditer(body, start, end):
        marker = mk.marker_of(match)
        if marker.kind in kinds:
            yield marker


def stretches(body: str) -> Iterator[tuple[int, int]]:
    """The quotations of a text; each of their paragraphs may open anew, and others stand within."""
    opened, inner = -1, 0
    marks = (_PLAIN, _OPENING, _CLOSING)
    for at in sorted(place for mark in marks for place in _places(body, mark)):
        if opened >= 0 and at - opened > REACH:
            opened, inner = -1, 0
        if _opens(body, at):
            if opened < 0 or (body[at] == _PLAIN and not _starts_line(body, at)):
                opened, inner = at, 0
            elif body[at] == _OPENING and (body[at - 1] == _OPENING or not _starts_line(body, at)):
                inner += 1
        elif inner and body[at] == _CLOSING:
            inner -= 1
        elif opened >= 0:
            yield opened, at + 1
            opened = -1


def _places(body: str, mark: str) -> Iterator[int]:
    at = body.find(mark)
    while at >= 0:
        yield at
        at = body.find(mark, at + 1)


def _opens(body: str, at: int) -> bool:
    if body[at] != _PLAIN:
        return body[at] == _OPENING
    after = body[at + 1 : at + 2]
    return body[at - 1] in _BEFORE_OPENING and bool(after) and not after.isspace()


def _starts_line(body: str, at: int) -> bool:
    line = body.rfind("\n", max(0, at - MOST_LEAD), at)
    return line >= 0 and not body[line + 1 : at].strip(" \t>*_")
