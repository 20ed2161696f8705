"""The words of a text, clause by clause: what is a clause's own, and what a citation rests on."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass
from functools import cached_property

from modrules.texts import outline as ol
from modrules.texts.headings import heading_in
from modrules.texts.outline import Outline
from modrules.texts.words import places_of, plain, shown


@dataclass(frozen=True, eq=False)
class Wording:
    """Words of a body by its outline; clauses are named by their position in the outline.

    Everything is worked out when it is first asked for and then kept.
    """

    body: str
    outline: Outline

    @cached_property
    def stretches(self) -> tuple[list[int], list[int], list[int]]:
        """Where each stretch of one clause's own words starts, whose it is, and where in
        these each clause begins."""
        out = self.outline
        marks = [(at, index, True) for index, at in enumerate(out.starts)]
        # A return at the place where a clause starts is an empty stretch before it.
        marks += [(at, index, False) for at, index in out.returns]
        marks.sort(key=lambda mark: (mark[0], mark[2]))
        firsts = [0] * len(out.starts)
        for number, (_, index, starts) in enumerate(marks):
            if starts:
                firsts[index] = number
        return [at for at, _, _ in marks], [index for _, index, _ in marks], firsts

    def label_of(self, index: int) -> str:
        """What is printed as the number of the clause at a position; the term of a definition."""
        out = self.outline
        if index in out.terms:
            return out.terms[index]
        if out.kinds[index] == ol.NOTE:
            return out.keys[index].rpartition(", ")[2]
        return shown(self.body[out.starts[index] : out.bodies[index]]).strip(":—– ")

    def pieces_of(self, index: int) -> range:
        """The stretches (positions in ``outline.cuts``) of a clause with all in it."""
        out = self.outline
        cuts, _, firsts = self.stretches
        return range(firsts[index], bisect_left(cuts, out.ends[index], lo=firsts[index] + 1))

    def piece(self, number: int) -> str:
        """The source of a stretch, without the number of the clause that it begins."""
        cuts, owners, firsts = self.stretches
        start, owner = cuts[number], owners[number]
        if firsts[owner] == number:
            start = self.outline.bodies[owner]
        end = cuts[number + 1] if number + 1 < len(cuts) else len(self.body)
        return self.body[start:end]

    @cached_property
    def _plain_pieces(self) -> list[str]:
        return [plain(self.piece(number)) for number in range(len(self.stretches[0]))]

    def label_before(self, number: int) -> str:
        """The number printed at the start of a stretch, as far as it is an item's."""
        out = self.outline
        _, owners, firsts = self.stretches
        owner = owners[number]
        if firsts[owner] != number or out.kinds[owner] != ol.ITEM:
            return ""
        return plain(self.label_of(owner))

    def plain_words_of(self, index: int, with_lead_in: bool = False) -> str:
        """Plain words of a clause and all in it, without its own number."""
        pieces = self._plain_pieces
        numbers = list(self.pieces_of(index))
        words = [pieces[numbers[0]]]
        for number in numbers[1:]:
            words += (self.label_before(number), pieces[number])
        if with_lead_in:
            before, after = self.around_item(index)
            words = [pieces[n] for n in before] + words + [pieces[n] for n in after]
        return " ".join(word for word in words if word)

    def around_item(self, index: int) -> tuple[list[int], list[int]]:
        """The stretches that introduce the list an item stands in, and those that close it."""
        out = self.outline
        before: list[int] = []
        after: list[int] = []
        while out.kinds[index] == ol.ITEM and (parent := out.parents[index]) >= 0:
            own = self._own_pieces[parent]
            place = bisect_left(own, self.stretches[2][index])
            if place and self.rest_of_heading(own[place - 1]):
                before.insert(0, own[place - 1])
            if place < len(own) and self.piece(own[place]).lstrip(" \t>*_")[:1].islower():
                after.append(own[place])
            index = parent
        return before, after

    @cached_property
    def _own_pieces(self) -> list[list[int]]:
        own: list[list[int]] = [[] for _ in self.outline.keys]
        for number, owner in enumerate(self.stretches[1]):
            own[owner].append(number)
        return own

    def rest_of_heading(self, number: int) -> str:
        """The shown words of a stretch, without the heading that it may begin with."""
        words = _trimmed(shown(self.piece(number)))
        _, owners, firsts = self.stretches
        owner = owners[number]
        if firsts[owner] == number and self.outline.kinds[owner] != ol.DEFINITION:
            heading = self.heading_of(owner)
            if heading and words.startswith(heading):
                words = words[len(heading) :].lstrip(" .:—–-")
        return words

    def heading_of(self, index: int) -> str:
        """The heading of the clause at a position, or ""."""
        out = self.outline
        kind = out.kinds[index]
        _, owners, firsts = self.stretches
        source = self.piece(firsts[index])
        if kind == ol.DEFINITION:
            return out.terms[index]
        marked = self.body.startswith("#", out.starts[index])
        after = firsts[index] + 1
        lists = after < len(owners) and (
            out.kinds[owners[after]] == ol.ITEM and out.parents[owners[after]] == index
        )
        return heading_in(source, kind, marked=marked, lists=lists)

    def own_words_of(self, index: int) -> str:
        """Shown words of a clause's own stretches, without its heading."""
        words = [self.rest_of_heading(number) for number in self._own_pieces[index]]
        return " ".join(word for word in words if word)

    def words_of(self, index: int) -> str:
        """Shown words of a clause and all in it, numbers of the clauses in it included."""
        out = self.outline
        _, owners, firsts = self.stretches
        words: list[str] = []
        for number in self.pieces_of(index):
            owner = owners[number]
            if number > firsts[index] and firsts[owner] == number:
                label = self.label_of(owner)
                words.append("" if out.kinds[owner] in (ol.DEFINITION, ol.NOTE) else label)
            words.append(_trimmed(shown(self.piece(number))))
        return " ".join(word for word in words if word)

    # ---- the whole text as plain words, to find quotations ----------------------

    @cached_property
    def _joined(self) -> tuple[str, list[int]]:
        """All plain words, numbers of items included, and where each stretch starts in them."""
        parts: list[str] = []
        starts: list[int] = []
        at = 0
        for number, piece in enumerate(self._plain_pieces):
            starts.append(at)
            for word in (self.label_before(number), piece):
                if word:
                    parts.append(word)
                    at += len(word) + 1
        return " ".join(parts), starts

    def clauses_with(self, quote: str, limit: int) -> list[int]:
        """The innermost clauses in which a plain quotation stands, each once, in order."""
        words, starts = self._joined
        found: dict[int, None] = {}
        for at in places_of(quote, words, limit):
            first = bisect_right(starts, at) - 1
            last = bisect_right(starts, at + len(quote) - 1) - 1
            found[self._common(first, last)] = None
        return list(found)

    def _common(self, first: int, last: int) -> int:
        """The innermost clause that holds two stretches and all between them."""
        index = self.stretches[1][first]
        while index > 0 and last not in self.pieces_of(index):
            index = self.outline.parents[index]
        return index


def _trimmed(words: str) -> str:
    return words.lstrip(" .:—–-").strip()
