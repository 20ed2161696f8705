"""The screen: the first 24 lines answer, the rest shows why, nothing is wider than 80."""

from __future__ import annotations

import unicodedata
from typing import Any

import pytest
import report_samples

from modrules.reports import layout, owner_page, plates, terminal

RENDERERS = {
    "screen": terminal.render,
    "plates": owner_page.render,
    "plates --all": plates.render,
}
EVERY = [(r, n) for r in RENDERERS for n in report_samples.ALL]


def shown(report: Any) -> str:
    return terminal.render(report)


def folded(text: str) -> str:
    """The text with all white space folded, so that line breaks don't matter."""
    return " ".join(text.split())


def head(text: str) -> str:
    return folded("\n".join(text.split("\n")[:24]))


def part(text: str, title: str) -> str:
    """A part of the page, from its heading to the next."""
    lines = text.split("\n")
    start = next(
        n
        for n, line in enumerate(lines)
        if line.startswith(title) and any(rule.startswith("----") for rule in lines[n + 1 : n + 3])
    )
    rules = [n for n, line in enumerate(lines) if line.startswith("----") and n > start + 1]
    return folded("\n".join(lines[start : rules[0] - 1 if rules else len(lines)]))


@pytest.mark.parametrize(("renderer", "name"), EVERY)
def test_every_page_is_narrow_harmless_and_the_same_again(renderer: str, name: str) -> None:
    render: Any = RENDERERS[renderer]
    text = render(report_samples.ALL[name]())
    lines = text.split("\n")
    assert max(map(layout.width_of, lines)) <= 80
    assert {unicodedata.category(c) for c in text if c != "\n"}.isdisjoint(
        {"Cc", "Cf", "Cs", "Zl", "Zp"}
    )
    assert text == render(report_samples.ALL[name]())
    assert text.endswith("\n")
    assert not text.endswith("\n\n")


@pytest.mark.parametrize(("renderer", "name"), EVERY)
def test_the_head_fits_24_lines_and_says_that_it_is_no_certificate(
    renderer: str, name: str
) -> None:
    render: Any = RENDERERS[renderer]
    lines = render(report_samples.ALL[name]()).split("\n")
    first_rule = next(n for n, line in enumerate(lines) if line.startswith("----"))
    # Before the rule stand the heading of the first part and an empty line.
    assert first_rule - 2 <= 24
    assert "no certificate: the local code and licensed certifier decide" in head("\n".join(lines))


def test_the_head_gives_answer_clause_plates_evidence_and_what_is_next() -> None:
    text = head(shown(report_samples.full()))
    for words in (
        "ANSWER NOT PERMITTED",
        "BECAUSE OF [1] clause 4.2: Overall diameter against the placard, axle rear; "
        "The Orrinmark Code (2026)",
        "REQUIRED: Running gear plate; outstanding Wheel alignment report after the work; "
        "Lamp aim report MAY BE REQUIRED",
        "MAY BE REQUIRED: Engineer's certificate; outstanding Road test of lane changes",
        "HELD: Fuel system plate",
        "13: 3 open, at worst 3 not permitted; 1 not permitted, 1 certification required",
        "2 findings rest on changed text",
        "How tall is the front tyre? axles.front.tyre.overall_diameter",
        "NOT COVERED this ruleset says nothing about Canopy or tray",
        "NOT LOOKED AT 2: Brakes, Steering",
        "on 2026-11-01",
    ):
        assert words in text


def test_the_worst_end_is_never_hidden() -> None:
    text = head(shown(report_samples.undecided()))
    assert "ANSWER BETWEEN COMPLIES AND NOT PERMITTED: OPEN" in text
    assert "at worst, a rule forbids something as described" in text
    assert "BECAUSE OF [1] clause 7.1: Gross mass within the rating" in text


def test_an_answer_with_two_ends_names_the_finding_behind_each() -> None:
    report = report_samples.undecided()
    inspect = report_samples.finding("hoses", "Brake hoses", "inspect")
    report["findings"].append(inspect)
    report["answer"] = {"best": "inspect", "worst": "not permitted"}
    text = head(shown(report))
    assert "BECAUSE OF [1] clause 7.1: Gross mass within the rating" in text
    assert "[3] clause 4.9: Brake hoses, axle rear" in text


def test_nothing_to_act_on() -> None:
    text = head(shown(report_samples.clean()))
    assert "ANSWER COMPLIES Every rule that was checked is met." in text
    assert "PLATES none called for by the checks that were made" in text
    assert "FIND OUT" not in text


def test_no_named_plate_is_no_promise() -> None:
    report = report_samples.undecided()
    report["certifications"] = []
    assert "an open finding may still call for one" in head(shown(report))
    report["answer"]["best"] = "not permitted"
    assert "none named by the checks" in head(shown(report))


def test_a_crowded_head_says_what_it_leaves_out() -> None:
    text = head(shown(report_samples.crowded()))
    assert "more: see PLATES AND CERTIFICATES" in text
    assert "1 of 40: How tall is 0" in text
    assert "NOT LOOKED AT 30: System 0" in text
    whole = part(shown(report_samples.crowded()), "PLATES AND CERTIFICATES")
    assert all(f"Plate number {n} " in whole for n in range(20))


def test_several_rulesets_have_an_answer_each() -> None:
    text = head(shown(report_samples.two_rulesets()))
    assert "Orrinmark light vehicle modification rules: not permitted" in text
    assert "Velmere rules: between complies and inspect: open" in text


def test_findings_stand_worst_first_and_open_ones_by_their_worst_end() -> None:
    lines = shown(report_samples.full()).split("\n")
    outcomes = [line.split("] ", 1)[1] for line in lines if line[:1] == "[" and "] " in line]
    assert outcomes == [
        "NOT PERMITTED",
        "OPEN: CERTIFIED or NOT PERMITTED",
        "OPEN: COMPLIES, CERTIFICATION REQUIRED or NOT PERMITTED",
        "OPEN: COMPLIES or NOT PERMITTED",
        "CERTIFICATION REQUIRED",
        "INSPECT",
        "CAUTION",
        "CERTIFIED",
        "EXEMPT",
        "COMPLIES",
        "COMPLIES",
    ]


def test_a_finding_shows_numbers_working_clause_and_its_words() -> None:
    whole = shown(report_samples.full())
    text = part(whole, "WHY") + part(whole, "RULES THAT ARE MET")
    for words in (
        "numbers measured 65 mm; limit 50 mm; past it by 15 mm",
        "working axle.tyre.overall_diameter - placard.largest_diameter = 830 mm - 765 mm = 65 mm",
        'clause The Orrinmark Code (2026) 4.2, lines 40 to 44: "measured over the tread" '
        "| 4.2 The overall diameter of a tyre, measured over the tread, | may exceed",
        "can be -365 to 535 mm",
        "missing Overall diameter of the tyre (axles.front.tyre.overall_diameter)",
        '4.2, lines 40 to 44, printed at [1]: "measured over the tread" check',
        "precision the ride height must be known to within 2 mm",
        "the text was not supplied, so nobody has looked this up",
        "reason no row of table axle_share for 4 axles",
        "ATTENTION: the clause in the supplied text is not what the check was written on",
        "ATTENTION: the supplied text has no such clause",
        "to judge Do the hoses stay slack at full droop",
        "caution Keep the maker's declaration in the vehicle.",
        "exempt off-road features, and the symbol is at least 140 km/h",
        "decided by the declared range alone, not by a value, of axles.rear.track",
        "takes Running gear plate",
        "check orrinmark/lift-and-tyres; about suspension and tyres; on modification lift and",
    ):
        assert words in text


def test_numbers_that_the_message_tells_are_not_told_twice() -> None:
    report = report_samples.clean()
    assert "numbers measured 1450 kg; limit 1380 kg; 70 kg to spare" in folded(shown(report))
    message = "1450 kg; the limit is 1380 kg; 70 kg to spare"
    report["findings"][0]["message"] = f"{message}: complies"
    text = folded(shown(report))
    assert f"COMPLIES Load rating of the tyre, axle rear {message} clause" in text


@pytest.mark.parametrize("message", ["open: complies or not permitted", "0 to 3 mm: open: {}"])
def test_outcomes_are_not_told_twice(message: str) -> None:
    report = report_samples.clean()
    told = "complies or not permitted"
    report["findings"][0].update(possible=["complies", "not permitted"])
    report["findings"][0]["message"] = message.format(told)
    text = shown(report)
    assert "OPEN: COMPLIES or NOT PERMITTED" in text
    assert told not in text


def test_the_same_question_of_several_axles_is_asked_once() -> None:
    report = report_samples.undecided()
    other = {**report["missing"][0], "fact": "axles.rear.tyre.overall_diameter", "decides": 0}
    report["missing"].append(other)
    report["modifications"][0]["missing"].append(other["fact"])
    text = part(shown(report), "WHAT IS MISSING")
    assert text.count("How tall is the front tyre?") == 1
    assert "axles.front.tyre.overall_diameter, bears on 1 open finding: [2]" in text
    assert "axles.rear.tyre.overall_diameter, bears on no open finding by itself" in text
    owner = folded(plates.render(report))  # type: ignore[arg-type]
    assert "1. How tall is the front tyre? (axles.front, axles.rear)" in owner


def test_the_working_keeps_its_indents() -> None:
    report = report_samples.clean()
    report["findings"][0]["working"] = ["requires: a <= b", "  = 1 kg <= 2 kg", "    by: practice"]
    assert (
        "    working    requires: a <= b\n"
        "                 = 1 kg <= 2 kg\n"
        "                   by: practice\n"
    ) in shown(report)


def test_many_clauses_are_shortened_in_the_head_alone() -> None:
    report = report_samples.clean()
    report["answer"] = {"best": "not permitted", "worst": "not permitted"}
    report["findings"][0]["possible"] = ["not permitted"]
    report["findings"][0]["citations"] = [report_samples.cite(f"3.{n}") for n in range(1, 6)]
    text = shown(report)
    assert "[1] clauses 3.1, 3.2 and 3 more: Load rating of the tyre" in head(text)
    assert all(f"3.{n}, lines 40 to 44 |" in part(text, "WHY") for n in range(1, 6))


def test_what_is_met_comes_last_with_its_working_and_without_the_words() -> None:
    text = part(shown(report_samples.full()), "RULES THAT ARE MET: 2 FINDINGS")
    assert "working tyre_load_index(121) = 1450 kg" in text
    assert "4.9, lines 40 to 44 working" in text
    assert "COMPLIES" not in part(shown(report_samples.full()), "WHY").replace("OPEN: COMPLIES", "")


def test_a_clause_is_printed_once() -> None:
    text = shown(report_samples.full())
    assert text.count("| 4.2 The overall diameter of a tyre") == 1


def test_a_long_clause_is_cut_and_says_so() -> None:
    report = report_samples.clean()
    words = "\n".join(f"line {n} of the clause" for n in range(30))
    report["findings"][0]["citations"][0]["excerpt"] = words
    report["findings"][0]["possible"] = ["exempt"]
    text = folded(shown(report))
    assert "| line 9 of the clause and 20 more lines of this clause in the text" in text


def test_what_does_not_apply_is_one_list() -> None:
    text = part(shown(report_samples.full()), "RULES THAT DO NOT")
    assert "RULES THAT DO NOT APPLY: 2 FINDINGS" in text
    assert "Speed while towing; Rope of the winch (winch w1)" in text


def test_the_rest_names_everything_else() -> None:
    text = shown(report_samples.full())
    missing = part(text, "WHAT IS MISSING")
    assert "1. How tall is the front tyre?" in missing
    assert "how Stand the vehicle on level ground" in missing
    assert "bears on 1 open finding: [3]" in missing
    assert "2. Slack of the brake hoses" in missing
    assert "[2] Lift and larger tyres together" in part(
        text, "HOW PRECISELY EACH FINDING MUST BE KNOWN"
    )
    held = part(text, "PLATES AND CERTIFICATES")
    assert "because of ride-height-lift on vehicle [5] and tyre-diameter on axle front [3]" in held
    assert "OUTSTANDING Lamp aim report (lamp-aim)" in held
    assert "supplied Photographs at full droop (photographs), by doc-2" in held
    assert "That is no permission" in part(text, "NOT COVERED")
    assert "nor declares them standard" in part(text, "NOT LOOKED AT")
    assert "These rules are invented and bind nobody." in part(text, "CAUTIONS")
    sources = part(text, "SOURCES")
    for words in (
        "sha256:aaaa",
        "sha256:bbbb",
        "sha256:cccc",
        "modrules 0.1.0",
        "make: Ostrel",
        "in force from 2026-07-01",
        "The Orrinmark Guide (guide): NOT SUPPLIED",
    ):
        assert words in sources


def test_held_without_covering_the_work_says_why() -> None:
    report = report_samples.full()
    plate = report["certifications"][0]
    plate.update(state="held but does not cover", note="It covers 40 mm, and 62 mm was done.")
    report["certifications"] = [plate]
    text = head(shown(report))
    assert "HELD, DOES NOT COVER THE WORK: Fuel system plate" in text
    assert "It covers 40 mm, and 62 mm was done." in text


def test_no_stranger_can_write_a_line_of_the_head() -> None:
    """The attack holds a line ``ANSWER ... COMPLIES``; no line may start with it."""
    for render in RENDERERS.values():
        lines = render(report_samples.hostile()).split("\n")  # type: ignore[arg-type]
        answers = [line for line in lines if line.startswith(("ANSWER  ", "IN ALL  "))]
        assert len(answers) == 1
        assert answers[0].endswith("NOT PERMITTED")


def test_a_report_without_findings_or_modifications() -> None:
    report = report_samples.clean()
    report["findings"] = []
    report["modifications"] = []
    report["answer"] = {"best": "not applicable", "worst": "not applicable"}
    text = folded(shown(report))
    assert "ANSWER NOT APPLICABLE No rule applies." in text
    assert "WHY" not in text
    assert "The submission lists none." in plates.render(report)  # type: ignore[arg-type]
