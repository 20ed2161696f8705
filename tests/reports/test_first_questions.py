"""Each modification asks its own first questions, in full; nothing is asked at length twice."""

from __future__ import annotations

import datetime
import re
from pathlib import Path
from typing import Any

import pytest
import yaml

import modrules
from modrules.cli import main
from modrules.ruleset.tree import plant
from modrules.screening.entries import unknown_record
from modrules.screening.values import Problems, read_value
from modrules.screening.varying import target_of
from modrules.screening.writing import line_of

PLAN = """\
submission: Planning a lift
standard: [brakes, steering]
vehicle: {off_road_features: yes}
modifications:
  - {id: lift, kind: suspension}
  - {id: larger, kind: tyres}
  - {id: rack, kind: roof_rack}
axles:
  - {id: front, position: front, tyre: {marking: 265/70R17 121/118S}}
  - {id: rear, position: rear, tyre: {marking: 265/70R17 121/118S}}
listed_tyres:
  - {id: placard, marking: 245/70R16 111T}
"""
ON = datetime.date(2026, 11, 1)


@pytest.fixture
def plan(tmp_path: Path) -> Path:
    path = tmp_path / "plan.yaml"
    path.write_text(PLAN, encoding="utf-8")
    return path


def page(path: Path, capsys: pytest.CaptureFixture[str], *more: str) -> str:
    main(["plates", str(path), "--ruleset", "orrinmark", "--on", ON.isoformat(), *more])
    return capsys.readouterr().out


def part(text: str, start: str) -> str:
    """What stands under a heading of the page, as one line."""
    found = re.search(rf"^{re.escape(start)}.*\n-+\n((?:(?!^-{{5}}).*\n)*)", text, re.MULTILINE)
    assert found is not None, start
    return " ".join(found[1].split())


def test_a_lift_without_its_height_asks_for_the_height_first(
    plan: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = page(plan, capsys)
    lift = part(text, "SUSPENSION (LIFT)").partition("Find out first:")[2]
    assert re.match(r" \d+\. How much higher or lower does it stand by this work\?", lift)
    assert "the part maker's figure for this very vehicle" in lift
    assert re.search(
        r"written as ride_height_change: \d+ mm ± \d+ mm \(your own figures\), "
        r"under \{id: lift, \.\.\.\} in modifications",
        lift,
    )
    assert "FIND OUT NEXT  1 of" in text
    assert "How much higher or lower" in text.partition("ANSWER PER")[0]


def test_what_is_told_with_a_modification_is_not_told_at_length_again(
    plan: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = page(plan, capsys)
    question = "How much higher or lower does it stand by this work?"
    assert question not in part(text, "FIND OUT BESIDES")
    buying = part(text, "SETTLE BEFORE BUYING")
    assert (
        f"{question} for Suspension (lift) and Tyres (larger) how told under Suspension (lift)"
        in buying
    )
    assert text.count("Hub centre to wheel arch before and after") == 1
    # What no modification tells says there how it is written.
    assert re.search(r"rack rated for\?.*?written as rating: \d+ kg ± \d", buying)


def test_the_tyres_ask_for_what_their_plate_hangs_on_before_their_age(
    plan: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    tyres = part(page(plan, capsys), "TYRES (LARGER)").partition("Find out first:")[2]
    # No example passes for an answer: dates are told to be one's own too.
    assert re.search(r"written as made: [\d-]+ \(your own figures\), under", tyres)
    assert 0 < tyres.index("How tall is the tyre?") < tyres.index("When was the older tyre")
    assert "under tyre in {id: front, ...} in axles and tyre in {id: rear, ...} in axles" in tyres


def test_the_report_has_the_order_and_how_each_is_written(plan: Path) -> None:
    report = modrules.screen(plan, modrules.load_ruleset("orrinmark", cache=True), on=ON).to_dict()
    asked = {one["fact"]: one for one in report["missing"]}
    first = {one["id"]: asked[one["missing"][0]] for one in report["modifications"]}
    assert first["lift"]["fact"] == "modifications.lift.ride_height_change"
    assert first["lift"]["under"] == "{id: lift, ...} in modifications"
    assert first["rack"]["line"] == "at_maker_points: yes or no"
    assert asked["corners"]["line"].startswith("corners: [{id: ")
    assert asked["corners"]["under"] == ""
    for one in report["modifications"]:
        told = [asked[name] for name in one["missing"]]
        given = [each["given"] for each in told]
        assert given == sorted(given)


def test_answering_as_told_decides_as_much() -> None:
    """The line under its entry is a submission, and the question is not asked again."""
    ruleset = modrules.load_ruleset("orrinmark", cache=True)
    data: Any = yaml.safe_load(PLAN)
    report = modrules.screen(data, ruleset, on=ON).to_dict()
    line = next(one["line"] for one in report["missing"] if one["fact"].endswith("height_change"))
    key, _, value = line.partition(": ")
    data["modifications"][0][key] = value
    after = modrules.screen(data, ruleset, on=ON).to_dict()
    assert "modifications.lift.ride_height_change" not in [
        one["fact"] for one in after["missing"] if not one["given"]
    ]


@pytest.mark.parametrize("name", ["orrinmark", "quillander", "touring"])
def test_every_example_of_every_fact_is_taken_as_it_is_told(name: str) -> None:
    ruleset = modrules.load_ruleset(name, cache=True)
    tried = 0
    for fact in ruleset.typed.names.facts.values():
        if fact.slot == "kind" or fact.id.endswith(".kind"):
            continue
        subject = fact.subject if fact.subject != "modification" else "suspension"
        record = unknown_record(ruleset.typed, ruleset.layout, subject)
        target = target_of(ruleset, record, fact)
        values = line_of(target).partition(": ")[2]
        for value in values.split(" or "):
            tree: Any = plant({"value": value}, "example")
            problems = Problems([], [])
            read_value(tree["value"], fact, target.limits, target.item, fact.id, problems)
            assert not problems.errors, (fact.id, value, problems.errors)
            assert not problems.cautions, (fact.id, value, problems.cautions)
            tried += 1
    assert tried > 300
