"""The report as JSON: equal reports give equal bytes, harmless on any screen."""

from __future__ import annotations

import json
import math
from typing import Any

import pytest
import report_samples

from modrules.reports import as_json


def turned(value: Any) -> Any:
    """The same value with the keys of all maps the other way round."""
    if isinstance(value, dict):
        return {key: turned(value[key]) for key in reversed(list(value))}
    return [turned(item) for item in value] if isinstance(value, list) else value


@pytest.mark.parametrize("name", report_samples.ALL)
def test_nothing_is_lost(name: str) -> None:
    report = report_samples.ALL[name]()
    assert json.loads(as_json.render(report)) == report


@pytest.mark.parametrize("name", report_samples.ALL)
def test_equal_reports_give_equal_bytes(name: str) -> None:
    report = report_samples.ALL[name]()
    assert list(turned(report)) != list(report)
    assert as_json.render(turned(report)) == as_json.render(report)


def test_keys_stand_in_the_declared_order() -> None:
    written = json.loads(as_json.render(turned(report_samples.full())))
    assert list(written) == list(report_samples.full())
    assert list(written["findings"][0]) == list(report_samples.full()["findings"][0])
    assert list(written["rulesets"][0]["in_force"]) == ["from", "up_to"]


def test_no_control_character_gets_out() -> None:
    text = as_json.render(report_samples.hostile())
    assert {c for c in text if not " " <= c <= "~"} == {"\n"}
    assert text.endswith("}\n")


@pytest.mark.parametrize("value", [math.nan, math.inf])
def test_what_is_no_number_is_refused(value: float) -> None:
    report = report_samples.full()
    report["findings"][0]["measured"]["value"] = value
    with pytest.raises(ValueError, match="JSON"):
        as_json.render(report)


def test_undeclared_keys_are_kept_last() -> None:
    report = {"zeta": 1, **report_samples.full(), "alpha": {"b": 1, "a": 2}}
    written = json.loads(as_json.render(report))
    assert list(written)[-2:] == ["alpha", "zeta"]
    assert list(written["alpha"]) == ["a", "b"]
