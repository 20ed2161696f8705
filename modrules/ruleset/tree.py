"""The plain tree of a file: every scalar as text, every node with its place.

    Scalar(text)   a str that knows where it stands; ``.place``, ``.place_at(start, end)``,
                   ``.quoted``
    Blank(text)    a scalar that says nothing: left out, ``~``, ``null`` (``.quoted``: ``""``)
    Map            a dict from str to Node; ``.place``, ``.key_place(key)``
    Seq            a list of Node; ``.place``
    plant(data, name) -> Node      the same tree from plain Python values
    place_under(node, path) -> Place      the place of what lies at ``path`` under ``node``

Nothing is typed as YAML would (``4.10`` stays ``4.10``, ``on`` stays ``on``). A node keeps
only offsets into its source; lines and columns are worked out when a place is asked for.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterable, Mapping
from datetime import date
from decimal import Decimal
from functools import cached_property
from typing import Any, TypeAlias

from modrules.problems import ModrulesError, Place, Problem

#: How deep maps and lists may be nested in one file.
MAX_DEPTH = 60
_HALF = re.compile("[\ud800-\udfff]")

_BREAK = re.compile("\r\n|[\n\r\x85\u2028\u2029]")
#: Characters that steer a terminal and are no part of a text.
CONTROL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x84\x86-\x9f]")
_LONGEST_SHOWN = 20_000
_ESCAPE_LENGTH = {"x": 4, "u": 6, "U": 10}
_ESCAPED_BREAK = re.compile("\\\\(?:\r\n|[\n\r\x85\u2028\u2029])[ \t]*")
_BLANKS = re.compile(r"\s+")


class Source:
    """A text that nodes stand in; ``name`` is what a place calls its file."""

    def __init__(self, name: str, text: str = "") -> None:
        self.name = name
        self.text = text

    @cached_property
    def _starts(self) -> list[int]:
        return [0, *(found.end() for found in _BREAK.finditer(self.text))]

    def place(self, at: int, to: int = 0) -> Place:
        """The place of the offsets ``at`` up to ``to``, cut at the end of the first line.

        A line longer than any that is written by hand is not shown with it.
        """
        if at < 0:
            return Place(self.name)
        line = bisect_right(self._starts, at) - 1
        start = self._starts[line]
        column = at - start + 1
        most = start + _LONGEST_SHOWN
        found = _BREAK.search(self.text, start, most)
        end = found.start() if found else len(self.text)
        if at >= most or end > most:
            return Place(self.name, line + 1, column, max(column + 1, to - start + 1))
        last = min(max(to, at + 1), max(end, at + 1))
        shown = CONTROL.sub("\ufffd", self.text[start:end])
        return Place(self.name, line + 1, column, last - start + 1, shown)


_NOWHERE = Source("")


class _Placed(str):
    """What Scalar and Blank share: a text at the offsets ``at`` up to ``to`` of a source."""

    __slots__ = ("at", "source", "style", "to")
    source: Source
    at: int
    to: int
    #: How it is written: "" plain, "'" or '"' quoted, "|" or ">" block.
    style: str

    def __new__(
        cls, text: str = "", source: Source = _NOWHERE, at: int = -1, to: int = -1, style: str = ""
    ) -> _Placed:
        self = str.__new__(cls, text)
        self.source, self.at, self.to, self.style = source, at, to, style
        return self

    @property
    def quoted(self) -> bool:
        """Whether it stands in quotes, or in a block, and so can only be meant as text."""
        return self.style != ""

    @property
    def place(self) -> Place:
        """Where it stands (of several lines, the first)."""
        if self.style in ("|", ">") and self.strip():
            return self.place_at(0, len(self))
        return self.source.place(self.at, self.to)

    def place_at(self, start: int, end: int) -> Place:
        """Where the characters ``start`` up to ``end`` of this text stand in the file."""
        if self.at < 0:
            return self.source.place(-1)
        offsets = self._offsets()
        start = min(max(start, 0), len(self))
        at = offsets[start]
        to = offsets[end - 1] + 1 if start < end <= len(self) else at + 1
        return self.source.place(at, to)

    def _offsets(self) -> list[int]:
        """For each character, and the end, its offset in the source: undoes folding and escapes."""
        raw, at, to = self.source.text, self.at, self.to
        if self.style in ("|", ">"):
            found = _BREAK.search(raw, at, to)
            at = found.end() if found else to
        elif self.style:
            at, to = at + 1, to - 1
        offsets: list[int] = []
        for character in self:
            if self.style == '"':
                at = _past_layout(raw, at, to, not character.isspace())
                if at < to and raw[at] == "\\":
                    offsets.append(at)
                    at += _ESCAPE_LENGTH.get(raw[at + 1], 2)
                    continue
            if character.isspace():
                offsets.append(min(at, to))
                at += at < to and raw[at].isspace()
                continue
            found_at = raw.find(character, at, to)
            at = found_at if found_at >= 0 else min(at, to)
            offsets.append(at)
            at += 1
        offsets.append(min(at, to))
        return offsets


def _past_layout(raw: str, at: int, to: int, blanks: bool) -> int:
    """Past escaped line breaks, and past ``blanks`` too, in a text in double quotes."""
    while found := _ESCAPED_BREAK.match(raw, at, to) or (blanks and _BLANKS.match(raw, at, to)):
        at = found.end()
    return at


class Scalar(_Placed):
    """A text as it is written in a file, with its place."""

    __slots__ = ()


class Blank(_Placed):
    """A scalar that says nothing: no value at all, ``~``, ``null`` or an empty text in quotes."""

    __slots__ = ()


class Map(dict[str, "Node"]):
    """A mapping, with its place and the places of its keys."""

    __slots__ = ("at", "key_at", "source")

    def __init__(self, source: Source = _NOWHERE, at: int = -1) -> None:
        self.source = source
        self.at = at
        #: The offset of each key, in the order of the keys.
        self.key_at: list[int] = []

    @property
    def place(self) -> Place:
        """Where it begins."""
        return self.source.place(self.at)

    def key_place(self, key: str) -> Place:
        """Where ``key`` stands; the beginning of the mapping where it has no such key."""
        for known, at in zip(self, self.key_at, strict=False):
            if known == key:
                return self.source.place(at, at + len(key))
        return self.place


class Seq(list["Node"]):
    """A list, with its place."""

    __slots__ = ("at", "source")

    def __init__(self, source: Source = _NOWHERE, at: int = -1) -> None:
        self.source = source
        self.at = at

    @property
    def place(self) -> Place:
        """Where it begins."""
        return self.source.place(self.at)


Node: TypeAlias = Scalar | Blank | Map | Seq


def place_under(node: Node, path: Iterable[str | int]) -> Place:
    """The place of what lies at ``path``: of a key in a map, of an item in a list.

    Where the path leads nowhere, the last place on the way to it.
    """
    place = node.place
    for step in path:
        if isinstance(node, Map) and step in node:
            place, node = node.key_place(str(step)), node[str(step)]
        elif isinstance(node, Seq) and isinstance(step, int) and step < len(node):
            node = node[step]
            place = node.place
        else:
            break
    return place


def shortened(text: str) -> str:
    """The text as it can stand in a message."""
    text = CONTROL.sub("\ufffd", text)
    return text if len(text) <= 60 else text[:57] + "..."


def plant(data: object, name: str) -> Node:
    """The tree of plain Python values: mappings, lists, texts, numbers, dates, yes/no and None.

    ``name`` stands for the file in places, followed by the path of keys. ModrulesError where a
    value is of another kind, a key is no text, or the nesting is deeper than 60.
    """
    return _plant(data, name, 0)


def _plant(data: Any, name: str, depth: int) -> Node:
    if depth > MAX_DEPTH:
        raise ModrulesError(Problem(f"the nesting is deeper than {MAX_DEPTH} levels", Place(name)))
    source = Source(name)
    if isinstance(data, Mapping):
        branch = Map(source)
        for key, value in data.items():
            if not isinstance(key, str) or not key:
                raise ModrulesError(Problem(f"the key {key!r} is no text", Place(name)))
            _refuse_halves(key, name)
            branch[key] = _plant(
                value, f"{name}:{key}" if depth == 0 else f"{name}.{key}", depth + 1
            )
            branch.key_at.append(-1)
        return branch
    if isinstance(data, (list, tuple)):
        row = Seq(source)
        row.extend(_plant(each, f"{name}[{i}]", depth + 1) for i, each in enumerate(data))
        return row
    text = _text_of(data)
    if text is None:
        raise ModrulesError(
            Problem(
                f"a value of the Python type {type(data).__name__} cannot be read",
                Place(name),
                "give a text, a number, a date, true or false, None, a list or a mapping",
            )
        )
    _refuse_halves(text, name)
    return Scalar(text, source) if text else Blank("", source, style='"' if data == "" else "")


def _refuse_halves(text: str, name: str) -> None:
    """ModrulesError for what Python takes for a text and no file can hold."""
    if _HALF.search(text):
        message = "this text holds half a character (a surrogate)"
        raise ModrulesError(Problem(message, Place(name), "give the whole character"))


def _text_of(data: object) -> str | None:
    """The text that a file would have for ``data``; None where it has none."""
    match data:
        case None:
            return ""
        case str():
            return str(data)
        case bool():
            return "true" if data else "false"
        case int():
            return str(data)
        case float() | Decimal():
            exact = Decimal(repr(data)) if isinstance(data, float) else data
            return format(exact, "f") if exact.is_finite() else str(exact)
        case date():
            return data.isoformat()[:10]
        case _:
            return None
