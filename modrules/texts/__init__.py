"""Texts: the documents of a jurisdiction, their clauses, and citations into them."""

from modrules.texts.citations import canonical
from modrules.texts.coverage import coverage, coverage_as_data, coverage_counts
from modrules.texts.differences import Change, as_line, difference
from modrules.texts.editions import (
    added_and_uncited,
    affected,
    changed_and_uncited,
    changes_in,
    compare,
)
from modrules.texts.pins import (
    Checked,
    Citation,
    Pin,
    Pins,
    check_pin,
    check_pins,
    pin,
    pins_as_text,
    read_pins,
)
from modrules.texts.reading import read_text, text_from
from modrules.texts.resolve import DOUBTFUL, STATUS_WORDS, Excerpt, resolve
from modrules.texts.search import search
from modrules.texts.text import Clause, Doubt, Span, Text

__all__ = [
    "DOUBTFUL", "STATUS_WORDS", "Change", "Checked", "Citation", "Clause", "Doubt", "Excerpt",
    "Pin", "Pins", "Span", "Text",
    "added_and_uncited", "affected", "as_line", "canonical",
    "changed_and_uncited", "changes_in",
    "check_pin", "check_pins", "compare", "coverage", "coverage_as_data", "coverage_counts",
    "difference", "pin", "pins_as_text", "read_pins", "read_text", "resolve", "search", "text_from",
]  # fmt: skip
