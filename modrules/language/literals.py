"""Reading the values that people write: ``47 mm``, ``47 mm ± 3 mm``, ``2021-03``.

Everything is read exactly, as fractions. What cannot be read raises
``LiteralProblem`` with a sentence and a hint.
"""

from __future__ import annotations

import calendar
import datetime
import re
from fractions import Fraction
from typing import Final

from modrules.language.units import PERIODS, UNITS, Dimension, in_words
from modrules.problems import nearest

_NUMBER: Final = r"[-+]?\d{1,30}(?:\.\d{1,30})?(?:[eE][-+]?\d{1,2})?"
_QUANTITY: Final = re.compile(
    rf"\s*(?P<value>{_NUMBER})\s*(?P<unit>[^\s\d±+-][^\s±+]*)?"
    rf"(?:\s*(?:±|\+/-)\s*(?P<tolerance>{_NUMBER})\s*(?P<tolerance_unit>\S+)?)?\s*",
    re.ASCII,
)
_DATE: Final = re.compile(r"(\d{4})(?:-(\d{2})(?:-(\d{2}))?)?", re.ASCII)
#: The unit in which the same thing is often stated elsewhere.
_MEANT: Final = {
    "mm": ("cm", "in"), "m": ("mm", "ft"), "km": ("m",), "kg": ("t", "lb"), "kPa": ("bar", "psi"),
    "km/h": ("mph",), "t": ("kg", "lb"), "L": ("mL",), "N": ("kN",), "kN": ("N",),
}  # fmt: skip
_NO_NUMBER: Final = re.compile(r"\s*[-+]?(nan|inf(inity)?|\.nan|\.inf)\b", re.IGNORECASE)


class LiteralProblem(Exception):
    """A value that cannot be read."""

    def __init__(self, message: str, hint: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.hint = hint


def read_quantity(
    text: str, dimension: Dimension, unit: str, *, with_unit: bool = False
) -> tuple[Fraction, Fraction | None, str]:
    """Value and tolerance (None: not stated) in SI units, and the unit that was written.

    A number without a unit is in ``unit``, the declared one, but refused ``with_unit``: who
    measured in inches would be read in millimetres. A tolerance in % is a share of the value,
    and one without a unit is in the unit of the value. Raises LiteralProblem.
    """
    match = _QUANTITY.fullmatch(text)
    if match is None:
        raise LiteralProblem(*_why_not(text, unit))
    written = match["unit"] or unit
    if with_unit and unit and not match["unit"]:
        raise LiteralProblem(f"{match['value']} has no unit", _with_unit(match["value"], unit))
    value = Fraction(match["value"]) * _factor(written, dimension)
    tolerance = None
    if match["tolerance"] is not None:
        tolerance_unit = match["tolerance_unit"] or written
        amount = Fraction(match["tolerance"])
        if tolerance_unit == "%" and written != "%":
            tolerance = abs(value) * amount / 100
        else:
            tolerance = amount * _factor(tolerance_unit, dimension)
        if tolerance < 0:
            raise LiteralProblem("a tolerance can't be negative")
    return value, tolerance, written


def _factor(name: str, dimension: Dimension) -> Fraction:
    if not name:
        return Fraction(1)
    unit = UNITS.get(name)
    if unit is None:
        near = nearest(name, UNITS)
        raise LiteralProblem(f'"{name}" is no known unit', near or f"known: {', '.join(UNITS)}")
    if unit.dimension != dimension:
        raise LiteralProblem(
            f"{name} is a unit of {in_words(unit.dimension)}, not of {in_words(dimension)}",
            f"give the value in {_fitting(dimension)}",
        )
    return unit.factor


def _fitting(dimension: Dimension) -> str:
    return (
        " or ".join(u.name for u in UNITS.values() if u.dimension == dimension) or "a plain number"
    )


def _with_unit(number: str, unit: str) -> str:
    """How a number is to be written, in the declared unit or in one that people may have meant."""
    told = [f"{number} {name}" for name in (unit, *_MEANT.get(unit, ()))]
    return f"write it with the unit that is meant: {' or '.join(told)}"


def _why_not(text: str, unit: str) -> tuple[str, str]:
    example = f"47 {unit}".strip()
    hint = f'write "{example}" or "{example} ± 3 {unit}"'.replace("  ", " ").replace(' "', ' "')
    shown = text if len(text) <= 40 else f"{text[:40]}…"
    if _NO_NUMBER.match(text):
        return f'"{shown}" is no number that can be measured', hint
    if re.fullmatch(r"\s*[-+]?\d+,\d+.*", text):
        return f'"{shown}" has a comma in it', "write decimals with a point, and no thousands marks"
    return f'"{shown}" is no number with a unit', hint


def read_date(text: str) -> tuple[int, int]:
    """First and last possible day, as ordinals: a year or a month alone is an interval."""
    match = _DATE.fullmatch(text.strip())
    hint = "write a date as 2024-07-01, or 2024-07 or 2024 where only that is known"
    if match is None:
        raise LiteralProblem(f'"{text[:40]}" is no date', hint)
    year, month, day = (int(part) if part else None for part in match.groups())
    try:
        assert year is not None
        if month is None:
            return datetime.date(year, 1, 1).toordinal(), datetime.date(year, 12, 31).toordinal()
        if day is None:
            last = calendar.monthrange(year, month)[1]
            first = datetime.date(year, month, 1)
            return first.toordinal(), first.replace(day=last).toordinal()
        only = datetime.date(year, month, day).toordinal()
    except (ValueError, calendar.IllegalMonthError):
        raise LiteralProblem(f"{text} is no date of the calendar", hint) from None
    return only, only


def read_period(text: str) -> int:
    """A calendar period in months, from ``15 years`` or ``6 months``."""
    match = re.fullmatch(r"\s*(\d{1,4})\s*(\w+)\s*", text, re.ASCII)
    if match is None or match[2] not in PERIODS:
        raise LiteralProblem(f'"{text[:40]}" is no calendar period', "write 15 years or 6 months")
    return int(match[1]) * PERIODS[match[2]]
