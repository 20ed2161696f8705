"""The margin of bands: up to the nearest end at which the outcome gets worse."""

from __future__ import annotations

from typing import Any

import pytest
from small_rulesets import ON, check, ruleset

import modrules

TWO_SIDED = check(
    "two-sided",
    "measures: vehicle.a - 50 mm",
    "bands:",
    "  - {under: -30 mm, outcome: not permitted}",
    "  - {from: -30 mm, up_to: 30 mm, outcome: complies}",
    "  - {over: 30 mm, up_to: 40 mm, outcome: certification required, certification: plate}",
    "  - {over: 40 mm, outcome: not permitted}",
)


def finding(rules: Any, **vehicle: str) -> Any:
    tree = {"modifications": [], "vehicle": vehicle}
    (found,) = modrules.screen(tree, rules, on=ON).findings
    return found


def told(found: Any) -> tuple[Any, Any]:
    """Limit and margin, in mm."""
    return tuple(each and each["value"] for each in (found.limit, found.margin))  # type: ignore[return-value]


@pytest.mark.parametrize(
    ("a", "expected"),
    [
        ("79.9 mm", (30, 0.1)),
        ("20.5 mm", (-30, 0.5)),
        ("80 mm", (30, 0)),
        ("20 mm", (-30, 0)),
        # Past an end, by how much it is over the one at which it gets milder.
        ("85 mm", (30, -5)),
        ("95 mm", (40, -5)),
        ("15 mm", (-30, -5)),
        # Within a tolerance, from the worst value that is possible.
        ("60 mm ± 5 mm", (30, 15)),
        ("40 mm ± 5 mm", (-30, 15)),
        ("70 mm ± 10 mm", (30, 0)),
        ("85 mm ± 2 mm", (30, -7)),
    ],
)
def test_the_nearest_end_counts(a: str, expected: tuple[float, float]) -> None:
    assert told(finding(ruleset(TWO_SIDED), a=a)) == expected


def test_both_ends_are_told_where_both_matter() -> None:
    rules = ruleset(TWO_SIDED)
    message = finding(rules, a="79.9 mm").message
    assert message == (
        "29.9 mm; the limit is 30 mm; 0.1 mm to spare; the other limit is -30 mm: complies"
    )
    assert "at least 15 mm to spare" in finding(rules, a="60 mm ± 5 mm").message
    assert "past it by up to 7 mm" in finding(rules, a="85 mm ± 2 mm").message
    assert "other limit" not in finding(rules, a="85 mm").message


def test_an_open_finding_has_no_margin() -> None:
    assert told(finding(ruleset(TWO_SIDED), a="79 mm ± 2 mm")) == (None, None)


def test_bands_that_catch_what_is_left_count_from_the_ends_of_those_before() -> None:
    rules = ruleset(
        check(
            "rest",
            "measures: vehicle.a",
            "bands:",
            "  - {over: 60 mm, outcome: not permitted}",
            "  - {under: 20 mm, outcome: not permitted}",
            "  - {outcome: complies}",
        )
    )
    assert told(finding(rules, a="59 mm")) == (60, 1)
    assert told(finding(rules, a="22 mm")) == (20, 2)


def test_conditions_that_are_known_decide_which_end_counts() -> None:
    rules = ruleset(
        check(
            "towing",
            "measures: vehicle.a",
            "bands:",
            "  - {up_to: 50 mm, outcome: complies}",
            "  - {over: 50 mm, up_to: 75 mm, outcome: complies, only_if: vehicle.towed}",
            "  - {over: 50 mm, outcome: not permitted}",
        )
    )
    assert told(finding(rules, a="40 mm", towed="no")) == (50, 10)
    assert told(finding(rules, a="40 mm", towed="yes")) == (75, 35)
    assert told(finding(rules, a="80 mm", towed="yes")) == (75, -5)
    # Where nobody knows, it may get worse at the nearer one.
    assert told(finding(rules, a="40 mm")) == (50, 10)


def test_ends_that_are_computed_count_too() -> None:
    rules = ruleset(
        check(
            "computed",
            "measures: vehicle.a",
            "bands:",
            "  - {under: vehicle.b / 2, outcome: not permitted}",
            "  - {from: vehicle.b / 2, up_to: vehicle.b, outcome: complies}",
            "  - {over: vehicle.b, outcome: inspect}",
            "question: Is it too long?",
        )
    )
    assert told(finding(rules, a="59 mm", b="60 mm")) == (60, 1)
    assert told(finding(rules, a="31 mm", b="60 mm")) == (30, 1)
    # Of an end that is not known exactly all that it may be is told, and no margin.
    found = finding(rules, a="50 mm", b="60 mm ± 4 mm")
    assert found.possible == ("complies",)
    assert (found.limit["low"], found.limit["high"], found.margin) == (56, 64, None)


@pytest.mark.parametrize(("height", "expected"), [("1139 mm", (1140, 1)), ("481 mm", (480, 1))])
def test_a_low_beam_near_its_highest_place(height: str, expected: tuple[int, int]) -> None:
    rules = modrules.load_ruleset("orrinmark", on=ON, cache=True)
    lamp = {"id": "left", "purpose": "low_beam", "height": height}
    tree = {
        "vehicle": {},
        "lamps": [lamp],
        "modifications": [{"id": "lift", "kind": "suspension", "ride_height_change": "20 mm"}],
    }
    found = modrules.screen(tree, rules, on=ON).findings
    (low,) = [f for f in found if f.check == "low-beam-height" and f.possible == ("complies",)]
    assert told(low) == expected


def test_a_requirement_within_a_tolerance_counts_from_its_worst_value() -> None:
    rules = ruleset(check("required", "requires: vehicle.a <= vehicle.b"))
    assert told(finding(rules, a="40 mm ± 2 mm", b="50 mm")) == (50, 8)
    assert told(finding(rules, a="60 mm ± 2 mm", b="50 mm")) == (50, -12)
    # Open, or with a limit that is not known exactly, there is none.
    assert told(finding(rules, a="49 mm ± 2 mm", b="50 mm")) == (50, None)
    assert told(finding(rules, a="40 mm", b="50 mm ± 1 mm"))[1] is None
