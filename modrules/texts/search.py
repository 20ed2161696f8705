"""Searching a text: the clauses in which words stand."""

from __future__ import annotations

from modrules.texts.text import Clause, Text
from modrules.texts.words import clean, plain

MOST_FOUND = 200


def search(text: Text, words: str, most: int = MOST_FOUND) -> tuple[Clause, ...]:
    """The clauses in whose own words, heading or number all of ``words`` stand, in order.

    Capitals do not matter and parts of words count; the clauses around and inside a
    clause that is found are not found for that alone. At most ``most`` are given.
    """
    wanted = plain(clean(words)).casefold().split()
    found: list[Clause] = []
    if not wanted:
        return ()
    whole = text.wording.joined[0].casefold()
    if not all(word in whole or any(word in key.casefold() for key in text.outline.by_key)
               for word in wanted):  # fmt: skip
        return ()
    for index in range(1, len(text.outline.keys)):
        own = f"{text.outline.keys[index]} {text.wording.plain_own_words_of(index)}".casefold()
        if all(word in own for word in wanted):
            found.append(text.clause_at(index))
            if len(found) == most:
                break
    return tuple(found)
