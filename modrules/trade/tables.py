"""Tables of the tyre trade as data: load indices, speed symbols, load range letters.

Each value carries where it comes from: ``read`` (in a public copy of the source) or
``memory`` (known from the source, not compared with a copy of it).
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

#: Where the load indices are laid down.
LOAD_INDEX_SOURCE = "ISO 4000-1 and UN Regulation No. 54, Annex 4 (load-capacity indices)"

#: Where the speed symbols are laid down. H is out of alphabetical order.
SPEED_SYMBOL_SOURCE = "UN Regulations No. 30 and No. 54 (speed category symbols)"

#: Load ranges and the ply ratings that they stand for.
LOAD_RANGE_SOURCE = "tyre and rim association yearbooks (load range letters), from memory"

# Ten rows of ten from index 50, then index 150: the series repeats tenfold every 80 steps.
_KG = (
    (190, 195, 200, 206, 212, 218, 224, 230, 236, 243),
    (250, 257, 265, 272, 280, 290, 300, 307, 315, 325),
    (335, 345, 355, 365, 375, 387, 400, 412, 425, 437),
    (450, 462, 475, 487, 500, 515, 530, 545, 560, 580),
    (600, 615, 630, 650, 670, 690, 710, 730, 750, 775),
    (800, 825, 850, 875, 900, 925, 950, 975, 1000, 1030),
    (1060, 1090, 1120, 1150, 1180, 1215, 1250, 1285, 1320, 1360),
    (1400, 1450, 1500, 1550, 1600, 1650, 1700, 1750, 1800, 1850),
    (1900, 1950, 2000, 2060, 2120, 2180, 2240, 2300, 2360, 2430),
    (2500, 2575, 2650, 2725, 2800, 2900, 3000, 3075, 3150, 3250),
    (3350,),
)

#: Load index (50 to 150) to kg per tyre at the tyre's reference speed.
LOAD_INDEX_KG: Mapping[int, int] = MappingProxyType(
    {50 + place: kg for place, kg in enumerate(kg for row in _KG for kg in row)}
)

#: Speed symbol to km/h.
SPEED_SYMBOL_KMH: Mapping[str, int] = MappingProxyType(
    {
        "A1": 5, "A2": 10, "A3": 15, "A4": 20, "A5": 25, "A6": 30, "A7": 35, "A8": 40,
        "B": 50, "C": 60, "D": 65, "E": 70, "F": 80, "G": 90, "J": 100, "K": 110, "L": 120,
        "M": 130, "N": 140, "P": 150, "Q": 160, "R": 170, "S": 180, "T": 190, "U": 200,
        "H": 210, "V": 240, "W": 270, "Y": 300,
    }
)  # fmt: skip

#: Load range letter to ply rating, for light-truck tyres.
LOAD_RANGE_PLIES: Mapping[str, int] = MappingProxyType(
    {"A": 2, "B": 4, "C": 6, "D": 8, "E": 10, "F": 12, "G": 14, "H": 16, "J": 18, "L": 20}
)


def certainty_of_load_index(index: int) -> str | None:
    """How the kg of a load index are known: ``read`` (60 to 130), ``memory``, or ``None``.

    ``None`` means that the index is not on the table.
    """
    if index not in LOAD_INDEX_KG:
        return None
    return "read" if 60 <= index <= 130 else "memory"


def certainty_of_speed_symbol(symbol: str) -> str | None:
    """How the km/h of a speed symbol are known: ``read`` (L to Y), ``memory``, or ``None``."""
    if symbol not in SPEED_SYMBOL_KMH:
        return None
    return "read" if SPEED_SYMBOL_KMH[symbol] >= 120 else "memory"
