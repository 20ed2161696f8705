"""Spellings: a citation as people type it, cut into steps of one word, number and items each.

Several clauses in one citation (``4.2(a) and (b)``, ``Schedules 1, 2``) have no steps:
nothing here guesses which of them is meant.
"""

from __future__ import annotations

import re
from typing import NamedTuple

from modrules.texts import numbers
from modrules.texts.numbers import ANNEXES, ASIDES, ORDINALS, PARTS, roman

_KINDS = {word.casefold(): word for word in (*PARTS, *ANNEXES)}
_KINDS.update({"sch": "Schedule", "sched": "Schedule", "app": "Appendix", "annexe": "Annex",
               "ch": "Chapter", "pt": "Part", "div": "Division", "table": "Table", "tab": "Table",
               "figure": "Figure", "fig": "Figure", "row": "row", "recital": "Recital",
               **{word: word for word in ASIDES}, "sentence": "sentence", "sent": "sentence",
               "satz": "sentence"})  # fmt: skip
del _KINDS["section"]
#: Words before the number of a clause, which never stands below another clause's number.
_TOP_WORDS = "article art section sec s regulation reg r rule standard requirement §"
_TOPS = frozenset(_TOP_WORDS.split())
_INNER_WORDS = """
ss clause cl rr paragraph para par item point term entry number no nos nr nummer ¶
"""
#: Words before the label of what is in a clause, which no clause has.
_DEEP_WORDS = """
subsection subs subclause subcl subparagraph subpara subregulation subreg subrule subr abs absatz
lit let letter buchst
"""
_DEEP = frozenset(_DEEP_WORDS.split())
_SILENT = _TOPS | _DEEP | frozenset(_INNER_WORDS.split())
#: Plural by their looks, and yet they name one clause.
_SINGULAR = frozenset(("s", "ss", "abs", "subs", "nos"))
_ORDINALS = {word.casefold(): count for count, word in enumerate(ORDINALS, 1)}
#: What is put after a number to put one in after it: 14 bis, 14 ter.
LATIN = "|".join((*numbers.LATIN, "novies", "decies"))

_KNOWN = "|".join(
    sorted((re.escape(w) for w in _KINDS.keys() | _SILENT if w.isalpha()), key=len,
           reverse=True)
)  # fmt: skip
_GAP = re.compile(r"(?:[\s,;:–—]|(?<=\s)-(?=\s))*")
_OF = re.compile(r"(of|in|to|under|from)\s+(?:(?:the|this)\s+)?", re.I)
_SUB = re.compile(r"\bsub-\s?(?=[a-z])", re.I)
_WORD = re.compile(
    rf"(?:(?P<word>{_KNOWN})(?P<plural>s?)"
    r"(?:\.\s*|\s+|(?=[(,;:]|\Z)|(?P<tight>(?=\d)))|(?P<sign>§{1,2}|¶{1,2})\s*)",
    re.I,
)
_ORDINAL = re.compile(rf"(?:({'|'.join(_ORDINALS)})|(\d{{1,3}})(?:st|nd|rd|th))\s+([a-z]+)\b", re.I)
_TAIL = rf"(?:\s?-?(?:{LATIN})(?![A-Za-z])|[A-Za-z]{{0,3}}(?![A-Za-z]))"
_NUMBER = re.compile(
    rf"[A-Za-z]{{0,4}}[.-]?\d+{_TAIL}"
    rf"(?:[.-](?:\d+{_TAIL}|[A-Za-z]{{1,4}}(?![A-Za-z])))*"
    r"|[IVXLC]{1,7}(?![A-Za-z])"
    rf"|[A-Z]{{1,2}}(?:[.-]\d+{_TAIL}){{0,9}}(?:[.-][a-z](?![A-Za-z]))?(?![A-Za-z])"
)
_LABEL = rf"(?:\d{{1,3}}\.)?[0-9A-Za-z]{{1,8}}(?:-[0-9A-Za-z]{{1,2}})?(?:\s(?:{LATIN}))?"
_ITEM = re.compile(
    rf"\s*\.?\(\s*(?P<full>{_LABEL})\s*\)"
    r"|(?P<comma>\s*,?)\s*(?:(?<=[\s,.)])|\.)(?P<half>\d{1,3}[a-z]?|[A-Za-z]{1,5})\)"
    r"|\.(?P<dotted>\d{1,3}|[A-Za-z]{1,5})(?![\w])"
    r"|(?:(?<=\))|(?P<apart>\s*[\s,]\s*)|(?P<first>(?<=[\s.])))"
    r"(?P<bare>[A-Za-z]{1,5}|(?<=\))\d{1,3})(?![\w/'-]|\.\w{2}|[.\s]{1,3}\d)"
)
_QUOTED = re.compile(r"[\"“„«‘']([^\"“”„«»‘’]{1,200}?)[\"”“»’'](?!\w)")
_STOP = re.compile(r"[.:](?=\s|\Z|,)")


class Step(NamedTuple):
    """One step of a citation.

    ``kind``: a word that opens numbers of its own, ``row``, ``note``, ``sentence`` or
    ``term``; "" of a clause or an item. ``word`` is the word as typed, ``of`` whether
    the step is the outer one of an ``of``, ``several`` whether the word is a plural.
    """

    kind: str
    word: str
    number: str
    items: tuple[str, ...]
    of: bool = False
    several: bool = False


def steps_in(clause: str) -> list[Step] | None:
    """The steps of a citation in the order of its words; None when anything else is in it."""
    clause = re.sub(r"\A[Tt]he ", "", _SUB.sub("sub", clause))
    steps: list[Step] = []
    at = 0
    while at < len(clause):
        found = _step_at(clause, at, steps)
        if found is None:
            return None
        step, end = found
        if step is not None:
            if steps and steps[-1].several and not step.of:
                return None
            steps.append(step)
        if end == at:
            return None
        at = end
    return steps


def _step_at(clause: str, at: int, before: list[Step]) -> tuple[Step | None, int] | None:
    """The step at a place and where it ends; no step where nothing but marks is left."""
    start = at
    match = _GAP.match(clause, at)
    at = match.end() if match else at
    if at == len(clause):
        return None, at
    of = False
    if (match := _OF.match(clause, at)) is not None:
        # "5 to 7" is a range; "note 2 to 4.2" is not.
        if match[1].casefold() == "to" and not (
            before and before[-1].kind in (*ASIDES, "Table", *ANNEXES)
        ):
            return None
        of, at = True, match.end()
    if (match := _QUOTED.match(clause, at)) is not None:
        items, end = _items_at(clause, match.end(), True)
        return Step("term", "", match[1].strip(), items, of), _past_stop(clause, end)
    if (match := _ORDINAL.match(clause, at)) is not None:
        return _ordinal(match, of)
    kind = word = ""
    several = False
    if (match := _WORD.match(clause, at)) is not None and not _is_prefix(match):
        word = (match["word"] or match["sign"][0]).casefold()
        kind, at = _KINDS.get(word, ""), match.end()
        several = bool(match["plural"]) and word not in _SINGULAR
    match = _NUMBER.match(clause, at)
    number = match[0] if match is not None else ""
    at = match.end() if match is not None else at
    items, end = _items_at(clause, at, bool(number or before or word), worded=bool(word))
    alone = kind in (*ASIDES, "Table", *ANNEXES)
    if not number and not items and not alone:
        return None
    if not number and items and not word and clause[start:at].strip() and not of and before:
        last = before[-1].items
        if last and _alike(last[-1], items[0]):
            return None  # "(a), (b)" are two items
    return Step(kind, word, number, items, of, several), _past_stop(clause, end)


def _is_prefix(match: re.Match[str]) -> bool:
    """Whether what looks like a word is the beginning of a number: S5.1, CL4."""
    return match["tight"] is not None and (len(match[0]) == 1 or match[0].isupper())


def _past_stop(clause: str, at: int) -> int:
    match = _STOP.match(clause, at)
    return match.end() if match is not None else at


def _ordinal(match: re.Match[str], of: bool) -> tuple[Step, int] | None:
    """``third row``, ``2nd sentence``, ``Third Title``: nothing else is counted so."""
    kind = _KINDS.get(match[3].casefold(), "Section" if match[3] == "Section" else "")
    if not kind or kind == "Recital":
        return None
    count = _ORDINALS[match[1].casefold()] if match[1] else int(match[2])
    return Step(kind, match[3].casefold(), str(count), (), of), match.end()


def _items_at(
    clause: str, at: int, below: bool, worded: bool = False
) -> tuple[tuple[str, ...], int]:
    """The labels of items at a place: (a), a), .a, or a bare a after a word, a number, an item."""
    labels: list[str] = []
    while (match := _ITEM.match(clause, at)) is not None:
        label = match["full"] or match["half"] or match["dotted"] or match["bare"]
        if not match["full"] and not match["half"] and not below and not labels:
            break
        first = match["first"] is not None
        if match["bare"] and (
            (first and not (worded and not labels))
            or not _is_bare_label(label, first or match["apart"] is None or bool(labels))
        ):
            break
        apart = match["comma"] or match["apart"] or ""
        if "," in apart and labels and _alike(labels[-1], label):
            break
        labels.append(" ".join(label.split()))
        at = match.end()
    return tuple(labels), at


def _is_bare_label(label: str, tight: bool) -> bool:
    """Whether letters without a bracket can be a label: b, ii, aa; and A straight after one."""
    if label.isdigit():
        return tight
    if not label.islower():
        return tight and (len(label) == 1 or _is_short_roman(label.lower()))
    return len(label) == 1 or _is_short_roman(label) or (len(label) == 2 and label[0] == label[1])


def _is_short_roman(label: str) -> bool:
    """Whether letters are a numeral that no word is spelt like: ii and xiv, but not cl."""
    return roman(label) > 0 and set(label) <= set("ivx")


def _alike(one: str, other: str) -> bool:
    """Whether two labels may be of one series, so that both stand side by side."""
    if roman(other.lower()) and not roman(one.lower()):
        return False
    return one[0].isdigit() == other[0].isdigit() and one.isupper() == other.isupper()


def without_silent_words(clause: str) -> str:
    """A citation without the words that say nothing about which clause it is."""
    return _WORD.sub(
        lambda match: match[0] if (match["word"] or "").casefold() in _KINDS else " ", clause
    )


def is_deep(step: Step) -> bool:
    """Whether a step names something in a clause, and not the clause."""
    return step.word in _DEEP and "." not in step.number


def is_top(word: str) -> bool:
    """Whether a word stands before clauses alone, never before what is in them."""
    return word in _TOPS
