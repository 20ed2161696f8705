"""Running lines of a text without page breaks: the same, or alike but for the page's number.

That goes up by one from line to line, or stands at the outer side of each page.

A line is taken for one of a page's only on further evidence, since titles of tables and
forms may repeat in that way too: it cuts a sentence in two, or its words are set apart
at the two sides of the page.
"""

from __future__ import annotations

import re
from itertools import pairwise

from modrules.texts.numbers import ANNEXES, NEUTRAL, PARTS

#: Characters at the start and in the middle that tell whether a text has such lines at
#: all; a page is shorter, so two of them stand in it.
SAMPLE = 12_000
MOST_CHARACTERS = 160  # of such a line
APART = 8  # lines from one to the next, at least
ENOUGH = 3  # of them; two are enough where both cut a sentence

_NO_WORDS = b"0123456789 \t"
_DIGITS = re.compile(r"\d+")
_SIDES = re.compile(r"\S(?: {3,}| *\t\s*)\S")
_AT_A_SIDE = re.compile(r"(\d{1,4}) {3,}(\D+)|(\D+?) {3,}(\d{1,4})")
_TITLES = (*PARTS, *ANNEXES, *NEUTRAL, "Table", "Figure", "Form", "Recital", "Note", "Example",
           "Step", "Question", "Diagram", "Map", "Plate", "Sign")  # fmt: skip
#: What stands before a number that titles a part of the text.
_TITLE = re.compile(
    rf"(?:§|(?:{'|'.join(_TITLES)})\.?)(?:\s+(?:No\.?|[A-Z]{{1,3}}[.-]?))?\s*", re.I
)
_MARKS = b"(#|>*+`"  # no such line begins with one
_ENDS = b".;:,"  # or ends in one
_STOPS = ".;:!?—–"


def running_lines(source: str) -> frozenset[int]:
    """The positions, from 0, of the lines that a page prints again and again."""
    middle = len(source) // 2
    if not any(_alike(source[at : at + SAMPLE]) for at in (0, middle)):
        return frozenset()
    lines = source.split("\n")
    groups: dict[str, list[int]] = {}
    for position in sorted(_alike(source)):
        groups.setdefault(_DIGITS.sub("#", " ".join(lines[position].split())), []).append(position)
    found = {n for group in groups.values() if _run(lines, group) for n in group}
    return frozenset(found | _heads(lines, [n for group in groups.values() for n in group]))


def _heads(lines: list[str], positions: list[int]) -> set[int]:
    """Lines with the number of the page at the outer side: before the words, and after them."""
    heads: dict[str, list[tuple[int, int]]] = {}
    for position in sorted(positions):
        match = _AT_A_SIDE.fullmatch(lines[position].strip())
        if match is not None:
            words, number = match[2] or match[3], match[1] or match[4]
            heads.setdefault(words, []).append((position, int(number)))
    return {
        position
        for found in heads.values()
        if len(found) >= ENOUGH
        and all(a[1] < b[1] and b[0] - a[0] >= APART for a, b in pairwise(found))
        for position, _ in found
    }


def _alike(part: str) -> list[int]:
    """The positions of lines of several words that have the same signs as another, digits aside."""
    encoded = part.encode("utf-8", "surrogatepass")
    lines = encoded.split(b"\n")
    bare = encoded.translate(None, _NO_WORDS).split(b"\n")
    # Mostly there are none, which a set tells quickly; lines without words are told apart.
    empty, unnumbered = bare.count(b""), lines.count(b"")
    if len(set(bare)) - (empty > 0) == len(bare) - empty and empty - unnumbered < 2:
        return []
    groups: dict[bytes, list[int]] = {}
    for position, (line, signs) in enumerate(zip(lines, bare, strict=True)):
        if len(line) != len(signs):
            groups.setdefault(signs, []).append(position)
    return [
        position
        for group in groups.values() if len(group) > 1
        for position in group if _may_run(lines[position].strip())
    ]  # fmt: skip


def _may_run(line: bytes) -> bool:
    """Whether a line looks like a page's: no item, no end of a sentence, no running words."""
    return (
        len(line) <= MOST_CHARACTERS and line[:1] not in _MARKS and line[-1:] not in _ENDS
        and not line[:1].islower()
    )  # fmt: skip


def _run(lines: list[str], group: list[int]) -> bool:
    """Whether lines that are alike but for their numbers are printed by pages."""
    if len(group) < 2 or any(y - x < APART for x, y in pairwise(group)):
        return False
    numbers = [[int(digits) for digits in _DIGITS.findall(lines[n])] for n in group]
    changing = [n for n, column in enumerate(zip(*numbers, strict=True)) if len(set(column)) > 1]
    if not changing:
        return len(group) >= ENOUGH and _is_head(lines, group)
    if len(changing) > 1:
        return False
    column = [row[changing[0]] for row in numbers]
    if column != list(range(column[0], column[0] + len(column))):
        return False
    line = lines[group[0]].strip()
    if may_number(line, changing[0]):
        return False
    cuts = sum(_cuts(lines, position) for position in group)
    if _DIGITS.match(line) and not changing[0]:
        return 2 * cuts > len(group)  # a number at the start may well be a clause's
    if len(group) < ENOUGH:
        return cuts == len(group)
    apart = all(_stands_alone(lines, position) for position in group)
    return cuts > 0 or (apart and _SIDES.search(line) is not None)


def may_number(line: str, column: int) -> bool:
    """Whether a number of a line, by its place among them, may be that of a part of the text."""
    place = list(_DIGITS.finditer(line))[column]
    before, after = line[: place.start()], line[place.end() :]
    dotted = re.search(r"\d\.\Z", before) or re.match(r"\.\d", after)
    return dotted is not None or _TITLE.fullmatch(before) is not None


def _is_head(lines: list[str], group: list[int]) -> bool:
    """Whether a line that is always the same is a page's: it has two sides, or cuts sentences."""
    line = lines[group[0]].strip()
    words = [word for word in re.split(r"[^\w']+", line) if len(word) > 3 and word.isalpha()]
    if _TITLE.match(line) or not words or not all(word[0].isupper() for word in words):
        return False
    below = [position for position in group if lines[position + 1 : position + 2] in ([], [""])]
    cuts = sum(_cuts(lines, position) for position in group)
    return (_SIDES.search(line) is not None and len(below) == len(group)) or cuts >= 2


def _cuts(lines: list[str], position: int) -> bool:
    """Whether a sentence goes on after a line from before it."""
    before = _near(lines, position, -1).rstrip()
    after = _near(lines, position, 1).lstrip()
    return before != "" and before[-1] not in _STOPS and after[:1].islower()


def _near(lines: list[str], position: int, step: int) -> str:
    """The nearest line with words, not more than three away; or ""."""
    for _ in range(3):
        position += step
        if not 0 <= position < len(lines):
            return ""
        if lines[position].strip():
            return lines[position]
    return ""


def _stands_alone(lines: list[str], position: int) -> bool:
    """Whether no words stand right above or below."""
    around = (position - 1, position + 1)
    return not any(lines[n].strip() for n in around if 0 <= n < len(lines))
