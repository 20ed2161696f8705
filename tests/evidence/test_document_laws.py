"""A document counts only where it surely covers: knowing more never turns an answer over."""

from __future__ import annotations

import datetime
from itertools import product
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st
from small_ruleset import DAY, screened

VEHICLES = ("A-1", "B-2")
PARTS = ("P1", "P2")
DAYS = ("2026-03-01", "2026-05-01")
LIFTS = ("20 mm", "50 mm")
FACTS = (VEHICLES, PARTS, DAYS, LIFTS)


def possible(document: dict[str, Any], values: tuple[str | None, ...]) -> set[str]:
    number, part, fitted, lift = values
    facts = {"part_number": part, "fitted": fitted, "ride_height_change": lift}
    return set(
        screened(
            document,
            vehicle={"identification_number": number} if number else {},
            lift={
                "id": "lift",
                "kind": "suspension",
                **{key: value for key, value in facts.items() if value is not None},
            },
        )
        .findings[0]
        .possible
    )


def by_hand(document: dict[str, Any], values: tuple[str, ...]) -> set[str]:
    """The outcomes for facts that are all known, from the rules in words."""
    number, part, fitted, lift = values
    covers = document["covers"]
    fine = (
        document.get("kind", "plate") in ("plate", "certificate")
        and document["issued"] <= fitted
        and document["issued"] <= DAY.isoformat()
        and document.get("expires", "9999") >= DAY.isoformat()
        and covers.get("vehicle", number) == number
        and covers.get("part", part) == part
        and int(lift.split()[0]) <= covers.get("most", 1000)
    )
    if fine and "vehicle" not in covers:
        return {"certified", "certification required"}
    return {"certified"} if fine else {"certification required"}


@st.composite
def documents(draw: st.DrawFn) -> dict[str, Any]:
    covers: dict[str, Any] = {"modifications": ["lift"]}
    made: dict[str, Any] = {"id": "d", "certification": "lift-plate", "covers": covers}
    made["issued"] = draw(st.sampled_from(["2026-02-01", "2026-04-01", "2027-01-01"]))
    if draw(st.booleans()):
        made["expires"] = draw(st.sampled_from(["2026-10-31", "2026-11-01"]))
    if draw(st.booleans()):
        made["kind"] = draw(st.sampled_from(["plate", "seller_claim", "test_report"]))
    for key, choices in (("vehicle", VEHICLES), ("part", PARTS)):
        if draw(st.booleans()):
            covers[key] = draw(st.sampled_from(choices))
    return made


@settings(max_examples=25)
@given(documents(), st.booleans(), st.sets(st.integers(0, 3)))
def test_what_is_known_in_full_is_among_what_was_possible(
    document: dict[str, Any], bounded: bool, hidden: set[int]
) -> None:
    if bounded:
        document["covers"]["up_to"] = {"suspension.ride_height_change": "30 mm"}
    for full in list(product(*FACTS))[::3]:
        known = tuple(None if i in hidden else value for i, value in enumerate(full))
        exact = possible(document, full)
        described = {**document, "covers": {**document["covers"], "most": 30 if bounded else 1000}}
        assert exact == by_hand(described, full)
        assert exact <= possible(document, known)


def test_the_screening_day_is_what_the_cases_take_it_for() -> None:
    assert datetime.date(2026, 11, 1) == DAY
