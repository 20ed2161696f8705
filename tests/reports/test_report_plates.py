"""The owner's page: per modification, together, what is missing."""

from __future__ import annotations

from typing import Any

import report_samples
from test_report_terminal import folded, head, part

from modrules.reports import plates


def shown(report: Any) -> str:
    return plates.render(report)


def test_the_head_has_every_modification_under_its_answer() -> None:
    text = head(shown(report_samples.full()))
    for words in (
        "IN ALL NOT PERMITTED",
        "NOT PERMITTED 1: Tyres OPEN 1, plate to not permitted: Suspension",
        "NOT COVERED 1: Canopy or tray CAUTION 1: Front bar CERTIFIED 1: Fuel tank",
        "TOGETHER OPEN (certified to not permitted)",
        "REQUIRED: Running gear plate; outstanding Wheel alignment report after the work; Lamp",
        "FIND OUT NEXT 1 of 2: How tall is the front tyre?",
        "NOT LOOKED AT 2: Brakes, Steering",
    ):
        assert words in text


def test_the_table_says_what_each_takes() -> None:
    text = part(shown(report_samples.full()), "ANSWER PER MODIFICATION")
    for words in (
        "Tyres NOT PERMITTED Running gear plate, perhaps Engineer's certificate",
        "Suspension (lift) OPEN plate to not permitted",
        "Front bar (bar) CAUTION",
        "Fuel tank (tank) CERTIFIED Fuel system plate",
        "Canopy or tray (canopy) NOT COVERED this ruleset says nothing",
        "together, and the vehicle OPEN certified to not permitted",
    ):
        assert words in text


def test_a_plate_says_which_and_what_it_takes() -> None:
    report = report_samples.full()
    report["modifications"][1]["answer"] = {
        "best": "certification required",
        "worst": "certification required",
    }
    text = part(shown(report), "SUSPENSION (LIFT)")
    assert "SUSPENSION (LIFT): PLATE" in text
    assert "It needs a plate or certificate that is not held yet." in text
    assert "Running gear plate: required need Wheel alignment report after the work" in text
    assert "have Photographs at full droop" in text
    assert "Engineer's certificate: may be required need Road test of lane changes" in text


def test_open_says_what_to_measure_and_how_precisely() -> None:
    text = shown(report_samples.full())
    tyres = part(text, "TYRES: NOT PERMITTED")
    assert "1. How tall is the front tyre?" in tyres
    assert "To find out (how to measure it: under the same number below)" in tyres
    together = part(text, "TOGETHER")
    assert "precision the ride height must be known to within 2 mm" in together
    assert "by lift, tyres" in together
    assert "Gross mass within the rating" in together
    assert "how Stand the vehicle on level ground" in part(text, "WHAT IS MISSING")


def test_judgement_caution_and_silence() -> None:
    text = shown(report_samples.full())
    assert "to judge Do the hoses stay slack" in part(text, "SUSPENSION (LIFT): OPEN")
    assert "caution Keep the maker's declaration" in part(text, "FRONT BAR (BAR): CAUTION")
    silent = part(text, "CANOPY OR TRAY (CANOPY): NOT COVERED")
    assert "This ruleset says nothing about it. That is no permission" in silent


def test_no_plate_is_said_of_nothing_open_or_uncovered() -> None:
    report = report_samples.full()
    for one in report["modifications"]:
        if one["covered"]:
            one["answer"] = {"best": "complies", "worst": "not permitted"}
    assert "no plate" not in folded(shown(report)).lower()


def test_what_is_met_is_only_counted() -> None:
    text = part(shown(report_samples.full()), "TYRES: NOT PERMITTED")
    assert "Met: 2 other checks on it." in text
    assert "Load rating of the tyre" not in text
    alone = part(shown(report_samples.clean()), "TYRES: NO PLATE")
    assert "It needs no plate under this ruleset. Met: 1 check on it." in alone


def test_findings_that_differ_in_their_subject_alone_are_told_together() -> None:
    report = report_samples.full()
    rear = next(f for f in report["findings"] if f["possible"] == ["not permitted"])
    report["findings"].append({**rear, "subject": "axle front"})
    text = part(shown(report), "TYRES: NOT PERMITTED")
    words = "[1] [2] NOT PERMITTED Overall diameter against the placard, axle rear and axle front"
    assert words in text
    report["findings"][-1]["message"] = "another"
    assert words not in folded(shown(report))


def test_a_finding_on_several_is_told_once() -> None:
    text = shown(report_samples.full())
    assert text.count("The two together raise the vehicle by 77 mm") == 1
    assert folded(text).count("Lift and larger tyres together, told below") == 2


def test_many_modifications_leave_room_for_the_vehicle_and_the_plates() -> None:
    text = head(shown(report_samples.crowded()))
    assert "NOT PERMITTED 9: Tyres; Tyres; Tyres" in text
    assert "TOGETHER OPEN" in text
    assert "PLATES REQUIRED: Plate number 0" in text
    assert "more: see PLATES AND CERTIFICATES" in text


def test_several_rulesets_are_said_to_be_several() -> None:
    text = folded(shown(report_samples.two_rulesets()))
    assert "It needs no plate under these rulesets; heed the caution." in text
    assert "None of these rulesets says anything about it." in text
