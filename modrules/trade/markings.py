"""Tyre markings: ``parse_marking("255/60R18 112S")``.

A marking in the canonical order is read by one pattern; any other goes to the full
grammar (:mod:`modrules.trade.marking_size`, :mod:`modrules.trade.marking_items`), which
also words the errors. Both give the
same value, which the tests hold them to.
"""

from __future__ import annotations

import re
from decimal import Decimal

from modrules.trade.marking_cursor import (
    ASPECTS,
    INDICES,
    PLIES,
    RIMS_IN,
    WIDTHS_MM,
    Cursor,
)
from modrules.trade.marking_items import ABOVE_SPEED, read_items
from modrules.trade.marking_size import LEAST_RISE_IN, read_size
from modrules.trade.tables import LOAD_RANGE_PLIES, SPEED_SYMBOL_KMH
from modrules.trade.tyre_marking import (
    IMPLIED_ASPECT,
    Construction,
    MarkingError,
    OpenMarking,
    Style,
    TyreMarking,
    sealed,
)

__all__ = ["MarkingError", "TyreMarking", "parse_marking"]

#: Markings in the canonical order, which are nearly all that are met.
SHORTCUT = re.compile(
    r"(?:(P|LT|)([0-9]{3})(?:/([0-9]{2,3}))?"
    r"|(?:([0-9]{2}(?:\.5)?)x)?([0-9]{1,2}(?:\.[0-9]{1,2})?))"
    r"(Z?R|[DB-])([0-9]{1,2}(?:\.5)?)(LT|C|)"
    r"( XL)?(?: LR ([A-L]))?(?: ([0-9]{1,2})PR)?"
    r"(?: (\()?([0-9]{2,3})(?:/([0-9]{2,3}))?([A-Z])(?(12)\)))?"
)

# Each table also says what a part left out stands for.
_NUMBERS: dict[str | None, int | None] = {None: None}
_NUMBERS.update(INDICES)
_PLIES: dict[str | None, int | None] = {None: None}
_PLIES.update(PLIES)
_ASPECTS: dict[str | None, int] = {None: IMPLIED_ASPECT}
_ASPECTS.update(ASPECTS)
_SYMBOLS: dict[str | None, str | None] = {None: None, **{s: s for s in SPEED_SYMBOL_KMH}}
_RANGES: dict[str | None, str | None] = {None: None, **{r: r for r in LOAD_RANGE_PLIES}}
_WIDTHS_IN: dict[str, Decimal] = {
    text: Decimal(text)
    for whole in range(5, 15)
    for text in (
        f"{whole}",
        *(f"{whole}.{tenth}" for tenth in range(10)),
        *(f"{whole}.{part:02}" for part in range(0, 100, 5)),
    )
}
_DIAMETERS_IN: dict[str, Decimal] = {
    f"{whole}{half}": Decimal(f"{whole}{half}") for whole in range(20, 54) for half in ("", ".5")
}
# The letters before a width in mm and behind the rim, put together: the style, and whether LT and
# C stand with the size. Pairs that are not here are wrong.
_KINDS: dict[str, tuple[Style, bool, bool]] = {
    "": ("metric", False, False),
    "P": ("p-metric", False, False),
    "LT": ("light truck", True, False),
    "C": ("commercial", False, True),
}
_BUILDS: dict[str, tuple[Construction, bool, bool]] = {
    "R": ("R", False, False),
    "ZR": ("R", False, True),
    "D": ("D", False, False),
    "-": ("D", True, False),
    "B": ("B", False, False),
}

_match = SHORTCUT.fullmatch


def parse_marking(text: str) -> TyreMarking:
    """Reads a tyre marking such as ``LT255/75R17 111/108Q`` or ``32x11.50R15LT 113Q``.

    Upper and lower case, spaces between the parts and the order of what follows the size do
    not matter. Raises :class:`MarkingError`, a ``ValueError``, that names the part not
    understood.
    """
    found = _match(text)
    if found is None:
        return read_in_full(text)
    (
        prefix, width, aspect, diameter, inches, letter, rim, suffix,
        extra, load_range, plies, bracket, index, dual, symbol,
    ) = found.groups()  # fmt: skip
    value = OpenMarking()
    try:
        value.rim_in = rim_in = RIMS_IN[rim]
        value.construction, value.hyphen, value.zr = _BUILDS[letter]
        if width:
            value.style, value.light_truck, value.commercial = _KINDS[prefix + suffix]
            value.width_mm = WIDTHS_MM[width]
            value.width_in = value.diameter_in = None
            value.aspect = _ASPECTS[aspect]
            value.aspect_implied = aspect is None
            if aspect is None and value.construction != "R":
                return read_in_full(text)
        else:
            value.width_mm = value.aspect = None
            value.width_in = _WIDTHS_IN[inches]
            value.aspect_implied = False
            value.light_truck, value.commercial = suffix == "LT", suffix == "C"
            if diameter is None:
                value.style, value.diameter_in = "numeric", None
            else:
                value.style, value.diameter_in = "flotation", _DIAMETERS_IN[diameter]
                if value.diameter_in < rim_in + LEAST_RISE_IN or suffix == "C":
                    return read_in_full(text)
            if value.zr:
                return read_in_full(text)
        value.load_index = single = _NUMBERS[index]
        value.load_index_dual = twin = _NUMBERS[dual]
        value.speed_symbol = _SYMBOLS[symbol]
        if (twin and single and twin > single) or (bracket and symbol != ABOVE_SPEED):
            return read_in_full(text)
        value.above_speed = bracket is not None
        value.extra_load = extra is not None
        value.ply_rating = _PLIES[plies]
        value.load_range = _RANGES[load_range]
    except KeyError:
        return read_in_full(text)
    value.second_load_index = value.second_load_index_dual = value.second_speed_symbol = None
    return sealed(value)


def read_in_full(text: str) -> TyreMarking:
    """As :func:`parse_marking`, by the full grammar alone."""
    cursor = Cursor(text)
    if cursor.ended:
        cursor.fail("empty", "", "it is empty")
    fields = read_size(cursor)
    read_items(cursor, fields)
    return TyreMarking(**fields)
