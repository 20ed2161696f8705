"""Line breaks that somebody set: where the next word would still have stood on the line.

A text that is wrapped breaks its lines where they are full. A line that ends early, at a
stop or a comma, was ended on purpose: what follows is a paragraph of its own, though no
blank line parts it from the item before it.
"""

from __future__ import annotations

import re

_FIRST_WORD = re.compile(r"[ \t>]*[\w'’-]+")
AROUND = 900  # characters before and after in which the width of the lines is looked for
NARROW = 45  # nothing is wrapped to less
FULL = 0.85  # of that width: a break after so much may be one of wrapping


def was_set(body: str, start: int) -> bool:
    """Whether the line that starts at ``start`` was parted on purpose from the one before."""
    word = _FIRST_WORD.match(body, start)
    before = body.rfind("\n", 0, start - 1) + 1
    length = (word.end() if word is not None else start) - before
    return length <= FULL * _width(body, start, length)


def _width(body: str, start: int, length: int) -> int:
    """How long the lines around are, as far as it matters to a line of some length."""
    enough = length / FULL
    widest = NARROW
    for line in body[start : start + AROUND].split("\n")[:-1]:
        widest = max(widest, len(line))
        if widest >= enough:
            return widest
    for line in body[max(0, start - AROUND) : start].split("\n")[1:]:
        widest = max(widest, len(line))
    return widest
