"""What the documents of a submission come to, all of them at once.

Whether a document covers what was done is a conjunction: its dates, the vehicle and the parts that
it names, each value up to which it covers. Each piece of it hangs on one fact of one record at
most. The pieces are kept for the world of the submission; in a world that differs from it in a
few facts, only the pieces that hang on these are worked out anew.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import accumulate
from operator import itemgetter, or_
from typing import Any, Final, NamedTuple

from modrules.language import domains as d
from modrules.language.records import Open, attribute, records_of
from modrules.language.tree import FactName
from modrules.ruleset.typed import TypedRuleset
from modrules.screening.covering import (
    CERTIFIED,
    FITTED,
    REQUIRED,
    bare,
    before_fitting,
    dated,
    is_named,
    known_by,
    not_out_of_date,
    plain,
    says_no_vehicle,
    sufficient,
)
from modrules.screening.documents import CERTIFYING, CLAIM, NUMBER, PART, VARIANT, Document

#: With a bit for each document: those for which something may hold, those for which it may not.
Row = tuple[int, int]
_Names = list[tuple[int, frozenset[str]]]
_Key = tuple[int, str]
_NOWHERE: Final = object()


class Limits(NamedTuple):
    """The values up to which documents cover one fact, ascending.

    ``under``: for each place between them, the documents of which the limit lies before it.
    """

    limits: list[Any]
    under: list[int]

    def row(self, value: Any, every: int, concerned: int) -> Row:
        """Of each document whether a value lies within what it covers.

        A value that nobody states is not shown to, so it is not covered.
        """
        low, high, none = value.range if isinstance(value, Open) else (value, value, False)
        all_of_them = self.under[-1] & concerned
        if not low <= high:
            return every & ~all_of_them, all_of_them
        outside = self.under[bisect_left(self.limits, low)] & concerned
        perhaps = self.under[bisect_left(self.limits, high)] & concerned
        return every & ~outside, all_of_them if none else perhaps


def limits_of(stated: Iterable[tuple[int, Any]]) -> Limits:
    """The limits that documents state, each as the document's bit and the value."""
    ascending = sorted(stated, key=itemgetter(1))
    under = accumulate((bit for bit, _ in ascending), or_, initial=0)
    return Limits([limit for _, limit in ascending], list(under))


def both(one: Row, other: Row) -> Row:
    """Of each document whether two things hold."""
    return one[0] & other[0], one[1] | other[1]


class Papers:
    """The documents of a submission in its world. ``others`` are meant for another ruleset.

    ``every`` are all of them; ``facts`` those on which it hangs whether a document covers anything.
    """

    __slots__ = (
        "_all",
        "_approved",
        "_asks",
        "_bearing",
        "_bits",
        "_certifications",
        "_counting",
        "_enough",
        "_hanging",
        "_in_force",
        "_known",
        "_naming",
        "_nobody",
        "_own",
        "_part",
        "_parts",
        "_rests",
        "_rows",
        "_tried",
        "_typed",
        "_unlisted",
        "_world",
        "documents",
        "every",
        "facts",
    )

    def __init__(
        self,
        documents: Sequence[Document],
        others: Sequence[Document],
        world: Any,
        typed: TypedRuleset,
    ) -> None:
        self.documents = tuple(documents)
        self.every = (*documents, *others)
        self.facts = tuple(dict.fromkeys(fact for one in documents for fact in one.facts))
        self._typed = typed
        self._world = world
        self._all = (1 << len(self.every)) - 1
        self._bits = {id(document): 1 << n for n, document in enumerate(self.every)}
        #: by the id of a modification, the documents that name it
        self._naming: dict[str, int] = {}
        for bit, document in self._each():
            for name in document.modifications:
                self._naming[name] = self._naming.get(name, 0) | bit
        #: by subject, the facts on which documents hang, each with what a document asks of it
        self._asks: dict[str, list[tuple[FactName, Limits | _Names]]] = {}
        #: by subject, the documents that cover something of it only up to a value
        self._unlisted: dict[str, int] = {}
        #: by the fact, the names that documents state for it
        self._known = {
            NUMBER: self._names_of(lambda one: one.vehicles),
            VARIANT: self._names_of(lambda one: one.variants),
            PART: self._names_of(lambda one: one.parts),
        }
        self._parts = self._known[PART]
        for fact, asks in self._made():
            self._asks.setdefault(fact.subject, []).append((fact, asks))
        self._rows: dict[_Key, Row] = {
            (id(record), fact.id): self._row(record, fact, asks)
            for subject, facts in self._asks.items()
            for record in records_of(world, subject)
            for fact, asks in facts
        }
        #: the documents that name a vehicle or variant of which the vocabulary knows nothing
        self._nobody = self._those(
            bool(one.vehicles and NUMBER not in typed.names.facts)
            or bool(one.variants and VARIANT not in typed.names.facts)
            for one in self.every
        )
        self._hanging = tuple(self._stated())
        self._rests: dict[tuple[_Key, ...], Row] = {}
        self._tried: dict[tuple[_Key, Any], Row] = {}
        self._enough: dict[str, tuple[int, int]] = {}
        self._counting = self._rows_of(self._dates_and_names)
        self._in_force = self._rows_of(lambda one: not_out_of_date(one, world.today))
        #: by a number, the documents that bear it
        self._bearing: dict[str, int] = {}
        for bit, document in self._each():
            if document.kind != CLAIM:
                number = bare(document.number)
                self._bearing[number] = self._bearing.get(number, 0) | bit
        self._part = typed.names.facts.get(PART)
        self._certifications = self._those(one.certification is not None for one in self.every)
        certifications = typed.flat.certifications
        self._approved = self._those(
            item is not None and item.approval_before_work
            for item in (certifications.get(str(one.certification)) for one in self.every)
        )
        self._own: dict[str, tuple[Any, Any, Row, Row]] = {}
        if self.every:
            self._own = {one.id: self._of(one) for one in world.modification_}

    # -- made once -------------------------------------------------------------------------

    def _each(self) -> Iterator[tuple[int, Document]]:
        for document in self.every:
            yield self._bits[id(document)], document

    def _those(self, chosen: Iterable[Any]) -> int:
        return sum(1 << n for n, one in enumerate(chosen) if one)

    def _made(self) -> Iterator[tuple[FactName, Limits | _Names]]:
        """Each fact by which documents are limited or told apart, with what they ask of it."""
        limits: dict[str, list[tuple[int, Any]]] = {}
        names = self._typed.names.facts
        for bit, document in self._each():
            for name, limit in document.up_to.items():
                limits.setdefault(name, []).append((bit, limit))
                subject = names[name].subject
                self._unlisted[subject] = self._unlisted.get(subject, 0) | bit
        for name, each in limits.items():
            yield names[name], limits_of(each)
        for name in (NUMBER, VARIANT):
            if self._known[name] and name in names:
                yield names[name], self._known[name]

    def _names_of(self, stated: Callable[[Document], tuple[str, ...]]) -> _Names:
        """The names that documents state, as they are compared."""
        return [(bit, known_by(stated(one))) for bit, one in self._each() if stated(one)]

    def _stated(self) -> Iterator[tuple[FactName, tuple[str, ...]]]:
        """The facts on which it hangs what certifications cover, each once with its names."""
        found: dict[str, tuple[str, ...]] = {}
        for document in self.documents:
            if document.certification is not None:
                stated = {
                    NUMBER: document.vehicles,
                    VARIANT: document.variants,
                    PART: document.parts,
                }
                for name in (*document.facts, FITTED):
                    if name not in found:
                        found[name] = self._told_apart(name, stated.get(name, ()))
        names = self._typed.names.facts
        return ((names[name], each) for name, each in found.items() if name in names)

    def _told_apart(self, fact: str, names: tuple[str, ...]) -> tuple[str, ...]:
        """Of some names those between which documents tell, the first of each sort."""
        first: dict[int, str] = {}
        for name in names:
            bare_name = plain(name)
            first.setdefault(sum(b for b, known in self._known[fact] if bare_name in known), name)
        return tuple(first.values())

    def _dates_and_names(self, document: Document) -> int:
        """What hangs on no record: its dates, and whether it says for which vehicle it is."""
        mask = dated(document, self._world.today)
        return d.AND[mask][d.UNDECIDED] if says_no_vehicle(document, self._typed) else mask

    def _rows_of(self, told: Callable[[Document], int]) -> Row:
        """A truth mask of each document as a row."""
        masks = [told(document) for document in self.every]
        return self._those(m & d.TRUE for m in masks), self._those(m != d.TRUE for m in masks)

    # -- rows ------------------------------------------------------------------------------

    def _row(self, record: Any, fact: FactName, asks: Limits | _Names) -> Row:
        """Of each document what it comes to by one fact of a record."""
        return self._came(getattr(record, fact.slot), asks, self._concerned(record))

    def _concerned(self, record: Any) -> int:
        """The documents that cover what is said of a record, if it is a modification."""
        kind = record.kind in self._typed.flat.kinds
        return self._naming.get(record.id, 0) if kind else self._all

    def _came(self, value: Any, asks: Limits | _Names, concerned: int) -> Row:
        if isinstance(asks, Limits):
            return asks.row(value, self._all, concerned)
        may, may_not = self._all, 0
        for bit, known in asks:
            mask = is_named(known, value)
            if not mask & d.TRUE:
                may &= ~bit
            if mask != d.TRUE:
                may_not |= bit
        return may, may_not

    def here(self, world: Any) -> Row:
        """Of each document whether it is for this vehicle and covers as much as was done."""
        return self._here(list(self._changed(world)), world)

    def here_with(self, record: Any, fact: FactName, value: Any) -> Row | None:
        """The same where one fact of a record has another value.

        None for a fact that is held against documents of its own modification alone.
        """
        asked = [asks for one, asks in self._asks.get(fact.subject, ()) if one.id == fact.id]
        if not asked:
            return None
        key = (id(record), fact.id)
        found = self._tried.get((key, value))
        if found is None:
            row = self._came(value, asked[0], self._concerned(record))
            found = self._tried[key, value] = self._here([(key, row)], self._world)
        return found

    def _here(self, changed: list[tuple[_Key, Row]], world: Any) -> Row:
        keys = tuple([key for key, _ in changed])
        row = self._rests.get(keys)
        if row is None:
            row = self._all & ~self._nobody, self._nobody
            for key, one in self._rows.items():
                if key not in keys:
                    row = both(row, one)
            self._rests[keys] = row
        for _, one in changed:
            row = both(row, one)
        for subject, limited in self._unlisted.items():
            if subject in world.unlisted:
                row = row[0], row[1] | limited
        return row

    def _changed(self, world: Any) -> Iterator[tuple[_Key, Row]]:
        """What is otherwise in a world than in that of the submission, and the rows there."""
        if world is self._world:
            return
        for subject, facts in self._asks.items():
            old, new = (getattr(each, attribute(subject)) for each in (self._world, world))
            if old is new:
                continue
            pairs = zip(old, new, strict=True) if isinstance(old, tuple) else ((old, new),)
            for one, other in pairs:
                if one is other:
                    continue
                for fact, asks in facts:
                    if getattr(one, fact.slot) is not getattr(other, fact.slot):
                        yield (id(one), fact.id), self._row(other, fact, asks)

    def _of(self, modification: Any) -> tuple[Any, Any, Row, Row]:
        """Of each document whether it covers a modification: apart from, and by, its approval."""
        part = getattr(modification, self._part.slot, _NOWHERE) if self._part else _NOWHERE
        fitted = modification.modification__fitted
        known = self._own.get(modification.id)
        if known is not None and known[0] is part and known[1] is fitted:
            return known
        naming = self._naming.get(modification.id, 0)
        if part is _NOWHERE:
            named = sum(bit for bit, _ in self._parts)
            row = self._all ^ named, named
        else:
            row = self._came(part, self._parts, self._all)
        approved = self._rows_of(lambda document: before_fitting(document, fitted))
        return part, fitted, both(row, (naming, self._all ^ naming)), approved

    def _counting_for(self, needed: Sequence[Any], before: int = 0) -> Row:
        """Of each document whether it counts for all of some modifications, but for ``here``.

        ``before``: those that must have been issued before the work.
        """
        may, may_not = self._counting
        for modification in needed:
            _, _, own, approved = self._of(modification)
            may &= own[0] & (approved[0] | ~before)
            may_not |= own[1] | approved[1] & before
        return may, may_not

    # -- what it comes to ------------------------------------------------------------------

    def asked(self, certification: str, needed: Sequence[Any]) -> Row:
        """Of each document whether it covers a certification, but for what is in ``here``."""
        enough, before = self._enough_for(certification)
        may, may_not = self._counting_for(needed, before)
        return may & enough, may_not | self._all & ~enough

    def covering(self, certification: str, needed: Sequence[Any]) -> Row:
        """Of each document whether it covers a certification for all of some modifications."""
        return both(self.asked(certification, needed), self.here(self._world))

    def outcomes(self, row: Row) -> int:
        """The outcomes that a required certification may have turned into, by such a row."""
        return (REQUIRED if row[1] == self._all else 0) | (CERTIFIED if row[0] else 0)

    def supplying(self, needed: Sequence[Any]) -> Row:
        """Of each item of evidence whether it counts for all of some modifications."""
        claims = self._those(document.kind == CLAIM for document in self.every)
        may, may_not = both(self._counting_for(needed), self.here(self._world))
        return may & ~claims, may_not | claims

    def open_facts(self, needed: Sequence[Any]) -> Iterator[tuple[Any, FactName, tuple[str, ...]]]:
        """Record and name of each open fact on which it hangs whether documents cover the work.

        With a text come the names that a document states for it.
        """
        for fact, names in self._hanging:
            own = fact.subject == "modification"
            for record in needed if own else records_of(self._world, fact.subject):
                value = getattr(record, fact.slot, None)
                if isinstance(value, Open) and not (value.none and value.low > value.high):
                    yield record, fact, names

    def held(self, certification: str, needed: Sequence[Any], world: Any) -> int:
        """The outcomes that a required certification may have turned into."""
        return self.outcomes(both(self.asked(certification, needed), self.here(world)))

    def in_force(self, world: Any) -> Row:
        """Of each document whether it is in force if it is the paper of a plate on the vehicle.

        A date or vehicle that it does not state speaks neither for nor against it: the plate has a
        date of its own, and is on the vehicle.
        """
        return both(self._in_force, self.here(world))

    def bearing(self, number: str) -> Row:
        """Of each document whether it is the plate that bears a number (``bare``), if any.

        Evidence without a number is what it is put forward as, and no plate; a claim never is.
        """
        unnumbered = self._bearing.get("", 0)
        if not number:
            every = sum(self._bearing.values()) & ~(unnumbered & ~self._certifications)
            return every, self._all
        same, perhaps = self._bearing.get(number, 0), unnumbered & self._certifications
        return same | perhaps, self._all & ~same

    def among(self, chosen: int, surely: int) -> Iterator[tuple[Document, bool]]:
        """The documents of some bits in their order, and whether they are among others too."""
        return ((one, bool(bit & surely)) for bit, one in self._each() if bit & chosen)

    def mask(self, document: Document, row: Row) -> int:
        """Of one of the documents, what a row says: a truth mask."""
        bit = self._bits[id(document)]
        return (d.TRUE if row[0] & bit else 0) | (d.FALSE if row[1] & bit else 0)

    def _enough_for(self, certification: str) -> tuple[int, int]:
        """The documents that do for a certification, and those that must come before the work."""
        found = self._enough.get(certification)
        if found is None:
            names = sufficient(self._typed, certification)
            enough = self._those(
                one.certification in names and one.kind in CERTIFYING for one in self.every
            )
            item = self._typed.flat.certifications.get(certification)
            before = self._all if item is not None and item.approval_before_work else self._approved
            found = self._enough[certification] = enough, before
        return found
