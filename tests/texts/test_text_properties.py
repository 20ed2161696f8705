"""What must hold of every text: layout changes no digest, and spans tile the text."""

from __future__ import annotations

import string

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from modrules.texts import Text, canonical, resolve, text_from
from modrules.texts.words import clean, plain
from tests.texts.laws import (
    Node,
    blocks_of,
    laws,
    on_pages,
    printed,
    with_distinct_words,
    with_word,
)

Law = tuple[Node, ...]

LAWS = settings(max_examples=40, deadline=None)


def digests(source: str) -> dict[str, str]:
    text = text_from(source, id="t")
    return {number: clause.digest for number, clause in text.clauses.items()}


def tiles(text: Text) -> bool:
    return "".join(text.body[s.start : s.end] for s in text.spans) == text.body


@LAWS
@given(laws())
def test_numbers_are_those_that_were_printed(law: Law) -> None:
    expected = list(dict.fromkeys(block.number for block in blocks_of(law)))
    text = text_from(printed(law), id="t")
    assert list(text.clauses) == expected
    assert tiles(text)


@LAWS
@given(laws(), st.integers(30, 120), st.integers(30, 120))
def test_flowing_again_changes_no_digest(law: Law, narrow: int, wide: int) -> None:
    assert digests(printed(law, narrow)) == digests(printed(law, wide))


@LAWS
@given(laws(), st.integers(30, 80))
def test_hyphens_at_line_ends_change_no_digest(law: Law, width: int) -> None:
    assert digests(printed(law, width, hyphenate=True)) == digests(printed(law, 100))


@LAWS
@given(laws(closings=False), st.integers(45, 80), st.integers(5, 40))
def test_pages_change_no_digest(law: Law, width: int, rows: int) -> None:
    law = with_distinct_words(law)
    paged = on_pages(law, width, rows, "Tarn Vale Code of 2026")
    assume("\f" in paged)
    assert digests(paged) == digests(printed(law, width))


@LAWS
@given(laws(), st.integers(1, 30))
def test_renumbered_sections_keep_their_digests(law: Law, by: int) -> None:
    before, after = digests(printed(law)), digests(printed(law, first=1 + by))
    assert list(before.values()) == list(after.values())


@LAWS
@given(laws(), st.lists(st.integers(0, 3), min_size=1, max_size=4).map(tuple))
def test_one_word_changes_exactly_what_rests_on_it(law: Law, path: tuple[int, ...]) -> None:
    before = digests(printed(with_word(law, path, "zebra")))
    source = printed(with_word(law, path, "okapi"))
    text = text_from(source, id="t")
    for number, clause in text.clauses.items():
        rests_on_it = "okapi" in f"{clause.words} {resolve(text, number).excerpt}".lower()
        assert (clause.digest != before[number]) == rests_on_it


@LAWS
@given(laws())
def test_every_clause_resolves_to_itself(law: Law) -> None:
    text = text_from(printed(law), id="t")
    for number, clause in text.clauses.items():
        excerpt = resolve(text, number)
        assert excerpt.status == "found"
        assert excerpt.digest == clause.digest
        assert excerpt.lines == (clause.first_line, clause.last_line)
        assert canonical(number) == number
        assert resolve(text, number, clause.words).status == "found"


_BITS = (*"\n\n\n \t(a)1.2#*_|->§`=;:—ivx", *string.ascii_lowercase)
_PIECES = ("Part ", "Schedule ", "Table ", "means", "Note:", "\f", "(a) ", "\n1. ", "\n(b) ")
NOISE = st.lists(st.sampled_from((*_BITS, *_PIECES)), max_size=300).map("".join)


@settings(max_examples=200, deadline=None)
@given(NOISE)
def test_any_text_is_tiled_and_never_an_error(source: str) -> None:
    text = text_from(source, id="t")
    assert tiles(text)
    assert text.doubts is not None
    for number, clause in text.clauses.items():
        assert text.clauses[number] == clause
        assert clause.first_line <= clause.last_line
        assert resolve(text, number).status in ("found", "ambiguous", "gone")
        assert len(clause.digest) == 64


@given(st.text(alphabet="abcXYZ019 \n.,;:()'’“”\u00a0\u00ad-–—ﬁé", max_size=200))
def test_plain_words_are_stable(source: str) -> None:
    once = plain(clean(source))
    assert plain(once) == once


@given(st.text(max_size=200), st.text(max_size=40))
def test_any_citation_has_a_status(source: str, clause: str) -> None:
    text = text_from(source, id="t")
    assert resolve(text, clause, source[:20]).status in ("found", "changed", "gone", "ambiguous")
