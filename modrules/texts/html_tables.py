"""Tables of a page: rows become lines with bars, and a rule stands below what is the head."""

from __future__ import annotations

import re

_CAPTION = re.compile(r"(?:Table|TABLE|Figure|FIGURE)\s+[A-Z]{0,4}[.-]?(?:\d|[A-Z]\b)")
_DASHES = re.compile(r"[:+=-]*-[:+=-]*\Z")
RULE = "|---|"
MOST_SPAN = 1000  # columns or rows of a cell


class HtmlTable:
    """An open table of a page, and what is known of its rows so far."""

    def __init__(self) -> None:
        self.part = ""  # thead, tbody or tfoot, where one is open
        self.in_row = False
        self.laid_out = False  # it holds other tables: its cells are no row's
        self.rows = 0  # lines with bars so far, those of the head included
        self.ruled = False
        self.headed = False  # the last row was one of the head
        self.line = 1  # of the open row
        self._cells: list[tuple[str, str]] = []  # tag and words of the cells that are closed
        self._sizes: list[tuple[int, int]] = []  # of each, over how many columns and rows it goes
        self._tag = ""  # of the open cell
        #: by column, a cell that goes on below: in how many rows more, its tag and its words
        self._below: dict[int, tuple[int, str, str]] = {}
        self._spans = False  # one of the row's cells goes over several columns

    def open_row(self, line: int) -> None:
        """Open a row that starts on a line of the page."""
        self.in_row, self.line = True, line
        self._cells, self._sizes, self._tag, self._spans = [], [], "", False

    def open_cell(self, tag: str, attributes: dict[str, str | None], words: list[str],
                  line: int) -> None:  # fmt: skip
        """Open a cell; ``words`` are those of the cell before it, and are taken."""
        if not self.in_row:
            self.open_row(line)
        self._close_cell(words)
        self._tag = tag
        columns, rows = (_count(attributes.get(name) or "") for name in ("colspan", "rowspan"))
        self._sizes.append((columns, rows))
        self._spans |= columns > 1

    def _close_cell(self, words: list[str]) -> None:
        if self._tag:
            self._cells.append((self._tag, " ".join("".join(words).split())))
        words.clear()

    def lay_out(self, words: list[str]) -> list[str]:
        """Give the words of the open row back: it holds a table and is none."""
        self._close_cell(words)
        self.in_row, self.laid_out = False, True
        return [" ".join(words for _, words in self._cells if words)]

    def caption(self, words: str) -> list[str]:
        """The lines that a caption becomes; one without a number is a title in the table."""
        if _CAPTION.match(words) is None:
            self.rows += 1
            return [f"| {words} |"]
        again = self.rows > 0
        self.rows, self.ruled, self.headed = 0, False, False
        return ["", words, ""] if again else [words, ""]

    def _with_those_above(self) -> list[tuple[str, str]]:
        """The cells of the open row, with those of rows above that go over it too."""
        cells: list[tuple[str, str]] = []
        below: dict[int, tuple[int, str, str]] = {}
        column = 0

        def take_above() -> None:
            nonlocal column
            while column in self._below:
                left, tag, words = self._below[column]
                cells.append((tag, words))
                if left > 1:
                    below[column] = left - 1, tag, words
                column += 1

        for cell, (columns, rows) in zip(self._cells, self._sizes, strict=True):
            take_above()
            cells.append(cell)
            if rows > 1:
                below[column] = rows - 1, *cell
            column += columns
        take_above()
        self._below = below
        return cells

    def end_row(self, words: list[str]) -> tuple[list[str], int]:
        """The lines that the open row becomes, and the line of the page that it starts on."""
        self._close_cell(words)
        self.in_row = False
        self._cells = self._with_those_above()
        cells = [(tag, text) for tag, text in self._cells if text]
        if not cells:
            return [], self.line
        alone = len(self._cells) == 1
        if alone and _CAPTION.match(cells[0][1]) is not None:
            return self.caption(cells[0][1]), self.line
        titled = alone and self._spans and not self.rows
        heads = self.part == "thead" or all(tag == "th" for tag, _ in cells)
        lines: list[str] = []
        # Names of rows down the side, and none across: the table says that it has no head.
        headless = not self.rows and self._cells[0][0] == "th" and not titled
        if not self.ruled and not heads and (self.headed or headless):
            lines.append(RULE)
            self.ruled = True
        self.rows += 1
        lines.append("| " + " | ".join(map(_cell, self._cells)) + " |")
        if heads and self.ruled:
            lines.append(RULE)  # a head among the rows
        self.headed = heads and not titled
        return lines, self.line


def _count(span: str) -> int:
    """Over how many columns or rows a cell goes; one where a page says nothing that is a number."""
    return min(max(1, int(span)), MOST_SPAN) if span.strip().isdecimal() else 1


def _cell(cell: tuple[str, str]) -> str:
    return "\\" + cell[1] if _DASHES.match(cell[1]) else cell[1]  # a dash alone is no rule
