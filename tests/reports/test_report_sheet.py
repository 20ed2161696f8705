"""The certifier's sheet, as HTML and as Markdown: complete, well formed, and inert."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from itertools import pairwise
from typing import Any

import pytest
import report_samples

from modrules.reports import html, markdown
from modrules.reports.blocks import Bar
from modrules.reports.html_bar import bar
from modrules.reports.shape import OUTCOMES

EMPTY_TAGS = {"meta", "rect", "path"}
ALLOWED = {
    "html", "head", "meta", "title", "style", "body", "header", "main", "section", "article",
    "h1", "h2", "h3", "p", "span", "dl", "dt", "dd", "ul", "li", "div", "table", "caption",
    "thead", "tbody", "tr", "th", "td", "blockquote", "svg", "rect", "path", "text",
    "a", "figure", "figcaption", "circle", "defs", "pattern",
}  # fmt: skip
#: Tries to end what it stands in, in HTML, in an attribute, in a table and in a code block.
INJECTION = (
    "</p></title></style><script>alert(1)</script>\"' onload=x <!-- | ``` ](javascript:x) "
    "<img src=http://x.example> **b** & &lt; $x$ https://x.example www.x.example"
)


def injected(report: Any) -> Any:
    """The injection added to every text that is not one of a closed set of words."""

    def add(value: Any, key: str = "") -> Any:
        if isinstance(value, dict):
            return {k: add(v, k) for k, v in value.items()}
        if isinstance(value, list):
            return [add(item, key) for item in value]
        return (
            value + INJECTION
            if isinstance(value, str) and key not in report_samples.CLOSED
            else value
        )

    made = add(report)
    made["submission"]["vehicle"] = {f"make{INJECTION}": f"Ostrel{INJECTION}"}
    return made


class Reader(HTMLParser):
    """Reads a page, and fails where its tags do not nest."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []
        self.feed(page)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in EMPTY_TAGS:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open, tag
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] != "style":
            self.words.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())


SAMPLES: dict[str, Any] = {
    **report_samples.ALL,
    "injected": lambda: injected(report_samples.full()),
}


@pytest.mark.parametrize("name", SAMPLES)
def test_the_page_is_well_formed_and_inert(name: str) -> None:
    read = Reader(html.render(SAMPLES[name]()))
    assert {tag for tag, _ in read.tags} <= ALLOWED
    names = {key for _, attributes in read.tags for key in attributes}
    assert not any(key.startswith("on") or key in ("src", "style") for key in names)
    links = [str(attributes["href"]) for _, attributes in read.tags if "href" in attributes]
    assert all(re.fullmatch(r"#finding-\d+", link) for link in links)
    ids = [attributes["id"] for _, attributes in read.tags if "id" in attributes]
    assert len(ids) == len(set(ids))
    labels = [a["aria-labelledby"] for _, a in read.tags if "aria-labelledby" in a]
    assert set(labels) <= set(ids)


@pytest.mark.parametrize("name", SAMPLES)
def test_the_same_report_gives_the_same_sheet(name: str) -> None:
    report = SAMPLES[name]()
    assert html.render(report) == html.render(SAMPLES[name]())
    assert markdown.render(report) == markdown.render(SAMPLES[name]())


def test_nothing_is_fetched() -> None:
    page = html.render(report_samples.full())
    assert "default-src 'none'" in page
    assert "http://" not in page
    assert "https://" not in page
    assert not re.search(r"url\((?!#)", page)  # patterns of its own page aside


def test_headings_go_down_one_level_at_a_time() -> None:
    levels = [
        int(tag[1])
        for tag, _ in Reader(html.render(report_samples.full())).tags
        if re.fullmatch(r"h\d", tag)
    ]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))


EXPECTED = (
    "A screening aid, no certificate: the local code and licensed certifier decide.",
    "Overall diameter against the placard, axle rear; The Orrinmark Code (2026), clause 4.2",
    "Wheel alignment report after the work",
    "OUTSTANDING",
    "MAY BE REQUIRED: Engineer's certificate",
    "between certification required and not permitted: open",
    "past it by 15 mm",
    "= 830 mm - 765 mm",
    "measured over the tread",
    "may exceed the largest on the placard by 50 mm and no more",
    "How tall is the front tyre?",
    "Stand the vehicle on level ground",
    "the ride height must be known to within 2 mm",
    "Do the hoses stay slack at full droop, wheels turned both ways?",
    "ATTENTION: the supplied text has no such clause",
    "Rope of the winch, winch w1",
    "These rules are invented and bind nobody.",
    "sha256:aaaa",
    "sha256:bbbb",
    "sha256:cccc",
    "not supplied",
    "modrules 0.1.0",
    "Quorrin",
    "2026-11-01",
    "Not looked at, because neither modified nor declared standard: Brakes and Steering.",
    "About Canopy or tray (canopy) this ruleset says nothing. That is no permission.",
    "Judgement, with reasons",
    "Date and signature",
    "on modification lift",
    "Gross rating of the upgrade (the vehicle), 3300 kg by plate of the upgrade (plate 9)",
    "Gross rating of the maker (the vehicle), 3050 kg by maker's plate: 50 kg OVER",
    "1 person and 110 kg or 2 people and 30 kg besides (80 kg each: common practice",
)


@pytest.mark.parametrize("words", EXPECTED)
def test_both_sheets_say_everything(words: str) -> None:
    assert words in Reader(html.render(report_samples.full())).text
    plain = markdown.render(report_samples.full()).replace("\\", "")
    assert words in " ".join(plain.split())


def test_both_ends_of_the_answer_stand_at_the_top() -> None:
    report: Any = report_samples.undecided()
    assert "Answer: between complies and not permitted: open" in html.render(report)
    assert markdown.render(report).split("\n")[2] == (
        "**Answer: between complies and not permitted: open**"
    )


def test_every_outcome_has_a_shape_of_its_own() -> None:
    assert set(html.SHAPE) == {*OUTCOMES, "open"}
    assert len(set(html.SHAPE.values())) == len(html.SHAPE)


def test_text_is_kept_word_for_word_in_html() -> None:
    report = report_samples.clean()
    report["findings"][0]["message"] = INJECTION
    assert INJECTION in Reader(html.render(report)).text


# The drawing


def drawn(measured: dict[str, Any], limit: float) -> str:
    parts: Any = (measured, {"value": limit, "unit": "mm"})
    return "".join(bar(Bar("x", *parts)))


def rectangles(text: str) -> list[tuple[float, float]]:
    """Left end and width of each bar."""
    found = re.findall(r'<rect x="([-\d.]+)" y="18" width="([-\d.]+)"', text)
    return [(float(left), float(width)) for left, width in found]


def test_the_bar_is_to_scale() -> None:
    text = drawn({"value": 25, "unit": "mm"}, 50)
    assert rectangles(text) == [(4, 166)]  # half of the 332 that the limit is away
    assert "M336 14V38" in text
    assert 'aria-label="Measured 25 mm, limit 50 mm"' in text


def test_an_uncertain_measurement_is_hollow_between_its_ends() -> None:
    text = drawn({"value": None, "unit": "mm", "low": 73, "high": 81}, 75)
    (solid, solid_width), (hollow, hollow_width) = rectangles(text)
    assert solid == 4
    assert solid + solid_width == pytest.approx(hollow, abs=0.11)
    assert hollow + hollow_width == pytest.approx(336, abs=0.11)


def test_a_stretch_across_zero_is_hollow_alone() -> None:
    text = drawn({"value": None, "unit": "mm", "low": -100, "high": 100}, 50)
    assert rectangles(text) == [(170, 0), (4, 332)]


def test_negative_values_run_to_the_left() -> None:
    assert rectangles(drawn({"value": -50, "unit": "mm"}, 50)) == [(4, 166)]


def test_no_scale_no_drawing() -> None:
    assert drawn({"value": None, "unit": "mm", "low": 3}, 50) == ""
    assert drawn({"value": 0, "unit": "mm"}, 0) == ""


# Markdown


@pytest.mark.parametrize(
    ("text", "safe"),
    [
        ("4.2 The tread", "4.2 The tread"),
        ("4. The tread", "4\\. The tread"),
        ("12) of", "12\\) of"),
        ("- of", "\\- of"),
        ("a*b_c`d", "a\\*b\\_c\\`d"),
        ("<b>|&amp;#", "\\<b\\>\\|\\&amp;\\#"),
        ("see https://x.example", "see https\\://x.example"),
        ("www.x.example", "www\\.x.example"),
    ],
)
def test_markdown_is_escaped(text: str, safe: str) -> None:
    assert markdown.escaped(text) == safe


def test_nothing_in_markdown_can_be_switched_on() -> None:
    text = markdown.render(injected(report_samples.full()))
    outside = re.sub(r"^(`{3,})\n.*?\n\1$", "", text, flags=re.MULTILINE | re.DOTALL)
    for live in (r"(?<!\\)<", r"(?<!\\)\]\(", r"https?:/", r"www\.x", r"(?<!\\)`", r"(?<!\\)\$"):
        assert re.findall(live, outside) == []


def test_a_calculation_cannot_end_its_own_fence() -> None:
    report = report_samples.clean()
    report["findings"][0]["working"] = ["````", "# not a heading"]
    assert "`````\n````\n# not a heading\n`````" in markdown.render(report)


def test_tables_keep_their_columns() -> None:
    lines = markdown.render(injected(report_samples.full())).split("\n")
    tables = [line for line in lines if line.startswith("| ")]
    widths = {len(re.findall(r"(?<!\\)\|", line)) for line in tables}
    assert widths == {4, 5, 7}
