"""Mutants of a check or a quantity: one limit, operator or unit changed, or an exemption dropped.

    mutants(check) -> Iterator[Mutant]
    quantity_mutants(quantity) -> Iterator[Mutant]

They are made at the places in the text where they would be typed wrong. One that would not
load is no mutant; whoever types them drops it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Final, Generic, TypeVar

from modrules.language import syntax as s
from modrules.language.parser import parse
from modrules.language.units import decimal_text
from modrules.problems import Place
from modrules.ruleset.tree import Scalar

if TYPE_CHECKING:
    from modrules.ruleset.models import Check, Quantity

#: What is written by mistake for an operator.
_OPERATORS: Final[Mapping[str, str]] = {
    "<": "<=",
    "<=": "<",
    ">": ">=",
    ">=": ">",
    "=": "!=",
    "!=": "=",
    "and": "or",
    "or": "and",
    "+": "-",
    "-": "+",
}
#: What is written by mistake for a unit.
_UNITS: Final[Mapping[str, str]] = {
    "mm": "cm",
    "cm": "mm",
    "m": "mm",
    "in": "mm",
    "ft": "m",
    "kg": "lb",
    "lb": "kg",
    "t": "kg",
    "kPa": "psi",
    "psi": "kPa",
    "bar": "kPa",
    "L": "mL",
    "mL": "L",
    "km/h": "mph",
    "mph": "km/h",
    "m/s": "km/h",
    "N": "kN",
    "kN": "N",
    "years": "months",
    "months": "years",
}
_EXPRESSIONS: Final = ("applies_if", "requires", "measures")
_BAND_EXPRESSIONS: Final = ("over", "over_or_at", "up_to", "under", "only_if", "unless")
#: The ends of a band that are taken for one another.
_ENDS: Final = (("over", "over_or_at"), ("up_to", "under"))
_KEYS: Final = {"over_or_at": "from"}
Changed = TypeVar("Changed")
_NUMBER: Final = re.compile(r"\d+(?:\.(\d+))?")


@dataclass(frozen=True, slots=True)
class Mutant(Generic[Changed]):
    """A changed item; ``change`` says in words what was changed, and ``kind`` what sort it is."""

    item: Changed
    kind: str
    change: str
    place: Place


def mutants(check: Check) -> Iterator[Mutant[Check]]:
    """Every mutant of a check, in the order of its parts."""
    for name in _EXPRESSIONS:
        text = getattr(check, name)
        for changed, kind, change, place in _changes(text):
            yield Mutant(check.model_copy(update={name: changed}), kind, change, place)
    for index, exemption in enumerate(check.exempt_if):
        left = check.exempt_if[:index] + check.exempt_if[index + 1 :]
        place = exemption.condition.place
        dropped = check.model_copy(update={"exempt_if": left})
        yield Mutant(dropped, "exemption", "the exemption is dropped", place)
        for changed, kind, change, place in _changes(exemption.condition):
            other = exemption.model_copy(update={"condition": changed})
            kept = (*check.exempt_if[:index], other, *check.exempt_if[index + 1 :])
            yield Mutant(check.model_copy(update={"exempt_if": kept}), kind, change, place)
    for index, band in enumerate(check.bands):
        for updates, kind, change, place in _band_changes(band):
            bands = list(check.bands)
            bands[index] = band.model_copy(update=updates)
            yield Mutant(check.model_copy(update={"bands": tuple(bands)}), kind, change, place)


def quantity_mutants(quantity: Quantity) -> Iterator[Mutant[Quantity]]:
    """Every mutant of the formula of a quantity, and of the condition under which it holds."""
    for name in ("formula", "holds"):
        for changed, kind, change, place in _changes(getattr(quantity, name)):
            yield Mutant(quantity.model_copy(update={name: changed}), kind, change, place)


_Change = tuple[Scalar, str, str, Place]


def _band_changes(band: object) -> Iterator[tuple[dict[str, Scalar | None], str, str, Place]]:
    for name in _BAND_EXPRESSIONS:
        for changed, kind, change, place in _changes(getattr(band, name)):
            yield {name: changed}, kind, change, place
    for one, other in (*_ENDS, *((b, a) for a, b in _ENDS)):
        text = getattr(band, one)
        if text is not None and getattr(band, other) is None:
            change = f"{_KEYS.get(one, one)} {text} becomes {_KEYS.get(other, other)} {text}"
            yield {one: None, other: text}, "operator", change, text.place


def _changes(text: Scalar | None) -> Iterator[_Change]:
    """The text with one thing in it changed."""
    if text is None:
        return
    stack: list[s.Syntax] = [parse(text)]
    while stack:
        piece = stack.pop()
        stack += reversed(s.parts_of(piece))
        if isinstance(piece, s.Number):
            yield from _number(text, piece)
        elif isinstance(piece, s.Binary):
            yield from _operator(text, piece)


def _number(text: Scalar, piece: s.Number) -> Iterator[_Change]:
    start, end = piece.span
    written = text[start:end]
    match = _NUMBER.search(written)
    if match is None:
        return
    places = len(match[1] or "")
    step = Fraction(1, 10**places)
    for value in (piece.value + step, piece.value - step):
        new = written[: match.start()] + decimal_text(value, places) + written[match.end() :]
        yield _replaced(text, start, end, new, "limit", f"{written} becomes {new}")
    other = _UNITS.get(piece.unit)
    # Nothing is nothing in any unit.
    if other is not None and piece.value and written.endswith(piece.unit):
        new = written[: -len(piece.unit)] + other
        yield _replaced(text, start, end, new, "unit", f"{written} becomes {new}")


def _operator(text: Scalar, piece: s.Binary) -> Iterator[_Change]:
    other = _OPERATORS.get(piece.operator)
    start, end = piece.left.span[1], piece.right.span[0]
    at = text.find(piece.operator, start, end)
    if other is None or at < 0:
        return
    stop = at + len(piece.operator)
    yield _replaced(text, at, stop, other, "operator", f'"{piece.operator}" becomes "{other}"')


def _replaced(text: Scalar, start: int, end: int, new: str, kind: str, change: str) -> _Change:
    return Scalar(text[:start] + new + text[end:]), kind, change, text.place_at(start, end)
