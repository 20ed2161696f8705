"""When a list names all there is: what a ruleset says of it, and what it is held to."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from ruleset_files import check, head, told

import modrules
from modrules.screening.asking import State, answered, begin, next_question

WORDS = """\
subjects:
  - {id: vehicle, title: Vehicle}
  - {id: axle, title: Axle, list: axlesWHOLE}
kinds: [{id: tyres, title: Tyres}]
facts:
  - {id: vehicle.axles, title: Axles, type: count, range: {from: 1, to: 4}, question: How many?}
  - {id: axle.track, title: Track, type: length, unit: mm, range: {from: 0 mm, to: 3000 mm},
     question: How wide?}
texts: [{id: code, title: Code, edition: "1"}]
checks:
"""
ENOUGH = ", whole_if: count(each axle) >= vehicle.axles"
WIDEST = """\
  - id: widest
    title: Widest track
    about: tyres
    per: vehicle
    measures: largest(axle.track for each axle if none 0 mm)
    bands: [{up_to: 1700 mm, outcome: complies}, {over: 1700 mm, outcome: not permitted}]
    cites: {text: code, clause: "4.3"}
"""


def ruleset(folder: Path, whole: str, more: str = "") -> modrules.Ruleset:
    text = head() + WORDS.replace("WHOLE", whole) + check("track") + more
    (folder / "ruleset.yaml").write_text(text, encoding="utf-8")
    return modrules.load_ruleset(folder)


def possible(rules: modrules.Ruleset, axles: list[str] | None, count: str = "") -> dict[str, Any]:
    tree: dict[str, Any] = {"modifications": [], "vehicle": {"axles": count} if count else {}}
    if axles is not None:
        tree["axles"] = [{"id": f"a{i}", "track": track} for i, track in enumerate(axles)]
    found = modrules.screen(tree, rules).findings
    return {f"{f.check} {f.subject}": f.possible for f in found}


OPEN = ("not applicable", "complies", "not permitted")


def test_without_a_condition_a_list_that_is_given_is_whole(tmp_path: Path) -> None:
    rules = ruleset(tmp_path, "")
    assert possible(rules, []) == {"track axle": ("not applicable",)}
    assert possible(rules, ["1500 mm"]) == {"track axle a0": ("complies",)}
    assert possible(rules, None) == {"track axle (not given)": OPEN}


def test_a_list_is_whole_once_its_condition_surely_holds(tmp_path: Path) -> None:
    rules = ruleset(tmp_path, ENOUGH, WIDEST)
    assert possible(rules, ["1500 mm"], "2") == {
        "track axle a0": ("complies",),
        "track axle (not given)": OPEN,
        "widest vehicle": ("complies", "not permitted"),
    }
    assert possible(rules, ["1500 mm"]) == possible(rules, ["1500 mm"], "2")
    assert possible(rules, ["1500 mm"], "1") == {
        "track axle a0": ("complies",),
        "widest vehicle": ("complies",),
    }
    # What is too wide stays so, whatever the others are.
    assert possible(rules, ["1800 mm"])["widest vehicle"] == ("not permitted",)


def test_open_findings_name_the_list_and_what_tells_whether_it_is_whole(tmp_path: Path) -> None:
    rules = ruleset(tmp_path, ENOUGH, WIDEST)
    tree = {"modifications": [], "axles": [{"id": "a", "track": "1500 mm"}]}
    report = modrules.screen(tree, rules)
    missing = {finding.check: finding.missing for finding in report.findings if finding.missing}
    assert missing == {
        "track": ("vehicle.axles", "axles"),
        "widest": ("vehicle.axles", "axles"),
    }
    # All that may be missing is a number: saying it settles everything.
    first = modrules.next_facts(tree, rules)[0]
    assert (first.address, first.most) == ("vehicle.axles", 2)


def test_a_decision_that_leans_on_the_range_of_the_number_says_so(tmp_path: Path) -> None:
    rules = ruleset(tmp_path, ENOUGH, WIDEST)
    tree = {
        "modifications": [],
        "axles": [{"id": f"a{n}", "track": "1500 mm"} for n in range(4)],
    }
    (widest,) = [f for f in modrules.screen(tree, rules).findings if f.check == "widest"]
    assert widest.possible == ("complies",)
    assert widest.assumed == ("vehicle.axles",)


def test_the_questionnaire_goes_on_until_the_list_is_whole_and_keeps_what_is_known(
    tmp_path: Path,
) -> None:
    rules = ruleset(tmp_path, ENOUGH)
    state: State = begin(rules, {"modifications": [], "vehicle": {"axles": "2"}})
    asked = next_question(state)
    assert asked is not None
    assert asked.address == "axles"
    assert "none" not in asked.measure
    state = answered(state, "axles", "a")
    state = answered(state, "axles.a.track", "1500 mm")
    again = next_question(state)
    assert again is not None
    assert again.address == "axles"
    state = answered(state, "axles", "a, b")
    assert state.data["axles"] == [{"id": "a", "track": "1500 mm"}, {"id": "b"}]
    last = next_question(state)
    assert last is not None
    assert last.address == "axles.b.track"


@pytest.mark.parametrize(
    ("whole", "message"),
    [
        (", whole_if: axle.track > 0 mm", '"axle" is a list; there is no one axle here'),
        (", whole_if: count(each axle)", "this is a count, but a yes or no is expected"),
        (", whole_if: 1 +", "the expression ends here, but a value is expected"),
    ],
)
def test_a_condition_that_is_none_is_refused(tmp_path: Path, whole: str, message: str) -> None:
    with pytest.raises(modrules.ModrulesError) as caught:
        ruleset(tmp_path, whole)
    _, line, _, first = told(caught.value)[0]
    assert (line, first) == (7, message)


def test_what_has_no_list_has_no_condition(tmp_path: Path) -> None:
    text = (head() + WORDS + check("track")).replace("WHOLE", "")
    text = text.replace("title: Vehicle}", "title: Vehicle, whole_if: vehicle.axles > 1}")
    (tmp_path / "ruleset.yaml").write_text(text, encoding="utf-8")
    with pytest.raises(modrules.ModrulesError) as caught:
        modrules.load_ruleset(tmp_path)
    (problem,) = caught.value.problems
    assert problem.message == 'there is no list of "vehicle" that could lack entries'


def test_lists_of_worked_cases_count_as_whole(tmp_path: Path) -> None:
    ruleset(tmp_path, ENOUGH)
    (tmp_path / "cases").mkdir()
    (tmp_path / "cases" / "all.yaml").write_text(
        """\
cases:
  - case: one axle
    of: track
    source: clause 4.2
    given: {axles: [{id: a, track: 1500 mm}]}
    expect: complies
""",
        encoding="utf-8",
    )
    assert modrules.proofread(tmp_path, proofs=False).cases_failed == ()
