"""Plain text on a page of 80 columns: cleaning, wrapping, labels in a margin.

Titles, quotations and texts come from strangers. Whatever could move the cursor,
change the direction of writing or start a line of its own is taken out of them here,
so that no input can pass itself off as the report.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Sequence

#: No line is wider. One column stays free: some terminals wrap a line that fills them.
WIDTH = 79
#: Where the text starts beside a label.
MARGIN = 15

# Joiners are format characters too, but several scripts cannot be written without them.
_JOINERS = "\u200c\u200d"
# More marks than this on one letter spill into the lines above and below.
_MOST_MARKS = 3


def clean(text: object) -> str:
    """One line of text that only shows what it says: white space folded, no controls."""
    raw = str(text)
    if not (raw.isascii() and raw.isprintable()):
        raw = _harmless(raw)
    return " ".join(raw.split())


def masked(text: str) -> str:
    """``text`` with each harmful character replaced by one ``?``, so that columns stay put."""
    return "".join(_shown(character) or "?" for character in text)


def width_of(text: str) -> int:
    """How many columns ``text`` takes on a terminal."""
    if text.isascii():
        return len(text)
    return sum(map(_columns, text))


def wrap(text: object, first: str = "", rest: str | None = None, width: int = WIDTH) -> list[str]:
    """``text`` cleaned and broken into lines; ``first`` starts line 1, ``rest`` the others.

    ``rest`` left out indents by the width of ``first``. Words wider than a line are cut.
    A list of texts is broken between them, not inside one that fits a line.
    """
    rest = " " * width_of(first) if rest is None else rest
    room = width - max(width_of(first), width_of(rest))
    words = _unbroken(text, room) if isinstance(text, list) else clean(text).split(" ")
    lines: list[str] = []
    start, line, used = first, "", width_of(first)
    for word in words:
        size = width_of(word)
        if line and used + 1 + size > width:
            lines.append(start + line)
            start, line, used = rest, "", width_of(rest)
        while used + size > width and not line:
            head, word = _cut(word, width - used)
            lines.append(start + head)
            start, line, used = rest, "", width_of(rest)
            size = width_of(word)
        used += size + bool(line)
        line = f"{line} {word}" if line else word
    lines.append((start + line).rstrip())
    return lines


def _unbroken(texts: list[object], room: int) -> list[str]:
    """The texts that fit a line, and the single words of those that don't."""
    found: list[str] = []
    for one in map(clean, texts):
        found += [one] if width_of(one) <= room else one.split(" ")
    return found


def labelled(label: str, text: object, margin: int = MARGIN, indent: str = "") -> list[str]:
    """``text`` wrapped beside a label: the label stands in the margin of the first line."""
    first = f"{indent}{label:<{margin - 1}} "
    return wrap(text, first, indent + " " * margin)


def paragraph(text: object, indent: int = 0) -> list[str]:
    """``text`` wrapped, every line indented by so many columns."""
    return wrap(text, " " * indent)


def bullets(texts: Iterable[object], indent: int = 2, mark: str = "-") -> list[str]:
    """One wrapped item per text, each after a mark."""
    return [line for text in texts for line in wrap(text, f"{' ' * indent}{mark} ")]


def block(text: str, indent: int, most: int) -> tuple[list[str], int]:
    """A quoted text, line by line behind a bar; at most ``most`` lines, and how many more."""
    bar = " " * indent + "| "
    lines = [shown for line in text.splitlines() if line.strip() for shown in wrap(line, bar, bar)]
    return lines[:most], max(0, len(lines) - most)


def heading(text: str) -> list[str]:
    """The start of a part of the page: an empty line, its words in capitals, a rule."""
    return ["", *wrap(clean(text).upper()), "-" * WIDTH]


def columns(rows: Sequence[Sequence[str]], widths: Sequence[int], indent: int = 2) -> list[str]:
    """A table without lines: each cell wraps inside its column; the last one takes the rest.

    ``widths`` are those of all columns but the last, without the two free columns between.
    """
    last = WIDTH - indent - sum(widths) - 2 * len(widths)
    lines: list[str] = []
    for row in rows:
        cells = [wrap(cell, "", "", size) for cell, size in zip(row, [*widths, last], strict=True)]
        for number in range(max(map(len, cells))):
            parts = [
                _padded(cell[number] if number < len(cell) else "", size)
                for cell, size in zip(cells, [*widths, last], strict=True)
            ]
            lines.append((" " * indent + "  ".join(parts)).rstrip())
    return lines


def beginning(text: str, most: int) -> str:
    """At most so many lines, up to the end of a paragraph, and how many were left out."""
    lines = text.split("\n")[:-1]
    if len(lines) <= most:
        return text
    ends = [n for n in range(most, 0, -1) if not lines[n]]
    kept = ends[0] if ends else most
    return "\n".join([*lines[:kept], "", f"... and {len(lines) - kept} more lines", ""])


def listed(words: Iterable[str], last: str = "and") -> str:
    """``a``, ``a and b``, ``a, b and c``."""
    every = list(words)
    if len(every) < 2:
        return "".join(every)
    return f"{', '.join(every[:-1])} {last} {every[-1]}"


def chain(items: Iterable[str], joint: str = ",") -> list[str]:
    """Items as a list for ``wrap`` to break between: all but the last followed by ``joint``."""
    every = list(items)
    return [*(item + joint for item in every[:-1]), *every[-1:]]


def page(lines: Iterable[str]) -> str:
    """Lines as one text: no trailing blanks, no two empty lines in a row, one end of line."""
    kept: list[str] = []
    for line in lines:
        line = line.rstrip()
        if line or (kept and kept[-1]):
            kept.append(line)
    while kept and not kept[-1]:
        kept.pop()
    return "\n".join(kept) + "\n"


def _harmless(text: str) -> str:
    out: list[str] = []
    marks = 0
    for character in text:
        shown = _shown(character)
        marks = marks + 1 if shown and _is_mark(shown) else 0
        if marks <= _MOST_MARKS:
            out.append(shown)
    return "".join(out)


def _shown(character: str) -> str:
    """The character itself, a blank for white space, nothing for one that could do harm."""
    if character.isprintable():
        return character
    category = unicodedata.category(character)
    if category[0] == "Z" or character in "\t\n\r\v\f\x1c\x1d\x1e\x1f\x85":
        return " "
    if category == "Cs":
        return "\ufffd"
    return character if character in _JOINERS else ""


def _columns(character: str) -> int:
    if _is_mark(character) or character in _JOINERS:
        return 0
    return 2 if unicodedata.east_asian_width(character) in "WF" else 1


def _is_mark(character: str) -> bool:
    return unicodedata.category(character) in ("Mn", "Me")


def _cut(word: str, room: int) -> tuple[str, str]:
    """The longest start of ``word`` that fits, at least one character, and the rest."""
    used = 0
    for number, character in enumerate(word):
        used += _columns(character)
        if used > room and number:
            return word[:number], word[number:]
    return word, ""


def _padded(text: str, size: int) -> str:
    return text + " " * max(0, size - width_of(text))
