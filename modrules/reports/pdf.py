"""The sheet as a PDF, printed by a browser that is installed: A4, as it prints on paper.

The browser runs without a window, with a profile of its own that is gone afterwards, without
scripts and without a network; it has a limited time, and what it leaves must be a whole PDF.
"""

from __future__ import annotations

import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import zlib
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import Final

from modrules.problems import ModrulesError, Problem
from modrules.reports import html
from modrules.reports.shape import Report

#: The programs that are looked for on the search path, the first that is there.
BROWSERS: Final = (
    "chromium",
    "chromium-browser",
    "google-chrome",
    "google-chrome-stable",
    "chrome",
)
SECONDS: Final = 120
_HINT: Final = "take --format html and print that file from any browser"
_FLAGS: Final = (
    "--headless",
    "--disable-gpu",
    "--disable-dev-shm-usage",
    "--disable-extensions",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
    "--no-default-browser-check",
    # No name is looked up, and whatever has an address goes to a port where nobody listens.
    "--host-resolver-rules=MAP * ~NOTFOUND",
    "--proxy-server=http://127.0.0.1:9",
    "--proxy-bypass-list=<-loopback>",
    "--no-pdf-header-footer",
)
#: Settings of the profile: no scripts. The sheet has none, and forbids them itself.
_SETTINGS: Final = '{"profile": {"default_content_setting_values": {"javascript": 2}}}'
#: A date in a PDF: ``(D:20261101093000+00'00')``.
#: The kind of an object that is a page, and the start of objects that are compressed together.
_PAGE: Final = re.compile(rb"/Type\s*/Page(?![A-Za-z])")
_OBJECTS: Final = re.compile(rb"/Type\s*/ObjStm\b[^<>]*(?:<<[^<>]*>>[^<>]*)*>>\s*stream\r?\n")
MOST_UNPACKED: Final = 10_000_000
_DATE: Final = re.compile(rb"\(D:\d{14}([^()]{0,7})\)")


def render(report: Report) -> bytes:
    """The sheet as the bytes of a PDF.

    Raises ModrulesError where no browser is there, or where it makes no PDF in time. The same
    report gives the same bytes with the same version of the browser.
    """
    browser = next(filter(None, map(shutil.which, BROWSERS)), None)
    if browser is None:
        said = f"a PDF is printed by a browser, and none is installed ({', '.join(BROWSERS)})"
        raise ModrulesError(Problem(said, None, _HINT))
    with tempfile.TemporaryDirectory(prefix="modrules-", ignore_cleanup_errors=True) as name:
        folder = Path(name)
        (folder / "sheet.html").write_text(html.render(report), encoding="utf-8")
        settings = folder / "profile" / "Default" / "Preferences"
        settings.parent.mkdir(parents=True)
        settings.write_text(_SETTINGS, encoding="utf-8")
        trouble = _print(browser, folder)
        printed = folder / "sheet.pdf"
        data = printed.read_bytes() if printed.is_file() else b""
    if trouble or not _whole(data):
        said = f"the browser {browser} made no PDF{trouble}"
        raise ModrulesError(Problem(said, None, _HINT))
    # The day of the report in place of the moment of printing, so that it can be made again.
    day = report["on"].replace("-", "").encode()
    return _DATE.sub(lambda found: b"(D:" + day + b"000000" + found[1] + b")", data)


def _whole(data: bytes) -> bool:
    """Whether it is a PDF to its end, with a page in it."""
    if not data.startswith(b"%PDF-") or b"%%EOF" not in data[-1024:]:
        return False
    return bool(_PAGE.search(data) or any(map(_PAGE.search, _packed(data))))


def _packed(data: bytes) -> Iterator[bytes]:
    """The objects that are compressed together; what can't be read holds none."""
    for found in _OBJECTS.finditer(data):
        with suppress(zlib.error):
            yield zlib.decompressobj().decompress(data[found.end() :], MOST_UNPACKED)


def _print(browser: str, folder: Path) -> str:
    """Prints the sheet in a folder; what went wrong, in words that follow on, or nothing."""
    command = [
        browser,
        *_FLAGS,
        f"--user-data-dir={folder / 'profile'}",
        f"--print-to-pdf={folder / 'sheet.pdf'}",
        (folder / "sheet.html").as_uri(),
    ]
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        # The browser refuses to run for the superuser otherwise.
        command.insert(1, "--no-sandbox")
    own = {**os.environ, "HOME": str(folder), "XDG_CONFIG_HOME": str(folder)}
    try:
        process = subprocess.Popen(
            command,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            env=own,
            start_new_session=True,
        )
    except OSError as error:
        return f": {error.strerror or error}"
    try:
        status = process.wait(SECONDS)
    except subprocess.TimeoutExpired:
        return f" within {SECONDS} seconds"
    finally:
        _end(process)
    return f" (it ended with status {status})" if status else ""


def _end(process: subprocess.Popen[bytes]) -> None:
    """Ends the browser and all that it started."""
    if sys.platform != "win32":
        with suppress(OSError):
            os.killpg(process.pid, signal.SIGKILL)
    if process.poll() is None:
        process.kill()
    process.wait()
