"""Building on another ruleset: what it comes to, and what is refused."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from ruleset_files import check, head, told, write

from modrules.problems import ModrulesError
from modrules.ruleset.load import FlatRuleset, collect, read_folder

ON_BASE = 'builds_on: {ruleset: base, edition: "1"}\n'


@pytest.fixture
def library(tmp_path: Path) -> Path:
    """A folder of rulesets with ``base``, which has three checks and two conditions."""
    write(
        tmp_path / "base",
        ruleset=head("base")
        + "files: [checks.yaml]\ncautions: [Of the base.]\n"
        + "conditions: [{id: unladen, title: U}, {id: laden, title: L}]\n",
        checks="checks:\n" + check("one") + check("two") + check("three"),
    )
    return tmp_path


def flat(library: Path, text: str, **files: str) -> FlatRuleset:
    """What ``top`` comes to, with ``text`` after its head."""
    write(library / "top", ruleset=head("top") + text, **files)
    return read_folder(library / "top", [library])


def refused(library: Path, text: str, **files: str) -> list[tuple[str, int, int, str]]:
    with pytest.raises(ModrulesError) as caught:
        flat(library, text, **files)
    return told(caught.value)


class TestFlattened:
    """What a ruleset on another comes to."""

    def test_nothing_of_its_own(self, library: Path) -> None:
        top = flat(library, ON_BASE)
        assert (top.id, top.edition) == ("top", "1")
        assert top.chain == (("base", "1"), ("top", "1"))
        assert list(top.checks) == ["one", "two", "three"]
        assert list(top.conditions) == ["unladen", "laden"]
        assert top.checks == read_folder(library / "base").checks

    def test_adding_replacing_and_withdrawing(self, library: Path) -> None:
        top = flat(
            library,
            ON_BASE + "removes: [{section: checks, id: two, reason: It is gone.}]\n",
        )
        assert list(top.checks) == ["one", "three"]
        top = flat(
            library,
            ON_BASE
            + "removes: [{section: checks, id: two, reason: It is gone.}]\n"
            + "checks:\n"
            + check("four")
            + check("one", "replaces: true\nadvice: New."),
        )
        assert list(top.checks) == ["one", "three", "four"]
        assert top.checks["one"].advice == "New."
        assert top.checks["one"].place.file.endswith("top/ruleset.yaml")
        assert top.checks["three"].place.file.endswith("base/checks.yaml")

    def test_a_replaced_item_is_swapped_whole(self, library: Path) -> None:
        below = library / "base" / "checks.yaml"
        below.write_text("checks:\n" + check("one", "advice: Old.\ncaution: Old."))
        top = flat(library, ON_BASE + "checks:\n" + check("one", "replaces: true"))
        assert top.checks["one"].advice is None
        assert top.checks["one"].caution is None

    def test_the_same_id_in_two_sections_is_no_clash(self, library: Path) -> None:
        top = flat(library, ON_BASE + "kinds: [{id: unladen, title: K}]\n")
        assert list(top.kinds) == ["unladen"]

    def test_cautions_of_all_from_the_bottom_up(self, library: Path) -> None:
        top = flat(library, ON_BASE + "cautions: [Of the top., Of the base.]\n")
        assert top.cautions == ("Of the base.", "Of the top.")

    def test_three_floors(self, library: Path) -> None:
        write(
            library / "middle",
            ruleset=head("middle")
            + ON_BASE
            + "checks:\n"
            + check("two", "replaces: true\nadvice: Middle."),
        )
        top = flat(
            library,
            'builds_on: {ruleset: middle, edition: "1"}\n'
            "removes: [{section: checks, id: one, reason: r}]\n",
        )
        assert top.chain == (("base", "1"), ("middle", "1"), ("top", "1"))
        assert list(top.checks) == ["two", "three"]
        assert top.checks["two"].advice == "Middle."

    def test_a_folder_inside(self, library: Path) -> None:
        write(library / "top" / "2023", ruleset=head("top", "2023") + "checks:\n" + check("old"))
        top = flat(library, "builds_on: {folder: 2023}\nchecks:\n" + check("new"))
        assert top.chain == (("top", "2023"), ("top", "1"))
        assert list(top.checks) == ["old", "new"]

    def test_a_library_of_the_folder_itself(self, library: Path) -> None:
        write(library / "top", ruleset=head("top") + ON_BASE)
        shutil.move(library / "base", library / "elsewhere")
        top = read_folder(library / "top", [library / "elsewhere"])
        assert top.chain[0] == ("base", "1")

    def test_an_edition_of_the_ruleset_underneath(self, library: Path) -> None:
        write(library / "base" / "old", ruleset=head("base", "0.9") + "checks:\n" + check("old"))
        path = library / "base" / "ruleset.yaml"
        path.write_text(path.read_text() + "editions: [old]\n")
        top = flat(library, 'builds_on: {ruleset: base, edition: "0.9"}\n')
        assert list(top.checks) == ["old"]

    def test_texts_lie_where_their_ruleset_does(self, library: Path) -> None:
        for name in ("base", "top"):
            (library / name).mkdir(exist_ok=True)
            (library / name / "code.md").write_text("1. Text.\n")
        path = library / "base" / "ruleset.yaml"
        text = "texts: [{id: code, title: T, edition: 1, file: code.md}]\n"
        path.write_text(path.read_text() + text)
        assert flat(library, ON_BASE).text_files == {"code": library / "base" / "code.md"}
        replaced = text.replace("file", "replaces: true, file")
        top = flat(library, ON_BASE + replaced)
        assert top.text_files == {"code": library / "top" / "code.md"}
        without = replaced.replace(", file: code.md", "")
        assert flat(library, ON_BASE + without).text_files == {}
        removed = flat(library, ON_BASE + "removes: [{section: texts, id: code, reason: r}]\n")
        assert removed.text_files == {}


class TestRefused:
    """Nothing is overridden by accident, and nothing explicit is without effect."""

    def test_an_id_that_is_there(self, library: Path) -> None:
        with pytest.raises(ModrulesError) as caught:
            flat(library, ON_BASE + "checks:\n" + check("two"))
        assert told(caught.value) == [
            ("ruleset.yaml", 7, 9, "there is a check `two` in `base` already")
        ]
        hint = caught.value.problems[0].hint
        assert "base/checks.yaml:8:9; write `replaces: true`" in hint

    def test_an_id_twice_in_one_ruleset(self, library: Path) -> None:
        write(library / "top", more="checks:\n" + check("four"))
        with pytest.raises(ModrulesError) as caught:
            flat(library, ON_BASE + "files: [more.yaml]\nchecks:\n" + check("four"))
        (problem,) = caught.value.problems
        assert problem.message == "there is a check `four` already"
        assert problem.place is not None
        assert problem.place.file.endswith("top/more.yaml")
        assert "top/ruleset.yaml:8:9" in problem.hint

    def test_replacing_nothing(self, library: Path) -> None:
        with pytest.raises(ModrulesError) as caught:
            flat(library, ON_BASE + "checks:\n" + check("thre", "replaces: true"))
        (problem,) = caught.value.problems
        assert problem.message == "the check `thre` replaces nothing: `base` has none of this id"
        assert problem.hint == 'did you mean "three"?'

    def test_replacing_without_building_on(self, library: Path) -> None:
        (problem,) = refused(library, "checks:\n" + check("one", "replaces: true"))
        assert problem[3] == "the check `one` replaces nothing: it builds on no other"

    def test_withdrawing_nothing(self, library: Path) -> None:
        with pytest.raises(ModrulesError) as caught:
            flat(library, ON_BASE + "removes: [{section: conditions, id: unladn, reason: r}]\n")
        (problem,) = caught.value.problems
        expected = "the condition `unladn` is not in `base` and cannot be withdrawn"
        assert problem.message == expected
        assert problem.hint == 'did you mean "unladen"?'
        assert problem.place is not None
        assert (problem.place.line, problem.place.column) == (6, 37)

    def test_withdrawing_without_building_on(self, library: Path) -> None:
        (problem,) = refused(library, "removes: [{section: checks, id: one, reason: r}]\n")
        assert "this ruleset builds on no other" in problem[3]

    def test_withdrawing_twice(self, library: Path) -> None:
        entry = "{section: checks, id: one, reason: r}"
        (problem,) = refused(library, ON_BASE + f"removes: [{entry}, {entry}]\n")
        assert problem[3] == "the check `one` is withdrawn twice"

    @pytest.mark.parametrize("more", ["", "replaces: true"])
    def test_withdrawing_and_giving(self, library: Path, more: str) -> None:
        removes = "removes: [{section: checks, id: one, reason: r}]\n"
        (problem,) = refused(library, ON_BASE + removes + "checks:\n" + check("one", more))
        assert problem[3] == "the check `one` is withdrawn and given as well"

    def test_no_such_ruleset(self, library: Path) -> None:
        with pytest.raises(ModrulesError) as caught:
            flat(library, 'builds_on: {ruleset: bass, edition: "1"}\n')
        (problem,) = caught.value.problems
        assert problem.message == "there is no ruleset `bass` to build on"
        assert problem.hint == 'did you mean "base"?'
        assert problem.place is not None
        assert (problem.place.line, problem.place.column) == (5, 22)

    def test_another_edition(self, library: Path) -> None:
        with pytest.raises(ModrulesError) as caught:
            flat(library, 'builds_on: {ruleset: base, edition: "2"}\n')
        (problem,) = caught.value.problems
        assert problem.message == "there is no edition `2` of `base`"
        assert problem.hint == "there is: 1"

    def test_no_edition(self, library: Path) -> None:
        (problem,) = refused(library, "builds_on: {ruleset: base}\n")
        assert problem[3] == "`builds_on` does not say which edition of `base` is meant"

    def test_another_edition_in_a_folder(self, library: Path) -> None:
        write(library / "top" / "2023", ruleset=head("top", "2023-1"))
        (problem,) = refused(library, "builds_on: {folder: 2023, edition: 2023}\n")
        assert problem[3] == "`2023` holds the edition `2023-1`, and `2023` is asked for"

    @pytest.mark.parametrize("value", ["{}", "{edition: 1}", "{ruleset: base, folder: x}"])
    def test_neither_or_both(self, library: Path, value: str) -> None:
        (problem,) = refused(library, f"builds_on: {value}\n")
        assert problem[3] == "`builds_on` names either a `ruleset` or a `folder`"
        assert problem[0] == "ruleset.yaml"
        assert problem[1] > 0

    def test_a_folder_without_a_ruleset(self, library: Path) -> None:
        (problem,) = refused(library, "builds_on: {folder: none}\n")
        assert problem[3] == (
            "the folder `none`, on which this ruleset builds, has no ruleset.yaml"
        )

    @pytest.mark.parametrize("name", ["../base", "/etc", "a/../../base", "..\\base", "C:\\base"])
    def test_a_folder_outside(self, library: Path, name: str) -> None:
        (problem,) = refused(library, f"builds_on: {{folder: '{name}'}}\n")
        assert "must be a path inside the folder of the ruleset" in problem[3]

    def test_a_folder_outside_by_a_link(self, library: Path) -> None:
        (library / "top").mkdir()
        (library / "top" / "link").symlink_to(library / "base")
        (problem,) = refused(library, "builds_on: {folder: link}\n")
        assert "leads out of the folder of the ruleset by a link" in problem[3]

    def test_what_is_wrong_underneath_is_told_too(self, library: Path) -> None:
        (library / "base" / "checks.yaml").write_text("checks:\n" + check("one", "colour: red"))
        found = refused(library, ON_BASE + "colour: red\n")
        assert [(name, message) for name, _, _, message in found] == [
            ("checks.yaml", "the check `one` has no key `colour`"),
            ("ruleset.yaml", "this ruleset has no key `colour`"),
        ]

    def test_a_wrong_item_underneath_brings_no_further_problems(self, library: Path) -> None:
        (library / "base" / "checks.yaml").write_text(
            "checks:\n" + check("one", "colour: red") + check("two", "colour: red")
        )
        found = refused(
            library,
            ON_BASE
            + "removes: [{section: checks, id: two, reason: r}]\n"
            + "checks:\n"
            + check("one", "replaces: true"),
        )
        assert [message for _, _, _, message in found] == [
            "the check `one` has no key `colour`",
            "the check `two` has no key `colour`",
        ]
        collected = collect(library / "top", [library])
        assert collected.left_out == frozenset()

    def test_a_lost_file_underneath_brings_no_further_problems(self, library: Path) -> None:
        (library / "base" / "checks.yaml").unlink()
        found = refused(
            library,
            ON_BASE
            + "removes: [{section: checks, id: two, reason: r}]\n"
            + "checks:\n"
            + check("one", "replaces: true"),
        )
        assert [message for _, _, _, message in found] == [
            "the listed file `checks.yaml` is not there"
        ]

    @pytest.mark.parametrize("missing", ["ruleset", "edition"])
    def test_a_head_underneath_that_does_not_say_what_it_is(
        self, library: Path, missing: str
    ) -> None:
        path = library / "base" / "ruleset.yaml"
        lines = path.read_text().splitlines(keepends=True)
        path.write_text("".join(line for line in lines if not line.startswith(missing)))
        found = refused(library, ON_BASE)
        assert [message for _, _, _, message in found] == [f"this ruleset has no `{missing}`"]


class TestCircles:
    """A ruleset cannot stand on itself."""

    def test_on_its_own_id(self, library: Path) -> None:
        (problem,) = refused(library, 'builds_on: {ruleset: top, edition: "1"}\n')
        assert problem == ("ruleset.yaml", 5, 22, "the ruleset `top` builds on itself")

    def test_on_its_own_folder(self, library: Path) -> None:
        (problem,) = refused(library, "builds_on: {folder: .}\n")
        assert problem[3] == "the ruleset `top` builds on itself"

    def test_on_its_own_folder_without_saying_what_it_is(self, library: Path) -> None:
        write(library / "top", ruleset="ruleset: top\nbuilds_on: {folder: .}\n")
        with pytest.raises(ModrulesError) as caught:
            read_folder(library / "top")
        assert [message for _, _, _, message in told(caught.value)] == [
            "this ruleset has no `title` and `edition` and `in_force`",
            "the ruleset `top` builds on itself",
        ]

    def test_on_a_copy_of_itself(self, library: Path) -> None:
        write(library / "top" / "copy", ruleset=head("top"))
        (problem,) = refused(library, "builds_on: {folder: copy}\n")
        assert problem[3] == "the ruleset `top` builds on itself"

    def test_by_way_of_another(self, library: Path) -> None:
        for name, below in (("a", "b"), ("b", "c"), ("c", "b")):
            text = f'builds_on: {{ruleset: {below}, edition: "1"}}\n'
            write(library / name, ruleset=head(name) + text)
        with pytest.raises(ModrulesError) as caught:
            read_folder(library / "a", [library])
        (problem,) = told(caught.value)
        assert problem[3] == "the ruleset `b` builds on itself: `b` on `c` on `b`"

    def test_a_tower_that_is_too_high(self, library: Path) -> None:
        for number in range(25):
            text = f'builds_on: {{ruleset: r{number + 1}, edition: "1"}}\n'
            write(library / f"r{number}", ruleset=head(f"r{number}") + text)
        with pytest.raises(ModrulesError, match="more than 20 rulesets build on each other"):
            read_folder(library / "r0", [library])
