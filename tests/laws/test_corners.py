"""Corners of evaluation, each of which was once wrong."""

from __future__ import annotations

from typing import Any

import pytest
from law_small import finding, findings_of, length, number, only, quantity, small

from modrules.problems import ModrulesError
from modrules.ruleset.words import OUTCOMES

EVERYTHING = OUTCOMES
COUNT = {"id": "vehicle.seats", "type": "count", "range": {"from": "0", "to": "9"}}


def test_a_quantity_that_fails_inside_a_list_function_leaves_the_check() -> None:
    """The same sum stood in a quantity too, before the division in it was worked out apart."""
    ruleset = small(
        [
            {"requires": "vehicle.total <= 5 mm"},
            {"requires": "vehicle.share <= 5"},
            {"requires": "sum(axle.load * vehicle.share for each axle) <= 6 mm"},
        ],
        [length("axle.load"), number("vehicle.by")],
        quantities=[
            quantity("vehicle.total", "sum(axle.load * vehicle.share for each axle)", "mm"),
            quantity("vehicle.share", "1 / vehicle.by"),
        ],
    )
    found = findings_of(ruleset, {"vehicle": {"by": "0"}, "axles": [{"id": "a", "load": "1 mm"}]})
    assert set(found.values()) == {EVERYTHING}


def test_a_quantity_that_fails_is_not_that_of_the_subject_before() -> None:
    ruleset = small(
        [
            {"per": "axle", "requires": "axle.total <= 5 mm"},
            {"per": "axle", "requires": "axle.share <= 5"},
            {"per": "axle", "requires": "sum(wheel.load * axle.share for each wheel) <= 6 mm"},
        ],
        [length("wheel.load"), number("axle.by")],
        quantities=[
            quantity("axle.share", "1 / axle.by"),
            quantity("axle.total", "sum(wheel.load * axle.share for each wheel)", "mm"),
        ],
    )
    found = findings_of(
        ruleset,
        {
            "wheels": [{"id": "w", "load": "1 mm"}],
            "axles": [{"id": "front", "by": "1"}, {"id": "rear", "by": "0"}],
        },
    )
    assert {found[f"check-{i} front"] for i in range(3)} == {("complies",)}
    assert {found[f"check-{i} rear"] for i in range(3)} == {EVERYTHING}


def test_a_list_inside_the_same_list_through_a_quantity() -> None:
    ruleset = small(
        [{"requires": "all(axle.load <= vehicle.mean for each axle)"}],
        [length("axle.load")],
        quantities=[
            quantity("vehicle.mean", "sum(axle.load for each axle) / count(each axle)", "mm")
        ],
    )
    axles = [{"id": "a", "load": "1 mm"}, {"id": "b", "load": "3 mm"}]
    assert findings_of(ruleset, {"axles": axles}) == {"check-0": ("not permitted",)}
    axles[1]["load"] = "1 mm"
    assert findings_of(ruleset, {"axles": axles}) == {"check-0": ("complies",)}
    axles[1]["load"] = "1 mm ± 1 mm"
    assert findings_of(ruleset, {"axles": axles}) == {"check-0": ("complies", "not permitted")}


@pytest.mark.parametrize(("seats", "outcome"), [("0", "not permitted"), ("1", "complies")])
def test_twice_a_count_is_looked_for_in_a_list(seats: str, outcome: str) -> None:
    ruleset = small([{"requires": "2 * vehicle.seats in (1, 2, 3)"}], [COUNT])
    assert only(ruleset, seats=seats) == (outcome,)


def test_twice_a_count_is_never_odd() -> None:
    ruleset = small([{"requires": "2 * vehicle.seats in (1, 3, 5)"}], [COUNT])
    assert only(ruleset) == ("not permitted",)


def test_what_follows_a_list_function_in_a_list_of_values_is_no_inch() -> None:
    ruleset = small([{"requires": "vehicle.seats * 2 in (4, 6)"}], [COUNT])
    assert only(ruleset, seats="2") == ("complies",)


def test_a_word_that_may_be_none_stated_may_also_be_stated() -> None:
    fact = {"id": "vehicle.paint", "type": "word", "words": "colour", "none_stated": True}
    ruleset = small([{"requires": "vehicle.paint is not stated"}], [fact])
    assert only(ruleset) == ("complies", "not permitted")
    ruleset = small([{"requires": "(vehicle.paint if stated else red) = red"}], [fact])
    assert only(ruleset) == ("complies", "not permitted")


def test_a_table_keyed_by_yes_and_no() -> None:
    def table(*rows: list[str]) -> list[dict[str, Any]]:
        return [
            {
                "id": "limits",
                "title": "Limits",
                "source": "made up",
                "keys": [{"id": "flag", "type": "yes_no"}],
                "columns": [{"id": "height", "type": "length", "unit": "mm"}],
                "rows": list(rows),
            }
        ]

    facts = [{"id": "vehicle.flag", "type": "yes_no"}, length("vehicle.height")]
    checks = [{"requires": "vehicle.height <= look_up(limits, height, vehicle.flag)"}]
    full = small(checks, facts, tables=table(["yes", "50"], ["no", "20"]))
    assert only(full, height="10 mm") == ("complies",)
    assert only(full, height="30 mm") == ("complies", "not permitted")
    half = small(checks, facts, tables=table(["yes", "50"]))
    assert only(half, height="10 mm") == EVERYTHING
    assert only(half, height="10 mm", flag="yes") == ("complies",)


def test_a_fraction_between_the_rows_of_a_table_of_counts() -> None:
    table = {
        "id": "steps",
        "title": "Steps",
        "source": "made up",
        "keys": [{"id": "step", "type": "count"}],
        "columns": [{"id": "height", "type": "length", "unit": "mm"}],
        "rows": [["1", "10"], ["2", "20"]],
    }
    ruleset = small(
        [{"requires": "look_up(steps, height, vehicle.ratio) <= 50 mm"}],
        [number("vehicle.ratio")],
        tables=[table],
    )
    assert only(ruleset, ratio="2") == ("complies",)
    assert only(ruleset, ratio="1.5") == EVERYTHING
    assert only(ruleset, ratio="1.5 ± 0.5") == EVERYTHING


def test_exemptions_excuse_in_any_order() -> None:
    facts = [length("vehicle.height"), number("vehicle.by")]
    fails = {"condition": "1 / vehicle.by > 0", "cites": {"text": "code", "clause": "1"}}
    holds = {"condition": "vehicle.height > 0 mm", "cites": {"text": "code", "clause": "2"}}
    for exemptions in ([fails, holds], [holds, fails]):
        ruleset = small([{"requires": "vehicle.height < 0 mm", "exempt_if": exemptions}], facts)
        assert only(ruleset, height="5 mm", by="0") == ("exempt",)
        assert only(ruleset, height="0 mm", by="0") == EVERYTHING


def estimated(**more: Any) -> list[dict[str, Any]]:
    return [
        length("vehicle.radius", **more),
        length("vehicle.height", none_stated=True, **{"from": "vehicle.radius * 2"}),
    ]


def test_an_estimate_does_not_deny_that_none_is_stated() -> None:
    ruleset = small([{"requires": "vehicle.height is stated"}], estimated())
    assert only(ruleset, radius="5 mm") == ("complies", "not permitted")
    assert only(ruleset, radius="5 mm", height="none stated") == ("not permitted",)
    assert only(ruleset, radius="5 mm", height="10 mm") == ("complies",)


def test_an_estimate_that_may_have_no_value_excludes_nothing() -> None:
    facts = estimated(none_stated=True)
    facts[0]["range"] = {"from": "0 mm", "to": "10 mm"}
    facts[1].pop("none_stated")
    ruleset = small([{"requires": "vehicle.height <= 20 mm"}], facts)
    assert only(ruleset) == ("complies", "not permitted")
    assert only(ruleset, radius="none stated") == ("complies", "not permitted")
    assert only(ruleset, radius="10 mm") == ("complies",)


def test_an_estimate_of_words_and_of_yes_or_no() -> None:
    facts = [
        {"id": "vehicle.flag", "type": "yes_no"},
        {"id": "vehicle.other", "type": "yes_no", "from": "not vehicle.flag"},
        {
            "id": "vehicle.paint",
            "type": "word",
            "words": "colour",
            "none_stated": True,
            "from": "if vehicle.flag then red else blue",
        },
    ]
    paint = small([{"requires": "(vehicle.paint if stated else blue) = blue"}], facts)
    assert only(paint, flag="yes") == ("complies", "not permitted")
    assert only(paint, flag="yes", paint="none stated") == ("complies",)
    assert only(paint, flag="no") == ("complies",)
    other = small([{"requires": "vehicle.other"}], facts)
    assert only(other, flag="yes") == ("not permitted",)
    assert only(other) == ("complies", "not permitted")


def test_an_estimate_of_a_safety_fact_is_not_cut_by_its_range() -> None:
    facts = [
        length("vehicle.radius"),
        length("vehicle.height", **{"from": "vehicle.radius", "estimate_tolerance": "5 mm"}),
    ]
    facts[1]["range"] = {"from": "100 mm", "to": "200 mm"}
    check = {"requires": "vehicle.height >= 100 mm"}
    assert only(small([check], facts), radius="102 mm") == ("complies",)
    facts[1]["safety"] = True
    ruleset = small([check], facts)
    assert only(ruleset, radius="102 mm") == ("complies", "not permitted")
    assert only(ruleset, radius="102 mm", height="101 mm") == ("complies",)


def certificate(fact: dict[str, Any]) -> tuple[Any, list[dict[str, Any]]]:
    ruleset = small(
        [
            {
                "requires": "vehicle.seats < 0",
                "otherwise": "certification required",
                "certification": "plate",
            }
        ],
        [COUNT, fact],
    )
    covers = {"modifications": [], "up_to": {"vehicle.height": "50 mm"}}
    paper = {"id": "p", "certification": "plate", "issued": "2026-01-01", "covers": covers}
    return ruleset, [paper]


@pytest.mark.parametrize(
    ("height", "outcomes"),
    [
        ("50 mm", ("certified",)),
        ("50.001 mm", ("certification required",)),
        ("50 mm ± 1 mm", ("certified", "certification required")),
        ("none stated", ("certification required",)),
        (None, ("certified", "certification required")),
    ],
)
def test_a_document_covers_what_is_shown_to_be_within_it(
    height: str | None, outcomes: tuple[str, ...]
) -> None:
    ruleset, evidence = certificate(length("vehicle.height", none_stated=True))
    facts = {"seats": "1"} | ({"height": height} if height is not None else {})
    found = findings_of(ruleset, {"vehicle": facts, "evidence": evidence})
    assert found == {"check-0": outcomes}


def test_a_date_that_is_not_known_still_has_a_value_years_later() -> None:
    built = {"id": "vehicle.built", "type": "date"}
    ruleset = small([{"requires": "vehicle.built + 15 years < today"}], [built])
    assert only(ruleset) == ("complies", "not permitted")
    assert only(ruleset, built="9990-01-01") == ("not permitted",)
    ruleset = small([{"requires": "vehicle.built - 9000 years < vehicle.built"}], [built])
    assert only(ruleset, built="2020-01-01") == ("complies",)


def test_a_year_alone_does_not_reach_beyond_the_range() -> None:
    ends = {"from": "2021-06-01", "to": "2022-01-01"}
    built = {"id": "vehicle.built", "type": "date", "range": ends}
    ruleset = small([{"requires": "vehicle.built >= 2021-06-01"}], [built])
    assert only(ruleset) == ("complies",)
    assert only(ruleset, built="2021") == ("complies",)
    with pytest.raises(ModrulesError, match="it lies from 2021-06-01 to 2022-01-01"):
        only(ruleset, built="2020")
    with pytest.raises(ModrulesError, match="it lies from 2021-06-01 to 2022-01-01"):
        only(ruleset, built="2022-02")


def test_a_period_keeps_to_its_range_and_is_told_where_that_decides() -> None:
    ends = {"from": "1 months", "to": "2 years"}
    service = {"id": "vehicle.service", "type": "period", "range": ends}
    ruleset = small([{"requires": "vehicle.service <= 2 years"}], [service])
    found = finding(ruleset)
    assert found.possible == ("complies",)
    assert found.assumed == ("vehicle.service",)
    with pytest.raises(ModrulesError, match="outside the range"):
        only(ruleset, service="9 years")


def test_a_list_that_is_not_given_leaves_open_what_it_may_hold() -> None:
    height = length("axle.height", none_stated=True)
    checks = [
        {"per": "axle", "requires": "axle.height <= 5000 mm"},
        {
            "per": "axle",
            "measures": "axle.height",
            "bands": [{"up_to": "50 mm", "outcome": "complies"}],
        },
        {"per": "axle", "applies_if": "vehicle.seats > 5", "requires": "axle.height is stated"},
    ]
    ruleset = small(checks, [height, COUNT])
    found = findings_of(ruleset, {"vehicle": {"seats": "2"}})
    assert list(found.values()) == [EVERYTHING, EVERYTHING, ("not applicable",)]
    empty = findings_of(ruleset, {"vehicle": {"seats": "2"}, "axles": []})
    assert set(empty.values()) == {("not applicable",)}


def chain(steps: int) -> list[dict[str, Any]]:
    first = quantity("vehicle.q0", "vehicle.height", "mm")
    more = [
        quantity(f"vehicle.q{i}", f"vehicle.q{i - 1} + vehicle.height", "mm")
        for i in range(1, steps)
    ]
    return [first, *more]


@pytest.mark.parametrize("backwards", [False, True])
def test_quantities_one_on_the_other_without_end_are_refused(backwards: bool) -> None:
    def made(steps: int) -> Any:
        quantities = chain(steps)
        if backwards:
            quantities.reverse()
        check = {"requires": f"vehicle.q{steps - 1} <= 5 mm"}
        return small([check], [length("vehicle.height")], quantities=quantities)

    assert only(made(50), height="0 mm") == ("complies",)
    assert only(made(50)) == ("complies", "not permitted")
    for steps in (200, 900):
        with pytest.raises(ModrulesError, match="more than 120 steps deep"):
            made(steps)
