"""The value that a tyre marking is read into, how it prints, and the error for any other text."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal, cast

Style = Literal["metric", "p-metric", "light truck", "commercial", "flotation", "numeric"]
Construction = Literal["R", "D", "B"]

#: Aspect ratio of a radial metric marking that states none. The trade calls such sizes series 80
#: or 82; the dimension tables of UN Regulations No. 30 and No. 54 (from memory) give them, from a
#: width of 155 mm up, a height of 79 to 81 per cent of it. With 82 a 185R14C, listed at 650 mm,
#: would be 9 mm too tall.
IMPLIED_ASPECT = 80

#: The parts of a marking, in the words that a :class:`MarkingError` uses.
PARTS = (
    "empty",
    "size",
    "width",
    "aspect",
    "construction",
    "rim",
    "load index",
    "speed symbol",
    "load range",
    "ply rating",
    "extra text",
)


class MarkingError(ValueError):
    """A text that is no tyre marking.

    ``part`` is the part that was not understood, one of :data:`PARTS` ("extra text" stands
    behind what was understood); ``found`` is the stretch of the text that stands there,
    upper-cased; ``reason`` says what was expected.
    """

    def __init__(self, text: str, part: str, found: str, reason: str) -> None:
        self.text = text
        self.part = part
        self.found = found
        self.reason = reason
        super().__init__(f'tyre marking "{text}": {reason}')

    def __reduce__(self) -> tuple[type[MarkingError], tuple[str, str, str, str]]:
        return type(self), (self.text, self.part, self.found, self.reason)


@dataclass(frozen=True, slots=True)
class TyreMarking:
    """What stands on the side of a tyre; made by :func:`modrules.trade.markings.parse_marking`.

    ``style`` follows from how the size is written: ``flotation`` for diameter x width,
    ``numeric`` for a width in inches, ``p-metric`` with P, ``light truck`` with LT,
    ``commercial`` with C, else ``metric``. ``light_truck`` and ``commercial`` say whether LT
    or C stands with a size of any style.

    Numbers are as marked: ``width_mm`` in mm or ``width_in`` in inches, ``diameter_in``
    (overall, flotation only), ``aspect`` in per cent. Where a radial metric marking states no
    aspect ratio, ``aspect`` is the implied one and ``aspect_implied`` is set.
    ``construction`` is R (radial), D (diagonal, also where a hyphen stands in its place:
    ``hyphen``) or B (bias-belted). ``load_index`` is for single wheels, ``load_index_dual``
    for twin wheels. ``above_speed`` marks a service description in brackets: the tyre goes
    faster than its symbol.
    """

    style: Style
    width_mm: int | None
    width_in: Decimal | None
    diameter_in: Decimal | None
    aspect: int | None
    aspect_implied: bool
    construction: Construction
    hyphen: bool
    rim_in: Decimal
    load_index: int | None = None
    load_index_dual: int | None = None
    speed_symbol: str | None = None
    zr: bool = False
    extra_load: bool = False
    ply_rating: int | None = None
    load_range: str | None = None
    second_load_index: int | None = None
    second_speed_symbol: str | None = None
    second_load_index_dual: int | None = None
    above_speed: bool = False
    light_truck: bool = False
    commercial: bool = False

    def __str__(self) -> str:
        """The marking in canonical form, which reads back to an equal value."""
        parts = [self.size]
        if self.extra_load:
            parts.append("XL")
        if self.load_range is not None:
            parts.append(f"LR {self.load_range}")
        if self.ply_rating is not None:
            parts.append(f"{self.ply_rating}PR")
        if self.load_index is not None:
            service = _service(self.load_index, self.load_index_dual, self.speed_symbol)
            parts.append(f"({service})" if self.above_speed else service)
        if self.second_load_index is not None:
            second = _service(
                self.second_load_index, self.second_load_index_dual, self.second_speed_symbol
            )
            parts.append(f"({second})")
        return " ".join(parts)

    @property
    def size(self) -> str:
        """The size designation alone, such as ``LT255/75R17`` or ``7.50R16LT``."""
        letter = "-" if self.hyphen else ("ZR" if self.zr else self.construction)
        if self.width_in is not None:
            tall = "" if self.diameter_in is None else f"{self.diameter_in:f}x"
            behind = "LT" if self.light_truck else ("C" if self.commercial else "")
            return f"{tall}{self.width_in:f}{letter}{self.rim_in:f}{behind}"
        before = {"p-metric": "P", "light truck": "LT"}.get(self.style, "")
        aspect = "" if self.aspect_implied or self.aspect is None else f"/{self.aspect}"
        behind = "C" if self.commercial else ""
        return f"{before}{self.width_mm}{aspect}{letter}{self.rim_in:f}{behind}"


def _service(index: int, dual: int | None, symbol: str | None) -> str:
    return f"{index}{'' if dual is None else f'/{dual}'}{symbol}"


class OpenMarking:
    """The slots of :class:`TyreMarking` without its seal, so that filling them is cheap."""

    __slots__ = TyreMarking.__slots__

    style: Style
    width_mm: int | None
    width_in: Decimal | None
    diameter_in: Decimal | None
    aspect: int | None
    aspect_implied: bool
    construction: Construction
    hyphen: bool
    rim_in: Decimal
    load_index: int | None
    load_index_dual: int | None
    speed_symbol: str | None
    zr: bool
    extra_load: bool
    ply_rating: int | None
    load_range: str | None
    second_load_index: int | None
    second_speed_symbol: str | None
    second_load_index_dual: int | None
    above_speed: bool
    light_truck: bool
    commercial: bool


def sealed(value: OpenMarking) -> TyreMarking:
    """The marking with the fields of ``value``, all of which must be set.

    A frozen dataclass sets each field through a guarded call; filling open slots and then
    changing the class gives the same value in a sixth of the time.
    """
    value.__class__ = TyreMarking  # type: ignore[assignment]
    return cast(TyreMarking, value)
