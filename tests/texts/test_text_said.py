"""What a page says about its lists, terms and tables reaches the index as it is said."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TypeAlias

import pytest

from modrules.texts import Text, read_text

Page: TypeAlias = Callable[[str], Text]


@pytest.fixture
def page(tmp_path: Path) -> Page:
    def read(source: str) -> Text:
        path = tmp_path / "page.html"
        path.write_text(f"<html>\n{source}", encoding="utf-8")
        text = read_text(path, id="t")
        assert "".join(text.body[s.start : s.end] for s in text.spans) == text.body
        return text

    return read


def words_of(text: Text) -> dict[str, str]:
    return {number: clause.own_words for number, clause in text.clauses.items()}


def doubts_of(text: Text, kind: str) -> list[str]:
    return [doubt.clause for doubt in text.doubts if doubt.kind == kind]


# ---- lists ----------------------------------------------------------------------


@pytest.mark.parametrize(
    "words",
    ["50 mm may come from springs;", "I. Smith", "B. Brown", "1.5 times the load", "4.1 applies",
     "3 persons", "3 Persons", "§ 4 holds", "Note: no more", "Table 2 is for", "# red",
     "a long rod", "Part 2 of it", "1990-01-01 or later", "“lift” means more"],
)  # fmt: skip
def test_item_is_one_whatever_its_words_begin_with(page: Page, words: str) -> None:
    items = f"<li>x;</li><li>{words}</li><li>z.</li>"
    text = page(f"<p>1 It has:</p><ol type=i>{items}</ol><p>2 B</p>")
    assert list(text.clauses) == ["1", "1(i)", "1(ii)", "1(iii)", "2"]
    assert text.clauses["1(ii)"].words == words


def test_value_and_start_are_followed(page: Page) -> None:
    text = page(
        "<p>1 It has:</p><ol type=A start=3><li>x;</li><li value=7>y</li><li>z</li></ol>"
        "<ol style='color: red; list-style-type: lower-roman' start='9'><li>a</li></ol>"
    )
    assert list(text.clauses) == ["1", "1(C)", "1(G)", "1(H)", "1(ix)"]
    assert text.doubts == ()


def test_paragraphs_of_an_item_are_its_own_and_those_after_the_list_are_not(page: Page) -> None:
    text = page(
        "<p>1 It has:</p><ol type=a><li><p>one, and</p><p>more of it.</p><p>Still More</p></li>"
        "<li>two:<ol type=i><li>deep</li></ol><p>and back.</p></li></ol><p>Outside of it.</p>"
    )
    assert words_of(text) == {
        "1": "It has: Outside of it.", "1(a)": "one, and more of it. Still More",
        "1(b)": "two: and back.", "1(b)(i)": "deep",
    }  # fmt: skip
    assert text.doubts == ()


def test_list_in_no_clause_is_one_of_clauses(page: Page) -> None:
    text = page(
        "<h2>Part 1 Cars</h2><ol><li>One<ol type=a><li>x</li></ol></li><li>Two</li></ol>"
        "<h2>Schedule 1 Forms</h2><ol><li>Three</li></ol>"
    )
    assert list(text.clauses) == ["Part 1", "1", "1(a)", "2", "Schedule 1", "Schedule 1, 1"]
    assert text.clauses["2"].parent == "Part 1"
    assert text.doubts == ()


def test_list_that_goes_on_the_clauses_is_doubted_throughout(page: Page) -> None:
    text = page("<p>1 One.</p><ol start=2><li>Two.</li><li>Three.</li></ol>")
    assert list(text.clauses) == ["1", "2", "3"]
    assert doubts_of(text, "level uncertain") == ["2", "3"]


def test_list_beside_the_item_that_leads_into_it_is_doubted(page: Page) -> None:
    text = page("<p>1 A:</p><ol type=a><li>cut:</li></ol><ol type=i><li>x</li><li>y</li></ol>")
    assert list(text.clauses) == ["1", "1(a)", "1(i)", "1(ii)"]
    assert doubts_of(text, "level uncertain") == ["1(i)", "1(ii)"]


def test_numbers_by_a_style_alone_are_doubted(page: Page) -> None:
    text = page("<p>1 A:</p><ol class=alpha><li>x</li><li>y</li></ol>")
    assert doubts_of(text, "number of an item") == ["1(1)", "1(2)"]
    back = page("<p>1 A:</p><ol reversed><li>x</li></ol>")
    assert len(doubts_of(back, "number of an item")) == 1


@pytest.mark.parametrize(
    ("source", "numbers", "doubted"),
    [
        ("<ol><li>(1) x</li><li>(2) y</li></ol>", ["1(1)", "1(2)"], []),
        ("<ol><li>(a) x</li><li>(c) y</li></ol>", ["1(a)", "1(c)"], ["1(a)", "1(c)"]),
        ("<ol style='list-style: none'><li>(a) x</li><li>(c) y</li></ol>", ["1(a)", "1(c)"], []),
        ("<ul><li>(a) x</li><li>(b) y</li></ul>", ["1(a)", "1(b)"], []),
        ("<ol><li>x</li><li>(c) y</li></ol>", ["1(1)", "1(2)"], ["1(2)"]),
        ("<ol type=A><li>A. Brown</li><li>y</li></ol>", ["1(A)", "1(B)"], ["1(A)"]),
        ("<ol><li>(1) x</li><li>y</li></ol>", ["1(1)", "1(2)"], ["1(2)"]),
    ],
)
def test_number_that_an_item_prints_itself(page: Page, source: str, numbers: list[str],
                                           doubted: list[str]) -> None:  # fmt: skip
    text = page(f"<p>1 It has:</p>{source}<p>2 B.</p>")
    assert list(text.clauses) == ["1", *numbers, "2"]
    assert doubts_of(text, "number of an item") == doubted
    if "gap in a series" in {doubt.kind for doubt in text.doubts}:
        assert "none" in source  # printed alone, (c) after (a) is looked at as in any text


def test_item_without_words_is_there(page: Page) -> None:
    text = page(
        "<p>1 A:</p><ol type=a>\n<li></li>\n<li><ol type=i>\n<li><p>x</p></li></ol></li></ol><p>2 B"
    )
    lines = {number: clause.first_line for number, clause in text.clauses.items()}
    assert lines == {"1": 2, "1(a)": 3, "1(b)": 4, "1(b)(i)": 5, "2": 5}


def test_recitals_in_a_list_are_recitals(page: Page) -> None:
    text = page("<h2>Recitals</h2><ol><li>Cars move.</li><li>Rules help.</li></ol><p>1 A</p>")
    assert list(text.clauses)[:3] == ["recitals", "Recital 1", "Recital 2"]


def test_note_before_a_list_takes_it_only_if_it_leads_into_it(page: Page) -> None:
    source = "<p>1 It must:</p><p>Note: see 5.</p><ol type=a><li>go.</li></ol>"
    assert list(page(source).clauses) == ["1", "1, note", "1(a)"]
    assert "1, note(a)" in page(source.replace("5.", "how:")).clauses


# ---- terms ----------------------------------------------------------------------


def test_terms_are_definitions(page: Page) -> None:
    text = page(
        "<h2>1 Scope</h2><dl><dt>lift<dd><p>The height:</p><ol type=i><li>50 mm up</li></ol>"
        "<p>A Short Paragraph</p><dt>“sill”</dt><dd>4.2 m of it<dl><dt>edge<dd>its rim</dl></dl>"
        "<p>After it.</p>"
    )
    assert words_of(text) == {
        "1": "After it.", "definition of lift": "lift — The height: A Short Paragraph",
        "definition of lift(i)": "50 mm up", "definition of sill": "sill — 4.2 m of it",
        "definition of edge": "edge — its rim",
    }  # fmt: skip
    assert text.clauses["definition of edge"].parent == "definition of sill"
    assert text.doubts == ()


def test_terms_with_one_definition_both_have_it(page: Page) -> None:
    text = page("<p>1 A</p><dl><dt>ball</dt><dt>pin</dt><dd>a part</dd><dt>rod</dt><dd>x</dd></dl>")
    assert text.clauses["definition of ball"].words == "ball pin — a part"
    assert text.clauses["definition of pin"].words == "pin — a part"
    assert text.clauses["definition of rod"].parent == "1"


def test_term_that_is_a_number_is_one(page: Page) -> None:
    text = page("<p>1 It has:</p><dl><dt>(a)</dt><dd>x;</dd><dt>(b)</dt><dd>y.</dd></dl>")
    assert list(text.clauses) == ["1", "1(a)", "1(b)"]


# ---- tables ---------------------------------------------------------------------


def test_caption_in_a_cell_opens_its_table(page: Page) -> None:
    text = page(
        "<p>1 A</p><table><caption>Table 1: X</caption><tr><th>a<th>b<tr><td>x<td>y</table>"
        "<table><tr><td colspan=2>Table 2: Loads</td></tr><tr><th>Belt</th><th>Load</th></tr>"
        "<tr><td>Lap</td><td>22 kN</td></tr><tr><td></td><td> </td></tr>"
        "<tr><td>-</td><td>-</td></tr><tr><td colspan=2>Table 3</td></tr>"
        "<tr><th>c</th><th>d</th></tr><tr><td>p</td><td>q</td></tr></table><p>2 B</p>"
    )
    assert [c for c in text.clauses if "row" in c] == [
        "Table 1, row 1", "Table 2, row 1", "Table 2, row 2", "Table 3, row 1",
    ]  # fmt: skip
    assert text.clauses["Table 2"].heading == "Loads"
    assert text.clauses["Table 2, row 1"].words == "Lap 22 kN"
    assert text.doubts == ()


def test_table_without_a_caption_is_no_part_of_the_one_before(page: Page) -> None:
    text = page(
        "<p>1 A</p><table><caption>Table 1 X</caption><tr><th>a<th>b<tr><td>x<td>y</table>"
        "<table><tr><td>4</td><td>p</td></tr><tr><td>5</td><td>q</td></tr></table><p>2 B</p>"
    )
    assert text.clauses["Table 1"].children == ("Table 1, row 1",)
    assert text.clauses["1"].own_words.endswith("4 p 5 q")


@pytest.mark.parametrize(
    ("rows", "first", "doubted"),
    [
        ("<thead><tr><td>a<td>b<tr><td>c<td>d<tbody><tr><td>x<td>y", "x y", False),
        ("<tr><th>front<td>x<tr><th>rear<td>y", "front x", False),
        ("<tr><td><th>b<tr><th>x<td>y", "x y", False),
        ("<tr><td>Seats<td>up to 5<tr><td>Bars<td>over 5", "Seats up to 5", True),
        ("<tr><td>1<td>up to 50 mm<tr><td>2<td>up to 75 mm", "1 up to 50 mm", False),
        ("<tr><td>Size<td>Load<tr><td>50 mm<td>2 t<tr><td>60 mm<td>3 t", "50 mm 2 t", False),
        ("<tr><td>Size<td>Load<tr><td>small<td>low<tr><td>large<td>high", "small low", True),
        ("<tr><td>Seats<td>none<tr><td>Bars<td>50 kg", "Seats none", True),
        ("<tr><td>Seats<td>none", "Seats none", True),
        ("<tr><th>a<th>b<tr><td>x<td>y<tr><th colspan=2>More<tr><td>p<td>q", "x y", True),
    ],
)
def test_first_row_of_data(page: Page, rows: str, first: str, doubted: bool) -> None:
    text = page(f"<p>1 A</p><table><caption>Table 1 X</caption>{rows}</table><p>2 B</p>")
    assert text.clauses["Table 1, row 1"].words == first
    in_doubt = doubts_of(text, "rows of a table")
    assert in_doubt == (list(text.clauses["Table 1"].children) if doubted else [])


def test_table_that_lays_a_page_out_hides_no_clause(page: Page) -> None:
    text = page(
        "<table><tr><td>1 One<table><caption>Table 1 X</caption><tr><th>a<th>b<tr><td>x<td>y"
        "</table><p>2 Two</p></td><td>3 Three</td></tr></table><p>4 Four</p>"
    )
    assert list(text.clauses) == ["1", "Table 1", "Table 1, row 1", "2", "3", "4"]


# ---- the rest of a page ---------------------------------------------------------


def test_way_around_the_site_is_no_text_unless_it_never_ends(page: Page) -> None:
    assert list(page("<nav><ol><li>One</li></ol></nav><p>1 A</p>").clauses) == ["1"]
    assert list(page("<nav><p>1 A</p><p>2 B</p>").clauses) == ["1", "2"]


def test_head_without_an_end_hides_nothing(page: Page) -> None:
    assert list(page("<head><title>9 Not</title><body><p>1 A</p>").clauses) == ["1"]


def test_line_with_a_table_in_plain_text_follows_the_same_rules(tmp_path: Path) -> None:
    path = tmp_path / "t.txt"
    path.write_text("1 One.\n\nTable 4 Steps\n\n2   up to 50 mm\n3   up to 100 mm\n\n2 Two.\n")
    text = read_text(path, id="t")
    assert text.clauses["Table 4, row 1"].own_words == "2 up to 50 mm"
    assert text.clauses["Table 4, row 2"].own_words == "3 up to 100 mm"
    assert text.doubts == ()


def test_cell_over_several_rows_is_in_each_of_them(tmp_path: Path) -> None:
    page = """<h2>5 Plates</h2>
<table><caption>Table 1 Plates</caption>
<tr><th>Class</th><th>Share</th><th>Plate needed</th></tr>
<tr><td>Wagon</td><td>7 %</td><td rowspan="2">no</td></tr>
<tr><td>Van</td><td>10 %</td></tr>
<tr><td rowspan="2">Bus</td><td>1 %</td><td rowspan="wide">yes</td></tr>
<tr><td>2 %</td><td>no</td></tr>
<tr><td>Other</td><td>3 %</td><td>no</td></tr>
</table>
"""
    (tmp_path / "t.html").write_text(page, encoding="utf-8")
    text = read_text(tmp_path / "t.html", id="t")
    rows = [text.clauses[f"Table 1, row {n}"].own_words for n in range(1, 6)]
    assert rows == ["Wagon 7 % no", "Van 10 % no", "Bus 1 % yes", "Bus 2 % no", "Other 3 % no"]
