"""Citations: every spelling of a number, quotations as people type them, every status."""

from __future__ import annotations

import pytest

from modrules.texts import STATUS_WORDS, Text, canonical, resolve, search, text_from
from tests.texts.samples import fixture

CODE = fixture("model_code")
REGULATIONS = fixture("regulations")
STATUTE = fixture("statute")
ACT = fixture("eu_act")
MANUAL = fixture("manual")
UN = fixture("un_regulation")


@pytest.mark.parametrize(
    ("spelt", "number"),
    [
        ("4.2.1", "4.2.1"),
        ("clause 4.2.1", "4.2.1"),
        ("cl. 4.2 (b) (ii)", "4.2(b)(ii)"),
        ("section 52(3)(a)(i)", "52(3)(a)(i)"),
        ("s 52", "52"),
        ("S5.1.2", "S5.1.2"),
        ("§ 99-1204(c)", "99-1204(c)"),
        ("§99-1204 (c).", "99-1204(c)"),
        ("Article 7(2)", "7(2)"),
        ("Article 7, paragraph 2, point (a)", "7(2)(a)"),
        ("point (a) of paragraph 2 of Article 7", "7(2)(a)"),
        ("Schedule 3, paragraph 5", "Schedule 3, 5"),
        ("paragraph 5 of Schedule 3", "Schedule 3, 5"),
        ("schedule 3 clause 5", "Schedule 3, 5"),
        ("Appendix B.6.1a", "Appendix B, 6.1a"),
        ("Annex 2, Appendix 1, paragraph 1.1", "Annex 2, Appendix 1, 1.1"),
        ("Table 2, row 3", "Table 2, row 3"),
        ("recital 4", "Recital 4"),
        ("Part 2, regulation 5", "Part 2, 5"),
        ("the definition of kerb mass", "definition of kerb mass"),
        ("General requirements", "general requirements"),
        ("", ""),
    ],
)
def test_spellings_have_one_canonical_form(spelt: str, number: str) -> None:
    assert canonical(spelt) == number


@pytest.mark.parametrize(
    ("text", "spelt", "words"),
    [
        (CODE, "clause 4.2.2", "Where the vehicle is of the off-road kind"),
        (CODE, "Appendix A.1.1a", "A candidate who cannot write"),
        (CODE, "A.1.1a", "A candidate who cannot write"),
        (CODE, "Table 1, row 2", "Renewal"),
        (CODE, "definition of ride height", "the distance from the centre"),
        (CODE, "ride height", "the distance from the centre"),
        (CODE, "2.1, definition of track", "the distance between the centre lines"),
        (REGULATIONS, "regulation 4(1)(c)(iii)(A)", "drilling a hole"),
        (REGULATIONS, "Schedule 1, Part 2, item 1", "Springs that change"),
        (REGULATIONS, "item 1 of Part 2 of Schedule 1", "Springs that change"),
        (REGULATIONS, "Schedule 2, 1", "Application"),
        (REGULATIONS, "definition of eligible person, paragraph (b)", "the owner's consent"),
        (STATUTE, "§ 99-1204(b)(ii)", "fixed to the frame"),
        (STATUTE, "99-1204(c)(2)(B)", "between two fields"),
        (ACT, "Article 2(2)(b)(ii)", "on airfields"),
        (ACT, "Annex I, Part B, point 1", "Parts that were fitted"),
        (ACT, "recital (2)", "A single set of rules"),
        (ACT, "Chapter II, Section 2", "Each member shall name"),
        (MANUAL, "LH2.1(b)", "the bump stops keep"),
        (MANUAL, "Appendix B.6.1(a)", "the parts are new"),
        (UN, "Annex 2, Appendix 1, 1.1", "Its arms are stiff"),
        (UN, "paragraph 5.2.1.", "Spacers of plastic"),
    ],
)
def test_found(text: Text, spelt: str, words: str) -> None:
    excerpt = resolve(text, spelt)
    assert excerpt.status == "found", excerpt
    assert words in excerpt.excerpt
    assert excerpt.lines is not None
    assert excerpt.lines[0] <= excerpt.lines[1]
    assert len(excerpt.digest) == 64
    assert excerpt.status in STATUS_WORDS


def test_excerpt_of_an_item_has_its_lead_in_and_closing_words() -> None:
    excerpt = resolve(REGULATIONS, "4(1)(b)(ii)").excerpt
    assert excerpt == (
        "(1) An eligible person may alter a vehicle without approval if: … (b) after the "
        "alteration: … (ii) the steering turns freely from stop to stop; and … and the "
        "vehicle still meets every standard that applied when it was built."
    )


def test_lines_are_the_file_s() -> None:
    lines = resolve(CODE, "1.1").lines
    assert lines is not None
    source = CODE.body.split("\n")[1:]
    assert source[lines[0] - 1].startswith("1.1 This code sets out")
    assert source[lines[1] - 1].startswith("stay as the maker built it.")


@pytest.mark.parametrize(
    "quote",
    [
        "what the owner of a light vehicle may change without asking anybody",
        "what the owner of a  light vehicle\nmay change",
        "what an authorised\u00a0examiner has to look at",
        "what an author\u00adised examiner",
        "what an author-\nised examiner",
        "**what** the _owner_ of",
    ],
)
def test_quotations_as_people_copy_them(quote: str) -> None:
    assert resolve(CODE, "1.1", quote).status == "found"


def test_quotation_marks_dashes_and_ligatures_do_not_matter() -> None:
    text = text_from("1 The maker’s “ﬁnal” stage — the ﬂoor of the off-\nroad car.\n", id="t")
    for quote in ('maker\'s "final" stage', "stage - the floor", "the off-road car", "off-\nroad"):
        assert resolve(text, "1", quote).status == "found", quote


def test_quotation_stands_as_whole_words() -> None:
    text = text_from("1 A gap of 150 mm or 1.50 m.\n", id="t")
    assert resolve(text, "1", "50 mm").status == "changed"
    assert resolve(text, "1", "50 m").status == "changed"
    assert resolve(text, "1", "150 mm").status == "found"


def test_quotation_may_take_in_items_and_the_lead_in() -> None:
    assert (
        resolve(CODE, "3.2", "has passed the test in Appendix A; and (c) either").status == "found"
    )
    assert resolve(CODE, "3.2(b)", "a person who: (b) has passed").status == "changed"
    assert resolve(CODE, "3.2(b)", "(b) has passed the test").status == "found"
    assert resolve(CODE, "3.2(b)", "may grant a warrant to a person who").status == "found"


def test_changed_says_where_the_quotation_stands() -> None:
    excerpt = resolve(CODE, "4.2.1", "is to be read as 75 mm")
    assert excerpt.status == "changed"
    assert excerpt.candidates == ("4.2.2",)
    assert "4.2.2" in excerpt.note
    assert excerpt.excerpt.startswith("The overall diameter")


def test_gone_and_what_may_be_meant() -> None:
    assert resolve(CODE, "9.9").status == "gone"
    assert resolve(CODE, "9.9", "is to be read as 75 mm").candidates == ("4.2.2",)
    inside = resolve(UN, "1.2")
    assert inside.status == "gone"
    assert inside.candidates == ("Annex 2, 1.2",)


def test_ambiguous_number_lists_the_candidates_and_a_quotation_settles_it() -> None:
    excerpt = resolve(REGULATIONS, "Schedule 1, 1")
    assert excerpt.status == "ambiguous"
    assert excerpt.candidates == ("Schedule 1, Part 1, 1", "Schedule 1, Part 2, 1")
    for candidate in excerpt.candidates:
        assert resolve(REGULATIONS, candidate).status == "found"
    settled = resolve(REGULATIONS, "Schedule 1, 1", "Springs that change the ride height")
    assert settled.status == "found"
    assert settled.excerpt.startswith("Springs")


def test_citation_by_quotation_alone() -> None:
    excerpt = resolve(CODE, "", "The pass mark is 70 %")
    assert excerpt.status == "found"
    assert "Appendix A, 2" in excerpt.note
    assert resolve(CODE, "", "no such words").status == "gone"
    assert resolve(CODE, "", "").status == "gone"


def test_quotation_that_stands_in_forty_places() -> None:
    source = "".join(f"{n} A car must stop at {n} signs.\n\n" for n in range(1, 41))
    excerpt = resolve(text_from(source, id="t"), "", "must stop at")
    assert excerpt.status == "ambiguous"
    assert len(excerpt.candidates) == 20
    assert excerpt.candidates[0] == "1"
    assert "40 places" in excerpt.note
    assert "20 more" in excerpt.note


DOUBTED = text_from(
    "1 Wheels\n\n1.1 A wheel must turn.\n\n1.3 A wheel must be round.\n\n"
    "4 Brakes\n\n4.1 A brake must:\n(a) hold; and\n(c) release.\n\n4.2 A brake must be dry.\n",
    id="t",
)


def test_note_names_the_doubt_of_the_clause_of_what_is_in_it_and_of_what_it_stands_in() -> None:
    assert {doubt.clause for doubt in DOUBTED.doubts} == {"1.3", "4", "4.1(a)"}
    assert resolve(DOUBTED, "1.1").note == ""
    assert resolve(DOUBTED, "1.3").note == (
        "the index is in doubt here: 1.3 comes after 1.1 (1.3, line 5)"
    )
    assert "1.3 comes after 1.1 (1.3, line 5)" in resolve(DOUBTED, "1").note
    assert "4 comes after 1 (4, line 7)" in resolve(DOUBTED, "4.2").note
    assert "(4.1(a), line 11)" not in resolve(DOUBTED, "4.2").note
    assert "(4.1(a), line 11)" in resolve(DOUBTED, "4.1").note


@pytest.mark.parametrize(
    ("clause", "quote", "said"),
    [
        ("", "wheel must be round", "stands in 1.3; the index is in doubt here"),
        ("1.3", "wheel must be square", "does not stand in the clause; the index is in doubt here"),
        ("1.3", "wheel must be round", "the index is in doubt here"),
    ],
)
def test_note_names_the_doubt_whatever_the_status(clause: str, quote: str, said: str) -> None:
    excerpt = resolve(DOUBTED, clause, quote)
    assert said in excerpt.note
    assert excerpt.note.endswith("1.3 comes after 1.1 (1.3, line 5)")


def test_many_doubts_are_counted() -> None:
    source = "1 Wheels\n\n" + "".join(f"1.{n} A wheel turns.\n\n" for n in range(2, 40, 2))
    assert resolve(text_from(source, id="t"), "1").note.endswith("; and 16 more")


def test_not_supplied() -> None:
    excerpt = resolve(None, "4.2", "words")
    assert excerpt.status == "not supplied"
    assert excerpt.lines is None
    assert excerpt.digest == ""


def test_long_clause_is_cut_but_shows_the_quotation() -> None:
    body = "".join(f"4.{n} " + f"word{n} and so on. " * 40 + "\n\n" for n in range(1, 40))
    text = text_from("4 Wheels\n\n" + body, id="t")
    assert resolve(text, "4").excerpt.endswith("…")
    assert "word33" in resolve(text, "4", "word33 and so on").excerpt


@pytest.mark.parametrize(
    "spelt", ["(", "§", "4..2", "((((", "a" * 10_000, "4.2(b", "Part", "\x00", "of of of"]
)
def test_nonsense_is_gone_and_never_an_error(spelt: str) -> None:
    assert resolve(CODE, spelt).status == "gone"


def test_search_finds_the_clauses_with_all_words() -> None:
    assert [clause.number for clause in search(CODE, "LOAD rating")] == ["4.1.2"]
    assert [clause.number for clause in search(CODE, "placard")] == [
        "4.1.2", "4.1.2, note", "4.2.1",
    ]  # fmt: skip
    assert [clause.number for clause in search(CODE, "diameter placard")] == ["4.2.1"]
    assert search(CODE, "placard", most=1)[0].number == "4.1.2"
    assert [clause.number for clause in search(CODE, "appendix")] == [
        "3.2(b)", "Appendix A", "Appendix A, 1", "Appendix A, 1.1", "Appendix A, 1.1a",
        "Appendix A, 2",
    ]  # fmt: skip
    assert search(CODE, "no such words") == ()
    assert search(CODE, " ") == ()


@pytest.mark.parametrize(
    ("heading", "around"),
    [
        ("Height of vehicle.—", ""),
        ("Height of vehicle. ", ""),
        ("Every vehicle shall—", "Every vehicle shall "),
        ("Every vehicle of class A. shall—", "Every vehicle of class A. shall "),
    ],
)
def test_heading_before_a_list_is_no_part_of_what_its_items_rest_on(
    heading: str, around: str
) -> None:
    text = text_from(f"3. {heading}(1) be 50 mm.\n\n(2) be 60 mm.\n\n(3) be.\n", id="t")
    index = text.index_of("3(2)")
    assert index is not None
    assert text.wording.rests_on(index) == f"{around}be 60 mm."
