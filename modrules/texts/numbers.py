"""Numbers: how clauses are labelled, and which label follows which.

A label is read in one or more *styles*; ``(i)`` may be a roman one or the letter
after ``(h)``. Everything here is a pure function of short strings.
"""

from __future__ import annotations

import re
from functools import lru_cache
from itertools import pairwise

DIGITS, LETTERS, ROMAN, CAPITALS, CAPITAL_ROMAN = range(5)

FIRSTS = frozenset({"1", "a", "i", "A", "I"})

#: Words that open a part of the text but do not make its numbers start again by rule.
PARTS = ("Part", "Subpart", "Chapter", "Subchapter", "Division", "Subdivision", "Title",
         "Subtitle", "Book", "Module", "Group", "Section")  # fmt: skip
#: Words that open a part of the text with numbers of its own; a citation must name it.
ANNEXES = ("Schedule", "Annex", "Annexe", "Appendix", "Attachment", "Endnotes")
#: Words that begin what stands beside a clause, with numbers and items of its own.
NOTES = ("note", "example", "remark", "explanation", "illustration", "warning", "caution",
         "important", "nb")  # fmt: skip
#: Words of the same kind that begin no notes: what they say binds as the clause does.
BINDING = ("proviso", "exception", "penalty", "step")
ASIDES = (*NOTES, *BINDING)
#: A part or a schedule may be numbered in words: First Schedule.
ORDINALS = ("First", "Second", "Third", "Fourth", "Fifth", "Sixth", "Seventh", "Eighth", "Ninth",
            "Tenth", "Eleventh", "Twelfth")  # fmt: skip
#: Words before a clause's number that say nothing about which clause it is.
NEUTRAL = ("Article", "Art", "Section", "Sec", "Clause", "Cl", "Regulation", "Reg", "Rule",
           "Paragraph", "Para", "Item", "Standard", "Requirement")  # fmt: skip

#: Numbers that were put in later: 14, 14 bis, 14 ter, 15.
LATIN = ("bis", "ter", "quater", "quinquies", "sexies", "septies", "octies")
_LATIN_END = re.compile(rf"(.*\d) ?({'|'.join(LATIN)})", re.S)

_TAIL = re.compile(r"([A-Za-z]{0,4}[.-]?|(?:\d{1,5}-){1,3})(\d+)([A-Za-z]*)\Z")
_ROMAN = re.compile(r"(?=[ivxlc])(c{0,3})(xc|xl|l?x{0,3})(ix|iv|v?i{0,3})\Z")
_ROMAN_VALUES = {"i": 1, "v": 5, "x": 10, "l": 50, "c": 100}


def roman(label: str) -> int:
    """The value of a small roman numeral below 400; 0 where it is none."""
    if not _ROMAN.match(label):
        return 0
    total = 0
    for letter, after in zip(label, label[1:] + " ", strict=True):
        value = _ROMAN_VALUES[letter]
        total += -value if _ROMAN_VALUES.get(after, 0) > value else value
    return total


@lru_cache(maxsize=4096)
def styles_of(label: str) -> tuple[int, ...]:
    """The styles in which a label can be read, the likelier first; empty when in none."""
    if label[0].isdigit():
        return (DIGITS,)
    if label.islower():
        if roman(label):
            return (ROMAN, LETTERS) if len(label) <= 2 else (ROMAN,)
        return (LETTERS,) if len(label) <= 3 else ()
    if label.isupper():
        if roman(label.lower()):
            return (CAPITAL_ROMAN, CAPITALS) if len(label) <= 2 else (CAPITAL_ROMAN,)
        return (CAPITALS,) if len(label) <= 3 else ()
    return ()


def spaced(number: str) -> str:
    """A number in the one form in which it is kept: 14ter and 14 ter are 14 ter."""
    if number[-1:] not in ("s", "r"):
        return number
    latin = _LATIN_END.fullmatch(number)
    return f"{latin[1]} {latin[2]}" if latin is not None else number


def _lettered(number: str) -> str:
    """14 bis, 14 ter follow one another as 14A, 14B do."""
    latin = _LATIN_END.fullmatch(number) if number[-1:] in ("s", "r") else None
    return latin[1] + chr(65 + LATIN.index(latin[2])) if latin is not None else number


@lru_cache(maxsize=16384)
def follows(before: str, after: str) -> bool:
    """Whether number ``after`` is next to ``before``: 4, 5; 4, 4A; 4B, 5; S4, S5; 4 bis, 4 ter."""
    a, b = _TAIL.match(_lettered(before)), _TAIL.match(_lettered(after))
    if a is None or b is None:
        return not a and not b and next_letters(before, after)
    if a[1] != b[1]:
        return False
    x, y = int(a[2]), int(b[2])
    if x == y:
        return next_letters(a[3].lower(), b[3].lower()) if a[3] else b[3].lower() in ("a", "aa")
    return y == x + 1 and b[3].lower() in ("", "a")


@lru_cache(maxsize=16384)
def next_in(style: int, before: str, after: str) -> bool:
    """Whether ``after`` is next to ``before`` when both are read in ``style``."""
    if style == DIGITS:
        return _next_inserted(before, after) if "." in before + after else follows(before, after)
    if style in (ROMAN, CAPITAL_ROMAN):
        x, y = roman(before.lower()), roman(after.lower())
        return bool(x) and y == x + 1
    return next_letters(before.lower(), after.lower())


def _next_inserted(before: str, after: str) -> bool:
    """2, 2.1; 2.1, 2.2; 2.2, 3: numbers with a point were put in later."""
    (x, _, x_tail), (y, _, y_tail) = before.partition("."), after.partition(".")
    if not y_tail:
        return follows(x, y)
    return x == y and (follows(x_tail, y_tail) if x_tail else is_first(y_tail))


@lru_cache(maxsize=16384)
def next_letters(before: str, after: str) -> bool:
    """a, b; z, aa; and letters put in later: a, aa; aa, ab; ab, b; b, b-1; b-1, b-2; b-1, c."""
    if not before or not after:
        return False
    (old, _, count), (new, _, next_count) = before.partition("-"), after.partition("-")
    if not (before + after).replace("-", "").isalnum() or not (old + new).isalpha():
        return False  # a number that is no letter, as A-14-301
    if next_count:
        return old == new and next_count.isdigit() and int(next_count) == _count(count) + 1
    before = old
    x, y = _letters(before), _letters(after)
    if y == x + 1:
        return True
    if after == before + "a":
        return True
    return (
        len(before) == len(after) + 1
        and before.startswith(chr(ord(after[-1]) - 1), len(after) - 1)
        and before[: len(after) - 1] == after[:-1]
    )


def _count(digits: str) -> int:
    return int(digits) if digits.isdigit() else 0


def _letters(label: str) -> int:
    value = 0
    for letter in label:
        value = value * 26 + ord(letter) - 96
    return value


def is_first(number: str) -> bool:
    """Whether a number can open a series: 1, 0, 01, 1A, A, S1, a, i."""
    match = _TAIL.match(_lettered(number))
    if match is None:
        return number in FIRSTS
    prefixed = match[1][:1].isalpha()
    return int(match[2]) <= 1 or (not prefixed and number.endswith(("01", "00")))


def split_number(number: str) -> tuple[str, str]:
    """A number's head and last part: 4.2.1 → (4.2, 1); 6.1a → (6.1, a); B.6 → (B, 6)."""
    head, _, tail = number.rpartition(".")
    if head and len(tail) > 1 and tail[-1].islower() and tail[-2].isdigit():
        return f"{head}.{tail[:-1]}", tail[-1]
    return head, tail


_ROMANS = "i ii iii iv v vi vii viii ix x xi xii xiii xiv xv xvi xvii xviii xix xx".split()  # noqa: SIM905
_SERIES_OF = {
    DIGITS: [str(n) for n in range(1, 200)],
    LETTERS: [chr(97 + n) for n in range(26)],
    ROMAN: _ROMANS,
    CAPITALS: [chr(65 + n) for n in range(26)],
    CAPITAL_ROMAN: [label.upper() for label in _ROMANS],
}

#: The style of a printed first item, where it can be read in one way only or by rule.
FIRST_STYLES = {"(1)": DIGITS, "(a)": LETTERS, "(i)": ROMAN, "(A)": CAPITALS}

#: Style → printed item → what the next one looks like, where that is certain: after
#: (h) comes nothing that is certain, since (i) may open a roman series below it.
NEXT_PRINTED: dict[int, dict[str, str]] = {
    style: {f"({label})": f"({after})" for label, after in pairwise(labels) if after not in FIRSTS}
    for style, labels in _SERIES_OF.items()
}


def next_label(style: int, label: str) -> str:
    """The label after ``label`` in a style, for the short series that texts use; or ""."""
    labels = _SERIES_OF.get(style, [])
    place = labels.index(label) + 1 if label in labels else 0
    return labels[place] if 0 < place < len(labels) else ""


def series_from(first: str) -> list[str]:
    """The labels of a series by its first: 1, a, i or A."""
    return _SERIES_OF[FIRST_STYLES[f"({first})"]]
