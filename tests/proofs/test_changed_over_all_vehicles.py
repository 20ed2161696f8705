"""For which vehicles the outcome of a check differs between two editions."""

from __future__ import annotations

import json
from pathlib import Path

import little
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from modrules import cli
from modrules.author_commands import load
from modrules.proofs.changed import Changed, changed
from modrules.ruleset.find import find_ruleset
from modrules.screening.prepared import Ruleset

BANDS = """\
    measures: vehicle.n
    bands:
      - {{{0} 2, outcome: complies}}
      - {{{1} 2, up_to: 3, outcome: inspect}}
      - {{from: 4, outcome: not permitted, only_if: vehicle.p}}
    question: What is it like?
"""


def claimed(found: Changed) -> set[tuple[str, str, str]]:
    assert [each.not_proved for each in found.checks if each.not_proved] == []
    return {(c.check, each.before, each.after) for c in found.checks for each in c.changes}


def by_force(old: Ruleset, new: Ruleset) -> set[tuple[str, str, str]]:
    """Every change of outcome that trying all vehicles shows."""
    found = set()
    for _, (before, after) in little.vehicles(old, new):
        for id in before.keys() | after.keys():
            pair = [side.get(id, "no such check") for side in (before, after)]
            pair = ["every outcome" if outcome == "open" else outcome for outcome in pair]
            if pair[0] != pair[1] and set(pair) != {"no such check", "not applicable"}:
                found.add((id, *pair))
    return found


switches = st.sampled_from(["vehicle.p", "vehicle.q", "not vehicle.p", "vehicle.n > 1"])
rules = st.builds(
    lambda applies, join, limit, exemption: little.check(
        "rule",
        f"vehicle.q {join} vehicle.n < {limit}",
        applies=applies,
        more=little.exempt_if(exemption),
    ),
    switches,
    st.sampled_from(["and", "or"]),
    st.integers(1, 4),
    switches,
)
others = st.builds(
    lambda ends: little.check("other", BANDS.format(*ends)),
    st.sampled_from([("under:", "from:"), ("up_to:", "over:")]),
) | st.just("")


@settings(max_examples=15, derandomize=True)
@given(rules, others, rules, others)
def test_as_trying_everything_says(one: str, other: str, two: str, another: str) -> None:
    old, new = little.load(one, other), little.load(two, another)
    assert claimed(changed(old, new)) == by_force(old, new)


def test_one_reworded_is_proved_to_be_the_same() -> None:
    old = little.load(little.check("a", "not (vehicle.p and vehicle.n >= 3)"))
    new = little.load(little.check("a", "vehicle.n <= 2 or not vehicle.p"))
    found = changed(old, new)
    assert [each.check for each in found.same] == ["a"]
    # And the example of one that is not the same shows the difference in both.
    new = little.load(little.check("a", "vehicle.n <= 3 or not vehicle.p"))
    (change,) = changed(old, new).checks[0].changes
    assert change.example.given == {"vehicle": {"p": "yes", "n": "3"}}
    assert (change.before, change.after) == ("not permitted", "complies")


def test_the_formula_and_the_table_behind_a_check_count_by_edition() -> None:
    more = """\
tables:
  - {{id: most, title: Most, source: x, keys: [{{id: of, type: yes_no}}],
     columns: [{{id: n, type: count}}], rows: [[yes, {0}], [no, 1]]}}
quantities:
  - {{id: vehicle.more, title: More, formula: vehicle.n + {1}, source: x}}
"""
    check = little.check("a", "vehicle.more <= look_up(most, n, vehicle.p)")
    old, new, same = (little.load(check, more=more.format(*n)) for n in ((3, 1), (2, 1), (3, 1)))
    assert claimed(changed(old, new)) == by_force(old, new) == {("a", "complies", "not permitted")}
    assert claimed(changed(old, same)) == set()
    shifted = little.load(check, more=more.format(4, 2))
    assert claimed(changed(old, shifted)) == {("a", "complies", "not permitted")}


def test_facts_declared_otherwise_are_looked_at_as_far_as_both_take_them() -> None:
    def edition(limits: str, kind: str = "count") -> Ruleset:
        more = f"  - {{id: vehicle.k, title: K, type: {kind}, {limits} question: K?}}\n"
        return little.load(little.check("a", "vehicle.n <= 9"), checks_of[kind], more=more)

    checks_of = {
        "count": little.check("k", "vehicle.k <= 5"),
        "yes_no": little.check("k", "vehicle.k"),
    }
    wide, narrow = edition("range: {from: 0, to: 9},"), edition("range: {from: 0, to: 5},")
    found = changed(wide, narrow)
    assert found.facts == ("vehicle.k",)
    assert claimed(found) == set()
    apart = changed(edition("range: {from: 0, to: 3},"), edition("range: {from: 4, to: 9},"))
    reasons = {each.check: each.not_proved for each in apart.checks}
    assert reasons["a"] == ()
    assert reasons["k"] == ("all of it: there is no vehicle that both editions take",)
    other = changed(wide, edition("", "yes_no"))
    assert [each.not_proved for each in other.checks if each.check == "k"] == [
        ('all of it: "vehicle.k" is of another type now',)
    ]


def test_what_the_budget_does_not_reach_is_not_proved() -> None:
    folder = find_ruleset("quillander")
    old, new = load(str(folder / "2022")).ruleset, load(str(folder)).ruleset
    found = changed(old, new, budget=50)
    assert any("the budget is used up" in why for each in found.checks for why in each.not_proved)
    assert not {each.check for each in found.same} & {"edge-height", "trailer-mass"}


def test_the_command_in_text_and_as_data(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    sides = []
    for name, rule in (("old", "not (vehicle.p and vehicle.n >= 3)"), ("new", "vehicle.n <= 3")):
        (tmp_path / name).mkdir()
        same = ("vehicle.q or vehicle.r", "vehicle.r or vehicle.q")[name == "new"]
        checks = (little.check("a", rule), little.check("b", same))
        (tmp_path / name / "ruleset.yaml").write_text(little.text(*checks), encoding="utf-8")
        sides.append(str(tmp_path / name))
    assert cli.main(["compare", *sides]) == 0
    said = capsys.readouterr().out
    assert "no vehicle's answer changes (reworded only):\n  - b [b]\n" in said
    assert "from not permitted to complies, as:" in said
    assert "vehicle: {n: 3, p: yes}" in said or "vehicle: {p: yes, n: 3}" in said
    assert all(len(line) <= 79 for line in said.splitlines())
    assert cli.main(["compare", *sides, "--format", "json"]) == 0
    data = json.loads(capsys.readouterr().out)
    a, b = data["vehicles"]["checks"]
    assert (a["result"], b["result"], b["reworded"]) == ("differs", "same", True)
    pairs = {(change["before"], change["now"]) for change in a["changes"]}
    assert pairs == {("not permitted", "complies"), ("complies", "not permitted")}
    assert {change["example"]["given"]["vehicle"]["n"] for change in a["changes"]} == {"3", "4"}
    assert cli.main(["compare", *sides, "--no-proofs"]) == 0
    assert "not looked for: left out as asked" in capsys.readouterr().out
    monkeypatch.setattr("modrules.proofs.proving.available", lambda: False)
    assert cli.main(["compare", *sides]) == 0
    assert "not looked for: install modrules[proofs]" in capsys.readouterr().out


def test_editions_that_ship_differ_where_their_texts_do() -> None:
    folder = find_ruleset("quillander")
    found = changed(load(str(folder / "2022")).ruleset, load(str(folder)).ruleset)
    said = claimed(found)
    assert ("tyre-age", "complies", "no such check") in said
    assert ("edge-height", "complies", "not permitted") in said
    assert len(found.same) > 40
