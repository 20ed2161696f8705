"""Looking clauses up: the names of a text's clauses, and which of them a citation names."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property
from itertools import islice
from typing import NamedTuple

from modrules.texts import outline as ol
from modrules.texts.citations import (
    Wanted,
    definition_key,
    heading_key,
    read_citation,
    tidy,
)
from modrules.texts.outline import Outline
from modrules.texts.wording import Wording

_QUOTED_TERM = re.compile(r"[\s*_]*[\"“„«‘']([^\"“”„«»‘’]{1,100})[\"”“»’']")
_MEANS = re.compile(r"[\s*_]*([^.,;:\n]{1,60}?)[\s*_]+means?\b")
_LINE_TERM = re.compile(r"[ \t]*\n([a-z][^.,;:\n]{0,60})\n(?=[^\s\d])")
_BEFORE = re.compile(
    r",\s+|:\s+|\s+\((?=[A-Za-z]{3}|§|\d+\.\d)|\s+(?=[§¶])|\s+(?=(?:s|ss|sec|section|art|article|cl|clause"
    r"|reg|regulation|r|rule|para|paragraph)\b[.\s]*\d)", re.I,
)  # fmt: skip
_AFTER = re.compile(
    r",\s+(?:of\s+(?:the\s+)?)?|\s+(?:of|to|in)\s+(?:the\s+)?"
    r"|[\s:.]+[(–—-]?\s*(?=[^\W\d])", re.I,
)  # fmt: skip
_THIS = re.compile(
    r"this\s+(?:act|code|order|law|rule|regulations?|rules|standard|circular|by-?law|document"
    r"|guideline|instrument|ordinance|text)", re.I,
)  # fmt: skip
_UNENDED = re.compile(r"(?:\A|\s)(?:under|of|by|in|to|and|with|from|see|the|or)(?:\s+the)?\Z", re.I)
_DESIGNATED = re.compile(r"\w+ [\w-]{1,6}\Z")
_SOME_WORD = re.compile(r"[^\W\d_]{3}")
_MOST_NAMES = 12  # places tried at which the name of the text may begin or end
_MOST_HEAD = 60  # lines at the head of a text in which its name may stand


class Led(NamedTuple):
    """The clauses that a citation may mean, by position, and what else is to be said."""

    indices: list[int]
    note: str = ""


@dataclass(frozen=True, eq=False)
class Lookup:
    """The clauses of a text by their names; ``called`` is what the text itself is called."""

    body: str
    outline: Outline
    wording: Wording
    called: tuple[str, ...] = field(default=())

    # ---- names ------------------------------------------------------------------

    def index_of(self, number: str) -> int | None:
        """The position of a canonical number; None where there is none."""
        index = self.outline.by_key.get(number)
        if index is not None and number not in self.outline.repeats:
            return index or None
        return self._special_names[1].get(number)

    def name_of(self, index: int) -> str:
        """The canonical number of the clause at a position; "" for front matter."""
        key = self.outline.keys[index]
        return self._special_names[0][index] if key in self.outline.repeats else key

    @cached_property
    def _special_names(self) -> tuple[dict[int, str], dict[str, int]]:
        """Names of clauses whose number stands more than once, both ways."""
        names: dict[int, str] = {}
        for key, indices in self.outline.repeats.items():
            around = {index: self.keys_around(index) for index in indices}
            counts = Counter(outer for keys in around.values() for outer in set(keys))
            for count, index in enumerate(indices, 1):
                outer = next((k for k in around[index] if counts[k] == 1 and k not in
                              self.outline.repeats), "")  # fmt: skip
                names[index] = _qualified(outer, key) if outer else f"{key} [{count}]"
        return names, {name: index for index, name in names.items()}

    def keys_around(self, index: int) -> list[str]:
        """The keys of the clauses around one, the nearest first."""
        return [self.outline.keys[outer] for outer in self.outwards(self.outline.parents[index])]

    def outwards(self, index: int) -> Iterator[int]:
        """The positions of a clause, of the clause around it, and so on; no front matter."""
        while index > 0:
            yield index
            index = self.outline.parents[index]

    # ---- finding ----------------------------------------------------------------

    def find(self, clause: str) -> Led:
        """Every clause that a citation may mean, in whatever spelling."""
        exact = self.index_of(clause)
        if exact is not None:
            return Led([exact])
        wanted = read_citation(clause)
        found = self.led_to(wanted)
        if found:
            return Led(found, _apart(wanted))
        for rest, words in without_words(tidy(clause)):
            wanted = read_citation(rest)
            named = self._is_name(words)
            known = [] if named else self.called_by(heading_key(words))
            if (named or known) and (found := self.led_to(wanted)):
                notes = [_apart(wanted)]
                if named and not self._is_called(words):
                    notes.insert(0, f'"{words}" is taken for the name of this text')
                if found := found if named else self._both(found, known):
                    return Led(found, "; ".join(note for note in notes if note))
        return Led([])

    def _both(self, found: list[int], known: list[int]) -> list[int]:
        """The clauses that have a number and words: ``9 (Recognition)``, ``Ch 3 background``."""
        around = set(found)
        return [index for index in known if not around.isdisjoint(self.outwards(index))]

    def led_to(self, wanted: Wanted) -> list[int]:
        """The clauses that a citation may mean as it was read, its own number before others."""
        if wanted.term:
            words = "" if wanted.items else wanted.words
            named = self.having(words) or self.defined(wanted) or self._by_words(words)
            return named or ([] if wanted.items else self._headed(wanted))
        ways = wanted.keys
        if any(word in wanted.division for word in self._division_words):
            ways = (wanted.division,)
        for keys in (ways[:1], ways[1:]):
            # The number as typed comes before the other ways in which it may be printed.
            found = dict.fromkeys(
                index for key in keys for index in self.having(key)
                if self._is_within(index, wanted.within)
            )  # fmt: skip
            if found:
                return self._entries(list(found), wanted.entry)
        if wanted.beside:
            inside = [index for index in self._beside.get(wanted.beside, [])
                      if self._is_within(index, wanted.within_of)]  # fmt: skip
            return self._entries(self._below(inside, wanted.items), wanted.entry)
        return self._by_words(wanted.words)

    def _headed(self, wanted: Wanted) -> list[int]:
        """The clause that has quoted words for its heading: ``s 9 "Greatest rise"``."""
        if not wanted.within:
            return []
        *within, ways = wanted.within
        around = [index for key in ways for index in self.having(key)
                  if self._is_within(index, tuple(within))]  # fmt: skip
        return [index for index in self._by_words(wanted.term) if index in around]

    def _below(self, indices: list[int], items: str) -> list[int]:
        """What has the labels of items below each of some clauses; themselves without labels."""
        if not items:
            return indices
        below = [
            item for index in indices for item in self.having(self.outline.keys[index] + items)
            if index in self.outwards(self.outline.parents[item])
        ]  # fmt: skip
        return list(dict.fromkeys(below))

    def _entries(self, tables: list[int], entry: str) -> list[int]:
        """The rows of tables that begin with an entry.

        A number is that of the row, unless the rows begin with numbers: then it may be either.
        """
        if not entry:
            return tables
        found: list[int] = []
        for table in tables:
            rows = self._rows_of(table)
            words = [heading_key(self.wording.words_of(row)) for row in rows]
            begun = re.compile(re.escape(entry.casefold()) + r"(?![\w.])")
            named = [row for row, said in zip(rows, words, strict=True) if begun.match(said)]
            numbered = any(said[:1].isdigit() for said in words)
            if entry.isdigit() and 0 < len(entry) < 6 and (named or not numbered):
                named += rows[max(int(entry) - 1, 0) : int(entry)]
            found += dict.fromkeys(named)
        return found

    def _rows_of(self, table: int) -> list[int]:
        rows: list[int] = []
        for index in range(table + 1, len(self.outline.keys)):
            if self.outline.starts[index] >= self.outline.ends[table]:
                break
            if self.outline.kinds[index] == ol.ROW:
                rows.append(index)
        return rows

    @cached_property
    def _beside(self) -> dict[str, list[int]]:
        """Asides and tables by their own names, and by the words of those without a number."""
        found: dict[str, list[int]] = {}
        for index, kind in enumerate(self.outline.kinds):
            if kind in (*ol.ASIDES, ol.TABLE):
                name = self.outline.keys[index].rpartition(", ")[2].casefold()
                for each in dict.fromkeys((name, name.partition(" ")[0])):
                    found.setdefault(each, []).append(index)
        return found

    @cached_property
    def _division_words(self) -> frozenset[str]:
        """``Section`` and ``Article``, and a blank, where the text has parts of that word."""
        parts = (k for k, kind in zip(self.outline.keys, self.outline.kinds, strict=True)
                 if kind == ol.PART)  # fmt: skip
        last = (key.rpartition(", ")[2].partition(" ")[0] for key in parts)
        return frozenset(f"{word} " for word in last if word in ("Section", "Article"))

    def having(self, key: str) -> list[int]:
        """The clauses with a key."""
        repeated = self.outline.repeats.get(key)
        if repeated is not None:
            return repeated
        index = self.outline.by_key.get(key, 0)
        return [index] if index else []

    def _is_within(self, index: int, within: tuple[tuple[str, ...], ...]) -> bool:
        around = self.keys_around(index) if within else []
        return all(
            any(key == way or key.endswith(", " + way) for key in around for way in ways)
            for ways in within
        )

    def _by_words(self, words: str) -> list[int]:
        """A heading or a term by its words, else a numbered clause that has them for a heading."""
        found = [*self.having(words), *self.having(definition_key(words))]
        return (
            list(dict.fromkeys(found))
            or self.terms.get(words, [])
            or self.headings.get(words, [])
            or (self._designated.get(words, []) if _DESIGNATED.match(words) else [])
        )

    def called_by(self, words: str) -> list[int]:
        """What has some words for its heading or defines them as a term; no number is words."""
        if not _SOME_WORD.search(words):
            return []
        found = dict.fromkeys((*self.headings.get(words, []), *self._by_words(words)))
        worded = (ol.HEADING, ol.DEFINITION)
        return [
            index for index in found
            if self.outline.keys[index] != words or self.outline.kinds[index] in worded
        ]  # fmt: skip

    def defined(self, wanted: Wanted) -> list[int]:
        """The definitions of a term in what is to enclose them, or the items that they have."""
        for found in (
            self.having(definition_key(wanted.term)), self.terms.get(wanted.term, []),
        ):  # fmt: skip
            inside = [index for index in found if self._is_within(index, wanted.within)]
            if inside := self._below(inside, wanted.items):
                return list(dict.fromkeys(inside))
        return []

    @cached_property
    def terms(self) -> dict[str, list[int]]:
        """The clauses that define a term, where the term is no key of its own.

        ``altered, of a vehicle, means`` defines *altered*; a numbered clause may begin
        with its term.
        """
        terms: dict[str, list[int]] = {}
        for index, term in self.outline.terms.items():
            head, comma, _ = term.partition(",")
            if comma:
                terms.setdefault(heading_key(head), []).append(index)
        for index, kind in enumerate(self.outline.kinds):
            if kind in (ol.CLAUSE, ol.ITEM):
                start = self.outline.bodies[index]
                words = self.body[start : start + 200]
                match = _QUOTED_TERM.match(words) or _MEANS.match(words) or _LINE_TERM.match(words)
                if match is not None:
                    terms.setdefault(heading_key(match[1]), []).append(index)
        return terms

    @cached_property
    def headings(self) -> dict[str, list[int]]:
        """The numbered clauses and parts by the words of their headings."""
        headings: dict[str, list[int]] = {}
        for index, kind in enumerate(self.outline.kinds):
            if kind in (ol.CLAUSE, ol.PART, ol.ANNEX, ol.TABLE):
                heading = heading_key(self.wording.heading_of(index))
                if heading:
                    headings.setdefault(heading, []).append(index)
        return headings

    @cached_property
    def _designated(self) -> dict[str, list[int]]:
        """Headings that begin with a designation: ``subchapter c`` of ``subchapter c. wheels``."""
        found: dict[str, list[int]] = {}
        for index, kind in enumerate(self.outline.kinds):
            if kind == ol.HEADING:
                head, mark, _ = _split_at_mark(self.outline.keys[index])
                if mark:
                    found.setdefault(head, []).append(index)
        return found

    # ---- the name of the text ---------------------------------------------------

    def _is_name(self, name: str) -> bool:
        if read_citation(name).keys:
            return False  # what reads as a clause is one, as (ii) after "(i), "
        return (
            _THIS.fullmatch(name) is not None
            or self._is_called(name)
            or heading_key(name) in self._lines_at_head
            or self._is_running_line(name)
        )

    def _is_called(self, name: str) -> bool:
        return _THIS.fullmatch(name) is not None or heading_key(name) in self._called

    @cached_property
    def _called(self) -> frozenset[str]:
        return frozenset(heading_key(name) for name in self.called if name)

    @cached_property
    def _lines_at_head(self) -> frozenset[str]:
        """The lines above the first numbered clause, but none that a sentence goes on with."""
        first = next(
            (self.outline.starts[i] for i, kind in enumerate(self.outline.kinds)
             if kind in (ol.CLAUSE, ol.PART, ol.ANNEX, ol.ITEM)), len(self.body),
        )  # fmt: skip
        lines: set[str] = set()
        before = ""
        for line in self.body[:first].split("\n")[:_MOST_HEAD]:
            key = heading_key(line)
            if len(key) > 3 and not _UNENDED.search(before):
                lines.add(key)
            before = key
        return frozenset(lines)

    def _is_running_line(self, name: str) -> bool:
        """Whether a name begins lines that are alike but for their numbers: feet of pages."""
        if len(name) < 3 or not any(sign.isalpha() for sign in name):
            return False
        lines = re.findall(rf"\n[ \t]*{re.escape(name)}(?![\w])[^\n]*", self.body)
        alike = Counter(re.sub(r"\d+", "0", " ".join(line.split())) for line in lines)
        return any(count > 1 for count in alike.values())

    @cached_property
    def by_signs(self) -> dict[tuple[str, ...], list[int]]:
        """The clauses by the numbers and words of their names, whatever stands between them."""
        found: dict[tuple[str, ...], list[int]] = {}
        for index, key in enumerate(self.outline.keys):
            if index:
                found.setdefault(signs(key), []).append(index)
        return found


def _apart(wanted: Wanted) -> str:
    if not wanted.apart:
        return ""
    return f"{wanted.apart.partition(' ')[0]}s are not told apart: not {wanted.apart} alone"


def without_words(clause: str) -> Iterator[tuple[str, str]]:
    """A citation without what may be the name of the text or a heading; and those words."""
    for match in islice(_BEFORE.finditer(clause), _MOST_NAMES):
        words = clause[: match.start()].strip(" ,:")
        yield _after(clause, match), re.sub(r"\A(?:the|of)\s+", "", words, flags=re.I)
    for match in islice(_AFTER.finditer(clause), _MOST_NAMES):
        yield clause[: match.start()], _after(clause, match).strip(" ,")


def _after(clause: str, match: re.Match[str]) -> str:
    rest = clause[match.end() :]
    return rest.removesuffix(")") if "(" in match[0] else rest


def signs(key: str) -> tuple[str, ...]:
    """The numbers and words of a name, without marks and case: 4.2(B) and 4(2)b are alike."""
    key = re.sub(r"\b(?:annexe?|appendix|schedule|attachment)\b", "annex", key.casefold())
    return tuple(re.findall(r"\d+|[^\W\d_]+", key))


def _split_at_mark(heading: str) -> tuple[str, str, str]:
    match = re.search(r"\s*[.:—–](?=\s)|\s+-(?=\s)", heading)
    if match is None:
        return heading, "", ""
    return heading[: match.start()], match[0], heading[match.end() :]


def _qualified(outer: str, key: str) -> str:
    """``Part 2`` and ``5`` → ``Part 2, 5``; what both start with is said once."""
    outer_words, key_words = outer.split(", "), key.split(", ")
    shared = 0
    while shared < min(len(outer_words), len(key_words) - 1) and (
        outer_words[shared] == key_words[shared]
    ):
        shared += 1
    return ", ".join(outer_words + key_words[shared:])
