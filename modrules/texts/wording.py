"""The words of a text, clause by clause: what is a clause's own, and what a citation rests on."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass
from functools import cached_property

from modrules.texts import outline as ol
from modrules.texts.headings import MOST_CHARACTERS, heading_in
from modrules.texts.outline import Outline
from modrules.texts.words import places_of, plain, shown


@dataclass(frozen=True, eq=False)
class Wording:
    """Words of a body by its outline; clauses are named by their position in the outline.

    The body is cut into *stretches*, each of them some clause's own words, which are
    numbered from 0. Everything is worked out when it is first asked for and then kept.
    """

    body: str
    outline: Outline

    @cached_property
    def stretches(self) -> tuple[list[int], list[int], list[int]]:
        """Where each stretch starts, whose it is, and which stretch each clause begins with."""
        out = self.outline
        if not out.returns:
            every = list(range(len(out.starts)))
            return list(out.starts), every, every
        marks = [(at, 1, index) for index, at in enumerate(out.starts)]
        # A return at the place where a clause starts is an empty stretch before it.
        marks += [(at, 0, index) for at, index in out.returns]
        marks.sort()
        firsts = [0] * len(out.starts)
        for number, (_, starts, index) in enumerate(marks):
            if starts:
                firsts[index] = number
        return [at for at, _, _ in marks], [index for _, _, index in marks], firsts

    @cached_property
    def _own(self) -> list[list[int]]:
        if not self.outline.returns:
            return [[number] for number in self.stretches[1]]
        own: list[list[int]] = [[] for _ in self.outline.keys]
        for number, owner in enumerate(self.stretches[1]):
            own[owner].append(number)
        return own

    def stretches_of(self, index: int) -> range:
        """The stretches of a clause with all in it."""
        cuts, _, firsts = self.stretches
        first = firsts[index]
        return range(first, bisect_left(cuts, self.outline.ends[index], lo=first + 1))

    def begins(self, number: int) -> bool:
        """Whether a stretch is the one that its clause begins with."""
        _, owners, firsts = self.stretches
        return firsts[owners[number]] == number

    def source(self, number: int) -> str:
        """The source of a stretch, without the number of the clause that it begins."""
        cuts, owners, firsts = self.stretches
        start, owner = cuts[number], owners[number]
        if firsts[owner] == number:
            start = self.outline.bodies[owner]
        end = cuts[number + 1] if number + 1 < len(cuts) else len(self.body)
        return self.body[start:end]

    # ---- shown words ------------------------------------------------------------

    def label_of(self, index: int) -> str:
        """What is printed as the number of the clause at a position; the term of a definition."""
        out = self.outline
        if index in out.terms:
            return out.terms[index]
        if out.kinds[index] in ol.ASIDES:
            return out.keys[index].rpartition(", ")[2]
        return shown(self.body[out.starts[index] : out.bodies[index]]).strip(":—– ")

    def heading_of(self, index: int) -> str:
        """The heading of the clause at a position, or ""."""
        out = self.outline
        _, owners, firsts = self.stretches
        kind, first = out.kinds[index], firsts[index]
        if kind == ol.DEFINITION:
            return out.terms[index]
        marked = self.body.startswith("#", out.starts[index])
        after = owners[first + 1] if first + 1 < len(owners) else 0
        lists = out.kinds[after] == ol.ITEM and out.parents[after] == index
        return heading_in(self.source(first), kind, marked=marked, lists=lists)

    def _split_heading(self, number: int) -> tuple[str, str]:
        """The shown words of a stretch: the heading that it begins with, and the rest."""
        words = _trimmed(shown(self.source(number)))
        owner = self.stretches[1][number]
        if self.begins(number) and self.outline.kinds[owner] != ol.DEFINITION:
            heading = self.heading_of(owner)
            if heading and words.startswith(heading):
                return heading, words[len(heading) :].lstrip(" .:—–-")
        return "", words

    def words_in(self, number: int) -> str:
        """The shown words of a stretch, without the heading that it may begin with."""
        return self._split_heading(number)[1]

    def own_words_of(self, index: int) -> str:
        """Shown words of a clause's own stretches, without its heading."""
        words = [self.words_in(number) for number in self._own[index]]
        return " ".join(word for word in words if word)

    def words_of(self, index: int) -> str:
        """Shown words of a clause and all in it, numbers of the clauses in it included."""
        kinds, owners = self.outline.kinds, self.stretches[1]
        within = self.stretches_of(index)
        words: list[str] = []
        for number in within:
            owner = owners[number]
            inner = number > within[0] and self.begins(number)
            if inner and kinds[owner] not in (ol.DEFINITION, *ol.ASIDES):
                words.append(self.label_of(owner))
            heading, rest = self._split_heading(number)
            # A dash is no word: it sets the heading apart and changes no quotation.
            apart = heading and (rest or number < within[-1])
            words += (f"{heading} —" if apart else heading, rest)
        return " ".join(word for word in words if word)

    # ---- plain words ------------------------------------------------------------

    @cached_property
    def _known(self) -> dict[str, str]:
        return {}

    @cached_property
    def joined(self) -> tuple[str, list[int], list[int], list[int]]:
        """All plain words, numbers of items included; and of each stretch where in them its
        number starts, where its words start, and where they end."""
        body, kinds, bodies = self.body, self.outline.kinds, self.outline.bodies
        cuts, owners, firsts = self.stretches
        parts = list[str]()
        outer, starts, ends = list[int](), list[int](), list[int]()
        known = self._known.get
        at = 0
        for number, (cut, end, owner) in enumerate(
            zip(cuts, [*cuts[1:], len(body)], owners, strict=True)
        ):
            outer.append(at)
            if firsts[owner] == number:
                if kinds[owner] == ol.ITEM:
                    label = body[cut : bodies[owner]].strip()
                    label = label if label[1:-1].isalnum() else plain(label)
                    parts.append(label)
                    at += len(label) + 1
                cut = bodies[owner]
            starts.append(at)
            source = body[cut:end]
            words = known(source)
            if words is None:
                words = plain(source)
            if words:
                parts.append(words)
                at += len(words) + 1
            ends.append(at - 1)
        return " ".join(parts), outer, starts, ends

    def _plain_in(self, number: int) -> str:
        words, _, starts, ends = self.joined
        return words[starts[number] : max(starts[number], ends[number])]

    def plain_words_of(self, index: int) -> str:
        """Plain words of a clause and all in it, without its own number."""
        words, _, starts, ends = self.joined
        numbers = self.stretches_of(index)
        return words[starts[numbers[0]] : max(0, ends[numbers[-1]])]

    def plain_own_words_of(self, index: int) -> str:
        """Plain words of a clause without those of the clauses in it."""
        return " ".join(map(self._plain_in, self._own[index]))

    def rests_on(self, index: int) -> str:
        """Plain words that a citation of a clause rests on: for an item, with its list's frame."""
        words = self.plain_words_of(index)
        if self.outline.kinds[index] != ol.ITEM:
            return words
        return self._framed(words, *self.frame_of(index))

    def _framed(self, words: str, before: tuple[int, ...], after: tuple[int, ...]) -> str:
        if not before and not after:
            return words
        parts = (*map(self._plain_in, before), words, *map(self._plain_in, after))
        return " ".join(part for part in parts if part)

    def frame_of(self, index: int) -> tuple[tuple[int, ...], tuple[int, ...]]:
        """The stretches that introduce the list that an item stands in, and those that close it."""
        out = self.outline
        parent = out.parents[index]
        if out.kinds[index] != ol.ITEM or parent < 0:
            return (), ()
        own = self._own[parent]
        place = bisect_left(own, self.stretches[2][index]) if len(own) > 1 else 1
        frame = self._frames.get((parent, place))
        if frame is None:
            before, after = self.frame_of(parent)
            if place and self._leads_in(own[place - 1]):
                before = (*before, own[place - 1])
            if place < len(own) and self.source(own[place]).lstrip(" \t>*_")[:1].islower():
                after = (own[place], *after)
            frame = self._frames[parent, place] = before, after
        return frame

    def _leads_in(self, number: int) -> bool:
        """Whether a stretch has words beside a heading, which may lead into a list."""
        owner = self.stretches[1][number]
        if self.begins(number) and self.outline.kinds[owner] != ol.ITEM:
            if self.body.startswith("#", self.outline.starts[owner]):
                return bool(self.source(number).partition("\n")[2].strip())
            return not self._looks_like_heading(number) and not self._is_run_in_heading(number)
        return bool(self._plain_in(number))

    def _is_run_in_heading(self, number: int) -> bool:
        """Whether a stretch is a heading with its full stop, ``Height.— (1)``.

        Words that end in a dash alone may lead in: ``A person must— (a)``.
        """
        source = self.source(number).rstrip(" \t\n*_—–")
        stopped = len(source) <= MOST_CHARACTERS and source[-1:] == "."
        return stopped and not self._split_heading(number)[1]

    def _looks_like_heading(self, number: int) -> bool:
        """Whether all words of a stretch are a heading, in whatever lines they are printed."""
        words = shown(self.source(number)).strip()
        ends = words[-1:] in ".:;,—–-"
        return not words or (not ends and words[0].isupper() and words.count(" ") < 12)

    @cached_property
    def _frames(self) -> dict[tuple[int, int], tuple[tuple[int, ...], tuple[int, ...]]]:
        return {}

    @cached_property
    def all_rests_on(self) -> tuple[str, ...]:
        """What a citation of each clause rests on, by position."""
        words, _, starts, ends = self.joined
        cuts, _, firsts = self.stretches
        kinds = self.outline.kinds
        framed = dict[tuple[tuple[int, ...], tuple[int, ...]], tuple[str, str]]()
        listed: list[str] = []
        for index, (first, stop) in enumerate(zip(firsts, self.outline.ends, strict=True)):
            last = bisect_left(cuts, stop, first + 1) - 1
            own = words[starts[first] : max(0, ends[last])]
            if kinds[index] == ol.ITEM:
                frame = self.frame_of(index)
                around = framed.get(frame)
                if around is None:
                    around = framed[frame] = (self._framed("", frame[0], ()),
                                              self._framed("", (), frame[1]))  # fmt: skip
                if around[0] or around[1]:
                    own = " ".join(part for part in (around[0], own, around[1]) if part)
            listed.append(own)
        return tuple(listed)

    def learn(self, other: Wording) -> None:
        """Take plain words over from another edition, where the source is the same."""
        for number in range(len(other.stretches[0])):
            self._known[other.source(number)] = other._plain_in(number)

    # ---- finding quotations -----------------------------------------------------

    def clauses_with(self, quote: str, limit: int) -> list[int]:
        """The innermost clauses in which a plain quotation stands, each once, in order."""
        words, outer, _, _ = self.joined
        found: dict[int, None] = {}
        for at in places_of(quote, words, limit):
            first = bisect_right(outer, at) - 1
            last = bisect_right(outer, at + len(quote) - 1) - 1
            found[self._common(first, last)] = None
        return list(found)

    def _common(self, first: int, last: int) -> int:
        """The innermost clause that holds two stretches and all between them."""
        index = self.stretches[1][first]
        while index > 0 and last not in self.stretches_of(index):
            index = self.outline.parents[index]
        return index


def _trimmed(words: str) -> str:
    return words.lstrip(" .:—–-").strip()
