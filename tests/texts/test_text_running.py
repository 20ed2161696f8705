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


def on_pages(*pages: str) -> Text:
    return text_from("\f".join(pages), id="t")


def of_pages(text: Text) -> list[tuple[str, str]]:
    return [(d.clause, d.message) for d in text.doubts if d.kind == "line left out"]


def test_heads_of_pages_are_told_once_and_their_numbers_not_at_all() -> None:
    words = [f"{n} Wheels\n\nA wheel {chr(96 + n)} is sound." for n in range(1, 7)]
    text = on_pages(*(f"Tarn Vale Code\n\n{w}\n\n{n}\n" for n, w in enumerate(words, 11)))
    assert list(text.clauses) == ["1", "2", "3", "4", "5", "6"]
    assert "Tarn Vale" not in text.body
    assert [clause for clause, _ in of_pages(text)] == [""]
    assert "'Tarn Vale Code'" in of_pages(text)[0][1]


def test_number_alone_at_the_edge_that_counts_no_pages_is_told() -> None:
    text = on_pages(
        "1 Lift\n\nThe lift is at most\n50\n\n1\n", "mm.\n\n2 Tyres\n\nThey fit.\n\n2\n"
    )
    assert [(clause, "'50'" in message) for clause, message in of_pages(text)] == [("1", True)]


@pytest.mark.parametrize("title", ["Schedule {}", "Part {} Wheels", "Form {}", "4.{} General"])
def test_titles_that_count_up_at_the_tops_of_pages_stay(title: str) -> None:
    titles = [title.format(n) for n in range(1, 7)]
    text = on_pages(*(f"{t}\n\nA wheel {t[-1] + t} is sound.\n" for t in titles))
    assert all(f"\n{t}\n" in text.body for t in titles)
    assert of_pages(text) == []


def test_titles_that_come_again_on_pages_far_apart_stay() -> None:
    tops = ["General" if n % 7 == 0 else f"A tyre {chr(97 + n)} fits." for n in range(26)]
    text = on_pages(*(f"{top}\n\nA wheel {chr(97 + n)} is sound.\n" for n, top in enumerate(tops)))
    assert text.body.count("\nGeneral\n") == 4


def test_lines_alike_but_for_a_limit_are_told_each() -> None:
    limits = (50, 80, 20, 90, 10, 70)
    pages = [
        f"A wheel {'abcdef'[n]} is sound.\n\nLift {limit} mm\n" for n, limit in enumerate(limits)
    ]
    told = " ".join(message for _, message in of_pages(on_pages(*pages)))
    assert all(f"'Lift {limit} mm'" in told for limit in limits)
