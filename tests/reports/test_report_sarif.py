"""The report as SARIF: kinds and levels, rules with help, places in the submission."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
import report_samples

from modrules.problems import ModrulesError
from modrules.reports import sarif
from modrules.reports.places import Spot, addresses_of, places_in

SUBMISSION = """\
submission: Touring build
axles:
  - id: front
  - id: rear
    tyre: {marking: 265/70R17}
modifications:
  - id: lift
    kind: suspension
  - id: tyres
    kind: tyres
"""


def run(report: Any, uri: str = "", places: Any = None) -> dict[str, Any]:
    log = json.loads(sarif.render(report, uri, places))
    assert log["version"] == "2.1.0"
    (only,) = log["runs"]
    assert isinstance(only, dict)
    return only


@pytest.fixture
def places(tmp_path: Path) -> dict[str, Spot]:
    file = tmp_path / "build.yaml"
    file.write_text(SUBMISSION)
    return places_in(file)


def test_outcomes_become_kinds_and_levels() -> None:
    report = report_samples.full()
    results = run(report)["results"]
    found = {
        (finding["possible"][0] if len(finding["possible"]) == 1 else "open"):
        (result["kind"], result["level"])
        for finding, result in zip(report["findings"], results, strict=True)
    }  # fmt: skip
    assert found == {
        "not applicable": ("notApplicable", "none"),
        "complies": ("pass", "none"),
        "exempt": ("pass", "none"),
        "certified": ("pass", "none"),
        "caution": ("informational", "none"),
        "inspect": ("review", "none"),
        "certification required": ("fail", "warning"),
        "not permitted": ("fail", "error"),
        "open": ("open", "none"),
    }


def test_an_open_result_tells_its_worst_end() -> None:
    report = report_samples.undecided()
    result = run(report)["results"][-1]
    assert result["properties"]["possible"] == ["complies", "certification required"]
    assert result["message"]["text"].startswith("OPEN: COMPLIES or CERTIFICATION REQUIRED: ")
    assert 0 < result["rank"] < 100


def test_one_rule_per_check_with_its_clauses_as_help() -> None:
    made = run(report_samples.full())
    rules = made["tool"]["driver"]["rules"]
    names = [rule["id"] for rule in rules]
    assert len(names) == len(set(names)) == 12
    for result in made["results"]:
        assert names[result["ruleIndex"]] == result["ruleId"]
    diameter = rules[names.index("orrinmark/tyre-diameter")]
    assert 'clause 4.2, lines 40 to 44: "measured over the tread"' in diameter["help"]["text"]
    assert "no certificate" in diameter["help"]["text"]


def test_places_of_a_submission(places: dict[str, Spot]) -> None:
    assert places["submission"] == Spot(1, 1)
    assert places["axles.rear"] == Spot(4, 5)
    assert places["axles.rear.tyre.marking"] == Spot(5, 12)
    assert places["modifications.tyres"] == Spot(9, 5)


def test_an_unreadable_submission_is_a_problem(tmp_path: Path) -> None:
    with pytest.raises(ModrulesError):
        places_in(tmp_path / "none.yaml")


def test_results_stand_at_modifications_and_subjects(places: dict[str, Spot]) -> None:
    finding: Any = report_samples.finding
    both = finding("a", "A", "complies", modifications=["tyres", "lift"], subject="vehicle")
    assert addresses_of(both, places) == ["modifications.lift", "modifications.tyres"]
    pair = finding("a", "A", "complies", modifications=[], subject="axle front+rear")
    assert addresses_of(pair, places) == ["axles.front", "axles.rear"]
    gone = finding("a", "A", "complies", modifications=["gone"], subject="")
    assert addresses_of(gone, places) == []


def test_locations(places: dict[str, Spot]) -> None:
    report = report_samples.full()
    result = run(report, "build.yaml", places)["results"][1]
    assert result["locations"] == [
        {
            "physicalLocation": {
                "artifactLocation": {"uri": "build.yaml"},
                "region": {"startLine": line, "startColumn": 5},
            },
            "logicalLocations": [{"fullyQualifiedName": address}],
        }
        for line, address in ((4, "axles.rear"), (9, "modifications.tyres"))
    ]
    bare = run(report, "build.yaml")["results"][1]["locations"]
    assert bare == [
        {
            "physicalLocation": {"artifactLocation": {"uri": "build.yaml"}},
            "logicalLocations": [{"fullyQualifiedName": "axle rear"}],
        }
    ]


def test_what_was_not_looked_at_goes_along() -> None:
    properties = run(report_samples.full())["properties"]
    assert properties["notLookedAt"] == ["brakes", "steering"]
    assert properties["notCovered"] == ["canopy"]
    assert properties["answer"] == "not permitted"


@pytest.mark.parametrize("name", report_samples.ALL)
def test_it_is_plain_text_and_the_same_again(name: str) -> None:
    text = sarif.render(report_samples.ALL[name]())  # type: ignore[arg-type]
    assert text == sarif.render(report_samples.ALL[name]())  # type: ignore[arg-type]
    assert {c for c in text if not " " <= c <= "~"} == {"\n"}
