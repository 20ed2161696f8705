"""A YAML file as it is written: its blocks and leaves, with the comments and blank lines between.

    read_written(text) -> Written      the topmost block, or Unusual
    comments_of(text) -> list[str]     every comment, in order, found without building anything

What the loader reads knows nothing of comments; this knows nothing of meaning. Both come from
the same parser. The text must have been read by ``parse_yaml`` without a problem before.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Any, Final

from yaml.events import (
    DocumentEndEvent,
    MappingEndEvent,
    MappingStartEvent,
    ScalarEvent,
    SequenceEndEvent,
    SequenceStartEvent,
)

from modrules.ruleset.source import events

#: Characters that YAML takes for ends of lines and hardly anybody else does.
_RARE_BREAK: Final = re.compile("[\x85\u2028\u2029]")
_COMMENT: Final = re.compile(r"(?:^|(?<=[\s\ufeff]))#[^\n]*")
_MARKS: Final = re.compile(r"[\s:\-]*")
_DOCUMENT: Final = re.compile(r"^(?:---|\.\.\.)(?=\s|$)")


class Unusual(Exception):
    """The file is written in a way that is right, and that is not rearranged; says which."""


@dataclass(slots=True)
class Leaf:
    """A scalar, or a collection in brackets, from ``at`` up to ``to`` of the text.

    ``parts``: of a collection in brackets, its members; (key, value) pairs in a mapping.
    """

    at: int
    to: int
    kind: str  # "scalar", "map" or "list"
    style: str = ""
    parts: list[tuple[Leaf | None, Leaf]] = field(default_factory=list)


@dataclass(slots=True)
class Entry:
    """A key with its value, or an item of a list; ``lead`` are the comments above it.

    In ``lead`` and ``tail``, an empty text stands for a blank line. ``note`` is the comment at
    the end of its line, with the blanks before it.
    """

    key: Leaf | None
    name: str
    column: int
    lead: list[str]
    value: Leaf | Block | None = None
    note: str = ""


@dataclass(slots=True)
class Block:
    """A mapping or a list over several lines; ``tail`` are the comments after its last entry."""

    is_map: bool
    column: int
    entries: list[Entry] = field(default_factory=list)
    tail: list[str] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Written:
    """A text and its topmost node."""

    text: str
    top: Block | Leaf


def read_written(text: str) -> Written:
    """The text as it is written; Unusual where it holds what is not rearranged."""
    if _RARE_BREAK.search(text):
        raise Unusual("it holds unusual ends of lines")
    return _Reader(text).read()


def comments_of(text: str) -> list[str]:
    """Every comment of the text, in order, without the blanks around it."""
    kept = list(text)
    for event in events(text):
        if isinstance(event, ScalarEvent):
            start, end = _span(event)
            if event.style in ("|", ">"):
                start = _line_end(text, start)
            kept[start:end] = [c if c == "\n" else "x" for c in text[start:end]]
    return [found[0].rstrip() for found in _COMMENT.finditer("".join(kept))]


class _Reader:
    """One pass over the events; ``at`` is the end of the last key or leaf."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.events: list[Any] = list(events(text))
        self.next = 0
        self.at = 0
        #: Where the comment at the end of the line of the last key or leaf goes.
        self.last: Entry | None = None
        #: Blocks that ended since, the innermost first.
        self.closed: list[Block] = []

    def read(self) -> Written:
        while not isinstance(
            event := self._peek(), (MappingStartEvent, SequenceStartEvent, ScalarEvent)
        ):
            self.next += 1
        if isinstance(event, ScalarEvent) or event.flow_style:
            return Written(self.text, self._leaf())
        block = self._block()
        while not isinstance(self._peek(), DocumentEndEvent):
            self.next += 1
        self._gap(len(self.text), -1)
        return Written(self.text, block)

    def _peek(self) -> Any:
        """The event that comes next."""
        return self.events[self.next]

    def _block(self) -> Block:
        start = self._peek()
        self.next += 1
        is_map = isinstance(start, MappingStartEvent)
        block = Block(is_map, start.start_mark.column)
        end = MappingEndEvent if is_map else SequenceEndEvent
        while not isinstance(self._peek(), end):
            first = self._peek()
            if is_map and not isinstance(first, ScalarEvent):
                raise Unusual("it has a key that is no plain text")
            lead = self._gap(_span(first)[0], block.column)
            entry = Entry(None, "", block.column, lead)
            block.entries.append(entry)
            if is_map:
                entry.name = first.value
                entry.key = self._leaf()
                self.last = entry
            self._value(entry)
        self.next += 1
        self.closed.append(block)
        return block

    def _value(self, entry: Entry) -> None:
        event = self._peek()
        if not isinstance(event, ScalarEvent) and not event.flow_style:
            entry.value = self._block()
            return
        at, to = _span(event)
        if isinstance(event, ScalarEvent) and at == to:
            # Nothing is written here: what follows is looked at with the next entry.
            self.next += 1
        else:
            entry.lead += self._gap(at, -1)
            if entry.note:
                entry.lead.append(entry.note.strip())
                entry.note = ""
            entry.value = self._leaf()
        self.last = entry

    def _leaf(self) -> Leaf:
        event = self._peek()
        self.next += 1
        at, to = _span(event)
        if isinstance(event, ScalarEvent):
            style = event.style or "plain"
            if style in ("|", ">"):
                to = at + len(self.text[at:to].rstrip())
            self.at = to
            return Leaf(at, to, "scalar", style)
        is_map = isinstance(event, MappingStartEvent)
        leaf = Leaf(at, to, "map" if is_map else "list")
        end = MappingEndEvent if is_map else SequenceEndEvent
        while not isinstance(self._peek(), end):
            key = self._leaf() if is_map else None
            leaf.parts.append((key, self._leaf()))
        leaf.to = _span(self._peek())[1]
        self.next += 1
        self.at = leaf.to
        return leaf

    def _gap(self, until: int, column: int) -> list[str]:
        """The comments and blank lines up to the next key or leaf, as far as they lead to it.

        What stands further to the right than ``column``, where the next entry begins, belongs
        to the blocks that ended before it.
        """
        lead: list[str] = []
        closed, mid_line = self.closed, self.at > 0
        lines = self.text[self.at : until].split("\n")
        for number, line in enumerate(lines):
            found = _COMMENT.search(line)
            before = (line[: found.start()] if found else line).replace("\ufeff", "")
            if not _MARKS.fullmatch(_DOCUMENT.sub("", before)):
                raise Unusual("it has a mark such as `?`, `%` or `!` before a key or value")
            if found is None:
                whole = 0 < number < len(lines) - 1 or (number == 0 and not mid_line)
                if whole and not line.strip() and (not lead or lead[-1]):
                    lead.append("")
                continue
            said = found[0].rstrip()
            if number == 0 and mid_line and self.last is not None:
                blanks = len(before) - len(before.rstrip())
                self.last.note = " " * blanks + said
            elif closed and not before.strip() and found.start() > column and not any(lead):
                while len(closed) > 1 and closed[0].column > found.start():
                    closed = closed[1:]
                closed[0].tail += [*lead, said]
                lead = []
            else:
                lead.append(said)
        self.at, self.last, self.closed = until, None, []
        return lead


def _span(event: Any) -> tuple[int, int]:
    """Where in the text an event begins and ends."""
    return event.start_mark.index, event.end_mark.index


def _line_end(text: str, at: int) -> int:
    end = text.find("\n", at)
    return end if end >= 0 else len(text)
