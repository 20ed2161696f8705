"""Pages: running heads, page numbers and page breaks are no words of a text.

A page that ends in the middle of a sentence must not cut the clause in two, so the
lines of all pages are put together as if the text had been printed on one roll; the
line and the page that each line came from are kept.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass
from typing import NamedTuple, TypeAlias

from modrules.texts.contents import is_line
from modrules.texts.footnotes import notes_at_foot
from modrules.texts.markers import DOUBT, Marker
from modrules.texts.numbers import ANNEXES, PARTS, roman
from modrules.texts.running import may_number, running_lines

EDGE_LINES = 3  # lines at the top and at the bottom of a page that may be furniture
MOST_TITLE = 60  # characters of a line that may be one
_NOTES_LEFT_OUT = "lines {} to {} are left out: they are notes at the foot of a page"
FULL_LINE = 0.7  # of the page's width: a line that long does not end a paragraph by itself

_PAGE_NUMBER = re.compile(
    r"\s*+(?:(?:page|p\.)\s*+)?(?:[-–—\[(|]\s*+)?(\d{1,4}|[ivxl]{1,6})\s*[-–—\])|]?"
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
    counted = _counted(pages)
    roll = _Rolled()
    for head in heads.values():
        if head.sure and not _page_number(head.words):
            roll.tell_once(head)
    for number, page in enumerate(pages, 1):
        lines, above, below = _without_edges(page, number, heads, counted)
        roll.left_out += above
        roll.put_page(lines, number)
        roll.left_out += below
    return roll.finished(paged=True)


class _Rolled:
    """The lines that were put on the roll so far, and what is to be told at the next one."""

    def __init__(self) -> None:
        self.texts: list[str] = []
        self.numbers: list[int] = []
        self.pages: list[int] = []
        self.said: list[Marker] = []
        self.at = 1  # where the next line starts in the body, which begins with a line end
        self.left_out: list[str] = []  # what was not put, to be told where the next line stands

    def put_page(self, lines: list[tuple[int, str]], page: int = 0, notes: bool = True) -> None:
        """Put the lines of a page but for the notes at its foot, if it may have any."""
        foot = notes_at_foot([text for _, text in lines]) if notes else 0
        self._put_lines(_trimmed(lines[: len(lines) - foot]), page)
        if foot:
            self.left_out.append(_NOTES_LEFT_OUT.format(lines[-foot][0], lines[-1][0]))

    def _put_lines(self, lines: list[tuple[int, str]], page: int) -> None:
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

    def tell_once(self, head: _Head) -> None:
        """What is left out from page to page is told for the whole text."""
        sentence = f"{_left_out(head.line, head.words)}, on {len(head.sure)} pages"
        told = Marker(0, 0, DOUBT, sentence, word="line left out")
        if told not in self.said:
            self.said.append(told)

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
    return _DIGITS.sub("#", _bare(text))


def _bare(text: str) -> str:
    return " ".join(_AT_A_SIDE.sub("", text).split())


class _Head(NamedTuple):
    """A line that stands at one place at the edge of many pages, and where it does first."""

    line: int
    words: str
    sure: frozenset[int]  # the pages, from 1, on which nothing but the page's number is another
    unsure: frozenset[int]


_Key: TypeAlias = "tuple[bool, int, str]"  # at the top, how far from the edge, what it is like


def _repeated(pages: list[list[tuple[int, str]]]) -> dict[_Key, _Head]:
    """The lines that stand at the same place at the edge of many pages."""
    places: dict[_Key, list[tuple[int, int]]] = {}
    for number, page in enumerate(pages, 1):
        for top in (True, False):
            for place, position in enumerate(_edge(page, top)):
                key = top, place, _likeness(page[position][1])
                places.setdefault(key, []).append((number, position))
    # Left and right pages may differ, so half of them must do.
    enough = 2 if len(pages) < 5 else max(3, min(4, len(pages) // 2))
    heads: dict[_Key, _Head] = {}
    for key, found in places.items():
        # Items of lists may be alike too; no running head starts or ends as they do.
        if len(found) < enough or key[2][-1:] in (*".;:,",) or key[2][:1] == "(":
            continue
        lines = {number: pages[number - 1][position] for number, position in found}
        # Titles come again here and there; a head comes again on the next page, or the one after.
        near = [n for n in lines if not lines.keys().isdisjoint((n - 2, n - 1, n + 1, n + 2))]
        sure, unsure = _told_apart({n: lines[n][1] for n in near}, outermost=key[1] == 0)
        if sure or unsure:
            heads[key] = _Head(*lines[min(sure | unsure)], sure, unsure)
    return heads


def _told_apart(lines: dict[int, str], outermost: bool) -> tuple[frozenset[int], frozenset[int]]:
    """The pages on which a line is surely the page's, and those on which it may be; no others.

    Its numbers must be the same on another page, or go up with the pages. Where they do
    neither, or one may be that of a clause, it is in doubt; titles of parts are none.
    """
    numbers = {n: [int(digits) for digits in _DIGITS.findall(_bare(text))]
               for n, text in lines.items()}  # fmt: skip
    columns = range(max((len(row) for row in numbers.values()), default=0))
    same = [Counter(row[column] for row in numbers.values()) for column in columns]
    counting = [Counter(row[column] - n for n, row in numbers.items()) for column in columns]
    sure: set[int] = set()
    unsure: set[int] = set()
    for n, text in lines.items():
        changing = [c for c in columns if same[c][numbers[n][c]] < 2]
        if any(may_number(_bare(text), column) for column in changing):
            continue
        counts = all(counting[c][numbers[n][c] - n] > 1 for c in changing)
        begins = bool(changing) and re.match(r"\s*\d+\s+[^\W\d]", _bare(text)) is not None
        if outermost or not begins:
            (sure if counts and not begins else unsure).add(n)
    return frozenset(sure), frozenset(unsure)


def _counted(pages: list[list[tuple[int, str]]]) -> Counter[int]:
    """How often a number at the edge of a page is ahead of the count of pages by how much."""
    counted: Counter[int] = Counter()
    for number, page in enumerate(pages, 1):
        edges = {*_edge(page, top=True), *_edge(page, top=False)}
        values = {_page_number(page[position][1]) for position in edges}
        counted.update(value - number for value in values if value)
    return counted


def _page_number(text: str) -> int:
    """The number that a line has to itself; 0 where it has none."""
    match = _PAGE_NUMBER.match(text)
    if match is None:
        return 0
    return int(match[1]) if match[1].isdigit() else roman(match[1].lower())


def _without_edges(
    page: list[tuple[int, str]], number: int, heads: dict[_Key, _Head], counted: Counter[int]
) -> tuple[list[tuple[int, str]], list[str], list[str]]:
    """The lines of a page without those of every page; what is to be told of them, at both ends."""
    drop: set[int] = set()
    told: dict[bool, list[str]] = {True: [], False: []}
    for top in (True, False):
        for place, position in enumerate(_edge(page, top)):
            line, text = page[position]
            head = heads.get((top, place, _likeness(text)))
            value = _page_number(text)
            if head is not None and number in head.unsure and not value:
                told[top].append(_left_out(line, text))
            elif value and counted[value - number] < 2:
                told[top].append(f"line {line}, {text.strip()!r}, is left out: it looks like the "
                                 "number of a page")  # fmt: skip
            elif not value and (head is None or number not in head.sure):
                break
            drop.add(position)
    kept = _trimmed([line for position, line in enumerate(page) if position not in drop])
    return kept, told[True], told[False]


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
        roll.put_page(page, notes=bool(running))
        if end in running:
            roll.left_out.append(_left_out(end + 1, lines[end]))
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
