"""What to find out next: what is promised is kept, and what is given is not asked again."""

from __future__ import annotations

import json
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from loaded import load_ruleset
from small_rulesets import ON, check, checks, ruleset

import modrules
from modrules.reports import asking
from modrules.reports.limits import as_json
from modrules.screening.next_facts import NextFact

ROOT = Path(__file__).parents[2]
RELAXED = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])

KNOWN = st.fixed_dictionaries(
    {},
    optional={
        "a": st.sampled_from(["30 mm", "40 mm ± 9 mm"]),
        "b": st.sampled_from(["30 mm", "40 mm ± 9 mm"]),
        "towed": st.sampled_from(["yes", "no"]),
    },
)
#: values to supply for each fact, as they are written
SUPPLIED = {
    "vehicle.a": [f"{n} mm" for n in (0, 3, 12.5, 31, 33, 40, 44.5, 49, 77, 100)],
    "vehicle.b": [f"{n} mm" for n in (0, 3, 12.5, 31, 33, 40, 44.5, 49, 77, 100)],
    "vehicle.n": [str(n) for n in range(21)],
    "vehicle.towed": ["yes", "no"],
}


def within(text: str, fact: NextFact) -> bool:
    """Whether a value is one of those that the fact may still have."""
    if not fact.given:
        return True
    low, high = fact.now.split(" to ")
    return Fraction(low) <= Fraction(text.split()[0]) <= Fraction(high)


@RELAXED
@given(st.tuples(checks("one"), checks("two"), checks("three", straight=False)), KNOWN)
def test_what_is_promised_is_decided(made: tuple[str, ...], known: dict[str, str]) -> None:
    rules = ruleset(*made)
    submission: dict[str, Any] = {"vehicle": known, "modifications": []}
    before = modrules.screen(submission, rules, on=ON)
    undecided = {f.check for f in before.findings if not f.decided}
    for fact in modrules.next_facts(submission, rules, on=ON):
        assert fact.least <= fact.most <= len(fact.bears_on) <= len(undecided)
        for text in SUPPLIED[fact.address]:
            if within(text, fact):
                vehicle = {**known, fact.address.removeprefix("vehicle."): text}
                after = modrules.screen({**submission, "vehicle": vehicle}, rules, on=ON)
                decided = sum(f.decided for f in after.findings if f.check in undecided)
                assert fact.least <= decided, (fact.address, text)


def test_the_most_telling_fact_comes_first() -> None:
    rules = ruleset(
        check("one", "requires: vehicle.a <= 50 mm"),
        check("two", "requires: vehicle.a + vehicle.b <= 60 mm"),
        check("three", "requires: vehicle.a >= 10 mm", "otherwise: caution"),
        check("four", "requires: vehicle.towed"),
    )
    facts = modrules.next_facts({"vehicle": {"b": "5 mm ± 1 mm"}, "modifications": []}, rules)
    assert [fact.address for fact in facts] == ["vehicle.a", "vehicle.towed", "vehicle.b"]
    first, second, third = facts
    # Unless a lies between 54 and 56 mm, all three that read it are decided.
    assert (first.least, first.most, len(first.bears_on), first.given) == (2, 3, 3, False)
    assert first.mean == 3 - Fraction(2, 100)
    assert (second.least, second.most) == (1, 1)
    assert (third.least, third.most, third.given, third.now) == (0, 0, True, "4 to 6")


def test_what_is_given_is_not_asked_again() -> None:
    rules = ruleset(check("one", "requires: vehicle.a <= 50 mm"))
    facts = modrules.next_facts({"vehicle": {"a": "50 mm ± 1 mm"}, "modifications": []}, rules)
    text = asking.render({"next": [fact.to_dict() for fact in facts], "changed_text": []})
    assert "How long is the first?" not in text
    assert "Measure again, as exactly as can be: First length (now 49 to 51 mm)" in text


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ("47 mm ± 5 mm", "to within 3 mm"),
        ("46.95 mm ± 4 mm", "to within 3 mm"),
        ("49.995 mm ± 1 mm", "to within 0.005 mm"),
        ("43 mm ± 9 mm", "to within 7 mm"),
    ],
)
def test_how_precisely_to_measure_again_is_never_too_rough(given: str, said: str) -> None:
    rules = ruleset(check("one", "requires: vehicle.a <= 50 mm"))
    (fact,) = modrules.next_facts({"vehicle": {"a": given}, "modifications": []}, rules)
    assert (fact.given, fact.precision) == (True, said)
    middle, room = given.split(" mm")[0], said.removeprefix("to within ")
    again = {"vehicle": {"a": f"{middle} mm ± {room}"}, "modifications": []}
    assert modrules.screen(again, rules, on=ON).findings[0].decided


def test_of_a_list_it_is_said_what_to_measure() -> None:
    rules = ruleset(check("track", "requires: axle.track <= 1500 mm", per="axle"))
    (axles,) = modrules.next_facts({"modifications": []}, rules)
    assert axles.question == "Of each axle: track?"


def test_nothing_is_asked_where_all_is_decided() -> None:
    rules = ruleset(check("one", "requires: vehicle.a <= 50 mm"))
    assert modrules.next_facts({"vehicle": {"a": "50 mm"}, "modifications": []}, rules) == []


def test_a_list_that_is_not_given_is_asked_for() -> None:
    rules = ruleset(check("track", "requires: axle.track <= 1500 mm", per="axle"))
    (axles,) = modrules.next_facts({"modifications": []}, rules)
    assert (axles.address, axles.least, axles.most, axles.given) == ("axles", 0, 1, False)


@pytest.fixture(scope="module")
def incomplete() -> list[Any]:
    rules = load_ruleset("orrinmark", on=ON, cache=True)
    path = ROOT / "rulesets" / "orrinmark" / "submissions" / "incomplete.yaml"
    return modrules.next_facts(path, rules, on=ON)


def test_all_that_the_report_misses_is_there(incomplete: list[Any]) -> None:
    rules = load_ruleset("orrinmark", on=ON, cache=True)
    path = ROOT / "rulesets" / "orrinmark" / "submissions" / "incomplete.yaml"
    report = modrules.screen(path, rules, on=ON).to_dict()
    assert {entry["fact"] for entry in report["missing"]} <= {fact.address for fact in incomplete}
    order = [(fact.given, fact.target is None, -fact.mean) for fact in incomplete]
    assert order == sorted(order)


def test_what_is_shown_fits_and_does_no_harm(incomplete: list[Any]) -> None:
    data = {"next": [fact.to_dict() for fact in incomplete], "changed_text": []}
    assert json.loads(as_json(data)) == data
    for fact in data["next"]:
        fact["question"] += "\x1b[2J\u202e" + "w" * 99
    text = asking.render(data)
    assert "\x1b" not in text
    assert "\u202e" not in text
    assert max(map(len, text.splitlines())) <= 79


def test_the_report_follows_the_ranking_and_puts_the_imprecise_last() -> None:
    rules = ruleset(
        check("one", "requires: vehicle.a + vehicle.b <= 60 mm"),
        check("two", "requires: vehicle.a + vehicle.b >= 10 mm"),
        check("three", "requires: vehicle.b <= 50 mm or vehicle.a > 99 mm"),
        check("four", "requires: vehicle.towed"),
    )
    known = {"vehicle": {"b": "50 mm ± 20 mm"}, "modifications": []}
    report = modrules.screen(known, rules, on=ON).to_dict()
    assert [entry["fact"] for entry in report["missing"]] == [
        "vehicle.towed",
        "vehicle.a",
        "vehicle.b",
    ]
    ranked = [f.address for f in modrules.next_facts(known, rules, on=ON) if not f.given]
    assert ranked == ["vehicle.towed", "vehicle.a"]
