"""Places in the plain tree, and trees of plain Python values."""

from __future__ import annotations

import copy
import pickle
from datetime import date, datetime
from decimal import Decimal
from typing import Any

import pytest
import yaml
from hypothesis import assume, given
from hypothesis import strategies as st

from modrules.problems import ModrulesError, Place
from modrules.ruleset.source import parse_yaml
from modrules.ruleset.tree import Blank, Map, Scalar, Seq, place_under, plant

TEXT = """\
plain: axle.track <= 1600 mm
single: 'it''s 50 mm'
double: "a \\u00b1 \\"b\\"\\tc \\
  d"
folded: >-
  first.track
  <= second.track

  + 5 mm
lines: |
  one
  two
open: alpha
  beta
  gamma
list: [a, {b: c}]
empty:
escaped: "a
  \\u00b1 b
  c"
"""


def read(text: str = TEXT) -> Map:
    tree = parse_yaml(text, "some.yaml")
    assert isinstance(tree, Map)
    return tree


def scalar(key: str) -> Scalar:
    value = read()[key]
    assert isinstance(value, Scalar)
    return value


def stands(place: Place) -> str:
    """What stands at a place in the text."""
    line = TEXT.split("\n")[place.line - 1]
    assert line == place.source
    return line[place.column - 1 : place.end_column - 1]


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("plain", "axle.track <= 1600 mm"),
        ("single", "'it''s 50 mm'"),
        ("folded", "first.track"),
        ("lines", "one"),
        ("open", "alpha"),
    ],
)
def test_the_place_of_a_scalar_covers_its_first_line(key: str, words: str) -> None:
    assert stands(scalar(key).place) == words


@pytest.mark.parametrize(
    ("key", "word", "line"),
    [
        ("plain", "axle.track", 1),
        ("plain", "mm", 1),
        ("single", "50", 2),
        ("double", "a", 3),
        ("double", "b", 3),
        ("double", "c", 3),
        ("double", "d", 4),
        ("escaped", "b", 19),
        ("escaped", "c", 20),
        ("folded", "first.track", 6),
        ("folded", "second", 7),
        ("folded", "5 mm", 9),
        ("lines", "two", 12),
        ("open", "beta", 14),
        ("open", "gamma", 15),
    ],
)
def test_places_within_a_scalar(key: str, word: str, line: int) -> None:
    value = scalar(key)
    at = value.index(word)
    place = value.place_at(at, at + len(word))
    assert place.line == line
    assert stands(place) == word


def test_a_stretch_over_several_lines_is_cut_at_the_first() -> None:
    value = scalar("folded")
    assert stands(value.place_at(value.index("track <="), len(value))) == "track"


def test_an_escape_stands_where_it_begins() -> None:
    value = scalar("escaped")
    place = value.place_at(value.index("±"), value.index("±") + 1)
    assert (place.line, place.column) == (19, 3)


def test_the_end_of_a_scalar_has_a_place() -> None:
    value = scalar("plain")
    place = value.place_at(len(value), len(value))
    assert (place.line, place.column) == (1, 1 + len("plain: axle.track <= 1600 mm"))


def test_places_of_keys_maps_and_lists() -> None:
    tree = read()
    assert stands(tree.key_place("open")) == "open"
    assert tree.key_place("none") == tree.place
    listed = tree["list"]
    assert isinstance(listed, Seq)
    assert (listed.place.line, listed.place.column) == (16, 7)
    assert stands(place_under(tree, ("list", 1, "b"))) == "b"
    assert stands(place_under(tree, ("list", 0))) == "a"
    assert place_under(tree, ("list", 7)) == tree.key_place("list")
    assert stands(place_under(tree, ("empty",))) == "empty"


def test_a_line_that_nobody_wrote_is_not_shown() -> None:
    text = "[" + "word, " * 10_000 + "*a]"
    with pytest.raises(ModrulesError) as caught:
        parse_yaml(text, "some.yaml")
    (problem,) = caught.value.problems
    assert problem.place == Place("some.yaml", 1, 60_002, 60_004)


def test_steering_characters_are_not_shown() -> None:
    with pytest.raises(ModrulesError) as caught:
        parse_yaml("a: \x1b[2J\n", "some.yaml")
    assert "\x1b" not in str(caught.value)


@given(
    words=st.lists(st.text("ab°±\"'\\é🚗:#-", min_size=1, max_size=6), min_size=1, max_size=12),
    style=st.sampled_from([None, "'", '"', "|", ">"]),
    width=st.integers(10, 60),
    plain=st.booleans(),
)
def test_every_character_stands_where_it_is_said_to(
    words: list[str], style: str | None, width: int, plain: bool
) -> None:
    text = " ".join(words)
    written = yaml.dump({"key": text}, default_style=style, width=width, allow_unicode=plain)
    # In a narrow column the writer garbles some texts; whoever reads them gets another text.
    assume(yaml.safe_load(written)["key"] == text)
    value = read(written)["key"]
    assert value == text
    assert isinstance(value, Scalar)
    lines = written.split("\n")
    for at, character in enumerate(text):
        if character == " ":
            continue
        place = value.place_at(at, at + 1)
        found = lines[place.line - 1][place.column - 1]
        assert found == character or (found == "\\" and value.style == '"')


class TestPlanted:
    """Trees of values that come from Python and not from a file."""

    def test_the_values_are_as_in_a_file(self) -> None:
        tree = plant(
            {
                "text": "4.10",
                "number": 47,
                "small": 0.0000001,
                "exact": Decimal("1E+3"),
                "flag": True,
                "other": False,
                "date": date(2026, 7, 1),
                "time": datetime(2026, 7, 1, 12, 0),
                "list": ("a", 1.5),
                "endless": float("inf"),
            },
            "submission",
        )
        assert tree == {
            "text": "4.10",
            "number": "47",
            "small": "0.0000001",
            "exact": "1000",
            "flag": "true",
            "other": "false",
            "date": "2026-07-01",
            "time": "2026-07-01",
            "list": ["a", "1.5"],
            "endless": "Infinity",
        }

    def test_nothing_is_blank(self) -> None:
        tree = plant({"none": None, "empty": ""}, "submission")
        assert isinstance(tree, Map)
        none, empty = tree["none"], tree["empty"]
        assert isinstance(none, Blank)
        assert isinstance(empty, Blank)
        assert (none.quoted, empty.quoted) == (False, True)

    def test_places_name_the_path(self) -> None:
        tree = plant({"axles": [{"id": "front", "track": 1600}]}, "submission")
        place = place_under(tree, ("axles", 0, "track"))
        assert str(place) == "submission:axles[0]"
        axles = tree["axles"] if isinstance(tree, Map) else tree
        front = axles[0] if isinstance(axles, Seq) else axles
        assert isinstance(front, Map)
        assert str(front["track"].place) == "submission:axles[0].track"
        assert isinstance(front["track"], Scalar)
        assert front["track"].place_at(0, 2) == front["track"].place

    @pytest.mark.parametrize("value", [{"a": {1, 2}}, {"a": b"x"}, {1: 2}, {"": 2}, {None: 1}])
    def test_other_values_are_refused(self, value: Any) -> None:
        with pytest.raises(ModrulesError, match=r"cannot be read|is no text"):
            plant(value, "submission")

    def test_deep_nesting_is_refused(self) -> None:
        value: Any = "x"
        for _ in range(5_000):
            value = [value]
        with pytest.raises(ModrulesError, match="deeper than 60"):
            plant(value, "submission")

    def test_a_list_that_holds_itself_is_refused(self) -> None:
        value: list[Any] = []
        value.append(value)
        with pytest.raises(ModrulesError, match="deeper than 60"):
            plant(value, "submission")


def test_scalars_are_copied_and_pickled_with_their_places() -> None:
    value = scalar("folded")
    for other in (copy.deepcopy(value), pickle.loads(pickle.dumps(value))):
        assert type(other) is Scalar
        assert other == value
        assert other.place_at(0, 5) == value.place_at(0, 5)
