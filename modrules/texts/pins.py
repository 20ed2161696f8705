"""Pins: the wording that a ruleset was written from, clause by cited clause.

A pin holds the digest of the words that a citation rested on when it was made, and the
words themselves so that a difference can be shown. Checked against another text it is
*same*, *moved* (renumbered, same words), *changed* or *gone*.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from modrules.files import read_bytes
from modrules.problems import ModrulesError, Place, Problem
from modrules.texts.differences import Change, difference
from modrules.texts.resolve import (
    AMBIGUOUS,
    CHANGED,
    FOUND,
    GONE,
    MOVED,
    NOT_SUPPLIED,
    SAME,
    Excerpt,
    excerpt_of,
    resolve,
)
from modrules.texts.text import Text

MOST_BYTES = 50_000_000
_FORMAT = 1


@dataclass(frozen=True, slots=True, order=True)
class Citation:
    """A citation of a text: its id, a clause in any spelling, a quotation, and who cites it."""

    text: str
    clause: str
    quote: str = ""
    by: str = ""


@dataclass(frozen=True, slots=True)
class Pin:
    """What a citation rested on: the clause's canonical number, the digest, and the words."""

    text: str
    clause: str
    quote: str
    number: str
    digest: str
    words: str


@dataclass(frozen=True, slots=True)
class PinnedText:
    """The text that pins were made from."""

    id: str
    title: str
    edition: str
    digest: str


@dataclass(frozen=True, slots=True)
class Pins:
    """All pins of a ruleset, in order, and the texts that they were made from."""

    texts: tuple[PinnedText, ...] = ()
    pins: tuple[Pin, ...] = ()

    def of(self, text: str, clause: str, quote: str = "") -> Pin | None:
        """The pin of a citation as it is spelt in the ruleset; None where there is none."""
        for pin in self.pins:
            if (pin.text, pin.clause, pin.quote) == (text, clause, quote):
                return pin
        return None


@dataclass(frozen=True, slots=True)
class Checked:
    """A pin held against a text: the excerpt carries the status.

    ``number`` is the clause's number now ("" when it is gone), ``difference`` is how
    its words changed.
    """

    pin: Pin
    excerpt: Excerpt
    number: str = ""
    difference: tuple[Change, ...] = ()

    @property
    def status(self) -> str:
        """same, moved, changed, gone, ambiguous or not supplied."""
        return self.excerpt.status

    @property
    def holds(self) -> bool:
        """Whether the words that the citation rests on still stand."""
        return self.status in (SAME, MOVED)


def pin(texts: Mapping[str, Text], citations: Iterable[Citation]) -> Pins:
    """Pin citations to the texts that they are found in.

    Raises ModrulesError, naming every citation that is not found: a pin on words that
    are not there would be worth nothing.
    """
    pins: dict[tuple[str, str, str], Pin] = {}
    problems: list[Problem] = []
    for citation in sorted(citations):
        key = (citation.text, citation.clause, citation.quote)
        if key in pins:
            continue
        text = texts.get(citation.text)
        excerpt = resolve(text, citation.clause, citation.quote)
        if text is None or excerpt.status != FOUND:
            by = f" ({citation.by})" if citation.by else ""
            problems.append(
                Problem(
                    f"The citation of {citation.text}, {citation.clause or citation.quote!r}{by} "
                    f"cannot be pinned: {excerpt.status}.",
                    hint=excerpt.note,
                )
            )
            continue
        number = _number_of(text, citation)
        pins[key] = Pin(*key, number, excerpt.digest, excerpt.excerpt)
    if problems:
        raise ModrulesError(problems)
    used = sorted({citation for citation, _, _ in pins})
    return Pins(
        tuple(PinnedText(id, texts[id].title, texts[id].edition, texts[id].digest) for id in used),
        tuple(pins.values()),
    )


def _number_of(text: Text, citation: Citation) -> str:
    from modrules.texts.resolve import index_of

    index = index_of(text, citation.clause, citation.quote)
    return text.name_of(index) if index is not None else ""


def check_pin(text: Text | None, pin: Pin) -> Checked:
    """Hold a pin against a text, which may be another edition of the one it was made from."""
    if text is None:
        return Checked(pin, resolve(None, pin.clause, pin.quote))
    if not pin.number:
        excerpt = resolve(text, pin.clause, pin.quote)  # a quotation from the front matter
        status = SAME if excerpt.digest == pin.digest else CHANGED
        return Checked(pin, replace(excerpt, status=status if excerpt.lines else excerpt.status))
    numbered = text.find(pin.number)
    alike = text.with_digest(pin.digest)
    here = [index for index in numbered if index in alike]
    if here:
        return _checked(text, pin, here[0], SAME, "")
    if len(alike) == 1:
        name = text.name_of(alike[0])
        return _checked(text, pin, alike[0], MOVED, f"the same words now stand in {name}")
    if alike:
        names = tuple(text.name_of(index) for index in alike[:20])
        note = f"the same words now stand in {len(alike)} clauses"
        excerpt = Excerpt(text.id, pin.clause, pin.quote, AMBIGUOUS, candidates=names, note=note)
        return Checked(pin, excerpt)
    if len(numbered) == 1:
        return _changed(text, pin, numbered[0])
    if numbered:
        excerpt = resolve(text, pin.number)
        return Checked(pin, replace(excerpt, clause=pin.clause, quote=pin.quote))
    excerpt = resolve(text, pin.number, pin.quote)
    note = "there is no such clause, and its words stand nowhere else"
    gone = Excerpt(text.id, pin.clause, pin.quote, GONE, candidates=excerpt.candidates, note=note)
    return Checked(pin, gone)


def _checked(text: Text, pin: Pin, index: int, status: str, note: str) -> Checked:
    excerpt = excerpt_of(text, index, pin.clause, pin.quote, status, note)
    return Checked(pin, excerpt, text.name_of(index))


def _changed(text: Text, pin: Pin, index: int) -> Checked:
    excerpt = excerpt_of(text, index, pin.clause, pin.quote, CHANGED)
    changes = difference(pin.words, excerpt.excerpt)
    quoted = resolve(text, pin.clause, pin.quote)
    note = "the words of the clause changed"
    if pin.quote:
        note += "; the quotation " + (
            "still stands" if quoted.status == FOUND else "does not stand in them"
        )
    if all(change.kind == "kept" for change in changes):
        note += ", beyond what the excerpt shows"
    excerpt = excerpt_of(text, index, pin.clause, pin.quote, CHANGED, note)
    return Checked(pin, excerpt, text.name_of(index), changes)


def check_pins(texts: Mapping[str, Text], pins: Pins) -> tuple[Checked, ...]:
    """Every pin held against the text with its id; ``not supplied`` where there is none."""
    return tuple(check_pin(texts.get(pin.text), pin) for pin in pins.pins)


# ---- the file of pins -----------------------------------------------------------


def pins_as_text(pins: Pins) -> str:
    """The file of pins: the same pins always give the same text."""
    listed: dict[str, Any] = {
        "pins": _FORMAT,
        "texts": [
            {"id": t.id, "title": t.title, "edition": t.edition, "digest": t.digest}
            for t in pins.texts
        ],
        "clauses": [
            {"text": p.text, "clause": p.clause, "quote": p.quote, "number": p.number,
             "digest": p.digest, "words": p.words}
            for p in pins.pins
        ],
    }  # fmt: skip
    return json.dumps(listed, ensure_ascii=False, indent=1) + "\n"


def read_pins(path: Path | str) -> Pins:
    """Read a file of pins. Raises ModrulesError where it is none."""
    path = Path(path)
    try:
        listed = json.loads(read_bytes(path, MOST_BYTES).decode("utf-8"))
        if not isinstance(listed, dict) or listed.get("pins") != _FORMAT:
            raise _bad(path, "This is no file of pins, or one of a later version.")
        return Pins(
            tuple(PinnedText(*(_word(t, k) for k in ("id", "title", "edition", "digest")))
                  for t in listed["texts"]),
            tuple(Pin(*(_word(p, k) for k in ("text", "clause", "quote", "number", "digest",
                                              "words")))
                  for p in listed["clauses"]),
        )  # fmt: skip
    except (ValueError, KeyError, TypeError, RecursionError) as error:
        raise _bad(path, f"The file of pins is damaged: {error}.") from None


def _word(entry: Any, key: str) -> str:
    value = entry[key]
    if not isinstance(value, str):
        raise TypeError(f"{key} is not a text")
    return value


def _bad(path: Path, message: str) -> ModrulesError:
    return ModrulesError(Problem(message, Place(str(path)), "Pin the ruleset again."))


__all__ = [
    "NOT_SUPPLIED", "Checked", "Citation", "Pin", "PinnedText", "Pins", "check_pin", "check_pins",
    "pin", "pins_as_text", "read_pins",
]  # fmt: skip
