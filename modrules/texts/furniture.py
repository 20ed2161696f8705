"""Pages: running heads, page numbers and page breaks are no words of a text.

A page that ends in the middle of a sentence must not cut the clause in two, so the
lines of all pages are put together as if the text had been printed on one roll; the
line and the page that each line came from are kept.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass

from modrules.texts.markers import DOUBT, Marker
from modrules.texts.numbers import ANNEXES, PARTS
from modrules.texts.running import running_lines

EDGE_LINES = 3  # lines at the top and at the bottom of a page that may be furniture
MOST_TITLE = 60  # characters of a line that may be one
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
    texts: list[str] = []
    numbers: list[int] = []
    on_page: list[int] = []
    for page_number, page in enumerate(pages, 1):
        lines = _without_edges(page, heads)
        if not lines:
            continue
        if texts and not _goes_on(texts, [text for _, text in lines[:2]]):
            texts.append("")
            numbers.append(lines[0][0])
            on_page.append(page_number)
        for number, text in lines:
            texts.append(text)
            numbers.append(number)
            on_page.append(page_number)
    return Roll("\n".join(texts), tuple(numbers), tuple(on_page))


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
    """What a running head is recognised by: its words, with or without the page's number at a side."""
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
    lines = [line for position, line in enumerate(page) if position not in drop]
    while lines and not lines[0][1].strip():
        del lines[0]
    while lines and not lines[-1][1].strip():
        lines.pop()
    return lines


def _goes_on(texts: list[str], following: list[str]) -> bool:
    """Whether the paragraph at the end of a page goes on with the lines that follow."""
    before, after = texts[-1].rstrip(), following[0]
    if _OPENS_PART.match(after) or _is_title(*following):
        return False
    if before[-1:] not in ".;:!?—–":
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
    texts: list[str] = []
    numbers: list[int] = []
    said: list[Marker] = []
    at = 1  # where the next line starts in the body, which begins with a line end
    breaking = False
    left_out: list[str] = []
    lines = source.split("\n")
    for position, text in enumerate(lines):
        if position in running or position in named:
            while texts and not texts[-1].strip():
                at -= len(texts.pop()) + 1
                numbers.pop()
            breaking = True
            if position in running:
                left_out.append(_left_out(position + 1, text))
            continue
        if breaking and not text.strip():
            continue
        if breaking and texts and not _goes_on(texts, lines[position : position + 2]):
            texts.append("")
            numbers.append(position + 1)
            at += 1
        breaking = False
        said += [Marker(at, at, DOUBT, sentence, word="line left out") for sentence in left_out]
        left_out = []
        texts.append(text)
        numbers.append(position + 1)
        at += len(text) + 1
    end = max(1, at - 1)
    said += [Marker(end, end, DOUBT, sentence, word="line left out") for sentence in left_out]
    return Roll("\n".join(texts), tuple(numbers), None, tuple(said))


def _left_out(line: int, text: str) -> str:
    words = " ".join(text.split())
    return f"line {line}, {words!r}, is left out: it repeats, each time with the next number"


def _named_numbers(source: str) -> set[int]:
    """The positions of lines that say themselves that they are the number of a page."""
    found: set[int] = set()
    line = counted = 0
    for match in _NAMED_NUMBER.finditer("\n" + source):
        line += source.count("\n", counted, match.end() - 1)
        counted = match.end() - 1
        found.add(line)
    return found
