"""Work grows with the size of a text and no faster, on ordinary and on hostile input.

It is counted here; ``benchmark.py`` beside it measures times.
"""

from __future__ import annotations

import pytest

from modrules.texts import resolve, text_from
from modrules.texts.html import html_as_lines
from tests.counting import calls_of
from tests.texts.benchmark import HOSTILE, HOSTILE_HTML, law_of


@pytest.mark.parametrize("unit", HOSTILE.values(), ids=HOSTILE.keys())
def test_work_is_linear_on_hostile_texts(unit: str) -> None:
    def work(size: int) -> int:
        return calls_of(lambda: text_from((unit * (size // len(unit) + 1))[:size], id="t"))

    work(1000)
    # Eight times the size: quadratic work would be 64 times as much.
    assert work(40_000) < 12 * max(work(5_000), 500)


@pytest.mark.parametrize("unit", HOSTILE_HTML)
def test_work_is_linear_on_hostile_html(unit: str) -> None:
    def work(size: int) -> int:
        return calls_of(lambda: html_as_lines(unit * (size // len(unit)) + ">"))

    work(1000)
    assert work(40_000) < 12 * max(work(5_000), 500)


def test_looking_up_does_not_grow_with_the_text() -> None:
    few, many = text_from(law_of(20_000, 80), id="t"), text_from(law_of(400_000, 80), id="t")
    for text in (few, many):
        resolve(text, "1.1")
    looked_up = [calls_of(lambda t=text: t.find("1.2(2)(b)")) for text in (few, many)]  # type: ignore[misc]
    assert looked_up[0] == looked_up[1]
