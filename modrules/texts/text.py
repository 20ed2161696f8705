"""A text of the jurisdiction, and its clauses: immutable values over one outline."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

from modrules.texts.lookup import Lookup
from modrules.texts.outline import Outline
from modrules.texts.wording import Wording
from modrules.texts.words import digest_of


class Doubt(NamedTuple):
    """A ground for doubting the index: what kind, on which line, at which clause, and why."""

    kind: str
    line: int
    clause: str
    message: str


class Span(NamedTuple):
    """A stretch of a text's body that is one clause's own words; ``clause`` "" is front matter."""

    start: int
    end: int
    clause: str


@dataclass(frozen=True)
class Clause:
    """A numbered part of a text, with all that stands below it.

    ``number`` is canonical and is its key in ``Text.clauses``; ``label`` is what is
    printed. ``kind`` is one of: heading, part, schedule, clause, item, note,
    definition, table, row, proviso, exception, penalty, step. ``first_line`` and
    ``last_line`` count from 1 in the file; ``pages`` are the pages where it starts and ends, in
    texts that have pages. ``parent``
    is the number of the clause around it ("" at the top) and ``children`` are the numbers
    of those in it, in order.
    """

    number: str
    label: str
    kind: str
    first_line: int
    last_line: int
    pages: tuple[int, int] | None
    parent: str
    children: tuple[str, ...]
    text: Text = field(repr=False)
    index: int = field(repr=False, compare=False)

    @cached_property
    def heading(self) -> str:
        """The words of its heading, or ""."""
        return self.text.wording.heading_of(self.index)

    @cached_property
    def own_words(self) -> str:
        """Its words on one line, without heading and without the clauses in it."""
        return self.text.wording.own_words_of(self.index)

    @cached_property
    def words(self) -> str:
        """All its words on one line, with those of the clauses in it and their numbers."""
        return self.text.wording.words_of(self.index)

    @cached_property
    def digest(self) -> str:
        """SHA-256 of the plain words that a citation of this clause rests on.

        They are all its words, and for an item the words that introduce and close its
        list. Its number is no part of them, nor is the layout: re-flowing a text
        changes no digest, and a clause that is only renumbered keeps its own.
        """
        return digest_of(self.text.wording.rests_on(self.index))


class Clauses(Mapping[str, Clause]):
    """The clauses of a text by canonical number, in order of position."""

    def __init__(self, text: Text) -> None:
        self._text = text

    def __getitem__(self, number: str) -> Clause:
        index = self._text.index_of(number)
        if index is None:
            raise KeyError(number)
        return self._text.clause_at(index)

    def __iter__(self) -> Iterator[str]:
        return map(self._text.name_of, range(1, len(self) + 1))

    def __len__(self) -> int:
        return len(self._text.outline.keys) - 1

    def __repr__(self) -> str:
        return f"<{len(self)} clauses of {self._text.id}>"


@dataclass(frozen=True, eq=False)
class Text:
    """A document of the jurisdiction, indexed by its own numbering.

    ``digest`` is the SHA-256 of the file's bytes. ``body`` is the decoded text that is
    indexed, with one line end put before it; ``line_numbers`` gives the file's line of
    each of its lines where they differ, and ``line_pages`` the page. Two texts are
    equal when id, title, edition and digest are.
    """

    id: str
    title: str
    edition: str
    digest: str
    body: str = field(repr=False)
    outline: Outline = field(repr=False)
    line_numbers: tuple[int, ...] | None = field(default=None, repr=False)
    line_pages: tuple[int, ...] | None = field(default=None, repr=False)
    reading_doubts: tuple[Doubt, ...] = field(default=(), repr=False)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Text) and self._identity == other._identity

    def __hash__(self) -> int:
        return hash(self._identity)

    @property
    def _identity(self) -> tuple[str, str, str, str]:
        return self.id, self.title, self.edition, self.digest

    @cached_property
    def clauses(self) -> Mapping[str, Clause]:
        """The clauses by canonical number, in order; front matter is not among them."""
        return Clauses(self)

    @cached_property
    def doubts(self) -> tuple[Doubt, ...]:
        """Every ground for doubt about the reading and the index, in order of line."""
        listed = [
            Doubt(kind, self.line_at(at), self.name_of(clause), sentence)
            for kind, at, clause, sentence in self.outline.doubts
        ]
        for kind, count in self.outline.unlisted.items():
            listed.append(Doubt(kind, 0, "", f"{count} more of this kind"))
        return (*self.reading_doubts, *sorted(listed, key=lambda doubt: doubt.line))

    def doubts_at(self, index: int) -> list[Doubt]:
        """The doubts about a clause, what is in it, and what it stands in; in order of line.

        Where the outline has more doubts of a kind than it lists, any clause may be in one.
        """
        first, last = self.lines_of(index) if index else (0, 0)
        around = {0} if not index else {*self.lookup.outwards(self.outline.parents[index])}
        end = self._past(index)
        listed = [
            Doubt(kind, self.line_at(at), self.name_of(clause), sentence)
            for kind, at, clause, sentence in self.outline.doubts
            if clause in around or (index and index <= clause < end)
        ]
        reading = [doubt for doubt in self.reading_doubts if first <= doubt.line <= last]
        unlisted = [doubt for doubt in self.doubts if not doubt.line and not doubt.clause]
        return sorted(dict.fromkeys((*reading, *listed, *unlisted)), key=lambda doubt: doubt.line)

    def _past(self, index: int) -> int:
        """The position of the first clause after one and all in it."""
        return bisect_left(self.outline.starts, self.outline.ends[index], lo=index + 1)

    @cached_property
    def spans(self) -> tuple[Span, ...]:
        """Whose own words each stretch of ``body`` is: in order, without gap or overlap."""
        cuts, owners, _ = self.wording.stretches
        ends = [*cuts[1:], len(self.body)]
        return tuple(
            Span(start, end, self.name_of(owner))
            for start, end, owner in zip(cuts, ends, owners, strict=True)
            if end > start
        )

    # ---- looking up -------------------------------------------------------------

    @cached_property
    def lookup(self) -> Lookup:
        """The clauses by their names, and what citations lead to."""
        named = (self.title, f"{self.title} {self.edition}".strip())
        return Lookup(self.body, self.outline, self.wording, named)

    def index_of(self, number: str) -> int | None:
        """The position in the outline of a canonical number; None where there is none."""
        return self.lookup.index_of(number)

    def clause_at(self, index: int) -> Clause:
        """The clause at a position of the outline."""
        out = self.outline
        parent = out.parents[index]
        first, last = self.lines_of(index)
        return Clause(
            number=self.name_of(index), label=self.wording.label_of(index),
            kind=out.kinds[index], first_line=first, last_line=last,
            pages=self.pages_of(index), parent=self.name_of(parent),
            children=tuple(self.name_of(child) for child in self._children.get(index, ())),
            text=self, index=index,
        )  # fmt: skip

    def name_of(self, index: int) -> str:
        """The canonical number of the clause at a position; "" for front matter."""
        return self.lookup.name_of(index)

    def find(self, clause: str) -> list[int]:
        """Every clause that a citation may mean, in whatever spelling; look-ups alone."""
        return self.lookup.find(clause).indices

    @cached_property
    def digests(self) -> tuple[str, ...]:
        """The digest of every clause by its position; that of the front matter comes first."""
        return tuple(map(digest_of, self.wording.all_rests_on))

    @cached_property
    def _by_digest(self) -> dict[str, list[int]]:
        found: dict[str, list[int]] = {}
        for index, digest in enumerate(self.digests):
            if index:
                found.setdefault(digest, []).append(index)
        return found

    def with_digest(self, digest: str) -> list[int]:
        """The clauses whose words have a digest."""
        return self._by_digest.get(digest, [])

    @cached_property
    def _children(self) -> dict[int, list[int]]:
        children: dict[int, list[int]] = {}
        for index, parent in enumerate(self.outline.parents):
            children.setdefault(parent, []).append(index)
        return children

    # ---- lines and pages --------------------------------------------------------

    @cached_property
    def _line_ends(self) -> list[int]:
        ends: list[int] = []
        at = self.body.find("\n")
        while at >= 0:
            ends.append(at)
            at = self.body.find("\n", at + 1)
        return ends

    def line_at(self, position: int) -> int:
        """The line of the file, from 1, of a position in the body."""
        line = max(1, bisect_left(self._line_ends, position))
        if self.line_numbers:
            return self.line_numbers[min(line, len(self.line_numbers)) - 1]
        return line

    def page_at(self, position: int) -> int | None:
        """The page, from 1, of a position in the body; None in a text without pages."""
        if not self.line_pages:
            return None
        line = max(1, bisect_left(self._line_ends, position))
        return self.line_pages[min(line, len(self.line_pages)) - 1]

    def lines_of(self, index: int) -> tuple[int, int]:
        """First and last line of a clause with all in it; blank lines at its end left out."""
        first, last = self._edges_of(index)
        return self.line_at(first), self.line_at(last)

    def pages_of(self, index: int) -> tuple[int, int] | None:
        """First and last page of a clause with all in it; None in a text without pages."""
        first, last = map(self.page_at, self._edges_of(index))
        return None if first is None or last is None else (first, last)

    def _edges_of(self, index: int) -> tuple[int, int]:
        """The positions of the first sign of a clause and of the last that is no space."""
        start, end = self.outline.starts[index], self.outline.ends[index]
        while end > start + 1 and self.body[end - 1].isspace():
            end -= 1
        return start, max(start, end - 1)

    @cached_property
    def wording(self) -> Wording:
        """The words of the text, clause by clause."""
        return Wording(self.body, self.outline)
