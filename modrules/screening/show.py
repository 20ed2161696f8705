"""Values in words and as plain data: ``47 mm``, ``44 to 50 mm``, ``{value, unit}``."""

from __future__ import annotations

import datetime
from fractions import Fraction
from typing import Any

from modrules.language import domains as d
from modrules.language.tree import FactName, Node, Type
from modrules.language.units import decimal_text, shown_unit, unit_factor

PLACES = 3


def unit_of(type: Type, unit: str) -> str:
    """The unit in which a value is shown."""
    return unit or shown_unit(type.dimension)


def in_unit(value: Any, node: Node) -> Fraction:
    """A run-time number of a node in the unit in which it is shown."""
    return Fraction(value) * node.scale / unit_factor(unit_of(node.type, node.unit))


def quantity_data(low: Any, high: Any, node: Node) -> dict[str, Any]:
    """A number or range of a node as plain data; infinite ends are null."""
    unit = unit_of(node.type, node.unit)
    if low == high:
        return {"value": plain_number(in_unit(low, node)), "unit": unit}
    ends = [
        None if isinstance(end, float) else plain_number(in_unit(end, node)) for end in (low, high)
    ]
    return {"value": None, "unit": unit, "low": ends[0], "high": ends[1]}


def quantity_of(low: Any, high: Any, fact: FactName) -> dict[str, Any]:
    """A number or range of a fact as plain data, in its declared unit; infinite ends are null."""
    ends = [
        None
        if isinstance(end, float)
        else plain_number(Fraction(end) * fact.scale / unit_factor(fact.unit))
        for end in (low, high)
    ]
    if low == high:
        return {"value": ends[0], "unit": fact.unit}
    return {"value": None, "unit": fact.unit, "low": ends[0], "high": ends[1]}


def plain_number(value: Fraction) -> int | float:
    """Rounded to nine decimals, so that a third has a form in JSON too."""
    if value.denominator == 1:
        return value.numerator
    return float(decimal_text(value, 9))


def number_words(value: Any, node: Node) -> str:
    """A number with its unit."""
    if isinstance(value, float):
        return "no limit" if value > 0 else "no lower limit"
    unit = unit_of(node.type, node.unit)
    return f"{decimal_text(in_unit(value, node), PLACES)} {unit}".strip()


def range_words(found: d.Range, node: Node) -> str:
    """A range in words, as possible values."""
    low, high, gap = found
    if low > high:
        return "no value"
    if low == high:
        words = number_words(low, node)
    elif isinstance(low, float) and isinstance(high, float):
        words = "not known"
    elif isinstance(low, float):
        words = f"up to {number_words(high, node)}"
    elif isinstance(high, float):
        words = f"{number_words(low, node)} or more"
    else:
        unit = unit_of(node.type, node.unit)
        bottom = decimal_text(in_unit(low, node), PLACES)
        words = f"{bottom} to {decimal_text(in_unit(high, node), PLACES)} {unit}".strip()
    return f"{words}, or no value" if gap else words


def date_words(found: d.Range) -> str:
    low, high, gap = found
    if low > high:
        return "no date"
    if isinstance(low, float) or isinstance(high, float):
        return "date not known"
    first, last = (datetime.date.fromordinal(int(end)).isoformat() for end in (low, high))
    words = first if first == last else f"{first} to {last}"
    return f"{words}, or none" if gap else words


def value_words(found: Any, node: Node) -> str:
    """What a node may be, in words."""
    kind = node.type.kind
    if kind == "yes_no":
        words = [
            w for bit, w in ((d.TRUE, "yes"), (d.FALSE, "no"), (d.GAP, "no value")) if found & bit
        ]
        return "not known" if len(words) == 3 or found == d.UNDECIDED else " or ".join(words)
    if kind in ("word", "text"):
        values, gap = found
        if values is None:
            return "not known"
        if len(values) > 4:
            return "not known"
        words = sorted(values) + (["none stated"] if gap else [])
        return " or ".join(words) or "no value"
    if kind == "date":
        return date_words(found)
    if kind == "period":
        low, high, _ = found
        return f"{low} months" if low == high else f"{low} to {high} months"
    return range_words(found, node)
