"""The sheet as one HTML file: readable without script or network, printable on A4.

Outcomes are told by word and by shape, never by colour. Every text is escaped here, and
nothing else of a report gets into the file; the policy in its head forbids scripts besides.
"""

from __future__ import annotations

from collections.abc import Iterator
from html import escape

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
from modrules.reports.html_bar import bar
from modrules.reports.html_drawing import heights, patterns, stack
from modrules.reports.html_style import STYLE
from modrules.reports.shape import Report
from modrules.reports.sheet import sheet

#: The shape beside an outcome: filled where something is to be done, hollow where not.
SHAPE: dict[str, str] = {
    "not applicable": "–",
    "complies": "○",
    "exempt": "◇",
    "certified": "□",
    "caution": "△",
    "inspect": "◆",
    "certification required": "■",
    "not permitted": "▲",
    "open": "◐",
}


def render(report: Report) -> str:
    """The sheet of a report as one self-contained HTML file."""
    return sheet_page(sheet(report))


def sheet_page(made: Sheet) -> str:
    """A sheet as one self-contained HTML file."""
    return "".join(f"{line}\n" for line in _page(made))


def _page(made: Sheet) -> Iterator[str]:
    title = escape(made.title)
    yield "<!DOCTYPE html>"
    yield '<html lang="en">'
    yield "<head>"
    yield '<meta charset="utf-8">'
    yield (
        '<meta http-equiv="Content-Security-Policy" '
        "content=\"default-src 'none'; style-src 'unsafe-inline'\">"
    )
    yield '<meta name="viewport" content="width=device-width, initial-scale=1">'
    yield f"<title>{title}</title>"
    yield f"<style>{STYLE}</style>"
    yield "</head>"
    yield "<body>"
    yield "<header>"
    yield f"<h1>{title}</h1>"
    if made.answer:
        yield f'<p class="answer">Answer: {escape(made.answer)}</p>'
    yield f'<p class="strong">{escape(made.subtitle)}</p>'
    yield "</header>"
    yield patterns()
    yield "<main>"
    yield from _parts(made.blocks)
    yield "</main>"
    yield "</body>"
    yield "</html>"


def _parts(blocks: tuple[Block, ...]) -> Iterator[str]:
    """The blocks, each part in a section and each finding in an article of its own."""
    open_tags: list[str] = []
    for number, block in enumerate(blocks):
        if isinstance(block, Heading):
            # A heading ends whatever part of its own level or below is still open.
            keep = 0 if block.level == 2 else 1
            while len(open_tags) > keep:
                yield f"</{open_tags.pop()}>"
            anchor, *others = block.anchors or (f"h{number}",)
            if block.level == 2:
                yield f'<section aria-labelledby="{anchor}">'
                open_tags.append("section")
            elif block.outcome:
                yield f'<article class="finding" aria-labelledby="{anchor}">'
                open_tags.append("article")
            yield _heading(block, anchor)
            yield from (f'<span id="{other}"></span>' for other in others)
        else:
            yield from _block(block)
    for tag in reversed(open_tags):
        yield f"</{tag}>"


def _heading(heading: Heading, anchor: str) -> str:
    shape = ""
    if heading.outcome:
        mark = SHAPE[heading.outcome]
        shape = f'<span class="shape" aria-hidden="true">{mark}</span> '
    tag = f"h{heading.level}"
    return f'<{tag} id="{anchor}">{shape}{escape(heading.text)}</{tag}>'


def _block(block: Block) -> Iterator[str]:
    match block:
        case Text(text, strong):
            yield f'<p class="strong">{escape(text)}</p>' if strong else f"<p>{escape(text)}</p>"
        case Pairs(rows):
            if rows:
                yield "<dl>"
                for label, value in rows:
                    yield f"<dt>{escape(label)}</dt><dd>{escape(value)}</dd>"
                yield "</dl>"
        case Items(items, anchors):
            yield "<ul>"
            if anchors:
                pairs = zip(items, anchors, strict=True)
                yield from (
                    f'<li><a href="#{escape(anchor)}">{escape(item)}</a></li>'
                    for item, anchor in pairs
                )
            else:
                yield from (f"<li>{escape(item)}</li>" for item in items)
            yield "</ul>"
        case Table():
            yield from _table(block)
        case Steps(lines):
            inner = "".join(f"<span>{escape(line)}</span>" for line in lines)
            yield f'<div class="steps" role="group" aria-label="Working">{inner}</div>'
        case Quote(lines):
            inner = "".join(f"<p>{escape(line)}</p>" for line in lines)
            yield f"<blockquote>{inner}</blockquote>"
        case Bar():
            yield from bar(block)
        case Stack():
            yield from stack(block)
        case Heights():
            yield from heights(block)
        case Tick(text, supplied):
            state = "supplied" if supplied else "OUTSTANDING"
            box = "box full" if supplied else "box"
            yield f'<p><span class="{box}"></span>{state}: {escape(text)}</p>'
        case Task(text, about, answers):
            yield '<div class="task">'
            yield f'<p class="strong">{escape(text)}</p>'
            yield f"<p>{escape(about)}</p>"
            boxes = "".join(
                f'<span class="choice"><span class="box"></span>{escape(answer)}</span>'
                for answer in answers
            )
            yield f'<p>{boxes}</p><p>Remarks<span class="line"></span></p></div>'
        case Blank(label, lines):
            room = '<span class="line"></span>' * lines
            yield f"<p>{escape(label)}{room}</p>"
        case Heading():  # written by _parts
            return


def _table(table: Table) -> Iterator[str]:
    caption = escape(table.caption)
    # A region that scrolls must be reachable by the keyboard.
    yield f'<div class="scroll" role="region" tabindex="0" aria-label="{caption}">'
    # On a phone the rows are laid out as blocks; the roles keep them a table for those who listen.
    yield f'<table role="table"><caption>{caption}</caption>'
    classes = [""] * len(table.head)
    if table.to_fill:
        classes[-1] = ' class="room"'
    head = "".join(
        f'<th role="columnheader" scope="col"{kind}>{escape(cell)}</th>'
        for cell, kind in zip(table.head, classes, strict=True)
    )
    yield f'<thead role="rowgroup"><tr role="row">{head}</tr></thead><tbody role="rowgroup">'
    for first, *rest in table.rows:
        cells = "".join(map(_cell, table.head[1:], rest))
        start = f'<tr role="row"><th role="rowheader" scope="row">{escape(first)}</th>'
        yield f"{start}{cells}</tr>"
    yield "</tbody></table></div>"


def _cell(label: str, cell: str) -> str:
    # Boxes to tick stay on one line, so that it is plain which word they belong to.
    kind = ' class="tick"' if cell.startswith("☐") else ""
    return f'<td role="cell" data-label="{escape(label)}"{kind}>{escape(cell)}</td>'
