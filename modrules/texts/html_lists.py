"""Lists of a page: how their entries are numbered, and whether an entry prints a number itself."""

from __future__ import annotations

import re
from typing import NamedTuple

#: A number that words may begin with where no list numbers them.
PRINTED_NUMBER = re.compile(
    r"\s*(?:\([0-9A-Za-z]{1,5}\)|\d[\w.]{0,12}[.)]?\s|[a-z]{1,4}[.)]\s|§|[A-Z]\.\s)"
)
#: A term that is none, but the number of the words beside it.
ONLY_NUMBER = re.compile(
    r"\([0-9A-Za-z]{1,5}\)|(?:[A-Za-z]|[ivxlc]{1,7})[.)]|\d[\dA-Za-z.]{0,12}\)?|§.{0,20}"
)
BULLETS = "-"
_STYLE = re.compile(
    r"list-style(?:-type)?\s*:[^;]*?\b(decimal|none"
    r"|(?:lower|upper)-(?:alpha|latin|roman))(?![\w-])",
    re.I,
)
_TYPES = ("1", "a", "A", "i", "I")
_KINDS = {
    "decimal": "1", "none": BULLETS, "lower-alpha": "a", "lower-latin": "a", "upper-alpha": "A",
    "upper-latin": "A", "lower-roman": "i", "upper-roman": "I",
}  # fmt: skip
_NUMERALS = ((100, "c"), (90, "xc"), (50, "l"), (40, "xl"), (10, "x"), (9, "ix"), (5, "v"),
             (4, "iv"), (1, "i"))  # fmt: skip
_OWN = re.compile(
    r"(\(?)(\d{1,3}[A-Za-z]?|[ivxlc]{1,7}|[IVXLC]{1,7}|([A-Za-z])\3?)(\)|(?<!\()\.)(?:\s+|\Z)"
)
_MAY_BE_OWN = re.compile(r"§|\d{1,4}(?:\.\d{1,4})+\.?\s+[A-Z]|(\d{1,3})\s+[A-Z]")


class Number(NamedTuple):
    """The number of an entry, and how its words print it, "" where they don't."""

    label: str
    printed: str = ""


class HtmlList:
    """An open list of a page."""

    def __init__(self, tag: str, number: int, kind: str, start: int, step: int,
                 doubt: str, told: bool) -> None:  # fmt: skip
        self.tag = tag  # ol, ul or dl
        self.number = number  # which list of the page
        self.kind = kind  # how it is numbered: 1, a, A, i, I or ``BULLETS``
        self.doubt = doubt  # what is in doubt about the numbers of all its entries
        self.told = told  # the page tells what kind of number it has
        self.at = start - step  # the number of the last entry
        self.step = step
        self.begun = False  # an entry was numbered
        self.prints = False  # the entries print their numbers themselves
        self.term, self.term_line = "", 0  # the last term
        self.described = True  # something came after the last term
        self.beside = False  # the last term came right after another

    def next_entry(self, value: str) -> None:
        """Count one entry on, or to the number that it says."""
        self.at = int(value) if re.fullmatch(r"\d{1,6}", value) else self.at + self.step


def list_of(tag: str, attributes: dict[str, str | None], number: int) -> HtmlList:
    """An open list by its tag."""
    style = _STYLE.search(attributes.get("style") or "")
    kind, doubt = BULLETS, ""
    printed = attributes.get("type") or ""
    if style is not None and tag != "dl":
        kind = _KINDS[style[1].lower()]
    elif tag == "ol":
        kind = printed if printed in _TYPES else "1"
        kind = BULLETS if printed == "none" else kind
        if not printed and attributes.get("class"):
            doubt = f"the style {attributes['class']!r} may print other numbers than 1, 2, 3"
    told = style is not None or printed in _TYPES
    start = attributes.get("start") or ""
    backwards = "reversed" in attributes
    if backwards and not start:
        doubt = "the numbers run backwards, from one that is not given"
    first = int(start) if re.fullmatch(r"\d{1,6}", start) else 1
    return HtmlList(tag, number, kind, first, -1 if backwards else 1, doubt, told)


def numbered(entry: HtmlList, words: str) -> tuple[Number | None, str]:
    """The number of a list's open entry that has these words, and what is in doubt about it.

    None where the list numbers nothing. Words may print the number that the list gives,
    or, where the numbers of the list are not shown, one of their own: from the first
    entry on, if at all.
    """
    if entry.kind == BULLETS:
        return None, ""
    number = Number(label_of(entry.kind, entry.at))
    first, entry.begun = not entry.begun, True
    doubt = entry.doubt
    own = _OWN.match(words)
    if own is None:
        other = _MAY_BE_OWN.match(words)
        if entry.prints:
            doubt = f"numbered {number.label} by the page, where entries before it print theirs"
        elif other is not None and other[1] in (None, number.label):
            doubt = _either(number.label, other[0])
        return number, doubt
    printed = Number(own[2], own[0])
    bracket = own[4] == ")"
    # "A. Brown" may be a name, which "1." and "(a)" are not.
    if own[2] == number.label and (bracket or own[2].isdigit() or entry.prints):
        entry.prints |= first
        return printed, doubt
    if entry.prints or (first and bracket):
        entry.prints = True
        return printed, _either(number.label, own[0])
    if entry.told and not bracket and own[2].isupper() and entry.kind not in "AI":
        return number, doubt  # a name, as "I. Smith"
    return number, _either(number.label, own[0])


def _either(label: str, printed: str) -> str:
    return f"numbered {label} by the page, and its words begin with {printed.strip()!r}"


def label_of(kind: str, number: int) -> str:
    """The number of a list's entry as a browser prints it."""
    if kind in "aA" and number > 0:
        letters = ""
        while number:
            number, letter = divmod(number - 1, 26)
            letters = chr(97 + letter) + letters
        return letters if kind == "a" else letters.upper()
    if kind in "iI" and 0 < number < 400:
        letters = ""
        for value, numeral in _NUMERALS:
            while number >= value:
                letters += numeral
                number -= value
        return letters if kind == "i" else letters.upper()
    return str(number)
