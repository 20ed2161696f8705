"""Dimensions and units of the trade, all factors exact.

A dimension is a tuple of whole exponents over length, mass, time, temperature
and angle. Every unit has an exact factor to the coherent SI unit of its
dimension. Values are stored as counts of a small *quantum* of their dimension,
chosen so that inches, pounds and miles per hour are whole numbers of quanta.

Factors: SI brochure (BIPM); inch, foot, pound and mile by the international
yard and pound agreement of 1959; pound-force with the standard acceleration of
free fall 9.80665 m/s2. tests/language checks them against a units library.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Final

#: exponents of length, mass, time, temperature, angle
Dimension = tuple[int, int, int, int, int]

NUMBER: Final[Dimension] = (0, 0, 0, 0, 0)
LENGTH: Final[Dimension] = (1, 0, 0, 0, 0)
AREA: Final[Dimension] = (2, 0, 0, 0, 0)
VOLUME: Final[Dimension] = (3, 0, 0, 0, 0)
MASS: Final[Dimension] = (0, 1, 0, 0, 0)
TIME: Final[Dimension] = (0, 0, 1, 0, 0)
SPEED: Final[Dimension] = (1, 0, -1, 0, 0)
FORCE: Final[Dimension] = (1, 1, -2, 0, 0)
TORQUE: Final[Dimension] = (2, 1, -2, 0, 0)
PRESSURE: Final[Dimension] = (-1, 1, -2, 0, 0)
POWER: Final[Dimension] = (2, 1, -3, 0, 0)
TEMPERATURE: Final[Dimension] = (0, 0, 0, 1, 0)
ANGLE: Final[Dimension] = (0, 0, 0, 0, 1)

#: The word for each dimension that a fact may have, as used in vocabularies and messages.
DIMENSIONS: Final[dict[str, Dimension]] = {
    "number": NUMBER,
    "length": LENGTH,
    "distance": LENGTH,
    "area": AREA,
    "volume": VOLUME,
    "mass": MASS,
    "time": TIME,
    "speed": SPEED,
    "force": FORCE,
    "torque": TORQUE,
    "pressure": PRESSURE,
    "power": POWER,
    "temperature": TEMPERATURE,
    "angle": ANGLE,
}

_WORDS: Final[dict[Dimension, str]] = {
    dimension: word for word, dimension in reversed(DIMENSIONS.items())
}
_BASES: Final = ("m", "kg", "s", "degC", "deg")


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit: its name, its dimension and its exact factor to the SI unit."""

    name: str
    dimension: Dimension
    factor: Fraction


_INCH = Fraction(254, 10000)
_POUND = Fraction(45359237, 10**8)
_FREE_FALL = Fraction(980665, 100000)
_KM_H = Fraction(10, 36)
_DAY = Fraction(86400)


def _unit(name: str, dimension: Dimension, factor: Fraction | int) -> tuple[str, Unit]:
    return name, Unit(name, dimension, Fraction(factor))


UNITS: Final[dict[str, Unit]] = dict(
    [
        _unit("mm", LENGTH, Fraction(1, 1000)),
        _unit("cm", LENGTH, Fraction(1, 100)),
        _unit("m", LENGTH, 1),
        _unit("km", LENGTH, 1000),
        _unit("in", LENGTH, _INCH),
        _unit("ft", LENGTH, 12 * _INCH),
        _unit("m2", AREA, 1),
        _unit("L", VOLUME, Fraction(1, 1000)),
        _unit("mL", VOLUME, Fraction(1, 10**6)),
        _unit("g", MASS, Fraction(1, 1000)),
        _unit("kg", MASS, 1),
        _unit("t", MASS, 1000),
        _unit("lb", MASS, _POUND),
        _unit("s", TIME, 1),
        _unit("h", TIME, 3600),
        _unit("days", TIME, _DAY),
        _unit("km/h", SPEED, _KM_H),
        _unit("m/s", SPEED, 1),
        _unit("mph", SPEED, _KM_H * Fraction(1609344, 10**6)),
        _unit("N", FORCE, 1),
        _unit("kN", FORCE, 1000),
        _unit("Nm", TORQUE, 1),
        _unit("kPa", PRESSURE, 1000),
        _unit("bar", PRESSURE, 100000),
        _unit("psi", PRESSURE, _POUND * _FREE_FALL / _INCH**2),
        _unit("kW", POWER, 1000),
        _unit("degC", TEMPERATURE, 1),
        _unit("deg", ANGLE, 1),
        _unit("%", NUMBER, Fraction(1, 100)),
    ]
)

#: How the language makes a mass of a force, by the mass of which it is the weight.
FORCE_TO_MASS: Final = "a force becomes the mass of that weight by `/ 9.81 N * 1 kg`"
#: Calendar units, counted in months; they go with dates only.
PERIODS: Final[dict[str, int]] = {"years": 12, "year": 12, "months": 1, "month": 1}

#: The SI value of one quantum, where a dimension has one of its own.
_QUANTA: Final[dict[Dimension, Fraction]] = {
    NUMBER: Fraction(1, 10**6),
    LENGTH: Fraction(1, 10**9),
    AREA: Fraction(1, 10**9),
    VOLUME: Fraction(1, 10**12),
    MASS: Fraction(1, 10**8),
    TIME: _DAY,
    SPEED: _KM_H / 10**6,
    FORCE: Fraction(1, 10**6),
    TORQUE: Fraction(1, 10**6),
    PRESSURE: Fraction(1, 1000),
    POWER: Fraction(1, 10**6),
    TEMPERATURE: Fraction(1, 10**6),
    ANGLE: Fraction(1, 10**6),
}

_SHOWN: Final[dict[Dimension, str]] = {
    NUMBER: "",
    LENGTH: "mm",
    AREA: "m2",
    VOLUME: "L",
    MASS: "kg",
    TIME: "days",
    SPEED: "km/h",
    FORCE: "kN",
    TORQUE: "Nm",
    PRESSURE: "kPa",
    POWER: "kW",
    TEMPERATURE: "degC",
    ANGLE: "deg",
}


def quantum(dimension: Dimension) -> Fraction:
    """The SI value of one quantum of ``dimension``; 1 for a dimension without one."""
    return _QUANTA.get(dimension, Fraction(1))


def shown_unit(dimension: Dimension) -> str:
    """The name of the unit in which values of ``dimension`` are shown if none is stated."""
    return _SHOWN.get(dimension, "")


def unit_factor(name: str) -> Fraction:
    """The SI factor of unit ``name``; the empty name stands for the SI unit itself."""
    return UNITS[name].factor if name else Fraction(1)


def in_words(dimension: Dimension) -> str:
    """A dimension in words: ``length``, or ``m2 kg/s`` for one that has no word."""
    word = _WORDS.get(dimension)
    if word is not None:
        return "plain number" if word == "number" else word
    over = [f"{b}{e if e > 1 else ''}" for b, e in zip(_BASES, dimension, strict=True) if e > 0]
    under = [f"{b}{-e if e < -1 else ''}" for b, e in zip(_BASES, dimension, strict=True) if e < 0]
    return (" ".join(over) or "1") + ("/" + " ".join(under) if under else "")


def times(a: Dimension, b: Dimension) -> Dimension:
    """The dimension of a product."""
    return (a[0] + b[0], a[1] + b[1], a[2] + b[2], a[3] + b[3], a[4] + b[4])


def over(a: Dimension, b: Dimension) -> Dimension:
    """The dimension of a quotient."""
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2], a[3] - b[3], a[4] - b[4])


def whole(value: Fraction) -> int | Fraction:
    """The same number as an int where it is whole."""
    return value.numerator if value.denominator == 1 else value


def decimal_text(value: Fraction | int, places: int = 6) -> str:
    """An exact number as a plain decimal, rounded half away from zero to ``places``."""
    value = Fraction(value)
    unit = 10**places
    scaled = value * unit
    count = abs(scaled.numerator) * 2 // scaled.denominator
    count = (count + 1) // 2
    head, tail = divmod(count, unit)
    digits = f"{tail:0{places}d}".rstrip("0") if places else ""
    sign = "-" if value < 0 and count else ""
    return f"{sign}{head}.{digits}" if digits else f"{sign}{head}"
