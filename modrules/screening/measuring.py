"""What is told of a measurement besides its value: the day and the condition must be possible.

Neither decides anything, but a measurement of another condition, or of a day that never was,
is no measurement of this fact.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from typing import TYPE_CHECKING

from modrules.language.literals import LiteralProblem, read_date
from modrules.ruleset.tree import Map, Scalar
from modrules.screening.values import Problems

if TYPE_CHECKING:
    from modrules.ruleset.models import Condition, Fact


def check_measurement(
    node: Map,
    address: str,
    item: Fact | None,
    conditions: Mapping[str, Condition],
    on: datetime.date,
    problems: Problems,
) -> None:
    """Reports an impossible day and another condition; a day still to come draws a caution."""
    day = node.get("on")
    if isinstance(day, Scalar):
        try:
            first, _ = read_date(day)
        except LiteralProblem as problem:
            problems.error(f"on of {address}: {problem.message}", day.place, problem.hint)
        else:
            if first > on.toordinal():
                problems.caution(
                    f"{address} was measured on {day}, which is after the day of this screening, "
                    f"{on.isoformat()}; is the date right?"
                )
    said, asked = node.get("condition"), item.condition if item is not None else None
    if isinstance(said, Scalar) and asked is not None:
        named = "_".join(said.lower().split())
        if named in conditions and named != asked:
            problems.error(
                f"{address} is asked for {_in_words(asked)}, and this was measured "
                f"{_in_words(named)}",
                said.place,
                f"measure it {_in_words(asked)}: {conditions[str(asked)].title}",
            )


def _in_words(condition: str) -> str:
    return condition.replace("_", " ")
