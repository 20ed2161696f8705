"""The index against documents of eight kinds of published law, read by a person first.

Beside each document stands the list of its clauses: the number as one would cite it,
the first words of its own text or heading, and its first line. The index must lead from
each number to those words on that line, and must hold nothing that is not listed, or
have declared a doubt there.
"""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest
import yaml

from modrules.texts import Clause, Text, read_text, resolve

HERE = Path(__file__).parent / "laws"
NAMES = sorted(path.name.removesuffix(".clauses.yaml") for path in HERE.glob("*.clauses.yaml"))
QUOTED = 10  # words


@cache
def law(name: str) -> Text:
    return read_text(HERE / listing(name)["text"], id=name)


@cache
def listing(name: str) -> dict:
    return yaml.safe_load((HERE / f"{name}.clauses.yaml").read_text(encoding="utf-8"))


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


def test_eight_documents_are_read() -> None:
    assert len(NAMES) == 8


@pytest.mark.parametrize("name", NAMES)
def test_document_is_long_enough_to_say_something(name: str) -> None:
    assert len((HERE / listing(name)["text"]).read_text(encoding="utf-8").split()) >= 1500
    assert len(entries(name)) >= 60


@pytest.mark.parametrize("name", NAMES)
def test_each_listed_clause_is_found_or_doubted(name: str) -> None:
    assert faults_of_list(law(name), entries(name)) == []


@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_indexed_that_is_neither_listed_nor_doubted(name: str) -> None:
    assert faults_of_index(law(name), entries(name)) == []


@pytest.mark.parametrize("name", NAMES)
def test_ten_words_of_a_clause_lead_to_it(name: str) -> None:
    text = law(name)
    asked = 0
    for number, clause in text.clauses.items():
        words = clause.own_words.split()
        for at in range(len(words) - QUOTED + 1):
            quote = " ".join(words[at : at + QUOTED])
            named = resolve(text, number, quote)
            assert (named.status, named.clause) == ("found", number), quote
            alone = resolve(text, "", quote)
            assert (alone.status, alone.note) == ("found", f"stands in {number}"), quote
            asked += 1
    assert asked >= 300


@pytest.mark.parametrize("name", NAMES)
def test_resolve_shows_the_lines_of_a_listed_clause(name: str) -> None:
    text = law(name)
    for number, words, line in entries(name):
        excerpt = resolve(text, number)
        if excerpt.status == "found" and line not in doubted_lines(text):
            assert excerpt.lines is not None
            assert excerpt.lines[0] == line, (number, words)
