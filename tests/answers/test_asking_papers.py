"""The questionnaire about papers and standard systems: the same laws as for facts."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from functools import cache
from itertools import product
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from small_rulesets import ON, VOCABULARY, check, checks, ruleset

import modrules
from modrules.reports import asking as shown
from modrules.screening.asking import answered, begin, next_question, report_of, skipped

LIFT = {"id": "lift", "kind": "lift", "height": "40 mm", "fitted": "2026-06-01"}
NUMBER = (
    "  - {id: vehicle.identification_number, title: Number, type: text,\n"
    "     question: Which number does it bear?}\n"
)


def reply(full: dict[str, Any], question: Any) -> str:
    """What somebody answers who knows all of a submission."""
    address = question.address
    if address == "standard":
        return ", ".join(full["standard"]) or "none"
    if address == "evidence":
        held = [one.get("certification") or one["document"] for one in full["evidence"]]
        return ", ".join(word for word in question.words if word in held) or "none"
    steps = address.split(".")
    if steps[0] == "evidence":
        (entry,) = [one for one in full["evidence"] if one["id"] == steps[1]]
        if steps[2] != "covers":
            return str(entry.get(steps[2], "none stated"))
        if steps[3] == "up_to":
            limits = entry["covers"].get("up_to", {})
            return str(limits.get(".".join(steps[4:]), "none stated"))
        told = entry["covers"][steps[3]]
        return told if isinstance(told, str) else ", ".join(told) or "none"
    return str(full["vehicle"][steps[1]])


def led_to_the_end(rules: Any, full: dict[str, Any], start: dict[str, Any]) -> tuple[Any, int]:
    """The report when nothing is left to ask, and how many questions it took."""
    state, asked = begin(rules, start, ON), []
    while (question := next_question(state)) is not None:
        assert question.address not in asked
        asked.append(question.address)
        state = answered(state, question.address, reply(full, question))
    # What was answered can be filed, and is gone on with where it was left.
    assert next_question(begin(rules, dict(state.data), ON)) is None
    return report_of(state), len(asked)


def documents() -> st.SearchStrategy[list[dict[str, Any]]]:
    day = st.sampled_from(["2026-01-01", "2026-11-01", "2027-01-01"])
    entry = st.fixed_dictionaries(
        {"id": st.just("plate"), "certification": st.just("plate"), "issued": day},
        optional={"expires": day},
    )
    covers = st.fixed_dictionaries(
        {"modifications": st.sampled_from([[], ["lift"]])},
        optional={"up_to": st.just({"lift.height": "30 mm"})},
    )
    return st.lists(st.tuples(entry, covers).map(lambda p: {**p[0], "covers": p[1]}), max_size=1)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    st.tuples(checks("one"), checks("two")),
    st.fixed_dictionaries(
        {
            "a": st.integers(0, 100).map(lambda n: f"{n} mm"),
            "b": st.sampled_from(["0 mm", "12.5 mm", "99 mm"]),
            "n": st.integers(0, 20).map(str),
            "towed": st.sampled_from(["yes", "no"]),
        }
    ),
    documents(),
    st.sampled_from([[], ["rack"]]),
)
def test_full_answers_lead_to_the_same_report(
    made: tuple[str, ...], vehicle: dict[str, str], papers: Any, standard: list[str]
) -> None:
    lift = check(
        "high", "requires: lift.height <= 20 mm", "otherwise: certification required",
        "certification: plate", per="lift", about="lift",
    )  # fmt: skip
    rules = ruleset(*made, lift)
    full = {"vehicle": vehicle, "modifications": [LIFT], "evidence": papers, "standard": standard}
    whole = modrules.screen(full, rules, on=ON)
    report, _ = led_to_the_end(rules, full, {"modifications": [LIFT]})
    assert report.answer == whole.answer
    assert [f.possible for f in report.findings] == [f.possible for f in whole.findings]
    after, before = report.to_dict(), whole.to_dict()
    for key in ("certifications", "not_looked_at", "modifications"):
        kept = [{k: v for k, v in one.items() if k != "note"} for one in after[key]]
        assert kept == [{k: v for k, v in one.items() if k != "note"} for one in before[key]]


# -- how many questions -------------------------------------------------------------------

FACTS = {"p": ("yes", "no"), "q": ("yes", "no")}
PAPER = {
    "issued": ("2026-01-01", "2027-01-01"),
    "expires": ("2027-01-01", "2026-01-01"),
    "modifications": ("lift", ""),
    "vehicle": ("A-1", "B-2"),
}
#: what is known: facts, then whether there is a plate, then what stands on it
Known = tuple[tuple[str, str], ...]


def submission(known: dict[str, str]) -> dict[str, Any]:
    vehicle = {"identification_number": "A-1", **{k: known[k] for k in FACTS}}
    plate = {
        "id": "plate",
        "certification": "plate",
        "issued": known.get("issued"),
        "expires": known.get("expires"),
        "covers": {
            "modifications": [known["modifications"]] if known.get("modifications") else [],
            "vehicle": known.get("vehicle"),
        },
    }
    evidence = [plate] if known["held"] == "yes" else []
    return {"vehicle": vehicle, "modifications": [LIFT], "standard": ["rack"], "evidence": evidence}


def every() -> Iterator[tuple[Fraction, dict[str, str]]]:
    """Every full submission with its share, where each answer is as likely as any other."""
    for facts in product(*FACTS.values()):
        chosen = dict(zip(FACTS, facts, strict=True))
        yield Fraction(1, 8), {**chosen, "held": "no"}
        for values in product(*PAPER.values()):
            told = dict(zip(PAPER, values, strict=True))
            yield Fraction(1, 8 * 16), {**chosen, "held": "yes", **told}


def best_average(rules: Any) -> Fraction:
    """The fewest questions on average of any order of asking, by looking through all of them."""
    ends = [
        (full, tuple(f.possible for f in modrules.screen(submission(full), rules, on=ON).findings))
        for _, full in every()
    ]

    @cache
    def cost(known: Known) -> Fraction:
        facts = dict(known)
        found = {end for full, end in ends if facts.items() <= full.items()}
        if len(found) == 1:
            return Fraction(0)
        open_ = {**FACTS, "held": ("yes", "no"), **(PAPER if facts.get("held") == "yes" else {})}
        orders = []
        for name, values in open_.items():
            if name not in facts:
                after = [tuple(sorted({**facts, name: value}.items())) for value in values]
                orders.append(1 + sum(map(cost, after), Fraction(0)) / len(values))
        return min(orders)

    return cost(())


@pytest.mark.parametrize(
    "condition",
    ["vehicle.p", "vehicle.p and vehicle.q", "vehicle.p or vehicle.q", "not vehicle.p"],
)
def test_few_more_questions_than_the_best_possible(condition: str) -> None:
    named = "".join(
        f"  - {{id: vehicle.{name}, title: Fact {name}, type: yes_no, question: Is it {name}?}}\n"
        for name in FACTS
    )
    needed = [
        check("one", f"requires: {condition}", "otherwise: certification required",
              "certification: plate"),
        check("two", "requires: vehicle.q"),
    ]  # fmt: skip
    rules = ruleset(*needed, facts=named + NUMBER)
    start = {
        "vehicle": {"identification_number": "A-1"},
        "modifications": [LIFT],
        "standard": ["rack"],
    }
    average = Fraction(0)
    for share, known in every():
        full = submission(known)
        report, count = led_to_the_end(rules, full, start)
        assert report.answer == modrules.screen(full, rules, on=ON).answer
        average += share * count
    assert average <= Fraction(12, 10) * best_average(rules)


# -- what is asked, and what not ----------------------------------------------------------

PLATED = check(
    "high", "requires: lift.height <= 20 mm", "otherwise: certification required",
    "certification: plate", per="lift", about="lift",
)  # fmt: skip


def test_no_paper_is_asked_for_that_changes_nothing() -> None:
    low = {**LIFT, "height": "10 mm"}
    question = next_question(begin(ruleset(PLATED), {"modifications": [low]}, ON))
    assert question is not None
    assert question.address == "standard"
    assert question.words == ("rack",)


def test_a_plate_that_has_run_out_is_asked_no_further() -> None:
    rules = ruleset(PLATED, facts=NUMBER)
    state = begin(rules, {"modifications": [LIFT], "standard": []}, ON)
    asked = []
    replies = {"evidence": "plate", "issued": "2026-01-01", "expires": "2026-10-31"}
    while (question := next_question(state)) is not None:
        asked.append(question.address)
        state = answered(state, question.address, replies[question.address.rpartition(".")[2]])
    assert asked == ["evidence", "evidence.plate.issued", "evidence.plate.expires"]
    assert report_of(state).answer["best"] == "certification required"


def test_a_plate_is_asked_up_to_which_value_it_covers() -> None:
    rules = ruleset(PLATED)
    plate = {"id": "x.1", "certification": "plate", "issued": "2026-01-01", "expires": "2027-01-01"}
    data = {"modifications": [LIFT], "standard": [], "evidence": [plate]}
    state = begin(rules, data, ON)
    question = next_question(state)
    assert question is not None
    assert (question.address, question.words) == ("evidence.x.1.covers.modifications", ("lift",))
    state = answered(state, question.address, "lift")
    question = next_question(state)
    assert question is not None
    assert question.address == "evidence.x.1.covers.up_to.lift.height"
    for text, outcome in (("39 mm", "certification required"), ("none stated", "certified")):
        after = answered(state, question.address, text)
        assert report_of(after).answer == {"best": outcome, "worst": outcome}
        assert next_question(after) is None


def test_a_paper_that_nobody_can_read_leaves_the_answer_open() -> None:
    rules = ruleset(PLATED, facts=NUMBER)
    plate = {
        "id": "plate", "certification": "plate", "issued": "2026-01-01", "expires": "none stated",
        "covers": {"modifications": ["lift"], "up_to": {"lift.height": "none stated"}},
    }  # fmt: skip
    data = {"modifications": [LIFT], "standard": [], "evidence": [plate]}
    state = begin(rules, data, ON)
    question = next_question(state)
    assert question is not None
    assert question.address == "evidence.plate.covers.vehicle"
    state = skipped(state, question.address)
    assert next_question(state) is None
    assert report_of(state).answer == {"best": "certified", "worst": "certification required"}


def test_evidence_is_asked_for_and_told_apart_from_a_plate_of_its_name(tmp_path: Path) -> None:
    items = "evidence: [{id: leak, title: Leak test}, {id: plate, title: Picture of it}]"
    text = VOCABULARY.replace("kind: plate}", f"kind: plate, {items}}}") + PLATED
    (tmp_path / "ruleset.yaml").write_text(text, encoding="utf-8")
    rules = modrules.load_ruleset(tmp_path, on=ON)
    state = begin(rules, {"modifications": [LIFT], "standard": []}, ON)
    question = next_question(state)
    assert question is not None
    assert question.words == ("plate", "leak", "paper:plate")
    state = answered(state, question.address, "leak, paper:plate, leak")
    assert state.data["evidence"] == [
        {"id": "leak", "document": "leak"},
        {"id": "plate", "document": "plate"},
        {"id": "leak-2", "document": "leak"},
    ]
    replies = {"issued": "2026-05-01", "expires": "none stated", "modifications": "lift"}
    asked = []
    while (question := next_question(state)) is not None:
        asked.append(question.address)
        state = answered(state, question.address, replies[question.address.rpartition(".")[2]])
    assert len(asked) == 9
    (plate,) = report_of(state).to_dict()["certifications"]
    assert [item["by"] for item in plate["evidence"]] == ["leak", "plate"]
    assert plate["state"] == "required"


@pytest.mark.parametrize(
    ("address", "text", "said"),
    [
        ("evidence", "plat", "no paper that counts"),
        ("standard", "lift", "none of the systems"),
        ("standard", "raack", "none of the systems"),
        ("evidence.plate.issued", "last week", "issued"),
        ("evidence.plate.covers.modifications", "rack", "there is no modification"),
        ("evidence.plate.covers.up_to.lift.height", "a lot", "no number"),
    ],
)
def test_a_bad_answer_is_said_and_changes_nothing(address: str, text: str, said: str) -> None:
    data: dict[str, Any] = {"modifications": [LIFT]}
    if address.startswith("evidence."):
        data["evidence"] = [{"id": "plate", "certification": "plate"}]
    state = begin(ruleset(PLATED), data, ON)
    before = dict(state.data)
    with pytest.raises(modrules.ModrulesError, match=said):
        answered(state, address, text)
    assert state.data == before


def test_the_words_are_shown_with_what_they_stand_for() -> None:
    question = next_question(begin(ruleset(PLATED), {"modifications": [LIFT]}, ON))
    text = shown.question_text(question, 3)
    assert text.startswith("3. Which of these plates, certificates and papers are there already?")
    assert "\n   plate                     Plate\n" in text
    state = answered(begin(ruleset(PLATED), {"modifications": [LIFT]}, ON), "evidence", "none")
    assert state.data["evidence"] == []
    question = next_question(state)
    assert question is not None
    assert answered(state, question.address, "all").data["standard"] == ["rack"]
