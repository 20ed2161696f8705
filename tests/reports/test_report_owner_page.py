"""The owner's page: short, but nothing that decides is cut, and what is cut is counted."""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable
from functools import cache
from typing import Any

import pytest
import report_samples
from loaded import load_ruleset

import modrules
from modrules.cli import main
from modrules.reports import owner, owner_page, plates, reading
from modrules.reports.layout import clean
from modrules.ruleset.find import find_ruleset

SUBMISSIONS = {
    path.stem: path for path in (find_ruleset("orrinmark") / "submissions").glob("*.yaml")
}


@cache
def screened(name: str) -> modrules.Report:
    ruleset = load_ruleset("orrinmark", cache=True)
    return modrules.screen(SUBMISSIONS[name], ruleset, on=datetime.date(2026, 11, 1))


MADE: dict[str, Callable[[], Any]] = {
    **report_samples.ALL,
    **{name: lambda name=name: screened(name).to_dict() for name in sorted(SUBMISSIONS)},  # type: ignore[misc]
}


@pytest.mark.parametrize("name", MADE)
def test_every_finding_is_told_or_counted_and_the_worst_is_told(name: str) -> None:
    report = MADE[name]()
    text = owner_page.render(report)
    findings = [one for one in reading.worst_first(report) if plates.is_telling(one)]
    told = set(map(int, re.findall(r"\[(\d+)\] (?=\[|[A-Z])", text)))
    joint = {one.number for one in findings if reading.is_joint(one.finding)}
    parts = [joint] + [
        {one.number for one in findings if each["id"] in one.finding["modifications"]} - joint
        for each in report["modifications"]
    ]
    cut = sum(map(int, re.findall(r"and (\d+) more findings?, at worst", text)))
    assert cut == sum(len(part - told) for part in parts)
    for part in parts:
        assert not part or min(part) in told


@pytest.mark.parametrize("name", MADE)
def test_every_modification_has_its_answer_and_the_papers_that_it_needs(name: str) -> None:
    report = MADE[name]()
    text = " ".join(owner_page.render(report).split())
    titles = {one["id"]: one for one in report["certifications"]}
    for one in report["modifications"]:
        assert owner.of_modification(one, len(report["rulesets"])).word in text
        for mine in one["certifications"]:
            for item in reading.outstanding(titles[mine["id"]]) if mine["id"] in titles else ():
                assert f"need {clean(item['title'] or item['document'])}" in text


def test_the_command_tells_a_page_and_all_of_it_when_asked(
    capsys: pytest.CaptureFixture[str],
) -> None:
    path = str(SUBMISSIONS["incomplete"])
    asked = ["plates", path, "--ruleset", "orrinmark", "--on", "2026-11-01"]
    main(asked)
    short = capsys.readouterr().out
    main([*asked, "--all"])
    everything = capsys.readouterr().out
    assert "modrules plates --all" in short
    assert "\nSOURCES\n" in everything
    assert 2 * short.count("\n") < everything.count("\n")


@pytest.mark.parametrize("name", MADE)
def test_what_needs_no_plate_and_has_nothing_else_to_tell_is_one_list(name: str) -> None:
    report = MADE[name]()
    text = owner_page.render(report)
    section = re.search(r"^NEED NO PLATE\n-+\n(.*?)\n\n", text, re.S | re.M)
    listed = " ".join(section[1].split()) if section else ""
    for one in report["modifications"]:
        heading = f"{owner.name(one)}: {owner.of_modification(one).word}".upper()
        in_a_line = f"- {owner.name(one)}: met" in listed
        assert in_a_line != (heading in " ".join(text.upper().split())), one["id"]
        if in_a_line:
            assert one["answer"] is not None
            assert one["answer"]["worst"] in ("complies", "exempt")
            assert not one["certifications"]
