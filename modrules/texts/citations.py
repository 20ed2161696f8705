"""Citations: the many spellings of a clause's number, brought to one canonical form.

The canonical number of a clause drops words that say nothing (clause, section,
Article, §), keeps those that open numbers of their own (Schedule, Annex, Table), and
has no spaces inside: ``4.2(b)(ii)``, ``99-1204(c)``, ``Schedule 3, 5``,
``Table 2, row 3``, ``Recital 4``, ``4.2, note 1``, ``definition of kerb mass``. An
unnumbered heading is cited by its words, in small letters.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from modrules.texts.numbers import ANNEXES, PARTS
from modrules.texts.words import clean, shown

_WORDS = {word.casefold(): word for word in (*PARTS, *ANNEXES)}
_WORDS.update({"sch": "Schedule", "schs": "Schedule", "app": "Appendix", "annexe": "Annex",
               "ch": "Chapter", "pt": "Part", "div": "Division", "table": "Table",
               "figure": "Figure", "fig": "Figure", "row": "row", "recital": "Recital",
               "note": "note", "example": "example"})  # fmt: skip
_SILENT_WORDS = """
article art section sec s ss clause cl cls regulation reg regs rule r rr paragraph para par
subsection subclause subparagraph subpara subregulation subrule item point requirement standard
"""
_SILENT = frozenset(_SILENT_WORDS.split())
del _WORDS["section"]

_KNOWN = "|".join(sorted(_WORDS.keys() | _SILENT, key=len, reverse=True))
_TOKEN = re.compile(
    r"[\s,;:–—]*"
    r"(?:(?P<of>of|in|to|under)\s+(?:the\s+)?)?"
    r"(?:(?i:(?P<word>" + _KNOWN + r")s?)(?:\.\s*|\s+|(?=\(|\Z))|(?P<sign>§{1,2})\s*)?"
    r"(?P<number>[A-Za-z]{0,4}[.-]?\d+[A-Za-z]{0,3}(?:[.-](?:\d+[A-Za-z]{0,3}|[A-Za-z](?![A-Za-z])))*"
    r"|[IVXLC]{1,7}(?![A-Za-z])|[A-Z]{1,2}(?:[.-]\d+[A-Za-z]{0,3}){0,9}(?![A-Za-z]))?"
    r"(?P<items>(?:\s*\(\s*(?:\d{1,3}\.)?[0-9A-Za-z]{1,8}\s*\))*)[.:]?"
)
_DEFINITION = re.compile(
    r"(?P<within>.*?)[\s,;]*(?:the\s+)?\bdefinition\s+of\s+(?:the\s+)?(?P<term>.+)", re.I | re.S
)
_DEFINITION_AFTER = re.compile(r"(?P<term>.+?)[\s,]*\(?\bdefinition\)?", re.I | re.S)
_ITEMS_AFTER = re.compile(
    r"(.*?)(?:,?\s+(?:sub-?)?(?:para(?:graph)?|item|point))?((?:\s*\([0-9A-Za-z]{1,4}\))+)", re.S
)
_LETTERED = re.compile(r"([A-Z]{1,2})[.-]?(\d.*)", re.S)
_LAST_ITEM = re.compile(r"(.*\d)\(([a-z])\)", re.S)
_LAST_LETTER = re.compile(r"(.*\d)\.?([a-z])", re.S)


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a citation asks for: keys to look up in order, and what must enclose the clause."""

    keys: tuple[str, ...]
    within: tuple[str, ...] = ()


@lru_cache(maxsize=4096)
def read_citation(clause: str) -> Wanted:
    """Read a citation's clause as its writer spelt it; an empty one asks for nothing."""
    clause = " ".join(clean(clause[:500]).split()).strip(" .,;")
    if not clause:
        return Wanted(())
    definition = _DEFINITION.fullmatch(clause) or _DEFINITION_AFTER.fullmatch(clause)
    if definition is not None:
        before = definition.groupdict().get("within") or ""
        outer = _structured(before)
        within = (*outer.within, outer.keys[0]) if outer is not None and outer.keys else ()
        term, items = _split_items(definition["term"])
        return Wanted((definition_key(term) + items,), within)
    wanted = _structured(clause)
    words = heading_key(clause)
    if wanted is None:
        return Wanted((words, f"definition of {words}"))
    return Wanted((*wanted.keys, words), wanted.within)


def canonical(clause: str) -> str:
    """The canonical form of a clause's number: ``§ 99-1204 (c)`` → ``99-1204(c)``."""
    wanted = read_citation(clause)
    return ", ".join((*wanted.within, *wanted.keys[:1]))


def heading_key(words: str) -> str:
    """The key of an unnumbered heading: its words in small letters, without marks."""
    return shown(words).casefold().strip(" .:;,\"'“”‘’—–-")[:200]


def definition_key(term: str) -> str:
    """The key of a definition."""
    return "definition of " + heading_key(term)


def _split_items(term: str) -> tuple[str, str]:
    match = _ITEMS_AFTER.fullmatch(term)
    if match is None:
        return term, ""
    return match[1], "".join(match[2].split())


def _structured(clause: str) -> Wanted | None:
    """Read a citation made of words and numbers; None when anything else is in it."""
    tokens: list[tuple[str, str, str]] = []
    at = 0
    while at < len(clause):
        match = _TOKEN.match(clause, at)
        if match is None or match.end() == at:
            return None
        word, number = (match["word"] or "").casefold(), match["number"] or ""
        items = "".join(match["items"].split())
        if not number and not items and word not in ("note", "example", "table", "schedule"):
            return None
        token = (word, number, items)
        if match["of"] and tokens:
            tokens.insert(0, token)
        else:
            tokens.append(token)
        at = match.end()
    return _assemble(tokens) if tokens else None


def _assemble(tokens: list[tuple[str, str, str]]) -> Wanted | None:
    key, within, open_clause = "", list[str](), False
    spare: list[str] = []
    for position, (word, number, items) in enumerate(tokens):
        kind = _WORDS.get(word, "")
        if kind in ANNEXES:
            name, inside = _annex_number(number)
            key += (", " if key else "") + f"{kind} {name}".strip()
            open_clause = bool(inside)
            if inside:
                key += ", " + inside
            key += items
        elif kind in PARTS:
            if position < len(tokens) - 1:
                within.append(f"{kind} {number}{items}")
            else:
                key += (", " if key else "") + f"{kind} {number}{items}"
        elif kind in ("Table", "Figure", "Recital"):
            if not number:
                number, items = items.strip("()"), ""
            if key:
                within.append(key)
            key, open_clause = f"{kind} {number}{items}".strip(), True
        elif kind in ("row", "note", "example"):
            key += f", {kind} {number}".rstrip() + items
        elif not open_clause:
            key += (", " if key and number else "") + number + items
            open_clause = True
            if word in ("section", "sec", "article", "art") and number:
                spare.append(f"{'Section' if word[0] == 's' else 'Article'} {number}{items}")
        elif number and word:
            key += f"({number}){items}"
        elif not number:
            key += items
        else:
            return None
    return Wanted((key, *spare, *_other_spellings(key)), tuple(within))


def _annex_number(number: str) -> tuple[str, str]:
    """``B.6.1a`` → (B, 6.1a); ``3`` → (3, "")."""
    name, dot, inside = number.partition(".")
    if dot and name and inside:
        return name, inside
    return number, ""


def _other_spellings(key: str) -> list[str]:
    """Ways in which the same number may be printed: 6.1a for 6.1(a); B.6.1 in Appendix B."""
    others: list[str] = []
    if (match := _LAST_ITEM.fullmatch(key)) is not None:
        others += [f"{match[1]}.{match[2]}", f"{match[1]}{match[2]}"]
    elif (match := _LAST_LETTER.fullmatch(key)) is not None:
        others += [f"{match[1]}({match[2]})", f"{match[1]}{match[2]}", f"{match[1]}.{match[2]}"]
    if (match := _LETTERED.fullmatch(key)) is not None:
        others += [f"{annex} {match[1]}, {match[2]}" for annex in ("Appendix", "Annex", "Schedule")]
    return [other for other in others if other != key]
