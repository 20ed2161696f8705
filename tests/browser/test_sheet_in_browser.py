"""The sheet in a real browser: accessible, printable, fit for a phone, and deaf to attacks."""

from __future__ import annotations

import base64
import re
from pathlib import Path
from typing import Any

import pages
import pytest
from selenium import webdriver

from modrules.reports.layout import clean

NAMES = (*pages.SHIPPED, "hostile")
#: A phone held upright, a small one, and the width of A4 at 96 dots to the inch.
WIDTHS = (390, 320, 794)
#: What A4 leaves between its margins of 15 mm.
BETWEEN_MARGINS = 680
WCAG = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]


@pytest.fixture(scope="module")
def sheets(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    folder = tmp_path_factory.mktemp("sheets")
    made = {name: pages.shipped(name, folder) for name in pages.SHIPPED}
    return {**made, "hostile": pages.hostile(folder)}


def opened(browser: webdriver.Chrome, address: str, width: int, media: str = "screen") -> None:
    size = {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": width < 500}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": media})
    browser.get(address)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("width", [390, 794])
def test_no_violation_of_wcag_2_2_aa(
    browser: webdriver.Chrome, axe: str, sheets: dict[str, str], name: str, width: int
) -> None:
    opened(browser, sheets[name], width)
    browser.set_script_timeout(120)
    browser.execute_script(axe)
    found: dict[str, Any] = browser.execute_async_script(
        "const [tags, done] = arguments;"
        "axe.run(document, {runOnly: {type: 'tag', values: tags}}).then(done);",
        WCAG,
    )
    # A checker that looked at nothing would find nothing.
    assert len(found["passes"]) > 10
    assert "target-size" in {
        rule["id"] for key in ("passes", "inapplicable") for rule in found[key]
    }
    told = [
        (one["id"], [node["html"][:200] for node in one["nodes"]]) for one in found["violations"]
    ]
    assert told == []


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("width", WIDTHS)
def test_nothing_scrolls_sideways(
    browser: webdriver.Chrome, sheets: dict[str, str], name: str, width: int
) -> None:
    opened(browser, sheets[name], width)
    assert browser.execute_script("return document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize("name", NAMES)
def test_it_prints_on_a4_and_nothing_is_cut_off(
    browser: webdriver.Chrome, sheets: dict[str, str], name: str
) -> None:
    opened(browser, sheets[name], BETWEEN_MARGINS, media="print")
    beyond = browser.execute_script(
        "return [...document.querySelectorAll('body *')].filter(one =>"
        " one.getBoundingClientRect().right > arguments[0] + 1)"
        ".map(one => one.outerHTML.slice(0, 120))",
        BETWEEN_MARGINS,
    )
    assert beyond == []
    printed = browser.execute_cdp_cmd(
        "Page.printToPDF", {"preferCSSPageSize": True, "printBackground": False}
    )
    pdf = base64.b64decode(printed["data"])
    boxes = re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", pdf)
    assert boxes
    assert {(round(float(w)), round(float(h))) for w, h in boxes} == {(595, 842)}


@pytest.mark.parametrize("name", NAMES)
def test_it_is_black_on_white(browser: webdriver.Chrome, sheets: dict[str, str], name: str) -> None:
    opened(browser, sheets[name], 794)
    colours = browser.execute_script(
        "const found = new Set();"
        "for (const one of document.querySelectorAll('*')) {"
        "  const style = getComputedStyle(one);"
        "  for (const key of ['color', 'backgroundColor', 'borderTopColor', 'fill', 'stroke'])"
        "    found.add(style[key]);"
        "} return [...found];"
    )
    plain = {"rgb(0, 0, 0)", "rgb(255, 255, 255)", "rgba(0, 0, 0, 0)", "none", ""}
    patterns = {'url("#hatch")', 'url("#dots")'}
    assert set(colours) <= plain | patterns


@pytest.mark.parametrize("name", NAMES)
def test_it_runs_nothing_and_fetches_nothing(
    browser: webdriver.Chrome, sheets: dict[str, str], name: str
) -> None:
    browser.get_log("browser")  # what was logged before is no concern of this page
    opened(browser, sheets[name], 794)
    assert browser.execute_script("return window.hacked === undefined")
    assert browser.execute_script("return document.scripts.length") == 0
    assert browser.execute_script("return document.images.length") == 0
    assert browser.execute_script("return performance.getEntriesByType('resource').length") == 0
    assert browser.get_log("browser") == []


def test_an_attack_shows_as_text_wherever_it_stood(
    browser: webdriver.Chrome, sheets: dict[str, str]
) -> None:
    opened(browser, sheets["hostile"], 794)
    text = browser.execute_script("return document.body.textContent")
    assert text.count("<script>window.hacked=1</script>") >= 40
    assert "Stance <script>" in text
    assert "Proof <script>" in text
    assert browser.title.startswith(clean(f"Desk screening: Build {pages.ATTACK}")[:60])
    tags = browser.execute_script(
        "return [...new Set([...document.querySelectorAll('[onerror], [onload], [href]')]"
        ".map(one => one.getAttribute('href') || 'handler'))]"
    )
    assert all(re.fullmatch(r"#finding-\d+", tag) for tag in tags)


@pytest.mark.parametrize("name", NAMES)
def test_links_lead_somewhere_and_ids_are_unique(
    browser: webdriver.Chrome, sheets: dict[str, str], name: str
) -> None:
    opened(browser, sheets[name], 794)
    lost, twice = browser.execute_script(
        "const ids = [...document.querySelectorAll('[id]')].map(one => one.id);"
        "const links = [...document.querySelectorAll('a')].map(one => one.hash.slice(1));"
        "return [links.filter(one => !ids.includes(one)),"
        " ids.filter((one, place) => ids.indexOf(one) !== place)];"
    )
    assert lost == []
    assert twice == []


def test_pages_are_files_of_their_own(sheets: dict[str, str]) -> None:
    for address in sheets.values():
        text = Path(address.removeprefix("file://")).read_text(encoding="utf-8")
        assert text.startswith("<!DOCTYPE html>")
        assert "http://" not in text
        assert "https://" not in text


@pytest.mark.parametrize("name", NAMES)
def test_no_table_is_squeezed_on_a_phone(
    browser: webdriver.Chrome, sheets: dict[str, str], name: str
) -> None:
    """Rows become blocks there: captions and cells take the width of the page."""
    opened(browser, sheets[name], 390)
    narrow = browser.execute_script(
        "return [...document.querySelectorAll('caption, tbody th, td')].filter(one =>"
        " one.getBoundingClientRect().width < 300).map(one => one.outerHTML.slice(0, 120))"
    )
    assert narrow == []
