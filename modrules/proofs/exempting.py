"""Clauses that exempt from a demand, and the clauses from which they do so by name.

    exempting(text, clause) -> Exempting | None

A clause exempts where it says that something does not apply, need not be, is exempt, holds except
that, or is so despite another clause. By words alone: nobody has understood it yet.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from modrules.texts import Clause, Text

_NOUN: Final = (
    r"(?:sub-?)?(?:clause|section|article|regulation|rule|paragraph|item|part|chapter|schedule)s?"
)
_ITEMS: Final = r"(?:\s?\([0-9A-Za-z]{1,4}\))"
_NUMBER: Final = rf"(?:[A-Z]?\d+[A-Za-z]?(?:\.\d+[A-Za-z]?)*{_ITEMS}*|{_ITEMS}+)"
_ONE: Final = rf"(?:{_NOUN}\s+)?{_NUMBER}"
_JOIN: Final = r"(?:\s*,\s*(?:and\s+|or\s+)?|\s+(?:and|or|to)\s+)(?:from\s+)?"
_NAMED: Final = rf"(?P<named>{_ONE}(?:{_JOIN}{_ONE})*)"
_THIS: Final = rf"(?P<this>this\s+{_NOUN})"
_OF: Final = r"(?:the\s+)?(?:(?:requirements?|limits?|rules?|provisions?)\s+(?:of|in)\s+)?"
_NOT_APPLY: Final = r"(?:do|does|shall|will)\s+not\s+apply\b"
_NEED_NOT: Final = r"\bneeds?\s+not\b"
_COMPLY: Final = r"(?:comply\s+with|conform\s+(?:to|with)|meet|satisfy|observe|follow)"
_DESPITE: Final = r"\b(?:despite|notwithstanding)\s+"

#: Words by which a clause exempts. What does not "apply the brake" is no exemption.
_EXEMPTS: Final = re.compile(
    rf"{_NOT_APPLY}(?=\s*(?:[.,;:]|\Z|to\b|in\b|if\b|where\b|when\b|while\b|until\b|unless\b|on\b))"
    rf"|{_NEED_NOT}|\b(?:is|are|be)\s+(?:not\s+)?exempt(?:ed)?\b"
    r"|\bexempt(?:s|ed)?\s+(?:from|a|an|any|the)\b"
    r"|\bexcept\s+(?:that|where|when|if|for|in)\b"
    rf"|{_DESPITE}(?:{_OF})?(?:{_ONE}|this\s+{_NOUN})",
    re.IGNORECASE,
)
#: Where a clause is named as what is exempted from; another that it names may be a condition.
_NAMES: Final = tuple(
    re.compile(pattern, re.IGNORECASE)
    for pattern in (
        rf"(?<![\w.])(?:{_NAMED}|{_THIS})\s+{_NOT_APPLY}",
        rf"{_DESPITE}{_OF}(?:{_NAMED}|{_THIS})",
        rf"\bexempt(?:s|ed)?\s+(?:[\w-]+\s+){{0,6}}?from\s+{_OF}(?:{_NAMED}|{_THIS})",
        rf"{_NEED_NOT}\s+{_COMPLY}\s+{_OF}(?:{_NAMED}|{_THIS})",
    )
)
_REFERENCE: Final = re.compile(rf"(?P<join>{_JOIN})?(?P<one>{_ONE})", re.IGNORECASE)
_LONE_NOUN: Final = re.compile(rf"\A{_NOUN}\s+(?=\()", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Exempting:
    """How a clause exempts: where its words say so, and from which clauses.

    ``clauses``: the numbers of those that are in the text; ``unknown``: what else it names.
    """

    at: int
    clauses: tuple[str, ...]
    unknown: tuple[str, ...]


def exempting(text: Text, clause: Clause) -> Exempting | None:
    """What a clause exempts from by its own words; None where it does not exempt."""
    words = clause.own_words
    first = _EXEMPTS.search(words)
    if first is None:
        return None
    found: dict[str, None] = {}
    unknown: dict[str, None] = {}
    for pattern in _NAMES:
        for match in pattern.finditer(words):
            if match["this"]:
                numbers = [_this(clause, words, match.start())]
            else:
                numbers = list(_numbers(text, clause, match["named"], unknown))
            found |= dict.fromkeys(number for number in numbers if number != clause.number)
    return Exempting(first.start(), tuple(found), tuple(unknown))


def _this(clause: Clause, words: str, at: int) -> str:
    """What "this clause" means: the one around it, unless more is said here before."""
    says_more = any(mark in words[:at] for mark in (". ", "; "))
    return clause.number if says_more or not clause.parent else clause.parent


def _numbers(text: Text, clause: Clause, named: str, unknown: dict[str, None]) -> Iterator[str]:
    """The clauses that a list of references names; those between two that "to" joins as well."""
    before: int | None = None
    for match in _REFERENCE.finditer(named):
        index = _index(text, clause, match["one"])
        if index is None:
            unknown[" ".join(match["one"].split())] = None
        elif before is not None and (match["join"] or "").strip().lower() == "to":
            depth = len(text.lookup.keys_around(index))
            for between in range(before + 1, index):
                if len(text.lookup.keys_around(between)) == depth:
                    yield text.name_of(between)
        if index is not None:
            yield text.name_of(index)
        before = index


def _index(text: Text, clause: Clause, reference: str) -> int | None:
    """The one clause that a reference means, seen from a clause; None where it is none or many."""
    items = "".join(_LONE_NOUN.sub("", reference).split())
    tried = [reference]
    if items.startswith("("):
        # "(1)" or "sub-clause (1)" is meant from where it stands, outwards.
        around = text.lookup.keys_around(clause.index)
        tried = [f"{key}{items}" for key in (clause.number, *around)]
    for each in tried:
        indices = text.find(each)
        if len(indices) == 1:
            return indices[0]
    return None
