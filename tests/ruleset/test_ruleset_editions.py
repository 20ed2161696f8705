"""Editions side by side, and the one in force on a date."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from ruleset_files import told, write

from modrules.problems import ModrulesError
from modrules.ruleset.load import collect, pick_edition


def edition(name: str, period: str, more: str = "", ruleset: str = "harrow") -> str:
    return f'ruleset: {ruleset}\ntitle: H\nedition: "{name}"\nin_force: {{{period}}}\n{more}'


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """2026 without an end, 2023 that overlaps it, and 2019 that ended; a gap between."""
    return write(
        tmp_path,
        ruleset=edition("2026", "from: 2026-07-01", "editions: [2023, older/2019]\n"),
        **{
            "2023__ruleset": edition("2023", "from: 2023-01-01"),
            "older__2019__ruleset": edition("2019", "from: 2019-01-01, up_to: 2021-12-31"),
        },
    )


@pytest.mark.parametrize(
    ("on", "found"),
    [
        (date(2019, 1, 1), "older/2019"),
        (date(2021, 12, 31), "older/2019"),
        (date(2023, 1, 1), "2023"),
        (date(2026, 6, 30), "2023"),
        (date(2026, 7, 1), "."),
        (date(2099, 1, 1), "."),
    ],
)
def test_the_last_that_came_into_force(folder: Path, on: date, found: str) -> None:
    assert pick_edition(folder, on) == folder / found


@pytest.mark.parametrize("on", [date(2018, 12, 31), date(2022, 6, 1)])
def test_none_in_force(folder: Path, on: date) -> None:
    with pytest.raises(ModrulesError) as caught:
        pick_edition(folder, on)
    (problem,) = caught.value.problems
    assert problem.message == f"no edition of `harrow` is in force on {on}"
    assert problem.hint == (
        "there is: edition 2026 from 2026-07-01; edition 2023 from 2023-01-01; "
        "edition 2019 from 2019-01-01 up to 2021-12-31"
    )


@pytest.mark.parametrize(
    ("other", "message"),
    [
        (edition("2023", "from: 2023-01-01", ruleset="barrow"),
         "this is an edition of `barrow` and not of `harrow`"),
        (edition("2026", "from: 2023-01-01"), "there are two editions `2026`"),
        (edition("2023", "from: 2026-07-01"),
         "the editions `2026` and `2023` come into force on one day, 2026-07-01"),
        (edition("2023", "from: 2023-02-30"), "there is no date 2023-02-30"),
        (edition("2023", "up_to: 2023-02-20"), "this period has no `from`"),
    ],
)  # fmt: skip
def test_editions_that_do_not_go_together(folder: Path, other: str, message: str) -> None:
    write(folder, **{"2023__ruleset": other})
    with pytest.raises(ModrulesError) as caught:
        pick_edition(folder, date(2026, 8, 1))
    assert [each for _, _, _, each in told(caught.value)] == [message]


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("none", "the edition `none` has no ruleset.yaml in a folder of that name"),
        ("../x", "the edition `../x` must be a path inside the folder of the ruleset"),
    ],
)
def test_a_listed_edition_that_is_not_there(folder: Path, name: str, says: str) -> None:
    write(folder, ruleset=edition("2026", "from: 2026-07-01", f"editions: ['{name}']\n"))
    assert [problem.message for problem in collect(folder).errors] == [says]
    with pytest.raises(ModrulesError):
        pick_edition(folder, date(2026, 8, 1))


def test_no_ruleset_at_all(tmp_path: Path) -> None:
    with pytest.raises(ModrulesError, match="this folder holds no ruleset"):
        pick_edition(tmp_path, date(2026, 8, 1))
