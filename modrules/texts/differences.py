"""Word differences between two wordings of a clause."""

from __future__ import annotations

from dataclasses import dataclass
from difflib import SequenceMatcher
from functools import lru_cache

from modrules.texts.words import plain

KEPT, TAKEN_OUT, PUT_IN = "kept", "taken out", "put in"
MOST_WORDS = 1500  # compared word by word; beyond that what differs is shown as one block


@dataclass(frozen=True, slots=True)
class Change:
    """A run of words that was kept, taken out or put in."""

    kind: str
    words: str


@lru_cache(maxsize=65536)
def _plain_word(word: str) -> str:
    return plain(word)


def difference(before: str, after: str) -> tuple[Change, ...]:
    """How the shown words ``before`` became ``after``: runs of words in reading order.

    Words that differ only in typesetting count as the same.
    """
    old, new = before.split(), after.split()
    old_plain, new_plain = [_plain_word(w) for w in old], [_plain_word(w) for w in new]
    start = 0
    while start < min(len(old), len(new)) and old_plain[start] == new_plain[start]:
        start += 1
    end = 0
    while end < min(len(old), len(new)) - start and old_plain[-1 - end] == new_plain[-1 - end]:
        end += 1
    old_end, new_end = len(old) - end, len(new) - end
    changes: list[Change] = []
    _add(changes, KEPT, new[:start])
    if max(old_end, new_end) - start > MOST_WORDS:
        _add(changes, TAKEN_OUT, old[start:old_end])
        _add(changes, PUT_IN, new[start:new_end])
    else:
        matcher = SequenceMatcher(
            None, old_plain[start:old_end], new_plain[start:new_end], autojunk=False
        )
        for kind, a, b, c, d in matcher.get_opcodes():
            if kind == "equal":
                _add(changes, KEPT, new[start + c : start + d])
            else:
                _add(changes, TAKEN_OUT, old[start + a : start + b])
                _add(changes, PUT_IN, new[start + c : start + d])
    _add(changes, KEPT, new[new_end:])
    return tuple(changes)


def _add(changes: list[Change], kind: str, words: list[str]) -> None:
    if not words:
        return
    if changes and changes[-1].kind == kind:
        changes[-1] = Change(kind, f"{changes[-1].words} {' '.join(words)}")
    else:
        changes.append(Change(kind, " ".join(words)))


def as_line(changes: tuple[Change, ...]) -> str:
    """A difference on one line: ``must be [- 50 -] [+ 75 +] mm``."""
    marks = {KEPT: "{}", TAKEN_OUT: "[- {} -]", PUT_IN: "[+ {} +]"}
    return " ".join(marks[change.kind].format(change.words) for change in changes)
