"""The table of contents: its lines say again what stands further on, and begin no clauses.

It is known by its heading and by its entries: what it lists begins lines further on, and
it ends where the first of them does. A single line of one is known by the dots that lead
to the number of a page.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterator

from modrules.texts import markers as mk
from modrules.texts.words import LINK

REACH = 40_000  # characters at the start of a text in which its contents have their heading
REACH_ALONE = 10_000  # characters in which one without a heading begins
MOST_LINES = 3000  # of the contents, and of what is looked at after them
MOST_CHARACTERS = 1000  # of a line; what is longer goes on on another
MOST_ENTRY = 120  # characters of an entry, where no heading says that it is one
LEAST = 3  # entries
TRIED = 3  # entries: the first lines may be a head, as Clause and Page
ENOUGH = 0.6  # of the entries must come again
MOST_ASKED = 40  # of them
LONG_ENOUGH = 6  # letters and digits that may be looked for at the start of any line
_HEADING = re.compile(
    r"\n[ \t>#*_]*(?i:(?:table[ ]of[ ]|list[ ]of[ ])?contents"
    r"|arrangement[ ]of[ ](?:the[ ])?[a-z]{4,14}"
    r"|(?:on|in)[ ]this[ ](?:page|guide|document|section|standard|code|manual|part)"
    r"|what[ ]is[ ](?:on|in)[ ]this[ ](?:page|guide|document))[*_:. ]*(?=\n)"
)
_PAGE = re.compile(r"(?:[ \t]*\.[ .\t]*|[ \t]{2,}|\t|[ ])(?:\d{1,4}|[ivxlc]{1,6})\Z")
#: The first of links to places in the text itself needs no heading above it.
_LINKS = re.compile(r"\n[ \t]*(?:[-*+]|\d{1,3}[.)])?[ \t]*\[[^\[\]\n]{1,300}\]\(#")
_OF_LIST = re.compile(r"\A[ \t>*-]*\d{1,3}(?:\.\d{1,3}){0,4}[A-Z]?[.)]?[ \t]+(?=\S)")
_LINE = re.compile(r"[^\n]{1,300}?(?:\.[ ]?){3}\.[ .]*+(?:\d{1,4}|[ivxlc]{1,6})\Z")
_LAST_OF_LINE = frozenset("0123456789ivxlc")
_NO_WORD = re.compile(r"[\W_]+")
_NO_LETTERS = b" \t.:;,()-*#_[]|"


def is_line(body: str, start: int) -> bool:
    """Whether the line from ``start`` on leads with dots to the number of a page."""
    end = body.find("\n", start, start + MOST_CHARACTERS)
    end = len(body) if end < 0 else end
    return (
        start < end <= start + MOST_CHARACTERS
        and body[end - 1] in _LAST_OF_LINE
        and (body.find("..", start, end) >= 0 or body.find(". .", start, end) >= 0)
        and _LINE.match(body, start, end) is not None
    )


def contents(body: str) -> list[mk.Marker]:
    """The table of contents as a stretch to pass over, or none."""
    heading = _HEADING.search(body, 0, REACH)
    links = _LINKS.search(body, 0, REACH) if body.find("](#", 0, REACH) >= 0 else None
    if heading is not None and (links is None or heading.start() < links.start()):
        begin, after = heading.start() + 1, heading.end() + 1
    elif links is not None:
        begin = after = links.start() + 1
    else:
        begin = after = _without_heading(body)
    if not begin:
        return []
    lines = list(_lines_from(body, after))
    bare = [_bare(line) for _, line in lines]
    entries = [_entry(line) for _, line in lines]
    place, first = _begins_again(bare, entries)
    if first < LEAST:
        return []
    later = "".join(bare[first:])
    while place and first > LEAST and not _stands_in(entries[first - 1], later):
        first -= 1  # what heads the first clause again, in other words than there
    asked = entries[: first : 1 + first // MOST_ASKED]
    if sum(_stands_in(entry, later) for entry in asked) < ENOUGH * len(asked):
        return []
    return [mk.Marker(begin, lines[first][0], mk.CONTENTS, "")]


def _without_heading(body: str) -> int:
    """Where lines begin that come again one after the other, as entries do; 0 where none do."""
    part = body[:REACH_ALONE].casefold().encode("utf-8", "surrogatepass")
    lines = part.translate(None, _NO_LETTERS).split(b"\n")
    if len(set(lines)) + LEAST > len(lines) - lines.count(b"") + 1:
        return 0
    places: dict[bytes, list[int]] = {}
    for number, line in enumerate(lines):
        if len(line) >= LONG_ENOUGH:
            places.setdefault(line, []).append(number)
    printed = body[:REACH_ALONE].split("\n")
    entries = [n for n, line in enumerate(lines) if line and _may_list(printed[n])]
    for ones in zip(entries, entries[1:], entries[2:], entries[3:], strict=False):
        again = ones[-1]
        for number in ones:
            later = places.get(lines[number], [])
            place = bisect_right(later, again)
            if place == len(later):
                break
            again = later[place]
        else:
            return sum(len(line) + 1 for line in printed[: ones[0]])
    return 0


def _may_list(line: str) -> bool:
    """Whether a line may be an entry: neither an item of a list nor running words."""
    words = line.lstrip(" \t*+-")
    return (
        len(line) < MOST_ENTRY and words[-1:] not in (".", ";", ":", ",", "-")
        and (words[:1].isupper() or words[:1].isdigit()) and words[1:2] != ")"
    )  # fmt: skip


def _lines_from(body: str, start: int) -> Iterator[tuple[int, str]]:
    """(where it starts, the line) of the lines with words, from ``start`` on."""
    for _ in range(MOST_LINES):
        end = body.find("\n", start, start + MOST_CHARACTERS)
        end = end if end >= 0 else min(len(body), start + MOST_CHARACTERS)
        if _bare(line := body[start:end]):
            yield start, line
        start = end + 1
        if start >= len(body):
            break


def _bare(line: str) -> str:
    return _NO_WORD.sub("", line).casefold()


def _entry(line: str) -> tuple[str, ...]:
    """How an entry may begin its clause: all of its words, or without the number of a page, or
    without that of the list of links in which it stands."""
    words = LINK.sub(r"\1", line).rstrip("*_ ")
    forms = (words, _PAGE.sub("", words), _OF_LIST.sub("", words))
    return tuple(dict.fromkeys(map(_bare, forms)))


def _stands_in(entry: tuple[str, ...], words: str) -> bool:
    return any(form in words for form in entry if form)


def _begins_again(bare: list[str], entries: list[tuple[str, ...]]) -> tuple[int, int]:
    """An entry, the first if it comes again, and the line in which it does; -1 where none does.

    An entry may be broken over several lines there.
    """
    for place, entry in enumerate(entries[:TRIED]):
        for form in entry:
            for again in range(place + LEAST, len(bare)):
                if len(form) >= LONG_ENOUGH and "".join(bare[again : again + 3]).startswith(form):
                    return place, again
    return 0, -1
