"""The end of the owner's page: what to settle and when, what voids a plate held, whom to ask."""

from __future__ import annotations

import datetime
import re
from functools import cache
from pathlib import Path
from tempfile import mkdtemp
from typing import Any, cast

import pytest
from small_ruleset import DAY, LIFT, PLATE, RULESET, changed, screened, submission

import modrules
from modrules.reports import plates
from modrules.reports.shape import Report

#: The same place, with what the forms of its office say of who gives what, and by when.
TOLD = RULESET.replace(
    "    covered_by: [full]\n",
    "    covered_by: [full]\n    issued_by: the office at Fenn Ford\n"
    '    cites: {text: code, clause: "7"}\n',
).replace(
    "title: Declaration of the maker of the springs}",
    "title: Declaration of the maker of the springs,\n"
    "         given_by: the maker of the springs, settle: before_buying}",
)
PLANNED = {key: value for key, value in LIFT.items() if key != "fitted"}


@cache
def told() -> modrules.Ruleset:
    folder = Path(mkdtemp(prefix="fennholt"))
    (folder / "ruleset.yaml").write_text(TOLD, encoding="utf-8")
    return modrules.load_ruleset(folder)


def page(*documents: dict[str, Any], lift: Any = PLANNED, on: datetime.date = DAY) -> str:
    report = modrules.screen(submission(*documents, lift=lift), told(), on=on)
    return plates.render(cast("Report", report.to_dict()))


def part(text: str, title: str) -> str:
    """A part of the page in one line, from its heading to the next; empty where there is none."""
    found = re.search(rf"^{title}\n-+\n(.*?)(?=\n\n[A-Z ,:()]+\n---|\Z)", text, re.M | re.S)
    return " ".join(found[1].split()) if found else ""


BUYING, FITTING = "SETTLE BEFORE BUYING", "SETTLE BEFORE FITTING"
VOID, ASK = "WHAT WOULD VOID A PLATE OR CERTIFICATE ALREADY HELD", "WHOM TO ASK"


def test_what_is_planned_is_settled_in_time_and_asked_of_the_right_people() -> None:
    text = page()
    assert "Declaration of the maker of the springs, which Lift plate takes (required)" in part(
        text, BUYING
    )
    assert "from the maker of the springs" in part(text, BUYING)
    assert (
        "need Declaration of the maker of the springs, from the maker of the springs"
        in " ".join(text.split())
    )
    fitting = part(text, FITTING)
    assert "Lift plate (required): have it approved before the work begins" in fitting
    assert "ask the office at Fenn Ford" in fitting
    assert "Alignment report, which Lift plate takes (required)" in fitting
    assert part(text, ASK) == (
        "- The office at Fenn Ford about Lift plate (required; before the work) "
        "under Fennholt code (1), clause 7"
    )


def test_an_open_fact_that_the_part_decides_is_settled_before_buying_with_how() -> None:
    loose = changed(PLANNED, ride_height_change="12 mm ± 5 mm")
    buying = part(page(lift=loose), BUYING)
    assert (
        "Measure again, to within 2 mm: Change of ride height at the suspension (now 7 to 17 mm)"
        in buying
    )
    assert "how Hub centre to wheel arch" in buying
    assert "written as ride_height_change: " in buying
    assert "under {id: lift, ...} in modifications" in buying
    missing = changed(PLANNED, "ride_height_change")
    assert "How much higher or lower" in part(page(lift=missing), BUYING)


@pytest.mark.parametrize(
    ("fitted", "planned"),
    [("2026-06-01", False), ("2026-11-01", False), ("2026-11-02", True), ("2026", True)],
)
def test_what_is_fitted_is_no_longer_planned(fitted: str, planned: bool) -> None:
    lift = {**PLANNED, "fitted": fitted}
    text = page(lift=lift)
    assert bool(part(text, BUYING)) is planned
    assert bool(part(text, FITTING)) is planned
    assert "Lift plate" in part(text, ASK)


def test_a_plate_held_says_what_is_left_of_it() -> None:
    plate = changed(
        PLATE, expires="2027-05-01", covers_up_to={"suspension.ride_height_change": "42.5 mm"}
    )
    text = part(page(plate, lift=LIFT), VOID)
    assert "now nothing that was told voids it" in text
    assert "covers modification lift and no other" in text
    assert "40 mm, covered up to 42.5 mm: 2.5 mm more would still be covered" in text
    assert "lasts until 2027-05-01" in text
    assert part(page(plate, lift=LIFT), ASK) == ""


@pytest.mark.parametrize(
    ("plate", "lift", "said"),
    [
        (changed(PLATE, expires="2026-10-31"), LIFT, "against it It expired on 2026-10-31."),
        (
            changed(PLATE, covers_up_to={"suspension.ride_height_change": "30 mm"}),
            LIFT,
            "40 mm, covered up to 30 mm: past it by 10 mm",
        ),
        (
            changed(PLATE, covers_up_to={"suspension.ride_height_change": "30 mm"}),
            changed(LIFT, ride_height_change="28 mm ± 4 mm"),
            "24 to 32 mm, covered up to 30 mm: perhaps past it by up to 2 mm",
        ),
        (
            changed(PLATE, covers_up_to={"suspension.ride_height_change": "30 mm"}),
            changed(LIFT, "ride_height_change"),
            "not known, covered up to 30 mm",
        ),
        (
            changed(PLATE, covers_up_to={"suspension.ride_height_change": "40 mm"}),
            LIFT,
            "nothing more would be covered",
        ),
        (
            changed(PLATE, issued="2026-06-02"),
            LIFT,
            "against it Lift plate must be approved before the work, and it is dated after it",
        ),
    ],
)
def test_what_voids_a_plate_is_said(plate: dict[str, Any], lift: Any, said: str) -> None:
    assert said in part(page(plate, lift=lift), VOID)


def test_what_voids_a_plate_is_said_though_nothing_asks_for_it() -> None:
    tank = {**PLATE, "id": "t", "certification": "tank-plate", "expires": "2026-01-01"}
    (entry,) = screened(tank).to_dict()["documents"]
    assert entry["void"] == ["It expired on 2026-01-01."]
    assert entry["certification"] == "tank-plate"


@pytest.mark.parametrize(
    ("kept", "said"),
    [
        ({"conditions_kept": "no"}, ["Its conditions are not kept (plate p)."]),
        ({}, ["Whether its conditions are kept is not known (plate p)."]),
        ({"conditions_kept": "yes"}, []),
        ({"conditions_kept": "no", "number": "8"}, []),
    ],
)
def test_a_plate_whose_conditions_are_broken_says_so(kept: dict[str, str], said: list[str]) -> None:
    tree = submission({**PLATE, "number": "FP 7"})
    tree["plates"] = [{"id": "p", "number": "fp7", **kept}]
    (entry,) = modrules.screen(tree, told(), on=DAY).to_dict()["documents"]
    assert entry["void"] == said


def test_who_grants_it_is_never_made_up() -> None:
    (plate,) = screened().to_dict()["certifications"]
    assert (plate["issued_by"], plate["citations"]) == ("", [])
    text = plates.render(cast("Report", screened().to_dict()))
    assert "The licensed certifier (the ruleset does not say who grants it)" in part(text, ASK)


def test_a_citation_of_a_certification_is_checked_like_any_other(tmp_path: Path) -> None:
    wrong = TOLD.replace('{text: code, clause: "7"}', '{text: codex, clause: "7"}')
    (tmp_path / "ruleset.yaml").write_text(wrong, encoding="utf-8")
    with pytest.raises(modrules.ModrulesError, match='there is no text "codex"'):
        modrules.load_ruleset(tmp_path)
