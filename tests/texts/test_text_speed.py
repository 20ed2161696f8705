"""Time grows with the size of a text and no faster, on ordinary and on hostile input."""

from __future__ import annotations

import pytest

from modrules.texts import compare, resolve, text_from
from modrules.texts.html import html_as_lines
from modrules.texts.outline import outline
from tests.texts.benchmark import PLAIN_NUMBER, best, law_of, pass_over_lines

HOSTILE = {
    "numbers that repeat": "1. a\n",
    "numbers apart": "1 A\n\n",
    "items": "(a) b;\n",
    "items of every kind": "(h) x;\n(i) y;\n\n",
    "items in a row": "(a)(i)(A)(1) x\n\n",
    "deep numbers": "1.1.1.1.1.1.1.1.1.1.1.1.1 x\n\n",
    "spaces": " " * 40,
    "spaces in lines": " " * 400 + "\n",
    "quotation bars": "> > > > > >\n",
    "run-in lists": "must (a) x; (b) y; ",
    "run-in references": " (a) (b) ",
    "quotation marks": '"a ',
    "quoted lines": '"aaaa bbbb\n',
    "emphasis": "**a** x\n",
    "headings": "# Same\n\n",
    "plain headings": "Heading\n\n",
    "fences": "```\n",
    "underlines": "Words\n---\n\n",
    "notes": "Note: x\n\n(a) y;\n",
    "definitions": "a b means c.\n\n",
    "tables": "Table 1 X\n\n| a | b |\n| c | d |\n\n",
    "table lines": "a  b\n",
    "schedules": "Schedule 1 X\n\n1 Y\n\n",
    "parts": "Part 1 X\n\n1 Y\n\n",
    "form feeds": "x\n\f",
    "page numbers": "Page 1\n\n",
    "means": "means ",
    "closing lines": "(a) x;\n\nand so on.\n\n",
    "indented closing lines": "  (a) x;\nand so on.\n",
    "brackets": "(" * 50,
    "digits": "1" * 50,
    "dots": "1." * 50,
    "section signs": "§ 1 X\n\n",
}  # fmt: skip


@pytest.mark.parametrize("unit", HOSTILE.values(), ids=HOSTILE.keys())
def test_time_is_linear_on_hostile_texts(unit: str) -> None:
    def index(size: int) -> None:
        text_from((unit * (size // len(unit) + 1))[:size], id="t")

    index(1000)
    small, large = best(lambda: index(20_000), 3), best(lambda: index(160_000), 2)
    # Eight times the size: quadratic time would be 64 times as long.
    assert large < 24 * max(small, 2.0)


@pytest.mark.parametrize(
    "unit", ["<a ", "<!--", "<script>", "<1", "</", "<![", "<p>", "<ol><li>x", "&#", "<b", '<a ="']
)
def test_time_is_linear_on_hostile_html(unit: str) -> None:
    def read(size: int) -> None:
        html_as_lines(unit * (size // len(unit)) + ">")

    read(1000)
    small, large = best(lambda: read(20_000), 3), best(lambda: read(160_000), 2)
    assert large < 24 * max(small, 2.0)


def test_index_costs_few_passes_over_the_lines() -> None:
    source = law_of(300_000, 80)
    body = "\n" + source
    once = best(lambda: pass_over_lines(source, PLAIN_NUMBER))
    assert best(lambda: outline(body)) < 10 * once


def test_editions_are_compared_in_few_passes_over_the_lines() -> None:
    source = law_of(300_000, 80)
    old, new = text_from(source, id="t"), text_from(source.replace("seat", "belt", 9), id="t")
    once = best(lambda: pass_over_lines(source, PLAIN_NUMBER))
    assert best(lambda: compare(old, new), 1) < 80 * once


def test_looking_up_does_not_grow_with_the_text() -> None:
    few, many = text_from(law_of(20_000, 80), id="t"), text_from(law_of(400_000, 80), id="t")
    for text in (few, many):
        resolve(text, "1.1")
    short = best(lambda: [few.find("1.2(2)(b)") for _ in range(2000)], 3)
    assert best(lambda: [many.find("1.2(2)(b)") for _ in range(2000)], 3) < 5 * max(short, 0.5)
