"""The builder: markers, in order, become a tree of clauses; every doubt is written down.

The builder keeps the clauses that are still open on a stack, from the whole text down
to the innermost item. Each marker either goes on a series that is open, starts one
below the innermost clause, or is no clause at all. Everything is decided going
forward once, so the time is linear; the depth is bounded.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cached_property
from typing import TypeAlias

from modrules.texts import markers as mk
from modrules.texts import outline as ol
from modrules.texts.contents import contents, is_line
from modrules.texts.numbers import FIRST_STYLES, NEXT_PRINTED
from modrules.texts.outline import CLAUSE, FRONT, HEADING, ITEM, MOST_DEEP, Outline, RawDoubt
from modrules.texts.quotations import quotations, stretches, unquoted

SENTENCE_END = ".;:—–!?-"


class Open:
    """A clause that may still get clauses below it."""

    within, stem = 0, ""  # the clause it is in, and what that puts before the numbers of its items
    level = 0  # of a heading
    number = ""  # of a numbered clause
    last = ""  # the last number below it
    series = ""  # how an item or number is printed: "()", ")", "."
    style = -1
    expected = ""  # what the next item of the series looks like, where that is certain
    lead = 0  # width of the indentation
    word = ""  # Part, Article …
    #: style, series and last label of a list in it that words of its own have ended
    ended: tuple[int, str, str] | None = None
    provisos = 0  # beside it, so far
    of_list = 0  # which list of the page, where that is said
    unsure = ""  # what is in doubt about every entry of that list

    def __init__(self, index: int, kind: str, base: str) -> None:
        self.index = index
        self.kind = kind
        self.base = base  # what the numbers of its items are put behind

    @property
    def label(self) -> str:
        """The label of an item, without brackets; "" of anything else."""
        if self.kind is not ITEM:
            return ""
        return self.base[self.base.rfind("(") + 1 :].removesuffix(")").removeprefix("Recital ")


Handler: TypeAlias = "Callable[[Builder, mk.Marker], bool]"
Between: TypeAlias = "Callable[[Builder, int, int], None]"


class Builder:
    """The state of one run over a body. Made, run and thrown away by ``outline``."""

    def __init__(self, body: str, handlers: Mapping[int, Handler], look_between: Between) -> None:
        self.body = body
        self.handlers = handlers  # what to do with each kind of marker
        self.look_between = look_between  # what to do with the words before one
        # The columns of the outline so far: the front matter comes first.
        self.keys, self.kinds = [""], [FRONT]
        self.parents, self.starts, self.bodies, self.ends = [-1], [0], [0], [-1]
        self.returns: list[tuple[int, int]] = []
        self.terms: dict[int, str] = {}
        self.doubts: list[RawDoubt] = []
        self.doubt_counts: dict[str, int] = {}
        self.stack: list[Open] = [Open(0, FRONT, "")]
        self.prefix = ""  # of the keys inside a schedule: "Schedule 3, "
        self.annex = ""  # the schedule's own number
        self.last_number = ""  # the last numbered clause, wherever
        self.last_tails: dict[str, str] = {}  # the last part of the last number by its head
        self.last_parts: dict[str, str] = {}  # the last part by its word, in each schedule
        self.coming, self.coming_at = "", -1  # the next number that starts a line, and where
        self.cursor = 1  # up to here the words have been looked at
        self.skip = 0  # what stands before this is no clause: a table, a quotation, a fenced block
        self.line_from = 0  # where the last accepted marker's line started
        self.worded = False  # whether clauses have a word or a sign before their number
        self.form = -1  # the schedule, or the text, in which blanks to fill in have been seen
        self.restart = False  # a part was just opened: numbers may start again

    def doubt(self, kind: str, at: int, sentence: str, clause: int = -1) -> None:
        """Write a ground for doubt down, unless there are too many of its kind to be of use.

        It is about the clause that comes next, unless another is named.
        """
        count = self.doubt_counts.get(kind, 0) + 1
        self.doubt_counts[kind] = count
        if count <= ol.MOST_DOUBTS:
            index = clause if clause >= 0 else len(self.keys)
            self.doubts.append(RawDoubt(kind, at, index, sentence))

    def add(self, kind: str, key: str, start: int, text_from: int) -> Open:
        """Put a clause below the innermost open one and open it."""
        index, around = len(self.keys), self.stack[-1]
        self.keys.append(key)
        self.kinds.append(kind)
        self.parents.append(around.index)
        self.starts.append(start)
        self.bodies.append(text_from)
        self.ends.append(-1)
        opened = Open(index, kind, key)
        opened.within, opened.stem = around.index, around.base
        self.stack.append(opened)
        return opened

    def close_to(self, depth: int, at: int) -> None:
        """Close the clauses above position ``depth`` of the stack, which ends them at ``at``."""
        stack, ends = self.stack, self.ends
        while len(stack) > depth + 1:
            ends[stack.pop().index] = at

    def give(self, at: int) -> None:
        """From ``at`` on, the words are the innermost open clause's own."""
        if self.returns and self.returns[-1][0] == at:
            del self.returns[-1]  # a list and the one around it end at one place
        self.returns.append((at, self.stack[-1].index))

    @cached_property
    def part_words(self) -> frozenset[str]:
        """The words that open parts of this text."""
        from modrules.texts.divisions import part_words

        return part_words(self.body)

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
        self.doubt("possible clause not taken", marker.start,
                   f"{what} was not taken for a clause: {why}", self.stack[-1].index)  # fmt: skip
        return False

    def too_deep(self, marker: mk.Marker) -> bool:
        """Whether no clause can be opened below the innermost one; the doubt is written down."""
        if len(self.stack) < MOST_DEEP:
            return False
        self.doubt("too deep", marker.start, f"more than {MOST_DEEP} levels: left in the words of "
                   "the clause above", self.stack[-1].index)  # fmt: skip
        return True

    # ---- the run ----------------------------------------------------------------

    def run(self, said: tuple[mk.Marker, ...] = (), bare: bool = False) -> Outline:
        """Take every marker in order, then the words after the last one.

        ``said``: markers that the format itself gives; no other is looked for on their lines.
        ``bare``: items may be printed as a letter alone, as a second letter has shown.
        """
        body, stack, ends = self.body, self.stack, self.ends
        put_key, put_kind, put_parent = self.keys.append, self.kinds.append, self.parents.append
        put_start, put_body, put_end = self.starts.append, self.bodies.append, ends.append
        find, first_styles, next_printed = body.find, FIRST_STYLES, NEXT_PRINTED
        quoted = list(stretches(body))
        inside = unquoted(mk.run_in_lists(body), quoted)
        inside += quotations(body, quoted) + contents(body)
        inside += mk.bare_letters(body) if bare else []
        inside += reversed(said)  # the last at a place is taken first
        inside.sort(key=lambda marker: -marker.start)
        upcoming = inside[-1].start if inside else len(body) + 1
        plain_item = mk.PLAIN_ITEM
        for match in mk.CANDIDATE.finditer(body):
            before, end = match.span()
            if upcoming <= before + 1:
                start, known = before + 1, False
                while upcoming <= start:
                    marker = inside.pop()
                    self.take(marker)
                    words = (match.lastindex or 0) >= mk.WORDS_FROM
                    said_so = marker.kind in (mk.ENTRY, mk.TERM)
                    known |= marker.start == start and (said_so or words)
                    upcoming = inside[-1].start if inside else len(body) + 1
                if known:
                    continue
            # The short way for the common case, an item that is set apart or follows
            # ";", ":" or a dash and either is what an open series expects next or opens
            # one of a new kind. Whatever needs a closer look goes the long way.
            opened = stack[-1]
            if (
                match.lastindex != plain_item
                or body[before - 1] not in "\n;:—"
                or before < self.skip
                or (opened.lead and find("\n", self.cursor, before) >= 0)
            ):
                words = (match.lastindex or 0) >= mk.WORDS_FROM
                if words and not bare and body.startswith(mk.SECOND_LETTERS, end):
                    again = Builder(body, self.handlers, self.look_between)
                    return again.run(said, bare=True)
                self.take(mk.marker_of(match))
                continue
            printed = match[plain_item]
            width = end - len(printed) - before - 1
            expected = opened.expected
            depth = -1
            while expected and expected != printed:
                depth -= 1
                opened = stack[depth]
                expected = opened.expected
            if expected and opened.lead == width:
                start = before + 1
                if depth < -1:
                    for closed in stack[depth + 1 :]:
                        ends[closed.index] = start
                    del stack[depth + 1 :]
                ends[opened.index] = start
                opened.index = len(ends)
                opened.base = key = opened.stem + printed
                opened.expected = next_printed[opened.style].get(printed, "")
                put_key(key)
                put_kind(ITEM)
                put_parent(opened.within)
                put_start(start)
                put_body(end)
                put_end(-1)
            elif (
                (style := first_styles.get(printed, -1)) >= 0
                and opened.kind is CLAUSE
                and body[before - 2] != "."
                and len(stack) < MOST_DEEP
                and (top := stack[-1]).lead <= width
                and style != top.style
                and (depth > -3 or style not in [o.style for o in stack[depth:]])
            ):
                start = before + 1
                opened = self.add(ITEM, top.base + printed, start, end)
                opened.style, opened.series, opened.lead = style, "()", width
                opened.expected = next_printed[style][printed]
            else:
                self.take(mk.marker_of(match))
                continue
            self.cursor, self.line_from = end, start
        while inside:
            self.take(inside.pop())
        self.look_between(self, self.cursor, len(body))
        self.close_to(-1, len(body))
        return self.finished()

    def take(self, marker: mk.Marker) -> None:
        """Look at the words before a marker, then at the marker."""
        start = marker.start
        if marker.kind >= mk.ENTRY and (start >= self.skip or marker.kind == mk.DOUBT):
            if self.handlers[marker.kind](self, marker):
                self.cursor, self.line_from = max(self.cursor, marker.end), start
            return
        if start < self.skip or (marker.inside and start < self.cursor):
            return
        if is_line(self.body, start):
            printed = self.body[start : marker.end].strip() or "a line of words"
            self.not_taken(marker, printed, "it stands in a table of contents")
            return
        self.look_between(self, self.cursor, start)
        if self.cursor < start:
            self.cursor = start
        if self.handlers[marker.kind](self, marker):
            if self.cursor < marker.end:
                self.cursor = marker.end
            self.line_from = start
        elif not marker.inside and self.opens_paragraph(marker):
            self.handlers[mk.PARAGRAPH](self, marker)

    def finished(self) -> Outline:
        """The outline of what was found; numbers that stand more than once are doubted."""
        keys, kinds, starts = self.keys, self.kinds, self.starts
        by_key = dict(zip(keys, range(len(keys)), strict=True))
        repeats: dict[str, list[int]] = {}
        if len(by_key) < len(keys):
            by_key = dict(zip(reversed(keys), range(len(keys) - 1, -1, -1), strict=True))
            for index, key in enumerate(keys):
                if by_key[key] != index:
                    repeats.setdefault(key, [by_key[key]]).append(index)
            for key, several in repeats.items():
                for index in several:
                    if kinds[index] is not HEADING:
                        self.doubt("number repeated", starts[index],
                                   f"{key} stands more than once", index)  # fmt: skip
        last = len(keys) - 1  # the clause that was to come next may not have been opened
        doubts = tuple(d if d.clause <= last else d._replace(clause=last) for d in self.doubts)
        unlisted = {
            kind: count - ol.MOST_DOUBTS
            for kind, count in self.doubt_counts.items()
            if count > ol.MOST_DOUBTS
        }
        return Outline(
            tuple(keys), tuple(kinds), tuple(self.parents), tuple(starts), tuple(self.bodies),
            tuple(self.ends), tuple(self.returns), self.terms, by_key, repeats,
            doubts, unlisted,
        )  # fmt: skip
