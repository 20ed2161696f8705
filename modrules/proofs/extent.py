"""The stretch of values that bands leave out or name twice, in words.

    settled(session, example, check)    the check with its ends as they are for one vehicle
    left_out(check, item, value)    what no band covers around a value
    common(check, i, j)             what two bands both name
    between(low, high, measure)     a stretch in words
    said(session, example, nodes)   what an example says of the facts in some conditions

Numbers are run-time numbers of what the check measures.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING, Any, Final

from modrules.language.tree import Node, walk
from modrules.proofs.asking import Session
from modrules.proofs.conditions import shown
from modrules.proofs.edges import core
from modrules.proofs.examples import exact, record_id
from modrules.proofs.found import Example
from modrules.ruleset.typed import TypedBand, TypedCheck

if TYPE_CHECKING:
    from modrules.ruleset.models import Check

#: A number, and whether it belongs to the stretch; None where there is no end.
End = tuple[Any, bool] | None
#: How many facts are said of an example in one sentence.
_MOST_SAID = 3
_NO_NAMES: Final[Mapping[Any, str]] = {}


def between(low: End, high: End, measure: Node, names: Mapping[Any, str] = _NO_NAMES) -> str:
    """A stretch in words, to stand after "covers"; a stretch of one point is that value.

    ``names``: the numbers that are said by a name.
    """
    words = [
        (names.get(end[0]) or shown(end[0], measure)) if end is not None else ""
        for end in (low, high)
    ]
    if low is not None and high is not None:
        if low[0] == high[0]:
            return words[0]
        over, under = "" if low[1] else "over ", "" if high[1] else "under "
        return f"what lies from {over}{words[0]} to {under}{words[1]}"
    if low is not None:
        return f"what is {words[0]} or more" if low[1] else f"what lies over {words[0]}"
    if high is not None:
        return f"what is {words[1]} or less" if high[1] else f"what lies under {words[1]}"
    return "any value"


def reckoned(band: TypedBand) -> bool:
    """Whether an end of a band is no constant."""
    return (band.low is None) != (band.low_end is None) or (
        (band.high is None) != (band.high_end is None)
    )


def settled(session: Session, example: Example, check: TypedCheck) -> TypedCheck | None:
    """The check with every end of its bands as it is for the vehicle of an example.

    None where one has no exact value there.
    """
    measure = check.measure
    assert measure is not None
    bands = []
    for band in check.bands:
        numbers: list[Any] = []
        for constant, end in ((band.low, band.low_end), (band.high, band.high_end)):
            number: Any = constant
            if constant is None and end is not None:
                found = exact(session.ruleset, example, session.space, end)
                if found is None:
                    return None
                number = Fraction(found) * end.scale / measure.scale
            numbers.append(number)
        bands.append(replace(band, low=numbers[0], high=numbers[1]))
    return replace(check, bands=tuple(bands))


def _names(check: TypedCheck, item: Check) -> dict[Any, str]:
    """The ends of the bands of a settled check that are reckoned, as they are written."""
    names: dict[Any, str] = {}
    constants = set()
    for band, given in zip(check.bands, item.bands, strict=True):
        for number, end, text in (
            (band.low, band.low_end, given.over or given.over_or_at),
            (band.high, band.high_end, given.up_to or given.under),
        ):
            if end is None:
                continue
            if core(end).op == "const":
                constants.add(number)
            else:
                names.setdefault(number, " ".join(str(text).split()))
    return {number: name for number, name in names.items() if number not in constants}


def left_out(check: TypedCheck, item: Check, value: Any) -> str:
    """What no band of a settled check covers around a value.

    Ends that are reckoned are said as they are written; how they lie hangs on the vehicle.
    """
    measure = check.measure
    assert measure is not None
    names = _names(check, item)
    some = " for some vehicles" if names else ""
    ends = sorted({end for b in check.bands for end in (b.low, b.high) if end is not None})
    # Points and the open stretches between them: odd numbers are points.
    covering = [_covering(check, ends, number) for number in range(2 * len(ends) + 1)]
    first = sum(end < value for end in ends) + sum(end <= value for end in ends)
    last = first
    while first > 0 and covering[first - 1] == covering[first]:
        first -= 1
    while last + 1 < len(covering) and covering[last + 1] == covering[last]:
        last += 1
    # A stretch begins just after the point before it, a point at itself.
    low = (ends[(first - 1) // 2], first % 2 == 1) if first > 0 else None
    high = (ends[last // 2], last % 2 == 1) if last < 2 * len(ends) else None
    words = between(low, high, measure, names) + some
    bands = [str(number + 1) for number in covering[first]]
    if not bands:
        return words
    which = f"bands {', '.join(bands)}" if len(bands) > 1 else f"band {bands[0]}"
    return f"{words} where the condition of {which} does not hold"


def _covering(check: TypedCheck, ends: list[Any], number: int) -> tuple[int, ...]:
    """The bands that a piece lies in, whatever else they ask."""
    found = []
    for index, band in enumerate(check.bands):
        low, high = 0, 2 * len(ends)
        if band.low is not None:
            low = 2 * ends.index(band.low) + (1 if band.low_closed else 2)
        if band.high is not None:
            high = 2 * ends.index(band.high) + (1 if band.high_closed else 0)
        if low <= number <= high:
            found.append(index)
    return tuple(found)


def common(check: TypedCheck, i: int, j: int) -> str:
    """What two bands both name, in words; empty where that hangs on the vehicle."""
    bands = (check.bands[i], check.bands[j])
    if check.measure is None or any(reckoned(band) for band in bands):
        return ""
    lows = [(b.low, not b.low_closed) for b in bands if b.low is not None]
    highs = [(b.high, b.high_closed) for b in bands if b.high is not None]
    low, high = max(lows, default=None), min(highs, default=None)
    low = (low[0], not low[1]) if low is not None else None
    return between(low, high, check.measure)


def said(session: Session, example: Example, nodes: Iterable[Node]) -> str:
    """What an example says of the facts in some conditions; empty where that is too much."""
    keys = []
    for node in walk(nodes):
        if node.op in ("fact", "fallback", "stated"):
            binding, fact, _ = node.value
            if binding.startswith("each "):
                return ""
            keys.append((session.space.record(binding), fact))
    found = []
    for record, fact in sorted(set(keys)):
        branch: Any = example.given.get(record[0])
        if session.space.typed.names.subjects[record[0]].many:
            entries = [e for each in example.given.values() if isinstance(each, list) for e in each]
            branch = next((e for e in entries if e.get("id") == record_id(record)), None)
        for stem in fact.split(".")[1:]:
            branch = branch.get(stem) if isinstance(branch, dict) else None
        if isinstance(branch, str):
            found.append(f"{fact} = {branch}")
    return ", ".join(found) if len(found) <= _MOST_SAID else ""
