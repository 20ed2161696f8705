"""The page: nothing harmful, nothing too wide, nothing lost."""

from __future__ import annotations

import unicodedata

from hypothesis import given
from hypothesis import strategies as st

from modrules.reports import layout

ANY = st.text(st.characters(), max_size=200)
#: Characters that move, hide, turn round or end something.
HARMFUL = ("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp")


def harmful(text: str) -> list[str]:
    joiners = "\u200c\u200d"
    return [c for c in text if unicodedata.category(c) in HARMFUL and c not in joiners]


@given(ANY)
def test_clean_text_is_one_harmless_line(text: str) -> None:
    cleaned = layout.clean(text)
    assert harmful(cleaned) == []
    assert layout.clean(cleaned) == cleaned
    assert cleaned == cleaned.strip()


@given(ANY)
def test_masked_text_keeps_its_columns(text: str) -> None:
    masked = layout.masked(text)
    assert len(masked) == len(text)
    assert harmful(masked) == []


@given(ANY, st.integers(2, 40), st.integers(0, 10))
def test_wrapped_text_fits_and_keeps_every_word(text: str, width: int, indent: int) -> None:
    lines = layout.wrap(text, " " * indent, width=indent + width)
    assert all(layout.width_of(line) <= indent + width for line in lines)
    assert "".join("".join(lines).split()) == "".join(layout.clean(text).split())


def test_plain_text_is_kept() -> None:
    assert layout.clean("47 mm ± 3 mm, Ærø, 車") == "47 mm ± 3 mm, Ærø, 車"


def test_escapes_turns_and_lines_are_taken_out() -> None:
    assert layout.clean("a\x1b[31mb\u202ec\u2066d\r\ne\tf\x00\u2028g\x7f") == "a[31mbcd e f g"
    assert layout.clean("x\ud800y") == "x\ufffdy"


def test_marks_cannot_pile_up() -> None:
    assert layout.clean("a" + "\u0301" * 50) == "a" + "\u0301" * 3


def test_wide_characters_count_twice_and_marks_not_at_all() -> None:
    assert layout.width_of("車e\u0301") == 3
    assert layout.wrap("車車車", width=4) == ["車車", "車"]


def test_a_word_too_wide_is_cut() -> None:
    assert layout.wrap("abcdefgh ij", "- ", width=5) == ["- abc", "  def", "  gh", "  ij"]


def test_a_list_is_broken_between_its_items() -> None:
    items = layout.chain(["12 of this", "3 of that"])
    assert layout.wrap(items, width=14) == ["12 of this,", "3 of that"]


def test_labels_and_paragraphs() -> None:
    assert layout.labelled("clause", "4.2", 10) == ["clause    4.2"]
    assert layout.paragraph("", 4) == [""]
    assert layout.bullets(["one", "two"]) == ["  - one", "  - two"]


def test_a_quoted_text_keeps_its_lines_up_to_a_limit() -> None:
    shown, more = layout.block("a\n\nb\nc", 2, 2)
    assert (shown, more) == (["  | a", "  | b"], 1)


def test_a_table_wraps_inside_its_cells() -> None:
    assert layout.columns([["a b", "c", "d"]], (1, 3), indent=1) == [" a  c    d", " b"]


def test_lists_in_words() -> None:
    assert layout.listed([]) == ""
    assert layout.listed(["a"]) == "a"
    assert layout.listed(["a", "b", "c"], "or") == "a, b or c"


def test_a_page_has_no_double_gaps_and_one_end() -> None:
    assert layout.page(["", "a  ", "", "", "b", "", ""]) == "a\n\nb\n"


def test_a_listed_text_wider_than_a_line_is_broken_between_words() -> None:
    lines = layout.wrap(["short", "it covers up to 50 mm; it may be 62 mm"], "", "", 20)
    assert lines == ["short it covers up", "to 50 mm; it may be", "62 mm"]
    assert layout.wrap(["one two", "three four"], "", "", 12) == ["one two", "three four"]
