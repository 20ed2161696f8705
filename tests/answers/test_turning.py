"""What turns the answer: agrees with trying every value, and says what it makes worse."""

from __future__ import annotations

import json
from fractions import Fraction
from itertools import product
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from loaded import load_ruleset
from small_rulesets import ON, check, checks, ruleset

import modrules
from modrules.reports import turning as shown
from modrules.reports.limits import as_json
from modrules.ruleset.words import OUTCOMES

ROOT = Path(__file__).parents[2]
RANK = {outcome: rank for rank, outcome in enumerate(OUTCOMES)}
RELAXED = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def worst(facts: dict[str, str], rules: Any) -> dict[str, int]:
    report = modrules.screen({"vehicle": facts, "modifications": []}, rules, on=ON)
    return {finding.check: RANK[finding.worst] for finding in report.findings}


COUNTED = st.tuples(
    st.sampled_from(
        ["vehicle.n", "absolute(vehicle.n - 7)", "(vehicle.n * 3)", "(20 - vehicle.n)"]
    ),
    st.sampled_from(["<", "<=", ">", ">="]),
    st.integers(0, 25),
    st.sampled_from(["", " and vehicle.towed", " or vehicle.lamp = blue", " and vehicle.n != 9"]),
).map(lambda p: f"{p[0]} {p[1]} {p[2]}{p[3]}")


@RELAXED
@given(
    st.lists(COUNTED, min_size=1, max_size=3),
    st.integers(0, 20),
    st.sampled_from(["yes", "no"]),
    st.sampled_from(["amber", "blue"]),
)
def test_whole_numbers_and_words_agree_with_trying_all(
    conditions: list[str], n: int, towed: str, lamp: str
) -> None:
    rules = ruleset(*(check(f"c{i}", f"requires: {text}") for i, text in enumerate(conditions)))
    facts = {"n": str(n), "towed": towed, "lamp": lamp}
    now = worst(facts, rules)
    found = modrules.turns({"vehicle": facts, "modifications": []}, rules, on=ON)
    told = {
        (t.finding.check, t.target.address, t.direction, t.value): t.change for t in found.turns
    }
    expected: dict[tuple[str, str, str, str], Fraction | None] = {}
    for name in now:
        for direction, values in (("more", range(n + 1, 21)), ("less", range(n - 1, -1, -1))):
            for value in values:
                if worst({**facts, "n": str(value)}, rules)[name] < now[name]:
                    expected[name, "vehicle.n", direction, str(value)] = Fraction(abs(value - n))
                    break
        for fact, words in (("towed", ("yes", "no")), ("lamp", ("amber", "white", "blue"))):
            for word in words:
                if worst({**facts, fact: word}, rules)[name] < now[name]:
                    expected[name, f"vehicle.{fact}", "other", word] = None
    assert told == expected


@RELAXED
@given(st.tuples(checks("one"), checks("two")), st.integers(0, 100), st.integers(0, 100))
def test_lengths_agree_with_a_grid(made: tuple[str, str], a: int, b: int) -> None:
    rules = ruleset(*made)
    facts = {"a": f"{a} mm", "b": f"{b} mm", "n": "3", "towed": "yes"}
    now = worst(facts, rules)
    found = modrules.turns({"vehicle": facts, "modifications": []}, rules, on=ON)
    told = {
        (t.finding.check, t.direction): t for t in found.turns if t.target.address == "vehicle.a"
    }
    grid = sorted({Fraction(k, 2) for k in range(0, 201, 5)})
    for name, direction in product(now, ("more", "less")):
        turn = told.get((name, direction))
        side = [v for v in grid if (v > a if direction == "more" else v < a)]
        nearest: Fraction | None = None
        for value in side if direction == "more" else reversed(side):
            if worst({**facts, "a": f"{float(value)} mm"}, rules)[name] < now[name]:
                nearest = abs(value - a)
                break
        if nearest is not None:
            assert now[name] > RANK["complies"]
            assert turn is not None
            assert turn.change is not None
            assert turn.change <= nearest
        if turn is not None and turn.to is not None:
            # At the end itself where it is included, and on the way there nowhere.
            for value in side:
                if turn.change is not None and abs(value - a) < turn.change:
                    assert worst({**facts, "a": f"{float(value)} mm"}, rules)[name] >= now[name]
            text = str(turn.to)
            if "/" not in text:
                there = worst({**facts, "a": f"{text} mm"}, rules)[name]
                assert (there < now[name]) == turn.closed


def test_an_open_end_takes_just_more() -> None:
    rules = ruleset(check("one", "requires: vehicle.a > 40 mm"))
    data = modrules.turns({"vehicle": {"a": "38.5 mm"}, "modifications": []}, rules).to_dict()
    (turn,) = data["findings"][0]["turns"]
    assert turn["to"] == {"value": 40, "exact": "40", "closed": False}
    assert turn["change"] == {"value": 1.5, "exact": "1.5"}
    assert "more than 40 mm (just over 1.5 mm more): complies" in shown.turn_text(turn)


def test_opposite_needs_are_a_conflict() -> None:
    rules = ruleset(
        check("high", "requires: vehicle.a >= 60 mm"),
        check("low", "requires: vehicle.a <= 40 mm", "otherwise: caution"),
    )
    found = modrules.turns({"vehicle": {"a": "50 mm"}, "modifications": []}, rules)
    (conflict,) = found.conflicts
    assert (conflict.more.finding.check, conflict.less.finding.check) == ("high", "low")
    assert (str(conflict.more.to), str(conflict.less.to)) == ("60", "40")
    text = shown.render(found.to_dict())
    assert "AGAINST EACH OTHER: 1 CONFLICT" in text


def test_what_a_change_makes_worse_is_said() -> None:
    rules = ruleset(
        check("high", "requires: vehicle.a >= 60 mm"),
        check("low", "requires: vehicle.a < 60 mm", "otherwise: caution"),
    )
    found = modrules.turns({"vehicle": {"a": "50 mm"}, "modifications": []}, rules)
    (turn,) = found.turns
    assert [(f.check, possible) for f, possible in turn.worsens] == [("low", ("caution",))]
    assert found.conflicts == ()
    assert "but then Check low, vehicle: caution" in shown.render(found.to_dict())


def test_a_value_known_within_a_tolerance_has_to_leave_it() -> None:
    rules = ruleset(check("one", "requires: vehicle.a <= 40 mm"))
    found = modrules.turns({"vehicle": {"a": "50 mm ± 2 mm"}, "modifications": []}, rules)
    (turn,) = found.turns
    assert (str(turn.to), turn.closed, turn.change) == ("40", True, None)
    assert "40 mm or less (now 48 to 52 mm)" in shown.render(found.to_dict())


def test_what_is_missing_is_not_turned() -> None:
    rules = ruleset(check("one", "requires: vehicle.a <= 40 mm"))
    found = modrules.turns({"modifications": []}, rules)
    assert [f.check for f in found.findings] == ["one"]
    assert found.turns == ()
    assert "NO SINGLE FACT TURNS THESE" in shown.render(found.to_dict())


@pytest.mark.parametrize("name", ["needs-plates", "not-permitted", "compliant"])
def test_what_is_shown_fits_and_does_no_harm(name: str) -> None:
    rules = load_ruleset("orrinmark", on=ON, cache=True)
    path = ROOT / "rulesets" / "orrinmark" / "submissions" / f"{name}.yaml"
    data = modrules.turns(path, rules, on=ON).to_dict()
    assert json.loads(as_json(data)) == data
    for finding in data["findings"]:
        finding["title"] += "\x1b[2J\u202e" + "z" * 90
        for turn in finding["turns"]:
            turn["title"] = turn["now"] = "\x1b]0;x\x07" + "q" * 90
    text = shown.render(data)
    assert not {"\x1b", "\x07", "\u202e"} & set(text)
    assert max(map(len, text.splitlines())) <= 79


def test_an_enclosed_change_is_enough() -> None:
    rules = ruleset(check("one", "requires: vehicle.a * (vehicle.a / 1 mm) <= 2000 mm"))
    found = modrules.turns({"vehicle": {"a": "50 mm"}, "modifications": []}, rules)
    (turn,) = found.turns
    assert turn.to is not None
    assert not turn.exact
    assert 2000 - 2 <= turn.to.exact**2 <= 2000
    there = modrules.screen({"vehicle": {"a": f"{turn.to} mm"}, "modifications": []}, rules)
    assert there.answer["worst"] == "complies"
    assert "which is enough" in shown.render(found.to_dict())


def test_words_that_come_to_the_same_are_told_together() -> None:
    rules = ruleset(check("one", "requires: vehicle.lamp in (amber, white)"))
    found = modrules.turns({"vehicle": {"lamp": "blue"}, "modifications": []}, rules)
    assert [turn.value for turn in found.turns] == ["amber", "white"]
    assert "amber or white in place of blue: complies" in " ".join(
        shown.render(found.to_dict()).split()
    )


REACH = """\
  - {id: vehicle.reach_as_built, title: Reach as built, type: length, unit: mm, as_built: true,
     range: {from: 0 mm, to: 100 mm}, question: How far did it reach?}
"""


def test_what_the_vehicle_has_from_its_maker_is_no_way_out() -> None:
    """It is named apart; where it is all that would turn a finding, no single fact does."""
    rules = ruleset(
        check("both", "requires: vehicle.a <= vehicle.reach_as_built"),
        check("alone", "requires: vehicle.reach_as_built >= 30 mm"),
        check("other", "requires: vehicle.reach_as_built <= 10 mm", "otherwise: caution"),
        facts=REACH,
    )
    facts = {"a": "50 mm", "reach_as_built": "20 mm"}
    found = modrules.turns({"vehicle": facts, "modifications": []}, rules)
    built = {(t.finding.check, t.target.address): t.as_built for t in found.turns}
    assert built == {
        ("both", "vehicle.a"): False,
        ("both", "vehicle.reach_as_built"): True,
        ("alone", "vehicle.reach_as_built"): True,
        ("other", "vehicle.reach_as_built"): True,
    }
    # Two findings that need it otherwise are no conflict between changes.
    assert found.conflicts == ()
    text = " ".join(shown.render(found.to_dict()).split())
    ways, _, none = text.partition("NO SINGLE FACT TURNS THESE")
    assert "First length [vehicle.a]: 20 mm or less" in ways
    named = "as built no way out: Reach as built [vehicle.reach_as_built]"
    assert ways.count(named) == 1
    assert none.count(named) == 2
    assert "Reach as built [vehicle.reach_as_built]: " not in text


def test_a_listed_size_and_the_place_of_an_axle_are_no_ways_out() -> None:
    plan = {
        "modifications": [{"id": "larger", "kind": "tyres"}],
        "axles": [
            {"id": name, "position": name, "tyre": {"marking": "285/70R17 121/118S"}}
            for name in ("front", "rear")
        ],
        "listed_tyres": [{"id": "placard", "marking": "245/70R16 111T"}],
    }
    rules = modrules.load_ruleset("orrinmark", on=ON, cache=True)
    found = modrules.turns(plan, rules, on=ON)
    kinds = {turn.target.fact.id: turn.as_built for turn in found.turns}
    assert kinds["axle.tyre.overall_diameter"] is False
    assert kinds["listed_tyre.overall_diameter"] is True
    assert not [name for name, built in kinds.items() if name.endswith("_as_built") and not built]
    text = " ".join(shown.render(found.to_dict()).split())
    assert "- Overall diameter of the listed size" not in text
    assert "no way out: Overall diameter of the listed size" in text


def test_every_fact_of_the_vehicle_as_built_is_marked_so() -> None:
    """But what a person may well change: whether a seat or an anchorage is the maker's."""
    for name in ("orrinmark", "quillander", "touring"):
        flat = modrules.load_ruleset(name, cache=True).flat
        subjects = {str(one.id) for one in flat.subjects.values() if one.as_built}
        assert subjects == {"placard", "ratings", "listed_tyre"}
        unmarked = [
            str(fact.id)
            for fact in flat.facts.values()
            if "as_built" in str(fact.id)
            and not fact.as_built
            and str(fact.id).split(".")[0] not in subjects
        ]
        assert unmarked == ["seat.as_built", "anchorage.as_built"]
