"""Citations: the many spellings of a clause's number, brought to one canonical form.

The canonical number of a clause drops words that say nothing (clause, section,
Article, §), keeps those that open numbers of their own (Schedule, Annex, Table), and
has no spaces inside: ``4.2(b)(ii)``, ``99-1204(c)``, ``Schedule 3, 5``,
``Table 2, row 3``, ``Recital 4``, ``4.2, note 1``, ``definition of kerb mass``. An
unnumbered heading is cited by its words, in small letters.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from functools import lru_cache

from modrules.texts.numbers import ANNEXES, PARTS
from modrules.texts.printings import printings_of
from modrules.texts.spelling import Step, is_deep, is_top, steps_in
from modrules.texts.words import clean, shown

_DEFINITION = re.compile(
    r"(?P<within>.*?)[\s,;]*(?:the\s+)?\b(?:definition|def\.|defn\.?)\s+of\s+(?:the\s+)?"
    r"(?P<term>.+)",
    re.I | re.S,
)
_DEFINITION_AFTER = re.compile(r"(?P<term>.+?)[\s,]*\(?\bdefinition\)?", re.I | re.S)
_TERM = re.compile(r"(?:the\s+)?(?:term|word|words|expression)\s+(?P<term>[^\d\W].+)", re.I | re.S)
_ITEMS_AFTER = re.compile(
    r"(.*?)(?:,?\s+(?:sub-?)?(?:para(?:graph)?|item|point))?((?:\s*\([0-9A-Za-z]{1,4}\))+)", re.S
)
_WITHIN_AFTER = re.compile(
    r"(?P<term>.+?)[\"”»’']?,?\s+(?:in|of|under|at)\s+(?P<within>.*\d.*)", re.S
)
_DIVISIONS = {"section": "Section", "sec": "Section", "article": "Article", "art": "Article"}
_BESIDE = ("Table", "Figure", "Recital")


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a citation asks for.

    ``keys``: the canonical number and then the other ways in which it may be printed.
    ``within``: what must enclose the clause, each in all its ways. ``words``: the key
    of a heading, or of a term, that the citation may consist of. ``term``: a term that
    must be defined there, and ``items`` the labels below it. ``sentence``: a sentence
    that is asked for, which an index doesn't tell apart from the others. ``division``:
    the key of a part (``Section 2``) where a text has parts of that word.
    """

    keys: tuple[str, ...] = ()
    within: tuple[tuple[str, ...], ...] = ()
    words: str = ""
    term: str = ""
    items: str = ""
    sentence: str = ""
    division: str = ""


@lru_cache(maxsize=4096)
def read_citation(clause: str) -> Wanted:
    """Read a citation's clause as its writer spelt it; an empty one asks for nothing."""
    clause = tidy(clause)
    if not clause:
        return Wanted()
    definition = (
        _DEFINITION.fullmatch(clause) or _DEFINITION_AFTER.fullmatch(clause)
        or _TERM.fullmatch(clause)
    )  # fmt: skip
    if definition is not None:
        wanted = _defined(definition["term"], definition.groupdict().get("within") or "")
        return replace(wanted, words=heading_key(clause))
    steps = steps_in(clause)
    wanted = _assemble(steps) if steps else None
    if wanted is None or not any(map(str.isdigit, clause)):
        return replace(
            wanted or Wanted(), words=heading_key(clause)
        )  # "Exception" may be a heading
    return wanted


def tidy(clause: str) -> str:
    """A citation on one line, without what may stand around it."""
    return " ".join(clean(clause[:500]).split()).strip(" .,;")


def canonical(clause: str) -> str:
    """The canonical form of a clause's number: ``§ 99-1204 (c)`` → ``99-1204(c)``."""
    wanted = read_citation(clause)
    name = wanted.keys[:1] or ((wanted.words,) if wanted.words else ())
    if wanted.term:
        name = (definition_key(wanted.term) + wanted.items,)
    return ", ".join((*(ways[0] for ways in wanted.within), *name))


def heading_key(words: str) -> str:
    """The key of an unnumbered heading: its words in small letters, without marks."""
    return shown(words).casefold().strip(" .:;,\"'“”‘’—–-")[:200]


def definition_key(term: str) -> str:
    """The key of a definition."""
    return "definition of " + heading_key(term)


def _defined(term: str, around: str) -> Wanted:
    """The definition of a term, in a clause that is named before it or after it."""
    after = _WITHIN_AFTER.fullmatch(term) if not around else None
    outer = steps_in(tidy(after["within"])) if after is not None else None
    if after is not None and outer:
        term = after["term"]
    elif around:
        outer = steps_in(tidy(around))
        if not outer:
            return Wanted()
    match = _ITEMS_AFTER.fullmatch(term)
    items = "".join(match[2].split()) if match is not None else ""
    term = heading_key(match[1] if match is not None else term)
    inside = _assemble(outer) if outer else None
    if outer and (inside is None or not inside.keys):
        return Wanted()
    within = (*inside.within, inside.keys) if inside is not None else ()
    return Wanted(within=within, term=term, items=items)


def _assemble(steps: list[Step]) -> Wanted | None:
    """Put steps together, the outer ones first; None where they do not fit together."""
    sentence = next((s.number for s in steps if s.kind == "sentence"), "")
    term = next((s for s in steps if s.kind == "term"), None)
    steps = _outer_first([s for s in steps if s.kind not in ("sentence", "term")])
    if not steps:
        return _quoted(term) if term is not None and not sentence else None
    key, within, number = "", list[tuple[str, ...]](), ""
    division, before = "", 0
    for position, (kind, word, label, labels, _, _) in enumerate(steps):
        items = "".join(f"({item})" for item in labels)
        if kind in ANNEXES:
            name, inside = _annex_number(label)
            key += (", " if key else "") + f"{kind} {name}".strip()
            number = inside
            if inside:
                key += ", " + inside
            key += items
        elif kind in PARTS:
            if position < len(steps) - 1:
                within.append(printings_of(f"{kind} {label}{items}"))
            else:
                key += (", " if key else "") + f"{kind} {label}{items}"
        elif kind in _BESIDE:
            if not label:
                label, items = items.strip("()"), ""
            if key:
                within.append(printings_of(key))
            key = number = f"{kind} {label}{items}".strip()
        elif kind:
            key += f", {kind} {label}".rstrip() + items
            number = number or kind
        elif not number:
            if label and is_deep(steps[position]):
                return None  # subsection 5 of what?
            key += (", " if key and label else "") + label + items
            number = label or "items"
            if label and word in _DIVISIONS:
                division, before = _DIVISIONS[word], len(key) - len(label + items)
        elif is_top(word) and not label.startswith(number + "."):
            # A section in a section is two clauses; an article may be in a section.
            if not division or not key.endswith(number) or (word in _DIVISIONS and (
                division.startswith(_DIVISIONS[word])
            )):  # fmt: skip
                return None
            within.append(printings_of(division))
            key = key[: len(key) - len(number)] + label + items
            number, division = label, ""
        elif label.startswith(number + ".") and (is_top(word) or word in ("", "clause", "cl")):
            if not key.endswith(number):
                return None
            key = key[: len(key) - len(number)] + label + items  # "clause 4, 4.2"
            number = label
        elif label and word:
            key += f"({label}){items}"
        elif label:
            return None
        else:
            key += items
    if term is not None:
        return Wanted(within=(*within, printings_of(key)), term=heading_key(term.number),
                      items="".join(f"({item})" for item in term.items))  # fmt: skip
    division = f"{key[:before]}{division} {key[before:]}" if division else ""
    return Wanted(printings_of(key), tuple(within), sentence=sentence, division=division)


def _quoted(term: Step) -> Wanted:
    words = heading_key(term.number)
    return Wanted(words=words, term=words, items="".join(f"({i})" for i in term.items))


def _outer_first(steps: list[Step]) -> list[Step]:
    """``item 1 of Part 2 of Schedule 1`` and ``clause 5, Schedule 1``, outermost first."""
    ordered: list[Step] = []
    at = 0  # where what stands in the outermost step goes on
    for step in steps:
        division = step.kind in PARTS or step.kind in ANNEXES
        if step.of and ordered:
            ordered.insert(0, step)
            at = 1 if division else len(ordered)
        elif division and 0 < at < len(ordered):
            ordered.insert(at, step)
            at += 1
        else:
            ordered.append(step)
    last = ordered[-1] if ordered else None
    if last is not None and len(ordered) > 1 and not last.of and (
        last.kind in ANNEXES or last.kind in PARTS
    ) and all(not step.kind for step in ordered[:-1]):  # fmt: skip
        ordered = [last, *ordered[:-1]]
    return ordered


def _annex_number(number: str) -> tuple[str, str]:
    """``B.6.1a`` → (B, 6.1a); ``3`` → (3, "")."""
    name, dot, inside = number.partition(".")
    if dot and name and inside:
        return name, inside
    return number, ""
