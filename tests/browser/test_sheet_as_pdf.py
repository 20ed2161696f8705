"""The sheet as a PDF by way of the installed browser: A4, whole, and deaf to attacks."""

from __future__ import annotations

import unicodedata
from io import BytesIO
from typing import Any, cast

import pages
import pypdf
import pytest

import modrules
from modrules.reports import pdf
from modrules.reports.shape import Report

#: A4 in points, give or take what rounding to them costs.
A4 = (595.3, 841.9)


def report_of(name: str) -> Report:
    file = pages.ROOT / "rulesets" / "orrinmark" / "submissions" / f"{name}.yaml"
    ruleset = modrules.load_ruleset("orrinmark", on=pages.DAY)
    return cast("Report", modrules.screen(file, ruleset, on=pages.DAY).to_dict())


def text_of(reader: Any) -> str:
    # A browser sets fi as one character, and means both.
    text = unicodedata.normalize("NFKC", " ".join(page.extract_text() for page in reader.pages))
    return " ".join(text.split())


def test_it_prints_on_a4_with_all_that_the_sheet_says_and_the_same_again() -> None:
    report = report_of("needs-plates")
    data = pdf.render(report)
    reader = pypdf.PdfReader(BytesIO(data))
    assert len(reader.pages) > 3
    for page in reader.pages:
        width, height = float(page.mediabox.width), float(page.mediabox.height)
        assert (width, height) == pytest.approx(A4, abs=1)
    text = text_of(reader)
    for words in (
        "Touring build of an Ostrel Quorrin",
        "OQW5L21A004417",
        "Running gear plate",
        "Judgement of the certifier",
        "no certificate",
    ):
        assert words in text
    assert "file://" not in text
    assert pdf.render(report) == data


def test_an_attack_in_a_report_is_printed_as_words() -> None:
    report = report_of("needs-plates")
    report["submission"]["title"] = "<script>document.body.textContent='gone'</script>"
    text = text_of(pypdf.PdfReader(BytesIO(pdf.render(report))))
    assert "document.body.textContent" in text
    assert "Running gear plate" in text
