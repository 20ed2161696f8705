"""What a document counts for, and what is said of it."""

from __future__ import annotations

from typing import Any

import pytest
from small_ruleset import LIFT, PLATE, VEHICLE, changed, screened

import modrules

BOTH = ("certified", "certification required")
REQUIRED, HELD = ("certification required",), ("certified",)


def of(report: modrules.Report) -> tuple[tuple[str, ...], list[str]]:
    """The outcome of the lift, and what is wrong with the one document."""
    (finding,) = report.findings
    (document,) = report.to_dict()["documents"]
    return finding.possible, document["problems"]


def without(base: dict[str, Any], key: str) -> dict[str, Any]:
    return {name: value for name, value in base.items() if name != key}


def test_a_plate_that_covers_all_is_held_and_nothing_is_wrong_with_it() -> None:
    report = screened(PLATE)
    assert of(report) == (HELD, [])
    (document,) = report.to_dict()["documents"]
    assert document["used_for"] == ["Lift plate"]
    assert document["covers"] == ["modification lift", "vehicle FH55A"]
    assert document["issued"] == "2026-05-01"


@pytest.mark.parametrize(
    ("plate", "outcome", "said"),
    [
        (changed(PLATE, expires="2026-10-31"), REQUIRED, "It expired on 2026-10-31."),
        (
            changed(PLATE, expires="2026-11"),
            HELD,
            None,
        ),
        (
            changed(PLATE, expires="2026"),
            BOTH,
            "It may have expired: the date is stated only as 2026-01-01 to 2026-12-31.",
        ),
        (
            changed(PLATE, issued="2026-12-01"),
            REQUIRED,
            "It is not yet valid: it is dated 2026-12-01.",
        ),
        (changed(PLATE, "issued"), REQUIRED, "It has no date of issue."),
        (
            changed(PLATE, covers_vehicle="ZZ-1"),
            REQUIRED,
            'It is for vehicle "ZZ-1", and that of this vehicle is "FH 55 A".',
        ),
        (
            changed(PLATE, covers_vehicle="unknown"),
            REQUIRED,
            'It is for vehicle "unknown", and that of this vehicle is "FH 55 A".',
        ),
        (
            changed(PLATE, covers_variant=["Short", "Wide"]),
            REQUIRED,
            'It is for variant "Short" and "Wide", and that of this vehicle is "Long".',
        ),
        (changed(PLATE, covers_variant=["Short", "long"]), HELD, None),
        (
            changed(PLATE, covers_part="OS-41"),
            REQUIRED,
            'It is for part "OS-41", and that of modification lift is "OS-40".',
        ),
        (changed(PLATE, covers_part="os-40"), HELD, None),
        (
            changed(PLATE, issued="2026-06-02"),
            REQUIRED,
            "Lift plate must be approved before the work, and it is dated after it: 2026-06-02, "
            "with modification lift fitted on 2026-06-01.",
        ),
        (changed(PLATE, issued="2026-06-01"), HELD, None),
        (
            changed(PLATE, issued="2026-06"),
            BOTH,
            "Lift plate must be approved before the work, and it may be dated after it: 2026-06-01 "
            "to 2026-06-30, with modification lift fitted on 2026-06-01.",
        ),
        (
            changed(PLATE, covers_up_to={"suspension.ride_height_change": "30 mm"}),
            REQUIRED,
            "It covers change of ride height at the suspension up to 30 mm; on lift it is 40 mm.",
        ),
        (changed(PLATE, covers_up_to={"suspension.ride_height_change": "40 mm"}), HELD, None),
        (
            changed(PLATE, covers_modifications=[]),
            REQUIRED,
            "It does not cover modification lift, as Lift plate would have to.",
        ),
        (
            changed(PLATE, kind="seller_claim"),
            REQUIRED,
            "A seller's claim is no declaration and no certificate; it counts for nothing.",
        ),
        (
            changed(PLATE, kind="photograph"),
            REQUIRED,
            "A photograph is not the plate or certificate itself.",
        ),
        (changed(PLATE, certification="full"), HELD, None),
    ],
)
def test_what_is_wrong_is_found_and_said(
    plate: dict[str, Any], outcome: tuple[str, ...], said: str | None
) -> None:
    found, problems = of(screened(plate))
    assert found == outcome
    assert (said in problems) if said is not None else (problems == [])


def test_a_plate_that_names_no_vehicle_counts_as_open() -> None:
    plate = {**PLATE, "covers": {"modifications": ["lift"]}}
    for vehicle in (VEHICLE, {}):
        report = screened(plate, vehicle=vehicle)
        outcome, said = of(report)
        assert outcome == BOTH
        assert said == [
            "It names no vehicle and may be for another; have the vehicle's number stated on it."
        ]
        assert report.findings[0].reason == "Plate 7 names no vehicle and may be for another"
        (asked,) = report.to_dict()["certifications"]
        assert asked["state"] == "open"
        assert "names no vehicle" in asked["note"]


def test_an_unknown_vehicle_number_never_makes_it_covered() -> None:
    outcome, said = of(screened(PLATE, vehicle={"variant": "Long"}))
    assert outcome == BOTH
    assert said == ['It is for vehicle "FH55A", and that of this vehicle is not known.']
    both_unknown = changed(PLATE, covers_vehicle="unknown")
    outcome, _ = of(screened(both_unknown, vehicle={"identification_number": "unknown"}))
    assert outcome == REQUIRED


@pytest.mark.parametrize(
    ("vehicle", "lift", "plate", "address"),
    [
        ({}, LIFT, PLATE, "vehicle.identification_number"),
        (
            VEHICLE,
            without(LIFT, "part_number"),
            changed(PLATE, covers_part="OS-40"),
            "modifications.lift.part_number",
        ),
        (VEHICLE, without(LIFT, "fitted"), PLATE, "modifications.lift.fitted"),
    ],
)
def test_the_fact_on_which_a_document_hangs_is_asked_for(
    vehicle: dict[str, Any], lift: dict[str, Any], plate: dict[str, Any], address: str
) -> None:
    report = screened(plate, vehicle=vehicle, lift=lift)
    (finding,) = report.findings
    assert finding.possible == BOTH
    assert finding.missing == (address,)
    assert [one["fact"] for one in report.to_dict()["missing"]] == [address]


def test_a_claim_is_no_declaration_but_a_declaration_is() -> None:
    paper = {
        "id": "d",
        "document": "spring-declaration",
        "issued": "2026-05-01",
        "covers": {"modifications": ["lift"], "vehicle": "FH55A"},
    }
    for kind, supplied in (("declaration", True), ("seller_claim", False), ("document", True)):
        report = screened({**paper, "kind": kind}).to_dict()
        (plate,) = report["certifications"]
        assert plate["evidence"][0]["supplied"] is supplied
        assert bool(report["documents"][0]["used_for"]) is supplied
        assert bool(report["documents"][0]["problems"]) is not supplied


def test_what_nothing_asks_for_is_said() -> None:
    leak = {"id": "leak", "document": "leak", "issued": "2026-05-01"}
    _, said = of(screened(leak))
    assert said == ["No check of this screening asks for it."]


def test_the_note_of_the_certification_says_why() -> None:
    report = screened(changed(PLATE, expires="2026-10-31", covers_vehicle="ZZ-1")).to_dict()
    (plate,) = report["certifications"]
    assert plate["state"] == "held but does not cover"
    assert plate["note"] == (
        "Plate 7: It expired on 2026-10-31. "
        'It is for vehicle "ZZ-1", and that of this vehicle is "FH 55 A".'
    )


@pytest.mark.parametrize(
    ("document", "said"),
    [
        ({**PLATE, "kind": "claim"}, '"claim" is no kind of document'),
        (changed(PLATE, covers_vehicle={"a": "b"}), "vehicle is one name or a list of names"),
        (changed(PLATE, covers_vehicles="A"), 'a document covers no "vehicles"'),
    ],
)
def test_bad_documents_are_refused(document: dict[str, Any], said: str) -> None:
    with pytest.raises(modrules.ModrulesError, match=said):
        screened(document)


@pytest.mark.parametrize(
    ("key", "value", "said"),
    [
        ("expires", ["2026-01-01"], "expires of a document is one value"),
        ("expires", {"on": "2026-01-01"}, "expires of a document is one value"),
        ("expires", None, "expires is left blank"),
        ("kind", ["seller_claim"], "kind of a document is one value"),
        ("certification", ["lift-plate"], "certification of a document is one value"),
        ("number", {"a": "b"}, "number of a document is one value"),
    ],
)
def test_nothing_that_a_document_says_is_passed_over(key: str, value: Any, said: str) -> None:
    with pytest.raises(modrules.ModrulesError) as caught:
        screened({**PLATE, key: value})
    assert any(said in problem.message for problem in caught.value.problems)
