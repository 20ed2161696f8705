"""Tyre markings: ``parse_marking("255/60R18 112S")``.

One pattern reads nearly every marking, whatever its case and spaces. What it does not take goes
to the full grammar (:mod:`modrules.trade.marking_size`, :mod:`modrules.trade.marking_items`),
which also words the errors. Both give the same value, which the tests hold them to.
"""

from __future__ import annotations

import re
from decimal import Decimal
from functools import lru_cache

from modrules.trade.marking_cursor import (
    ASPECTS,
    INDICES,
    LONGEST,
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

# Load version, load range and ply rating, any number of them.
_EXTRAS = r"((?:\s+(?:XL|EXTRA\s*LOAD|REINFORCED|RF|(?:LR|LOAD\s*RANGE)\s*[A-L]|[0-9]{1,2}\s*PR))*)"
_SERVICE = r"(?:\s+(\(\s*)?([0-9]{2,3})\s*(?:/\s*([0-9]{2,3})\s*)?([A-Z][0-9]?)(?(%d)\s*\)))?"

#: A marking in capitals: size, then at most two service descriptions in a row, with the other
#: items before or after them.
SHORTCUT = re.compile(
    r"\s*(P|LT|)\s*"
    r"(?:([0-9]{3})\s*(?:/\s*([0-9]{2,3})\s*)?"
    r"|(?:([0-9]{2}(?:\.5)?)\s*X\s*)?([0-9]{1,2}(?:\.[0-9]{1,2})?)\s*)"
    r"(Z?R|[DB-])\s*([0-9]{1,2}(?:\.5)?)\s*(LT|C|)"
    f"{_EXTRAS}{_SERVICE % 10}{_SERVICE % 14}{_EXTRAS}"
    r"\s*"
)
_EXTRA = re.compile(r"(XL|EXTRA\s*LOAD|REINFORCED|RF)|(?:LR|RANGE)\s*([A-L])|([0-9]+)\s*PR")

# Each table also says what a part left out stands for.
_NUMBERS: dict[str | None, int | None] = {None: None}
_NUMBERS.update(INDICES)
_ASPECTS: dict[str | None, int] = {None: IMPLIED_ASPECT}
_ASPECTS.update(ASPECTS)
_SYMBOLS: dict[str | None, str | None] = {None: None, **{s: s for s in SPEED_SYMBOL_KMH}}
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
    found = _match(text.upper()) if len(text) <= LONGEST and text.isascii() else None
    if found is None:
        return read_in_full(text)
    (
        prefix, width, aspect, diameter, inches, letter, rim, suffix, before,
        bracket, index, dual, symbol, _, second, second_dual, second_symbol, after,
    ) = found.groups()  # fmt: skip
    value = OpenMarking()
    try:
        value.rim_in = rim_in = RIMS_IN[rim]
        value.construction, value.hyphen, value.zr = _BUILDS[letter]
        kind, value.light_truck, value.commercial = _KINDS[prefix + suffix]
        if width:
            value.style = kind
            value.width_mm = WIDTHS_MM[width]
            value.width_in = value.diameter_in = None
            value.aspect = _ASPECTS[aspect]
            value.aspect_implied = aspect is None
            if aspect is None and letter != "R" and letter != "ZR":
                return read_in_full(text)
        else:
            value.width_mm = value.aspect = None
            value.width_in = _WIDTHS_IN[inches]
            value.aspect_implied = False
            if letter == "ZR" or prefix == "P":
                return read_in_full(text)
            if diameter is None:
                value.style, value.diameter_in = "numeric", None
            else:
                value.style, value.diameter_in = "flotation", _DIAMETERS_IN[diameter]
                if value.diameter_in < rim_in + LEAST_RISE_IN or suffix == "C":
                    return read_in_full(text)
        value.load_index = single = _NUMBERS[index]
        value.load_index_dual = twin = _NUMBERS[dual]
        value.speed_symbol = _SYMBOLS[symbol]
        value.above_speed = bracket is not None
        if (twin and single and twin > single) or (bracket and symbol != ABOVE_SPEED):
            return read_in_full(text)
        if second:
            value.second_load_index = single = _NUMBERS[second]
            value.second_load_index_dual = twin = _NUMBERS[second_dual]
            value.second_speed_symbol = _SYMBOLS[second_symbol]
            if twin and single and twin > single:
                return read_in_full(text)
        else:
            value.second_load_index = value.second_load_index_dual = None
            value.second_speed_symbol = None
        if before or after:
            value.extra_load, value.load_range, value.ply_rating = _extras(before + after)
        else:
            value.extra_load, value.load_range, value.ply_rating = False, None, None
    except KeyError:
        return read_in_full(text)
    return sealed(value)


@lru_cache(maxsize=256)
def _extras(text: str) -> tuple[bool, str | None, int | None]:
    """Load version, load range and ply rating. Raises ``KeyError`` where one stands twice or is
    not on its table."""
    version, load_range, plies = None, None, None
    for found in _EXTRA.finditer(text):
        now_version, now_range, now_plies = found.groups()
        if (now_version and version) or (now_range and load_range) or (now_plies and plies):
            raise KeyError(found.group())
        version = version or now_version
        load_range = load_range or now_range
        plies = plies or now_plies
    if load_range is not None and load_range not in LOAD_RANGE_PLIES:
        raise KeyError(load_range)
    return version is not None, load_range, None if plies is None else PLIES[plies]


def read_in_full(text: str) -> TyreMarking:
    """As :func:`parse_marking`, by the full grammar alone."""
    cursor = Cursor(text)
    if cursor.ended:
        cursor.fail("empty", "", "it is empty")
    fields = read_size(cursor)
    read_items(cursor, fields)
    return TyreMarking(**fields)
