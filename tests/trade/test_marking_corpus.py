"""Every marking of the corpus, which was written apart from the parser.

One difference is settled here rather than in the corpus: it gives radial sizes without an
aspect ratio the name of their series, 82; the parser gives them 80, which is what the listed
diameters of these tyres amount to (see ``tests/published/test_from_memory.py``).
"""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
import yaml

from modrules.trade.markings import MarkingError, parse_marking, read_in_full

_CORPUS = yaml.safe_load((Path(__file__).parent / "markings.yaml").read_text(encoding="utf-8"))
_SERIES_BY_NAME, _SERIES_BY_DIAMETER = 82, 80


def _name(item: dict[str, Any]) -> str:
    return repr(item["marking"][:40])


def test_the_corpus_is_large_enough() -> None:
    assert len({item["marking"] for item in _CORPUS["valid"]}) >= 200
    assert len({item["marking"] for item in _CORPUS["invalid"]}) >= 100


@pytest.mark.parametrize("item", _CORPUS["valid"], ids=_name)
def test_valid(item: dict[str, Any]) -> None:
    marking = parse_marking(item["marking"])
    expected = {name: item[name] for name in item if name not in ("marking", "canonical", "why")}
    if item["aspect_implied"]:
        assert expected["aspect"] == _SERIES_BY_NAME
        expected["aspect"] = _SERIES_BY_DIAMETER
    found = {name: getattr(marking, name) for name in expected}
    assert {
        name: f"{value:f}" if isinstance(value, Decimal) else value for name, value in found.items()
    } == expected
    assert str(marking) == item["canonical"]
    assert parse_marking(item["canonical"]) == marking == read_in_full(item["marking"])


@pytest.mark.parametrize("item", _CORPUS["invalid"], ids=_name)
def test_invalid(item: dict[str, Any]) -> None:
    with pytest.raises(MarkingError) as caught:
        parse_marking(item["marking"])
    assert caught.value.part == item["part"]
