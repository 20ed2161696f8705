"""Citations as people type them: each spelling leads to its clause, and to no other."""

from __future__ import annotations

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from modrules.texts import Text, canonical, resolve, text_from
from tests.texts.laws import Node, blocks_of, laws, printed
from tests.texts.samples import NAMES, fixture

ACT = text_from(
    """\
QUELLWICK VEHICLES ACT 2011

Made under the
Harbour Act 1990

Ferry Act 1987 is no part of it.

Part 1—Preliminary

1 Name
This is the Quellwick Vehicles Act 2011. It comes after the Road Order 1999.

3 Meaning of words
In this Act:

"altered, of a vehicle" means changed in its frame.

**lift** means a rise of the body.

**off-road vehicle** means a vehicle that:
(a) drives all wheels; or
(b) has a low ratio.

Part 2—Lifts

Division 1—Height

5 Limits
(1) A lift must not exceed 50 mm unless:
(a) the frame is sound;
(b) the owner has:
(i) a plate; and
(ii) a report.
(2) A plate is needed above 75 mm.
(2A) A plate may be lost.

Note 1 A plate is a piece of metal.

8 Loads
(1) No load may shift. A strap is needed.
(2) Nothing may fall.

9 Wheels
No wheel may rub.

9A Tyres
No tyre may rub.

11 Marks
(1) Each mark must:
(a) be clear; and
(b) show:
(i) the date; and
(ii) the maker, as:
(A) a name; or
(B) a number.

Schedule 1—Forms

1 A form is blue.

2 A form shows:
(a) the owner; and
(b) the vehicle.

Schedule 2—Fees

1 A fee is due.
""",
    id="act",
    title="Vehicles Act",
)

STANDARD = text_from(
    """\
1 Scope
This standard holds for frames.

3 Terms

3.1
ride height
distance from the wheel to the arch

3.2
droop
travel of the wheel downwards

4 Design

4.1 General
A frame shall be sound.

4.2 Rods

4.2.3 A rod shall be:
a) straight;
b) made of:
1) steel; or
2) iron.

Table 1 — Greatest difference

| Class | Value |
| ----- | ----- |
| A     | 5 mm  |
| B     | 9 mm  |
| C     | 12 mm |

41.2 Words. In this chapter:
(1) "Body lift" means a rise of the body.
(2) "Frame height" means the distance from the ground.

Annex A

A.1 General

A.1.2 A test is made:
a) cold; and
b) warm.

A.2 Report
""",
    id="standard",
)

#: (text, as it is typed, the clause)
TYPED = [
    (ACT, "s 5(1)(b)(ii)", "5(1)(b)(ii)"),
    (ACT, "s5(1)(b)(ii)", "5(1)(b)(ii)"),
    (ACT, "Sec.5 (1) (b) (ii).", "5(1)(b)(ii)"),
    (ACT, "5(1)(b)ii", "5(1)(b)(ii)"),
    (ACT, "5 (1) b ii", "5(1)(b)(ii)"),
    (ACT, "section 5, subsection (1), paragraph (b), subparagraph (ii)", "5(1)(b)(ii)"),
    (ACT, "section 5, subsection 1, paragraph b, sub-paragraph ii", "5(1)(b)(ii)"),
    (ACT, "subparagraph (ii) of paragraph (b) of subsection (1) of section 5", "5(1)(b)(ii)"),
    (ACT, "s 11(1)(b)(ii)A", "11(1)(b)(ii)(A)"),
    (ACT, "section 11, subs 1, para b, subpara ii, A", "11(1)(b)(ii)(A)"),
    (ACT, "§ 8 para 2", "8(2)"),
    (ACT, "§ 5 para 1 no. b", "5(1)(b)"),
    (ACT, "§ 5 Abs. 2A", "5(2A)"),
    (ACT, "§ 5 Abs. 1 lit. b", "5(1)(b)"),
    (ACT, "¶ 5(2)", "5(2)"),
    (ACT, "sub-s (2A) of s 5", "5(2A)"),
    (ACT, "subsection 2A of section 5", "5(2A)"),
    (ACT, "para. 8 no 2", "8(2)"),
    (ACT, "regulation 9A", "9A"),
    (ACT, "Sch 1 cl 2(a)", "Schedule 1, 2(a)"),
    (ACT, "sch. 1, cl. 2, para. a", "Schedule 1, 2(a)"),
    (ACT, "Schedule 1 no 2", "Schedule 1, 2"),
    (ACT, "Schedule 1, 2 b", "Schedule 1, 2(b)"),
    (ACT, "para (b) of clause 2 of Schedule 1", "Schedule 1, 2(b)"),
    (ACT, "clause 2, Schedule 1", "Schedule 1, 2"),
    (ACT, "First Schedule, clause 2(a)", "Schedule 1, 2(a)"),
    (ACT, "2nd Schedule, 1", "Schedule 2, 1"),
    (ACT, "Part 2 Div 1", "Division 1"),
    (ACT, "Part 2, s 5", "5"),
    (ACT, "Division 1 of Part 2", "Division 1"),
    (ACT, "definition of lift", "definition of lift"),
    (ACT, 'the definition of "lift" in s 3', "definition of lift"),
    (ACT, "“lift”", "definition of lift"),
    (ACT, "Lift", "definition of lift"),
    (ACT, "altered", "definition of altered"),
    (ACT, "the term off-road vehicle", "definition of off-road vehicle"),
    (ACT, 's 3 "off-road vehicle" (a)', "definition of off-road vehicle(a)"),
    (ACT, "definition of off-road vehicle, paragraph (b)", "definition of off-road vehicle(b)"),
    (ACT, "s 5 of this Act", "5"),
    (ACT, "Quellwick Vehicles Act 2011, s 5", "5"),
    (ACT, "Quellwick Vehicles Act 2011 s 5(2)", "5(2)"),
    (ACT, "s 5 of the Quellwick Vehicles Act 2011", "5"),
    (ACT, "Vehicles Act, 5(2)", "5(2)"),
    (STANDARD, "cl. 4.2.3 b) 2)", "4.2.3(b)(2)"),
    (STANDARD, "4.2.3 b", "4.2.3(b)"),
    (STANDARD, "4.2.3.b.2", "4.2.3(b)(2)"),
    (STANDARD, "4.2.3b", "4.2.3(b)"),
    (STANDARD, "4.2.3.(b)", "4.2.3(b)"),
    (STANDARD, "clause 4, 4.2.3(a)", "4.2.3(a)"),
    (STANDARD, "subclause 4.2.3", "4.2.3"),
    (STANDARD, "Annex A, A.1.2 b)", "Annex A, 1.2(b)"),
    (STANDARD, "A.1.2(b)", "Annex A, 1.2(b)"),
    (STANDARD, "Annex A.1.2 b", "Annex A, 1.2(b)"),
    (STANDARD, "Annexe A, 1.2(b)", "Annex A, 1.2(b)"),
    (STANDARD, "Table 1, third row", "Table 1, row 3"),
    (STANDARD, "Table 1 2nd row", "Table 1, row 2"),
    (STANDARD, "row 2 of Table 1", "Table 1, row 2"),
    (STANDARD, "term 3.1", "3.1"),
    (STANDARD, "ride height", "3.1"),
    (STANDARD, '"droop"', "3.2"),
    (STANDARD, '41.2 "Frame height"', "41.2(2)"),
    (STANDARD, "Frame height", "41.2(2)"),
]


@pytest.mark.parametrize(("text", "typed", "number"), TYPED)
def test_spelling_leads_to_its_clause(text: Text, typed: str, number: str) -> None:
    found = [text.name_of(index) for index in text.find(typed)]
    assert found == [number]
    assert resolve(text, typed).status == "found"


@pytest.mark.parametrize(
    ("text", "typed", "near"),
    [
        (ACT, "s 7", ("5", "8")),
        (ACT, "s 12", ("11",)),
        (ACT, "s 8(3)", ("8",)),
        (ACT, "s 9a", ("9A",)),
        (ACT, "s 9 A", ("9A",)),
        (ACT, "5.1.b", ("5(1)(b)",)),
        (ACT, "5(1)(B)", ("5(1)(b)",)),
        (ACT, "s 5b", ("5",)),
        (ACT, "subsection 5", ("5",)),
        (ACT, "Part 1, s 5", ("5",)),
        (ACT, "Annex 1, 2", ("Schedule 1, 2",)),
        (ACT, "Harbour Act 1990, s 5", ("5",)),
        (ACT, "Road Order 1999, s 5", ("5",)),
        (ACT, "s 5 of the Act", ("5",)),
        (ACT, "second paragraph of s 5", ("5(2)", "5")),
        (ACT, "last row of Table 1", ()),
        (ACT, "definition of lifts", ("definition of lift",)),
        (ACT, "definition of lift in s 5", ("definition of lift",)),
        (ACT, "definition of lift of 2, s 2", ("definition of lift",)),
        (STANDARD, "4.2(3)", ("4.2.3",)),
        (STANDARD, "Appendix A, 1.2", ("Annex A, 1.2",)),
        (STANDARD, "1.2", ("Annex A, 1.2",)),
        (STANDARD, "Table 1, row 4", ("Table 1",)),
        (STANDARD, "Table 2", ("Table 1",)),
    ],
)
def test_what_names_no_clause_leads_to_none(text: Text, typed: str, near: tuple[str, ...]) -> None:
    excerpt = resolve(text, typed)
    assert excerpt.status == "gone"
    assert text.find(typed) == []
    assert excerpt.candidates == near
    assert all(number in excerpt.note for number in near)


@pytest.mark.parametrize(
    ("text", "typed", "listed"),
    [
        (ACT, "5(1)(a) and (b)", ("5(1)(a)", "5(1)(b)")),
        (ACT, "5(1)(a), (b)", ("5(1)(a)", "5(1)(b)")),
        (ACT, "ss 8 and 9", ("8", "9")),
        (ACT, "ss 5-9", ("5", "8", "9")),
        (ACT, "ss 8–9A", ("8", "9", "9A")),
        (ACT, "Parts 1 to 2", ("Part 1", "Part 2")),
        (ACT, "Schedules 1, 2", ("Schedule 1", "Schedule 2")),
        (ACT, "s 5, s 8", ("5", "8")),
        (ACT, "11(1)(b)(i) and (a)", ("11(1)(b)(i)", "11(1)(a)")),
        (ACT, "11(1)(b)(ii)(A) or (B)", ("11(1)(b)(ii)(A)", "11(1)(b)(ii)(B)")),
        (ACT, "s 3 and Schedule 2, 1", ("3", "Schedule 2, 1")),
        (STANDARD, "4.1-4.2", ("4.1", "4.2")),
        (STANDARD, "rows 1 to 3 of Table 1", ("Table 1, row 1", "Table 1, row 2",
                                              "Table 1, row 3")),
    ],
)  # fmt: skip
def test_list_or_range_leads_to_none_and_tells_all(
    text: Text, typed: str, listed: tuple[str, ...]
) -> None:
    excerpt = resolve(text, typed)
    assert (excerpt.status, excerpt.candidates) == ("ambiguous", listed)
    assert f"a citation is to one clause, and this names {len(listed)}" in excerpt.note
    assert text.find(typed) == []


@pytest.mark.parametrize(
    ("typed", "listed"),
    [("ss 8 and 44", ("8",)), ("s 9 and the Annex", ("9",)), ("5(1)(a) and (z)", ("5(1)(a)",))],
)
def test_list_of_which_some_is_not_there_says_so(typed: str, listed: tuple[str, ...]) -> None:
    excerpt = resolve(ACT, typed)
    assert (excerpt.status, excerpt.candidates) == ("ambiguous", listed)
    assert "of which only" in excerpt.note


@pytest.mark.parametrize("typed", ["1(a)(i), (ii)", "1(a)(i) to (ii)", "(i) and (ii) of 1(a)"])
def test_item_that_begins_several_lines_is_no_name_of_the_text(typed: str) -> None:
    source = "1 A:\n\n(a) b:\n\n(i) red\n\n(ii) blue\n\n(b) c:\n\n(i) old\n\n(ii) blue\n"
    text = text_from(source, id="t")
    assert text.find(typed) == []
    assert resolve(text, typed).candidates == ("1(a)(i)", "1(a)(ii)")


@pytest.mark.parametrize(
    ("typed", "status", "rows"),
    [
        ("item 1 of Table 1", "found", ("Table 1, row 1",)),
        ("item 3 of Table 1", "ambiguous", ("Table 1, row 4", "Table 1, row 3")),
        ("item 2A of Table 1", "found", ("Table 1, row 3",)),
        ('item "2A" of the table in clause 1', "found", ("Table 1, row 3",)),
        ("third item of Table 1", "found", ("Table 1, row 3",)),
        ("item 7 of Table 1", "gone", ()),
    ],
)
def test_item_of_a_table_is_the_row_that_begins_with_it(
    typed: str, status: str, rows: tuple[str, ...]
) -> None:
    table = "".join(f"| {item} | {item} kg |\n" for item in ("1", "2", "2A", "3"))
    text = text_from(f"1 A\n\nTable 1 — Loads\n\n| Item | Load |\n| - | - |\n{table}", id="t")
    assert resolve(text, typed).status == status
    assert tuple(text.name_of(index) for index in text.find(typed)) == rows


@pytest.mark.parametrize("typed", ["ss 9-5", "5-3", "ss 44-46", "ss 44 and 45"])
def test_range_that_does_not_run_upwards_or_is_not_there_is_none(typed: str) -> None:
    assert resolve(ACT, typed).status == "gone"
    assert ACT.find(typed) == []


@pytest.mark.parametrize(
    ("typed", "number", "sentence"),
    [
        ("§ 8(1) sentence 2", "8(1)", "2"),
        ("second sentence of s 8(1)", "8(1)", "2"),
        ("§ 8 Abs. 1 Satz 2", "8(1)", "2"),
        ("s 9, first sentence", "9", "1"),
    ],
)
def test_sentence_leads_to_its_clause_and_says_so(typed: str, number: str, sentence: str) -> None:
    excerpt = resolve(ACT, typed)
    assert [ACT.name_of(index) for index in ACT.find(typed)] == [number]
    assert f"not told apart: not sentence {sentence} alone" in excerpt.note


def test_name_that_the_text_alone_gives_is_told() -> None:
    assert "for the name of this text" in resolve(ACT, "Quellwick Vehicles Act 2011, s 5").note
    assert resolve(ACT, "Vehicles Act, s 8(1)").note == resolve(ACT, "8(1)").note


def test_name_at_the_foot_of_pages() -> None:
    source = "".join(f"41.{n} Wheels must turn.\n\n41 QTC - {n}\n\n" for n in range(1, 4))
    text = text_from(source, id="t")
    if "41 QTC" in text.body:
        assert [text.name_of(i) for i in text.find("41 QTC § 41.2")] == ["41.2"]
    assert text.find("12 QTC § 41.2") == []


def test_section_is_a_part_where_the_text_has_such_parts() -> None:
    act = fixture("eu_act")
    (index,) = act.find("Chapter II, Section 2")
    assert act.clause_at(index).kind == "part"
    assert act.find("Section 5") == []
    assert act.find("Section 1 lit. 2") == []
    assert act.find("Article 5")


@pytest.mark.parametrize(
    ("typed", "number"),
    [
        ("§ 14 ter (2)", "14 ter(2)"),
        ("section 41.2(b-1)", "41.2(b-1)"),
        ("clause 1(a) of the Schedule", "Schedule, 1(a)"),
        ("the Schedule, item 1(a)", "Schedule, 1(a)"),
        ("Third Title, § 4", "Title 3, 4"),
    ],
)
def test_numbers_that_are_put_in_or_counted(typed: str, number: str) -> None:
    assert canonical(typed) == number


# ---- properties -----------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
def test_canonical_number_and_label_lead_to_the_clause(name: str) -> None:
    text = fixture(name)
    for number, clause in text.clauses.items():
        (index,) = text.find(number)
        assert index == clause.index
        if clause.kind == "clause" and not clause.parent and number[0].isdigit():
            led = text.find(clause.label)
            assert clause.index in led, clause.label
            assert len(led) == 1 or clause.label in text.outline.repeats


#: Ways to write a number of sections, subsections, paragraphs and subparagraphs.
_WAYS = (
    lambda top, items: f"s {top}" + "".join(f"({i})" for i in items),
    lambda top, items: f"Section {top} " + " ".join(f"({i})" for i in items),
    lambda top, items: f"§ {top}" + "".join(f" {i})" for i in items),
    lambda top, items: " of ".join([*(f"paragraph ({i})" for i in reversed(items)), f"cl {top}"]),
    lambda top, items: f"sec. {top}" + "".join(f", para. {i}" for i in items),
    lambda top, items: f"r {top}" + "".join(f"({i})" for i in items[:1]) + "".join(items[1:2])
    + "".join(f"({i})" for i in items[2:]),
)  # fmt: skip


def parts_of(number: str) -> tuple[str, list[str]]:
    return number.partition("(")[0], re.findall(r"\(([^)]*)\)", number)


@settings(max_examples=40, deadline=None)
@given(laws(), st.sampled_from(_WAYS))
def test_every_way_to_write_a_number_leads_to_its_clause(law: tuple[Node, ...], way) -> None:  # type: ignore[no-untyped-def]
    text = text_from(printed(law), id="t")
    for block in blocks_of(law):
        typed = way(*parts_of(block.number))
        assert [text.name_of(index) for index in text.find(typed)] == [block.number], typed


LABELS = st.sampled_from(("1", "2", "3", "4", "7", "a", "b", "c", "i", "ii", "iii", "A", "2A", "x"))
JOINS = st.sampled_from((
    "({})", ".{}", " {}", " {})", ", {}", ", para {}", " no. {}", "{}", "-{}", "–({})", " and ({})",
    " to {}", "/{}", " § {}", ", s {}", " in {}", " of ({})", ": {}",
))  # fmt: skip


@settings(max_examples=40, deadline=None)
@given(
    laws(),
    st.lists(
        st.tuples(st.integers(1, 9), st.lists(st.tuples(JOINS, LABELS), max_size=4)), min_size=5
    ),
)
def test_no_clause_is_led_to_whose_labels_are_not_those_typed(
    law: tuple[Node, ...], asked: list[tuple[int, list[tuple[str, str]]]]
) -> None:
    text = text_from(printed(law), id="t")
    for top, rest in asked:
        typed = f"s {top}" + "".join(join.format(label) for join, label in rest)
        labels = "".join(re.findall(r"[0-9A-Za-z]", str(top) + "".join(each for _, each in rest)))
        for index in text.find(typed):
            named = "".join(re.findall(r"[0-9A-Za-z]", text.name_of(index)))
            assert named == labels, typed


@settings(max_examples=40, deadline=None)
@given(laws(), st.integers(1, 9), st.lists(LABELS, max_size=3), st.sampled_from(_WAYS))
def test_made_up_number_leads_to_nothing(law, top, items, way) -> None:  # type: ignore[no-untyped-def]
    text = text_from(printed(law), id="t")
    number = str(top) + "".join(f"({item})" for item in items)
    found = [text.name_of(index) for index in text.find(way(str(top), items))]
    assert found == ([number] if number in text.clauses else [])


#: Ways to write several items of one clause: a range, and lists.
_SEVERAL = (
    lambda head, items: f"s {head}({items[0]})-({items[-1]})",
    lambda head, items: f"s {head}({items[0]}) to ({items[-1]})",
    lambda head, items: f"Section {head}" + ", ".join(f"({i})" for i in items),
    lambda head, items: " and ".join(f"({i})" for i in items) + f" of § {head}",
    lambda head, items: " or ".join(f"{head}({i})" for i in items),
)  # fmt: skip


@settings(max_examples=40, deadline=None)
@given(laws(), st.sampled_from(_SEVERAL))
def test_list_and_range_tell_every_item_and_lead_to_none(law, way) -> None:  # type: ignore[no-untyped-def]
    text = text_from(printed(law), id="t")
    inside: dict[str, list[str]] = {}
    for number in dict.fromkeys(block.number for block in blocks_of(law)):
        head, bracket, item = number.rpartition("(")
        if bracket:
            inside.setdefault(head, []).append(item.rstrip(")"))
    for head, items in inside.items():
        if 1 < len(items) <= 20:
            typed = way(head, items)
            assert text.find(typed) == [], typed
            assert list(resolve(text, typed).candidates) == [f"{head}({i})" for i in items], typed


@pytest.mark.parametrize(
    ("typed", "found"),
    [
        ("subsection 5(1)", "5(1)"), ("sub-section 5(2)(a)", "5(2)(a)"),
        ("subsection 2(a) of section 5", "5(2)(a)"), ("subsection 5", None),
    ],
)  # fmt: skip
def test_a_subsection_by_the_whole_number_or_by_its_own(typed: str, found: str | None) -> None:
    text = text_from("5 A\n\n(1) B.\n\n(2) C:\n\n(a) d;\n\n(b) e.\n", id="t")
    assert [text.name_of(index) for index in text.find(typed)] == ([found] if found else [])
