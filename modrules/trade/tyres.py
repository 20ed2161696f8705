"""What a tyre marking says of the tyre: sizes, load, speed, class.

Lengths are exact fractions of a mm. A function gives ``None`` where the marking does not
state the value; nothing is guessed.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from modrules.trade.tables import LOAD_INDEX_KG, SPEED_SYMBOL_KMH
from modrules.trade.tyre_marking import TyreMarking

#: An inch in mm, exactly.
INCH = Fraction(254, 10)

#: Pi lies between these two.
PI_LOW = Fraction(3141592653589793, 10**15)
PI_HIGH = Fraction(3141592653589794, 10**15)

#: How far a new tyre may lie from the diameter and width worked out from its marking, as a part
#: of it. Common practice, no published source: it holds the permitted making tolerances and the
#: distance between the code of a flotation size and its design size, but not wear.
DIAMETER_TOLERANCE = Fraction(3, 100)
WIDTH_TOLERANCE = Fraction(5, 100)

#: The words for the construction letters.
CONSTRUCTIONS = {"R": "radial", "D": "diagonal", "B": "bias-belted"}


def overall_diameter(marking: TyreMarking) -> Fraction | None:
    """The nominal overall diameter in mm.

    Metric: rim diameter plus twice the section height (UN Regulation No. 30, 6.1). Flotation:
    the diameter code, in inches. Numeric sizes don't state their height: ``None``.
    """
    if marking.diameter_in is not None:
        return Fraction(marking.diameter_in) * INCH
    height = section_height(marking)
    return None if height is None else rim_diameter(marking) + 2 * height


def rim_diameter(marking: TyreMarking) -> Fraction:
    """The nominal rim diameter in mm: the code in inches, at 25.4 mm (UN R30, 6.1)."""
    return Fraction(marking.rim_in) * INCH


def section_width(marking: TyreMarking) -> Fraction | None:
    """The nominal section width in mm, on the measuring rim.

    ``None`` for numeric sizes: the tyre is wider than its code, by up to a sixth.
    """
    if marking.width_mm is not None:
        return Fraction(marking.width_mm)
    if marking.style == "flotation" and marking.width_in is not None:
        return Fraction(marking.width_in) * INCH
    return None


def section_height(marking: TyreMarking) -> Fraction | None:
    """The nominal section height in mm: width times aspect ratio, or half of what a flotation
    tyre rises above its rim. ``None`` for numeric sizes."""
    if marking.width_mm is not None and marking.aspect is not None:
        return Fraction(marking.width_mm * marking.aspect, 100)
    if marking.diameter_in is not None:
        return (Fraction(marking.diameter_in) - Fraction(marking.rim_in)) * INCH / 2
    return None


def section_width_on_rim(
    nominal: Fraction, rim_width: Fraction, theoretical_rim: Fraction
) -> Fraction | None:
    """The section width in mm on a rim of another width (UN R30, 6.1): the nominal width plus
    four tenths of what the rim is wider than the theoretical rim, all in mm.

    ``None`` where a width is not positive or the result would not be.
    """
    if min(nominal, rim_width, theoretical_rim) <= 0:
        return None
    width = nominal + Fraction(2, 5) * (rim_width - theoretical_rim)
    return width if width > 0 else None


def rim_width_allowed(rim_width: Fraction, narrowest: Fraction, widest: Fraction) -> bool:
    """Whether a rim is within the widths that the tyre's maker allows, ends included.

    All in the same unit. Raises ``ValueError`` where the two ends are the wrong way round.
    """
    if narrowest > widest:
        raise ValueError(f"the narrowest rim, {narrowest}, is wider than the widest, {widest}")
    return narrowest <= rim_width <= widest


def circumference(diameter: Fraction) -> tuple[Fraction, Fraction]:
    """The circumference in mm of a circle of ``diameter`` mm: two bounds that hold it.

    A loaded tyre rolls some 3 per cent less in a turn (common practice, no published source),
    which cancels wherever two tyres are compared.
    """
    if diameter <= 0:
        raise ValueError(f"a diameter is above zero, not {diameter}")
    return diameter * PI_LOW, diameter * PI_HIGH


def revolutions_per_km(diameter: Fraction) -> tuple[Fraction, Fraction]:
    """Turns in a km of a circle of ``diameter`` mm: two bounds that hold them."""
    low, high = circumference(diameter)
    return 1_000_000 / high, 1_000_000 / low


def load_capacity(index: int) -> int | None:
    """The kg that one tyre carries at its reference speed; ``None`` off the table (50 to 150)."""
    return LOAD_INDEX_KG.get(index)


def speed_of_symbol(symbol: str) -> int | None:
    """The km/h of a speed symbol (B to Y, H above U); ``None`` for any other text."""
    return SPEED_SYMBOL_KMH.get(symbol.strip().upper())


def capacity(marking: TyreMarking, *, twin: bool = False) -> int | None:
    """The kg that one tyre carries by its first service description.

    Single wheels take the first index, twin wheels the second; ``None`` where it is not stated.
    """
    index = marking.load_index_dual if twin else marking.load_index
    return None if index is None else load_capacity(index)


def top_speed(marking: TyreMarking) -> int | None:
    """The km/h of the marking's speed symbol, the least that the tyre is rated for.

    A description in brackets, and ``ZR`` without one, mean more than can be said in a number:
    brackets give the symbol's speed, a bare ``ZR`` 240.
    """
    if marking.speed_symbol is not None:
        return speed_of_symbol(marking.speed_symbol)
    return 240 if marking.zr else None


def tyre_class(marking: TyreMarking) -> str | None:
    """``passenger``, ``light truck`` or ``commercial``, where the marking tells.

    LT and every flotation size are light truck; C, and any other size with an index for twin
    wheels, commercial; P and a plain metric size with one load index, passenger. Others, such
    as a bare metric size without a service description, have no class.
    """
    if marking.light_truck or marking.style == "flotation":
        return "light truck"
    if marking.commercial or marking.load_index_dual is not None:
        return "commercial"
    plain = marking.ply_rating is None and marking.load_range is None
    if marking.style == "p-metric" or (
        marking.style == "metric" and marking.load_index is not None and plain
    ):
        return "passenger"
    return None


def construction(marking: TyreMarking) -> str:
    """``radial``, ``diagonal`` or ``bias-belted``."""
    return CONSTRUCTIONS[marking.construction]


def axle_construction(markings: Iterable[TyreMarking]) -> str:
    """The construction that all tyres of an axle share.

    Raises ``ValueError`` where they differ or where there is no tyre.
    """
    found = sorted({construction(marking) for marking in markings})
    if len(found) != 1:
        raise ValueError(
            f"the tyres of one axle mix {' and '.join(found)} construction"
            if found
            else "an axle without a tyre has no construction"
        )
    return found[0]
