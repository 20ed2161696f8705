"""Notes at the foot of a page: numbered lines to which marks in the words above lead.

They begin again with 1 on every page and would be taken for clauses, and one of them may
stand in the middle of a sentence that goes on on the next page.
"""

from __future__ import annotations

import re

MOST_LINES = 40  # of the notes on a page
_NOTE = re.compile(r"[ \t]*\[?\^?(\d{1,3}|\*{1,3}|†|‡)\]?:?[ \t]+(?=\S)")
_RULE = re.compile(r"[ \t]*[_—–-]{3,}[ \t]*\Z")
_SIGNS = str.maketrans("¹²³⁰⁴⁵⁶⁷⁸⁹", "1230456789")


def notes_at_foot(lines: list[str]) -> int:
    """How many of the last lines of a page are notes at its foot; 0 where it has none.

    Each must follow the one before, and a mark for it must stand in the words above.
    """
    first = _block(lines)
    while first < len(lines):
        marks = [match[1] for line in lines[first:] if (match := _NOTE.match(line)) is not None]
        above = "\n".join(lines[:first]).translate(_SIGNS)
        if marks and _in_order(marks) and all(_is_marked(mark, above) for mark in marks):
            if first and _RULE.match(lines[first - 1]):
                first -= 1
            return len(lines) - first
        first += 1
        while first < len(lines) and _NOTE.match(lines[first]) is None:
            first += 1
    return 0


def _block(lines: list[str]) -> int:
    """Where the last lines without a blank one among them begin with a numbered line."""
    first = len(lines)
    least = max(0, first - MOST_LINES)
    while first > least and lines[first - 1].strip():
        first -= 1
    while first < len(lines) and _NOTE.match(lines[first]) is None:
        first += 1
    return first


def _in_order(marks: list[str]) -> bool:
    numbers = [int(mark) for mark in marks if mark.isdigit()]
    return numbers == list(range(numbers[0], numbers[0] + len(numbers))) if numbers else True


def _is_marked(mark: str, above: str) -> bool:
    """Whether a number stands right behind a word or a bracket, as no number of a clause does."""
    behind = rf"(?<!\d[.,:])(?<=[a-z\])”\"’.,;:]){re.escape(mark)}(?![\w.,]\d)(?!\w)"
    return re.search(rf"{behind}|\[\^?{re.escape(mark)}\]", above) is not None
