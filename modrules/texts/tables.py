"""Tables: which lines below a caption are its rows, and which of them are its head."""

from __future__ import annotations

import re
from typing import NamedTuple

_LINE = re.compile(r"[ \t]*(?:\||\+[-=+]+|.*\S(?:\t| {2,}| ?\| ?)\S)")
_RULE = re.compile(r"[ \t|:+=-]*-[ \t|:+=-]*\Z|[ \t=]+\Z")
#: A gap that sets the words of a line in columns.
CELLS = re.compile(r"\S(?: {3,}+|\t)\s*+\S")
_APART = re.compile(r"\t+| {2,}")
_DOTTED = re.compile(
    r"[ \t]*(?:[A-Z]{1,2}\.)?\d{1,3}(?:\.\d{1,3})+\.?[ \t]|[ \t]*[A-Z]\.\d{1,3}[ \t]"
)
_ORDINAL = re.compile(r"\(?(\d{1,4})[.)]?\Z")
#: Words that stand for a value, though they hold no digit.
_VALUES = frozenset(
    {"none", "nil", "no", "yes", "any", "all", "n/a", "-", "–", "—", "unlimited", "not limited"}
)
MOST_LOOKED_AT = 40  # rows that tell whether the first line is unlike them

_NO_HEAD = "nothing sets a head apart: the first line is counted as row 1"
_A_HEAD = "nothing sets a head apart: the first line is taken for one and not counted"
_HEAD_INSIDE = "a line that may be a head stands among the rows, and is counted"


class Rows(NamedTuple):
    """The rows of a table as (start, end) in the body, where it ends, and what is in doubt."""

    rows: list[tuple[int, int]]
    end: int
    doubt: str = ""


def rows_after(body: str, caption: int) -> Rows:
    """The rows of data below a caption that ends at ``caption``, as they are printed."""
    at = body.find("\n", caption) + 1
    if at == 0:
        return Rows([], len(body))
    at = _past_title(body, caption, at)
    while at < len(body) and body[at] == "\n":
        at += 1
    barred = "|" in body[at : body.find("\n", at)]
    lines: list[tuple[int, int]] = []
    rules: list[int] = []  # how many lines stand above each
    while at < len(body):
        stop = body.find("\n", at)
        stop = len(body) if stop < 0 else stop
        line = body[at:stop]
        if _RULE.match(line):
            rules.append(len(lines))
        elif _LINE.match(line[:400]):
            lines.append((at, stop))
        elif line or barred or (lines and not _goes_on(body, stop, body[slice(*lines[-1])])):
            break  # bars are closed by a blank line; columns alone may have one inside
        at = stop + 1
    if not lines:
        return Rows([], at)
    head, doubt = _head([body[slice(*line)] for line in lines[:MOST_LOOKED_AT]], rules, barred)
    return Rows(lines[head:], min(lines[-1][1] + 1, len(body)), doubt)


def end_of_columns(body: str, start: int) -> int:
    """Where a table without a caption ends that begins at ``start``; ``start`` where none does.

    Its first line has three cells, and so has each other, or two, or it goes on the one before.
    """
    at, lines, wide = start, 0, 0
    while at < len(body):
        stop = body.find("\n", at)
        stop = len(body) if stop < 0 else stop
        cells = len(_cells(body[at:stop][:400])) if body[at:stop].strip() else 0
        if not cells or (not lines and cells < 3):
            break
        wide += cells > 2
        lines += 1
        at = stop + 1
    return at if lines > 2 and wide > lines // 2 else start


def _goes_on(body: str, blank: int, row: str) -> bool:
    """Whether a row like the one before a blank line comes after it, and not a clause's number."""
    line = body[blank + 1 : blank + 400].partition("\n")[0]
    if _LINE.match(line) is None or _DOTTED.match(line) is not None:
        return False
    return len(_cells(line)) >= max(2, len(_cells(row)))


def _past_title(body: str, caption: int, at: int) -> int:
    """Past a title that has the line below ``Table 1`` to itself."""
    stop = body.find("\n", at)
    if body[caption:at].strip(" \t\n*_.:—–-") or stop < 0 or not body[at:stop].strip():
        return at
    titled = not _LINE.match(body[at:stop][:400]) and body[stop + 1 : stop + 2] == "\n"
    return stop + 1 if titled else at


def _head(lines: list[str], rules: list[int], barred: bool) -> tuple[int, str]:
    """How many lines are the head, and what is in doubt about it.

    A rule below the first lines sets them apart; among bars a rule above them all says
    that there is no head.
    """
    ruled = next((above for above in rules if above), 0)
    if barred and rules:
        inside = any(above > rules[0] for above in rules[1:])
        return rules[0], _HEAD_INSIDE if inside else ""
    if 0 < ruled < len(lines):
        return ruled, ""
    cells = [_cells(line) for line in lines]
    title = 1 if len(cells) > 1 and len(cells[0]) == 1 < len(cells[1]) else 0
    first, others = cells[title], cells[title + 1 :]
    if not others:
        return title, _NO_HEAD  # a head of nothing is less likely
    if _is_next(first[0], others[0][0]):
        return title, ""  # the rows are numbered, and this is the one before the next
    columns = range(min(map(len, (first, *others))))
    measured = [n for n in columns if all(_has_digit(row[n]) for row in others)]
    digits = [n for n in measured if _has_digit(first[n])]
    if measured and all(n in digits or first[n].lower() in _VALUES for n in measured):
        return title, _NO_HEAD
    return title + 1, "" if measured and not digits else _A_HEAD


def _cells(line: str) -> list[str]:
    """The cells of a line, without marks of emphasis; at least one."""
    line = line.strip()
    parts = line.strip("|").split("|") if "|" in line else _APART.split(line)
    return [part.strip(" \t*_") for part in parts]


def _is_next(before: str, after: str) -> bool:
    x, y = _ORDINAL.match(before), _ORDINAL.match(after)
    return x is not None and y is not None and int(y[1]) == int(x[1]) + 1


def _has_digit(cell: str) -> bool:
    return any(map(str.isdigit, cell))
