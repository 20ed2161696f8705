"""What is on the certifier's sheet, from the submission to the file."""

from __future__ import annotations

import datetime
import re
from html import unescape
from pathlib import Path
from typing import Any, cast

import pytest
from loaded import load_ruleset

import modrules
from modrules.reports import drawing, html, markdown
from modrules.reports.shape import Report

SUBMISSIONS = Path(__file__).parents[2] / "rulesets" / "orrinmark" / "submissions"
DAY = datetime.date(2026, 11, 1)


@pytest.fixture(scope="module")
def ruleset() -> modrules.Ruleset:
    return load_ruleset("orrinmark", on=DAY)


@pytest.fixture(scope="module")
def report(ruleset: modrules.Ruleset) -> Report:
    found = modrules.screen(SUBMISSIONS / "evidence-for-everything.yaml", ruleset, on=DAY)
    return cast("Report", found.to_dict())


@pytest.fixture(scope="module")
def page(report: Report) -> str:
    return html.render(report)


def words(page: str) -> str:
    """The text of a page, as it is read."""
    body = page.partition("<body>")[2]
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", body)).split())


def screened(tree: dict[str, Any], ruleset: modrules.Ruleset) -> Report:
    return cast("Report", modrules.screen(tree, ruleset, on=DAY).to_dict())


def test_the_vehicle_is_identified_and_what_is_not_known_has_room(page: str) -> None:
    text = words(page)
    for said in (
        "Vehicle identification number OQW5L21A004417",
        "Category Light off-road wagon",
        "Distance shown by the odometer 68340 km",
        "Date of building 2021-03-16",
        "First entry in a register 2021-05-04",
        "Number of registration ____",
        "Date of fitting 2026-08-10",
        "Maker of the part Oonwright",
        "Part number OP-1037",
    ):
        assert said in text


def test_the_scope_says_what_was_taken_as_standard_and_what_nobody_looked_at(
    page: str, ruleset: modrules.Ruleset
) -> None:
    said = "Declared standard by the applicant, and taken as that: Wheels, Body blocks"
    assert said in words(page)
    assert "Not looked at" not in words(page)
    found = modrules.screen(SUBMISSIONS / "needs-plates.yaml", ruleset, on=DAY)
    text = words(html.render(cast("Report", found.to_dict())))
    assert "Not looked at, because neither modified nor declared standard: Engine." in text


def test_each_measurement_says_who_when_with_what_and_in_which_condition(page: str) -> None:
    text = words(page)
    said = (
        "Kerb mass (vehicle.kerb_mass) 2508 kg I. Marrowby, 2026-09-12, Weighbridge at Pell Cross"
    )
    assert said in text
    assert "All tanks full, nobody aboard, tools in place (to be: Full tanks and tools" in text
    assert "560 mm ± 2 mm Tolvane Workshop, 2026-08-11, Steel tape" in text


def test_how_a_value_was_measured_is_kept_and_decides_nothing(ruleset: modrules.Ruleset) -> None:
    bare: dict[str, Any] = {
        "modifications": [
            {"id": "lift", "kind": "suspension", "ride_height_change": "47 mm ± 2 mm"}
        ]
    }
    told: dict[str, Any] = {
        "modifications": [
            {
                "id": "lift",
                "kind": "suspension",
                "ride_height_change": {
                    "value": "47 mm",
                    "tolerance": "2 mm",
                    "by": "A",
                    "note": "B",
                },
            }
        ]
    }
    one, other = screened(bare, ruleset), screened(told, ruleset)
    assert one["findings"] == other["findings"]
    assert [m["by"] for m in one["measurements"]] == [""]
    (kept,) = other["measurements"]
    assert kept["fact"] == "modifications.lift.ride_height_change"
    assert (kept["value"], kept["by"], kept["note"]) == ("47 mm ± 2 mm", "A", "B")
    assert kept["quantity"] == {"value": None, "unit": "mm", "low": 45, "high": 49}


def test_each_rating_has_its_source_or_says_that_it_has_none(page: str) -> None:
    text = words(page)
    assert "(ratings.gross_mass) 3050 kg Maker's build plate OQ-58213" in text
    assert (
        "(plates.mass-plate.gross_mass) 3300 kg plate mass-plate: mass, engineer, number OM-0417, "
        "2026-08-19" in text
    )
    # The same value stands on the maker's plate.
    assert "(ratings.combination_mass) 6000 kg plate build: build, vehicle maker" in text
    assert "(ratings.coupling_load) 300 kg NOT STATED" in text


def test_masses_are_drawn_against_the_lowest_limit_in_force(report: Report) -> None:
    drawn = {one.title: one for one in drawing.stacks(report)}
    gross = drawn["Gross mass"]
    assert [value for _, value in gross.parts] == [2180, 328, 466]
    assert gross.limits[gross.counts] == ("plate of the upgrade", 3300)
    assert not gross.bound
    assert "2974 kg in all" in gross.words
    assert "is the lowest in force: 326 kg left" in gross.words
    assert "maker's plate, replaced 3050 kg" in gross.words
    rear = drawn["Load on the axle, axle rear"]
    assert rear.limits[rear.counts] == ("plate of the upgrade", 1900)
    assert ("load index on the tyre", 2900) in rear.limits


def test_an_axle_of_any_name_is_drawn(ruleset: modrules.Ruleset) -> None:
    axle = {"id": "second", "position": "rear", "load": "1500 kg", "rating": "1600 kg"}
    tree = {"axles": [axle], "plates": [], "trailer": {"towed": "no"}, "modifications": []}
    found = screened(tree, ruleset)
    (drawn,) = drawing.stacks(found)
    assert drawn.title == "Load on the axle, axle second"
    assert "100 kg left" in drawn.words


def test_an_overload_is_drawn_past_the_limit_and_said(ruleset: modrules.Ruleset) -> None:
    tree = {
        "vehicle": {"mass_in_use": "3100 kg ± 20 kg", "kerb_mass": "2500 kg"},
        "ratings": {"gross_mass": "3050 kg"},
        "trailer": {"towed": "no"},
        "modifications": [],
    }
    found = screened(tree, ruleset)
    (gross,) = drawing.stacks(found)
    # Known within a tolerance: the worse end is drawn.
    assert "3120 kg in all" in gross.words
    assert "70 kg OVER" in gross.words
    assert "70 kg OVER" in words(html.render(found))


def test_nothing_is_drawn_of_what_is_not_known(ruleset: modrules.Ruleset) -> None:
    found = screened({"vehicle": {"mass_in_use": "3100 kg"}, "modifications": []}, ruleset)
    assert list(drawing.stacks(found)) == []
    assert list(drawing.wheels(found)) == []


def test_wheels_and_arches_are_drawn_to_one_scale(report: Report, page: str) -> None:
    front = next(iter(drawing.wheels(report)))
    before, now = front.states
    assert (before.diameter, now.diameter) == (776, 812)
    assert (before.arch, now.arch) == (776 / 2 + 520, 812 / 2 + 562)
    radii = re.findall(r'<circle cx="[\d.]+" cy="[\d.]+" r="([\d.]+)" fill="none"', page)[:2]
    assert float(radii[1]) / float(radii[0]) == pytest.approx(812 / 776, abs=0.002)


def test_what_a_lift_bears_on_is_to_be_looked_at(page: str) -> None:
    part = words(page).partition("For the inspection and the road test")[2]
    for thing in ("Driveshafts", "Brake hoses", "Caster", "Bump stops", "Lamp aim", "Lane change"):
        assert thing in part
    assert "☐ yes ☐ no" in part


def test_a_look_that_two_changes_ask_for_is_asked_once(ruleset: modrules.Ruleset) -> None:
    both = [{"id": name, "kind": "suspension"} for name in ("one", "two")]
    text = words(html.render(screened({"modifications": both}, ruleset)))
    assert text.count("Driveshafts: angle at full droop") == 1
    assert "no plunge used up one and two ☐ yes ☐ no" in text


def test_what_a_certifier_judges_has_room_for_the_answer(ruleset: modrules.Ruleset) -> None:
    found = modrules.screen(SUBMISSIONS / "incomplete.yaml", ruleset, on=DAY)
    text = words(html.render(cast("Report", found.to_dict())))
    part = text.partition("To be judged")[2]
    for question in {f.question for f in found.findings if f.question}:
        assert " ".join(question.split()) in part
    for room in ("Judgement, with reasons", "Name and number", "Date and signature"):
        assert room in text


def test_documents_say_what_is_wrong_with_them(ruleset: modrules.Ruleset) -> None:
    tree = {
        "modifications": [{"id": "lift", "kind": "suspension"}],
        "evidence": [
            {
                "id": "claim",
                "title": "Leaflet",
                "kind": "seller_claim",
                "certification": "running-gear",
                "issued": "2026-01-01",
            }
        ],
    }
    found = screened(tree, ruleset)
    for text in (words(html.render(found)), markdown.render(found)):
        assert "A seller's claim is no declaration and no certificate" in text
        assert "FOR NOTHING" in text


def test_the_words_of_a_clause_are_printed_once(report: Report, page: str) -> None:
    printed = re.findall(r"<blockquote>(.*?)</blockquote>", page, re.DOTALL)
    clauses = {
        (c["clause"], c["excerpt"])
        for f in report["findings"]
        if f["possible"] != ["not applicable"]
        for c in f["citations"]
        if c["excerpt"]
    }
    assert len(printed) == len(clauses)


def test_outcomes_have_a_shape_each() -> None:
    assert len(set(html.SHAPE.values())) == len(html.SHAPE)


def test_it_says_that_it_is_a_desk_screening_and_no_certificate(page: str) -> None:
    text = words(page)
    assert text.startswith("Desk screening:")
    assert text.count("A screening aid, no certificate") >= 2


def test_a_ruleset_without_the_table_gives_no_list(tmp_path: Path) -> None:
    (tmp_path / "ruleset.yaml").write_text(
        "ruleset: bare\ntitle: Bare\nedition: '1'\nin_force: {from: 2020-01-01}\n"
        "subjects: [{id: vehicle, title: V}]\nkinds: [{id: lift, title: Lift}]\n",
        encoding="utf-8",
    )
    bare = modrules.load_ruleset(tmp_path)
    found = screened({"modifications": [{"id": "a", "kind": "lift"}]}, bare)
    assert found["modifications"][0]["look_at"] == []
    assert "For the inspection" not in words(html.render(found))
