"""Folders, listed files, texts, and where rulesets are found."""

from __future__ import annotations

import pickle
import shutil
import subprocess
import sys
from dataclasses import FrozenInstanceError
from pathlib import Path

import pydantic
import pytest
from ruleset_files import check, head, told, write

from modrules.problems import ModrulesError
from modrules.ruleset import find
from modrules.ruleset.load import (
    collect,
    find_ruleset,
    from_canonical,
    read_folder,
    shipped_folder,
    shipped_ids,
)
from modrules.ruleset.words import SECTIONS


def refused(folder: Path) -> list[tuple[str, int, int, str]]:
    with pytest.raises(ModrulesError) as caught:
        read_folder(folder)
    return told(caught.value)


def test_sections_from_all_files_in_order(tmp_path: Path) -> None:
    write(
        tmp_path,
        ruleset=head() + "files: [b.yaml, in/a.yaml]\nchecks:\n" + check("one"),
        b="checks:\n" + check("two"),
        in__a="checks:\n" + check("three") + "kinds: [{id: tyres, title: Tyres}]\n",
    )
    flat = read_folder(tmp_path)
    assert list(flat.checks) == ["one", "two", "three"]
    assert list(flat.kinds) == ["tyres"]
    assert flat.section("kinds") is flat.kinds
    assert flat.chain == (("harrow", "1"),)
    assert flat.folder == tmp_path


def test_everything_that_can_stand_in_a_check(tmp_path: Path) -> None:
    write(
        tmp_path,
        ruleset=head() + "checks:\n"
        "  - id: c\n    title: C\n    about: [tyres, wheels]\n    per: [axle, axle]\n"
        "    applies_if: yes\n    requires: first.track < second.track\n"
        "    exempt_if:\n"
        "      - {condition: no, cites: [{text: t, clause: 4.10}, {text: t, clause: 2}]}\n"
        "    otherwise: inspect\n    question: Q\n    caution: D\n    advice: A\n"
        "    in_force: {from: 2026-07-01, up_to: 2027-06-30}\n"
        '    cites: {text: t, clause: "1", quote: in the clause}\n',
    )
    item = read_folder(tmp_path).checks["c"]
    assert (item.about, item.per) == (("tyres", "wheels"), ("axle", "axle"))
    assert item.exempt_if[0].cites[0].clause == "4.10"
    assert item.cites[0].quote == "in the clause"
    assert item.in_force is not None
    assert str(item.in_force.last_day) == "2027-06-30"
    assert item.requires is not None
    place = item.requires.place_at(14, 26)
    assert place.source[place.column - 1 : place.end_column - 1] == "second.track"
    assert item.exempt_if[0].place.line == item.exempt_if[0].cites[0].place.line == 13


def test_only_a_mistake_imports_jsonschema(tmp_path: Path) -> None:
    write(tmp_path, ruleset=head() + "checks:\n" + check("one"))
    program = (
        "import sys; from pathlib import Path\n"
        "import modrules; assert not {'pydantic', 'yaml'} & set(sys.modules)\n"
        "from modrules.ruleset.load import read_folder\n"
        "read_folder(Path(sys.argv[1])); assert 'jsonschema' not in sys.modules\n"
    )
    subprocess.run([sys.executable, "-c", program, str(tmp_path)], check=True)


def test_nothing_can_be_changed(tmp_path: Path) -> None:
    flat = read_folder(write(tmp_path, ruleset=head() + "checks:\n" + check("one")))
    with pytest.raises(FrozenInstanceError):
        flat.digest = ""  # type: ignore[misc]
    with pytest.raises(TypeError):
        flat.checks["two"] = flat.checks["one"]  # type: ignore[index]
    with pytest.raises(pydantic.ValidationError):
        flat.checks["one"].title = flat.title


class TestFiles:
    """The files that a ruleset lists."""

    @pytest.mark.parametrize("name", ["../b.yaml", "/b.yaml", "a/../../b.yaml", "..\\b.yaml",
                                      "C:/b.yaml", "in\\b.yaml", "\\\\there\\b.yaml"])  # fmt: skip
    def test_outside_the_folder(self, tmp_path: Path, name: str) -> None:
        write(tmp_path, ruleset=head() + f"files: ['{name}']\n")
        ((_, line, column, message),) = refused(tmp_path)
        assert (line, column) == (5, 9)
        assert "must be a path inside the folder of the ruleset" in message

    def test_outside_by_a_link(self, tmp_path: Path) -> None:
        write(tmp_path, b="checks:\n" + check("one"))
        folder = write(tmp_path / "harrow", ruleset=head() + "files: [b.yaml]\n")
        (folder / "b.yaml").symlink_to(tmp_path / "b.yaml")
        ((_, _, _, message),) = refused(folder)
        assert message == "the file `b.yaml` leads out of the folder of the ruleset by a link"

    def test_a_link_that_stays_inside(self, tmp_path: Path) -> None:
        write(tmp_path, ruleset=head() + "files: [b.yaml]\n", a="checks:\n" + check("one"))
        (tmp_path / "b.yaml").symlink_to(tmp_path / "a.yaml")
        assert list(read_folder(tmp_path).checks) == ["one"]

    def test_a_link_to_itself(self, tmp_path: Path) -> None:
        write(tmp_path, ruleset=head() + "files: [b.yaml]\n")
        (tmp_path / "b.yaml").symlink_to(tmp_path / "b.yaml")
        assert len(refused(tmp_path)) == 1

    def test_missing(self, tmp_path: Path) -> None:
        write(tmp_path, ruleset=head() + "files: [none.yaml]\n")
        assert refused(tmp_path) == [
            ("ruleset.yaml", 5, 9, "the listed file `none.yaml` is not there")
        ]

    def test_a_folder(self, tmp_path: Path) -> None:
        write(tmp_path, ruleset=head() + "files: [in]\n", in__a="checks: []\n")
        ((name, _, _, message),) = refused(tmp_path)
        assert (name, message) == ("in", "this is a folder, and a file is expected here")

    @pytest.mark.parametrize("names", ["a.yaml, a.yaml", "a.yaml, ./a.yaml", "ruleset.yaml"])
    def test_listed_twice(self, tmp_path: Path, names: str) -> None:
        write(tmp_path, ruleset=head() + f"files: [{names}]\n", a="checks: []\n")
        ((_, line, _, message),) = refused(tmp_path)
        assert line == 5
        assert message.endswith("is listed twice")

    def test_the_head_of_another_edition_is_no_listed_file(self, tmp_path: Path) -> None:
        write(tmp_path, ruleset=head() + "files: [old/ruleset.yaml]\n", old__ruleset=head())
        assert {message for _, _, _, message in refused(tmp_path)} == {
            f"this listed file has no key `{key}`"
            for key in ("ruleset", "title", "edition", "in_force")
        }


class TestTexts:
    """Shipped copies of texts."""

    TEXT = "texts: [{id: code, title: C, edition: 1, file: texts/code.md}]\n"

    def test_its_path(self, tmp_path: Path) -> None:
        write(tmp_path, ruleset=head() + self.TEXT)
        (tmp_path / "texts").mkdir()
        (tmp_path / "texts" / "code.md").write_text("1. Text.\n")
        assert read_folder(tmp_path).text_files == {"code": tmp_path / "texts" / "code.md"}

    def test_a_missing_one_is_said_and_is_no_bar(self, tmp_path: Path) -> None:
        write(tmp_path, ruleset=head() + self.TEXT)
        collected = collect(tmp_path)
        (problem,) = collected.problems
        assert problem.level == "warning"
        assert (
            problem.message == "the text `code` names the file `texts/code.md`, which is not there"
        )
        assert collected.errors == ()
        assert read_folder(tmp_path).text_files == {}

    def test_outside(self, tmp_path: Path) -> None:
        write(tmp_path, ruleset=head() + self.TEXT.replace("texts/", "../"))
        ((_, _, _, message),) = refused(tmp_path)
        assert "must be a path inside the folder of the ruleset" in message


class TestSaved:
    """The same ruleset from its canonical bytes, and from a pickle."""

    @pytest.mark.parametrize("name", shipped_ids())
    def test_shipped_rulesets_come_back_the_same(self, name: str) -> None:
        collected = collect(shipped_folder() / name)
        flat = collected.ruleset
        again = from_canonical(flat.canonical, flat.text_files, flat.folder)
        assert again == flat
        assert hash(again) == hash(flat)
        assert again.digest == flat.digest
        assert again.chain == flat.chain
        assert again.cautions == flat.cautions
        assert again.in_force == flat.in_force
        for section in SECTIONS:
            assert list(again.section(section)) == list(flat.section(section))
        pickled = pickle.loads(pickle.dumps(flat))
        assert pickled == flat
        assert pickled.text_files == flat.text_files

    def test_what_is_not_written_differs(self, tmp_path: Path) -> None:
        one = read_folder(write(tmp_path, ruleset=head("one")))
        other = read_folder(write(tmp_path, ruleset=head("other")))
        assert one != other
        assert one != one.digest

    @pytest.mark.parametrize("data", [b"", b"[]", b"{}", b'{"form":1}', b'{"form":0}', b"\xff",
                                      b'{"form":1,"chain":[],"sections":{"checks":[{}]}}',
                                      ])  # fmt: skip
    def test_other_bytes_are_refused(self, data: bytes) -> None:
        with pytest.raises(ModrulesError, match="not the bytes of a saved ruleset"):
            from_canonical(data)


class TestFinding:
    """Rulesets by folder and by id."""

    def test_shipped_ones(self) -> None:
        assert "trade" in shipped_ids()
        assert find_ruleset("trade") == shipped_folder() / "trade"
        assert read_folder(Path("trade")).id == "trade"

    def test_a_folder_comes_first(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.chdir(tmp_path)
        (tmp_path / "trade").mkdir()
        assert find_ruleset("trade") == shipped_folder() / "trade"
        write(tmp_path / "trade", ruleset=head())
        assert find_ruleset("trade") == Path("trade")

    def test_in_a_wheel(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        place = tmp_path / "modrules" / "ruleset" / "find.py"
        shipped = tmp_path / "modrules" / "shipped" / "rulesets"
        write(shipped / "harrow", ruleset=head())
        # A folder of that name beside the package is not the package's.
        write(tmp_path / "rulesets" / "stranger", ruleset=head("stranger"))
        monkeypatch.setattr(find, "__file__", str(place))
        assert shipped_folder() == shipped
        assert shipped_ids() == ["harrow"]
        shutil.rmtree(shipped)
        assert shipped_ids() == []

    @pytest.mark.parametrize(
        ("name", "says", "hint"),
        [
            ("trad", "there is no ruleset of this name", 'did you mean "trade"?'),
            ("zzz", "there is no ruleset of this name", "shipped are: "),
            ("", "this folder holds no ruleset", "shipped are: "),
            ("a\0b", "there is no ruleset of this name", "shipped are: "),
            ("folder", "this folder holds no ruleset", "shipped are: "),
            ("file", "this is a file, and the folder of a ruleset is expected", "shipped are: "),
        ],
    )
    def test_none(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str, says: str, hint: str
    ) -> None:
        monkeypatch.chdir(tmp_path)
        (tmp_path / "folder").mkdir()
        (tmp_path / "file").write_text("a: 1\n")
        with pytest.raises(ModrulesError) as caught:
            find_ruleset(name)
        (problem,) = caught.value.problems
        assert problem.message.startswith(says)
        assert problem.hint.startswith(hint)
        with pytest.raises(ModrulesError, match=says):
            read_folder(Path(name))
