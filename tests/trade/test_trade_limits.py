"""Limits: room, the binding one, and what an upgrade changes."""

from __future__ import annotations

import pytest

from modrules.trade.limits import Limit, binding, margins, tyre_limit, upgraded, wheel_limit
from modrules.trade.ranges import Range, TradeError

GROSS = Limit("gross mass", "gross", 3000, "compliance plate")
FRONT = Limit("front axle", "front axle", 1450, "compliance plate")
REAR = Limit("rear axle", "rear axle", 1700, "compliance plate")


def test_the_binding_limit_is_named() -> None:
    found = margins(
        {"gross": 2900, "front axle": 1250, "rear axle": 1650},
        (GROSS, FRONT, REAR, tyre_limit("rear axle", 109), wheel_limit(
            "rear axle", 950, document="wheel stamp")),
    )  # fmt: skip
    assert [row.room.exact for row in found] == [100, 200, 50, 410, 250]
    assert all(row.met for row in found)
    assert [row.limit.name for row in binding(found)] == ["rear axle"]


def test_over_a_limit_is_not_met_and_at_it_is() -> None:
    over, at = margins({"gross": 3001}, [GROSS]), margins({"gross": 3000}, [GROSS])
    assert (over[0].met, over[0].room.exact) == (False, -1)
    assert (at[0].met, at[0].room.exact) == (True, 0)


def test_a_load_within_a_tolerance_leaves_the_binding_limit_open() -> None:
    found = margins({"gross": (2880, 2960), "rear axle": 1620}, (GROSS, REAR))
    assert [row.met for row in found] == [True, True]
    assert [row.limit.name for row in binding(found)] == ["gross mass", "rear axle"]


def test_an_unknown_load_leaves_its_limit_open() -> None:
    found = margins({"gross": 2900}, (GROSS, REAR))
    assert [row.met for row in found] == [True, None]
    assert found[1].room == Range(None, None)
    assert len(binding(found)) == 2
    assert binding(found[1:]) == found[1:]


def test_an_unknown_limit_is_never_met() -> None:
    found = margins({"gross": 2900}, [Limit("gross mass", "gross", None, "not found")])
    assert found[0].met is None


def test_a_part_of_unknown_mass_matters_only_where_it_may_go_over() -> None:
    found = margins({"gross": Range(3100, None), "rear axle": Range(950, None)}, (GROSS, REAR))
    assert [row.met for row in found] == [False, None]


def test_tyres_twin_and_single() -> None:
    assert tyre_limit("rear axle", 116).kg == 2500
    assert tyre_limit("rear axle", 114, tyres=4).kg == 4720
    with pytest.raises(TradeError, match="load index 200 is not on the table"):
        tyre_limit("rear axle", 200)
    with pytest.raises(TradeError, match="two tyres or four"):
        tyre_limit("rear axle", 116, tyres=3)


def test_an_upgrade_shows_both_and_the_document() -> None:
    plate = Limit("gross mass", "gross", 3300, "upgrade certificate")
    rows = upgraded((GROSS, REAR), [plate])
    assert [(row.before.kg, row.after.kg, row.after.document) for row in rows] == [
        (3000, 3300, "upgrade certificate"),
        (1700, 1700, "compliance plate"),
    ]


def test_an_upgrade_creates_no_limit_and_moves_none() -> None:
    with pytest.raises(TradeError, match='no limit "roof" to upgrade'):
        upgraded([GROSS], [Limit("roof", "roof", 100, "certificate")])
    with pytest.raises(TradeError, match="is on gross, not on roof"):
        upgraded([GROSS], [Limit("gross mass", "roof", 100, "certificate")])


def test_a_limit_is_on_a_known_load_and_not_negative() -> None:
    with pytest.raises(TradeError, match='"bonnet" is no load'):
        Limit("x", "bonnet", 100, "none")
    with pytest.raises(TradeError, match='"bonnet" is no load'):
        margins({"bonnet": 1}, [GROSS])
    with pytest.raises(TradeError, match="can't be -5"):
        Limit("x", "gross", -5, "none")
