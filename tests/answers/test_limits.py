"""How far a fact may go: what holds inside a stretch, just outside it, and on grids."""

from __future__ import annotations

import json
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from loaded import load_ruleset
from small_rulesets import ON, check, checks, decimal, ruleset

import modrules
from modrules.reports import limits as shown
from modrules.ruleset.words import OUTCOMES

ROOT = Path(__file__).parents[2]
RELAXED = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])

OTHERS = st.fixed_dictionaries(
    {},
    optional={
        "b": st.sampled_from(["30 mm", "1.5 in", "40 mm ± 9 mm", "0 mm"]),
        "n": st.integers(0, 9).map(str),
        "towed": st.sampled_from(["yes", "no"]),
    },
)


def submission(**facts: str) -> dict[str, Any]:
    return {"vehicle": facts, "modifications": []}


def samples(found: Any) -> list[Fraction]:
    """A grid, and every edge with its nearest neighbours that can be written down."""
    values = {Fraction(n, 2) for n in range(0, 201, 25)}
    near = Fraction(1, 10**6)
    for stretches in [found.stretches, *(f.stretches for f in found.findings)]:
        for stretch in stretches:
            for end in (stretch.low.amount.exact, stretch.high.amount.exact):
                written = end // near * near
                values |= {end, written, written - near, written + near}
            values.add((stretch.low.amount.exact + stretch.high.amount.exact) / 2)
    return sorted(v for v in values if 0 <= v <= 100 and decimal(v) is not None)


def agrees(stretch: Any, possible: tuple[str, ...]) -> bool:
    """Whether an outcome is the one told; where it is only enclosed, whether it lies within."""
    rank = OUTCOMES.index
    if stretch.exact:
        return bool(possible == stretch.possible)
    low, high = rank(stretch.possible[0]), rank(stretch.possible[-1])
    return low <= rank(possible[0]) and rank(possible[-1]) <= high


def holding(stretches: Any, value: Fraction) -> Any:
    """The stretch that holds a value: there is exactly one."""
    (found,) = [stretch for stretch in stretches if stretch.holds(value)]
    return found


def confirm(rules: Any, facts: dict[str, str], found: Any) -> None:
    """Screens each sample and compares it with the stretches, finding by finding."""
    for value in samples(found):
        report = modrules.screen(submission(**{**facts, "a": f"{decimal(value)} mm"}), rules, on=ON)
        answer = (report.answer["best"], report.answer["worst"])
        assert agrees(
            holding(found.stretches, value), answer if answer[0] != answer[1] else answer[:1]
        )
        by_check = {finding.check: finding for finding in report.findings}
        for reached in found.findings:
            possible = by_check[reached.finding.check].possible
            assert agrees(holding(reached.stretches, value), possible), (value, possible)


def neighbours_differ(found: Any) -> None:
    for stretches in [found.stretches, *(f.stretches for f in found.findings)]:
        assert stretches[0].low.closed
        assert stretches[-1].high.closed
        for left, right in pairwise(stretches):
            assert left.high.amount == right.low.amount
            assert left.high.closed != right.low.closed
            assert (left.possible, left.exact) != (right.possible, right.exact)


@RELAXED
@given(st.tuples(checks("one"), checks("two")), OTHERS)
def test_straight_rules_are_told_exactly(made: tuple[str, str], facts: dict[str, str]) -> None:
    rules = ruleset(*made)
    found = modrules.limits(submission(**facts), rules, "vehicle.a", on=ON)
    neighbours_differ(found)
    assert all(s.exact for reached in found.findings for s in reached.stretches)
    assert all(edge.exact and edge.set_by for edge in found.edges)
    confirm(rules, facts, found)


@RELAXED
@given(checks("bent", straight=False), checks("two"), OTHERS)
def test_other_rules_are_enclosed(bent: str, plain: str, facts: dict[str, str]) -> None:
    rules = ruleset(bent, plain)
    found = modrules.limits(submission(**facts), rules, "vehicle.a", on=ON)
    neighbours_differ(found)
    confirm(rules, facts, found)


def stretches(found: Any) -> list[tuple[str, str, str, str, str]]:
    return [
        (
            "[" if s.low.closed else "(",
            str(s.low.amount),
            str(s.high.amount),
            "]" if s.high.closed else ")",
            " or ".join(s.possible),
        )
        for s in found.stretches
    ]


def test_a_hole_and_a_third() -> None:
    rules = ruleset(
        check("hole", "requires: vehicle.a * 3 <= 100 mm or vehicle.a > 60 mm"),
        check("whole", "requires: absolute(vehicle.a - 20 mm) >= 10 mm", "otherwise: caution"),
    )
    found = modrules.limits(submission(), rules, "vehicle.a", on=ON)
    assert stretches(found) == [
        ("[", "0", "10", "]", "complies"),
        ("(", "10", "30", ")", "caution"),
        ("[", "30", "100/3", "]", "complies"),
        ("(", "100/3", "60", "]", "not permitted"),
        ("(", "60", "100", "]", "complies"),
    ]
    assert [[f.check for f in edge.set_by] for edge in found.edges] == [
        ["whole"],
        ["whole"],
        ["hole"],
        ["hole"],
    ]


def test_an_outcome_at_a_single_value() -> None:
    rules = ruleset(
        check(
            "point",
            "measures: vehicle.a",
            "bands:",
            "  - {under: 40 mm, outcome: complies}",
            "  - {from: 40 mm, up_to: 40 mm, outcome: caution}",
            "  - {over: 40 mm, outcome: complies}",
        )
    )
    found = modrules.limits(submission(a="40 mm"), rules, "vehicle.a", on=ON)
    assert stretches(found) == [
        ("[", "0", "40", ")", "complies"),
        ("[", "40", "40", "]", "caution"),
        ("(", "40", "100", "]", "complies"),
    ]


def test_an_enclosed_edge_lies_between_two_near_values() -> None:
    rules = ruleset(check("square", "requires: vehicle.a * (vehicle.a / 1 mm) <= 2000 mm"))
    found = modrules.limits(submission(), rules, "vehicle.a", on=ON)
    (edge,) = found.edges
    assert not edge.exact
    low, high = edge.low.exact, edge.high.exact
    assert low**2 <= 2000 <= high**2
    assert high - low <= Fraction(1, 10)


def test_counts_and_dates_have_whole_ends() -> None:
    rules = ruleset(
        check("seats", "requires: vehicle.n * 2 < 9"),
        check("old", "requires: vehicle.built < 2001-03-01", "otherwise: caution"),
        check("age", "requires: vehicle.built + 15 years >= today", "otherwise: caution"),
    )
    seats = modrules.limits(submission(n="2"), rules, "vehicle.n", on=ON)
    assert [f.check for f in seats.edges[0].set_by] == ["seats"]
    assert (str(seats.edges[0].low), str(seats.edges[0].high)) == ("4", "5")
    built = modrules.limits(submission(n="2", built="2024"), rules, "vehicle.built", on=ON)
    assert stretches(built) == [("[", "1900-01-01", "2100-12-31", "]", "caution")]
    own = {f.finding.check: f.stretches for f in built.findings}
    assert [(str(s.low.amount), str(s.high.amount)) for s in own["old"]] == [
        ("1900-01-01", "2001-02-28"),
        ("2001-03-01", "2100-12-31"),
    ]
    assert [(str(s.low.amount), str(s.high.amount), s.possible) for s in own["age"]] == [
        ("1900-01-01", "2011-10-31", ("caution",)),
        ("2011-11-01", "2100-12-31", ("complies",)),
    ]


def test_words_and_none_stated_come_value_by_value() -> None:
    rules = ruleset(
        check("lamp", "requires: vehicle.lamp in (amber, white)"),
        check("rated", "requires: vehicle.rating if stated else 0 kg >= 100 kg"),
    )
    lamp = modrules.limits(submission(lamp="blue", rating="200 kg"), rules, "vehicle.lamp", on=ON)
    assert [(v.value, v.answer["worst"], v.current) for v in lamp.values] == [
        ("amber", "complies", False),
        ("white", "complies", False),
        ("blue", "not permitted", True),
    ]
    rating = modrules.limits(submission(lamp="white"), rules, "vehicle.rating", on=ON)
    assert [(v.value, v.answer["best"]) for v in rating.values] == [
        ("none stated", "not permitted")
    ]
    assert stretches(rating) == [
        ("[", "0", "100", ")", "not permitted"),
        ("[", "100", "900", "]", "complies"),
    ]


def test_a_document_covers_up_to_a_value() -> None:
    rules = ruleset(
        check(
            "lifted",
            "requires: lift.height <= 20 mm",
            "otherwise: certification required",
            "certification: plate",
            per="lift",
            about="lift",
        )
    )
    data = {
        "modifications": [{"id": "l", "kind": "lift", "height": "30 mm"}],
        "evidence": [
            {
                "id": "p",
                "certification": "plate",
                "issued": "2026-01-01",
                "covers": {"modifications": ["l"], "up_to": {"lift.height": "55.5 mm"}},
            }
        ],
    }
    found = modrules.limits(data, rules, "modifications.l.height", on=ON)
    assert stretches(found) == [
        ("[", "0", "20", "]", "complies"),
        ("(", "20", "55.5", "]", "certified"),
        ("(", "55.5", "200", "]", "certification required"),
    ]


@pytest.mark.parametrize(
    ("address", "said"),
    [
        ("vehicle.aa", 'did you mean "vehicle.a"?'),
        ("axles.front.track", "the submission does not give the list axles"),
        ("vehicle", "vehicle."),
    ],
)
def test_an_address_that_leads_nowhere_is_said(address: str, said: str) -> None:
    rules = ruleset(check("one", "requires: vehicle.a <= 5 mm"))
    with pytest.raises(modrules.ModrulesError, match="has no fact") as error:
        modrules.limits(submission(), rules, address, on=ON)
    assert said in error.value.problems[0].hint


# -- on the shipped ruleset, and as it is shown -------------------------------------------

NEEDS_PLATES = ROOT / "rulesets" / "orrinmark" / "submissions" / "needs-plates.yaml"


@pytest.fixture(scope="module")
def orrinmark() -> Any:
    return load_ruleset("orrinmark", on=ON, cache=True)


def test_every_size_of_the_submission_is_answered(orrinmark: Any) -> None:
    found = modrules.limits(NEEDS_PLATES, orrinmark, "axles.front.tyre.marking", on=ON)
    assert [value.value for value in found.values] == [
        "275/70R17 121/118S",
        "265/65R17 112S",
        "245/70R17 110S",
    ]
    assert [value.current for value in found.values] == [True, False, False]
    assert found.values[0].answer == found.now


def test_an_estimated_fact_is_overridden_exactly(orrinmark: Any) -> None:
    found = modrules.limits(NEEDS_PLATES, orrinmark, "axles.front.tyre.overall_diameter", on=ON)
    assert [str(edge.low) for edge in found.edges] == ["749", "853.6"]
    assert all(stretch.exact for stretch in found.stretches)


@pytest.mark.parametrize(
    "fact", ["modifications.lift.ride_height_change", "axles.front.tyre.marking", "vehicle.built"]
)
def test_what_is_shown_fits_and_holds_the_data(orrinmark: Any, fact: str) -> None:
    data = modrules.limits(NEEDS_PLATES, orrinmark, fact, on=ON).to_dict()
    assert json.loads(shown.as_json(data)) == data
    text = shown.render(data)
    assert max(map(len, text.splitlines())) <= 79
    for edge in data["edges"]:
        assert shown.amount(edge["from"]) in text
        for finding in edge["set_by"]:
            assert finding["check"] in text


def test_hostile_words_do_no_harm(orrinmark: Any) -> None:
    data = modrules.limits(NEEDS_PLATES, orrinmark, "vehicle.off_road_features", on=ON).to_dict()
    evil = "\x1b[2Jx\u202e" + "y" * 200
    data["title"] = data["fact"] = data["now"] = evil
    data["values"][0]["value"] = evil
    data["findings"][0]["title"] = evil
    for text in (shown.render(data), shown.as_json(data)):
        assert "\x1b" not in text
        assert "\u202e" not in text
    assert max(map(len, shown.render(data).splitlines())) <= 79


# -- one fact of a whole list ----------------------------------------------------------------


def test_all_axles_together() -> None:
    rules = ruleset(
        check("each", "requires: axle.track <= 1600 mm", per="axle"),
        check("both", "requires: sum(axle.track for each axle) >= 2500 mm", "otherwise: caution"),
    )
    data = {
        "axles": [{"id": "front", "track": "1500 mm"}, {"id": "rear", "track": "1520 mm"}],
        "modifications": [],
    }
    found = modrules.limits(data, rules, "axles.*.track", on=ON)
    assert found.present == "1500 and 1520"
    assert stretches(found) == [
        ("[", "1000", "1250", ")", "caution"),
        ("[", "1250", "1600", "]", "complies"),
        ("(", "1600", "2000", "]", "not permitted"),
    ]
    for track in (1000, 1249.5, 1250, 1600, 1600.5, 2000):
        data["axles"] = [{"id": name, "track": f"{track} mm"} for name in ("front", "rear")]
        worst = modrules.screen(data, rules, on=ON).answer["worst"]
        assert holding(found.stretches, Fraction(track)).possible[-1] == worst


def test_the_same_size_all_round(orrinmark: Any) -> None:
    found = modrules.limits(NEEDS_PLATES, orrinmark, "axles.*.tyre.marking", on=ON)
    assert found.values[0].current
    assert found.values[0].answer == found.now
    turned = {f.finding.subject for f in found.findings if f.finding.check == "tyre-diameter-small"}
    assert turned == {"axle front", "axle rear"}


def test_facts_that_are_not_the_same_are_not_varied_together() -> None:
    rules = ruleset(check("one", "requires: vehicle.a <= 5 mm"))
    data = {
        "modifications": [{"id": "a", "kind": "lift"}, {"id": "b", "kind": "rack"}],
        "axles": [],
    }
    with pytest.raises(modrules.ModrulesError, match="not the same"):
        modrules.limits(data, rules, "modifications.*.*", on=ON)
