"""The schema of the report is current, strict, and fits the samples."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import report_samples
from jsonschema import Draft202012Validator

from modrules.reports.schema import report_schema, schema_text
from modrules.reports.shape import OUTCOMES, RANK

FILE = Path(__file__).parents[2] / "schemas" / "report.schema.json"
VALIDATOR = Draft202012Validator(report_schema())


def problems(report: dict) -> list[str]:
    return [error.json_path for error in VALIDATOR.iter_errors(report)]


def test_the_file_is_current() -> None:
    hint = "run: python -m modrules.reports.schema > schemas/report.schema.json"
    assert FILE.read_text(encoding="utf-8") == schema_text(), hint


def test_the_schema_is_a_schema() -> None:
    Draft202012Validator.check_schema(report_schema())


def test_every_object_is_closed() -> None:
    schema = report_schema()
    open_ones = [
        name for name, part in schema["$defs"].items() if part.get("additionalProperties", 1)
    ]
    assert open_ones == []
    assert schema["additionalProperties"] is False


@pytest.mark.parametrize("name", report_samples.ALL)
def test_samples_fit(name: str) -> None:
    assert problems(report_samples.ALL[name]()) == []


def test_the_samples_show_every_outcome_state_and_status() -> None:
    report = report_samples.full()
    seen = {outcome for finding in report["findings"] for outcome in finding["possible"]}
    assert seen == set(OUTCOMES)
    assert {c["state"] for c in report["certifications"]} == {"required", "open", "held"}
    assert any(len(finding["possible"]) > 1 for finding in report["findings"])


def test_the_order_of_outcomes() -> None:
    assert OUTCOMES[0] == "not applicable"
    assert OUTCOMES[-1] == "not permitted"
    assert RANK["caution"] < RANK["inspect"] < RANK["certification required"]


def test_unknown_keys_words_and_missing_keys_are_refused() -> None:
    report = report_samples.full()
    report["findings"][0]["colour"] = "green"
    report["findings"][1]["possible"] = ["fine"]
    report["findings"][2]["possible"] = []
    report["findings"][3]["citations"][0]["status"] = "probably"
    report["findings"][4]["citations"][0]["lines"] = [1, 2, 3]
    report["certifications"][0]["state"] = "lost"
    report["on"] = "1 November"
    report["missing"][0]["decides"] = -1
    del report["findings"][5]["margin"]
    assert sorted(problems(report)) == [
        "$.certifications[0].state",
        "$.findings[0]",
        "$.findings[1].possible[0]",
        "$.findings[2].possible",
        "$.findings[3].citations[0].status",
        "$.findings[4].citations[0].lines",
        "$.findings[5]",
        "$.missing[0].decides",
        "$.on",
    ]


def test_a_quantity_may_leave_out_its_ends_but_not_its_value() -> None:
    report = report_samples.full()
    report["findings"][0]["measured"] = {"unit": "mm"}
    report["findings"][1]["measured"] = {"value": 3.5, "unit": ""}
    assert problems(report) == ["$.findings[0].measured"]
    assert json.loads(schema_text())["$defs"]["Quantity"]["required"] == ["value", "unit"]


def test_every_key_says_what_it_is() -> None:
    schema = report_schema()
    parts = {"report": schema, **schema["$defs"]}
    silent = [
        f"{name}.{key}"
        for name, part in parts.items()
        for key, value in part["properties"].items()
        if len(value.get("description", "").split()) < 2
    ]
    assert silent == []
    assert sum(len(part["properties"]) for part in parts.values()) > 150
