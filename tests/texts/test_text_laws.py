"""The index against documents of nine kinds of published law, read by a person first.

Beside each document stands the list of its clauses: the number as one would cite it,
the first words of its own text or heading, and its first line. The index must lead from
each number to those words on that line, and must hold nothing that is not listed, or
have declared a doubt there.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import yaml

from modrules.texts import Clause, Excerpt, Text, read_text, resolve, text_from

HERE = Path(__file__).parent / "laws"
NAMES = sorted(path.name.removesuffix(".clauses.yaml") for path in HERE.glob("*.clauses.yaml"))
#: Shorter ones in other styles, each written by somebody who had not seen the indexer.
MORE = sorted(
    f"more/{path.name.removesuffix('.clauses.yaml')}" for path in HERE.glob("more/*.clauses.yaml")
)
QUOTED = 10  # words


@cache
def law(name: str) -> Text:
    return read_text((HERE / name).parent / listing(name)["text"], id=name)


@cache
def listing(name: str) -> dict[str, Any]:
    source = (HERE / f"{name}.clauses.yaml").read_text(encoding="utf-8")
    data: dict[str, Any] = yaml.safe_load(source)
    return data


def entries(name: str) -> list[tuple[str, str, int]]:
    """(citation, first words, line) of each listed clause, in order."""
    found = []
    for entry in listing(name)["clauses"]:
        if "heading" in entry:
            found.append((entry["heading"], entry["heading"], entry["line"]))
        elif "definition" in entry:
            found.append((f"definition of {entry['definition']}", entry["words"], entry["line"]))
        else:
            found.append((entry["number"], entry["words"], entry["line"]))
    return found


def squashed(words: str) -> str:
    """The letters and digits alone, as neither marks nor line ends are in question here."""
    return re.sub(r"[\W_]", "", words).casefold()


def begins(clause: Clause, words: str) -> bool:
    starts = (clause.heading + clause.own_words, clause.heading + clause.words, clause.words)
    return any(squashed(start).startswith(squashed(words)) for start in starts)


def doubted_clauses(text: Text) -> set[str]:
    return {doubt.clause for doubt in text.doubts if doubt.clause}


def doubted_lines(text: Text) -> set[int]:
    return {doubt.line for doubt in text.doubts}


def faults_of_list(text: Text, listed: list[tuple[str, str, int]]) -> list[str]:
    """What is wrong or missed, and not doubted on its line."""
    faults = []
    lines = doubted_lines(text)
    for number, words, line in listed:
        found = [text.clause_at(index) for index in text.find(number)]
        if len(found) == 1 and found[0].first_line == line and begins(found[0], words):
            continue
        if line not in lines:
            places = [(c.number, c.first_line, c.words[:40]) for c in found]
            faults.append(f"line {line}: {number} ({words}) led to {places}")
    return faults


def faults_of_index(text: Text, listed: list[tuple[str, str, int]]) -> list[str]:
    """Clauses of the index that no listed number leads to, and that are not doubted."""
    led_to = {text.name_of(index) for number, _, _ in listed for index in text.find(number)}
    doubted = doubted_clauses(text)
    return [
        f"line {clause.first_line}: {number} ({clause.words[:40]}) is not listed"
        for number, clause in text.clauses.items()
        if number not in led_to and number not in doubted
    ]


def runs_of_words(text: Text) -> Iterator[tuple[str, list[str]]]:
    """(clause, its own words in one run as they are printed), without number and marks.

    What stands before a list and what closes it are two runs.
    """
    for span in text.spans:
        if span.clause:
            printed = text.body[span.start : span.end].strip(" \n#>*|")
            printed = printed.removeprefix(text.clauses[span.clause].label)
            printed = re.sub(r"(?<=[a-z])-\n(?=[a-z])", "", printed)  # half a word is no word
            yield span.clause, [word for word in printed.split() if word.strip(">|#-")]


def said_first(excerpt: Excerpt) -> str:
    """What a note says before it names what the index doubts."""
    return excerpt.note.partition("; the index is in doubt here")[0]


def test_nine_documents_are_read() -> None:
    assert len(NAMES) == 9


@pytest.mark.parametrize("name", NAMES)
def test_document_is_long_enough_to_say_something(name: str) -> None:
    assert len((HERE / listing(name)["text"]).read_text(encoding="utf-8").split()) >= 1500
    assert len(entries(name)) >= 60


@pytest.mark.parametrize("name", [*NAMES, *MORE])
def test_each_listed_clause_is_found_or_doubted(name: str) -> None:
    assert faults_of_list(law(name), entries(name)) == []


@pytest.mark.parametrize("name", [*NAMES, *MORE])
def test_nothing_is_indexed_that_is_neither_listed_nor_doubted(name: str) -> None:
    assert faults_of_index(law(name), entries(name)) == []


@pytest.mark.parametrize("name", NAMES)
def test_ten_words_of_a_clause_lead_to_it(name: str) -> None:
    text = law(name)
    asked = 0
    for number, words in runs_of_words(text):
        for at in range(len(words) - QUOTED + 1):
            quote = " ".join(words[at : at + QUOTED])
            named = resolve(text, number, quote)
            assert (named.status, named.clause) == ("found", number), quote
            alone = resolve(text, "", quote)
            assert (alone.status, said_first(alone)) == ("found", f"stands in {number}"), quote
            asked += 1
    assert asked >= 300


@pytest.mark.parametrize("name", [*NAMES, *MORE])
def test_resolve_shows_the_lines_of_a_listed_clause(name: str) -> None:
    text = law(name)
    for number, words, line in entries(name):
        excerpt = resolve(text, number)
        if excerpt.status == "found" and line not in doubted_lines(text):
            assert excerpt.lines is not None
            assert excerpt.lines[0] == line, (number, words)


@pytest.mark.parametrize(
    ("name", "number", "closing"),
    [
        ("regulations", "3(3)", "and a copy of the acceptance is carried in the vehicle"),
        ("regulations", "6(2)", "and the greatest of the differences found at the wheels"),
        ("model-code", "4.1.2", "and the mass of the rack itself counts towards the load"),
        ("federal-standard", "S7.4.3", "in which case the series is begun again"),
        ("statute", "99-1208(c)", "together with the papers that the owner brought"),
        ("act", "7(2)", "and shall state the reasons in the certificate"),
        ("instrument", "9(2)", "and by rounding the sum up to the next 5 mm"),
        ("more/brackwater_act", "5(1)", "unless the vehicle is entered in the register"),
        ("more/brackwater_act", "8(3)", "but a spacer of the maker's that has been turned"),
        ("more/tarnmoor_regulation", "41.32(b)", "and until it has decided the vehicle"),
        ("more/orrelby_bylaw", "8(3)", "and it does not go faster than 30 km/h"),
        ("more/orrelby_bylaw", "15", "is fined up to 500 marks"),
    ],
)
def test_closing_line_is_that_of_the_clause_with_the_list(
    name: str, number: str, closing: str
) -> None:
    found = resolve(law(name), "", closing)
    assert (found.status, said_first(found)) == ("found", f"stands in {number}")


def numbers(source: str) -> list[str]:
    return list(text_from(source, id="t").clauses)


def test_note_beside_a_subsection_ends_no_series() -> None:
    source = "3 (1) One must.\n\nLoad\n\n(2) Two must.\n\n(a) so.\n\nUse\n\n(3) Three must.\n"
    assert numbers(source) == ["3", "3(1)", "load", "3(2)", "3(2)(a)", "use", "3(3)"]
    assert text_from(source, id="t").clauses["3(1)"].words == "One must."


def test_number_with_a_point_goes_between_two_items() -> None:
    assert numbers("4 (1) A.\n\n(2) B.\n\n(2.1) C.\n\n(2.2) D.\n\n(3) E.\n")[3:] == [
        "4(2.1)", "4(2.2)", "4(3)",
    ]  # fmt: skip
    assert numbers("4 (1) A gap of\n\n(12.5) mm.\n\n(2) B.\n") == ["4", "4(1)", "4(2)"]


def test_words_after_a_spaced_item_are_the_item_s() -> None:
    clauses = text_from("1 (1) A car must stop.\n", id="t").clauses
    assert clauses["1(1)"].words == "A car must stop."
    assert clauses["1"].words == "(1) A car must stop."


def test_term_with_a_capital_is_defined_among_definitions_alone() -> None:
    words = "Design height means the height when new.\n"
    assert "definition of design height" in numbers(f"S4. Definitions.\n\n{words}")
    assert numbers(f"S4. Height.\n\n{words}") == ["S4"]


def test_line_of_a_table_of_contents_is_doubted_and_no_clause() -> None:
    source = "1 Wheels ........ 2\n\n2 Brakes . . . . . ix\n\n1 Wheels\n\n2 Brakes\n"
    text = text_from(source, id="t")
    assert [(n, clause.first_line) for n, clause in text.clauses.items()] == [("1", 5), ("2", 7)]
    assert [doubt.line for doubt in text.doubts] == [1, 3]


def test_hyphenated_numbers_carry() -> None:
    sections = "".join(f"§ 99-12{n:02}. Wheels.\n\nBe good.\n\n" for n in range(1, 12))
    assert text_from(sections, id="t").doubts == ()
    without = sections.replace("§ 99-1210. Wheels.\n\nBe good.\n\n", "")
    assert [doubt.kind for doubt in text_from(without, id="t").doubts] == ["gap in a series"]


def test_title_below_the_number_of_a_table_is_no_row() -> None:
    source = "1 One.\n\nTable 1\nLeast index\n\nLoad  Index\n1,000  83\n1,200  90\n\n2 Two.\n"
    assert numbers(source) == ["1", "Table 1", "Table 1, row 1", "Table 1, row 2", "2"]
    assert text_from(source, id="t").clauses["Table 1"].heading == "Least index"


def test_section_sign_after_of_is_a_reference() -> None:
    source = "§ 1. Wheels.\n\nThis holds for the purposes of\n§ 2.\n\n§ 2. Brakes.\n"
    text = text_from(source, id="t")
    assert {n: clause.first_line for n, clause in text.clauses.items()} == {"1": 1, "2": 6}
    assert [(doubt.kind, doubt.line) for doubt in text.doubts] == [("possible clause not taken", 4)]


def test_sentence_that_goes_on_with_a_number_is_no_heading() -> None:
    source = "3 Authority\n\nThis is made under section\n41 of the Act of the Territory.\n"
    text = text_from(source, id="t")
    assert list(text.clauses) == ["3"]
    assert text.clauses["3"].own_words.startswith("This is made under section 41 of")


@pytest.mark.parametrize("between", ["\n", "\n\n"])
@pytest.mark.parametrize(
    "closing", ["must be inspected.", "The owner must pay.", "Maximum penalty: 20 units."]
)
def test_line_after_a_list_that_its_break_sets_apart_is_the_clause_s_or_doubted(
    closing: str, between: str
) -> None:
    text = text_from(f"1 A vehicle:\n\n(a) raised; or\n\n(b) lowered,{between}{closing}\n", id="t")
    assert text.clauses["1(b)"].words == "lowered,"
    assert closing in text.clauses["1"].own_words
    assert between == "\n\n" or "closing words" in [doubt.kind for doubt in text.doubts]


def test_line_that_wrapping_broke_is_the_item_s() -> None:
    source = (
        "1 A vehicle must have:\n(a) brakes that were tested by a person whom the office named,\n"
        "unless the vehicle is towed; and\n(b) lamps.\n"
    )
    text = text_from(source, id="t")
    assert "unless" in text.clauses["1(a)"].words


@pytest.mark.parametrize(
    "source",
    [
        '5 Amendment\n\nAfter section 8 insert:\n\n"8A Exhausts\n(1) Low.\n(2) Quiet."\n\n6 Next\n',
        "5 Amendment\n\nInsert:\n\n“8A Exhausts\n\n“(1) Low.\n\n(2) Quiet.”\n\n6 Next\n",
        '5 Signs\n\nThe sign must read: "Raised.\n1. Drive slowly.\n2. Keep off."\n\n6 Next\n',
    ],
)
def test_numbers_in_a_quotation_are_no_clauses_of_the_text(source: str) -> None:
    text = text_from(source, id="t")
    assert list(text.clauses) == ["5", "6"]
    assert "possible clause not taken" in [doubt.kind for doubt in text.doubts]


def test_quotation_marks_that_quote_no_lines_hide_no_clause() -> None:
    source = (
        '3 Words\n\n"overall\ndiameter" means a.\n\n4 A 32" tyre:\n\n(a) x;\n\n(b) y.\n\n'
        '5 "Stray\n\n6 Z\n'
    )
    assert numbers(source) == [
        "3", "definition of overall diameter", "4", "4(a)", "4(b)", "5", "6",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("source", "found"),
    [
        ("3 X.\n\n4–7 [Repealed]\n\n8 Y.\n", ["3", "4-7", "8"]),
        ("§ 3 X.\n\n§§ 4-7 (repealed)\n\n§ 8 Y.\n", ["3", "4-7", "8"]),
        ("§ 8 X.\n\n§ 8 bis Y.\n\n§ 8ter Z.\n\n§ 9 W.\n", ["8", "8 bis", "8 ter", "9"]),
        ("1 A.\n\nTHE SCHEDULE\n\n1 B.\n", ["1", "Schedule", "Schedule, 1"]),
        ("1 A.\n\nSECOND SCHEDULE\n\n1 B.\n", ["1", "Second Schedule", "Second Schedule, 1"]),
        ("1 A is in\nSchedule\n\n2 B.\n", ["1", "2"]),
        ("4 A:\n\n(a) b;\n\n(b) c;\n\n(b-1) d;\n\n(c) e.\n",
         ["4", "4(a)", "4(b)", "4(b-1)", "4(c)"]),
        ("4 Parts are: a) the frame; b) the axle; and c) the hub.\n",
         ["4", "4(a)", "4(b)", "4(c)"]),
        ("4 A.\n\nNote 1 to entry: It is:\na) b;\nb) c.\n",
         ["4", "4, note 1", "4, note 1(a)", "4, note 1(b)"]),
    ],
)  # fmt: skip
def test_numbers_of_other_houses(source: str, found: list[str]) -> None:
    assert numbers(source) == found


@pytest.mark.parametrize("between", ["", " "])
@pytest.mark.parametrize("before", ["2 ", "2 A\n\n", "2. "])
def test_items_in_a_row_have_their_own_words(before: str, between: str) -> None:
    text = text_from(f"1 X.\n\n{before}(1){between}(a) be good;\n\n(b) be well.\n", id="t")
    assert text.clauses["2(1)(a)"].own_words == "be good;"
    assert text.clauses["2(1)(b)"].own_words == "be well."
    assert text.clauses["2(1)"].own_words == ""


def test_row_of_numbers_and_formula_are_no_clauses() -> None:
    source = "1 T\n\n(1)      (2)      (3)\n\n2 At least\n\n    R = 1.5 × M\n\nwhere M is it.\n"
    assert numbers(source) == ["1", "2"]


def test_list_below_a_note_that_stands_alone_is_the_note_s() -> None:
    source = "5 A\n\n(1) B.\n\nIllustrations\n\n(a) One.\n\n(b) Two.\n\n6 C.\n"
    assert numbers(source)[2:5] == ["5, illustration", "5, illustration(a)", "5, illustration(b)"]
    doubts = text_from(source, id="t").doubts
    assert ("level uncertain", "5, illustration") in [(d.kind, d.clause) for d in doubts]


def test_list_goes_on_after_words_that_seemed_to_end_it_in_doubt() -> None:
    source = (
        "3 T\n\nA. The rating is as follows:\n\nR = W × 0.55\n\nB. Each wheel must have:\n\n"
        "1. nuts; and\n\n2. studs.\n\nC. A tire must be covered.\n"
    )
    text = text_from(source, id="t")
    assert list(text.clauses) == ["3", "3(A)", "3(B)", "3(B)(1)", "3(B)(2)", "3(C)"]
    assert {"closing words", "level uncertain"} <= {doubt.kind for doubt in text.doubts}
