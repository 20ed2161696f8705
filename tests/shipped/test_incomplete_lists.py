"""A list that names some of what a vehicle has is never taken for all of it."""

from __future__ import annotations

import copy
from collections.abc import Callable
from fractions import Fraction
from typing import Any

import pytest

import modrules
from modrules.ruleset.find import find_ruleset
from modrules.screening.submission import read_submission

Change = Callable[[dict[str, Any]], Any]
COMPLIANT = find_ruleset("orrinmark") / "submissions" / "compliant.yaml"


def changed(change: Change) -> dict[str, Any]:
    """The submission that complies, with a change."""
    tree: dict[str, Any] = copy.deepcopy(dict(read_submission(COMPLIANT).tree))
    change(tree)
    return tree


def screened(change: Change) -> dict[str, Any]:
    return modrules.screen(
        changed(change), modrules.load_ruleset("orrinmark", cache=True)
    ).to_dict()


def both_front(tree: dict[str, Any]) -> None:
    tree["axles"][1]["position"] = "front"


def no_position(tree: dict[str, Any]) -> None:
    del tree["axles"][1]["position"]


CHANGES: dict[str, tuple[str, Change]] = {
    "front axle alone": ("axle", lambda tree: tree.update(axles=tree["axles"][:1])),
    "no axle": ("axle", lambda tree: tree.update(axles=[])),
    "two front axles": ("axle", both_front),
    "an axle that stands anywhere": ("axle", no_position),
    **{
        f"{n} corners": ("corner", lambda tree, n=n: tree.update(corners=tree["corners"][:n]))
        for n in range(4)
    },
}


@pytest.mark.parametrize("name", CHANGES)
def test_what_is_not_listed_is_as_open_as_in_a_list_that_is_not_given(name: str) -> None:
    subject, change = CHANGES[name]
    found = screened(change)
    without = screened(lambda tree: tree.pop(f"{subject}s"))
    assert found["answer"]["worst"] == "not permitted"
    about = f"{subject} (not given)"
    per_check = [
        {f["check"]: f["possible"] for f in each["findings"] if f["subject"] == about}
        for each in (found, without)
    ]
    assert per_check[0] == per_check[1]
    assert any(len(possible) > 1 for possible in per_check[0].values())
    missing = {one["fact"] for one in found["missing"]}
    assert f"{subject}s" in missing
    assert ("axles.rear.position" in missing) == (change is no_position)


def test_the_heavy_rear_axle_of_a_list_without_it_is_not_passed() -> None:
    def heavy(tree: dict[str, Any]) -> None:
        tree["axles"][1]["load"] = "2500 kg"

    worst = {f["check"] for f in screened(heavy)["findings"] if f["possible"][-1] != "complies"}
    one = screened(CHANGES["front axle alone"][1])
    left_open = {f["check"] for f in one["findings"] if "not permitted" in f["possible"]}
    told = [f for f in screened(heavy)["findings"] if f["possible"] == ["not permitted"]]
    assert told
    assert {f["check"] for f in told} <= left_open
    assert worst


def test_lists_that_are_whole_leave_nothing_open() -> None:
    found = screened(dict)
    assert found["answer"] == {"best": "complies", "worst": "complies"}
    assert not [f for f in found["findings"] if "(not given)" in f["subject"]]


def replaced(tree: dict[str, Any]) -> None:
    """Work on seats, so that the checks on seats and anchorages apply."""
    tree["standard"] = [system for system in tree["standard"] if system != "seats_belts"]
    tree["modifications"].append(
        {"id": "seats", "kind": "seats_belts", "seats_added": "0", "seat_replaced": "yes"}
    )


@pytest.mark.parametrize(("key", "subject"), [("seats", "seat"), ("anchorages", "anchorage")])
@pytest.mark.parametrize("count", [0, 1, 4])
def test_seats_and_anchorages_are_counted_by_the_seats(key: str, subject: str, count: int) -> None:
    def fewer(tree: dict[str, Any]) -> None:
        replaced(tree)
        tree[key] = tree[key][:count]

    def uncounted(tree: dict[str, Any]) -> None:
        replaced(tree)
        del tree["vehicle"]["seats"]

    def lacking(found: dict[str, Any]) -> list[Any]:
        return [
            f for f in found["findings"] if subject in f["subject"] and "not given" in f["subject"]
        ]

    assert not lacking(screened(replaced))
    for change, fact in ((fewer, key), (uncounted, "vehicle.seats")):
        left_open = [f for f in lacking(screened(change)) if len(f["possible"]) > 1]
        assert left_open
        assert all(fact in f["missing"] for f in left_open)


def test_more_seats_than_are_listed_may_be_worse() -> None:
    """Where a fact is varied, the lists that hang on it go with it."""
    ruleset = modrules.load_ruleset("orrinmark", cache=True)
    found = modrules.limits(changed(replaced), ruleset, "vehicle.seats")
    about = [reached for reached in found.findings if "not given" in reached.finding.subject]
    assert {reached.finding.subject for reached in about} >= {"seat (not given)"}
    beyond = set()
    for reached in about:
        for seats in range(1, 25):
            (stretch,) = [each for each in reached.stretches if each.holds(Fraction(seats))]
            if seats <= 5:
                assert stretch.possible == ("not applicable",)
            beyond.add(stretch.possible[-1])
    assert "not permitted" in beyond


@pytest.mark.parametrize("format", ["terminal", "letter", "markdown", "html", "plates"])
def test_nobody_is_told_to_write_that_there_are_no_axles(format: str) -> None:
    report = modrules.screen(
        changed(lambda tree: tree.pop("axles")), modrules.load_ruleset("orrinmark", cache=True)
    )
    text = modrules.render(report, format)
    assert "axles" in text
    assert "axles: []" not in " ".join(text.split())


def test_a_list_left_blank_is_not_said_to_be_empty() -> None:
    with pytest.raises(modrules.ModrulesError) as caught:
        modrules.screen(
            changed(_blank_axles),
            modrules.load_ruleset("orrinmark", cache=True),
        )
    assert caught.value.problems[0].hint == "leave it out, or list every one that the vehicle has"


def _blank_axles(tree: dict[str, Any]) -> None:
    tree["axles"] = None
