"""Two editions of a text: what became of each clause, and which citations need a look."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final, NamedTuple

from modrules.texts import outline as ol
from modrules.texts.differences import Change, difference
from modrules.texts.pins import Citation
from modrules.texts.resolve import AMBIGUOUS, CHANGED, GONE, MOVED, SAME, index_of, stands_in
from modrules.texts.text import Clause, Text
from modrules.texts.words import clean, plain

_SILENT: Final = (ol.HEADING, ol.PART, ol.ANNEX)


class Counterpart(NamedTuple):
    """A clause of the old edition, its number in the new one ("" when gone), and its status."""

    old: str
    new: str
    status: str


@dataclass(frozen=True, slots=True)
class Comparison:
    """Every clause of the old edition in order, and the clauses that are only in the new one."""

    clauses: tuple[Counterpart, ...]
    added: tuple[str, ...]

    def counts(self) -> dict[str, int]:
        """How many clauses of the old edition have each status."""
        counts: dict[str, int] = {}
        for counterpart in self.clauses:
            counts[counterpart.status] = counts.get(counterpart.status, 0) + 1
        return counts


@dataclass(frozen=True, slots=True)
class Affected:
    """A citation and what became of the clause that it leads to in the old edition."""

    citation: Citation
    status: str
    old: str
    new: str


def compare(old: Text, new: Text) -> Comparison:
    """What became of each clause of ``old`` in ``new``.

    *same*: same number, same words; *moved*: same words under another number;
    *changed*: same number, other words; *gone*: neither. Clauses whose number stands
    more than once are paired in order. Time grows with the size of the two texts.
    """
    old_words = old.wording.all_rests_on
    new.wording.learn(old.wording)
    new_words = new.wording.all_rests_on
    old_names = list(map(old.name_of, range(len(old_words))))
    new_names = list(map(new.name_of, range(len(new_words))))
    named = dict(zip(new_names, range(len(new_names)), strict=True))
    partner: dict[int, int] = {}
    taken: set[int] = {0}
    for index, name in enumerate(old_names):
        there = named.get(name, 0)
        if there and index and new_words[there] == old_words[index]:
            partner[index] = there
            taken.add(there)
    free: dict[str, list[int]] = {}
    for index in range(len(new_words) - 1, 0, -1):
        if index not in taken:
            free.setdefault(new_words[index], []).append(index)
    for index, words in enumerate(old_words):
        if index and index not in partner and (alike := free.get(words)):
            partner[index] = alike.pop()
            taken.add(partner[index])
    listed: list[Counterpart] = []
    for index, name in enumerate(old_names[1:], 1):
        if (there := partner.get(index, 0)) or (there := named.get(name, 0)) not in taken:
            same = index in partner
            taken.add(there)
            now = new_names[there]
            status = CHANGED if not same else SAME if now == name else MOVED
            listed.append(Counterpart(name, now, status))
        else:
            listed.append(Counterpart(name, "", GONE))
    added = tuple(name for index, name in enumerate(new_names) if index not in taken)
    return Comparison(tuple(listed), added)


def changes_in(old: Text, new: Text, counterpart: Counterpart) -> tuple[Change, ...]:
    """The word difference of a clause that changed; empty for any other."""
    if counterpart.status != CHANGED:
        return ()
    return difference(old.clauses[counterpart.old].words, new.clauses[counterpart.new].words)


def affected(
    comparison: Comparison, old: Text, citations: Iterable[Citation]
) -> tuple[Affected, ...]:
    """What became of the clause of each citation; all but *same* need a second look.

    Citations of other texts are left out. One that is not found in the old edition is
    *gone*, one that may mean several clauses *ambiguous*.
    """
    became = {counterpart.old: counterpart for counterpart in comparison.clauses}
    listed: list[Affected] = []
    for citation in citations:
        if citation.text != old.id:
            continue
        index = index_of(old, citation.clause, citation.quote)
        if index is None:
            several = len(old.find(citation.clause)) > 1
            listed.append(Affected(citation, AMBIGUOUS if several else GONE, "", ""))
        elif index == 0:
            listed.append(Affected(citation, AMBIGUOUS, "", ""))
        else:
            counterpart = became[old.name_of(index)]
            listed.append(Affected(citation, counterpart.status, counterpart.old, counterpart.new))
    return tuple(listed)


def added_and_uncited(
    comparison: Comparison, old: Text, new: Text, citations: Iterable[Citation]
) -> tuple[str, ...]:
    """The clauses only in the new edition that nothing cites, headings and parts left out.

    A citation of the old edition does not cite the clause that has its number now, but the one
    that its words moved to.
    """
    cited = {
        new.name_of(index)
        for citation in citations
        if citation.text == new.id
        and (index := index_of(new, citation.clause, citation.quote)) is not None
        and _written_for(citation, old, new, index)
    }
    return tuple(
        name
        for name in comparison.added
        if name not in cited and new.clauses[name].kind not in _SILENT
    )


def _written_for(citation: Citation, old: Text, new: Text, index: int) -> bool:
    """Whether a citation means this clause of the new edition: by its quotation, or for want of
    another clause.
    """
    before = index_of(old, citation.clause, citation.quote)
    if before is None:
        return True
    quote = plain(clean(citation.quote))
    return bool(quote) and not stands_in(old, before, quote) and stands_in(new, index, quote)


def changed_and_uncited(
    comparison: Comparison, old: Text, new: Text, citations: Iterable[Citation]
) -> tuple[Counterpart, ...]:
    """The clauses whose own words changed, or that are gone, and that no citation leads to.

    What was set aside, or read like no requirement, may say something else now. A clause in a
    cited one is left out: it changed with it.
    """
    cited = {one.old for one in affected(comparison, old, citations) if one.old}
    listed = []
    for one in comparison.clauses:
        clause = old.clauses[one.old]
        if one.status not in (CHANGED, GONE) or clause.kind in _SILENT:
            continue
        if one.new and _said(clause) == _said(new.clauses[one.new]):
            continue
        if cited.isdisjoint(map(old.name_of, old.lookup.outwards(clause.index))):
            listed.append(one)
    return tuple(listed)


def _said(clause: Clause) -> tuple[str, str]:
    """What a clause says itself; the clauses in it aside."""
    return clause.heading, clause.own_words
