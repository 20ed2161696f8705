"""The library as an embedder uses it."""

from __future__ import annotations

import datetime
import json
import pickle
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

import modrules
from modrules.cli import main
from modrules.ruleset.find import find_ruleset

ON = datetime.date(2026, 11, 1)
NEEDS_PLATES = find_ruleset("orrinmark") / "submissions" / "needs-plates.yaml"


def _bytes(report: modrules.Report) -> bytes:
    return json.dumps(report.to_dict(), ensure_ascii=False).encode()


def test_ten_lines_of_python() -> None:
    ruleset = modrules.load_ruleset("orrinmark")
    modification = {"id": "lift", "kind": "suspension", "ride_height_change": "47 mm"}
    report = modrules.screen({"modifications": [modification]}, ruleset)
    assert report.answer == {"best": "certification required", "worst": "not permitted"}
    open_ones = [finding for finding in report.findings if not finding.decided]
    assert open_ones
    assert all(finding.missing or finding.reason for finding in open_ones)
    assert report.to_dict()["modifications"][0]["id"] == "lift"


def test_the_same_input_gives_the_same_bytes_also_in_another_process() -> None:
    report = modrules.screen(NEEDS_PLATES, modrules.load_ruleset("orrinmark", cache=True), on=ON)
    code = (
        "import datetime, json, modrules, sys\n"
        "r = modrules.screen(sys.argv[1], modrules.load_ruleset('orrinmark'), "
        "on=datetime.date(2026, 11, 1))\n"
        "sys.stdout.buffer.write(json.dumps(r.to_dict(), ensure_ascii=False).encode())\n"
    )
    other = subprocess.run(
        [sys.executable, "-c", code, str(NEEDS_PLATES)], capture_output=True, check=True
    )
    assert other.stdout == _bytes(report)


def test_a_ruleset_is_picklable() -> None:
    ruleset = modrules.load_ruleset("orrinmark", cache=True)
    again = pickle.loads(pickle.dumps(ruleset))
    assert again.digest == ruleset.digest
    first = modrules.screen(NEEDS_PLATES, ruleset, on=ON)
    assert _bytes(modrules.screen(NEEDS_PLATES, again, on=ON)) == _bytes(first)


def test_a_ruleset_is_shared_between_threads() -> None:
    ruleset = modrules.load_ruleset("orrinmark", cache=True)
    names = ["needs-plates", "incomplete", "borderline", "not-permitted"] * 2
    folder = NEEDS_PLATES.parent
    expected = {
        name: _bytes(modrules.screen(folder / f"{name}.yaml", ruleset, on=ON))
        for name in set(names)
    }
    fresh = modrules.load_ruleset("orrinmark", cache=True)

    def work(name: str) -> bool:
        return _bytes(modrules.screen(folder / f"{name}.yaml", fresh, on=ON)) == expected[name]

    with ThreadPoolExecutor(6) as pool:
        assert all(pool.map(work, names))


def test_a_ruleset_can_not_be_changed() -> None:
    ruleset = modrules.load_ruleset("trade")
    with pytest.raises((AttributeError, TypeError)):
        ruleset.flat.checks["new"] = None  # type: ignore[index]
    with pytest.raises((AttributeError, TypeError)):
        ruleset.digest = "other"  # type: ignore[misc]


def test_a_report_is_the_callers_own() -> None:
    report = modrules.screen(NEEDS_PLATES, modrules.load_ruleset("orrinmark", cache=True), on=ON)
    report.to_dict()["findings"].clear()
    assert report.to_dict()["findings"]


def test_json_yaml_and_a_mapping_say_the_same(tmp_path: Path) -> None:
    ruleset = modrules.load_ruleset("orrinmark", cache=True)
    data = {
        "submission": "Three ways",
        "vehicle": {"off_road_features": True, "kerb_mass": "2100 kg"},
        "modifications": [{"id": "lift", "kind": "suspension", "ride_height_change": "60 mm"}],
    }
    as_json = tmp_path / "s.json"
    as_json.write_text(json.dumps(data), encoding="utf-8")
    as_yaml = tmp_path / "s.yaml"
    as_yaml.write_text(
        "# the same\nmodifications:\n- kind: suspension\n  id: lift\n"
        "  ride_height_change: 60   mm\nvehicle: {kerb_mass: 2100 kg, off_road_features: true}\n"
        "submission: Three ways\n",
        encoding="utf-8",
    )
    reports = [modrules.screen(source, ruleset, on=ON) for source in (data, as_json, as_yaml)]
    assert len({report.to_dict()["submission"]["digest"] for report in reports}) == 1
    assert len({_bytes(report) for report in reports}) == 1


def test_editions_are_chosen_by_date() -> None:
    now = modrules.load_ruleset("orrinmark", on=ON, cache=True)
    before = modrules.load_ruleset("orrinmark", on=datetime.date(2025, 1, 1))
    assert now.edition != before.edition
    assert now.digest != before.digest
    with pytest.raises(modrules.ModrulesError):
        modrules.load_ruleset("orrinmark", on=datetime.date(1950, 1, 1))


def test_a_changed_text_is_said_on_the_findings_that_rest_on_it(tmp_path: Path) -> None:
    ruleset = modrules.load_ruleset("orrinmark", cache=True)
    words = ruleset.text_files["code"].read_text(encoding="utf-8")
    quote = "up to 4 percent without a plate"
    changed = tmp_path / "code.md"
    changed.write_text(words.replace(quote, "up to 3 percent without a plate"), encoding="utf-8")
    report = modrules.screen(NEEDS_PLATES, ruleset, texts={"code": changed}, on=ON).to_dict()
    touched = [
        finding["check"]
        for finding in report["findings"]
        if any(c["status"] == "changed" and c["quote"] == quote for c in finding["citations"])
    ]
    assert touched
    found = modrules.proofread("orrinmark", texts={"code": changed}, proofs=False)
    assert any("quotation" in problem.message for problem in found.problems)


def test_several_rulesets_are_separate_screenings_in_one_report() -> None:
    rulesets = [modrules.load_ruleset(name) for name in ("orrinmark", "quillander")]
    report = modrules.screen(NEEDS_PLATES, rulesets, on=ON).to_dict()
    assert [used["id"] for used in report["rulesets"]] == ["orrinmark", "quillander"]
    for finding in report["findings"]:
        assert finding["check"].startswith(f"{finding['ruleset']}/")
    alone = modrules.screen(NEEDS_PLATES, rulesets[0], on=ON)
    together = [f["possible"] for f in report["findings"] if f["ruleset"] == "orrinmark"]
    assert together == [list(finding.possible) for finding in alone.findings]


def test_a_report_is_rendered_as_the_commands_do(capsys: pytest.CaptureFixture[str]) -> None:
    report = modrules.screen(NEEDS_PLATES, modrules.load_ruleset("orrinmark", cache=True), on=ON)
    asked = [str(NEEDS_PLATES), "--ruleset", "orrinmark", "--on", ON.isoformat()]
    for form, command in (
        ("terminal", ["screen", *asked]),
        ("html", ["screen", *asked, "--format", "html"]),
        ("plates", ["plates", *asked]),
        ("plates in full", ["plates", *asked, "--all"]),
        ("letter", ["letter", *asked]),
    ):
        main(command)
        assert capsys.readouterr().out == modrules.render(report, form)
    with pytest.raises(modrules.ModrulesError, match="there is no form"):
        modrules.render(report, "paper")
