"""Kept rulesets: the same as made anew, and never used when something has changed."""

from __future__ import annotations

import datetime
import os
import shutil
from pathlib import Path

import pytest

import modrules
from modrules import kept as entries
from modrules.ruleset.find import shipped_folder
from modrules.screening import cache

ON = datetime.date(2026, 11, 1)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of a shipped ruleset, with a cache of its own beside it."""
    monkeypatch.setenv("MODRULES_CACHE", str(tmp_path / "cache"))
    copy = tmp_path / "orrinmark"
    shutil.copytree(shipped_folder() / "orrinmark", copy)
    return copy


def _kept(folder: Path) -> modrules.Ruleset | None:
    return cache.find(folder, ON)


def test_a_kept_ruleset_gives_the_same_report(folder: Path) -> None:
    anew = modrules.load_ruleset(folder, on=ON, cache=True)
    kept = _kept(folder)
    assert kept is not None
    assert kept.digest == anew.digest
    for path in sorted((folder / "submissions").glob("*.yaml")):
        reports = [modrules.screen(path, each, on=ON).to_dict() for each in (anew, kept)]
        assert reports[0] == reports[1], path.name


def test_without_being_asked_nothing_is_kept(folder: Path, tmp_path: Path) -> None:
    modrules.load_ruleset(folder, on=ON)
    assert not (tmp_path / "cache").exists()


def test_a_changed_file_is_noticed(folder: Path) -> None:
    before = modrules.load_ruleset(folder, on=ON, cache=True)
    head = folder / "ruleset.yaml"
    text = head.read_text(encoding="utf-8").replace("title: Orrinmark", "title: Changed", 1)
    head.write_text(text, encoding="utf-8")
    assert _kept(folder) is None
    assert modrules.load_ruleset(folder, on=ON, cache=True).digest != before.digest


def test_a_new_edition_is_noticed(folder: Path) -> None:
    modrules.load_ruleset(folder, on=ON, cache=True)
    older = folder / "2023" / "ruleset.yaml"
    older.write_text(older.read_text(encoding="utf-8") + "\n# one more line\n", encoding="utf-8")
    assert _kept(folder) is None


@pytest.mark.parametrize("damage", [b"", b"garbage", None])
def test_a_damaged_entry_is_passed_over(damage: bytes | None, folder: Path, tmp_path: Path) -> None:
    modrules.load_ruleset(folder, on=ON, cache=True)
    (entry,) = (tmp_path / "cache").glob("*.ruleset")
    data = entry.read_bytes()
    entry.write_bytes(data[:-10] + b"0123456789" if damage is None else damage)
    assert _kept(folder) is None
    assert modrules.load_ruleset(folder, on=ON, cache=True).id == "orrinmark"


def test_a_folder_that_others_can_write_to_is_not_read(folder: Path, tmp_path: Path) -> None:
    modrules.load_ruleset(folder, on=ON, cache=True)
    assert _kept(folder) is not None
    (tmp_path / "cache").chmod(0o777)
    assert _kept(folder) is None


def test_a_kept_ruleset_can_not_be_changed(folder: Path) -> None:
    modrules.load_ruleset(folder, on=ON, cache=True)
    kept = _kept(folder)
    assert kept is not None
    check = next(iter(kept.flat.checks.values()))
    with pytest.raises(AttributeError):
        check.title = "Other"


def _marked(text: Path, name: str) -> None:
    """Puts a name into the words of a text, so that it is seen out of which one words come."""
    words = text.read_text(encoding="utf-8").replace(" must ", f" must ({name}) ")
    text.write_text(words, encoding="utf-8")


@pytest.mark.parametrize("kept", [True, False])
def test_texts_and_pins_are_those_of_the_ruleset_in_whatever_folder_one_is(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, kept: bool
) -> None:
    """Two folders hold a ruleset of one name; from each, the ruleset of the first is asked for."""
    for name in ("one", "two"):
        shutil.copytree(folder, tmp_path / name / "code")
        _marked(tmp_path / name / "code" / "texts" / "code.md", name)
    submission = folder / "submissions" / "compliant.yaml"

    def report(ruleset: modrules.Ruleset) -> str:
        return str(modrules.screen(submission, ruleset, on=ON).to_dict())

    reports = []
    for here, there in (("one", "code"), ("two", "../one/code")):
        monkeypatch.chdir(tmp_path / here)
        reports.append(report(modrules.load_ruleset(there, on=ON, cache=kept)))
    assert reports[0] == reports[1]
    assert "must (one)" in reports[0]
    # And the folder may change between loading and screening.
    ruleset = modrules.load_ruleset("code", on=ON, cache=kept)
    monkeypatch.chdir(tmp_path)
    assert "must (two)" in report(ruleset)
    assert str(tmp_path) not in report(ruleset)


def test_engines_that_differ_in_an_older_file_share_no_entry(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def named(package: Path) -> str:
        monkeypatch.setattr(entries, "_PACKAGE", package)
        entries._engine.cache_clear()  # as in another process
        return entries.name_of("ruleset", "a key")

    package = tmp_path / "package"
    package.mkdir()
    for name in ("old.py", "new.py"):
        (package / name).write_text("a = 1\n", encoding="utf-8")
    os.utime(package / "new.py", ns=(2**60, 2**60))
    first = named(package)
    assert named(package) == first
    (package / "old.py").write_text("a = 2\n", encoding="utf-8")
    os.utime(package / "old.py", ns=(2**59, 2**59))
    second = named(package)
    assert second != first
    shutil.copytree(package, tmp_path / "copy")
    assert named(tmp_path / "copy") != second
