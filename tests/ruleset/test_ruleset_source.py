"""Reading files into the plain tree, and every way in which a file is refused."""

from __future__ import annotations

import gc
import json
import os
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from modrules.problems import ModrulesError
from modrules.ruleset import source
from modrules.ruleset.source import collector_paused, parse_yaml, read_mapping, read_yaml
from modrules.ruleset.tree import Blank, Map, Scalar, Seq


@pytest.fixture(params=["CSafeLoader", "SafeLoader"])
def parser(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> str:
    """Both parsers: the one in C, and the one that stands in where that is not built."""
    loader = getattr(yaml, request.param, None)
    assert loader is not None, "the tests need the parser in C as well"
    monkeypatch.setattr(source, "_PARSER", loader)
    return str(request.param)


def refused(text: str) -> list[tuple[int, int, str]]:
    """(line, column, message) of everything for which the text is refused."""
    with pytest.raises(ModrulesError) as caught:
        parse_yaml(text, "some.yaml")
    return [
        (problem.place.line, problem.place.column, problem.message)
        for problem in caught.value.problems
        if problem.place is not None and problem.place.file == "some.yaml"
    ]


@pytest.mark.usefixtures("parser")
class TestText:
    """Scalars stay as they are written."""

    @pytest.mark.parametrize(
        "text",
        ["4.10", "on", "yes", "010", "1:30", "0x1F", "1e3", "2026-07-01", "+5", ".5", "=", "1_000"],
    )
    def test_nothing_is_typed(self, text: str) -> None:
        tree = parse_yaml(f"a: {text}\nb: [{text}, '{text}', \"{text}\"]\n", "some.yaml")
        assert tree == {"a": text, "b": [text, text, text]}
        assert isinstance(tree, Map)
        listed = tree["b"]
        assert isinstance(listed, Seq)
        assert [type(each) for each in listed] == [Scalar] * 3
        assert [getattr(each, "quoted", None) for each in listed] == [False, True, True]

    @pytest.mark.parametrize(("written", "quoted"), [("", False), ("~", False), ("null", False),
                                                     ('""', True), ("''", True)])  # fmt: skip
    def test_what_says_nothing_is_blank(self, written: str, quoted: bool) -> None:
        tree = parse_yaml(f"a: {written}\n", "some.yaml")
        assert isinstance(tree, Map)
        assert isinstance(tree["a"], Blank)
        assert not isinstance(tree["a"], Scalar)
        assert tree["a"].quoted is quoted

    def test_null_in_quotes_is_a_text(self) -> None:
        tree = parse_yaml("a: 'null'\n", "some.yaml")
        assert isinstance(tree, Map)
        assert isinstance(tree["a"], Scalar)

    def test_blocks_lose_their_last_line_breaks(self) -> None:
        tree = parse_yaml("a: |\n  one\n  two\n\nb: >\n  three\n  four\n", "some.yaml")
        assert tree == {"a": "one\ntwo", "b": "three four"}

    def test_json_is_read_as_it_is_written(self, tmp_path: Path) -> None:
        path = tmp_path / "some.json"
        path.write_text('{"a":1e3,"b":[1.0,null,"",true,"on"],\n\t"c":"\\u00b1 \\ud83d\\ude97"}')
        tree = read_yaml(path)
        assert tree == {"a": "1e3", "b": ["1.0", "null", "", "true", "on"], "c": "± 🚗"}
        assert isinstance(tree, Map)
        listed = tree["b"]
        assert isinstance(listed, Seq)
        assert [type(each) for each in listed] == [Scalar, Blank, Blank, Scalar, Scalar]

    def test_an_escaped_backslash_in_json_is_no_half_of_a_character(self, tmp_path: Path) -> None:
        path = tmp_path / "some.json"
        path.write_text(r'{"a": "\\ud83d\\ude97"}')
        assert read_yaml(path) == {"a": r"\ud83d\ude97"}

    def test_a_byte_order_mark_is_no_part_of_the_text(self, tmp_path: Path) -> None:
        path = tmp_path / "some.yaml"
        path.write_bytes(b"\xef\xbb\xbfa: 1\r\nb: 2\r\n")
        tree = read_mapping(path)
        assert tree == {"a": "1", "b": "2"}
        assert (tree.key_place("b").line, tree.key_place("b").column) == (2, 1)


@pytest.mark.usefixtures("parser")
class TestRefused:
    """What is no file of ours, with the place and what to do."""

    @pytest.mark.parametrize(
        ("text", "line", "column", "says"),
        [
            ("a: b: c\n", 1, 5, "not valid YAML"),
            ("a:\n\t- b\n", 2, 1, "not valid YAML"),
            ("a: @b\n", 1, 4, "not valid YAML"),
            ("a: \x01b\n", 1, 4, "U+0001"),
            ("a: 1\nb: 2\na: 3\n", 3, 1, "the key `a` is here a second time"),
            ("a: {b: 1, 'b': 2}\n", 1, 11, "the key `b` is here a second time"),
            ("a: *b\n", 1, 4, "anchors (&name) and aliases (*name)"),
            ("a: &b 1\n", 1, 4, "anchors (&name) and aliases (*name)"),
            ("&a b: 1\n", 1, 1, "anchors (&name) and aliases (*name)"),
            ("- &a [*a]\n", 1, 3, "anchors (&name) and aliases (*name)"),
            ("b: {<<: {a: 1}}\n", 1, 5, "merge keys"),
            ("a: !!int 5\n", 1, 4, "the tag !!int"),
            ("a: !!python/object:os.system x\n", 1, 4, "the tag !!python/object:os.system"),
            ("a: !mine {b: 1}\n", 1, 4, "the tag !mine"),
            ("? [a, b]\n: c\n", 1, 3, "a key must be a plain text"),
            ("{a: 1}: 2\n", 1, 1, "a key must be a plain text"),
            ("!!str a: 2\n", 1, 1, "a key must be a plain text"),
            ("~: 2\n", 1, 1, "a key is missing"),
            ("a: 1\n---\nb: 2\n", 2, 1, "a second document"),
            ('a: "\\e[2J"\n', 1, 4, "a control character"),
            ('"\\e[2J": b\n', 1, 1, "a control character"),
        ],
    )
    def test_with_its_place(self, text: str, line: int, column: int, says: str) -> None:
        found = refused(text)
        assert len(found) == 1
        assert says in found[0][2]
        assert found[0][:2] == (line, column)

    def test_an_open_bracket_names_its_line(self) -> None:
        (found,) = refused("a: 1\nb: [1,\n  2\nc: 3\n")
        assert "that begins on line 2" in found[2]

    def test_plain_tags_do_no_harm(self) -> None:
        assert parse_yaml("a: !!str 4.10\nb: !!map {c: !!seq [1]}\n", "x") == {
            "a": "4.10",
            "b": {"c": ["1"]},
        }

    @pytest.mark.parametrize("text", ["", "\n\n", "# nothing\n", "---\n", "~\n"])
    def test_nothing_in_it(self, text: str) -> None:
        with pytest.raises(ModrulesError, match="this file is empty"):
            parse_yaml(text, "some.yaml")

    @pytest.mark.parametrize(
        "text",
        [
            "[" * 10_000,
            "{a: " * 10_000,
            "- " * 10_000 + "x",
            "\n".join(" " * level + "a:" for level in range(2_000)),
            "[" * 61 + "]" * 61,
        ],
    )
    def test_nested_too_deeply(self, text: str) -> None:
        found = refused(text)
        assert [each[2] for each in found] == ["the nesting is deeper than 60 levels"]

    def test_sixty_levels_are_read(self) -> None:
        tree = parse_yaml("[" * 60 + "]" * 60, "some.yaml")
        depth = 0
        while isinstance(tree, Seq):
            depth += 1
            tree = tree[0] if tree else Scalar("")  # type: ignore[assignment]
        assert depth == 60

    def test_exploding_aliases_are_told_once(self) -> None:
        lines = ["a: &a [x, x, x, x]"]
        lines += [
            f"{b}: &{b} [*{a}, *{a}, *{a}]" for a, b in zip("abcdefgh", "bcdefghi", strict=True)
        ]
        found = refused("\n".join(lines))
        assert len(found) == 1

    def test_a_key_of_ten_thousand_questions_ends_at_once(self) -> None:
        assert len(refused("? " * 10_000)) == 1

    def test_all_is_told_together(self) -> None:
        found = refused("a: 1\na: 2\nb: !!int 3\nc: {d: 1, d: 2}\ne: [\n")
        assert [line for line, _, _ in found[:3]] == [2, 3, 4]
        assert "not valid YAML" in found[-1][2]

    def test_endless_problems_are_cut(self) -> None:
        assert len(refused("a: 1\n" * 5_000)) == 50


def test_a_key_twice_names_both_places() -> None:
    with pytest.raises(ModrulesError) as caught:
        parse_yaml("a: 1\nb: 2\na: 3\n", "some.yaml")
    (problem,) = caught.value.problems
    assert problem.hint == "it is first on line 1; keep one of the two"
    assert str(problem) == (
        "some.yaml:3:1: the key `a` is here a second time\n"
        "    a: 3\n    ^\n  it is first on line 1; keep one of the two"
    )


def test_a_file_of_too_many_values(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(source, "MAX_NODES", 100)
    assert "more than 100 values" in refused("[" + "1, " * 100 + "1]")[0][2]


class TestFiles:
    """What is no readable file."""

    def refused(self, path: Path, **options: Any) -> str:
        with pytest.raises(ModrulesError) as caught:
            read_yaml(path, **options)
        (problem,) = caught.value.problems
        assert problem.place is not None
        assert problem.place.file == str(path)
        return problem.message

    def test_missing(self, tmp_path: Path) -> None:
        assert self.refused(tmp_path / "none.yaml") == "there is no such file"

    def test_a_file_in_the_way(self, tmp_path: Path) -> None:
        (tmp_path / "file").write_text("a: 1\n")
        assert "cannot be read" in self.refused(tmp_path / "file" / "none.yaml")

    def test_a_name_that_cannot_be(self) -> None:
        assert "cannot be read" in self.refused(Path("a\0b"))

    def test_a_folder(self, tmp_path: Path) -> None:
        assert self.refused(tmp_path) == "this is a folder, and a file is expected here"

    def test_a_pipe_is_not_waited_for(self, tmp_path: Path) -> None:
        os.mkfifo(tmp_path / "pipe.yaml")
        assert self.refused(tmp_path / "pipe.yaml") == "this is not an ordinary file"

    def test_fifty_megabytes_are_refused_unread(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        path = tmp_path / "large.yaml"
        with path.open("wb") as stream:
            stream.truncate(50_000_000)

        def opened(*_: object, **__: object) -> None:
            raise AssertionError("the file was opened")

        monkeypatch.setattr(Path, "open", opened)
        assert self.refused(path) == "the file is larger than 8 MB, the most that is read"

    def test_the_limit_is_the_last_size_that_is_read(self, tmp_path: Path) -> None:
        path = tmp_path / "some.yaml"
        path.write_text("a: 1234\n")
        assert read_yaml(path, limit=8) == {"a": "1234"}
        assert "larger than" in self.refused(path, limit=7)

    @pytest.mark.parametrize("data", [b"a: \xff\xfe\n", "a: 1\n".encode("utf-16"), b"\x89PNG\r\n"])
    def test_no_utf_8(self, tmp_path: Path, data: bytes) -> None:
        path = tmp_path / "some.yaml"
        path.write_bytes(data)
        assert self.refused(path) == "this is not UTF-8 text"

    def test_binary(self, tmp_path: Path) -> None:
        path = tmp_path / "some.yaml"
        path.write_bytes(b"a: 1\n\0\0\0")
        assert self.refused(path) == "this is a binary file, and a text is expected here"

    @pytest.mark.parametrize(("text", "holds"), [("- a\n", "a list"), ("word\n", "a single text")])
    def test_a_mapping_is_expected(self, tmp_path: Path, text: str, holds: str) -> None:
        path = tmp_path / "some.yaml"
        path.write_text(text)
        with pytest.raises(ModrulesError, match=f"this file holds {holds} where keys"):
            read_mapping(path)


class TestCollector:
    """The garbage collector is left as it was found."""

    @pytest.mark.parametrize("on", [True, False])
    @pytest.mark.parametrize("text", ["a: 1\n", "a: [\n"])
    def test_its_state_is_restored(self, on: bool, text: str) -> None:
        was_on = gc.isenabled()
        try:
            (gc.enable if on else gc.disable)()
            try:
                parse_yaml(text, "some.yaml")
            except ModrulesError:
                assert "[" in text
            assert gc.isenabled() is on
        finally:
            (gc.enable if was_on else gc.disable)()

    def test_it_is_off_inside(self) -> None:
        with collector_paused():
            assert not gc.isenabled()


_texts = st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=12)
_values = st.recursive(
    st.none() | st.booleans() | st.integers() | _texts,
    lambda inner: st.lists(inner, max_size=4)
    | st.dictionaries(_texts.filter(lambda key: key not in ("", "<<", "~")
                                    and key.lower() != "null"), inner, max_size=4),
    max_leaves=12,
)  # fmt: skip


def _as_text(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _as_text(each) for key, each in value.items()}
    if isinstance(value, list):
        return [_as_text(each) for each in value]
    return value if isinstance(value, str) else json.dumps(value)


@given(value=st.dictionaries(st.just("key"), _values, min_size=1), indent=st.none() | st.just(2))
def test_any_json_is_read_with_its_values_as_text(
    tmp_path_factory: pytest.TempPathFactory, value: dict[str, Any], indent: int | None
) -> None:
    path = tmp_path_factory.mktemp("json") / "some.json"
    path.write_text(json.dumps(value, indent=indent), encoding="utf-8")
    assert read_yaml(path) == _as_text(value)
