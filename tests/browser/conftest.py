"""A headless browser, and the accessibility checker that runs in it.

These tests run by a command of their own, ``.venv/bin/pytest tests/browser``: they need the
Debian packages chromium and chromium-driver, selenium, and the script of axe-core. Where one is
lacking they fail and say which.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from importlib.util import find_spec
from pathlib import Path

import pytest
from selenium import webdriver
from selenium.webdriver.chrome.options import Options
from selenium.webdriver.chrome.service import Service

_FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
)


@pytest.fixture(scope="session")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[webdriver.Chrome]:
    """Chromium with a profile of its own, which is gone afterwards."""
    programs = {name: shutil.which(name) for name in ("chromium", "chromedriver")}
    lacking = [name for name, path in programs.items() if path is None]
    assert not lacking, f"not installed: {lacking}; apt-get install chromium chromium-driver"
    options = Options()
    options.binary_location = str(programs["chromium"])
    for flag in _FLAGS:
        options.add_argument(flag)
    options.add_argument(f"--user-data-dir={tmp_path_factory.mktemp('profile')}")
    # What a page logs is kept, so that a test can see that nothing was blocked or run.
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    driver = webdriver.Chrome(options=options, service=Service(programs["chromedriver"]))
    try:
        yield driver
    finally:
        driver.quit()


@pytest.fixture(scope="session")
def axe() -> str:
    """The script of axe-core, from the package that ships it; the package itself is not run."""
    spec = find_spec("axe_playwright_python")
    assert spec is not None, "pip install --no-deps axe-playwright-python"
    assert spec.origin is not None
    return (Path(spec.origin).parent / "axe.min.js").read_text(encoding="utf-8")
