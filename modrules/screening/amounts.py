"""Values of facts as amounts in their declared unit, exactly; and what is known of a fact."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Final

from modrules.language.records import NONE_STATED, Open
from modrules.language.tree import FactName
from modrules.language.units import decimal_text, unit_factor
from modrules.problems import ModrulesError, Problem
from modrules.screening.lines import Exact
from modrules.screening.varying import Target

_FIRST_DAY: Final = datetime.date(1900, 1, 1).toordinal()
_LAST_DAY: Final = datetime.date(2100, 12, 31).toordinal()


@dataclass(frozen=True, slots=True)
class Amount:
    """A value of a number or date, as a run-time number of its fact."""

    number: Exact
    fact: FactName

    @property
    def exact(self) -> Fraction:
        """In the declared unit; a date as its ordinal."""
        if self.fact.type.kind == "date":
            return Fraction(self.number)
        return Fraction(self.number) * self.fact.scale / unit_factor(self.fact.unit)

    def __str__(self) -> str:
        """Exactly, without the unit: ``62.5``, ``100/3``, ``2026-07-01``."""
        if self.fact.type.kind == "date":
            return datetime.date.fromordinal(int(self.number)).isoformat()
        value = self.exact
        text = decimal_text(value, 12)
        return text if Fraction(text) == value else f"{value.numerator}/{value.denominator}"

    def to_data(self) -> dict[str, Any]:
        if self.fact.type.kind == "date":
            return {"value": str(self), "exact": str(self)}
        value = self.exact
        plain = value.numerator if value.denominator == 1 else float(decimal_text(value, 9))
        return {"value": plain, "exact": str(self)}


@dataclass(frozen=True, slots=True)
class End:
    """An end of a stretch; ``closed`` where the value itself belongs to it."""

    amount: Amount
    closed: bool

    def to_data(self) -> dict[str, Any]:
        return {**self.amount.to_data(), "closed": self.closed}


def hard_range(target: Target) -> tuple[Exact, Exact]:
    """The declared range; for a date without one the years that a vehicle may have seen."""
    low, high = target.limits.low, target.limits.high
    if target.fact.type.kind == "date":
        low = _FIRST_DAY if low is None else low
        high = _LAST_DAY if high is None else high
    if low is None or high is None:
        raise ModrulesError(Problem(f'the fact "{target.address}" has no declared range'))
    return low, high


def present(target: Target) -> str:
    """What is known of a fact now, in its declared unit and without it."""
    value, fact = target.value, target.fact
    if not target.is_number:
        if isinstance(value, Open):
            return "none stated" if value == NONE_STATED else "not known"
        return {True: "yes", False: "no"}.get(value, str(value))
    if not isinstance(value, Open):
        return str(Amount(value, fact))
    if value == NONE_STATED:
        return "none stated"
    if value.missing or isinstance(value.low, float) or isinstance(value.high, float):
        return "not known"
    return f"{Amount(value.low, fact)} to {Amount(value.high, fact)}"
