"""Pages: running heads, page numbers and page breaks are no words of a text.

A page that ends in the middle of a sentence must not cut the clause in two, so the
lines of all pages are put together as if the text had been printed on one roll; the
line and the page that each line came from are kept.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass

from modrules.texts.contents import is_line
from modrules.texts.footnotes import notes_at_foot
from modrules.texts.markers import DOUBT, Marker
from modrules.texts.numbers import ANNEXES, PARTS
from modrules.texts.running import running_lines

EDGE_LINES = 3  # lines at the top and at the bottom of a page that may be furniture
MOST_TITLE = 60  # characters of a line that may be one
_NOTES_LEFT_OUT = "lines {} to {} are left out: they are notes at the foot of a page"
FULL_LINE = 0.7  # of the page's width: a line that long does not end a paragraph by itself

_PAGE_NUMBER = re.compile(
    r"\s*(?:(?:page|p\.)\s*)?[-–—\[(|]?\s*(?:\d{1,4}|[ivxl]{1,6})\s*[-–—\])|]?"
    r"(?:\s*(?:of|/)\s*\d{1,4})?\s*\Z",
    re.I,
)
# Without page breaks only lines that say so themselves are page numbers.
_NAMED_NUMBER = re.compile(
    r"\n(?:[ \t]*\n)*[ \t]*(?:Page|PAGE)[ \t]+\d{1,4}(?:[ \t]+of[ \t]+\d{1,4})?[ \t]*(?=\n)"
)
_NAMES_PAGES = re.compile(r"P(?:age|AGE)[ \t]")
_AT_A_SIDE = re.compile(
    r"(?<=\S)(?:\s{2,}|\s*\|\s*|\s+(?=page\b))(?:page\s+|p\.\s*)?\d{1,4}(?:\s*(?:of|/)\s*\d{1,4})?\s*\Z"
    r"|\A\s*(?:page\s+)?\d{1,4}(?:\s{2,}|\s*\|\s*)(?=\S)", re.I,
)  # fmt: skip
_DIGITS = re.compile(r"\d+")
# A page that begins with nothing but these begins a part of the text.
_OPENS_PART = re.compile(
    rf"\s*(?i:{'|'.join((*PARTS, *ANNEXES))})\s+"
    r"(?:\d{1,3}[A-Z]?|[A-Z]{1,2}|[IVXLC]{1,7})[.:]?\s*\Z"
)


@dataclass(frozen=True, slots=True)
class Roll:
    """A text on one roll; ``numbers`` and ``pages`` are of each of its lines, from 1.

    ``said``: what the format, or how the text was put together, says about its clauses.
    """

    text: str
    numbers: tuple[int, ...] | None = None
    pages: tuple[int, ...] | None = None
    said: tuple[Marker, ...] = ()


def unrolled(source: str) -> Roll:
    """Put the pages of a text with form feeds together; other texts stay as they are."""
    if "\f" not in source:
        return _without_lines(source)
    pages: list[list[tuple[int, str]]] = []
    line = 1
    for page in source.split("\f"):
        lines = page.split("\n")
        pages.append([(line + n, text) for n, text in enumerate(lines)])
        line += len(lines) - 1
    return join_pages(pages)


def join_pages(pages: list[list[tuple[int, str]]]) -> Roll:
    """Put pages of (line number, line) together, without what repeats at their edges."""
    heads = _repeated(pages)
    roll = _Rolled()
    for number, page in enumerate(pages, 1):
        lines = _without_edges(page, heads)
        notes = notes_at_foot([text for _, text in lines])
        roll.put_page(_trimmed(lines[: len(lines) - notes]), number)
        if notes:
            roll.leave_out(_NOTES_LEFT_OUT.format(lines[-notes][0], lines[-1][0]))
    return roll.finished(paged=True)


class _Rolled:
    """The lines that were put on the roll so far, and what is to be told at the next one."""

    def __init__(self) -> None:
        self.texts: list[str] = []
        self.numbers: list[int] = []
        self.pages: list[int] = []
        self.said: list[Marker] = []
        self.at = 1  # where the next line starts in the body, which begins with a line end
        self.left_out: list[str] = []

    def put_page(self, lines: list[tuple[int, str]], page: int = 0) -> None:
        """Put lines after a break between pages; a paragraph may go on over it."""
        while lines and self.texts and not self.texts[-1].strip():
            self.at -= len(self.texts.pop()) + 1
            self.numbers.pop()
            self.pages.pop()
        if lines and self.texts and not _goes_on(self.texts, [text for _, text in lines[:2]]):
            self._put(lines[0][0], "", page)
        for number, text in lines:
            if self.left_out:
                self._tell(self.at)
            self._put(number, text, page)

    def _put(self, number: int, text: str, page: int) -> None:
        self.texts.append(text)
        self.numbers.append(number)
        self.pages.append(page)
        self.at += len(text) + 1

    def leave_out(self, sentence: str) -> None:
        """What was not put, to be told where the next line stands."""
        self.left_out.append(sentence)

    def _tell(self, at: int) -> None:
        self.said += [Marker(at, at, DOUBT, said, word="line left out") for said in self.left_out]
        self.left_out = []

    def finished(self, paged: bool) -> Roll:
        self._tell(max(1, self.at - 1))
        pages = tuple(self.pages) if paged else None
        return Roll("\n".join(self.texts), tuple(self.numbers), pages, tuple(self.said))


def _edge(page: list[tuple[int, str]], top: bool) -> list[int]:
    """Positions of the first or last few lines of a page that are not blank."""
    order = range(len(page)) if top else range(len(page) - 1, -1, -1)
    found: list[int] = []
    for position in order:
        if page[position][1].strip():
            found.append(position)
            if len(found) == EDGE_LINES:
                break
    return found


def _likeness(text: str) -> str:
    """What a running head is recognised by: its words, without the page's number at a side."""
    return _DIGITS.sub("#", " ".join(_AT_A_SIDE.sub("", text).split()))


def _repeated(pages: list[list[tuple[int, str]]]) -> set[tuple[bool, int, str]]:
    """The lines that stand at the same place at the edge of many pages."""
    counts: Counter[tuple[bool, int, str]] = Counter()
    for page in pages:
        for top in (True, False):
            for place, position in enumerate(_edge(page, top)):
                counts[top, place, _likeness(page[position][1])] += 1
    # Left and right pages may differ, so half of them must do.
    enough = 2 if len(pages) < 5 else max(3, min(4, len(pages) // 2))
    # Items of lists may be alike too; no running head starts or ends as they do.
    return {
        key
        for key, count in counts.items()
        if count >= enough and key[2][-1:] not in ".;:," and key[2][:1] != "("
    }


def _without_edges(
    page: list[tuple[int, str]], heads: set[tuple[bool, int, str]]
) -> list[tuple[int, str]]:
    drop: set[int] = set()
    for top in (True, False):
        for place, position in enumerate(_edge(page, top)):
            text = page[position][1]
            if (top, place, _likeness(text)) in heads or _PAGE_NUMBER.match(text):
                drop.add(position)
            else:
                break
    return _trimmed([line for position, line in enumerate(page) if position not in drop])


def _trimmed(lines: list[tuple[int, str]]) -> list[tuple[int, str]]:
    """Without blank lines at the ends."""
    words = [position for position, (_, text) in enumerate(lines) if text.strip()]
    return lines[words[0] : words[-1] + 1] if words else []


def _goes_on(texts: list[str], following: list[str]) -> bool:
    """Whether the paragraph at the end of a page goes on with the lines that follow."""
    before, after = texts[-1].rstrip(), following[0]
    stopped = before[-1:] in ".;:!?—–" or is_line(before, 0)
    if _OPENS_PART.match(after) or (_is_title(*following) and (stopped or after[:1].isupper())):
        return False
    if not stopped:
        return True
    if after.lstrip()[:1].islower():
        return before[-1:] != "."
    width = max(len(text) for text in texts[-40:])
    return len(before) >= FULL_LINE * width


def _is_title(line: str, below: str = "") -> bool:
    """Whether a line has a paragraph to itself, and does not end as a sentence does."""
    words = line.strip()
    alone = not below.strip() and len(words) <= MOST_TITLE
    return alone and (words[:1].isupper() or words[:1].isdigit()) and words[-1:] not in ".;:,"


def _without_lines(source: str) -> Roll:
    """A text without page breaks, without the lines that only a page has."""
    named = _named_numbers(source) if _NAMES_PAGES.search(source) else set[int]()
    running = running_lines(source)
    if not named and not running:
        return Roll(source)
    lines = source.split("\n")
    roll = _Rolled()
    begin = 0
    for end in (*sorted(named | running), len(lines)):
        page = _trimmed([(position + 1, lines[position]) for position in range(begin, end)])
        notes = notes_at_foot([text for _, text in page]) if running else 0
        roll.put_page(_trimmed(page[: len(page) - notes]))
        if notes:
            roll.leave_out(_NOTES_LEFT_OUT.format(page[-notes][0], page[-1][0]))
        if end in running:
            roll.leave_out(_left_out(end + 1, lines[end]))
        begin = end + 1
    return roll.finished(paged=False)


def _left_out(line: int, text: str) -> str:
    words = " ".join(text.split())
    return f"line {line}, {words!r}, is left out: it repeats from page to page"


def _named_numbers(source: str) -> set[int]:
    """The positions of lines that say themselves that they are the number of a page."""
    found: set[int] = set()
    line = counted = 0
    for match in _NAMED_NUMBER.finditer("\n" + source):
        line += source.count("\n", counted, match.end() - 1)
        counted = match.end() - 1
        found.add(line)
    return found
