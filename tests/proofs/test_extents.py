"""The stretch of values that a gap leaves out, or that two bands name, is said whole."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

import modrules
from modrules.ruleset.words import OUTCOMES

HEAD = """\
ruleset: marrowdale
title: Marrowdale rules
edition: "1"
in_force: {from: 2026-01-01}
builds_on: {ruleset: trade, edition: "1"}
texts: [{id: code, title: Code, edition: "1"}]
certifications:
  - {id: low-plate, title: Low plate, kind: plate, cites: {text: code, clause: "2"}}
  - {id: high-plate, title: High plate, kind: plate, cites: {text: code, clause: "2"}}
checks:
  - id: lift
    title: Lift
    about: suspension
    per: suspension
"""
MEASURE = "    measures: suspension.ride_height_change\n"
PLATE = "outcome: certification required, certification:"


def said(folder: Path, bands: list[str], head: str = MEASURE) -> list[str]:
    rows = "".join(f"      - {{{band}}}\n" for band in bands)
    text = f'{HEAD}{head}    bands:\n{rows}    cites: {{text: code, clause: "1"}}\n'
    (folder / "ruleset.yaml").write_text(text, encoding="utf-8")
    return [problem.message for problem in modrules.proofread(folder).problems]


@pytest.mark.parametrize(
    ("bands", "left_out"),
    [
        (
            ["up_to: 80 mm, outcome: complies", "from: 90 mm, outcome: inspect"],
            "what lies from over 80 mm to under 90 mm",
        ),
        (
            ["under: 80 mm, outcome: complies", "over: 90 mm, outcome: inspect"],
            "what lies from 80 mm to 90 mm",
        ),
        (["under: 80 mm, outcome: complies", "over: 80 mm, outcome: inspect"], "80 mm"),
        (["under: 80 mm, outcome: complies"], "what is 80 mm or more"),
        (["over: 80 mm, outcome: not permitted"], "what is 80 mm or less"),
        (
            [
                "under: 25 mm, outcome: complies",
                "from: 25 mm, under: 55 mm, outcome: complies, only_if: vehicle.off_road_features",
                "from: 55 mm, outcome: not permitted",
            ],
            "what lies from 25 mm to under 55 mm where the condition of band 2 does not hold",
        ),
        (
            [
                "up_to: 1.1 * vehicle.wheelbase / 40, outcome: complies",
                "over: 1.2 * vehicle.wheelbase / 40, outcome: not permitted",
            ],
            "what lies from over 1.1 * vehicle.wheelbase / 40 to 1.2 * vehicle.wheelbase / 40 "
            "for some vehicles",
        ),
        (
            [
                "under: 5 % * vehicle.wheelbase, outcome: complies",
                "over: 5 % * vehicle.wheelbase, outcome: not permitted",
            ],
            "5 % * vehicle.wheelbase for some vehicles",
        ),
        (
            [
                "up_to: 80 mm, outcome: complies",
                "from: vehicle.wheelbase / 20, outcome: not permitted",
            ],
            "what lies from over 80 mm to under vehicle.wheelbase / 20 for some vehicles",
        ),
        (
            ["up_to: 4 % * vehicle.wheelbase, outcome: complies"],
            "what lies over 4 % * vehicle.wheelbase for some vehicles",
        ),
        (
            [
                "under: 1 % * vehicle.wheelbase, outcome: complies",
                "from: 1 % * vehicle.wheelbase, under: 2 % * vehicle.wheelbase, outcome: complies, "
                "only_if: vehicle.off_road_features",
                "from: 2 % * vehicle.wheelbase, outcome: not permitted",
            ],
            "what lies from 1 % * vehicle.wheelbase to under 2 % * vehicle.wheelbase for some "
            "vehicles where the condition of band 2 does not hold",
        ),
    ],
)
def test_a_gap(bands: list[str], left_out: str, tmp_path: Path) -> None:
    asked = any("inspect" in band for band in bands)
    question = "    question: Is it well made?\n" if asked else ""
    (message,) = [m for m in said(tmp_path, bands, question + MEASURE) if "gap" in m]
    assert message.startswith('the bands of "lift" have a gap: no band covers ')
    assert message.endswith(f"covers {left_out}")


@pytest.mark.parametrize(
    ("low", "high"), [("from", "up_to"), ("over", "up_to"), ("from", "under"), ("over", "under")]
)
def test_the_vehicle_of_a_gap_with_reckoned_ends_has_it_all(
    low: str, high: str, tmp_path: Path
) -> None:
    """Just what is named is left out, for the vehicle that is shown."""
    bands = [
        f"{high}: 5 % * vehicle.wheelbase, outcome: complies",
        f"{low}: 6 % * vehicle.wheelbase, outcome: not permitted",
    ]
    (message,) = [m for m in said(tmp_path, bands) if "gap" in m]
    before, after = "over " if high == "up_to" else "", "under " if low == "from" else ""
    first, last = f"{before}5 % * vehicle.wheelbase", f"{after}6 % * vehicle.wheelbase"
    assert message.endswith(f"covers what lies from {first} to {last} for some vehicles")
    result = modrules.proofread(tmp_path)
    assert result.proofs is not None
    (found,) = (each for each in result.proofs.found if each.kind == "gap")
    assert found.example is not None
    wheelbase = Fraction(found.example.given["vehicle"]["wheelbase"].removesuffix(" mm"))
    ruleset = modrules.load_ruleset(tmp_path, on=found.example.on)
    for share, inside in (("4.9", 0), ("5", not before), ("5.5", 1), ("6", not after), ("6.1", 0)):
        height = float(wheelbase * Fraction(share) / 100)
        lift = {"id": "m", "kind": "suspension", "ride_height_change": f"{height} mm"}
        given = {"modifications": [lift], "vehicle": found.example.given["vehicle"]}
        (finding,) = modrules.screen(given, ruleset, on=found.example.on).findings
        assert (finding.possible == tuple(OUTCOMES)) == inside


def test_a_gap_of_words_names_them(tmp_path: Path) -> None:
    bands = ["outcome: complies, only_if: vehicle.off_road_features"]
    (message,) = [m for m in said(tmp_path, bands, "") if "gap" in m]
    assert message.endswith("no band covers vehicle.off_road_features = no")


@pytest.mark.parametrize(
    ("upper", "values"),
    [("over: 50 mm", "values, from over 50 mm to 60 mm,"), ("from: 60 mm", "value, 60 mm,")],
)
def test_an_overlap_names_its_stretch_and_what_it_requires(
    upper: str, values: str, tmp_path: Path
) -> None:
    messages = said(tmp_path, [f"up_to: 60 mm, {PLATE} low-plate", f"{upper}, {PLATE} high-plate"])
    assert (
        f'bands 1 and 2 of "lift" name the same {values} with different outcomes: certification '
        "required (low-plate) counts, certification required (high-plate) does not"
    ) in messages


@pytest.mark.parametrize(("factor", "found"), [("1.05", 1), ("1.1", 0)])
def test_an_overlap_with_ends_that_are_reckoned(factor: str, found: int, tmp_path: Path) -> None:
    reckoned = "vehicle.wheelbase / 40"
    messages = said(
        tmp_path,
        [
            f"up_to: 1.1 * {reckoned}, {PLATE} low-plate",
            f"over: {factor} * {reckoned}, {PLATE} high-plate",
        ],
    )
    assert sum("name the same value" in message for message in messages) == found


def test_what_a_later_edition_uses_is_used() -> None:
    result = modrules.proofread(Path(modrules.__file__).parents[1] / "rulesets/orrinmark/2023")
    assert [problem.message for problem in result.problems] == []


def test_a_shipped_submission_that_cant_be_screened(tmp_path: Path) -> None:
    bands = ["up_to: 60 mm, outcome: complies", "over: 60 mm, outcome: not permitted"]
    (tmp_path / "submissions").mkdir()
    (tmp_path / "submissions" / "wagon.yaml").write_text(
        "submission: Wagon\nmodifications: []\n"
        "evidence:\n  - {id: one, document: alignment, issued: 2026-01-02}\n",
        encoding="utf-8",
    )
    said(tmp_path, bands)
    result = modrules.proofread(tmp_path, proofs=False)
    (problem,) = result.problems
    assert problem.message == 'no certification takes the document "alignment"'
    assert (problem.level, problem.place.line) == ("warning", 4)


def test_bands_that_one_band_takes_are_told_once(tmp_path: Path) -> None:
    bands = [
        "up_to: 900 mm, outcome: complies",
        f"up_to: 60 mm, {PLATE} low-plate",
        f"up_to: 70 mm, {PLATE} high-plate",
        "over: 900 mm, outcome: not permitted",
    ]
    messages = [m for m in said(tmp_path, bands) if m.startswith("band") and "reached" in m]
    words = 'bands 2 and 3 of "lift" are never reached: earlier bands take all that is in them'
    assert words in messages
    assert not any(message.startswith(("band 2", "band 3")) for message in messages)
