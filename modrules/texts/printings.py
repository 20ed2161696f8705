"""Printings: the other ways in which a text may print the number that a citation names.

Nothing here names another clause: 6.1(a) may be printed 6.1a, but 5(a) may not be printed
5a, which is a section that was put in after 5; and 4(2) is never 4.2.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator

from modrules.texts.numbers import ANNEXES, ORDINALS, PARTS, roman
from modrules.texts.spelling import LATIN

_MOST = 60
_LAST_ITEM = re.compile(r"(.*\d)\(([a-z])\)(.*)", re.S)
_GLUED = re.compile(r"(.*\d\.\d+)([a-z])((?:\(.*)?)", re.S)
_DOTTED = re.compile(r"(.*?\d)((?:\.(?:[A-Za-z]{1,4}|(?<=[A-Za-z]\.)\d{1,3}))+)((?:\(.*)?)", re.S)
_LETTERED = re.compile(r"([A-Z]{1,2})[.-]?(\d.*)", re.S)
_ANNEX = "|".join(ANNEXES)
_ANNEX_AGAIN = re.compile(rf"((?:.*, )?(?:{_ANNEX}) ([A-Z]{{1,2}})), \2[.-]?(\d.*)", re.S)
_ANNEX_ITEM = re.compile(rf"((?:.*, )?(?:{_ANNEX}) [0-9A-Z]+)\((\d+[A-Za-z]?)\)(.*)", re.S)
_COUNT = re.compile(r"(\d{1,2}|[IVX]{2,6})(\(.*)?", re.S)
_SHORT_WORD = re.compile(r"[SsRr](\d.*)", re.S)
_LATIN = re.compile(rf"(\d)([ -]?)({LATIN})(?![a-z])")
_DIVISION = re.compile(
    rf"((?:.*, )?)({'|'.join((*PARTS, *ANNEXES))}) (\d{{1,2}}|[IVXL]{{2,6}})(.*)", re.S
)
_PROVISO = re.compile(r"(.*\bproviso) 1((?:\(.*)?)", re.S)
_LONG_ROMANS = "II III IV VI VII VIII IX XI XII XIII XIV XV XVI XVII XVIII XIX XX"
_ROMANS = {roman(label.lower()): label for label in _LONG_ROMANS.split()}


def printings_of(key: str) -> tuple[str, ...]:
    """A number in canonical form, and then every other way in which it may be printed."""
    ways = [key]
    for way in ways:
        for change in _CHANGES:
            ways += [other for other in change(way) if other not in ways]
        if len(ways) > _MOST:
            break
    # Section 5 is S5 where there is no number 5; what is printed so is in no other way.
    bare = next((way for way in ways if way[:1].isdigit()), "")
    return (*ways, f"S{bare}") if bare and f"S{bare}" not in ways else tuple(ways)


def _item_as_number(key: str) -> Iterator[str]:
    """6.1(a) may be printed 6.1a, and any item with a point: 5.a."""
    if (match := _LAST_ITEM.fullmatch(key)) is not None:
        before, letter, after = match.groups()
        if "(" not in before:
            yield f"{before}.{letter}{after}"
            if re.search(r"\.\d+\Z", before):
                yield f"{before}{letter}{after}"


def _number_as_item(key: str) -> Iterator[str]:
    """6.1a may be printed 6.1(a), and 3.1.b.ii may be printed 3.1(b)(ii)."""
    if (match := _GLUED.fullmatch(key)) is not None:
        yield f"{match[1]}({match[2]}){match[3]}"
        yield f"{match[1]}.{match[2]}{match[3]}"
    if (match := _DOTTED.fullmatch(key)) is not None:
        items = "".join(f"({label})" for label in match[2].strip(".").split("."))
        yield match[1] + items + match[3]


def _annex_letter(key: str) -> Iterator[str]:
    """B.6.1 is 6.1 of Appendix B, and A.1.2 in Annex A is its 1.2."""
    if (match := _LETTERED.fullmatch(key)) is not None:
        yield from (
            f"{annex} {match[1]}, {match[2]}" for annex in ("Appendix", "Annex", "Schedule")
        )
    if (match := _ANNEX_AGAIN.fullmatch(key)) is not None:
        yield f"{match[1]}, {match[3]}"
    if (match := _ANNEX_ITEM.fullmatch(key)) is not None:
        yield f"{match[1]}, {match[2]}{match[3]}"


def _short_word(key: str) -> Iterator[str]:
    """s5 is section 5 where there is no number S5."""
    if (match := _SHORT_WORD.fullmatch(key)) is not None:
        yield match[1]


def _roman(key: str) -> Iterator[str]:
    """Article 9 may be printed Article IX."""
    if (match := _COUNT.fullmatch(key)) is not None:
        label, after = match[1], match[2] or ""
        count = int(label) if label.isdigit() else roman(label.lower())
        if count in _ROMANS:
            yield from (f"{count}{after}", _ROMANS[count] + after)


def _latin(key: str) -> Iterator[str]:
    """14 ter may be printed 14ter or 14-ter."""
    if (match := _LATIN.search(key)) is not None:
        for between in (" ", "", "-"):
            yield f"{key[: match.end(1)]}{between}{key[match.start(3) :]}"


def _first_proviso(key: str) -> Iterator[str]:
    """The first proviso is printed without a number, as all are; only later ones get one."""
    if (match := _PROVISO.fullmatch(key)) is not None:
        yield match[1] + match[2]


def _division(key: str) -> Iterator[str]:
    """Title 3 may be printed Title III or Third Title; Part I may be a letter's, and is not 1."""
    if (match := _DIVISION.fullmatch(key)) is not None:
        before, word, label, after = match.groups()
        count = int(label) if label.isdigit() else roman(label.lower())
        names = [f"{word} {count}"]
        if count in _ROMANS:
            names.append(f"{word} {_ROMANS[count]}")
        if 0 < count <= len(ORDINALS):
            ordinal = ORDINALS[count - 1]
            names += [f"{ordinal} {word}", f"{word} {ordinal}"]
        yield from (before + name + after for name in names)


_CHANGES: tuple[Callable[[str], Iterator[str]], ...] = (
    _item_as_number, _number_as_item, _annex_letter, _short_word, _roman, _latin, _division,
    _first_proviso,
)  # fmt: skip
