"""The parts that the sheet is made of: what is on it, and nothing of how it looks.

``sheet.py`` makes them from a report, ``html.py`` and ``markdown.py`` turn them into text.
All text in them is clean: one line, no control characters. It is not escaped.
"""

from __future__ import annotations

from dataclasses import dataclass

from modrules.reports.shape import Quantity


@dataclass(frozen=True, slots=True)
class Heading:
    """The start of a part (level 2) or of something inside a part (3, 4)."""

    level: int
    text: str
    #: The outcome that it bears, drawn with its shape before the text; empty for none.
    outcome: str = ""
    #: What others refer to it by, such as ``finding-3``; empty for none.
    anchors: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Text:
    text: str
    #: Set off from the rest: a warning, or the line that this is no certificate.
    strong: bool = False


@dataclass(frozen=True, slots=True)
class Pairs:
    """Labels and what they stand for."""

    rows: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Items:
    items: tuple[str, ...]
    #: The anchor of the heading that each item leads to; empty: they lead nowhere.
    anchors: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Table:
    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    #: Whether the last column is empty, to be filled in by hand.
    to_fill: bool = False


@dataclass(frozen=True, slots=True)
class Steps:
    """The lines of a calculation, one below the other."""

    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Quote:
    """The words of a clause, line by line."""

    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Bar:
    """A measured quantity drawn against its limit; both are in one unit."""

    label: str
    measured: Quantity
    limit: Quantity


@dataclass(frozen=True, slots=True)
class Stack:
    """What a limit is used for, piece by piece, against the limits that there are."""

    title: str
    unit: str
    #: Pieces from zero on, each with its label.
    parts: tuple[tuple[str, float], ...]
    limits: tuple[tuple[str, float], ...]
    #: Which of the limits counts, and whether it binds: no other load has less room.
    counts: int
    bound: bool
    #: What it shows, in words; a renderer without drawings prints this.
    words: str


@dataclass(frozen=True, slots=True)
class Height:
    """A wheel and the arch above it, from the ground up, in mm; None: not known."""

    label: str
    diameter: float
    arch: float | None


@dataclass(frozen=True, slots=True)
class Heights:
    """Wheels and arches side by side, to one scale."""

    title: str
    states: tuple[Height, ...]
    words: str


@dataclass(frozen=True, slots=True)
class Tick:
    """A piece of evidence, supplied or outstanding."""

    text: str
    supplied: bool


@dataclass(frozen=True, slots=True)
class Task:
    """Something to be found or judged at the vehicle, with room for the answer."""

    text: str
    about: str
    answers: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Blank:
    """Room to write, so many lines high."""

    label: str
    lines: int = 1


Block = (
    Heading
    | Text
    | Pairs
    | Items
    | Table
    | Steps
    | Quote
    | Bar
    | Stack
    | Heights
    | Tick
    | Task
    | Blank
)


@dataclass(frozen=True, slots=True)
class Sheet:
    """A title, what stands under it, and the parts; an empty answer is left out."""

    title: str
    subtitle: str
    answer: str
    blocks: tuple[Block, ...]
