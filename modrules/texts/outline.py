"""The outline: markers, in order, become a tree of clauses; every doubt is written down.

The outline keeps the clauses that are still open on a stack, from the whole text down
to the innermost item. Each marker either goes on a series that is open, starts one
below the innermost clause, or is no clause at all. Everything is decided going
forward once, so the time is linear; the depth is bounded.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from modrules.texts import markers as mk
from modrules.texts.numbers import FIRST_STYLES, NEXT_PRINTED

# Kinds of clause, as words: they are shown.
FRONT, HEADING, PART, ANNEX, CLAUSE, ITEM = (
    "front matter", "heading", "part", "schedule", "clause", "item",
)  # fmt: skip
NOTE, DEFINITION, TABLE, ROW = "note", "definition", "table", "row"

MOST_DEEP = 24  # levels of clauses; what is deeper stays words of the clause above
MOST_DOUBTS = 2000  # kept of each kind; a text with more is counted on, not listed
SENTENCE_END = ".;:—–!?-"


@dataclass(slots=True)
class Outline:
    """The clauses of a body in order, as columns; clause 0 is the front matter.

    ``starts`` and ``ends`` enclose a clause with all below it; ``bodies`` is where its
    words begin, after its number. ``returns`` says from where on, after clauses in it,
    the words are a clause's own again: (position, clause).
    """

    keys: list[str] = field(default_factory=list)
    kinds: list[str] = field(default_factory=list)
    parents: list[int] = field(default_factory=list)
    starts: list[int] = field(default_factory=list)
    bodies: list[int] = field(default_factory=list)
    ends: list[int] = field(default_factory=list)
    returns: list[tuple[int, int]] = field(default_factory=list)
    #: the term of each definition
    terms: dict[int, str] = field(default_factory=dict)
    #: key → the first clause with it, and all of them where there are several
    by_key: dict[str, int] = field(default_factory=dict)
    repeats: dict[str, list[int]] = field(default_factory=dict)
    #: (kind of doubt, position, clause, sentence)
    doubts: list[tuple[str, int, int, str]] = field(default_factory=list)
    doubt_counts: dict[str, int] = field(default_factory=dict)

    def doubt(self, kind: str, at: int, clause: int, sentence: str) -> None:
        """Write a ground for doubt down, unless there are too many of its kind to be of use."""
        count = self.doubt_counts.get(kind, 0) + 1
        self.doubt_counts[kind] = count
        if count <= MOST_DOUBTS:
            self.doubts.append((kind, at, clause, sentence))


class Open:
    """A clause that may still get clauses below it."""

    __slots__ = ("base", "expected", "index", "kind", "label", "last", "lead", "level", "number",
                 "series", "style", "word")  # fmt: skip

    def __init__(self, index: int, kind: str, base: str) -> None:
        self.index = index
        self.kind = kind
        self.base = base  # what the numbers of its items are put behind
        self.level = 0  # of a heading
        self.number = ""  # of a numbered clause
        self.last = ""  # the last number below it
        self.series = ""  # how an item or number is printed: "()", ")", "."
        self.style = -1
        self.label = ""  # of an item, without brackets
        self.expected = ""  # what the next item of the series looks like, where that is certain
        self.lead = 0  # width of the indentation
        self.word = ""  # Part, Article …


class Builder:
    """The state of one run over a body. Made, run and thrown away by ``outline``."""

    __slots__ = ("annex", "body", "cursor", "last_number", "line_from", "out", "part_words",
                 "prefix", "restart", "skip", "stack")  # fmt: skip

    def __init__(self, body: str) -> None:
        self.body = body
        self.out = Outline()
        self.stack: list[Open] = []
        self.prefix = ""  # of the keys inside a schedule: "Schedule 3, "
        self.annex = ""  # the schedule's own number
        self.last_number = ""  # the last numbered clause, wherever
        self.cursor = 1  # up to here the words have been looked at
        self.skip = 0  # markers before this stand in a table or in a fenced block
        self.line_from = 0  # where the last accepted marker's line started
        self.part_words: frozenset[str] = frozenset()  # that hold clauses in this text
        self.restart = False  # a part was just opened: numbers may start again
        self.add(FRONT, "", 0, 0)

    def add(self, kind: str, key: str, start: int, text_from: int) -> Open:
        """Put a clause below the innermost open one and open it."""
        out = self.out
        index = len(out.keys)
        if key in out.by_key:
            out.repeats.setdefault(key, [out.by_key[key]]).append(index)
            if kind is not HEADING:
                out.doubt("number repeated", start, index, f"{key} stands more than once")
        else:
            out.by_key[key] = index
        out.keys.append(key)
        out.kinds.append(kind)
        out.parents.append(self.stack[-1].index if self.stack else -1)
        out.starts.append(start)
        out.bodies.append(text_from)
        out.ends.append(-1)
        opened = Open(index, kind, key)
        self.stack.append(opened)
        return opened

    def close_to(self, depth: int, at: int) -> None:
        """Close the clauses above position ``depth`` of the stack, which ends them at ``at``."""
        stack, ends = self.stack, self.out.ends
        while len(stack) > depth + 1:
            ends[stack.pop().index] = at

    def give(self, at: int) -> None:
        """From ``at`` on, the words are the innermost open clause's own."""
        self.out.returns.append((at, self.stack[-1].index))

    # ---- where a marker stands --------------------------------------------------

    def opens_paragraph(self, marker: mk.Marker) -> bool:
        """Whether a blank line, or a heading's mark, sets the marker apart."""
        body, start = self.body, marker.start
        if marker.level or start < 2 or body[start - 2] == "\n":
            return True
        if body[start - 2] == ">":
            line = body.rfind("\n", 0, start - 1)
            return not body[max(line + 1, start - 80) : start - 1].strip("> \t")
        return False

    def line_before(self, start: int) -> str:
        """The end of the line before ``start``, without marks of emphasis."""
        return self.body[max(0, start - 80) : start - 1].rpartition("\n")[2].rstrip("*_ ")

    def after_marker_line(self, start: int) -> bool:
        """Whether the line before is the one of the last accepted marker."""
        return self.line_from > 0 and self.body.find("\n", self.line_from, start - 1) < 0

    def not_taken(self, marker: mk.Marker, what: str, why: str) -> bool:
        """Doubt whether a marker that is passed over was a clause after all; False."""
        self.out.doubt("possible clause not taken", marker.start, self.stack[-1].index,
                       f"{what} was not taken for a clause: {why}")  # fmt: skip
        return False

    def too_deep(self, marker: mk.Marker) -> bool:
        """Whether no clause can be opened below the innermost one; the doubt is written down."""
        if len(self.stack) < MOST_DEEP:
            return False
        self.out.doubt("too deep", marker.start, self.stack[-1].index,
                       f"more than {MOST_DEEP} levels: left in the words of the clause above")  # fmt: skip
        return True

    # ---- the run ----------------------------------------------------------------

    def run(self) -> Outline:
        """Take every marker in order, then the words after the last one."""
        from modrules.texts.paragraphs import look_between

        inside = mk.run_in_lists(self.body) + mk.plain_definitions(self.body)
        inside.sort(key=lambda marker: -marker.start)
        upcoming = inside[-1].start if inside else len(self.body) + 1
        for match in mk.CANDIDATE.finditer(self.body):
            start = match.start() + 1
            while upcoming < start:
                self.take(inside.pop())
                upcoming = inside[-1].start if inside else len(self.body) + 1
            if match.lastindex != mk.PLAIN_ITEM or not self.take_plain_item(match, start):
                self.take(mk.marker_of(match))
        while inside:
            self.take(inside.pop())
        look_between(self, self.cursor, len(self.body))
        self.close_to(-1, len(self.body))
        return self.out

    def take(self, marker: mk.Marker) -> None:
        """Look at the words before a marker, then at the marker."""
        from modrules.texts.handlers import HANDLERS
        from modrules.texts.paragraphs import look_between

        start = marker.start
        if start < self.skip or (marker.inside and start < self.cursor):
            return
        look_between(self, self.cursor, start)
        if HANDLERS[marker.kind](self, marker):
            self.cursor = max(self.cursor, marker.end)
            self.line_from = start
        else:
            self.cursor = max(self.cursor, start - 2)

    def take_plain_item(self, match: re.Match[str], start: int) -> bool:
        """The short way for the common case; False where anything needs a closer look.

        It only takes an item that is set apart or follows ``;``, ``:`` or a dash, and
        that either is just what an open series expects next or opens one of a new kind.
        """
        body, cursor = self.body, self.cursor
        gap = body.find("\n\n", cursor, start)
        if (0 <= gap < start - 2) or body[start - 2] not in "\n;:—" or start < self.skip:
            return False
        printed, end = match[mk.PLAIN_ITEM], match.end()
        width = end - len(printed) - start
        stack = self.stack
        depth = len(stack) - 1
        opened = stack[depth]
        if opened.lead and opened.kind is ITEM and body.find("\n", cursor, start - 1) >= 0:
            return False
        style = FIRST_STYLES.get(printed, -1)
        while opened.expected != printed or opened.lead != width:
            if opened.kind is not ITEM or opened.style == style or not opened.expected:
                break
            depth -= 1
            opened = stack[depth]
        else:
            parent = stack[depth - 1]
            out = self.out
            key = parent.base + printed
            if key in out.by_key:
                return False
            ends = out.ends
            while len(stack) > depth + 1:
                ends[stack.pop().index] = start
            ends[opened.index] = start
            opened.index = out.by_key[key] = len(ends)
            opened.base = key
            opened.label = printed[1:-1]
            opened.expected = NEXT_PRINTED[opened.style].get(printed, "")
            out.keys.append(key)
            out.kinds.append(ITEM)
            out.parents.append(parent.index)
            out.starts.append(start)
            out.bodies.append(end)
            ends.append(-1)
            self.cursor, self.line_from = end, start
            return True
        top = stack[-1]
        if style < 0 or opened.kind is not CLAUSE or len(stack) >= MOST_DEEP or top.lead > width:
            return False
        key = top.base + printed
        if key in self.out.by_key:
            return False
        opened = self.add(ITEM, key, start, end)
        opened.style, opened.series, opened.lead, opened.label = style, "()", width, printed[1:-1]
        opened.expected = NEXT_PRINTED[style][printed]
        self.cursor, self.line_from = end, start
        return True


def outline(body: str) -> Outline:
    """Index a body, which must start with a line end.

    Returns the clauses in order of position. Time grows linearly with the body.
    """
    from modrules.texts.divisions import part_words

    builder = Builder(body)
    builder.part_words = part_words(body)
    return builder.run()
