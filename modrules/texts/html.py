"""HTML: the words of a page as lines of text, one block to a line; scripts are ignored.

What the page says about its lists and terms goes with the lines as markers; its tables
become lines with bars, a rule below the head.
"""

from __future__ import annotations

import re
from collections import deque
from html.parser import HTMLParser

from modrules.texts import markers as mk
from modrules.texts.furniture import Roll
from modrules.texts.html_lists import (
    ONLY_NUMBER,
    PRINTED_NUMBER,
    HtmlList,
    list_of,
    numbered,
)
from modrules.texts.html_source import tamed
from modrules.texts.html_tables import HtmlTable

_BLOCKS = frozenset({
    "address", "article", "aside", "blockquote", "body", "caption", "center", "dd", "details",
    "div", "dl", "dt", "fieldset", "figcaption", "figure", "footer", "form", "h1", "h2", "h3",
    "h4", "h5", "h6", "header", "hr", "html", "legend", "li", "main", "nav", "ol", "p", "pre",
    "section", "summary", "table", "tbody", "tfoot", "thead", "tr", "ul",
})  # fmt: skip
_CHARSET = re.compile(rb"<meta[^>]{0,200}?charset\s*=\s*[\"']?\s*([A-Za-z0-9_-]{3,20})", re.I)
_BOLD = frozenset({"b", "strong", "dfn"})
_STRUCK = frozenset({"del", "s", "strike"})
_MARK = "**"  # of emphasis, as in Markdown; it is no part of the words
_STRIKE = "~~"  # around words that are struck out, as in Markdown
_RAISED = str.maketrans("0123456789+-−()", "⁰¹²³⁴⁵⁶⁷⁸⁹⁺⁻⁻⁽⁾")
_MAY_BE_RAISED = re.compile(r"[\s\d,+()−-]*\Z")
_QUOTES = "\"'“”‘’ "
_END_INLINE = frozenset({"dt", "dd", "dl", "table", "tr", "td", "th", "thead", "tbody", "tfoot"})
_MARKDOWN = re.compile(r"^([#>|+~`=-])")


def looks_like_html(start: bytes) -> bool:
    """Whether a file that starts so is HTML."""
    head = start.lstrip(b"\xef\xbb\xbf \t\r\n").lower()
    return head.startswith((b"<!doctype html", b"<html")) or (
        head.startswith(b"<?xml") and b"<html" in head[:1000]
    )


def charset_in(start: bytes) -> str:
    """The encoding that a page says it has; "" where it says none."""
    match = _CHARSET.search(start[:4096])
    return match[1].decode("ascii").lower() if match is not None else ""


def html_as_lines(source: str) -> Roll:
    """The words of an HTML page, a blank line between blocks, with the line of each in the file."""
    page = _Page()
    page.feed(tamed(source, page.untold))
    page.close()
    page.finish()
    return Roll("\n".join(page.lines), tuple(page.numbers), said=tuple(page.said))


class _Page(HTMLParser):
    """Collects the words of a page, block by block."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.lines: list[str] = []
        self.numbers: list[int] = []
        self.said: list[mk.Marker] = []
        self.at = 1  # where the next line starts in the body, which begins with a line end
        self.words: list[str] = []
        self.line = 1  # where the block that is being read starts
        #: (line, sentence) of what was left out and is not yet told, in order
        self.untold: deque[tuple[int, str]] = deque()
        self.raised = False  # whether what is read stands higher, as a power or a note's mark
        self.inline = ""  # dt or caption, where one is open: blocks in it are no lines
        self.bold = False  # whether the block began with words in bold that have not ended
        self.printed = 0  # how many <pre> are open, whose lines are lines of the text
        self.heading = ""  # "## " before the words of a heading
        self.lists: list[HtmlList] = []  # those that are open
        self.count = 0  # lists so far
        self.entry: HtmlList | None = None  # whose next entry has begun, and has no words yet
        self.ended: list[int] = []  # lists that ended since the last line
        self.tables: list[HtmlTable] = []  # those that are open

    @property
    def row(self) -> bool:
        """Whether a row is open: blocks in a cell are no lines of their own."""
        return bool(self.tables) and self.tables[-1].in_row

    # ---- tags -------------------------------------------------------------------

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if self.inline and tag in _END_INLINE:
            self._end_inline()
        if tag == "sup":
            self.raised = bool(self.words)  # at the start of a block it may be the number of it
        elif tag in _STRUCK:
            self._strike()
        if tag == "table" and self.row:
            self._lay_out()
        if self.tables and tag in ("td", "th", "tr", "thead", "tbody", "tfoot"):
            self._open_in_table(tag, dict(attrs))
        elif self.row or self.inline:
            if tag in _BLOCKS or tag == "br":
                self.words.append(" ")
        elif tag == "br":
            self._end_line()
        elif tag in _BOLD and not self.words:
            self.words.append(_MARK)
            self.line, self.bold = self.getpos()[0], True
        elif tag in _BLOCKS:
            self.end_block()
            self.printed += tag == "pre"
            self._open(tag, dict(attrs))

    def _open(self, tag: str, attributes: dict[str, str | None]) -> None:
        if tag[0] == "h" and tag[1:].isdigit():
            self.heading = "#" * int(tag[1:]) + " "
        elif tag in ("ol", "ul", "dl"):
            self._end_entry()
            self.count += 1
            self.lists.append(list_of(tag, attributes, self.count))
        elif tag == "li" and self.lists:
            self._end_entry()
            self.lists[-1].next_entry(attributes.get("value") or "")
            self.entry, self.line = self.lists[-1], self.getpos()[0]
        elif tag in ("dt", "dd") and self.lists and self.lists[-1].tag == "dl":
            self._open_in_terms(tag, self.lists[-1])
        elif tag == "caption" and self.tables:
            self.inline = tag
        elif tag == "table":
            self._end_entry()
            self.tables.append(HtmlTable())

    def _open_in_terms(self, tag: str, terms: HtmlList) -> None:
        if tag == "dd":
            terms.described = True
            return
        self._end_entry()
        terms.beside, terms.described = not terms.described, False
        self.inline = tag

    def _open_in_table(self, tag: str, attributes: dict[str, str | None]) -> None:
        table = self.tables[-1]
        if table.in_row and tag not in ("td", "th"):
            self._end_row()
        if not table.in_row:
            self.end_block()
            if table.laid_out:
                return
        if tag in ("td", "th"):
            table.open_cell(tag, attributes, self.words, self.getpos()[0])
        elif tag == "tr":
            table.open_row(self.getpos()[0])
        else:
            table.part = tag

    def _lay_out(self) -> None:
        """A table in a cell: the one around it only lays words out, and these are blocks."""
        table = self.tables[-1]
        self.words = table.lay_out(self.words)
        self.end_block()

    def handle_endtag(self, tag: str) -> None:
        if tag == "sup":
            self.raised = False
        elif tag in _STRUCK:
            self.words.append(_STRIKE)
        if self.inline and (tag == self.inline or tag in _END_INLINE):
            ended = self.inline
            self._end_inline()
            if tag == ended:
                return
        if self.tables and tag in ("tr", "table", "thead", "tbody", "tfoot"):
            if self.row:
                self._end_row()
            if tag == "table":
                self.end_block()
                self._put("", self.line)
                self.tables.pop()
            elif tag != "tr":
                self.tables[-1].part = ""
        elif self.row or self.inline:
            if tag in _BLOCKS:
                self.words.append(" ")
        elif tag in _BOLD:
            self._end_bold()
        elif tag in _BLOCKS:
            self.end_block()
            self.printed -= tag == "pre" and self.printed > 0
            if tag in ("ol", "ul", "dl") and self.lists:
                self._end_entry()
                self.ended.append(self.lists.pop().number)
            elif tag == "li":
                self._end_entry()

    def handle_data(self, data: str) -> None:
        if self.printed and not (self.row or self.inline or self.entry):
            self._print(data)
            return
        if not self.words and not data.strip():
            return
        if not self.words:
            skipped = data[: len(data) - len(data.lstrip())]
            self.line = self.getpos()[0] + skipped.count("\n")
        # "50¹ mm" is no 501 mm.
        raised = self.raised and _MAY_BE_RAISED.match(data) is not None
        self.words.append(data.translate(_RAISED) if raised else data)

    def _print(self, data: str) -> None:
        """Take printed lines over as they stand; the last of them may go on."""
        first = self.getpos()[0]
        for count, words in enumerate(data.split("\n")):
            if count:
                self._end_bold()
                line = _MARKDOWN.sub(r"\\\1", "".join(self.words).rstrip())
                self.words = []
                self._put_ends()
                self._put(line, first + count - 1)
            if words:
                self.words.append(words)
                self.line = first + count

    def _strike(self) -> None:
        if not self.words:
            self.line = self.getpos()[0]
        self.words.append(_STRIKE)
        self._doubt("words struck out", f"words that the page strikes out stand between {_STRIKE}")

    # ---- lines ------------------------------------------------------------------

    def _put(self, words: str, line: int) -> None:
        while words and self.untold and self.untold[0][0] <= line:
            self._tell()
        if words or (self.lines and self.lines[-1]):
            self.lines.append(words)
            self.numbers.append(line)
            self.at += len(words) + 1

    def _end_bold(self) -> None:
        """Close the mark of emphasis with which the block begins, or take it back."""
        if self.bold:
            marked = "".join(self.words[1:]).strip()
            self.words = [_MARK, marked, _MARK + " "] if marked else []
            self.bold = False

    def _taken(self) -> str:
        self._end_bold()
        words = " ".join("".join(self.words).split())
        self.words = []
        return words

    def _end_line(self) -> None:
        words = self._taken()
        if words:
            self._put_words(words)

    def _put_words(self, words: str) -> None:
        """A line of words, with the number or term of the entry that it begins."""
        heading, self.heading = self.heading, ""
        escaped = _MARKDOWN.sub(r"\\\1", words)  # signs that would be marks in Markdown
        self._put_ends()
        entry, self.entry = self.entry, None
        if entry is None:
            self._put(heading + escaped, self.line)
            return
        indent = "    " * min(len(self.lists) - 1, 8)
        if entry.tag == "dl":
            self._put_term(entry, escaped)
            return
        number, doubt = numbered(entry, words)
        if number is None:
            self._put(indent + "- " * (PRINTED_NUMBER.match(words) is None) + escaped, self.line)
            return
        printed = number.printed or f"{number.label}. "
        end = self.at + len(indent) + len(printed)
        self.said.append(mk.Marker(self.at, end, mk.ENTRY, number.label, tail=".",
                                   lead=indent, of_list=entry.number))  # fmt: skip
        self._doubt("number of an item", doubt)
        rest = words[len(number.printed) :] if number.printed else escaped
        self._put(indent + printed + rest, self.line)

    def _put_term(self, terms: HtmlList, words: str) -> None:
        term = terms.term
        if ONLY_NUMBER.fullmatch(term) is None:
            number = terms.number
            if terms.beside:  # two terms have the words after them: the second is in the first
                self.count += 1
                number = self.count
            self.said.append(mk.Marker(self.at, self.at, mk.TERM, term, of_list=number))
            term += " —" if words else ""
        self._put(f"{term} {words}".rstrip(), terms.term_line)

    def _put_ends(self) -> None:
        for number in self.ended:
            self.said.append(mk.Marker(self.at, self.at, mk.END, "", of_list=number))
        self.ended.clear()

    def _tell(self) -> None:
        self._doubt("line left out", self.untold.popleft()[1])

    def _doubt(self, kind: str, sentence: str) -> None:
        if sentence:
            self.said.append(mk.Marker(self.at, self.at, mk.DOUBT, sentence, word=kind))

    def end_block(self) -> None:
        """End the line, and set what follows apart."""
        self._end_line()
        if not self.tables or self.tables[-1].laid_out or not self.tables[-1].rows:
            self._put("", self.line)

    def finish(self) -> None:
        """End what is open at the end of the page."""
        while self.tables:
            self.handle_endtag("table")
        self.end_block()
        self._end_entry()
        self.at = max(1, self.at - 1)
        while self.untold:
            self._tell()

    # ---- entries ----------------------------------------------------------------

    def _end_entry(self) -> None:
        """An entry without words of its own is printed all the same: its number, or its term."""
        if self.entry is not None:
            if self.entry.tag != "ul":
                self._put_words("")
                self._put("", self.line)
            self.entry = None

    def _end_inline(self) -> None:
        """End a term, which waits for the words after it, or a caption."""
        tag, self.inline = self.inline, ""
        words = self._taken()
        if not words:
            return
        if tag == "dt":
            self.entry = self.lists[-1]
            self.entry.term, self.entry.term_line = words.strip(_QUOTES), self.line
        else:
            self._put_ends()
            for line in self.tables[-1].caption(words):
                self._put(line, self.line)

    def _end_row(self) -> None:
        table = self.tables[-1]
        lines, line = table.end_row(self.words)
        self.words = []
        if lines:
            self._put_ends()
        for each in lines:
            self._put(each, line)
