"""Quotations over several lines: what is numbered in them is no clause of the text.

An act that amends another prints the words that it puts there, and a rule may say what a
sign must read. A number that starts a line of such words is another document's.
"""

from __future__ import annotations

from collections.abc import Iterator

from modrules.texts import markers as mk

REACH = 4000  # characters in which a quotation must end; one that does not is none
_CLAUSES = (mk.ITEMS, mk.LIST, mk.NUMBER, mk.WORD)
_BEFORE_OPENING = " \t\n([—–:*_>"
_PLAIN, _OPENING, _CLOSING = '"', "“", "”"


def quotations(body: str) -> list[mk.Marker]:
    """Each quotation with a number at the start of a line in it: from where to where."""
    return [
        mk.Marker(start, end, mk.QUOTATION, "", inside=True)
        for start, end in _stretches(body)
        if any(quoted_numbers(body, start, end))
    ]


def quoted_numbers(body: str, start: int, end: int) -> Iterator[mk.Marker]:
    """What would begin clauses if it did not stand between quotation marks."""
    for match in mk.CANDIDATE.finditer(body, start, end):
        marker = mk.marker_of(match)
        if marker.kind in _CLAUSES:
            yield marker


def _stretches(body: str) -> Iterator[tuple[int, int]]:
    """The quotations that go over a line's end; each of their paragraphs may open anew."""
    opened = -1
    for at in sorted(
        place for mark in (_PLAIN, _OPENING, _CLOSING) for place in _places(body, mark)
    ):
        if opened >= 0 and at - opened > REACH:
            opened = -1
        if _opens(body, at):
            if opened < 0 or not _starts_line(body, at):
                opened = at
        elif opened >= 0:
            if body.find("\n", opened, at) >= 0:
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
    return not body[body.rfind("\n", 0, at) + 1 : at].strip(" \t>*_")
