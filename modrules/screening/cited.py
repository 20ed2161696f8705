"""The citations of findings, looked up in the texts at hand and held against the pins."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cache
from typing import TYPE_CHECKING, Any, NamedTuple

from modrules.texts import DOUBTFUL, Excerpt, Pins, Text, as_line, check_pin, resolve

if TYPE_CHECKING:
    from modrules.ruleset.models import Citation


class Cited(NamedTuple):
    """A citation, where it leads, and more on its status: where it moved, how it changed."""

    citation: Citation
    excerpt: Excerpt
    note: str

    @property
    def doubtful(self) -> bool:
        """Whether its words do not stand in the text at hand as the check has them."""
        return self.excerpt.status in DOUBTFUL


#: From a citation of a ruleset to where it leads.
LookUp = Callable[["Citation"], Cited]


def look_up_in(texts: Mapping[str, Text], pins: Pins | None = None) -> LookUp:
    """Looks citations up, each once: against its pin where there is one, else by itself."""
    pinned = {(pin.text, pin.clause, pin.quote): pin for pin in pins.pins} if pins else {}

    @cache
    def found(text: str, clause: str, quote: str) -> tuple[Excerpt, str]:
        at_hand, pin = texts.get(text), pinned.get((text, clause, quote))
        if at_hand is None:
            return resolve(None, clause, quote), ""
        if pin is None:
            excerpt = resolve(at_hand, clause, quote)
            return excerpt, excerpt.note
        checked = check_pin(at_hand, pin)
        words = as_line(checked.difference)
        note = checked.excerpt.note
        return checked.excerpt, f"{note}: {words}" if words else note

    def look_up(citation: Citation) -> Cited:
        excerpt, note = found(str(citation.text), str(citation.clause), str(citation.quote or ""))
        return Cited(citation, excerpt, note)

    return look_up


def cited_as_data(cited: Cited, texts: Mapping[str, Any]) -> dict[str, Any]:
    """A citation as the report has it; ``texts`` are those that the ruleset lists."""
    citation, excerpt, note = cited
    item = texts[str(citation.text)]
    return {
        "text": str(citation.text),
        "title": str(item.title),
        "edition": str(item.edition),
        "clause": str(citation.clause),
        "quote": str(citation.quote or ""),
        "status": excerpt.status,
        "excerpt": excerpt.excerpt,
        "lines": list(excerpt.lines) if excerpt.lines is not None else None,
        "digest": excerpt.digest,
        "pages": list(excerpt.pages) if excerpt.pages is not None else None,
        "note": note,
    }
