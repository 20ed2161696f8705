"""The index against clause lists that were written by hand, and against small traps."""

from __future__ import annotations

import pytest

from modrules.texts import text_from
from tests.texts.samples import NAMES, fixture, listed


def numbers(source: str) -> list[str]:
    return list(text_from(source, id="t").clauses)


def doubt_kinds(source: str) -> set[str]:
    return {doubt.kind for doubt in text_from(source, id="t").doubts}


def test_there_are_ten_kinds_of_published_law() -> None:
    assert len(NAMES) >= 10


@pytest.mark.parametrize("name", NAMES)
def test_index_matches_the_list_or_declares_its_doubt(name: str) -> None:
    text = fixture(name)
    expected = listed(name)
    doubted = {doubt.clause for doubt in text.doubts}
    found = [n for n, clause in text.clauses.items() if clause.kind != "heading" or n in expected]
    missing = [n for n in expected if n not in text.clauses]
    wrong = [n for n in found if n not in expected and n not in doubted]
    assert not missing
    assert not wrong
    assert [n for n in found if n in expected] == expected


@pytest.mark.parametrize("name", NAMES)
def test_own_words_cover_the_text_without_overlap(name: str) -> None:
    text = fixture(name)
    assert text.spans[0].start == 0
    assert text.spans[-1].end == len(text.body)
    for before, after in zip(text.spans, text.spans[1:], strict=False):
        assert before.end == after.start
    assert {span.clause for span in text.spans} <= {"", *text.clauses}


@pytest.mark.parametrize("name", NAMES)
def test_clauses_nest_and_know_each_other(name: str) -> None:
    text = fixture(name)
    for number, clause in text.clauses.items():
        assert clause.number == number
        assert clause.first_line <= clause.last_line
        for child in clause.children:
            inner = text.clauses[child]
            assert inner.parent == number
            assert clause.first_line <= inner.first_line
            assert inner.last_line <= clause.last_line


def test_headings_labels_and_own_words() -> None:
    text = fixture("model_code")
    assert text.clauses["4.2"].heading == "Overall diameter"
    assert text.clauses["4.2"].label == "4.2"
    assert text.clauses["Appendix A"].heading == "THE EXAMINER'S TEST"
    assert text.clauses["Table 1"].heading == "Fees"
    assert text.clauses["1.2(a)"].own_words == "vehicles that were built before 1 January 1931;"
    assert fixture("statute").clauses["99-1204"].heading == "Lifted vehicles"
    assert fixture("eu_act").clauses["3"].heading == "Definitions"
    assert fixture("regulations").clauses["Part 2"].heading == "Alterations"


def test_closing_line_is_the_list_holder_s() -> None:
    text = fixture("regulations")
    closing = "and the vehicle still meets every standard that applied when it was built."
    assert text.clauses["4(1)"].own_words.endswith(closing)
    assert closing not in text.clauses["4(1)(c)"].words


def test_closing_line_in_flat_text_is_the_list_holder_s() -> None:
    text = fixture("model_code")
    assert text.clauses["3.2"].own_words.endswith("and who has paid the fee in Table 1.")


def test_link_word_alone_is_no_closing_line() -> None:
    text = text_from("1 Must:\n\n(a) stop;\n\nor\n\n(b) wait.\n", id="t")
    assert text.clauses["1(a)"].own_words == "stop; or"


@pytest.mark.parametrize(
    "line",
    [
        "4.2 of this code is left out here.",
        "(b) of clause 7 is left out here.",
        "(c) and the rest of the clause.",
        "3.5 mm is the least depth.",
        "12 persons may ride.",
        "2026-07-01 is the day.",
        "Section 12 of the Roads Act is not touched.",
        "Table 2 sets out the sizes.",
    ],
)
def test_running_words_are_no_clause(line: str) -> None:
    source = f"4 Wheels\n\n4.1 A wheel must be sound, as in clause\n{line}\n"
    assert numbers(source) == ["4", "4.1"]


def test_reference_that_would_fit_is_doubted() -> None:
    source = (
        "1 Wheels\n\n1.1 A wheel must be sound under clause\n1.2 and its tyre too.\n\n1.2 Next.\n"
    )
    text = text_from(source, id="t")
    assert list(text.clauses) == ["1", "1.1", "1.2"]
    (doubt,) = text.doubts
    assert doubt.kind == "possible clause not taken"
    assert doubt.line == 4
    assert doubt.clause == "1.1"
    assert "1.2" in doubt.message


def test_letter_after_h_is_told_from_roman_one() -> None:
    letters = "".join(f"({c}) word;\n" for c in "abcdefgh")
    assert "1(i)" in numbers(f"1 List:\n{letters}(i) word;\n(j) word.\n")
    nested = numbers(f"1 List:\n{letters}(i) word;\n(ii) word.\n")
    assert nested[-2:] == ["1(h)(i)", "1(h)(ii)"]
    assert "level uncertain" in doubt_kinds(f"1 List:\n{letters}(i) word;\n\n2 Next.\n")


def test_letter_i_with_a_roman_list_in_it_is_doubted_and_is_not_in_h() -> None:
    source = "4 Limits\n\n(h) one.\n\n(i) two:\n\n(i) three;\n\n(ii) four.\n\n(j) five.\n"
    text = text_from(
        "4 Limits\n\n" + "".join(f"({c}) x.\n\n" for c in "abcdefg") + source[10:], id="t"
    )
    assert list(text.clauses)[-5:] == ["4(h)", "4(i)", "4(i)(i)", "4(i)(ii)", "4(j)"]
    assert text.clauses["4(i)"].own_words == "two:"
    assert "level uncertain" in [doubt.kind for doubt in text.doubts if doubt.clause == "4(i)"]


def test_roman_items_go_on_past_letters_that_look_roman() -> None:
    romans = "".join(f"({r}) word;\n" for r in ("i", "ii", "iii", "iv", "v", "vi"))
    assert numbers(f"1 List:\n(a) first:\n{romans}(b) second.\n")[-2:] == ["1(a)(vi)", "1(b)"]


def test_repeated_number_is_doubted_and_both_are_kept() -> None:
    text = text_from("1 One.\n\n2 Two.\n\n2 Two again.\n\n3 Three.\n", id="t")
    assert list(text.clauses) == ["1", "2 [1]", "2 [2]", "3"]
    assert "number repeated" in {doubt.kind for doubt in text.doubts}


def test_gap_is_doubted() -> None:
    text = text_from("1 One.\n\n2 Two.\n\n5 Five.\n\n(a) x\n\n(d) y\n", id="t")
    gaps = [doubt.clause for doubt in text.doubts if doubt.kind == "gap in a series"]
    assert gaps == ["5", "5(d)"]


def test_numbers_put_in_later_are_no_gap() -> None:
    source = "1 One.\n\n1A One A.\n\n1B One B.\n\n2 Two.\n\n(a) x;\n(aa) y;\n(ab) z;\n(b) q.\n"
    assert numbers(source) == ["1", "1A", "1B", "2", "2(a)", "2(aa)", "2(ab)", "2(b)"]
    assert doubt_kinds(source) == set()


def test_numbering_that_starts_again_in_parts() -> None:
    source = "Part 1 Wheels\n\n1 One.\n\n2 Two.\n\nPart 2 Brakes\n\n1 One.\n\n3 Odd.\n"
    assert numbers(source) == ["Part 1", "Part 1, 1", "2", "Part 2", "Part 2, 1", "3"]


def test_fenced_block_and_table_hold_no_clauses() -> None:
    source = (
        "1 One.\n\n```\n2 Not.\n```\n\nTable 1 Sizes\n\nNo   Size\n7   40 mm\n8   50 mm\n\n2 Two.\n"
    )
    assert numbers(source) == ["1", "Table 1", "Table 1, row 1", "Table 1, row 2", "2"]


def test_words_after_a_table_are_the_clause_s() -> None:
    text = text_from(
        "1 One.\n\nTable 1 Sizes\n\n| a | b |\n|---|---|\n| 1 | 2 |\n\nAfter.\n\n2 Two.\n", id="t"
    )
    assert text.clauses["1"].own_words.endswith("After.")
    assert text.clauses["Table 1, row 1"].own_words == "1 2"


def test_underlined_heading() -> None:
    text = text_from("General\n=======\n\n1 One.\n\nWheels\n------\n\n2 Two.\n", id="t")
    assert [n for n in text.clauses] == ["general", "1", "wheels", "2"]  # noqa: C416
    assert text.clauses["wheels"].kind == "heading"


def test_items_printed_in_one_go() -> None:
    source = "52 (1) (a) A person may act.\n\n(b) So may a firm.\n\n52(3)(a)(i) Nobody else.\n"
    assert numbers(source) == ["52", "52(1)", "52(1)(a)", "52(1)(b)", "52(3)", "52(3)(a)",
                               "52(3)(a)(i)"]  # fmt: skip


def test_list_inside_a_sentence() -> None:
    source = "1 A car must (a) stop; and (b) wait, as sections 4(a) and (b) say.\n"
    assert numbers(source) == ["1", "1(a)", "1(b)"]
    assert numbers("1 See paragraphs (a) and (b) of clause 4.\n") == ["1"]


def test_depth_is_bounded() -> None:
    deep = "1 Deep.\n" + "".join(
        f"\n{'(a)(i)(A)(1)' if n % 2 else '(b)(ii)(B)(2)'} word\n" for n in range(200)
    )
    text = text_from(deep, id="t")
    for number in text.clauses:
        assert number.count("(") < 30
    assert text.spans[-1].end == len(text.body)


def test_text_without_clauses() -> None:
    for source in ("", "\n", "Just a few words.\n", "words " * 1000):
        text = text_from(source, id="t")
        assert len(text.clauses) == 0
        assert "".join(text.body[s.start : s.end] for s in text.spans) == text.body


def test_list_in_the_middle_of_a_sentence_is_doubted() -> None:
    assert doubt_kinds("1 A car must (a) stop, and (b) wait.\n") == {"possible cross reference"}
    assert doubt_kinds("1 A car must: (a) stop; and (b) wait.\n") == set()


def test_no_space_after_the_number_of_an_item() -> None:
    assert numbers("1 Must:\n\n(a)stop; or\n\n(b)wait.\n\n(s)he may go.\n") == ["1", "1(a)", "1(b)"]


def test_headings_set_apart_in_other_ways() -> None:
    text = text_from(
        "1 GENERAL\nThis holds.\n\n1.1 Springs\nSprings bend.\n\n1.2 A car must\nstop.\n", id="t"
    )
    assert [text.clauses[n].heading for n in ("1", "1.1", "1.2")] == ["GENERAL", "Springs", ""]
    assert text.clauses["1.2"].words == "A car must stop."


def test_number_with_a_dash_before_its_first_item() -> None:
    text = text_from("1.—(1) A person must stop.\n\n(2) In (1), a person is anybody.\n", id="t")
    assert list(text.clauses) == ["1", "1(1)", "1(2)"]
    assert text.clauses["1(1)"].words == "A person must stop."


def test_page_numbers_without_page_breaks() -> None:
    source = "1 A wheel must be held by\n\nPage 3 of 9\n\nas many studs as before.\n\n2 Next.\n"
    text = text_from(source, id="t")
    assert text.clauses["1"].words == "A wheel must be held by as many studs as before."
    assert text.clauses["2"].first_line == 7


def test_terms_without_a_verb_are_definitions_under_such_a_heading() -> None:
    source = (
        "## 1 Definitions\n\n**Tare** — the mass\nwithout load.\n\n**Hub**: a part.\n\n"
        "## 2 Use\n\n**Care** — be good.\n"
    )
    text = text_from(source, id="t")
    assert list(text.clauses) == ["1", "definition of tare", "definition of hub", "2"]
    assert text.clauses["definition of tare"].words == "Tare — the mass without load."


BARE = (
    "1 Wheels\n\n1.1 A wheel must be{}a of the right size, which is that of\n"
    "a wheel that is listed;{}b{} and{}c round.\n\n1.2 Next.\n"
)


@pytest.mark.parametrize("between", ["\n", "\n\n"])
def test_bare_letters_are_items_and_the_word_a_is_none(between: str) -> None:
    source = BARE.format(f":{between}", between, " sound;", between)
    text = text_from(source, id="t")
    assert list(text.clauses) == ["1", "1.1", "1.1(a)", "1.1(b)", "1.1(c)", "1.2"]
    assert text.doubts == ()
    assert text.clauses["1.1(a)"].own_words.endswith("that of a wheel that is listed;")
    assert text.clauses["1.1(b)"].own_words == "sound; and"


@pytest.mark.parametrize(
    "source",
    [
        "1 Wheels\n\n1.1 A wheel must be\na round and\nb sound and\nc black.\n\n2 Next\n",
        "1 Wheels\n\n1.1 A wheel of size\nb the second.\n\n2 Next\n",
        "1 Wheels\n\nb the second.\n\n2 Next\n",
        "1 Wheels\n\n1.1 Be of\n  a kind\n     ii black.\n\n2 Next\n",
    ],
)
def test_bare_letters_that_are_not_taken_are_doubted(source: str) -> None:
    assert "possible clause not taken" in doubt_kinds(source)


def test_lines_that_begin_with_the_word_a_are_words() -> None:
    text = text_from("1 It is\na car.\n\n2 The web b is\n\na plain one.\n", id="t")
    assert list(text.clauses) == ["1", "2"]
    assert text.doubts == ()


def test_nested_bare_letters() -> None:
    source = "1 Be:\n\n  a sound:\n     i within;\n     ii without; and\n  b black.\n\n2 Next.\n"
    assert numbers(source) == ["1", "1(a)", "1(a)(i)", "1(a)(ii)", "1(b)", "2"]


def test_number_alone_in_a_clause_with_a_word_is_that_of_a_paragraph() -> None:
    source = "Art. 1 Lift\n1 The lift is low.\n2 It is\n50 mm.\n\nArt. 2 Racks\nNone.\n"
    assert numbers(source) == ["1", "1(1)", "1(2)", "2"]
    assert numbers("1 Lift\n\n1.1 Low.\n\n2 Racks\n\n2.1 None.\n") == ["1", "1.1", "2", "2.1"]


MARGIN = (
    "1 (1) A lift is low.\n\nHeight\n\n(2) It is 50 mm.\n\nWidth\n\n"
    "2 A tyre is wide{}\n\nLoad\n\n{}"
)


def test_note_in_the_margin_is_doubted_only_where_it_may_be_something_else() -> None:
    assert "heading by its looks" not in doubt_kinds(MARGIN.format(".", "3 A load is light.\n"))
    assert "heading by its looks" in doubt_kinds(MARGIN.format(",", "3 A load is light.\n"))
    assert "heading by its looks" in doubt_kinds(MARGIN.format(".", "9 A load is light.\n"))
    assert "heading by its looks" in doubt_kinds(MARGIN.format(".", "A load is light.\n"))


def test_letter_after_a_sentence_may_be_a_note_at_the_foot() -> None:
    law = (
        "1 The owner of a vehicle must keep it sound at all times, in every part of it\n"
        "and wherever it is{}\n\n(a) {}\n"
    )
    assert "possible note" in doubt_kinds(law.format(".", "See page 3."))
    assert "possible note" not in doubt_kinds(law.format(":", "the wheels."))


VERBLESS = """2 Words used in this code

Lift – the increase of the height of the body over the axles.

Kerb mass: the mass of the vehicle with a full tank.

4WD means a vehicle with four driven wheels.

tare - the mass of the vehicle:
(a) without a driver; and
(b) without a load.

GVM, gross vehicle mass, the mass that the maker states.

Track as the width between the wheels.

3 Lifts

Body lifts – no more than 50 mm.
"""


def test_dash_or_colon_defines_where_words_are_defined_and_is_doubted() -> None:
    text = text_from(VERBLESS, id="t")
    assert list(text.clauses) == [
        "2", "definition of lift", "definition of kerb mass", "definition of 4wd",
        "definition of tare", "definition of tare(a)", "definition of tare(b)",
        "definition of gvm", "3",
    ]  # fmt: skip
    doubted = {doubt.clause for doubt in text.doubts}
    assert {"definition of lift", "definition of kerb mass", "definition of tare"} <= doubted
    assert "3" not in doubted
    # What has neither verb nor dash is left in the clause before, and told.
    assert 15 in {doubt.line for doubt in text.doubts}


def test_doubt_about_a_clause_that_is_too_deep_to_be_opened_is_about_the_last_one() -> None:
    text = text_from("".join(" " * depth + "(i) y\n" for depth in range(40)), id="t")
    assert {doubt.clause for doubt in text.doubts} <= {"", *text.clauses}


def test_clause_named_below_the_head_of_a_schedule_is_none_of_its_own() -> None:
    source = "3 A lift.\n\nSCHEDULE 1\nSection 3\n\n1 Stand.\n\n2 (1) Measure.\n\n(2) Write.\n"
    text = text_from(source, id="t")
    assert list(text.clauses) == [
        "3", "Schedule 1", "Schedule 1, 1", "Schedule 1, 2", "Schedule 1, 2(1)",
        "Schedule 1, 2(2)",
    ]  # fmt: skip
    assert (4, "Schedule 1") in [(doubt.line, doubt.clause) for doubt in text.doubts]


def test_provisos_of_a_clause_have_lists_of_their_own_and_are_counted() -> None:
    source = (
        "3 (1) A must:\n\n(a) x;\n\n(b) y:\n\nProvided that—\n\n(a) b; and\n\n(b) c:\n\n"
        "Provided further that d.\n\n(2) F.\n"
    )
    text = text_from(source, id="t")
    assert list(text.clauses) == [
        "3", "3(1)", "3(1)(a)", "3(1)(b)", "3(1), proviso", "3(1), proviso(a)",
        "3(1), proviso(b)", "3(1), proviso 2", "3(2)",
    ]  # fmt: skip
    assert text.clauses["3(1), proviso"].kind == "proviso"
    for asked, number in (
        ("first proviso to s 3(1)", "3(1), proviso"),
        ("s 3(1), proviso (b)", "3(1), proviso(b)"),
        ("second proviso to sub-section (1) of section 3", "3(1), proviso 2"),
    ):
        assert [text.name_of(index) for index in text.find(asked)] == [number]


def test_penalty_with_a_list_and_exception_stand_beside_their_clause() -> None:
    source = (
        "3 A must not lift.\n\nPenalty:\n\n(a) for one—5 units;\n\n(b) for a firm—9 units.\n\n"
        "Exception.—It may be lifted—\n\n(a) by 5 mm; or\n\n(b) for a day.\n\n4 B.\n"
    )
    text = text_from(source, id="t")
    assert [number for number in text.clauses if "(" not in number] == [
        "3", "3, penalty", "3, exception", "4",
    ]  # fmt: skip
    assert {text.clauses[n].kind for n in ("3, penalty", "3, exception")} == {
        "penalty", "exception",
    }  # fmt: skip
