"""HTML: the words of a page as lines of text, one block to a line; scripts are ignored."""

from __future__ import annotations

import re
from html.parser import HTMLParser

from modrules.texts.furniture import Roll

MOST_TAG = 2000  # characters of a tag; a longer one (a picture inside the page) is passed over

_SILENT = frozenset({"script", "style", "template", "noscript", "iframe", "object", "svg", "head",
                     "select", "textarea", "audio", "video", "canvas"})  # fmt: skip
_BLOCKS = frozenset({
    "address", "article", "aside", "blockquote", "body", "caption", "center", "dd", "details",
    "div", "dl", "dt", "fieldset", "figcaption", "figure", "footer", "form", "h1", "h2", "h3",
    "h4", "h5", "h6", "header", "hr", "html", "legend", "li", "main", "nav", "ol", "p", "pre",
    "section", "summary", "table", "tbody", "tfoot", "thead", "tr", "ul",
})  # fmt: skip
_NUMBERED = re.compile(
    r"\s*(?:\([0-9A-Za-z]{1,5}\)|\d[\w.]{0,12}[.)]?\s|[a-z]{1,4}[.)]\s|§|[A-Z]\.\s)"
)
_RAW = re.compile(r"<(script|style|template|noscript|iframe|svg)\b", re.I)
_NUMERALS = ((100, "c"), (90, "xc"), (50, "l"), (40, "xl"), (10, "x"), (9, "ix"), (5, "v"),
             (4, "iv"), (1, "i"))  # fmt: skip
_CHARSET = re.compile(rb"<meta[^>]{0,200}?charset\s*=\s*[\"']?\s*([A-Za-z0-9_-]{3,20})", re.I)
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
    page.feed(_tamed(source))
    page.close()
    page.end_block()
    return Roll("\n".join(page.lines), tuple(page.numbers))


def _tamed(source: str) -> str:
    """The source without comments, scripts and broken tags, its lines still where they were.

    The parser takes quadratic time on constructs that are never closed, so none reach it.
    """
    parts: list[str] = []
    at = 0
    last_close = source.rfind(">")
    while True:
        opened = source.find("<", at)
        if opened < 0:
            parts.append(source[at:])
            return "".join(parts)
        parts.append(source[at:opened])
        if opened > last_close:
            parts.append(source[opened:].replace("<", "&lt;"))
            return "".join(parts)
        if source.startswith("<!--", opened):
            end = source.find("-->", opened + 4)
            end = len(source) if end < 0 else end + 3
            parts.append("\n" * source.count("\n", opened, end))
        elif (raw := _RAW.match(source, opened)) is not None:
            closing = re.compile(rf"</{raw[1]}\b[^>]{{0,200}}>", re.I).search(source, opened)
            end = len(source) if closing is None else closing.end()
            parts.append("\n" * source.count("\n", opened, end))
        elif source[opened + 1] in "!?":
            end = source.index(">", opened) + 1
            parts.append("\n" * source.count("\n", opened, end))
        elif not (source[opened + 1].isalpha() or source[opened + 1] == "/"):
            parts.append("&lt;")
            end = opened + 1
        else:
            end = source.index(">", opened) + 1
            if end - opened > MOST_TAG:
                parts.append("\n" * source.count("\n", opened, end))
            elif (inner := source.find("<", opened + 1, end)) >= 0:
                parts.append("&lt;" + source[opened + 1 : inner])  # no tag holds another
                end = inner
            else:
                parts.append(source[opened:end])
        at = end


class _Page(HTMLParser):
    """Collects the words of a page, block by block."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.lines: list[str] = []
        self.numbers: list[int] = []
        self.words: list[str] = []
        self.line = 1  # where the block that is being read starts
        self.prefix = ""  # what its line starts with: "## " or the number of a list's item
        self.silent = 0
        self.lists: list[tuple[str, int]] = []  # kind and next number of the open lists
        self.cells = 0  # cells of the open row so far
        self.row = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in _SILENT:
            self.silent += 1
        if self.silent:
            return
        if tag == "br" and not self.row:
            self._end_line()
        elif tag in ("td", "th"):
            if self.row:
                self.words.append(" | " if self.cells else "| ")
                self.cells += 1
        elif tag in _BLOCKS and not (self.row and tag != "tr"):
            self.end_block()
            self._open(tag, dict(attrs))

    def _open(self, tag: str, attributes: dict[str, str | None]) -> None:
        if tag[0] == "h" and tag[1:].isdigit():
            self.prefix = "#" * int(tag[1:]) + " "
        elif tag in ("ol", "ul"):
            kind = (attributes.get("type") or "1") if tag == "ol" else "-"
            start = attributes.get("start") or ""
            number = int(start) if re.fullmatch(r"\d{1,6}", start) else 1
            self.lists.append((kind[:1], number))
        elif tag == "li" and self.lists:
            kind, number = self.lists[-1]
            value = attributes.get("value") or ""
            number = int(value) if re.fullmatch(r"\d{1,6}", value) else number
            self.lists[-1] = (kind, number + 1)
            indent = "    " * min(len(self.lists) - 1, 8)
            self.prefix = indent + (f"{_label(kind, number)}. " if kind != "-" else "- ")
        elif tag == "tr":
            self.row, self.cells, self.line = True, 0, self.getpos()[0]

    def handle_endtag(self, tag: str) -> None:
        if tag in _SILENT:
            self.silent = max(0, self.silent - 1)
            return
        if self.silent:
            return
        if tag == "tr":
            self.row = False
            self._end_line()
        elif tag in ("td", "th"):
            pass
        elif tag in _BLOCKS and not self.row:
            self.end_block(tag == "table")
            if tag in ("ol", "ul") and self.lists:
                self.lists.pop()

    def handle_data(self, data: str) -> None:
        if self.silent or not data:
            return
        if not self.words and not data.strip():
            return
        if not self.words:
            skipped = data[: len(data) - len(data.lstrip())]
            self.line = self.getpos()[0] + skipped.count("\n")
        self.words.append(data)

    def _end_line(self) -> None:
        words = " ".join("".join(self.words).split())
        self.words = []
        prefix, self.prefix = self.prefix, ""
        if not words:
            return
        if not words.startswith("| "):
            words = _MARKDOWN.sub(r"\\\1", words)  # signs that would be marks in Markdown
            if prefix.strip() and prefix.strip()[0] != "#" and _NUMBERED.match(words):
                prefix = prefix[: len(prefix) - len(prefix.lstrip())]  # it prints its own number
        self.lines.append(prefix + words)
        self.numbers.append(self.line)

    def end_block(self, of_table: bool = False) -> None:
        """End the line, and set what follows apart, but keep the rows of a table together."""
        before = len(self.lines)
        self._end_line()
        if self.lines and self.lines[-1] and not self.row:
            in_table = len(self.lines) == before and self.lines[-1].startswith("| ")
            if in_table and not of_table:
                return
            self.lines.append("")
            self.numbers.append(self.line)


def _label(kind: str, number: int) -> str:
    """The number of a list's item as a browser prints it."""
    if kind in "aA" and number > 0:
        letters = ""
        while number:
            number, letter = divmod(number - 1, 26)
            letters = chr(97 + letter) + letters
        return letters if kind == "a" else letters.upper()
    if kind in "iI" and 0 < number < 400:
        letters = ""
        for value, numeral in _NUMERALS:
            while number >= value:
                letters += numeral
                number -= value
        return letters if kind == "i" else letters.upper()
    return str(number)
