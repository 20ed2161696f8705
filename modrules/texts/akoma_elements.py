"""Elements of Akoma Ntoso by what they are to an index, and what is kept of open ones."""

from __future__ import annotations

import re
from typing import NamedTuple

from modrules.texts.citations import canonical
from modrules.texts.numbers import ANNEXES

PARTS = {
    "part": "Part", "subpart": "Subpart", "chapter": "Chapter", "subchapter": "Subchapter",
    "division": "Division", "subdivision": "Subdivision", "title": "Title",
    "subtitle": "Subtitle", "book": "Book", "tome": "Tome",
}  # fmt: skip
CLAUSES = frozenset({
    "section", "article", "rule", "clause", "paragraph", "level", "hcontainer", "subsection",
    "subclause", "subrule", "subparagraph", "point", "indent", "alinea", "item", "list", "recital",
    "proviso", "transitional", "sublist", "crossHeading",
})  # fmt: skip
OUTER = frozenset({"section", "article", "rule", "clause", "level", "hcontainer"})
ATTACHED = frozenset({"attachment", "component"})
DEFINED = "def at the start of its block"
BLOCKS = frozenset({
    "p", "block", "tr", "caption", "docTitle", "docNumber", "longTitle", "formula", "li",
    "listIntroduction", "listWrapUp", "content", "intro", "wrapUp", "heading", "subheading", "num",
    "crossHeading",
})  # fmt: skip
SILENT = frozenset({"meta", "remark"})
ANNEX_NAME = re.compile(
    rf"(?:{'|'.join(ANNEXES)})\s+(?:\d{{1,3}}[A-Z]?|[IVXLC]{{1,7}}|[A-Z]{{1,2}})\b"
)
TABLE_NAME = re.compile(r"(?:Table|Figure)\s+[\w.-]{1,12}(?<![.-])")


class Level:
    """An open element: the depth of the outline's stack when it began, and its words."""

    __slots__ = ("depth", "heading", "line", "name", "num", "opened", "subheading")

    def __init__(self, name: str, depth: int, line: int) -> None:
        self.name = name
        self.depth = depth
        self.line = line
        self.num = ""
        self.heading = self.subheading = ""
        self.opened = False  # whether its clause stands in the outline


class Table:
    """An open table: the depth of the outline's stack before it, its key once it is captioned."""

    __slots__ = ("data", "depth", "key", "rows")

    def __init__(self, depth: int) -> None:
        self.depth = depth
        self.key = ""
        self.rows = 0
        self.data = False  # whether the open row is more than a head


class Note(NamedTuple):
    """A note that is read apart, as it stands inside a sentence; the words around it."""

    marker: str
    line: int
    around: list[str]
    place: int  # among the notes to be written: before those inside it


def bare(num: str) -> str:
    """The number alone: ``Article 7.`` → 7; ``(a)`` → a; ``§ 4`` → 4."""
    num = re.sub(r"[«»\"'“”*]", "", num).strip()
    match = re.fullmatch(r"\(?([0-9A-Za-z]{1,8})[.)]{1,2}", num)
    if match is not None:
        return match[1]
    return canonical(num).rpartition(" ")[2].strip("().") if num else ""
