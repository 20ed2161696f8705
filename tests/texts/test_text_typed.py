"""Citations as certifiers, lawyers and owners type them, each with what it means."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any

import pytest
import yaml

import modrules
from modrules.texts import Text

ROOT = Path(__file__).parents[2]
LIST = Path(__file__).parent / "typed_citations.yaml"


@lru_cache
def text_of(file: str) -> Text:
    return modrules.read_text(ROOT / file, id=Path(file).stem)


def cases() -> Iterator[Any]:
    # Read as plain words: 2.10 is no number here.
    for file, typed in yaml.load(LIST.read_text("utf-8"), yaml.BaseLoader).items():
        for citation, means in typed.items():
            yield pytest.param(file, citation, means, id=f"{Path(file).stem}: {citation}")


@pytest.mark.parametrize(("file", "typed", "means"), list(cases()))
def test_typed_citation_leads_where_it_is_meant_to(
    file: str, typed: str, means: str | dict[str, list[str]]
) -> None:
    text = text_of(file)
    excerpt = modrules.resolve(text, typed)
    if isinstance(means, str):
        assert means == "none" or means in text.clauses
        if means == "none":
            assert excerpt.status == "gone"
        else:
            there = modrules.resolve(text, means)
            assert (excerpt.status, excerpt.lines) == ("found", there.lines)
            assert (excerpt.digest, excerpt.excerpt) == (there.digest, there.excerpt)
        return
    ((how, clauses),) = means.items()
    assert all(clause in text.clauses for clause in clauses)
    if how == "near":
        assert excerpt.status == "gone"
        assert set(clauses) <= set(excerpt.candidates)
    else:
        assert (excerpt.status, list(excerpt.candidates)) == ("ambiguous", clauses)
        assert ("a citation is to one clause" in excerpt.note) == (how == "each")


def test_every_way_to_mean_something_is_in_the_list() -> None:
    read = yaml.load(LIST.read_text("utf-8"), yaml.BaseLoader)
    means = [each for typed in read.values() for each in typed.values()]
    assert {next(iter(each)) for each in means if isinstance(each, dict)} == {
        "either", "each", "near",
    }  # fmt: skip
    assert "none" in means
    assert len(means) > 300
