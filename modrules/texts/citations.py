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

from modrules.texts.numbers import ANNEXES, ASIDES, PARTS
from modrules.texts.printings import printings_of
from modrules.texts.spelling import Step, is_deep, is_top, steps_in
from modrules.texts.words import clean, shown

_DEFINITION_AFTER = re.compile(r"(?:the\s+)?(?P<term>.+?)[\s,]*\(?\bdefinition\)?", re.I | re.S)
_DIVISIONS = {"section": "Section", "sec": "Section", "article": "Article", "art": "Article"}
_BESIDE = ("Table", "Figure", "Recital")
#: What may be named before the clause that it stands in.
_INSIDE = (*ASIDES, "Table", "row", "entry", "term")
_APART = ("sentence", "page")


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a citation asks for.

    ``keys``: the canonical number and then the other ways in which it may be printed.
    ``within``: what must enclose the clause, each in all its ways. ``words``: the key
    of a heading, or of a term, that the citation may consist of. ``term``: a term that
    must be defined there, and ``items`` the labels below it. ``apart``: what is asked
    for and an index doesn't tell apart, a sentence or a page. ``division``: the key of a
    part (``Section 2``) where a text has parts of that word. ``beside``: the name of a
    note or a table by itself, wherever it stands in ``within_of``, with ``items`` below
    it. ``entry``: what a row of the table begins with.
    """

    keys: tuple[str, ...] = ()
    within: tuple[tuple[str, ...], ...] = ()
    words: str = ""
    term: str = ""
    items: str = ""
    apart: str = ""
    division: str = ""
    beside: str = ""
    within_of: tuple[tuple[str, ...], ...] = ()
    entry: str = ""


@lru_cache(maxsize=4096)
def read_citation(clause: str) -> Wanted:
    """Read a citation's clause as its writer spelt it; an empty one asks for nothing."""
    clause = tidy(clause)
    if not clause:
        return Wanted()
    steps = steps_in(clause)
    if steps is None and (after := _DEFINITION_AFTER.fullmatch(clause)) is not None:
        steps = steps_in(f"definition of {after['term']}")
    wanted = None
    if steps and not any(step.joined for step in steps):
        wanted = assemble(steps)
    words = heading_key(clause)
    if wanted is None:
        return Wanted(words=words)
    if wanted.term or not any(map(str.isdigit, clause)):
        return replace(wanted, words=words)  # "Exception" may be a heading
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


def assemble(steps: list[Step]) -> Wanted | None:
    """Put steps together, the outer ones first; None where they do not fit together."""
    apart = next((f"{s.kind} {s.number}" for s in steps if s.kind in _APART), "")
    steps = _outer_first([s for s in steps if s.kind not in _APART])
    if not steps:
        return None
    at = next((at for at, step in enumerate(steps) if step.kind == "term"), None)
    wanted = _numbered(steps) if at is None else _defined(steps[:at], steps[at], steps[at + 1 :])
    return replace(wanted, apart=apart) if wanted is not None else None


def _defined(outer: list[Step], term: Step, inner: list[Step]) -> Wanted | None:
    """A term that is defined in what is named around it, or an item of its definition."""
    inside = _numbered(outer) if outer else Wanted()
    if inside is None or (outer and not inside.keys):
        return None
    if any(step.kind for step in inner):
        return None
    labels = [*term.items, *(label for step in inner for label in (step.number, *step.items))]
    within = (*inside.within, *([inside.keys] if inside.keys else []))
    return Wanted(within=within, term=heading_key(term.number),
                  items="".join(f"({label})" for label in labels if label))  # fmt: skip


def _numbered(steps: list[Step]) -> Wanted | None:
    """The clause that steps name, the outer ones first."""
    key, within, number = "", list[tuple[str, ...]](), ""
    division, before = "", 0
    beside: tuple[str, int, tuple[tuple[str, ...], ...]] | None = None
    entry = ""
    for position, (kind, word, label, labels, *_) in enumerate(steps):
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
            if key:
                within.append(printings_of(key))
            key = number = f"{kind} {label}".strip()
            if not label:
                beside = kind.casefold(), len(key), tuple(within)
            key += items
        elif kind == "entry":
            if position < len(steps) - 1 or items:
                return None
            entry = label
        elif kind:
            if kind in ASIDES and key and beside is None:
                name = f"{kind} {label}".rstrip()
                beside = name, len(f"{key}, {name}"), (*within, printings_of(key))
            key += f", {kind} {label}".rstrip() + items
            number = number or kind
        elif not number:
            if label and is_deep(steps[position]) and not (
                labels and label[0].isdigit()
            ):  # fmt: skip
                return None  # subsection 5 of what? subsection 5(1) may be a whole number
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
    if entry and not key.startswith("Table"):
        return None
    division = f"{key[:before]}{division} {key[before:]}" if division else ""
    wanted = Wanted(printings_of(key), tuple(within), division=division, entry=entry)
    if beside is None:
        return wanted
    name, end, around = beside
    return replace(wanted, beside=name, within_of=around, items=key[end:])


def _outer_first(steps: list[Step]) -> list[Step]:
    """``item 1 of Part 2 of Schedule 1`` and ``clause 5, Schedule 1``, outermost first."""
    ordered: list[Step] = []
    at = 0  # where what stands in the outermost step goes on
    for step in steps:
        division = _divides(step)
        if step.of and ordered:
            # "Schedule 2, item 3 of Table 2": the table is in the schedule.
            lead = next((n for n, each in enumerate(ordered) if not _divides(each)), 0)
            ordered.insert(0 if division else lead, step)
            at = 1 if division else len(ordered)
        elif 0 < at < len(ordered) and (
            division or (ordered[at].kind in _INSIDE and step.kind not in _INSIDE)
        ):
            ordered.insert(at, step)
            at += 1
        else:
            ordered.append(step)
    last = ordered[-1] if ordered else None
    if last is not None and len(ordered) > 1 and not last.of and _divides(last) and (
        all(not step.kind for step in ordered[:-1])
    ):  # fmt: skip
        ordered = [last, *ordered[:-1]]
    return ordered


def _divides(step: Step) -> bool:
    return step.kind in PARTS or step.kind in ANNEXES


def _annex_number(number: str) -> tuple[str, str]:
    """``B.6.1a`` → (B, 6.1a); ``3`` → (3, "")."""
    name, dot, inside = number.partition(".")
    if dot and name and inside:
        return name, inside
    return number, ""
