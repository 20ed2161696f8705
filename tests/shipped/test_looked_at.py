"""What checks looked at, and none applies to, is told apart from what no check is about."""

from __future__ import annotations

import html
import json
import re
from typing import Any

import pytest

import modrules

PLAN: dict[str, Any] = {
    "submission": "Covers and more",
    "modifications": [
        {"id": "covers", "kind": "seat_covers", "seat_has_side_airbag": "no"},
        {"id": "odd", "kind": "other"},
    ],
}


def report() -> modrules.Report:
    return modrules.screen(PLAN, modrules.load_ruleset("orrinmark", cache=True))


def checks_on_covers() -> list[str]:
    items = modrules.load_ruleset("orrinmark", cache=True).flat.checks.values()
    return [str(item.title) for item in items if "seat_covers" in item.about]


def words(text: str) -> str:
    return " ".join(html.unescape(re.sub("<[^<>]*>", " ", text)).replace("\\", "").split())


def test_checks_that_look_and_do_not_apply_are_no_silence() -> None:
    covers, odd = report().to_dict()["modifications"]
    assert covers["answer"] == {"best": "not applicable", "worst": "not applicable"}
    assert (covers["covered"], odd["covered"], odd["answer"]) == (True, False, None)


@pytest.mark.parametrize("format", ["terminal", "plates", "markdown", "html"])
def test_every_page_names_the_checks_that_looked(format: str) -> None:
    text = words(modrules.render(report(), format))
    titles = checks_on_covers()
    assert titles
    for title in titles:
        assert title in text
    assert "none applies" in text
    # It is said of the other one alone that there is nothing.
    assert "says nothing" in text
    assert not re.search(r"Seat covers \(covers\)[^.:]{0,40}(not covered|says nothing)", text)


def test_programs_can_tell_them_apart() -> None:
    (run,) = json.loads(modrules.render(report(), "sarif"))["runs"]
    assert run["properties"]["notCovered"] == ["odd"]
    assert run["properties"]["noneApplies"] == ["covers"]


def test_a_list_of_none_does_not_make_checks_on_it_silent() -> None:
    tree = {"modifications": [{"id": "lights", "kind": "lighting"}], "lamps": []}
    (lights,) = modrules.screen(tree, modrules.load_ruleset("orrinmark", cache=True)).to_dict()[
        "modifications"
    ]
    assert lights["covered"]
