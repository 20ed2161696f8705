"""The sheet as a PDF where the browser is lacking or misbehaves; a real one: tests/browser."""

from __future__ import annotations

import os
import shutil
import zlib
from pathlib import Path

import pytest
import report_samples

from modrules import cli
from modrules.problems import ModrulesError
from modrules.reports import pdf

ROOT = Path(__file__).parents[2] / "rulesets" / "orrinmark"
SCREEN = [
    "screen",
    str(ROOT / "submissions" / "needs-plates.yaml"),
    "--ruleset",
    str(ROOT),
    "--format",
    "pdf",
]


def browser(folder: Path, monkeypatch: pytest.MonkeyPatch, script: str) -> None:
    """A program of a browser's name, alone on the search path, that does as the script says."""
    program = folder / "chromium"
    program.write_text(f"#!/bin/sh\n{script}\n", encoding="utf-8")
    program.chmod(0o755)
    monkeypatch.setenv("PATH", str(folder))


def test_without_a_browser_it_says_what_to_do_and_saves_nothing(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    target = tmp_path / "sheet.pdf"
    target.write_bytes(b"what was there")
    assert cli.main([*SCREEN, "--output", str(target)]) == 2
    said = " ".join(capsys.readouterr().err.split())
    assert "a PDF is printed by a browser, and none is installed" in said
    assert "take --format html and print that file from any browser" in said
    assert target.read_bytes() == b"what was there"
    assert list(tmp_path.iterdir()) == [target]


def test_a_pdf_goes_to_a_file(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(SCREEN) == 2
    assert "add --output sheet.pdf" in capsys.readouterr().err


#: Finds the file that it is to write, in plain sh.
FIND = 'for one in "$@"; do case "$one" in --print-to-pdf=*) out="${one#*=}";; esac; done'


@pytest.mark.skipif(os.name == "nt", reason="the stand-in for a browser is a shell script")
@pytest.mark.parametrize(
    ("script", "said"),
    [
        ("exit 0", "made no PDF"),
        ("exit 7", "it ended with status 7"),
        (f'{FIND}; echo "half a page" > "$out"', "made no PDF"),
        (f'{FIND}; printf "%%PDF-1.4 cut off" > "$out"', "made no PDF"),
        (f'{FIND}; printf "%%PDF-1.4\\n%%%%EOF" > "$out"', "made no PDF"),
        (f'{FIND}; printf "%%PDF-1.4 /Type /Pages %%%%EOF" > "$out"', "made no PDF"),
        (f'{FIND}; printf "%%PDF-1.4 /Type /Page cut off" > "$out"', "made no PDF"),
        (f'{FIND}; printf "%%PDF-1.4 %%%%EOF" > "$out"; exit 3', "it ended with status 3"),
        ("while :; do :; done", "within 0.3 seconds"),
    ],
)
def test_a_browser_that_fails_is_an_error(
    script: str, said: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    browser(tmp_path, monkeypatch, script)
    monkeypatch.setattr(pdf, "SECONDS", 0.3 if "while" in script else 60)
    with pytest.raises(ModrulesError, match=said):
        pdf.render(report_samples.full())


@pytest.mark.skipif(os.name == "nt", reason="the stand-in for a browser is a shell script")
def test_the_moment_of_printing_is_left_out(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    made = "%%PDF-1.4 /Type /Page (D:20270102030405+00'00') %%%%EOF"
    browser(tmp_path, monkeypatch, f'{FIND}; printf "{made}" > "$out"')
    assert pdf.render(report_samples.full()) == (
        b"%PDF-1.4 /Type /Page (D:20261101000000+00'00') %%EOF"
    )


@pytest.mark.skipif(os.name == "nt", reason="the stand-in for a browser is a shell script")
@pytest.mark.parametrize("page", [True, False])
def test_a_page_may_be_compressed(
    page: bool, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    packed = zlib.compress(
        b"1 0 <</Type /Page /Parent 2 0 R>>" if page else b"1 0 <</Type /Pages>>"
    )
    start = b"%PDF-1.5\n3 0 obj <</Type /ObjStm /N 1 /Length 99>>\nstream\n"
    made = tmp_path / "made.pdf"
    made.write_bytes(start + packed + b"\nendstream endobj %%EOF")
    browser(tmp_path, monkeypatch, f'{FIND}; {shutil.which("cat")} "{made}" > "$out"')
    if page:
        assert pdf.render(report_samples.full()) == made.read_bytes()
    else:
        with pytest.raises(ModrulesError, match="made no PDF"):
            pdf.render(report_samples.full())
