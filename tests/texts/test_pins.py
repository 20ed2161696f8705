"""Pins, two editions of a text, and coverage."""

from __future__ import annotations

import json
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from modrules.problems import ModrulesError
from modrules.texts import (
    Citation,
    Pins,
    Text,
    added_and_uncited,
    affected,
    as_line,
    changed_and_uncited,
    changes_in,
    check_pins,
    compare,
    coverage,
    coverage_as_data,
    coverage_counts,
    difference,
    pin,
    pins_as_text,
    read_pins,
    text_from,
)
from tests.texts.laws import Node, laws, printed, with_word

OLD = """
1 Wheels

1.1 A wheel must be sound.

1.2 The track may grow by up to 25 mm if:

(a) the axle is solid; and

(b) the guard covers the tyre.

1.3 Spacers are not allowed.

2 Brakes

2.1 Brakes must work.

2.2 In this code:

**kerb mass** means the mass without load.
"""

NEW = """
1 Wheels

1.1 A wheel must be sound.

1.2 The track may grow by up to 50 mm if:

(a) the axle is solid; and

(b) the guard covers the tyre.

2 Lights

2.1 Lights must work.

3 Brakes

3.1 Brakes must
work.
"""

CITATIONS = (
    Citation("code", "clause 1.1", "must be sound", by="soundness"),
    Citation("code", "1.2(b)", by="guard"),
    Citation("code", "1.3", by="spacers"),
    Citation("code", "2.1", by="brakes"),
    Citation("code", "", "the mass without load", by="mass"),
)


def code(source: str, edition: str = "1") -> Text:
    return text_from(source, id="code", title="The code", edition=edition)


def test_pins_of_the_same_text_are_the_same() -> None:
    pins = pin({"code": code(OLD)}, CITATIONS)
    assert [checked.status for checked in check_pins({"code": code(OLD)}, pins)] == ["same"] * 5
    assert all(checked.holds for checked in check_pins({"code": code(OLD)}, pins))


def test_pins_against_another_edition() -> None:
    pins = pin({"code": code(OLD)}, CITATIONS)
    checked = {c.pin.clause: c for c in check_pins({"code": code(NEW, "2")}, pins)}
    assert checked["clause 1.1"].status == "same"
    assert checked["1.2(b)"].status == "changed"  # the words that lead into it changed
    assert as_line(checked["1.2(b)"].difference) == (
        "The track may grow by up to [- 25 -] [+ 50 +] mm if: … (b) the guard covers the tyre."
    )
    assert checked["1.3"].status == "gone"
    assert checked["2.1"].status == "moved"
    assert checked["2.1"].number == "3.1"
    assert checked["2.1"].excerpt.excerpt == "Brakes must work."
    assert checked[""].status == "gone"
    assert not checked["1.3"].holds


def test_pins_without_the_text() -> None:
    pins = pin({"code": code(OLD)}, CITATIONS)
    assert {checked.status for checked in check_pins({}, pins)} == {"not supplied"}


def test_words_that_moved_to_several_clauses_are_ambiguous() -> None:
    pins = pin({"code": code("1 Stop here.\n")}, [Citation("code", "1")])
    (checked,) = check_pins({"code": code("2 Stop here.\n\n3 Stop here.\n")}, pins)
    assert checked.status == "ambiguous"
    assert checked.excerpt.candidates == ("2", "3")


def test_what_is_not_found_cannot_be_pinned() -> None:
    with pytest.raises(ModrulesError) as caught:
        pin({"code": code(OLD)}, [Citation("code", "9", by="x"), Citation("law", "1"),
                                  Citation("code", "1.1", "no such words")])  # fmt: skip
    text = str(caught.value)
    assert text.count("cannot be pinned") == 3
    for word in ("gone", "not supplied", "changed"):
        assert word in text


def test_file_of_pins(tmp_path: Path) -> None:
    pins = pin({"code": code(OLD)}, CITATIONS)
    path = tmp_path / "pins.json"
    path.write_text(pins_as_text(pins), encoding="utf-8")
    assert read_pins(path) == pins
    assert pins_as_text(read_pins(path)) == path.read_text(encoding="utf-8")
    again = pins.of("code", "1.3")
    assert again is not None
    assert again.words == "Spacers are not allowed."
    assert pins.of("code", "9") is None
    assert pins.texts[0].edition == "1"
    assert read_pins(path) != Pins()


@pytest.mark.parametrize(
    "source",
    ["", "{}", "[]", '{"pins": 2}', '{"pins": 1}', '{"pins": 1, "texts": 3, "clauses": []}',
     '{"pins": 1, "texts": [], "clauses": [{"text": 1}]}', "[" * 100_000],
)  # fmt: skip
def test_damaged_file_of_pins(tmp_path: Path, source: str) -> None:
    path = tmp_path / "pins.json"
    path.write_text(source, encoding="utf-8")
    with pytest.raises(ModrulesError, match="pins"):
        read_pins(path)


def test_missing_file_of_pins(tmp_path: Path) -> None:
    with pytest.raises(ModrulesError, match="no such file"):
        read_pins(tmp_path / "none.json")


def test_comparison_of_two_editions() -> None:
    old, new = code(OLD), code(NEW, "2")
    comparison = compare(old, new)
    became = {c.old: (c.new, c.status) for c in comparison.clauses}
    assert became == {
        "1": ("1", "changed"),
        "1.1": ("1.1", "same"),
        "1.2": ("1.2", "changed"),
        "1.2(a)": ("1.2(a)", "changed"),
        "1.2(b)": ("1.2(b)", "changed"),
        "1.3": ("", "gone"),
        "2": ("2", "changed"),
        "2.1": ("3.1", "moved"),
        "2.2": ("", "gone"),
        "definition of kerb mass": ("", "gone"),
    }
    assert comparison.added == ("2.1", "3")
    assert comparison.counts()["moved"] == 1
    first = comparison.clauses[2]
    assert "[- 25 -] [+ 50 +]" in as_line(changes_in(old, new, first))
    assert changes_in(old, new, comparison.clauses[1]) == ()


def test_effect_on_citations() -> None:
    old, new = code(OLD), code(NEW, "2")
    comparison = compare(old, new)
    became = {a.citation.by: a.status for a in affected(comparison, old, CITATIONS)}
    assert became == {
        "soundness": "same", "guard": "changed", "spacers": "gone", "brakes": "moved",
        "mass": "gone",
    }  # fmt: skip
    other = Citation("another text", "1")
    assert affected(comparison, old, [other]) == ()
    assert added_and_uncited(comparison, old, new, [Citation("code", "3")]) == ("2.1",)


def test_a_new_clause_is_not_cited_by_what_cites_the_old_one_of_its_number() -> None:
    old, new = code(OLD), code(NEW, "2")
    comparison = compare(old, new)

    def uncited(*citations: Citation) -> tuple[str, ...]:
        return added_and_uncited(comparison, old, new, citations)

    # 2.1 was about brakes, and its words stand in 3.1 now; the new 2.1 is about lights.
    assert uncited(Citation("code", "2.1")) == ("2.1", "3")
    assert uncited(Citation("code", "2.1", "Brakes must work")) == ("2.1", "3")
    assert uncited(Citation("code", "2.1", "misprinted")) == ("2.1", "3")
    assert uncited(Citation("code", "2.1", "Lights must work")) == ("3",)


def test_clauses_that_changed_and_that_nothing_cites() -> None:
    old, new = code(OLD), code(NEW, "2")
    comparison = compare(old, new)

    def changed(*clauses: str) -> list[tuple[str, str]]:
        found = changed_and_uncited(comparison, old, new, [Citation("code", c) for c in clauses])
        return [(one.old, one.status) for one in found]

    all_of_them = [
        ("1.2", "changed"),
        ("1.3", "gone"),
        ("2", "changed"),
        ("2.2", "gone"),
        ("definition of kerb mass", "gone"),
    ]
    assert changed() == all_of_them
    # The items of 1.2 have the same words; a clause in a cited one changes with it.
    assert changed("1.2(a)") == all_of_them
    assert changed("1.2") == all_of_them[1:]
    assert changed("1") == all_of_them[2:]


def test_difference_in_words() -> None:
    assert as_line(difference("a b c", "a x c")) == "a [- b -] [+ x +] c"
    assert as_line(difference("", "a")) == "[+ a +]"
    assert as_line(difference("a", "")) == "[- a -]"
    assert difference("", "") == ()
    assert as_line(difference("the maker's plate", "the maker’s plate")) == "the maker’s plate"


@given(st.lists(st.sampled_from("abc"), max_size=12), st.lists(st.sampled_from("abc"), max_size=12))
def test_difference_holds_both_wordings(before: list[str], after: list[str]) -> None:
    changes = difference(" ".join(before), " ".join(after))
    old = " ".join(c.words for c in changes if c.kind != "put in")
    new = " ".join(c.words for c in changes if c.kind != "taken out")
    assert old.split() == before
    assert new.split() == after
    for one, two in pairwise(changes):
        assert one.kind != two.kind


def test_difference_of_long_wordings_is_quick() -> None:
    before = " ".join(str(n) for n in range(20_000))
    after = " ".join(str(n) for n in range(20_000, 0, -1))
    assert len(difference(before, after)) == 2


@settings(max_examples=40, deadline=None)
@given(laws(), st.lists(st.integers(0, 3), min_size=1, max_size=4).map(tuple))
def test_one_changed_word_changes_exactly_the_pins_on_it(
    law: tuple[Node, ...], path: tuple[int, ...]
) -> None:
    old = code(printed(with_word(law, path, "zebra")))
    new = code(printed(with_word(law, path, "okapi")), "2")
    pins = pin({"code": old}, [Citation("code", number) for number in old.clauses])
    for checked in check_pins({"code": new}, pins):
        touched = new.clauses[checked.pin.clause].digest != old.clauses[checked.pin.clause].digest
        assert checked.status == ("changed" if touched else "same")
    assert compare(old, new).added == ()


@settings(max_examples=40, deadline=None)
@given(laws(), st.integers(1, 20))
def test_renumbering_gives_moved(law: tuple[Node, ...], by: int) -> None:
    old, new = code(printed(law)), code(printed(law, first=100 + by), "2")
    pins = pin({"code": old}, [Citation("code", number) for number in old.clauses])
    for checked in check_pins({"code": new}, pins):
        assert checked.status in ("moved", "ambiguous")  # the same words may stand twice
        if checked.status == "moved":
            assert new.clauses[checked.number].digest == checked.pin.digest
    comparison = compare(old, new)
    assert {c.status for c in comparison.clauses} == {"moved"}
    assert comparison.added == ()


def test_coverage_has_a_row_per_clause() -> None:
    text = code(OLD)
    citations = [
        Citation("code", "1.2", by="track"),
        Citation("code", "1.2", by="axle"),
        Citation("code", "9", by="lost"),
        Citation("law", "2", by="other"),
    ]
    rows = coverage(text, citations)
    assert [row.number for row in rows] == list(text.clauses)
    state = {row.number: row.coverage for row in rows}
    assert state == {
        "1": "heading", "1.1": "not cited", "1.2": "cited", "1.2(a)": "inside a cited clause",
        "1.2(b)": "inside a cited clause", "1.3": "not cited", "2": "heading", "2.1": "not cited",
        "2.2": "not cited", "definition of kerb mass": "definition",
    }  # fmt: skip
    assert next(row for row in rows if row.number == "1.2").cited_by == ("track", "axle")
    assert sum(coverage_counts(rows).values()) == len(rows)
    data = coverage_as_data(text, rows)
    assert json.loads(json.dumps(data)) == data
    assert data["clauses"][2]["words"].startswith("The track may grow")
