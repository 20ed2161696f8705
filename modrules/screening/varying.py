"""One fact of a screened submission set to other values, everything else as it is.

``Varying`` evaluates the findings that the fact can reach: by the checks that read it, by
facts that are estimated from it, and by documents that cover it only up to a value. A
value that is set counts exactly; what its own estimate would say of it is passed over.
"""

from __future__ import annotations

import copy
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any, Final

from modrules.language.possible import Env
from modrules.language.records import Open, attribute, bound_records, records_of
from modrules.language.tree import FactName, Node, walk
from modrules.problems import ModrulesError, Problem, nearest
from modrules.ruleset.models import Fact
from modrules.ruleset.names import FactRange
from modrules.ruleset.typed import EVERY_OUTCOME, TypedCheck
from modrules.screening import estimates
from modrules.screening.documents import PLATE_PAPER
from modrules.screening.explain import address_of, lists_read
from modrules.screening.findings import Finding
from modrules.screening.lists import lacks, settle
from modrules.screening.plate_papers import in_force, set_paper, settled
from modrules.screening.prepared import NOT_APPLICABLE, NotGiven, Ruleset, bindings
from modrules.screening.report import Screening
from modrules.screening.values import Problems, missing_value

_FITTED: Final = "modification.fitted"


@dataclass(frozen=True, slots=True)
class Target:
    """A fact of one record of a submission. ``item`` is None for what every modification has."""

    address: str
    fact: FactName
    record: Any
    item: Fact | None
    limits: FactRange

    @property
    def value(self) -> Any:
        """What is known of it."""
        return getattr(self.record, self.fact.slot)

    @property
    def type(self) -> str:
        """The word for its type in a vocabulary."""
        return str(self.item.type) if self.item is not None else self.fact.type.kind

    @property
    def is_number(self) -> bool:
        return self.fact.type.kind in ("quantity", "date")

    @property
    def whole(self) -> bool:
        """Whether it takes whole run-time numbers only: counts and days."""
        return self.fact.type.kind == "date" or self.fact.type.whole


def targets(screening: Screening) -> Iterator[Target]:
    """Every fact of every record of a submission."""
    ruleset, world = screening.ruleset, screening.run.bound.world
    names = ruleset.typed.names
    by_subject: dict[str, list[FactName]] = {}
    for fact in names.facts.values():
        by_subject.setdefault(fact.subject, []).append(fact)
    common = by_subject.get("modification", [])
    for subject, known in names.subjects.items():
        if subject == "modification":
            continue
        for record in records_of(world, subject):
            for fact in [*by_subject.get(subject, []), *(common if known.is_kind else [])]:
                if fact.slot != "kind":
                    yield target_of(ruleset, record, fact)


def target_of(ruleset: Ruleset, record: Any, fact: FactName) -> Target:
    limits = ruleset.typed.vocabulary.ranges.get(fact.id) or FactRange()
    item = ruleset.flat.facts.get(fact.id)
    return Target(address_of(ruleset, record, fact), fact, record, item, limits)


def find(screenings: tuple[Screening, ...], address: str) -> list[tuple[Target, ...]]:
    """The facts at an address, in the vocabulary of each screening. Raises ModrulesError.

    ``*`` for the id of an entry stands for all of a list: ``axles.*.tyre.marking``.
    """
    wanted = re.compile(re.escape(address).replace(r"\*", r"[^.]+"))
    found: list[tuple[Target, ...]] = []
    known: list[str] = []
    for screening in screenings:
        every = list(targets(screening))
        known += [target.address for target in every]
        found.append(tuple(t for t in every if wanted.fullmatch(t.address)))
    if any(found):
        return found
    hint = nearest(address, known) or (
        "write vehicle.kerb_mass, axles.front.track or modifications.lift.ride_height_change"
    )
    for screening in screenings:
        for item in screening.ruleset.flat.subjects.values():
            lacking = lacks(screening.run.bound.world, str(item.id))
            if item.list is not None and address.split(".")[0] == item.list and lacking:
                hint = f"the submission does not give the list {item.list}, or not all of it"
    raise ModrulesError(Problem(f'the submission has no fact "{address}"', None, hint))


class Reads:
    """Which facts the checks of a ruleset read, worked out once for each check."""

    def __init__(self, ruleset: Ruleset) -> None:
        self.ruleset = ruleset
        self._of: dict[int, tuple[tuple[str, str], ...]] = {}
        typed = ruleset.typed
        self.estimated = {
            fact: frozenset(node.value[1] for node in walk([made]) if node.op == "fact")
            for fact, (made, _) in typed.estimates.items()
        }

    def of(self, check: TypedCheck) -> tuple[tuple[str, str], ...]:
        """Pairs of binding and fact that a check reads, and on which its lists hang."""
        found = self._of.get(check.index)
        if found is None:
            nodes = check.nodes()
            found = self._of[check.index] = (
                *_pairs(nodes),
                *self.telling_whole(lists_read(nodes)),
            )
        return found

    def telling_whole(self, subjects: Iterable[str]) -> tuple[tuple[str, str], ...]:
        """Pairs of binding and fact that tell whether the lists of these subjects are whole."""
        whole = self.ruleset.typed.whole
        return _pairs([whole[name] for name in subjects if name in whole])

    def of_finding(self, finding: Finding) -> tuple[tuple[str, str], ...]:
        """The same of a finding; about entries not listed, only what tells whether there are."""
        subject = finding._raw[1]
        if isinstance(subject, NotGiven):
            return self.telling_whole(subject.per)
        return () if finding._nothing_there else self.of(finding._check)

    def targets(self, finding: Finding) -> list[Target]:
        """The facts that a finding reads, each record of a list of its own."""
        world = finding._run.bound.world
        bound = bindings(finding._check, finding._raw[1])
        found: dict[str, Target] = {}
        for binding, name in self.of_finding(finding):
            fact = self.ruleset.typed.names.facts[name]
            for record in bound_records(world, bound, binding):
                if fact.slot != "kind" and hasattr(record, fact.slot):
                    target = target_of(self.ruleset, record, fact)
                    found.setdefault(target.address, target)
        return list(found.values())


def _pairs(nodes: Iterable[Node]) -> tuple[tuple[str, str], ...]:
    reads = (n for n in walk(nodes) if n.op in ("fact", "stated", "fallback"))
    return tuple(dict.fromkeys(node.value[:2] for node in reads))


class Varying:
    """A fact that is set to one value after the other.

    ``keep``: what is given for facts that are estimated from it still holds (the value is
    information). Otherwise it is another thing that is measured, and they are left to
    their estimates. ``also``: the same fact of other records, set to the same value.
    """

    def __init__(
        self,
        screening: Screening,
        target: Target,
        reads: Reads,
        *,
        keep: bool = False,
        also: tuple[Target, ...] = (),
    ) -> None:
        self.screening = screening
        self.target = target
        self.targets = (target, *also)
        self.reads = reads
        self.keep = keep
        self.ruleset = screening.ruleset
        world = screening.run.bound.world
        self._copies: dict[int, Any] = {
            id(each.record): copy.copy(each.record) for each in self.targets
        }
        self._owns = list(self._copies.values())
        self._derived = list(self._dependents(world))
        self.facts = {target.fact.id, *(fact.id for fact, _, _ in self._derived)}
        self._plates = [
            self._copies.setdefault(id(plate), copy.copy(plate)) for plate in self._limited(world)
        ]
        if self._plates:
            self.facts.add(PLATE_PAPER)
        telling = reads.telling_whole(world.whole_if)
        #: whether lists may become whole, or lack entries, by the fact
        self._settles = any(name in self.facts for _, name in telling)
        self.world = self._copied(world)

    def _limited(self, world: Any) -> Iterator[Any]:
        """The plates whose paper may cease to be in force by what varies.

        What a submission says itself against a paper stands.
        """
        bound, subject = self.screening.run.bound, PLATE_PAPER.partition(".")[0]
        fact = self.ruleset.typed.names.facts.get(PLATE_PAPER)
        if fact is not None and any(not self.facts.isdisjoint(p.up_to) for p in bound.papers.every):
            for plate in records_of(world, subject):
                said = address_of(self.ruleset, plate, fact) in bound.given
                if not (said and getattr(plate, fact.slot) is False):
                    yield plate

    def _dependents(self, world: Any) -> Iterator[tuple[FactName, Any, Any]]:
        """Facts estimated from the one that varies: the fact, its copied record, its value."""
        typed, fact = self.ruleset.typed, self.target.fact
        for name, uses in self.reads.estimated.items():
            if fact.id not in uses:
                continue
            derived = typed.names.facts[name]
            same = derived.subject in (fact.subject, self.target.record.kind)
            own = tuple(each.record for each in self.targets)
            for record in own if same else records_of(world, derived.subject):
                made = self._copies.setdefault(id(record), copy.copy(record))
                value = getattr(record, derived.slot)
                if not self.keep:
                    limits = typed.vocabulary.ranges.get(name)
                    value = missing_value(derived, limits, self.ruleset.flat.facts.get(name))
                yield derived, made, value

    def _copied(self, world: Any) -> Any:
        new = copy.copy(world)
        layout = self.ruleset.layout
        for name in (*layout.singles, *layout.lists):
            old = getattr(world, attribute(name))
            if isinstance(old, tuple):
                # One in which nothing varies stays the very same.
                if any(id(record) in self._copies for record in old):
                    setattr(new, attribute(name), tuple([self._moved(record) for record in old]))
            elif old is not None:
                setattr(new, attribute(name), self._moved(old))
        return new

    def _moved(self, record: Any) -> Any:
        return self._copies.get(id(record), record)

    def set(self, value: Any) -> None:
        """Sets the fact, and what is estimated from it."""
        fact = self.target.fact
        for own in self._owns:
            setattr(own, fact.slot, value)
            own.mask = self._masked(own, fact, value)
        typed = self.ruleset.typed
        for derived, record, given in self._derived:
            node, tolerance = typed.estimates[derived.id]
            env = Env(self.world, {derived.subject: record})
            found = self.ruleset.intervals.closure(node)(env)
            sink = Problems([], [])
            narrowed = given
            if derived.type.kind in ("word", "text"):
                narrowed = estimates._choose(given, found, derived, record, sink)
            elif derived.type.kind in ("quantity", "date"):
                limits = typed.vocabulary.ranges[derived.id]
                around = estimates.widened(found, node, tolerance, derived)
                narrowed = estimates._narrow(given, around, derived, limits, record, sink)
            setattr(record, derived.slot, narrowed)
            record.mask = self._masked(record, derived, narrowed)
        if self._plates:
            self.set_papers(self.in_force())
        if self._settles:
            settle(self.ruleset.layout, self.world)

    def in_force(self) -> tuple[int, ...]:
        """Of each plate that depends on the fact, whether its paper is in force: truth masks."""
        if not self._plates:
            return ()
        papers, typed = self.screening.run.bound.papers, self.ruleset.typed
        row = papers.in_force(self.world)
        return tuple([in_force(plate, papers, row, typed)[0] for plate in self._plates])

    def set_papers(self, masks: tuple[int, ...]) -> None:
        """Sets whether the papers of these plates are in force."""
        for plate, mask in zip(self._plates, masks, strict=True):
            set_paper(plate, settled(mask), self.ruleset.typed, self.ruleset.layout)

    def _masked(self, record: Any, fact: FactName, value: Any) -> int:
        bit = self.ruleset.layout.bits[fact.id]
        mask: int = record.mask
        return mask | bit if isinstance(value, Open) else mask & ~bit

    def possible(self, finding: Finding) -> int:
        """The outcomes of a finding with the fact as it is set."""
        # What is kept only narrows, so that no outcome comes up beyond those of the finding.
        enough = finding._mask if self.keep else EVERY_OUTCOME
        subject = self.moved(finding._raw[1])
        return self.screening.run.evaluate(finding._check, subject, self.world, enough=enough)

    def moved(self, subject: Any) -> Any:
        """What a finding is about, in the world in which the fact varies."""
        if isinstance(subject, tuple):
            return tuple(self._moved(record) for record in subject)
        return subject if subject is None else self._moved(subject)

    @property
    def straight(self) -> bool:
        """Whether nothing stands in the way of following the fact in straight pieces."""
        return not self._derived

    def calls(self, finding: Finding) -> bool:
        """Whether the fact goes into a function, which has no straight pieces to follow."""
        calls = [n for n in walk(finding._check.nodes()) if n.op == "call"]
        return any(n.op == "fact" and n.value[1] in self.facts for n in walk(calls))

    def reached(self) -> list[Finding]:
        """The findings that may come out otherwise for another value of the fact.

        With them, those about entries that are not listed, of lists that now are whole and for
        another value may not be.
        """
        screening = self.screening
        found = [finding for finding in screening.findings if self.reaches(finding)]
        world = screening.run.bound.world
        for check in self.ruleset.typed.checks if self._settles else ():
            whole = not any(lacks(world, name) for name in check.per)
            telling = self.reads.telling_whole(n for n in check.per if n in world.whole_if)
            if whole and any(name in self.facts for _, name in telling):
                raw = (check.index, NotGiven(check.per), NOT_APPLICABLE, None, None, None)
                found.append(Finding(screening.run, raw, screening.look_up))
        return found

    def reaches(self, finding: Finding) -> bool:
        """Whether the finding may come out otherwise for another value of the fact."""
        if self.read_by(finding):
            return True
        if isinstance(finding._raw[1], NotGiven) or finding._nothing_there:
            return False
        return bool(finding._check.certifications) and self._documented()

    def read_by(self, finding: Finding, *, papers: bool = True) -> bool:
        """Whether an expression of the finding reads the fact, or what follows from it.

        Without ``papers``, whether the paper of a plate is in force is left aside.
        """
        facts = self.facts if papers else self.facts - {PLATE_PAPER}
        world, bound = self.screening.run.bound.world, bindings(finding._check, finding._raw[1])
        return any(
            name in facts
            and any(id(record) in self._copies for record in bound_records(world, bound, binding))
            for binding, name in self.reads.of_finding(finding)
        )

    def _documented(self) -> bool:
        """Whether what a document covers may depend on the fact."""
        documents = self.screening.run.bound.documents
        if self.target.fact.id == _FITTED:
            return bool(documents)
        return any(not self.facts.isdisjoint(document.facts) for document in documents)
