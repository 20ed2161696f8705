"""How a fact is written in a submission: its line, with example figures, and where it goes."""

from __future__ import annotations

from fractions import Fraction
from math import ceil
from typing import Final

from modrules.language.tree import FactName
from modrules.language.units import decimal_text, unit_factor
from modrules.ruleset.names import FactRange
from modrules.screening.varying import Target

#: How far up the usual range the example lies, and how far off it may be, as a share of itself.
_UP: Final = Fraction(2, 3)
_OFF: Final = Fraction(1, 50)
_DAY: Final = "2026-03-14"
_SIZE: Final = "265/70R17 121/118S"


def line_of(target: Target) -> str:
    """The fact with a value: ``ride_height_change: 47 mm ± 1 mm``, ``driven: yes or no``.

    The figures are an example, and say nothing of this vehicle; of words all are named.
    """
    return f"{target.fact.id.rpartition('.')[2]}: {_example(target)}"


def under(target: Target) -> str:
    """Where the line goes: ``{id: lift, ...} in modifications``, ``steering in vehicle``."""
    subject, *stems = target.fact.id.split(".")[:-1]
    if target.record.id:
        places = [target.address.partition(".")[0], f"{{id: {target.record.id}, ...}}"]
    else:
        places = [subject]
    return " in ".join(reversed([*places, *stems]))


def list_line(key: str) -> str:
    """A list with two entries: ``corners: [{id: a}, {id: b}]``."""
    return f"{key}: [{{id: a}}, {{id: b}}]"


def _example(target: Target) -> str:
    fact = target.fact
    kind = fact.type.kind
    if kind == "yes_no":
        said = ["yes", "no"]
    elif fact.type.words:
        said = list(fact.type.words)
    elif kind == "quantity":
        said = [_figure(fact, target.limits)]
    elif kind == "date":
        said = [_DAY]
    elif kind == "period":
        said = ["18 months"]
    else:
        said = [_SIZE if target.type == "tyre_marking" else "as it is written there"]
    return " or ".join([*said, *(["none stated"] if fact.none_stated else [])])


def _figure(fact: FactName, limits: FactRange) -> str:
    """A round figure well inside what is usual, with a tolerance that stays within the range."""
    low = limits.low if limits.usual_low is None else limits.usual_low
    high = limits.high if limits.usual_high is None else limits.usual_high
    assert low is not None
    assert high is not None
    factor = fact.scale / unit_factor(fact.unit)
    bottom, top = Fraction(low) * factor, Fraction(high) * factor
    value = _rounded(bottom + (top - bottom) * _UP, 2)
    if fact.type.whole:
        whole = min(max(Fraction(ceil(value)), Fraction(ceil(bottom))), top)
        return decimal_text(whole, 0)
    unit = f" {fact.unit}" if fact.unit else ""
    off = _rounded(abs(value) * _OFF, 1)
    return f"{decimal_text(value, 6)}{unit} ± {decimal_text(off, 6)}{unit}"


def _rounded(value: Fraction, digits: int) -> Fraction:
    """A number with so many digits that say something."""
    if not value:
        return value
    step = Fraction(1)
    while abs(value) / step >= 10**digits:
        step *= 10
    while abs(value) / step < 10 ** (digits - 1):
        step /= 10
    return round(value / step) * step
