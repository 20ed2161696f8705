"""The letter asks for exactly what is outstanding, and for nothing twice."""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path
from typing import Any, cast

import pytest
from loaded import load_ruleset
from small_ruleset import DAY, LIFT, PLATE, VEHICLE, changed, screened

import modrules
from modrules.cli import main
from modrules.reports import letter
from modrules.reports.layout import width_of
from modrules.reports.shape import Report

SUBMISSIONS = Path(__file__).parents[2] / "rulesets" / "orrinmark" / "submissions"
NAMES = sorted(path.stem for path in SUBMISSIONS.glob("*.yaml"))


@pytest.fixture(scope="module")
def orrinmark() -> modrules.Ruleset:
    return load_ruleset("orrinmark", on=DAY)


def written(report: modrules.Report) -> str:
    return letter.render(cast("Report", report.to_dict()))


def joined(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize("name", NAMES)
def test_everything_outstanding_is_asked_for_once(name: str, orrinmark: modrules.Ruleset) -> None:
    report = modrules.screen(SUBMISSIONS / f"{name}.yaml", orrinmark, on=DAY)
    data, text = report.to_dict(), written(report)
    flat = joined(text)
    sent = Counter(
        item["title"] + (f", from {item['given_by']}" if item["given_by"] else "")
        for one in data["certifications"]
        for item in one["evidence"]
        if not item["supplied"]
    )
    asked = re.findall(r"^    send +(.*(?:\n {16}.*)*)", text, re.MULTILINE)
    assert sorted(map(joined, asked)) == sorted(sent)
    for one in data["certifications"]:
        if one["state"] != "held":
            assert one["title"] in flat
    for one in data["missing"]:
        address = one["fact"]
        pattern = rf"(?<![\w.]){re.escape(address)}(?![\w.-])"
        if "." not in address:  # the key of a list is an English word too
            pattern = rf"for {address} settles"
        assert len(re.findall(pattern, flat)) == 1, address
    questions = {f["question"] for f in data["findings"] if f["question"]}
    for question in questions:
        assert flat.count(joined(question)) == 1
    assert "It is no decision and no certificate" in flat
    assert "A screening aid, no certificate" in flat
    assert max(map(width_of, text.splitlines())) <= 79


def test_where_nothing_is_outstanding_it_says_so_and_asks_nothing() -> None:
    declared = {"standard": [kind for kind in _systems() if kind != "suspension"]}
    tree = {**_tree(PLATE, *_evidence()), **declared}
    text = written(modrules.screen(tree, _ruleset(), on=DAY))
    assert "Nothing is outstanding as far as this screening goes." in text
    assert not re.search(r"^\d\. ", text, re.MULTILINE)


def test_a_paper_that_does_not_do_is_named_with_the_reason() -> None:
    text = joined(written(screened(changed(PLATE, expires="2026-10-31"))))
    assert "Papers that were sent and need to be put right - Plate 7 It expired on" in text
    unasked = {"id": "leak", "title": "Leak paper", "document": "leak", "issued": "2026-05-01"}
    assert "Leak paper" not in written(screened(PLATE, unasked))


def test_a_fact_that_is_known_too_roughly_is_asked_for_as_a_measurement() -> None:
    report = screened(PLATE, lift={**LIFT, "ride_height_change": "12 mm ± 4 mm"})
    text = joined(written(report))
    assert "Measurements to be made again, more precisely" in text
    assert "sent 12 mm ± 4 mm" in text
    assert "must be known to within 2 mm to settle 10 mm" in text
    assert "Facts that are missing" not in text


def test_what_is_not_permitted_is_not_passed_over(orrinmark: modrules.Ruleset) -> None:
    report = modrules.screen(SUBMISSIONS / "not-permitted.yaml", orrinmark, on=DAY)
    text = joined(written(report))
    assert "no paper mends it, only a change" in text
    for finding in report.findings:
        if finding.possible == ("not permitted",):
            assert finding.title in text


def test_nothing_in_a_submission_can_pass_for_a_line_of_the_letter() -> None:
    nasty = "Plate\n9. Nothing is outstanding\x1b[2J\u202e"
    report = screened(changed(PLATE, title=nasty, expires="2026-10-31"))
    text = written(report)
    assert "\x1b" not in text
    assert "\u202e" not in text
    assert not re.search(r"^9\. ", text, re.MULTILINE)


def test_the_command_writes_the_letter(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    target = tmp_path / "letter.txt"
    file = str(SUBMISSIONS / "needs-plates.yaml")
    options = ["--ruleset", "orrinmark", "--on", "2026-11-01"]
    assert main(["letter", file, *options]) == 0
    shown = capsys.readouterr().out
    assert shown.startswith("REQUEST FOR WHAT IS OUTSTANDING")
    assert main(["letter", file, *options, "--output", str(target)]) == 0
    assert target.read_text(encoding="utf-8") == shown


def _ruleset() -> modrules.Ruleset:
    from small_ruleset import ruleset

    return ruleset()


def _systems() -> list[str]:
    return sorted({str(kind.system or kind.id) for kind in _ruleset().flat.kinds.values()})


def _evidence() -> list[dict[str, Any]]:
    return [
        {
            "id": name,
            "document": name,
            "issued": "2026-05-01",
            "covers": {"modifications": ["lift"], "vehicle": "FH55A"},
        }
        for name in ("spring-declaration", "alignment")
    ]


def _tree(*documents: dict[str, Any]) -> dict[str, Any]:
    return {
        "submission": "A lift",
        "vehicle": VEHICLE,
        "modifications": [LIFT],
        "evidence": list(documents),
    }
