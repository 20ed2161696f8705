"""Numbers and answers in words."""

from __future__ import annotations

from typing import Any

import pytest
import report_samples

from modrules.reports import owner, reading, wording
from modrules.reports.shape import OUTCOMES, RANK


def mm(value: float | None, **ends: float) -> Any:
    return {"value": value, "unit": "mm", **ends}


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (47, "47"),
        (47.0, "47"),
        (-0.5, "-0.5"),
        (0.35, "0.35"),
        (200 / 3, "about 66.667"),
        (50.0000000001, "about 50"),
        (1e-9, "about 1e-09"),
        (-0.0004, "about -0.0004"),
        (12345.5, "12345.5"),
        (2100.0001, "about 2100"),
    ],
)
def test_numbers(value: float, text: str) -> None:
    assert wording.number(value) == text


@pytest.mark.parametrize(
    ("given", "text"),
    [
        (mm(47), "47 mm"),
        (mm(None, low=44, high=50), "44 to 50 mm"),
        (mm(47, low=44, high=50), "44 to 50 mm"),
        (mm(None, low=44), "at least 44 mm"),
        (mm(None, high=50), "at most 50 mm"),
        (mm(None), "not known"),
        ({"value": 3, "unit": ""}, "3"),
    ],
)
def test_quantities(given: Any, text: str) -> None:
    assert wording.quantity(given) == text


@pytest.mark.parametrize(
    ("given", "text"),
    [
        (mm(3), "3 mm to spare"),
        (mm(0), "right on the limit"),
        (mm(-15), "past it by 15 mm"),
        (mm(None, low=1, high=4), "1 to 4 mm to spare"),
        (mm(None, low=-4, high=-1), "past it by 1 to 4 mm"),
        (mm(None, low=-6, high=2), "past it by up to 6 mm, or up to 2 mm to spare"),
        (mm(None, low=2), "margin at least 2 mm, where less than 0 is past the limit"),
    ],
)
def test_margins(given: Any, text: str) -> None:
    assert wording.margin(given) == text


def test_both_ends_are_always_named() -> None:
    for best in OUTCOMES:
        for worst in OUTCOMES[RANK[best] + 1 :]:
            answer: Any = {"best": best, "worst": worst}
            assert wording.answer_line(answer) == f"between {best} and {worst}: open"
            assert "At best, " in wording.answer_sentence(answer)
            assert "; at worst, " in wording.answer_sentence(answer)


def test_the_owner_hears_no_plate_only_when_it_is_decided() -> None:
    free = {"complies", "exempt", "caution"}
    for best in OUTCOMES:
        for worst in OUTCOMES[RANK[best] :]:
            answer: Any = {"best": best, "worst": worst}
            word, sentence = owner.of_answer(answer)
            said = "no plate" in f"{word} {sentence}".lower()
            assert said == (best == worst and best in free), (best, worst)
            assert (word == owner.OPEN) == (best != worst)


def test_the_owner_never_hears_no_plate_where_no_check_covers() -> None:
    silent: Any = report_samples.full()["modifications"][4]
    for rulesets in (1, 2):
        word, sentence = owner.of_modification(silent, rulesets)
        assert word == owner.NOT_COVERED
        assert "no permission" in sentence
        assert "no plate" not in sentence.lower()


def test_clauses_of_one_text_stand_together() -> None:
    text = report_samples.cite("4.2")
    other = {**text, "text": "guide", "title": "The Guide", "edition": "", "clause": "9"}
    clauses: Any = [text, report_samples.cite("4.5(1)"), other]
    words = "The Orrinmark Code (2026), clauses 4.2 and 4.5(1); The Guide, clause 9"
    assert wording.clauses_of(clauses) == words


@pytest.mark.parametrize(
    ("best", "worst", "status"),
    [
        ("not applicable", "caution", 0),
        ("complies", "complies", 0),
        ("certified", "caution", 0),
        ("complies", "inspect", 3),
        ("caution", "not permitted", 3),
        ("inspect", "inspect", 1),
        ("certification required", "not permitted", 1),
    ],
)
def test_exit_status(best: Any, worst: Any, status: int) -> None:
    assert reading.exit_status({"best": best, "worst": worst}) == status


def test_answers_combine_by_the_worst_of_each_end() -> None:
    findings: Any = [
        report_samples.finding("a", "A", ["complies", "not permitted"]),
        report_samples.finding("b", "B", "caution"),
    ]
    assert reading.combined(findings) == {"best": "caution", "worst": "not permitted"}
    assert reading.combined([]) is None
