"""The questionnaire: it asks little, asks nothing twice, and leads to the same findings."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction
from functools import cache
from itertools import product
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from small_rulesets import ON, check, checks, ruleset

import modrules
from modrules.reports import asking as shown
from modrules.screening.asking import answered, begin, next_question, report_of, skipped

RELAXED = settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.too_slow])

#: Nothing is asked of papers and standard systems then; they have tests of their own.
NO_MORE: Mapping[str, Any] = {"evidence": [], "standard": []}

FULL = st.fixed_dictionaries(
    {
        "a": st.integers(0, 100).map(lambda n: f"{n} mm"),
        "b": st.sampled_from(["0 mm", "12.5 mm", "1.5 in", "99 mm"]),
        "n": st.integers(0, 20).map(str),
        "towed": st.sampled_from(["yes", "no"]),
    }
)


@RELAXED
@given(st.tuples(checks("one"), checks("two"), checks("three", straight=False)), FULL)
def test_full_answers_lead_to_the_same_findings(
    made: tuple[str, ...], full: dict[str, str]
) -> None:
    rules = ruleset(*made)
    whole = modrules.screen({"vehicle": full, "modifications": []}, rules, on=ON)
    state = begin(rules, {"modifications": [], **NO_MORE}, ON)
    asked = []
    while (question := next_question(state)) is not None:
        assert question.address not in asked
        asked.append(question.address)
        state = answered(state, question.address, full[question.address.partition(".")[2]])
    report = report_of(state)
    assert report.answer == whole.answer
    assert [f.possible for f in report.findings] == [f.possible for f in whole.findings]


# -- how many questions -------------------------------------------------------------------

#: facts of two or three values, by their names
VALUES: Mapping[str, tuple[str, ...]] = {
    "p": ("yes", "no"),
    "q": ("yes", "no"),
    "r": ("yes", "no"),
    "s": ("yes", "no"),
    "lamp": ("amber", "white", "blue"),
}
MORE_FACTS = "".join(
    f"  - {{id: vehicle.{name}, title: Fact {name}, type: yes_no, question: Is it {name}?}}\n"
    for name in "pqrs"
)
ATOMS = [
    *(f"vehicle.{name}" for name in "pqrs"),
    "(vehicle.lamp = blue)",
    "(vehicle.lamp in (amber, blue))",
]


def _joined(inner: st.SearchStrategy[str]) -> st.SearchStrategy[str]:
    pair = st.tuples(inner, inner)
    return st.one_of(
        pair.map(lambda p: f"({p[0]} and {p[1]})"),
        pair.map(lambda p: f"({p[0]} or {p[1]})"),
        inner.map(lambda e: f"(not {e})"),
    )


LOGIC = st.recursive(st.sampled_from(ATOMS), _joined, max_leaves=4)


def logic_rules(*conditions: str) -> Any:
    made = [check(f"c{n}", f"requires: {text}") for n, text in enumerate(conditions)]
    return ruleset(*made, facts=MORE_FACTS)


def outcomes(rules: Any, facts: Mapping[str, str]) -> tuple[tuple[str, ...], ...]:
    report = modrules.screen({"vehicle": dict(facts), "modifications": []}, rules, on=ON)
    return tuple(finding.possible for finding in report.findings)


def best_average(rules: Any) -> Fraction:
    """The fewest questions on average of any order of asking, by looking through all of them."""

    @cache
    def cost(known: tuple[tuple[str, str], ...]) -> Fraction:
        facts = dict(known)
        if all(len(possible) == 1 for possible in outcomes(rules, facts)):
            return Fraction(0)
        best = None
        for name, values in VALUES.items():
            if name in facts:
                continue
            after = [tuple(sorted({**facts, name: value}.items())) for value in values]
            this = 1 + sum(map(cost, after), Fraction(0)) / len(values)
            best = this if best is None else min(best, this)
        return best if best is not None else Fraction(0)

    return cost(())


def asked_on_average(rules: Any) -> Fraction:
    total = count = 0
    for values in product(*VALUES.values()):
        full = dict(zip(VALUES, values, strict=True))
        state = begin(rules, {"modifications": [], **NO_MORE}, ON)
        while (question := next_question(state)) is not None:
            total += 1
            state = answered(state, question.address, full[question.address.partition(".")[2]])
        count += 1
    return Fraction(total, count)


@settings(max_examples=6, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(LOGIC, min_size=1, max_size=3))
def test_few_more_questions_than_the_best_possible(conditions: list[str]) -> None:
    rules = logic_rules(*conditions)
    assert asked_on_average(rules) <= Fraction(12, 10) * best_average(rules)


def test_only_what_can_still_change_a_finding_is_asked() -> None:
    rules = ruleset(
        check("one", "requires: if vehicle.towed then vehicle.a <= 50 mm else vehicle.n <= 5"),
    )
    state = begin(rules, {"modifications": [], **NO_MORE}, ON)
    asked = []
    while (question := next_question(state)) is not None:
        asked.append(question.address)
        state = answered(state, question.address, "yes" if "towed" in question.address else "3 mm")
    assert asked == ["vehicle.towed", "vehicle.a"]


def test_it_begins_with_the_modifications_and_lists() -> None:
    rules = ruleset(
        check("high", "requires: lift.height <= 50 mm", per="lift", about="lift"),
        check("track", "requires: axle.track <= 1500 mm", per="axle"),
    )
    state = begin(rules, dict(NO_MORE), ON)
    first = next_question(state)
    assert first is not None
    assert (first.address, first.words) == ("modifications", ("lift", "rack"))
    state = answered(state, "modifications", "lift, lift")
    assert [m["id"] for m in state.data["modifications"]] == ["lift", "lift-2"]
    addresses = []
    replies = {"axles": "front, rear", "track": "1400 mm", "height": "40 mm"}
    while (question := next_question(state)) is not None:
        addresses.append(question.address)
        state = answered(state, question.address, replies[question.address.rpartition(".")[2]])
    assert sorted(addresses) == [
        "axles",
        "axles.front.track",
        "axles.rear.track",
        "modifications.lift-2.height",
        "modifications.lift.height",
    ]
    assert report_of(state).answer == {"best": "complies", "worst": "complies"}


def test_what_is_given_or_skipped_is_not_asked() -> None:
    rules = ruleset(check("one", "requires: vehicle.a + vehicle.b <= 50 mm"))
    state = begin(rules, {"vehicle": {"a": "45 mm ± 9 mm"}, "modifications": [], **NO_MORE}, ON)
    question = next_question(state)
    assert question is not None
    assert question.address == "vehicle.b"
    assert next_question(skipped(state, "vehicle.b")) is None


@pytest.mark.parametrize(
    ("address", "text", "said"),
    [
        ("vehicle.a", "a lot", "is no number with a unit"),
        ("vehicle.a", "101 mm", "is outside the range"),
        ("vehicle.towed", "perhaps", "neither yes nor no"),
        ("vehicle.a", "  ", "no answer"),
        ("modifications", "lifft", "no kind of modification"),
        ("axles", "front, front", "twice"),
        ("axles", "fr ont", "no id"),
    ],
)
def test_a_bad_answer_is_said_and_changes_nothing(address: str, text: str, said: str) -> None:
    rules = ruleset(check("one", "requires: vehicle.a <= 50 mm"))
    state = begin(rules, {"modifications": [], **NO_MORE}, ON)
    before = dict(state.data)
    with pytest.raises(modrules.ModrulesError, match=said):
        answered(state, address, text)
    assert state.data == before


def test_hostile_words_of_a_ruleset_do_no_harm() -> None:
    evil = "\x1b[2J\u202e" + "h" * 120
    rules = ruleset(check("one", "requires: vehicle.a <= 50 mm"))
    question = next_question(begin(rules, {"modifications": [], **NO_MORE}, ON))
    assert question is not None
    changed = replace(question, question=evil, measure=evil, title=evil, words=(evil,), unit=evil)
    text = shown.question_text(changed, 1)
    assert not {"\x1b", "\u202e"} & set(text)
    assert max(map(len, text.splitlines())) <= 79
    plain = shown.submission_text({"submission": evil, "modifications": []})
    assert plain.isascii()
    assert "\x1b" not in plain


def test_what_is_written_reads_back_the_same(tmp_path: Path) -> None:
    data = {
        "submission": "Plan: a #1, on",
        "vehicle": {"a": "47 mm ± 3 mm", "built": "2021-03", "towed": "no", "n": "010"},
        "axles": [],
        "modifications": [{"id": "1.5", "kind": "lift", "height": "none stated"}],
    }
    path = tmp_path / "s.yaml"
    path.write_text(shown.submission_text(data), encoding="utf-8")
    assert modrules.read_submission(path).digest == modrules.read_submission(data).digest
