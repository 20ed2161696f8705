"""A plate is worth no more than its paper: expired, foreign or outgrown, it counts for nothing."""

from __future__ import annotations

import copy
import datetime
import json
from typing import Any

import pytest
import yaml

import modrules
from modrules.cli import main

ON = datetime.date(2026, 11, 1)
SUBMISSION: dict[str, Any] = yaml.safe_load("""\
submission: Heavier than as built
vehicle: {mass_in_use: 3100 kg, identification_number: OQW-4417}
ratings: {gross_mass: 3000 kg}
modifications:
  - {id: up, kind: mass_upgrade}
  - {id: lift, kind: suspension, ride_height_change: 40 mm}
plates:
  - {id: p, plate_kind: mass, number: OM-1, gross_mass: 3200 kg, conditions_kept: yes,
     issued: 2022-05-04}
evidence:
  - {id: paper, certification: mass-plate, number: om 1, issued: 2022-05-04,
     covers: {modifications: [up]}}
""")


def submission(
    paper: dict[str, Any] | None = None, plate: dict[str, Any] | None = None
) -> dict[str, Any]:
    tree = copy.deepcopy(SUBMISSION)
    for entry, more in ((tree["evidence"][0], paper), (tree["plates"][0], plate)):
        entry.update(more or {})
        for key in [key for key, value in entry.items() if value is None]:
            del entry[key]
    return tree


def screened(tree: dict[str, Any], ruleset: str = "orrinmark") -> dict[str, Any]:
    return modrules.screen(tree, modrules.load_ruleset(ruleset, cache=True), on=ON).to_dict()


def outcome(tree: dict[str, Any], ruleset: str = "orrinmark") -> list[str]:
    (found,) = [f for f in screened(tree, ruleset)["findings"] if f["check"] == "gross-mass"]
    return list(found["possible"])


def up_to(lift: str) -> dict[str, Any]:
    """A paper that covers a lift up to a height."""
    return {"covers": {"modifications": ["lift"], "up_to": {"suspension.ride_height_change": lift}}}


@pytest.mark.parametrize(
    ("paper", "plate", "possible"),
    [
        ({"expires": "2026-11-01"}, {}, ["complies"]),
        ({"expires": "2026-10-31"}, {}, ["not permitted"]),
        ({"expires": "2026"}, {}, ["complies", "not permitted"]),
        ({"issued": "2026-11-02"}, {}, ["not permitted"]),
        ({"number": "OM-2", "expires": "2026-10-31"}, {}, ["complies"]),
        # Of the two one bears no number: perhaps they are the same.
        ({"number": None, "expires": "2026-10-31"}, {}, ["complies", "not permitted"]),
        ({"expires": "2026-10-31"}, {"number": None}, ["complies", "not permitted"]),
        ({"expires": "2026-11-01"}, {"number": None}, ["complies"]),
        # It is for another vehicle, or covers less than was done.
        ({"covers": {"vehicle": "OQW-9"}}, {}, ["not permitted"]),
        (up_to("39 mm"), {}, ["not permitted"]),
        (up_to("40 mm"), {}, ["complies"]),
        # What the submission says of the paper itself.
        ({}, {"paper_in_force": "no"}, ["not permitted"]),
        ({"expires": "2026-10-31"}, {"paper_in_force": "yes"}, ["not permitted"]),
        ({"number": None, "expires": "2026-10-31"}, {"paper_in_force": "yes"}, ["complies"]),
        # A seller's claim is no paper of a plate, and takes nothing away.
        ({"kind": "seller_claim", "expires": "2026-10-31"}, {}, ["complies"]),
    ],
)
def test_a_rating_counts_only_while_its_paper_does(
    paper: dict[str, Any], plate: dict[str, Any], possible: list[str]
) -> None:
    assert outcome(submission(paper, plate)) == possible


def test_an_item_of_evidence_with_the_number_of_the_plate_is_its_paper_too() -> None:
    tree = submission()
    tree["evidence"][0].update(document="brake-report", expires="2026-10-31")
    del tree["evidence"][0]["certification"]
    item = screened(submission())["certifications"][0]["evidence"][0]["document"]
    tree["evidence"][0]["document"] = item
    assert outcome(tree) == ["not permitted"]
    del tree["evidence"][0]["number"]
    assert outcome(tree) == ["complies"]


def test_a_paper_that_was_renewed_under_its_number_holds() -> None:
    tree = submission({"expires": "2024-05-04"})
    tree["evidence"].append({**tree["evidence"][0], "id": "renewed", "expires": "2028-05-04"})
    assert outcome(tree) == ["complies"]
    tree["evidence"].reverse()
    assert outcome(tree) == ["complies"]


def test_the_answer_says_which_paper_speaks_against_the_plate() -> None:
    expired = screened(submission({"expires": "2026-10-31"}))
    assert any(said.startswith("Plate p is the paper paper,") for said in expired["cautions"])
    unknown = screened(submission({"number": None, "expires": "2026-10-31"}))
    assert any("write the number of both" in said for said in unknown["cautions"])
    (asked,) = [f for f in unknown["findings"] if f["check"] == "gross-mass"]
    assert "plates.p.paper_in_force" in asked["missing"]
    gross = {
        limit["limit"]: limit
        for load in expired["loads"]
        if load["load"] == "gross-mass"
        for limit in load["limits"]
    }
    assert list(gross) == ["maker"]


def test_a_paper_for_another_place_of_the_same_screening_speaks_against_the_plate_too() -> None:
    tree = submission({"certification": "second-stage-certificate", "expires": "2026-10-31"})
    rulesets = [modrules.load_ruleset(name, cache=True) for name in ("orrinmark", "quillander")]
    report = modrules.screen(tree, rulesets, on=ON).to_dict()
    (gross,) = [f for f in report["findings"] if f["check"] == "orrinmark/gross-mass"]
    assert gross["possible"] == ["not permitted"]


def test_what_varies_takes_the_paper_with_it(
    tmp_path: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    """A lift past what the paper covers takes the rating away, just where the paper says."""
    covers = {"modifications": ["up", "lift"], "up_to": {"suspension.ride_height_change": "45 mm"}}
    path = tmp_path / "heavy.yaml"
    path.write_text(yaml.safe_dump(submission({"covers": covers})), encoding="utf-8")
    asked = ["limits", str(path), "--ruleset", "orrinmark", "--on", ON.isoformat()]
    main([*asked, "--vary", "modifications.lift.ride_height_change", "--format", "json"])
    findings = json.loads(capsys.readouterr().out)["findings"]
    (gross,) = [f for f in findings if f["check"] == "gross-mass"]
    turns = [(s["to"]["exact"], s["to"]["closed"], s["worst"]) for s in gross["stretches"]]
    assert turns == [("45", True, "complies"), ("400", True, "not permitted")]
