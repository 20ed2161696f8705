"""On which sides of each limit a worked case stands."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

import modrules
from modrules import cli
from modrules.author_commands import load
from modrules.proofs.cases import read_cases, run_case
from modrules.proofs.edges import Edge, touched

RULESET = """\
ruleset: edges
title: Edges
edition: "1"
in_force: {from: 2026-01-01}
builds_on: {ruleset: trade, edition: "1"}
texts: [{id: code, title: Code, edition: "1"}]
checks:
  - id: lift
    title: Lift
    about: suspension
    per: suspension
    applies_if: vehicle.built >= 2001-01-01
    measures: suspension.ride_height_change
    bands:
      - {up_to: 50 mm, outcome: complies}
      - {over: 50 mm, up_to: 7.5 cm, outcome: certification required, certification: plate}
      - {over: 7.5 cm, outcome: not permitted}
    cites: {text: code, clause: "1"}
  - id: axles
    title: Axles
    about: vehicle
    per: vehicle
    requires: all(axle.track >= vehicle.wheelbase for each axle)
    cites: {text: code, clause: "2"}
certifications: [{id: plate, title: Plate, kind: plate}]
"""


def case(number: int, of: str, given: str) -> str:
    return (
        f'  - {{case: "{number}", of: {of}, source: "1", on: 2026-06-01, given: {{{given}}}, '
        "expect: caution}\n"
    )


def lift(number: int, height: str, built: str = "2010-01-01") -> str:
    given = f"vehicle: {{built: {built}}}, modifications: [{{id: m, kind: suspension, "
    return case(number, "lift", f"{given}ride_height_change: {height}}}]")


def axles(number: int, *tracks: str) -> str:
    listed = ", ".join(f'{{id: "{n}", track: {track}}}' for n, track in enumerate(tracks))
    return case(number, "axles", f"vehicle: {{wheelbase: 2000 mm}}, axles: [{listed}]")


def written(folder: Path, *cases: str) -> Path:
    (folder / "cases").mkdir(parents=True)
    (folder / "ruleset.yaml").write_text(RULESET, encoding="utf-8")
    (folder / "cases" / "all.yaml").write_text(
        "".join(("cases:\n", *cases)) if cases else "cases: []\n", encoding="utf-8"
    )
    return folder


def edges(folder: Path) -> dict[tuple[str, str], Edge]:
    ruleset = load(str(folder)).ruleset
    cases, problems = read_cases(folder)
    assert problems == []
    found = touched(ruleset, [run_case(ruleset, each) for each in cases])
    return {(edge.check, edge.limit.words): edge for edge in found}


HEIGHT = "suspension.ride_height_change against"
FIRST, SECOND = ("lift", f"{HEIGHT} 50 mm"), ("lift", f"{HEIGHT} 7.5 cm")
BUILT = ("lift", "vehicle.built against 2001-01-01")
TRACK = ("axles", "vehicle.wheelbase against axle.track")


def test_one_step_is_as_fine_as_the_limit_is_written(tmp_path: Path) -> None:
    found = edges(written(tmp_path / "a"))
    assert {key: edge.limit.step for key, edge in found.items()} == {
        FIRST: Fraction(1, 1000),
        SECOND: Fraction(1, 1000),
        BUILT: 1,
        TRACK: Fraction(1, 1000),
    }


@pytest.mark.parametrize(
    ("heights", "lacking"),
    [
        ((), ("on", "just under", "just over")),
        (("50 mm",), ("just under", "just over")),
        (("50 mm", "51 mm"), ("just under",)),
        (("50 mm", "50.5 mm", "49 mm"), ()),
        (("48.9 mm", "51.1 mm"), ("on", "just under", "just over")),
        # Not known exactly: it stands nowhere.
        (("50 mm ± 1 mm",), ("on", "just under", "just over")),
    ],
)
def test_where_cases_stand(
    heights: tuple[str, ...], lacking: tuple[str, ...], tmp_path: Path
) -> None:
    cases = [lift(n, height) for n, height in enumerate(heights)]
    edge = edges(written(tmp_path / "a", *cases))[FIRST]
    assert edge.lacking == lacking
    # The comparison turns between the limit, which is still allowed, and just over it.
    assert edge.turns_unseen == ("on" in lacking or "just over" in lacking)


def test_a_case_to_which_the_check_does_not_apply_shows_its_condition_only(tmp_path: Path) -> None:
    before = lift(1, "50 mm", built="2000-12-31")
    found = edges(written(tmp_path / "a", before))
    assert "on" in found[FIRST].lacking
    assert found[BUILT].lacking == ("on", "just over")
    assert found[BUILT].limit.turning == ("on", "just under")


def test_limits_inside_lists_are_seen_for_each_member(tmp_path: Path) -> None:
    found = edges(written(tmp_path / "a", axles(1, "2000 mm", "1999 mm")))
    assert found[TRACK].lacking == ("just under",)
    assert not found[TRACK].turns_unseen
    # One millimetre more in the wheelbase than in the track is just over the track.
    assert found[TRACK].limit.turning == ("on", "just over")


def test_proofreading_lists_them_and_counts_them_as_problems_only_if_asked(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    cases = [
        lift(1, "50 mm").replace("caution", "complies"),
        lift(2, "51 mm").replace("caution", "certification required"),
    ]
    folder = written(tmp_path / "a", *cases)
    result = modrules.proofread(folder, proofs=False)
    said = "\n".join(result.summary)
    assert "limits with a case on each and one just where it turns: 1 of 4" in said
    assert (
        f"  lift: no case on or just under or just over the limit: {' '.join(SECOND[1:])}" in said
    )
    assert result.clean
    assert cli.main(["proofread", str(folder), "--no-proofs"]) == 0
    assert cli.main(["proofread", str(folder), "--no-proofs", "--complete"]) == 1
    said = " ".join(capsys.readouterr().out.split())
    assert 'of "lift", no case on or just under or just over the limit' in said
    assert 'of "axles", no case comes to complies, not permitted, open' in said
    problems = modrules.proofread(folder, proofs=False, complete=True).problems
    assert {problem.level for problem in problems} == {"warning"}
    assert all(problem.place is not None and problem.place.line for problem in problems)
