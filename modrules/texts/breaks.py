"""Line breaks that somebody set: where the next word would still have stood on the line.

A text that is wrapped breaks its lines where they are full. A line that ends early, at a
stop or a comma, was ended on purpose: what follows is a paragraph of its own, though no
blank line parts it from the item before it.
"""

from __future__ import annotations

import re
from itertools import pairwise

_FIRST_WORD = re.compile(r"[ \t>]*[\w'’-]+")
AROUND = 900  # characters before and after in which the width of the lines is looked for
NARROW = 45  # hardly anything is wrapped to less
STOPS = ',;.—–"”'
FULL = 0.85  # of that width: a break after so much may be one of wrapping


def was_set(body: str, start: int, least: int = 0) -> bool:
    """Whether the line that starts at ``start`` was parted on purpose from the one before.

    ``least``: to how much lines are taken to be wrapped at least, however short those around are.
    """
    word = _FIRST_WORD.match(body, start)
    before = body.rfind("\n", 0, start - 1) + 1
    length = (word.end() if word is not None else start) - before
    return length <= FULL * _width(body, start, length, least)


def _width(body: str, start: int, length: int, least: int) -> int:
    """How long the lines around are, as far as it matters to a line of some length.

    Only lines that another follows say how long a line may be; and the longest of all may be a
    heading, which is not wrapped, so two must be as long.
    """
    enough = length / FULL
    longest, second = least, least
    after = body[start : start + AROUND].split("\n")
    before = body[max(0, start - AROUND) : start].split("\n")[1:]
    for lines in (after, before):
        for line, following in pairwise(lines):
            if following and len(line) > second:
                longest, second = max(longest, len(line)), min(longest, len(line))
            if second >= enough:
                return second
    return second
