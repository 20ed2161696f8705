"""The reference page: all that a ruleset declares, with who uses it, and nothing that acts."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest

from modrules import cli
from modrules.author_commands import load
from modrules.reports.markdown import escaped
from modrules.ruleset.uses import uses
from modrules.trade.functions import FUNCTIONS

RULESET = """\
ruleset: marrowdale
title: "Marrowdale <script>alert(1)</script>"
edition: "1"
in_force: {from: 2026-01-01, up_to: 2027-01-01}
conditions: [{id: unladen, title: Nobody aboard}]
word_sets: [{id: drive, words: [front, rear]}]
subjects:
  - {id: vehicle, title: Vehicle}
  - {id: axle, title: Axle, list: axles}
kinds: [{id: hull, title: Hull}]
facts:
  - id: vehicle.hull_height
    title: Height of the sill
    type: length
    unit: mm
    condition: unladen
    range: {from: 100 mm, to: 1500 mm}
    usual: {from: 200 mm, to: 900 mm}
    none_stated: true
    question: How high is the | sill above the ground?
    measure: "On *level* ground\\tat the lowest point"
  - {id: axle.drive, title: Drive, type: word, words: drive, question: Which?}
  - {id: vehicle.marking, title: Marking, type: tyre_marking, question: What is on it?}
quantities:
  - {id: vehicle.wide, title: Wide, unit: mm, formula: tyre_section_width(vehicle.marking),
     source: the marking}
  - {id: vehicle.wider, title: Wider, unit: mm, formula: 2 * vehicle.wide, source: arithmetic}
tables:
  - id: heights
    title: Heights
    source: the code
    keys: [{id: upper, type: length, unit: mm, match: up_to}]
    columns: [{id: height, type: length, unit: mm}]
    rows: [[100, 200], [200, 300]]
certifications:
  - {id: plate, title: Plate, kind: plate, approval_before_work: true, covered_by: [higher]}
  - {id: higher, title: Higher, kind: certificate, evidence: [{id: report, title: Report}]}
texts: [{id: code, title: Code, edition: "1"}]
checks:
  - id: sill
    title: Sill
    about: hull
    per: vehicle
    measures: vehicle.hull_height if stated else 500 mm
    bands:
      - {up_to: "look_up(heights, height, vehicle.wider)", outcome: complies}
      - {outcome: certification required, certification: plate}
    cites: {text: code, clause: "1"}
"""


@pytest.fixture
def folder(tmp_path: Path) -> str:
    (tmp_path / "ruleset.yaml").write_text(RULESET)
    return str(tmp_path)


def test_the_same_ruleset_gives_the_same_page(folder: str, capsys: Any) -> None:
    assert cli.main(["reference", folder, "--format", "html"]) == 0
    first = capsys.readouterr().out
    assert cli.main(["reference", folder, "--format", "html"]) == 0
    assert capsys.readouterr().out == first


def test_who_uses_what(folder: str) -> None:
    found = uses(load(folder).ruleset.typed)
    assert found.facts == {
        "vehicle.marking": ("quantity vehicle.wide",),
        "vehicle.hull_height": ("check sill",),
    }
    assert found.quantities == {
        "vehicle.wide": ("quantity vehicle.wider",),
        "vehicle.wider": ("check sill",),
    }
    assert found.tables == {"heights": ("check sill",)}
    assert found.functions == {"tyre_section_width": ("quantity vehicle.wide",)}
    assert found.certifications == {"plate": ("check sill",)}


def test_the_page_tells_everything(folder: str, capsys: Any) -> None:
    assert cli.main(["reference", folder]) == 0
    page = capsys.readouterr().out
    for part in (
        "# Reference of Marrowdale \\<script\\>alert(1)\\</script\\>, edition 1\n",
        "- In force: 2026-01-01 to 2027-01-01\n",
        "#### vehicle.hull\\_height\n\n"
        "- What it is: Height of the sill\n"
        "- Type: length, in mm\n"
        "- Measured: unladen: Nobody aboard\n"
        "- Range: 100 mm to 1500 mm; nothing else is accepted\n"
        "- Usual: 200 mm to 900 mm; anything else draws a caution\n"
        "- May be: none stated (the maker states no limit)\n"
        "- Question: How high is the \\| sill above the ground?\n"
        "- How to find out: On \\*level\\* ground at the lowest point\n"
        "- Used by: check sill\n",
        "### Axle (axle)\n\nSeveral may be given, in the list axles of a submission.\n",
        "- Type: word: front, rear\n",
        "- Type: tyre marking\n",
        "- Formula: 2 \\* vehicle.wide\n- Unit: mm\n- Source: arithmetic\n- Used by: check sill\n",
        "- Key upper: length, in mm; the first row whose key is at least the value\n",
        "| 100 | 200 |\n",
        "- Kind: plate\n- Covered by: higher\n- Approval: dated on or before the day of fitting\n",
        "- Takes: Report (report)\n- Used by: nothing in this ruleset\n",
        "| hull | Hull | hull | sill |\n",
    ):
        assert part in page


@pytest.mark.parametrize("name", ["trade", "touring", "orrinmark"])
def test_pages_of_the_shipped_rulesets(name: str, tmp_path: Path) -> None:
    markdown, html = tmp_path / "markdown", tmp_path / "html"
    for file in (markdown, html):
        assert cli.main(["reference", name, "--format", file.name, "--output", str(file)]) == 0
    markdown, html = markdown.read_text(), html.read_text()
    flat = load(name).ruleset.flat
    declared = [*flat.facts, *flat.quantities, *flat.tables, *FUNCTIONS, *flat.certifications]
    titled = re.findall(r"(?m)^####? (.*)$", markdown)
    assert {escaped(one) for one in declared} <= set(titled)
    assert set(declared) <= set(re.findall(r'-([\w.-]+)">\1</h[34]>', html))
    for function in FUNCTIONS.values():
        assert f"- Source: {escaped(function.source)}" in markdown
    page = _Page()
    page.feed(html)
    assert not page.open
    assert len(set(page.ids)) == len(page.ids)
    assert page.links
    assert set(page.links) <= set(page.ids)


def test_nothing_in_the_page_acts(folder: str, capsys: Any) -> None:
    assert cli.main(["reference", folder, "--format", "html"]) == 0
    page = capsys.readouterr().out
    assert "<script" not in page
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in page


def test_a_ruleset_with_a_fault_has_no_page(folder: str, capsys: Any) -> None:
    (Path(folder) / "ruleset.yaml").write_text(RULESET.replace("2 * vehicle.wide", "2 * wide"))
    target = Path(folder) / "page.md"
    assert cli.main(["reference", folder, "--output", str(target)]) == 2
    assert not target.exists()
    assert "wide" in capsys.readouterr().err


class _Page(HTMLParser):
    """Which elements are open, and the ids."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.ids: list[str] = []
        self.links: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.ids += [value for name, value in attrs if name == "id" and value]
        self.links += [value[1:] for name, value in attrs if name == "href" and value]
        if tag not in ("meta", "br"):
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag
