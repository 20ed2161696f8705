"""Loads and their limits: what is left, which one binds, and by which document."""

from __future__ import annotations

import copy
import pickle
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from loaded import load_ruleset

import modrules


@pytest.fixture(scope="module")
def trade() -> modrules.Ruleset:
    return load_ruleset("trade")


def loads(tree: dict[str, Any], *rulesets: modrules.Ruleset) -> dict[tuple[str, str], Any]:
    """The loads of a submission by id and subject."""
    found = modrules.screen(tree, list(rulesets)).to_dict()["loads"]
    return {(one["load"], one["subject"]): one for one in found}


def limits(load: dict[str, Any]) -> dict[str, Any]:
    return {one["limit"]: one for one in load["limits"]}


def marked(found: dict[tuple[str, str], Any], key: str = "binds") -> dict[str, set[Any]]:
    """The limits that bind surely, and those that perhaps do."""
    out: dict[str, set[Any]] = {"yes": set(), "perhaps": set()}
    for place, load in found.items():
        for limit in load["limits"]:
            out.get(limit[key], set()).add((*place, limit["limit"]))
    return out


#: A vehicle of which everything that bears on its loads is known; the raised rating holds.
WHOLE: dict[str, Any] = {
    "vehicle": {
        "wheelbase": "2800 mm",
        "kerb_mass": "2400 kg",
        "kerb_mass_as_built": "2100 kg",
        "mass_in_use": "2900 kg",
        "coupling_overhang": "1400 mm",
    },
    "ratings": {
        "gross_mass": "2950 kg",
        "combination_mass": "5500 kg",
        "trailer_braked": "2500 kg",
        "trailer_unbraked": "750 kg",
        "coupling_load": "250 kg",
    },
    "roof": {"limit": "100 kg", "load": "20 kg", "used_off_road": "no", "off_road_share": "80 %"},
    "trailer": {
        "towed": "yes",
        "brakes": "all_wheels",
        "mass": "1500 kg",
        "coupling_load": "140 kg",
        "coupled_when_weighed": "no",
        "coupling_rating": "2700 kg",
    },
    "axles": [
        {
            "id": "front",
            "position": "front",
            "twin_wheels": "no",
            "rating": "1400 kg",
            "load": "1300 kg",
            "tyre": {"load_index": 112, "load_index_dual": 108},
            "wheel": {"load_rating": "900 kg"},
        },
        {
            "id": "rear",
            "position": "rear",
            "twin_wheels": "no",
            "rating": "1800 kg",
            "load": "1600 kg",
            "tyre": {"load_index": 112, "load_index_dual": 108},
            "wheel": {"load_rating": "1000 kg"},
        },
    ],
    "plates": [
        {
            "id": "raised",
            "plate_kind": "mass",
            "conditions_kept": "yes",
            "issued": "2025-03-01",
            "gross_mass": "3300 kg",
            "front_axle_rating": "1500 kg",
            "rear_axle_rating": "2000 kg",
            "combination_mass": "5800 kg",
            "trailer_braked": "none stated",
            "trailer_unbraked": "none stated",
            "coupling_load": "none stated",
        }
    ],
    "modifications": [
        {"id": "up", "kind": "mass_upgrade", "mass": "40 kg"},
        {
            "id": "rack",
            "kind": "roof_rack",
            "mass": "30 kg",
            "rack_mass": "30 kg",
            "rating": "80 kg",
            "off_road_rating": "60 kg",
            "bar_rating": "none stated",
        },
        {"id": "bar", "kind": "tow_bar", "mass": "30 kg", "rating": "2500 kg",
         "load_rating": "200 kg"},
    ],
}  # fmt: skip


def test_each_limit_has_its_load_its_document_and_the_room_left(trade: modrules.Ruleset) -> None:
    found = loads(WHOLE, trade)
    gross = found["gross-mass", "vehicle"]
    # 2900 kg on the scale, and 140 kg of the trailer that did not rest on it.
    assert gross["mass"] == {"value": 3040, "unit": "kg"}
    maker, upgrade = limits(gross)["maker"], limits(gross)["upgrade"]
    assert (maker["set_by"], maker["state"], maker["room"]["value"]) == (
        "maker's plate", "replaced", -90)  # fmt: skip
    assert (upgrade["set_by"], upgrade["state"], upgrade["room"]["value"]) == (
        "plate of the upgrade", "in force", 260)  # fmt: skip
    assert upgrade["document"] == "plate raised: mass, 2025-03-01"
    rear = found["axle-load", "axle rear"]
    # The coupling is half a wheelbase behind: the rear axle takes 140 and 70 kg more.
    assert rear["mass"]["value"] == 1600 + 210
    rooms = {key: one["room"]["value"] for key, one in limits(rear).items()}
    # Load index 112 is 1120 kg a tyre.
    assert rooms == {"maker": -10, "upgrade": 190, "tyres": 2240 - 1810, "wheels": 190}
    assert found["axle-load", "axle front"]["mass"]["value"] == 1300 - 70
    assert found["combination", "vehicle"]["mass"]["value"] == 2900 + 1500
    assert limits(found["combination", "vehicle"])["upgrade"]["room"]["value"] == 5800 - 4400


def test_the_binding_limit_is_named_before_and_after_the_upgrade(trade: modrules.Ruleset) -> None:
    found = loads(WHOLE, trade)
    assert marked(found) == {"yes": {("roof-load", "vehicle", "maker")}, "perhaps": set()}
    before = marked(found, "bound_before")
    assert before == {"yes": {("gross-mass", "vehicle", "maker")}, "perhaps": set()}


def test_a_limit_that_nobody_states_stays_in_the_list(trade: modrules.Ruleset) -> None:
    bars = limits(loads(WHOLE, trade)["bar-load", "roof_rack rack"])["bars"]
    assert (bars["state"], bars["mass"], bars["room"]) == ("none stated", None, None)


def test_a_plate_whose_conditions_are_not_kept_raises_nothing(trade: modrules.Ruleset) -> None:
    tree = copy.deepcopy(WHOLE)
    tree["plates"][0]["conditions_kept"] = "no"
    gross = limits(loads(tree, trade)["gross-mass", "vehicle"])
    assert list(gross) == ["maker"]
    assert gross["maker"]["state"] == "in force"
    del tree["plates"][0]["conditions_kept"]
    gross = limits(loads(tree, trade)["gross-mass", "vehicle"])
    assert {one["state"] for one in gross.values()} == {"perhaps in force"}
    assert "plates.raised.conditions_kept" in gross["upgrade"]["missing"]


def test_a_plate_counts_from_its_date_on(trade: modrules.Ruleset) -> None:
    tree = copy.deepcopy(WHOLE)
    tree["plates"][0]["issued"] = "2099-01-01"
    assert list(limits(loads(tree, trade)["gross-mass", "vehicle"])) == ["maker"]
    del tree["plates"][0]["issued"]
    gross = limits(loads(tree, trade)["gross-mass", "vehicle"])
    assert {one["state"] for one in gross.values()} == {"perhaps in force"}
    assert "plates.raised.issued" in gross["upgrade"]["missing"]


def test_what_is_left_counts_people_with_full_tanks(trade: modrules.Ruleset) -> None:
    found = loads(WHOLE, trade)
    people = found["for-people-and-gear", "vehicle"]
    assert people["room"]["value"] == 3300 - 2400 - 140
    counted = people["left_for"]
    assert (counted["each"]["value"], counted["at_least"], counted["at_most"]) == (80, 9, 9)
    assert counted["source"] == "common practice, no published source"
    roof = found["for-the-roof", "vehicle"]
    assert roof["room"]["value"] == 70
    assert found["for-a-trailer-with-brakes", "vehicle"]["room"]["value"] == 2500
    assert found["for-a-trailer-without-brakes", "vehicle"]["room"]["value"] == 750


def test_lists_that_are_not_given_stay_open(trade: modrules.Ruleset) -> None:
    found = loads({"modifications": [{"id": "up", "kind": "mass_upgrade"}]}, trade)
    axle = found["axle-load", "axle (not given)"]
    assert {one["state"] for one in axle["limits"]} <= {"in force", "perhaps in force"}
    assert "axles" in axle["missing"]
    assert all(one["binds"] == "perhaps" for one in axle["limits"])


def test_a_place_says_itself_which_plates_count() -> None:
    tree = copy.deepcopy(WHOLE)
    found = {
        name: limits(loads(tree, load_ruleset(name))["combination", "vehicle"])
        for name in ("orrinmark", "quillander", "touring")
    }
    # The plate of a second-stage maker alone, a towing plate alone, or a mass plate too.
    assert {name: one["maker"]["state"] for name, one in found.items()} == {
        "orrinmark": "in force", "quillander": "in force", "touring": "replaced"}  # fmt: skip


def test_several_rulesets_that_agree_say_a_load_once() -> None:
    names = ("orrinmark", "touring")
    tree = {**copy.deepcopy(WHOLE), "plates": []}
    found = modrules.screen(tree, [load_ruleset(n) for n in names]).to_dict()["loads"]
    places = [(one["load"], one["subject"]) for one in found]
    assert len(places) == len(set(places))


def test_only_what_can_matter_is_to_be_found_out(trade: modrules.Ruleset) -> None:
    tree = copy.deepcopy(WHOLE)
    tree["trailer"] = {"towed": "no"}
    assert not any(load["missing"] for load in loads(tree, trade).values())
    del tree["axles"][0]["load"]
    found = loads(tree, trade)
    assert found["axle-load", "axle front"]["missing"] == ["axles.front.load"]
    assert found["axle-load", "axle rear"]["missing"] == []


# -- by the list of parts ------------------------------------------------------------

#: As built 1000 and 900 kg; a bar of 60 kg 600 mm ahead of the front axle; 300 kg of people
#: and gear 1800 mm behind it; 3000 mm between the axles.
LISTED: dict[str, Any] = {
    "vehicle": {
        "wheelbase": "3000 mm",
        "people_and_gear": "300 kg",
        "people_and_gear_along": "1800 mm",
        "coupling_overhang": "1200 mm",
    },
    "trailer": {"towed": "no"},
    "axles": [
        {"id": "front", "position": "front", "mass_as_built": "1000 kg", "rating": "1250 kg"},
        {"id": "rear", "position": "rear", "mass_as_built": "900 kg", "rating": "1250 kg"},
    ],
    "modifications": [{"id": "bar", "kind": "front_bar", "mass": "60 kg", "along": "-600 mm"}],
}


def test_an_axle_that_was_not_weighed_is_told_by_the_list(trade: modrules.Ruleset) -> None:
    found = loads(LISTED, trade)
    front, rear = found["axle-load", "axle front"], found["axle-load", "axle rear"]
    assert front["by_ledger"]
    # 1000 + 60 * 3600/3000 + 300 * 1200/3000, and 900 - 60 * 600/3000 + 300 * 1800/3000.
    assert front["ledger"]["value"] == 1192
    assert rear["ledger"]["value"] == 1068
    assert limits(front)["maker"]["room"]["value"] == 58
    # Only a scale decides which limit binds.
    assert limits(front)["maker"]["binds"] == "perhaps"


def test_the_coupling_works_as_a_lever_on_both_axles(trade: modrules.Ruleset) -> None:
    tree = copy.deepcopy(LISTED)
    tree["trailer"] = {"towed": "yes", "coupling_load": "150 kg", "coupled_when_weighed": "yes"}
    found = loads(tree, trade)
    assert found["axle-load", "axle front"]["ledger"]["value"] == 1192 - 60
    assert found["axle-load", "axle rear"]["ledger"]["value"] == 1068 + 210


def test_a_ticket_wins_and_what_it_shows_beyond_the_list_is_told(trade: modrules.Ruleset) -> None:
    tree = copy.deepcopy(LISTED)
    tree["axles"][0]["load"] = "1230 kg"
    front = loads(tree, trade)["axle-load", "axle front"]
    assert not front["by_ledger"]
    assert front["residual"]["value"] == 38
    assert limits(front)["maker"]["room"]["value"] == 20


def test_a_part_of_unknown_place_or_mass_leaves_a_range(trade: modrules.Ruleset) -> None:
    tree = copy.deepcopy(LISTED)
    del tree["modifications"][0]["along"]
    found = loads(tree, trade)["axle-load", "axle front"]["ledger"]
    # Anywhere from 2000 mm ahead of the front axle to 9000 mm behind it.
    assert (found["low"], found["high"]) == (1120 + 60 - 180, 1120 + 60 + 40)
    tree["modifications"] = [{"id": "bar", "kind": "front_bar", "along": "0 mm"}]
    rear = loads(tree, trade)["axle-load", "axle rear"]["ledger"]
    # Right above the front axle its mass is nothing to the rear one.
    assert rear == {"value": 1080, "unit": "kg"}


def test_a_part_where_there_is_no_vehicle_is_found() -> None:
    tree = copy.deepcopy(LISTED)
    tree["vehicle"] |= {"overhang_front": "500 mm", "overhang_rear": "900 mm"}
    found = modrules.screen(tree, load_ruleset("touring", cache=True)).findings
    (told,) = [one for one in found if one.check == "parts-in-place"]
    assert told.possible == ("caution",)
    assert any("-600 mm" in line for line in told.working)


# -- the section in a ruleset ----------------------------------------------------------

HEAD = """
ruleset: small
title: Small
edition: "1"
in_force: {from: 2026-01-01}
builds_on: {ruleset: trade, edition: "1"}
"""
LOAD = "loads:\n  - {id: own, title: Own, per: axle, load: axle.load, limits: [%s]}\n"
LIMIT = "{id: a, title: A, set_by: plate, limit: %s}"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (LOAD % (LIMIT % "axle.track"), "a load and its limits are masses"),
        (LOAD % (LIMIT % "axle.ratin"), "axle.ratin"),
        (LOAD % f"{LIMIT % '9 kg'}, {LIMIT % '8 kg'}", "the limit `a` is listed twice"),
        (LOAD % (LIMIT % "9 kg, in_place_of: b"), "the limit `a` stands in place of `b`"),
        (LOAD.replace("per: axle", "per: shelf") % (LIMIT % "9 kg"), "shelf"),
        (LOAD % "", "limits"),
        (LOAD.replace("limits:", "left_for: {title: x, each: 80 kg}, limits:") % (LIMIT % "9 kg"),
         "`each`, `one`, `many` and `source` go together"),
    ],
)  # fmt: skip
def test_what_is_wrong_with_a_load_is_told(tmp_path: Path, text: str, said: str) -> None:
    (tmp_path / "ruleset.yaml").write_text(HEAD + text, encoding="utf-8")
    with pytest.raises(modrules.ModrulesError) as error:
        modrules.load_ruleset(tmp_path)
    problems = error.value.problems
    assert any(said in one.message and one.place is not None for one in problems)


def test_a_place_replaces_a_load_of_the_trade(tmp_path: Path) -> None:
    text = (LOAD % (LIMIT % "1500 kg")).replace("id: own", "id: axle-load, replaces: true")
    (tmp_path / "ruleset.yaml").write_text(HEAD + text, encoding="utf-8")
    ruleset = modrules.load_ruleset(tmp_path)
    front = loads(WHOLE, ruleset)["axle-load", "axle front"]
    assert (front["title"], front["room"]["value"]) == ("Own", 200)
    assert pickle.loads(pickle.dumps(ruleset)).typed.loads[1].id == "axle-load"


# -- laws --------------------------------------------------------------------------

_MAY_BE_NONE = {
    "combination_mass", "trailer_braked", "trailer_unbraked", "coupling_load", "limit", "rating",
    "load_rating", "bar_rating", "off_road_rating", "coupling_rating",
    "front_axle_rating", "rear_axle_rating",
}  # fmt: skip


@st.composite
def fillings(draw: Any) -> tuple[dict[str, Any], dict[str, Any]]:
    """A submission with some of it open, and one in which all of that is filled."""
    known, filled = copy.deepcopy(WHOLE), copy.deepcopy(WHOLE)

    def vary(one: dict[str, Any], other: dict[str, Any], subject: str) -> None:
        for key, value in list(one.items()):
            if isinstance(value, dict):
                vary(value, other[key], key)
            elif isinstance(value, list):
                for left, right in zip(value, other[key], strict=True):
                    vary(left, right, key)
            elif key not in ("id", "kind", "position", "plate_kind"):
                _vary(draw, one, other, key, subject)

    vary(known, filled, "")
    return known, filled


def _vary(draw: Any, one: dict[str, Any], other: dict[str, Any], key: str, subject: str) -> None:
    how = draw(st.sampled_from(["kept", "kept", "kept", "tolerance", "missing", "none"]))
    value = str(one[key])
    number, _, unit = value.partition(" ")
    if how == "none" and key in _MAY_BE_NONE and subject != "trailer":
        one[key] = other[key] = "none stated"
    elif how == "tolerance" and unit in ("kg", "mm"):
        one[key] = f"{number} {unit} ± 20 {unit}"
        other[key] = f"{int(number) + draw(st.integers(-20, 20))} {unit}"
    elif how == "missing":
        del one[key]
        if value in ("yes", "no"):
            other[key] = draw(st.sampled_from(["yes", "no"]))
        elif unit == "kg":
            other[key] = f"{max(int(number) + draw(st.integers(-150, 150)), 0)} kg"


def _holds(whole: dict[str, Any] | None, part: dict[str, Any] | None) -> bool:
    """Whether an interval has an exact number in it."""
    if part is None or part["value"] is None or whole is None:
        return True
    low = whole["value"] if whole["value"] is not None else whole["low"]
    high = whole["value"] if whole["value"] is not None else whole["high"]
    return (low is None or low <= part["value"]) and (high is None or part["value"] <= high)


@settings(max_examples=40, deadline=None)
@given(fillings())
def test_what_is_open_holds_whatever_it_turns_out_to_be(
    trade: modrules.Ruleset, pair: tuple[dict[str, Any], dict[str, Any]]
) -> None:
    known, filled = (loads(tree, trade) for tree in pair)
    for place, load in filled.items():
        before = known[place]  # no load vanishes because something of it is missing
        assert _holds(before["mass"], load["mass"])
        for key, limit in limits(load).items():
            was = limits(before)[key]
            assert _holds(was["mass"], limit["mass"])
            if not before["by_ledger"] and not load["by_ledger"]:
                assert _holds(was["room"], limit["room"])
            if was["state"] != "perhaps in force":
                assert was["state"] == limit["state"]
        if not before["by_ledger"] and not load["by_ledger"]:
            assert _holds(before["room"], load["room"])
    for key in ("binds", "bound_before"):
        now, might = marked(filled, key), marked(known, key)
        assert now["yes"] <= might["yes"] | might["perhaps"]
        assert not might["yes"] or now["yes"] == might["yes"]


@settings(max_examples=10, deadline=None)
@given(fillings())
def test_what_binds_has_the_least_room_of_all(
    trade: modrules.Ruleset, pair: tuple[dict[str, Any], dict[str, Any]]
) -> None:
    found = loads(pair[1], trade)
    rooms = {
        (*place, one["limit"]): one["room"]["value"]
        for place, load in found.items()
        if load["left_for"] is None
        for one in load["limits"]
        if one["state"] == "in force"
    }
    least = min(rooms.values())
    assert marked(found)["yes"] == {place for place, room in rooms.items() if room == least}


OPEN_LOAD = """\
quantities:
  - id: vehicle.share
    title: Share
    unit: kg
    formula: regardless(vehicle.mass_in_use) / 2
    source: arithmetic
    holds: vehicle.wheelbase >= 2800 mm
loads:
  - id: share
    title: Share
    per: vehicle
    load: vehicle.share
    made_up_of: [{title: all of it, mass: vehicle.share}]
    limits: [{id: a, title: A, set_by: its label, limit: 1500 kg}]
"""


@pytest.mark.parametrize(
    ("wheelbase", "room"),
    [
        ("2850 mm ± 50 mm", {"value": 50, "unit": "kg"}),
        ("2800 mm ± 50 mm", {"value": None, "unit": "kg", "low": None, "high": None}),
    ],
)
def test_a_load_that_may_have_no_value_leaves_its_room_open(
    tmp_path: Path, wheelbase: str, room: dict[str, Any]
) -> None:
    (tmp_path / "ruleset.yaml").write_text(HEAD + OPEN_LOAD, encoding="utf-8")
    tree = {
        "vehicle": {"mass_in_use": "2900 kg", "wheelbase": wheelbase},
        "modifications": [],
    }
    load = loads(tree, modrules.load_ruleset(tmp_path))["share", "vehicle"]
    assert load["room"] == limits(load)["a"]["room"] == room
    known = {"value": 1450, "unit": "kg"} if room["value"] else None
    assert load["mass"] == load["made_up_of"][0]["mass"] == known


COUNTED = """\
loads:
  - id: aboard
    title: Aboard
    per: vehicle
    load: regardless(vehicle.mass_in_use)
    left_for: {title: people, each: EACH, one: person, many: people, source: asked for}
    limits: [{id: a, title: A, set_by: its label, limit: 3300 kg}]
"""


@pytest.mark.parametrize(
    ("each", "at_least", "at_most"),
    [
        ("largest(seat.mass for each seat if none 80 kg)", 4, 6),
        ("80 kg", 5, 5),
        ("largest(seat.mass for each seat if none 80 kg) - 60 kg", None, None),
        ("-(80 kg)", None, None),
    ],
)
def test_people_are_counted_by_the_heaviest_that_each_may_be(
    tmp_path: Path, each: str, at_least: int | None, at_most: int | None
) -> None:
    text = HEAD + COUNTED.replace("EACH", each)
    (tmp_path / "ruleset.yaml").write_text(text, encoding="utf-8")
    tree = {
        "vehicle": {"mass_in_use": "2900 kg", "seats": "1"},
        "seats": [{"id": "one", "mass": "80 kg ± 20 kg"}],
        "modifications": [],
    }
    left = loads(tree, modrules.load_ruleset(tmp_path))["aboard", "vehicle"]["left_for"]
    assert (left["at_least"], left["at_most"]) == (at_least, at_most)


ALONE = """
ruleset: alone
title: Alone
edition: "1"
in_force: {from: 2026-01-01}
subjects: [{id: vehicle, title: the vehicle}]
facts:
  - id: vehicle.mass
    title: Mass
    type: mass
    unit: kg
    range: {from: 100 kg, to: 9000 kg}
    question: How heavy is it?
    measure: On a scale.
  - {id: vehicle.raised, title: Raised, type: yes_no, question: "Raised?", measure: Look.}
loads:
  - id: whole
    title: Whole
    per: vehicle
    load: vehicle.mass
    limits: [{id: a, title: A, set_by: its label, limit: 3300 kg, applies_if: vehicle.raised}]
"""


@pytest.mark.parametrize(("raised", "binds"), [("yes", "yes"), (None, "perhaps"), ("no", None)])
def test_a_limit_that_is_only_perhaps_in_force_perhaps_binds(
    tmp_path: Path, raised: str | None, binds: str | None
) -> None:
    (tmp_path / "ruleset.yaml").write_text(ALONE, encoding="utf-8")
    vehicle = {"mass": "2900 kg"} | ({"raised": raised} if raised else {})
    tree = {"vehicle": vehicle, "modifications": []}
    load = loads(tree, modrules.load_ruleset(tmp_path))["whole", "vehicle"]
    assert [limit["binds"] for limit in load["limits"]] == ([binds] if binds else [])
