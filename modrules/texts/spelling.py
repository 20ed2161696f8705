"""Spellings: a citation as people type it, cut into steps of one word, number and items each.

In a list or a range (``4.2(a) and (b)``, ``Schedules 1, 2``, ``ss 4 to 6``) a step says that
it is joined to those before it.
"""

from __future__ import annotations

import re
from itertools import islice
from typing import NamedTuple

from modrules.texts import numbers
from modrules.texts.numbers import ANNEXES, ASIDES, ORDINALS, PARTS, roman

_KINDS = {word.casefold(): word for word in (*PARTS, *ANNEXES)}
_KINDS.update({"sch": "Schedule", "sched": "Schedule", "app": "Appendix", "annexe": "Annex",
               "ann": "Annex", "ch": "Chapter", "chap": "Chapter", "subch": "Subchapter",
               "pt": "Part", "subpt": "Subpart", "div": "Division", "subdiv": "Subdivision",
               "table": "Table", "tab": "Table", "tbl": "Table", "figure": "Figure",
               "fig": "Figure", "row": "row", "recital": "Recital", "rec": "Recital",
               **{word: word for word in ASIDES}, "sentence": "sentence", "sent": "sentence",
               "satz": "sentence", "page": "page", "pg": "page"})  # fmt: skip
del _KINDS["section"]
#: Words before the number of a clause, which never stands below another clause's number.
_TOPS = frozenset((
    "article", "art", "section", "sec", "sect", "s", "regulation", "reg", "r", "rule", "standard",
    "requirement", "§",
))  # fmt: skip
_INNER = frozenset((
    "ss", "clause", "cl", "cll", "rr", "paragraph", "para", "par", "item", "point", "term",
    "entry", "number", "no", "nos", "nr", "nummer", "¶",
))  # fmt: skip
#: Words before the label of what is in a clause, which no clause has.
_DEEP = frozenset((
    *(f"sub{word}" for word in _TOPS | _INNER if word.isalpha()), "subs",
    "abs", "absatz", "lit", "let", "letter", "buchst",
))  # fmt: skip
_SILENT = _TOPS | _DEEP | _INNER
#: Words before what a table has in its first column.
_ENTRIES = frozenset(("item", "entry"))
#: Plural by their looks, and yet they name one clause.
_SINGULAR = frozenset(("s", "ss", "abs", "subs", "nos", "subss"))
_ORDINALS = {word.casefold(): count for count, word in enumerate(ORDINALS, 1)}
#: What is put after a number to put one in after it: 14 bis, 14 ter.
LATIN = "|".join((*numbers.LATIN, "novies", "decies"))

_KNOWN = "|".join(
    sorted((re.escape(w) for w in _KINDS.keys() | _SILENT if w.isalpha()), key=len,
           reverse=True)
)  # fmt: skip
_LEAD = re.compile(r"\A(?:see(?:\s+also)?\s+|cf\.?\s+|as\s+per\s+)?(?:the\s+)?", re.I)
_GAP = re.compile(r"(?:[\s,;:–—]|(?<=\s)-(?=\s))*")
#: What joins several clauses; a tight dash does after a bracket, before another item.
_JOIN = re.compile(
    r"[\s,;]*(?:(?P<and>(?<=[\s,;])(?:and|or|and/or|as\s+well\s+as)(?=[\s(])|&|(?<=\))/)"
    r"|(?P<to>(?<=\s)(?:to|through|thru|until)(?=[\s(])"
    r"|(?<=\))\s?[-–—]\s?(?=\(?\w{1,4}\))))\s*(?:the\s+)?", re.I,
)  # fmt: skip
_OF = re.compile(r"(of|in|to|under|from|on|at)\s+(?:(?:the|this)\s+)?", re.I)
_SUB = re.compile(r"\bsub-\s?(?=[a-z])", re.I)
_WORD = re.compile(
    rf"(?:(?P<word>{_KNOWN})(?P<plural>s?)"
    r"(?:\.\s*|\s+|(?=[(,;:]|\Z)|(?P<tight>(?=\d)))|(?P<sign>§{1,2}|¶{1,2})\s*)",
    re.I,
)
_COUNTED = re.compile(r"(?:nos?|nr|number)\b\.?\s*(?=\w)", re.I)
_IN_TABLE = re.compile(r"\b(?:table|tab|tbl)\b", re.I)
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
#: Words at the end of a citation in brackets of their own.
_BRACKETED = re.compile(
    r"(.*[^\s(])\s*\((?=[^()]*(?:[A-Za-z]{4}|\w\s+\w))((?:[^()]|\([^()]*\))+)\)", re.S
)
_LATIN_LABEL = re.compile(rf"\w+\s?(?:{LATIN})")
_WORDED = re.compile(r"[A-Za-z]{2}|[§¶]")
_TIGHT_DASH = re.compile(r"(?<=[\w)])[‐‑‒–—−](?=[\w(])")
_DEFINED = re.compile(
    r"(?:the\s+)?(?:definition|defn|def)\b\.?\s*(?:(?:of|for)\b|:|-)?\s*(?:the\s+)?"
    r"(?:(?:term|words?|expression)\s+)?|(?:the\s+)?(?:term|words?|expression)\s+(?=[^\d\W])",
    re.I,
)
#: Where a term may end that has no quotation marks.
_TERM_END = re.compile(
    r",?\s+(?=(?:in|of|under|at)\s)|,?\s+(?=(?:sub-?)?(?:para|paragraph|item|point)\.?\s)"
    r"|\s*(?=\([0-9A-Za-z]{1,4}\))",
    re.I,
)
_SOME_NUMBER = re.compile(r"\d|\b[A-Z]{1,4}\b|\(")
_MOST_ENDS = 8  # places tried at which a term may end
_QUOTED = re.compile(r"[\"“„«‘']([^\"“”„«»‘’]{1,200}?)[\"”“»’'](?!\w)")
_STOP = re.compile(r"[.:](?=\s|\Z|,)")


class Step(NamedTuple):
    """One step of a citation.

    ``kind``: a word that opens numbers of its own, ``row``, ``note``, ``entry`` (of a
    table), ``sentence``, ``page`` or ``term``; "" of a clause or an item. ``word`` is the
    word as typed, ``of`` whether the step is the outer one of an ``of``, ``several``
    whether the word is a plural. ``joined``: ``and``, ``to`` or a comma of a step that
    stands beside what comes before it, and not in it.
    """

    kind: str
    word: str
    number: str
    items: tuple[str, ...]
    of: bool = False
    several: bool = False
    joined: str = ""


def steps_in(clause: str) -> list[Step] | None:
    """The steps of a citation in the order of its words; None when anything else is in it."""
    if not clause.isascii():
        clause = _TIGHT_DASH.sub("-", clause)
    clause = _LEAD.sub("", _SUB.sub("sub", clause))
    aside = _BRACKETED.fullmatch(clause) if clause.endswith(")") else None
    if aside is not None and not _LATIN_LABEL.fullmatch(aside[2]):
        clause = f"{aside[1]}, {aside[2]}"
    return _steps_after([], clause)


def _steps_after(steps: list[Step], clause: str) -> list[Step] | None:
    """Steps with those of more words after them."""
    at = 0
    while at < len(clause):
        gap = _GAP.match(clause, at)
        start = gap.end() if gap is not None else at
        of = _OF.match(clause, start)
        defined = _DEFINED.match(clause, of.end() if of else start)
        if defined is not None and not any(step.kind == "term" for step in steps):
            return _steps_defined(steps, clause[defined.end() :], of is not None)
        found = _step_at(clause, at, steps)
        if found is None:
            return None
        step, end = found
        if step is not None:
            steps = [*steps, step]
        if end == at:
            return None
        at = end
    return steps


def _steps_defined(steps: list[Step], clause: str, of: bool) -> list[Step] | None:
    """Steps with that of a defined term, and with those of what is named after it."""
    if (quoted := _QUOTED.match(clause)) is not None:
        return _steps_after([*steps, _term(quoted[1], of)], clause[quoted.end() :])
    for end in islice(_TERM_END.finditer(clause, 1), _MOST_ENDS):
        rest = clause[end.end() :]
        if _SOME_NUMBER.search(rest):
            whole = _steps_after([*steps, _term(clause[: end.start()], of)], rest)
            if whole is not None:
                return whole
    return [*steps, _term(clause, of)] if clause else None


def _term(words: str, of: bool, items: tuple[str, ...] = ()) -> Step:
    return Step("term", "", words.strip(), items, of)


def _step_at(clause: str, at: int, before: list[Step]) -> tuple[Step | None, int] | None:
    """The step at a place and where it ends; no step where nothing but marks is left."""
    start = at
    joined = ""
    last = before[-1] if before else None
    if last is not None and (match := _JOIN.match(clause, at)) is not None:
        # "5 to 7" is a range; "note 2 to 4.2" is not, nor is "notes 1 and 2 to section 4".
        head = next(step for step in reversed(before) if step.kind or not step.joined)
        worded = _WORDED.match(clause, match.end()) is not None
        belongs = head.kind in (*ASIDES, "Table", *ANNEXES) and (worded or not head.several)
        if match["and"] or clause[match.start("to") :][:1] in "-–—" or not belongs:
            joined, at = "and" if match["and"] else "to", match.end()
    match = _GAP.match(clause, at)
    at = match.end() if match else at
    if at == len(clause):
        return (None, at) if not joined else None
    gap, of = clause[start:at], False
    if not joined and (match := _OF.match(clause, at)) is not None:
        of, at = True, match.end()
    if (match := _QUOTED.match(clause, at)) is not None:
        items, end = _items_at(clause, match.end(), True)
        return _term(match[1], of, items), _past_stop(clause, end)
    if (match := _ORDINAL.match(clause, at)) is not None:
        in_table = bool(last and last.kind == "Table") or _IN_TABLE.search(clause, match.end())
        return _ordinal(match, of, bool(in_table))
    kind = word = ""
    several = False
    if (match := _WORD.match(clause, at)) is not None and not _is_prefix(match):
        word = (match["word"] or match["sign"][0]).casefold()
        kind, at = _KINDS.get(word, ""), match.end()
        several = bool(match["plural"]) and word not in _SINGULAR
        if kind and (match := _COUNTED.match(clause, at)) is not None:
            at = match.end()
        if word in _ENTRIES and (
            (last and last.kind == "Table") or _IN_TABLE.search(clause, at)
        ):  # fmt: skip
            kind = "entry"
        if kind in ("row", "entry") and (match := _QUOTED.match(clause, at)) is not None:
            return Step("entry", word, match[1].strip(), (), of), match.end()
    match = _NUMBER.match(clause, at)
    if match is not None and joined and clause.startswith(")", match.end()):
        match = None  # "1) and 2)"
    number = match[0] if match is not None else ""
    at = match.end() if match is not None else at
    items, end = _items_at(clause, at, bool(number or before or word), worded=bool(word))
    if kind and not number and len(items) == 1 and kind not in ASIDES:
        # "Part a", "Recital (3)"; a word after the name of a clause, "schedule iii"
        number, items = items[0].upper() if items[0].isalpha() else items[0], ()
    alone = kind in (*ASIDES, "Table", *ANNEXES)
    if not number and not items and not alone:
        return None
    joined = joined or _joined(gap, word, number, items, of, last)
    return Step(kind, word, number, items, of, several, joined), _past_stop(clause, end)


def _joined(gap: str, word: str, number: str, items: tuple[str, ...], of: bool,
            last: Step | None) -> str:  # fmt: skip
    """What joins a step to the one before it where no word does: a comma, or a dash in blanks."""
    if last is None or of:
        return ""
    how = "to" if re.search(r"[-–—]\s", gap) else "," if gap.strip() else ""
    if last.several and (number or not last.number):
        return how
    if not number and not word and gap.strip() and last.items and _alike(last.items[-1], items[0]):
        return how  # "(a), (b)" are two items
    beside = number and last.number and not last.kind and (
        not word or (word in _TOPS and word == last.word)
    )  # fmt: skip
    return how if beside and not number.startswith(last.number + ".") else ""


def _is_prefix(match: re.Match[str]) -> bool:
    """Whether what looks like a word is the beginning of a number: S5.1, CL4."""
    return match["tight"] is not None and (len(match[0]) == 1 or match[0].isupper())


def _past_stop(clause: str, at: int) -> int:
    match = _STOP.match(clause, at)
    return match.end() if match is not None else at


def _ordinal(match: re.Match[str], of: bool, in_table: bool) -> tuple[Step, int] | None:
    """``third row``, ``2nd sentence``, ``Third Title``: nothing else is counted so."""
    if in_table and match[3].casefold() in _ENTRIES:
        return Step("row", "row", str(_counted(match)), (), of), match.end()
    kind = _KINDS.get(match[3].casefold(), "Section" if match[3] == "Section" else "")
    if not kind or kind == "Recital":
        return None
    return Step(kind, match[3].casefold(), str(_counted(match)), (), of), match.end()


def _counted(match: re.Match[str]) -> int:
    return _ORDINALS[match[1].casefold()] if match[1] else int(match[2])


def numbered_words(clause: str) -> str:
    """A citation with what it counts as a number: ``second paragraph`` as ``paragraph 2``."""
    return _ORDINAL.sub(lambda match: f"{match[3]} {_counted(match)}", clause)


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
    if _is_short_roman(other.lower()) and not roman(one.lower()):
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
