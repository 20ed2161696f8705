"""Every group of ``values.yaml`` as a ruleset in the project's own format, run by its worked cases.

The rulesets in ``rulesets/`` test published values; they are no advice and no copy of a law. Each
names its source and how its values were obtained, and has cases on, just under and just over
each limit, and open ones. Figures that a ruleset repeats are compared with ``values.yaml``.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

import modrules

HERE = Path(__file__).parent
FOLDERS = HERE / "rulesets"
VALUES: dict[str, dict[str, Any]] = yaml.safe_load(
    (HERE / "values.yaml").read_text(encoding="utf-8")
)

#: How many worked cases each ruleset has; none may get lost.
CASES = {
    "bumper-height": 65,
    "load-and-pressure": 71,
    "load-index": 217,
    "passenger-tyre-on-truck": 20,
    "ride-height-and-tyres": 25,
    "speed-symbol": 68,
    "speedometer": 32,
    "tyre-diameter-step": 9,
    "tyre-overall-diameter": 14,
    "tyre-size": 53,
    "tyre-speed-floor": 29,
}


def _group(name: str) -> dict[str, Any]:
    return VALUES[name.replace("-", "_")]


def _table(name: str, table: str) -> list[list[Any]]:
    """The rows of a table as the file of the ruleset has them."""
    head = yaml.safe_load((FOLDERS / name / "ruleset.yaml").read_text(encoding="utf-8"))
    rows: list[list[Any]] = next(t["rows"] for t in head["tables"] if t["id"] == table)
    return rows


#: Checks whose published table or formula ends before the range of the facts does. They come to
#: every outcome there, for which they have a case, and proofs are to find it.
OFF_THE_TABLE = {
    "load-index": ('"least" uses the table ', '"most" uses the table '),
    "load-and-pressure": (
        '"pressure-for-load" uses the table ',
        '"relation" calls "load_at_pressure" ',
    ),
    "tyre-size": ('"width-by-function" calls "section_width_on_rim" ',),
}


def _given(name: str, outcome: str) -> list[dict[str, Any]]:
    """What is given in the cases that come to the outcome."""
    found = []
    for path in sorted((FOLDERS / name / "cases").glob("*.yaml")):
        cases = yaml.safe_load(path.read_text(encoding="utf-8"))["cases"]
        found += [case["given"] for case in cases if case["expect"] == outcome]
    return found


def test_every_group_of_values_is_a_ruleset() -> None:
    assert sorted(folder.name for folder in FOLDERS.iterdir()) == sorted(CASES)
    assert {name.replace("-", "_") for name in CASES} == set(VALUES)


@pytest.mark.parametrize("name", CASES)
def test_it_reads_clean_and_its_cases_come_out(name: str) -> None:
    result = modrules.proofread(FOLDERS / name)
    said = [problem.message for problem in result.problems]
    for beginning, message in zip(OFF_THE_TABLE.get(name, ()), said, strict=True):
        assert message.startswith(beginning)
    assert [str(problem) for problem in result.cases_failed] == []
    assert result.cases_run == CASES[name]
    counted = [line for line in result.summary if line.startswith("checks whose every outcome")]
    (found, _, checks) = counted[0].split(": ")[1].split()
    assert found == checks


@pytest.mark.parametrize("name", CASES)
def test_it_says_what_it_is_and_where_its_values_come_from(name: str) -> None:
    ruleset = modrules.load_ruleset(FOLDERS / name)
    flat = ruleset.flat
    assert flat.title.startswith("Test of published values and no advice: ")
    assert [str(text.title) for text in flat.texts.values()] == [_group(name)["source"]]
    assert dict(flat.text_files) == {}
    assert f"Certainty of the values: {_group(name)['certainty']}." in flat.cautions
    report = modrules.screen({"modifications": []}, ruleset).to_dict()
    assert any("no advice" in caution for caution in report["cautions"])


def test_the_tables_are_those_of_the_values() -> None:
    index, symbol = VALUES["load_index"]["kg"], VALUES["speed_symbol"]["km_h"]
    assert _table("load-index", "published_load_index") == [list(row) for row in index.items()]
    assert _table("speed-symbol", "published_speed_symbol") == [list(row) for row in symbol.items()]
    pounds = VALUES["load_and_pressure"]["lb_at_psi"]
    rows = [[load, psi] for psi, load in pounds.items()]
    assert _table("load-and-pressure", "load_and_pressure") == rows


def test_the_heights_of_bumpers_are_those_of_the_values() -> None:
    rows = [
        [
            vehicle,
            ends["from"],
            ends.get("front_to", ends.get("to")),
            ends.get("rear_to", ends.get("to")),
        ]
        for vehicle, ends in VALUES["bumper_height"]["inches"].items()
    ]
    assert _table("bumper-height", "bumper_height") == rows


def test_every_pair_of_the_speedometer_has_cases_on_and_beyond_it() -> None:
    within = [given["vehicle"]["speedometer"] for given in _given("speedometer", "complies")]
    beyond = [given["vehicle"]["speedometer"] for given in _given("speedometer", "not permitted")]
    for true, most in VALUES["speedometer"]["highest_indicated_at_true"].items():
        assert {"shown": f"{most} km/h", "true_speed": f"{true} km/h"} in within
        assert {"shown": f"{most}.1 km/h", "true_speed": f"{true} km/h"} in beyond


def test_a_speed_symbol_that_does_not_exist_is_refused() -> None:
    ruleset = modrules.load_ruleset(FOLDERS / "speed-symbol")
    axles = [{"id": "a", "tyre": {"speed_symbol": "X"}}]
    with pytest.raises(modrules.ModrulesError, match="X"):
        modrules.screen({"axles": axles, "modifications": []}, ruleset)


def test_every_overall_diameter_has_a_case() -> None:
    given = [one["axles"][0]["tyre"] for one in _given("tyre-overall-diameter", "complies")]
    for marking, mm in VALUES["tyre_overall_diameter"]["mm"].items():
        assert {"marking": marking, "design_diameter": f"{mm} mm"} in given
