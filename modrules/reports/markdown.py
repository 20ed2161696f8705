"""The sheet as Markdown, to be pasted into a ticket or a file."""

from __future__ import annotations

import re
from collections.abc import Sequence

from modrules.reports.blocks import (
    Bar,
    Blank,
    Block,
    Heading,
    Heights,
    Items,
    Pairs,
    Quote,
    Sheet,
    Stack,
    Steps,
    Table,
    Task,
    Text,
    Tick,
)
from modrules.reports.shape import Report
from modrules.reports.sheet import sheet

# Escaped wherever they stand; the rest of the marks mean something only at the start of a line.
_MARKS = re.compile(r"([\\`*_\[\]<>|~&#$])")
_START = re.compile(r"^([-+=])|^(\d+)([.)])(?=\s|$)")
_LINK = re.compile(r"(?<=[A-Za-z])(:)(?=//)|(?<=www)(\.)")


def render(report: Report) -> str:
    """The sheet of a report as Markdown (CommonMark with tables)."""
    return sheet_text(sheet(report))


def sheet_text(made: Sheet) -> str:
    """A sheet as Markdown."""
    parts = [f"# {escaped(made.title)}"]
    if made.answer:
        parts.append(f"**Answer: {escaped(made.answer)}**")
    parts.append(f"*{escaped(made.subtitle)}*")
    parts += filter(None, map(_block, made.blocks))
    return "\n\n".join(parts) + "\n"


def escaped(text: str) -> str:
    """``text`` so that it reads as it stands and does nothing."""
    text = _MARKS.sub(r"\\\1", text)
    text = _LINK.sub(lambda found: "\\" + found[0], text)
    return _START.sub(lambda found: f"{found[2] or ''}\\{found[1] or found[3]}", text)


def _block(block: Block) -> str:
    match block:
        case Heading(level, text):
            return f"{'#' * level} {escaped(text)}"
        case Text(text, strong):
            return f"**{escaped(text)}**" if strong else escaped(text)
        case Pairs(rows):
            return "\n".join(f"- {escaped(label)}: {escaped(value)}" for label, value in rows)
        case Items(items, _):
            return "\n".join(f"- {escaped(item)}" for item in items)
        case Table(_, head, rows, _):
            lines = [_row(head), _row(["---"] * len(head), raw=True), *map(_row, rows)]
            return "\n".join(lines)
        case Steps(lines):
            fence = _fence(lines)
            return "\n".join([fence, *lines, fence])
        case Quote(lines):
            return "\n>\n".join(f"> {escaped(line)}" for line in lines)
        case Bar():
            return ""  # a drawing; its numbers stand above it
        case Stack() | Heights():
            return escaped(f"{block.title}: {block.words}")
        case Tick(text, supplied):
            return f"- [x] {escaped(text)}" if supplied else f"- [ ] {escaped(text)}: OUTSTANDING"
        case Task(text, about, answers):
            boxes = "".join(f"\n  - [ ] {escaped(answer)}" for answer in answers)
            return f"- {escaped(text)} ({escaped(about)}){boxes}"
        case Blank(label, _):
            return f"{escaped(label)}: ____________________"


def _fence(lines: tuple[str, ...]) -> str:
    """A fence that no line can close: longer than every run of its mark in them."""
    runs = re.findall("`+", " ".join(lines))
    return "`" * max(3, 1 + max(map(len, runs), default=0))


def _row(cells: Sequence[str], raw: bool = False) -> str:
    return "| " + " | ".join(cell if raw else escaped(cell) or " " for cell in cells) + " |"
