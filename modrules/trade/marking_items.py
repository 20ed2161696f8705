"""Reads what follows the size in a tyre marking: letters, load version, ply rating, load range
and one or two service descriptions, in any order.

    item        = "LT" | "C" | version | ply_rating | load_range | service
    version     = "XL" | "EXTRA LOAD" | "REINFORCED" | "RF" | "SL"
    ply_rating  = plies ( "PR" | "PLY" [ "RATING" ] )
    load_range  = ( "LR" | "LOAD RANGE" | "/" ) letter
    service     = index [ "/" index ] symbol, or the same in brackets

``C`` and ``LT`` come first. Brackets around the first service description mean faster than
the symbol and go with Y; around the second they mean nothing.
"""

from __future__ import annotations

import re
from typing import Any

from modrules.trade.marking_cursor import INDICES, PLIES, Cursor
from modrules.trade.tables import LOAD_INDEX_KG, LOAD_RANGE_PLIES, SPEED_SYMBOL_KMH

#: The symbol that may stand in brackets, for tyres that go faster than it says (UN R30).
ABOVE_SPEED = "Y"

_GLUED = re.compile(r"(?!(?:LT|C)(?![^\W\d]))[^\W\d_/ ][^ ]*")
_SUFFIX = re.compile(r"(LT|C)(?![^\W\d_])")
_PLY = re.compile(r"([^ ]*?) ?(?:PR|PLY(?: RATING)?)(?![A-Z0-9])")
_VERSION = re.compile(r"(XL|EXTRA ?LOAD|REINFORCED|RF|SL)(?![A-Z0-9])")
_RANGE = re.compile(r"(?:LR|LOAD ?RANGE) ?([^ ]*)|/ ?([A-Z])(?![A-Z0-9])")
_SERVICE = re.compile(r"(\()? ?([0-9]+)(?: ?/ ?([0-9]+))? ?(\w*)")
_SECOND_SIZE = re.compile(r"(?:P|LT)?[0-9.]+[/X][0-9.]+(?:ZR|R|D|B|-)[0-9]")

#: Other things that stand on tyres: no part of size and service.
_OTHER_MARKS = frozenset(
    ("TL", "TT", "TUBELESS", "M+S", "M&S", "A/T", "H/T", "M/T", "DOT", "RFT", "ROF", "INCH")
)


def read_items(cursor: Cursor, fields: dict[str, Any]) -> None:
    """Adds to the fields of the size those of everything behind it, up to the end."""
    fields["commercial"] = False
    if cursor.sees(_GLUED):
        cursor.fail(
            "extra text", cursor.word(), f"{cursor.shown()} behind the rim is not understood"
        )
    cursor.space()
    suffix = cursor.take(_SUFFIX)
    if suffix is not None:
        _suffix(cursor, fields, suffix.group())
    cursor.space()
    while not cursor.ended:
        _item(cursor, fields)
        cursor.space()


def _suffix(cursor: Cursor, fields: dict[str, Any], suffix: str) -> None:
    style = fields["style"]
    if fields["light_truck"] or style == "p-metric" or (style, suffix) == ("flotation", "C"):
        hint = "; load range C is written LR C" if suffix == "C" else ""
        cursor.fail("extra text", suffix, f'"{suffix}" does not go with the rest of the size{hint}')
    fields["light_truck"], fields["commercial"] = suffix == "LT", suffix == "C"
    if style == "metric":
        fields["style"] = "light truck" if suffix == "LT" else "commercial"


def _item(cursor: Cursor, fields: dict[str, Any]) -> None:
    if cursor.sees(_SECOND_SIZE):
        cursor.fail("extra text", cursor.word(), f"{cursor.shown()} is a second size")
    if (found := cursor.take(_VERSION)) is not None:
        _once(cursor, fields, "extra_load", found.group() != "SL", found.group(), "load version")
    elif (found := cursor.take(_RANGE)) is not None:
        letter = found.group(1) or found.group(2) or ""
        if letter not in LOAD_RANGE_PLIES:
            known = ", ".join(LOAD_RANGE_PLIES)
            cursor.fail(
                "load range", letter, f'load range "{letter}" is not understood; known: {known}'
            )
        _once(cursor, fields, "load_range", letter, found.group(), "load range")
    elif (found := cursor.take(_PLY)) is not None:
        plies = found.group(1)
        if plies not in PLIES:
            cursor.fail(
                "ply rating",
                plies,
                f'ply rating "{plies}" is not understood: ply ratings are even, from 2 to 24',
            )
        _once(cursor, fields, "ply_rating", PLIES[plies], found.group(), "ply rating")
    elif (found := cursor.take(_SERVICE)) is not None:
        _service(cursor, fields, found)
    else:
        _not_understood(cursor, fields)


def _once(
    cursor: Cursor, fields: dict[str, Any], name: str, value: object, found: str, what: str
) -> None:
    if name in fields:
        cursor.fail("extra text", found, f'"{found}" states the {what} a second time')
    fields[name] = value


def _service(cursor: Cursor, fields: dict[str, Any], found: re.Match[str]) -> None:
    bracket, single, twin, symbol = found.groups()
    first = "load_index" not in fields
    if "second_load_index" in fields or (not first and symbol == "" and cursor.ended):
        cursor.fail("extra text", found.group(), f'"{found.group()}" is one thing too many')
    if symbol == "" and cursor.peek() and cursor.peek() in "-/.":
        cursor.fail(
            "load index",
            found.group() + cursor.word(),
            f'load index "{found.group()}{cursor.word()}" is not understood: one whole number, '
            "or two with a slash between them",
        )
    for number in (single, twin):
        if number is not None and number not in INDICES:
            cursor.fail(
                "load index",
                number,
                f'load index "{number}" is not on the table, which goes from '
                f"{min(LOAD_INDEX_KG)} to {max(LOAD_INDEX_KG)}",
            )
    if twin is not None and INDICES[twin] > INDICES[single]:
        cursor.fail(
            "load index",
            f"{single}/{twin}",
            f"{single}/{twin} is not understood: the second index is for twin wheels and "
            "can't be above the first",
        )
    if symbol not in SPEED_SYMBOL_KMH:
        known = " ".join(SPEED_SYMBOL_KMH)
        cursor.fail(
            "speed symbol",
            symbol or cursor.word(),
            f'speed symbol "{symbol}" does not exist; known: {known}'
            if symbol
            else f'"{found.group().strip()}" lacks a speed symbol',
        )
    if bracket:
        cursor.space()
        if cursor.peek() != ")":
            cursor.fail("extra text", found.group(), f'"{found.group()}" lacks a closing bracket')
        cursor.at += 1
        if first and symbol != ABOVE_SPEED:
            cursor.fail(
                "speed symbol",
                symbol,
                f'"({symbol})" is not understood: brackets around the only service description '
                f"mean faster than the symbol and go with {ABOVE_SPEED}",
            )
    values = (INDICES[single], None if twin is None else INDICES[twin], symbol)
    names = ("load_index", "load_index_dual", "speed_symbol")
    if first:
        fields["above_speed"] = bracket is not None
    else:
        names = ("second_load_index", "second_load_index_dual", "second_speed_symbol")
    fields.update(zip(names, values, strict=True))


def _not_understood(cursor: Cursor, fields: dict[str, Any]) -> None:
    word = cursor.word()
    if "load_index" not in fields and word not in _OTHER_MARKS:
        if word in SPEED_SYMBOL_KMH:
            hint = f"; load range {word} is written LR {word}" if word in LOAD_RANGE_PLIES else ""
            cursor.fail("load index", word, f'speed symbol "{word}" lacks a load index{hint}')
        if word[-1] in SPEED_SYMBOL_KMH:
            cursor.fail("load index", word, f'load index "{word[:-1]}" is not understood')
    cursor.fail("extra text", word, f'"{word}" is not understood')
