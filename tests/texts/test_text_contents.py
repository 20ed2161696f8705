"""The table of contents at the front of a text begins none of its clauses."""

from __future__ import annotations

from pathlib import Path

import pytest

from modrules.texts import read_text, text_from

ENTRIES = (
    "Part 1 Preliminary", "1 Short title", "2 Words used", "Part 2 Lifts", "3 Greatest lift",
    "4 Tyres", "Schedule 1 Fees",
)  # fmt: skip
BODY = """
Part 1 Preliminary

1 Short title

These are the Vale rules.

2 Words used

(1) In these rules—

(a) a lift is a lift;
(b) a tyre is a tyre.

Part 2 Lifts

3 Greatest lift

A lift is at most 50 mm.

4 Tyres

A tyre is at most 50 mm.

Schedule 1 Fees

1 A fee is due.
"""
NUMBERS = ["Part 1", "1", "2", "2(1)", "2(1)(a)", "2(1)(b)", "Part 2", "3", "4", "Schedule 1",
           "Schedule 1, 1"]  # fmt: skip


def printed(form: str, parting: str) -> str:
    return parting.join(form.format(entry, page) for page, entry in enumerate(ENTRIES, 1))


@pytest.mark.parametrize(
    "head", ["Contents", "# Contents", "TABLE OF CONTENTS", "**Contents**", "Arrangement of rules"]
)
@pytest.mark.parametrize(
    "form", ["{}", "{} {}", "{}   {}", "{}\t{}", "* [{}](#part{})", "{} .... {}"]
)
@pytest.mark.parametrize("parting", ["\n", "\n\n"])
def test_entries_of_a_table_of_contents_are_no_clauses(head: str, form: str, parting: str) -> None:
    text = text_from(f"Vale rules\n\n{head}\n\n{printed(form, parting)}\n{BODY}", id="t")
    assert [number for number in text.clauses if number not in ("vale rules",)] == NUMBERS
    assert [doubt.kind for doubt in text.doubts if doubt.clause in NUMBERS] == []
    assert any(doubt.kind == "table of contents" for doubt in text.doubts)


def test_contents_below_the_title_put_no_clause_in_doubt() -> None:
    text = text_from(f"# Vale rules\n\n## Contents\n\n{printed('{}', chr(10))}\n{BODY}", id="t")
    told = [doubt for doubt in text.doubts if doubt.kind == "table of contents"]
    assert [doubt.clause for doubt in told] == [""]
    for number in NUMBERS:
        index = text.index_of(number)
        assert index is not None
        assert told[0] not in text.doubts_at(index)


def test_first_clause_is_found_though_its_head_is_printed_otherwise() -> None:
    contents = "Clause  Page\nPreliminary matters  1\n" + printed("{}", "\n")
    text = text_from(f"Contents\n\n{contents}\n{BODY}", id="t")
    assert list(text.clauses) == NUMBERS


def test_list_of_links_on_a_page_is_a_table_of_contents(tmp_path: Path) -> None:
    names = ("Greatest lift", "Tyres", "Fees")
    links = "".join(f'<li><a href="#{n}">{name}</a></li>\n' for n, name in enumerate(names))
    body = "".join(f"<h2>{name}</h2>\n<p>Words about it.</p>\n" for name in names)
    page = f"<h1>Vale</h1>\n<h2>On this page</h2>\n<ol>\n{links}</ol>\n{body}"
    (tmp_path / "t.html").write_text(page, encoding="utf-8")
    text = read_text(tmp_path / "t.html", id="t")
    assert list(text.clauses) == ["vale", "greatest lift", "tyres", "fees"]


@pytest.mark.parametrize(
    "source",
    [
        "Contents\n\n1 The tank holds fuel.\n\n2 The rack is a load.\n\n3 The bar holds lamps.\n",
        "Contents\n\n(1) A list.\n\n(a) one;\n(b) two.\n\n(2) Another.\n\n(a) one;\n(b) three.\n",
    ],
)
def test_clause_named_contents_keeps_what_is_in_it(source: str) -> None:
    text = text_from(source, id="t")
    assert not any(doubt.kind == "table of contents" for doubt in text.doubts)
    assert len(text.clauses) >= 3


@pytest.mark.parametrize("form", ["{}", "{}.", "* {}"])
def test_table_of_contents_without_a_heading(form: str) -> None:
    entries = "\n".join(form.format(entry) for entry in ENTRIES)
    text = text_from(f"Vale rules\n\nof 2026\n\n{entries}\n{BODY}", id="t")
    found = [number for number in text.clauses if number not in ("vale rules", "of 2026")]
    if form == "{}.":  # lines that end as sentences do are none, and are told
        assert {"number repeated"} <= {doubt.kind for doubt in text.doubts}
    else:
        assert found == NUMBERS


def test_lists_that_are_alike_are_no_table_of_contents() -> None:
    lines = "a) Axles\n\nb) Brakes\n\nc) Coils\n\n"
    text = text_from(f"1 Look at these parts:\n\n{lines}2 Weigh these:\n\n{lines}3 Go.\n", id="t")
    assert list(text.clauses) == [
        "1", "1(a)", "1(b)", "1(c)", "2", "2(a)", "2(b)", "2(c)", "3",
    ]  # fmt: skip
