"""Lines that every page prints, in texts whose pages are not told apart."""

from __future__ import annotations

import pytest

from modrules.texts import Text, resolve, text_from

LIMIT = "in the table"


def paged(lines: list[str], between: str = "\n\n", fill: int = 12) -> Text:
    """Clauses of a page each, cut in mid-sentence by one of the lines."""
    parts = []
    for number, line in enumerate(lines, 1):
        words = "\n".join(f"The wheel {n} of kind {chr(96 + n)} is sound." for n in range(1, fill))
        parts.append(
            f"{number} Wheels\n\n{words}\nIts frame is no higher than the"
            f"{between}{line}{between}limit {LIMIT}.\n\n"
        )
    return text_from("".join(parts), id="t")


def left_out(text: Text) -> list[str]:
    return [doubt.clause for doubt in text.doubts if doubt.kind == "line left out"]


@pytest.mark.parametrize("between", ["\n", "\n\n"])
@pytest.mark.parametrize(
    "line",
    ["41 TAC - {}        Rev. 3/2024", "Tarn Vale Code {}", "- {} -", "{}", "Sheet {} of 12",
     "{}     Tarn Vale Code", "Code of 2024\t{}"],
)  # fmt: skip
def test_line_of_a_page_cuts_no_sentence(line: str, between: str) -> None:
    text = paged([line.format(n) for n in range(8, 12)], between)
    assert list(text.clauses) == ["1", "2", "3", "4"]
    for number in text.clauses:
        assert resolve(text, number, f"no higher than the limit {LIMIT}").status == "found"
    assert left_out(text) == ["1", "2", "3", "4"]


def test_doubt_names_the_line_and_the_words() -> None:
    text = paged(["41 TAC - 1", "41 TAC - 2"])
    doubt = next(doubt for doubt in text.doubts if doubt.kind == "line left out")
    assert doubt.message.startswith("line 16, '41 TAC - 1', is left out")
    assert doubt.line == 18
    assert text.clauses["1"].last_line == 18


@pytest.mark.parametrize(
    "line", ["Sec. 41.{}. Repealed.", "Table {}", "Form A {}", "§ {}", "Part {}", "Item {};",
             "(see {})", "| {} | x |", "## Code {}", "41.{} Repealed"]
)  # fmt: skip
def test_titles_that_count_up_stay(line: str) -> None:
    text = paged([line.format(n) for n in range(1, 5)])
    assert left_out(text) == []
    for n in range(1, 5):
        assert line.format(n).strip("|# ") in text.body


@pytest.mark.parametrize("numbers", [(1, 3, 4, 5), (4, 3, 2, 1), (1, 2, 3, 3)])
def test_number_must_go_up_by_one(numbers: tuple[int, ...]) -> None:
    assert left_out(paged([f"Tarn Vale {n}" for n in numbers])) == []


def test_lines_must_stand_apart() -> None:
    assert left_out(paged([f"Tarn Vale {n}" for n in range(1, 5)], "\n", fill=1)) == []


def between_sections(line: str, times: int = 4) -> Text:
    words = "\n".join("A wheel is sound and is held well." for _ in range(10))
    parts = [f"{n} Wheels\n\n{words}\n\n{line.format(n)}\n\n" for n in range(1, times + 1)]
    return text_from("".join(parts), id="t")


def test_line_between_sections_goes_only_where_it_is_set_at_two_sides() -> None:
    text = between_sections("41 TAC - {}          Rev. 3/2024")
    assert left_out(text) == ["1", "2", "3", "4"]
    assert list(text.clauses) == ["1", "2", "3", "4"]
    assert left_out(between_sections("Form of kind {}")) == []
    assert left_out(between_sections("41 TAC - {}          Rev. 3/2024", times=2)) == []


def test_line_is_seen_in_a_long_text_that_has_it_from_the_middle_on() -> None:
    start = "".join(f"{n} Axles {chr(97 + n % 26)}\n\nAn axle is sound.\n\n" for n in range(1, 900))
    words = "\n".join("A wheel is sound and is held well." for _ in range(10))
    pages = "".join(f"{words}\n\nTAC - {n}       2024\n\n" for n in range(1, 120))
    assert len(left_out(text_from(start + pages, id="t"))) == 119
