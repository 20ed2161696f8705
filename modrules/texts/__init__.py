"""Texts: the documents of a jurisdiction, their clauses, and citations into them."""

from modrules.texts.citations import canonical
from modrules.texts.reading import read_text, text_from
from modrules.texts.resolve import STATUS_WORDS, Excerpt, resolve
from modrules.texts.text import Clause, Doubt, Span, Text

__all__ = [
    "STATUS_WORDS", "Clause", "Doubt", "Excerpt", "Span", "Text", "canonical", "read_text",
    "resolve", "text_from",
]  # fmt: skip
