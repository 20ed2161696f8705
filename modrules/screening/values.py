"""The value of one fact: from what a submission says to what evaluation runs on."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from dataclasses import dataclass, field
from fractions import Fraction
from sys import intern
from typing import TYPE_CHECKING, Any, Final

from modrules.language.literals import LiteralProblem, read_date, read_period, read_quantity
from modrules.language.records import NONE_STATED, Open
from modrules.language.tree import FactName
from modrules.language.units import decimal_text, unit_factor, whole
from modrules.problems import ModrulesError, Place, Problem, in_order, nearest
from modrules.ruleset.names import FactRange
from modrules.ruleset.tree import Map, Node, Scalar, Seq
from modrules.trade.markings import MarkingError, parse_marking

if TYPE_CHECKING:
    from modrules.ruleset.models import Fact

LONGEST_TEXT: Final = 500
#: What may be told of a measurement besides its value and tolerance.
TOLD: Final = ("by", "on", "with", "condition", "source", "note")
_MEASUREMENT_KEYS: Final = ("value", "tolerance", *TOLD)
_YES_NO: Final = {"yes": True, "true": True, "no": False, "false": False}


@dataclass(slots=True)
class Problems:
    """What is wrong, what is merely odd, and what was cut off at the declared range.

    ``cuts`` has, by the address of a fact, the ends of what was given before.
    """

    errors: list[Problem]
    cautions: list[str]
    cuts: dict[str, tuple[Any, Any]] = field(default_factory=dict)

    def error(self, message: str, place: Place | None, hint: str = "") -> None:
        self.errors.append(Problem(message, place, hint))

    def raise_errors(self) -> None:
        """Raises ModrulesError with all that is wrong, if anything is."""
        if self.errors:
            raise ModrulesError(in_order(self.errors))

    def caution(self, message: str) -> None:
        self.cautions.append(message)


def one_value(tree: Map, keys: Iterable[str], whose: str, problems: Problems) -> None:
    """Reports each of some keys under which there is a list or a mapping in place of one value.

    Passed over, what is written there would be lost without a word.
    """
    for key in keys:
        if isinstance(tree.get(key), (Map, Seq)):
            problems.error(f"{key} of {whose} is one value", tree[key].place, "write one value")


def missing_value(fact: FactName, limits: FactRange | None, item: Fact | None) -> Open:
    """All that a fact may be when nothing is said of it.

    A number lies in its declared range, but a fact on ratings, brakes, steering or
    restraints never decides by that, so its range is left open.
    """
    kind = fact.type.kind
    if kind == "yes_no":
        return Open(1, 0, frozenset((False, True)), fact.none_stated, missing=True)
    if kind == "word" or fact.type.words:
        return Open(1, 0, frozenset(fact.type.words), fact.none_stated, missing=True)
    if kind == "text" or limits is None or (item is not None and item.safety):
        return Open(none=fact.none_stated, missing=True)
    low = limits.low if limits.low is not None else -float("inf")
    high = limits.high if limits.high is not None else float("inf")
    return Open(low, high, None, fact.none_stated, missing=True)


def read_value(
    node: Node,
    fact: FactName,
    limits: FactRange | None,
    item: Fact | None,
    address: str,
    problems: Problems,
) -> Any:
    """The run-time value of a fact; a problem is reported and the value then is a missing one."""
    tolerance: Scalar | None = None
    if isinstance(node, Map):
        for key in node:
            if key not in _MEASUREMENT_KEYS:
                problems.error(
                    f'a measurement has no "{key}"',
                    node.key_place(key),
                    nearest(key, _MEASUREMENT_KEYS),
                )
        one_value(node, TOLD, f'"{address}"', problems)
        value, given = node.get("value"), node.get("tolerance")
        if isinstance(given, Scalar):
            tolerance = given
        elif given is not None:
            # Passed over, a measurement of unknown precision would count as exact.
            problems.error(
                f'the tolerance of "{address}" is one value',
                node.key_place("tolerance"),
                "write how far the value may be off, or leave the key out where it is exact",
            )
        if not isinstance(value, Scalar):
            problems.error(f'"{address}" has no value', node.place, "add value: …")
            return missing_value(fact, limits, item)
        node = value
    if not isinstance(node, Scalar):
        problems.error(f'"{address}" is one value, not a list', node.place)
        return missing_value(fact, limits, item)
    if node == "none stated":
        if fact.none_stated:
            return NONE_STATED
        problems.error(
            f'"{address}" is never "none stated"',
            node.place,
            "leave the fact out where it is not known",
        )
        return missing_value(fact, limits, item)
    try:
        return _READERS[fact.type.kind](node, tolerance, fact, limits, item, address, problems)
    except LiteralProblem as problem:
        problems.error(f"{address}: {problem.message}", node.place, problem.hint)
        return missing_value(fact, limits, item)


def _quantity(
    node: Scalar,
    tolerance: Scalar | None,
    fact: FactName,
    limits: FactRange | None,
    item: Fact | None,
    address: str,
    problems: Problems,
) -> Any:
    dimension = fact.type.dimension
    value, spread, _ = read_quantity(node, dimension, fact.unit, with_unit=True)
    if tolerance is not None:
        if spread is not None:
            raise LiteralProblem("the tolerance is given twice")
        amount, of_its_own, _ = read_quantity(tolerance, dimension, fact.unit, with_unit=True)
        if amount < 0:
            raise LiteralProblem("a tolerance can't be negative", "write how far it may be off")
        if of_its_own is not None:
            raise LiteralProblem("a tolerance has no tolerance of its own", "write the larger one")
        spread = amount
        if tolerance.strip().endswith("%") and fact.unit != "%":
            raise LiteralProblem("write a tolerance in % behind the value, as 47 mm ± 2 %")
    exact = value / fact.scale
    if fact.type.whole and (exact.denominator != 1 or spread):
        raise LiteralProblem(f"{node} is no whole number")
    within(exact, fact, limits, node)
    if limits is not None and not _usual(exact, limits):
        problems.caution(f"{address} = {node} lies outside what is usual; is it right?")
    if not spread:
        return whole(exact)
    ends = exact - spread / fact.scale, exact + spread / fact.scale
    low, high = _cut(*ends, limits, item, address, problems)
    low, high = whole(Fraction(low)), whole(Fraction(high))
    return low if low == high else Open(low, high)


def _cut(
    low: Any,
    high: Any,
    limits: FactRange | None,
    item: Fact | None,
    address: str,
    problems: Problems,
) -> tuple[Any, Any]:
    """What lies within the declared range of what a value may be; all of it where safety counts.

    A fact on ratings, brakes, steering or restraints never decides by its range.
    """
    if limits is None or (item is not None and item.safety):
        return low, high
    first = low if limits.low is None else max(low, limits.low)
    last = high if limits.high is None else min(high, limits.high)
    if (first, last) != (low, high):
        problems.cuts[address] = low, high
    return first, last


def within(value: Fraction, fact: FactName, limits: FactRange | None, node: Scalar) -> None:
    """LiteralProblem for a value outside the declared range."""
    if limits is None:
        return
    too_low = limits.low is not None and value < limits.low
    too_high = limits.high is not None and value > limits.high
    if too_low or too_high:
        raise LiteralProblem(
            f"{node} is outside the range of values that are possible",
            f"it lies from {shown(limits.low, fact)} to {shown(limits.high, fact)}",
        )


def shown(value: int | Fraction | None, fact: FactName) -> str:
    """A run-time number in the declared unit of its fact."""
    if value is None:
        return "any"
    if fact.type.kind == "date":
        return datetime.date.fromordinal(int(value)).isoformat()
    if fact.type.kind == "period":
        return f"{value} months"
    number = decimal_text(Fraction(value) * fact.scale / unit_factor(fact.unit), 6)
    return f"{number} {fact.unit}".strip()


def _usual(value: Fraction, limits: FactRange) -> bool:
    return (limits.usual_low is None or value >= limits.usual_low) and (
        limits.usual_high is None or value <= limits.usual_high
    )


def _no_tolerance(tolerance: Scalar | None) -> None:
    if tolerance is not None:
        raise LiteralProblem("only measured values have a tolerance")


def _date(
    node: Scalar,
    tolerance: Scalar | None,
    fact: FactName,
    limits: FactRange | None,
    item: Fact | None,
    address: str,
    problems: Problems,
) -> Any:
    _no_tolerance(tolerance)
    first, last = _cut(*read_date(node), limits, item, address, problems)
    if first > last:
        within(Fraction(read_date(node)[0]), fact, limits, node)
    return first if first == last else Open(first, last)


def _period(
    node: Scalar, tolerance: Scalar | None, fact: FactName, limits: FactRange | None, *_: Any
) -> Any:
    _no_tolerance(tolerance)
    months = read_period(node)
    within(Fraction(months), fact, limits, node)
    return months


def _yes_no(node: Scalar, tolerance: Scalar | None, *_: Any) -> Any:
    _no_tolerance(tolerance)
    value = _YES_NO.get(str(node))
    if value is None:
        raise LiteralProblem(f'"{str(node)[:40]}" is neither yes nor no', "write yes or no")
    return value


def _word(node: Scalar, tolerance: Scalar | None, fact: FactName, *_: Any) -> Any:
    _no_tolerance(tolerance)
    if node not in fact.type.words:
        raise LiteralProblem(
            f'"{str(node)[:40]}" is none of the words that this fact takes',
            nearest(node, fact.type.words) or f"one of: {', '.join(fact.type.words)}",
        )
    return intern(str(node))


def _text(
    node: Scalar,
    tolerance: Scalar | None,
    fact: FactName,
    _limits: Any,
    item: Fact | None,
    *_: Any,
) -> Any:
    _no_tolerance(tolerance)
    if len(node) > LONGEST_TEXT:
        raise LiteralProblem(f"this text has more than {LONGEST_TEXT} characters")
    if item is not None and item.type == "tyre_marking":
        try:
            return intern(str(parse_marking(str(node))))
        except MarkingError as problem:
            raise LiteralProblem(str(problem), "copy it from the side of the tyre") from None
    if fact.type.words and node not in fact.type.words:
        raise LiteralProblem(
            f'"{node}" is none of the values that there are',
            nearest(node, fact.type.words) or f"one of: {', '.join(fact.type.words)}",
        )
    return intern(str(node))


_READERS: Final[dict[str, Any]] = {
    "quantity": _quantity,
    "date": _date,
    "period": _period,
    "yes_no": _yes_no,
    "word": _word,
    "text": _text,
}
