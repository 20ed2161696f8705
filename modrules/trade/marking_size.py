"""Reads the size at the start of a tyre marking.

    size      = [ "P" | "LT" ] width_mm [ "/" aspect ] build rim
              | [ "LT" ] diameter "x" width_in build rim
              | [ "LT" ] width_in build rim
    build     = "R" | "ZR" | "D" | "B" | "-"

Spaces may stand between the parts. Widths in mm have three figures and no point.
"""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Any

from modrules.trade.marking_cursor import ASPECTS, RIMS_IN, WIDTHS_MM, Cursor
from modrules.trade.tyre_marking import IMPLIED_ASPECT

#: A flotation tyre is at least this much taller than its rim, in inches.
LEAST_RISE_IN = 4

_LETTERS = re.compile(r"[A-Z]*")
_BUILD = re.compile(r"(ZR|R|D|B|-)(?![RDBZF][0-9])")
_INCHES = re.compile(r"[0-9]{1,2}(?:\.[0-9]{1,2})?")
# A description or ply rating in front of the size; R, D, B and X are signs of the size itself.
_ITEM_FIRST = re.compile(r"\(?[0-9]+(?:/[0-9]+)? ?(?:PR|(?![RDBX])[A-Z][0-9]?)\)?(?: |$)")
_UP_TO_SLASH = re.compile(r"[^/X ]*/")
_UP_TO_X = re.compile(r"[^/X]*X")


def read_size(cursor: Cursor) -> dict[str, Any]:
    """The fields of the size, by the names of :class:`TyreMarking`; the cursor moves behind it."""
    if cursor.sees(_ITEM_FIRST):
        cursor.fail("size", cursor.word(), f"{cursor.shown()} stands before the size")
    prefix = _prefix(cursor)
    if not re.match(r"[0-9]", cursor.peek(), re.ASCII):
        part = "width" if re.match(r"-[0-9.]+[^X]*$", cursor.line[cursor.at :]) else "size"
        cursor.fail(part, cursor.word(), f"{cursor.shown()} stands where a width is expected")
    first = cursor.number("size", "a width")
    glued = cursor.peek()
    cursor.space()
    following = cursor.peek()
    if following == "X":
        fields = _flotation(cursor, prefix, first)
    elif following == "/":
        fields = _metric(cursor, prefix, first)
    else:
        if not re.match(r"[RDB-]|ZR", cursor.line[cursor.at :]):
            _no_sign_after(cursor, first, glued)
        inches = "." in first or len(first) < 3
        fields = (_numeric if inches else _metric)(cursor, prefix, first)
    cursor.space()
    _build(cursor, fields)
    cursor.space()
    _rim(cursor, fields)
    if fields["aspect_implied"] and fields["construction"] != "R":
        fields.update(aspect=None, aspect_implied=False)
    return fields


def _prefix(cursor: Cursor) -> str:
    found = cursor.take(_LETTERS)
    prefix = found.group() if found else ""
    if prefix not in ("", "P", "LT"):
        part = "width" if cursor.peek() == "/" else "size"
        cursor.fail(
            part, prefix, f'"{prefix}" is not understood: a size begins with figures, P or LT'
        )
    cursor.space()
    return prefix


def _no_sign_after(cursor: Cursor, first: str, glued: str) -> None:
    """Says what is wrong where a first number is followed by no sign that belongs there."""
    shown = first + cursor.word()
    if cursor.sees(_UP_TO_X) or not (glued == " " or re.fullmatch(r"[A-Z]?", glued)):
        cursor.fail("size", shown, f'"{shown}" is not understood where a size begins')
    if cursor.sees(_UP_TO_SLASH) or glued in ("O", "I"):
        cursor.fail("width", shown, f'"{shown}" is no number, where a width is expected')


def _metric(cursor: Cursor, prefix: str, width: str) -> dict[str, Any]:
    if width not in WIDTHS_MM:
        hint = ""
        if re.fullmatch(r"[5-9][05]0|1[0-2][05]0", width) and cursor.peek() != "/":
            hint = f'; a width in inches is written "{width[:-2]}.{width[-2:]}"'
        cursor.fail(
            "width",
            width,
            f'width "{width}" is not understood: widths in mm go from 105 to 455 in steps of '
            f"5{hint}",
        )
    implied = cursor.peek() != "/"
    aspect = IMPLIED_ASPECT
    if not implied:
        cursor.at += 1
        cursor.space()
        stated = cursor.number("aspect", "an aspect ratio")
        if stated not in ASPECTS or cursor.peek() == "%":
            cursor.fail(
                "aspect",
                stated,
                f'aspect ratio "{stated}{cursor.peek() if cursor.peek() == "%" else ""}" is not '
                "understood: aspect ratios go from 20 to 100 in steps of 5, without a sign",
            )
        aspect = ASPECTS[stated]
    return {
        "style": {"": "metric", "P": "p-metric", "LT": "light truck"}[prefix],
        "width_mm": WIDTHS_MM[width],
        "width_in": None,
        "diameter_in": None,
        "aspect": aspect,
        "aspect_implied": implied,
        "light_truck": prefix == "LT",
    }


def _flotation(cursor: Cursor, prefix: str, diameter: str) -> dict[str, Any]:
    _no_p(cursor, prefix)
    if not _INCHES.fullmatch(diameter) or not 20 <= Decimal(diameter) <= 54:
        cursor.fail(
            "size",
            diameter,
            f'overall diameter "{diameter}" is not understood: it goes from 20 to 54 inches',
        )
    cursor.at += 1
    cursor.space()
    width = cursor.number("width", "a width in inches")
    fields = _inches(cursor, prefix, width, 5, 25)
    if fields["width_in"] >= Decimal(diameter):
        cursor.fail("width", width, f"a tyre {width} inches wide is not {diameter} inches tall")
    fields.update(style="flotation", diameter_in=Decimal(diameter))
    return fields


def _numeric(cursor: Cursor, prefix: str, width: str) -> dict[str, Any]:
    _no_p(cursor, prefix)
    return _inches(cursor, prefix, width, 3, 15)


def _inches(cursor: Cursor, prefix: str, width: str, low: int, high: int) -> dict[str, Any]:
    letter_for_figure = cursor.peek() in ("O", "I")
    if letter_for_figure or not _INCHES.fullmatch(width) or not low <= Decimal(width) <= high:
        shown = width + (cursor.peek() if letter_for_figure else "")
        cursor.fail(
            "width",
            shown,
            f'width "{shown}" is not understood: widths in inches go from {low} to {high} with '
            "at most two decimals",
        )
    return {
        "style": "numeric",
        "width_mm": None,
        "width_in": Decimal(width),
        "diameter_in": None,
        "aspect": None,
        "aspect_implied": False,
        "light_truck": prefix == "LT",
    }


def _no_p(cursor: Cursor, prefix: str) -> None:
    if prefix == "P":
        cursor.fail("size", prefix, '"P" stands only before a width in mm')


def _build(cursor: Cursor, fields: dict[str, Any]) -> None:
    found = cursor.take(_BUILD)
    if found is None:
        cursor.fail(
            "construction",
            cursor.word(),
            f'{cursor.shown()} stands where the construction (R, ZR, D, B or "-") is expected',
        )
    letter = found.group()
    if letter == "ZR" and fields["width_mm"] is None:
        cursor.fail("construction", letter, '"ZR" stands only in a size with a width in mm')
    if letter == "-" and re.match(r" ?[RDBZ]", cursor.line[cursor.at :]):
        cursor.fail("construction", cursor.word(), "a hyphen and a letter both stand for it")
    fields["construction"] = {"ZR": "R", "-": "D"}.get(letter, letter)
    fields["hyphen"] = letter == "-"
    fields["zr"] = letter == "ZR"


def _rim(cursor: Cursor, fields: dict[str, Any]) -> None:
    rim = cursor.number("rim", "a rim diameter")
    if rim not in RIMS_IN:
        cursor.fail(
            "rim",
            rim,
            f'rim diameter "{rim}" is not understood: rims go from 8 to 30 inches, whole or half',
        )
    fields["rim_in"] = RIMS_IN[rim]
    diameter = fields["diameter_in"]
    if diameter is not None and diameter < RIMS_IN[rim] + LEAST_RISE_IN:
        cursor.fail("rim", rim, f"a rim of {rim} inches does not fit a tyre of {diameter} inches")
