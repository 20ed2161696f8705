"""Words as they are shown and compared: signs of the law are told from marks around them."""

from __future__ import annotations

from pathlib import Path

import pytest

from modrules.texts import Text, read_text, text_from


def item(words: str) -> str:
    return text_from(f"1 Lift\n\n(a) {words};\n", id="t").clauses["1(a)"].words


@pytest.mark.parametrize(
    "words",
    ["> 50 mm at the front", "+ 5 mm", "+5 mm", "2*25 mm", "2 * 25 mm", "no less than 50--60 mm",
     "a width <b and a height> c"],
)  # fmt: skip
def test_signs_of_a_limit_are_words(words: str) -> None:
    assert item(words) == f"{words};"


@pytest.mark.parametrize("limit", ["> 50 mm", "+ 50 mm", "2 * 25 mm"])
def test_signs_at_the_start_of_a_line_are_words_wherever_it_breaks(limit: str) -> None:
    wide, narrow = (
        text_from(f"1 Lift\n\nThe lift must be{gap}{limit}.\n", id="t") for gap in (" ", "\n")
    )
    assert wide.clauses["1"].words == f"Lift — The lift must be {limit}."
    assert narrow.digests == wide.digests


@pytest.mark.parametrize(("before", "after"), [("> 50 mm", "50 mm"), ("2*5 mm", "25 mm")])
def test_sign_that_is_put_in_changes_the_digest(before: str, after: str) -> None:
    one, other = (text_from(f"1 Lift\n\n(a) {w};\n", id="t") for w in (before, after))
    assert one.clauses["1(a)"].digest != other.clauses["1(a)"].digest


def test_marks_are_no_words() -> None:
    source = "1 Lift\n\n> The **lift** is\n> 50 *mm*.\n\n---\n\n| a | b |\n|---|:-:|\n| c | d |\n"
    assert text_from(source, id="t").clauses["1"].words == "Lift — The lift is 50 mm. a b c d"


def test_typed_dash_is_compared_as_one_that_is_set() -> None:
    typed, printed = (
        text_from(
            f"1 Lift\n\nAn owner must{dash}\n\n(a) stop{dash}now;\n(b) go 5{dash}6 m.\n", id="t"
        )
        for dash in ("--", "–")
    )
    assert typed.digests == printed.digests


def page(tmp_path: Path, body: str) -> Text:
    path = tmp_path / "page.html"
    path.write_text(f"<!doctype html>\n<html><body>\n{body}\n</body></html>\n", encoding="utf-8")
    return read_text(path, id="t")


def test_raised_and_struck_out_figures_of_a_page_stay_apart(tmp_path: Path) -> None:
    text = page(
        tmp_path,
        "<h2>1 Lift</h2>\n<p>At most 50<sup>1</sup> mm, over 2 m<sup>2</sup>.</p>\n"
        "<h2>2 Tyres</h2>\n<p>At most <del>50</del><ins>60</ins> mm on the 1<sup>st</sup> day.</p>",
    )
    assert text.clauses["1"].own_words == "At most 50¹ mm, over 2 m²."
    assert text.clauses["2"].own_words == "At most ~~50~~60 mm on the 1st day."
    assert [(d.kind, d.clause) for d in text.doubts] == [("words struck out", "2")]


def test_raised_number_at_the_start_of_a_block_is_the_number_of_it(tmp_path: Path) -> None:
    text = page(
        tmp_path, "<h2>Art. 1 Lift</h2>\n<p><sup>1</sup> A car.</p>\n<p><sup>2</sup> Two.</p>"
    )
    assert list(text.clauses) == ["1", "1(1)", "1(2)"]


@pytest.mark.parametrize(
    "tag", ["<svg/>", "<svg>", '<iframe src="x"/>', "<object>", '<script src="x"/>', "<select>"]
)
def test_element_of_a_page_that_never_ends_takes_no_words_with_it(tmp_path: Path, tag: str) -> None:
    assert (
        "The lift is small."
        in page(tmp_path, f"<p>1. A</p>\n{tag}\n<p>2. The lift is small.</p>").body
    )


@pytest.mark.parametrize(
    ("part", "law"),
    [
        ("<footer>\n<p>2. Tyres fit.</p>\n</footer>", True),
        ("<aside>\n<p>Tyres must fit.</p>\n</aside>", True),
        ("<aside>\n<p>Was this page of use?</p>\n</aside>", False),
        ("<noscript>\n<p>Tyres must fit.</p>\n</noscript>", True),
        ("<nav>\n<a href='x'>2. Tyres</a>\n</nav>", False),
        ("<!-- notes <p>Tyres fit.</p>", True),
        ("<script> var a; <p>Tyres fit.</p>", True),
    ],
)
def test_words_left_out_of_a_page_are_told(tmp_path: Path, part: str, law: bool) -> None:
    text = page(tmp_path, f"<main>\n<h2>1 Lift</h2>\n<p>A lift.</p>\n</main>\n{part}")
    assert "Tyres" not in text.body
    told = [(doubt.kind, doubt.clause) for doubt in text.doubts]
    assert told == ([("line left out", "1")] if law else [])


@pytest.mark.parametrize("rows", ["1  50 mm", "| 1 | 50 mm |", "x\ty\nz\tw"])
def test_text_may_end_in_the_last_row_of_a_table(rows: str) -> None:
    text = text_from(f"Table 1\n{rows}", id="t")
    assert text.clauses["Table 1"].last_line == 2 + rows.count("\n")


def test_printed_lines_of_a_page_are_lines_of_the_text(tmp_path: Path) -> None:
    law = "1 Lift\n\n  (a) at most\n  50 mm;\n  (b) none.\n\n<b>2</b> Tyres\n\nThey fit.\n"
    text = page(tmp_path, f"<pre>\n{law}</pre>\n<p>3. Seats</p>")
    assert list(text.clauses) == ["1", "1(a)", "1(b)", "2", "3"]
    assert text.clauses["2"].own_words == "They fit."
    assert [text.clauses[number].first_line for number in ("1(a)", "2", "3")] == [6, 10, 14]
