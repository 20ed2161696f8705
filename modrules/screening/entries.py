"""The entries of a submission as records of facts, read by a vocabulary.

All problems are found in one go. What a fact says by itself is read here; what several facts say
together is settled in ``binding``.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, Final

from modrules.language.records import Layout, Open
from modrules.language.tree import FactName
from modrules.problems import Place, nearest
from modrules.ruleset.tree import Blank, Map, Node, Scalar, Seq
from modrules.ruleset.typed import TypedRuleset
from modrules.screening.kinds import kind_hint
from modrules.screening.later import left_out
from modrules.screening.measuring import check_measurement
from modrules.screening.submission import Submission
from modrules.screening.values import (
    LONGEST_TEXT,
    TOLD,
    Problems,
    missing_value,
    one_value,
    read_value,
)

#: How many entries of a list are taken where its subject states no other number.
MOST_ENTRIES: Final = 100
#: How long any text of a submission may be, notes included.
LONGEST_NOTE: Final = 5000
_OWN_KEYS: Final = ("submission", "standard", "modifications", "evidence")
_NOTE_KEYS: Final = ("title", "note")


def unknown_record(typed: TypedRuleset, layout: Layout, subject: str) -> Any:
    """A record of which nothing is known."""
    # Most facts of most records are not given, so what they may be is laid out once.
    known, slots = layout.unknown.get(subject, (None, ()))
    if known is not typed:
        slots = tuple(_nothing_known(typed, layout, subject).items())
        layout.unknown[subject] = typed, slots
    record = layout.records[subject]()
    for slot, value in slots:
        setattr(record, slot, value)
    return record


def _nothing_known(typed: TypedRuleset, layout: Layout, subject: str) -> dict[str, Any]:
    """What stands in each slot of a record of which nothing is known."""
    found: dict[str, Any] = {}
    mask = 0
    common = typed.names.subjects[subject].is_kind
    for fact in typed.names.facts.values():
        if fact.subject == subject or (common and fact.subject == "modification"):
            limits, item = typed.vocabulary.ranges.get(fact.id), typed.flat.facts.get(fact.id)
            found[fact.slot] = missing_value(fact, limits, item)
            mask |= layout.bits[fact.id]
    return {"id": "", "kind": subject, "place": None, **found, "mask": mask}


def list_hint(typed: TypedRuleset, subject: str) -> str:
    """What to write of a list: that there are none only where a vehicle can have none."""
    if subject in typed.whole:
        return "leave it out, or list every one that the vehicle has"
    return "leave it out, or write [] where there are none"


class Reader:
    """Reads the entries of one submission; ``problems``, ``given`` and ``told`` are filled."""

    def __init__(
        self,
        submission: Submission,
        typed: TypedRuleset,
        layout: Layout,
        on: datetime.date,
        elsewhere: frozenset[str],
        later: Mapping[str, str],
    ) -> None:
        self.elsewhere = elsewhere
        self.later = later
        self.submission = submission
        self.typed = typed
        self.layout = layout
        self.on = on
        self.problems = Problems([], [])
        self.given: dict[str, str] = {}
        self.told: dict[str, dict[str, str]] = {}
        flat = typed.flat
        self.lists = {str(s.list): str(s.id) for s in flat.subjects.values() if s.list is not None}
        self.lists.setdefault("modifications", "modification")
        self.paths: dict[str, dict[str, Any]] = {name: {} for name in typed.names.subjects}
        for fact in typed.names.facts.values():
            branch = self.paths[fact.subject]
            *stems, leaf = fact.id.split(".")[1:]
            for stem in stems:
                branch = branch.setdefault(stem, {})
            branch[leaf] = fact
        self.kinds = frozenset(str(kind) for kind in flat.kinds)

    def check(self) -> None:
        """Reports what is wrong with the submission as a whole. Raises ModrulesError."""
        self.short(self.submission.tree)
        self.problems.raise_errors()
        self.keys(self.submission.tree)

    def short(self, node: Node) -> None:
        """Reports texts and keys that are longer than anybody reads."""
        if isinstance(node, Map):
            for key, value in node.items():
                if len(key) > LONGEST_TEXT:
                    message = f"this key has more than {LONGEST_TEXT} characters"
                    self.problems.error(message, replace(node.key_place(key), source=""))
                self.short(value)
        elif isinstance(node, Seq):
            for value in node:
                self.short(value)
        elif len(node) > LONGEST_NOTE:
            message = f"this text has more than {LONGEST_NOTE:,} characters"
            self.problems.error(message, replace(node.place, source=""), "say it in fewer words")

    def keys(self, tree: Map) -> None:
        known = {*_OWN_KEYS, *self.lists, *self.layout.singles}
        for key in tree:
            if key not in known and key not in self.elsewhere:
                self.problems.error(
                    f'a submission has no key "{key}"', tree.key_place(key), nearest(key, known)
                )
        one_value(tree, ("submission",), "the input", self.problems)
        if "modifications" not in tree:
            self.problems.error(
                "a submission says what was modified",
                tree.place,
                "add modifications: a list, [] where there is none",
            )

    def single(self, subject: str) -> Any:
        given = self.submission.tree.get(subject)
        return self.record(subject, subject, given, {})

    def record(self, subject: str, address: str, given: Node | None, own: Mapping[str, Any]) -> Any:
        """The record of a subject, its facts read from a mapping."""
        record = unknown_record(self.typed, self.layout, subject)
        record.place = given.place if given is not None else Place(self.submission.name)
        paths = [(self.paths[subject], address)]
        if self.typed.names.subjects[subject].is_kind:
            paths.append((self.paths["modification"], address))
        if given is not None and not isinstance(given, (Map, Blank)):
            self.problems.error(f'"{address}" is a mapping of facts', given.place)
            given = None
        branch = given if isinstance(given, Map) else Map()
        known = {*own, *(key for tree, _ in paths for key in tree)}
        for key in branch:
            if key not in known and f"modification.{key}" not in self.elsewhere:
                stems = [subject, *(["modification"] if len(paths) > 1 else [])]
                self.unknown(key, branch, known, stems, address)
        for tree, prefix in paths:
            self.facts(record, tree, branch, prefix, subject)
        return record

    def unknown(
        self, key: str, branch: Map, known: Any, stems: Sequence[str], address: str
    ) -> None:
        """Reports a key that no ruleset of this screening knows; a stem begins its fact's id."""
        stem = stems[0]
        if f"{stem}.{key}" in self.elsewhere:
            return
        names = [f"{each}.{key}" for each in stems]
        newer = left_out(self.later, names, branch[key], f"{address}.{key}")
        if newer is not None:
            flat = self.typed.flat
            for where, edition in newer.items():
                self.problems.caution(
                    f"{where} was left out of account: edition {flat.edition} of {flat.id}, in "
                    f"force on {self.on.isoformat()}, knows no such fact; edition {edition} does."
                )
            return
        # A fact of this very name elsewhere is meant before one that is merely spelled alike.
        same = [fact for fact in self.typed.names.facts if fact.endswith(f".{key}")]
        hint = f"facts of this name: {', '.join(same[:4])}" if same else nearest(key, known)
        self.problems.error(
            f'there is no fact "{key}" of {stem}',
            branch.key_place(key),
            hint or f"`modrules reference {self.typed.flat.id}` names every fact",
        )

    def facts(
        self, record: Any, tree: Mapping[str, Any], branch: Map, prefix: str, stem: str
    ) -> None:
        for key, fact in tree.items() if branch else ():
            node = branch.get(key)
            if node is None:
                continue
            address = f"{prefix}.{key}"
            if isinstance(fact, dict):
                if not isinstance(node, (Map, Blank)):
                    self.problems.error(f'"{address}" is a mapping of facts', node.place)
                inner = node if isinstance(node, Map) else Map()
                for name in inner:
                    if name not in fact:
                        self.unknown(name, inner, fact, [f"{stem}.{key}"], address)
                self.facts(record, fact, inner, address, f"{stem}.{key}")
            elif not isinstance(node, Blank):
                self.fact(record, fact, node, address)

    def fact(self, record: Any, fact: FactName, node: Node, address: str) -> None:
        """Sets a fact of a record to what is given for it."""
        limits = self.typed.vocabulary.ranges.get(fact.id)
        item = self.typed.flat.facts.get(fact.id)
        self.given[address] = _written(node)
        if isinstance(node, Map):
            self.told[address] = told_of(node)
            conditions = self.typed.flat.conditions
            check_measurement(node, address, item, conditions, self.on, self.problems)
        value = read_value(node, fact, limits, item, address, self.problems)
        if item is not None and item.past:
            self.come(value, address)
        setattr(record, fact.slot, value)
        if not isinstance(value, Open):
            record.mask &= ~self.layout.bits[fact.id]

    def come(self, value: Any, address: str) -> None:
        """Cautions of a day that is to have come, and has not on the day of screening."""
        if isinstance(value, Open) and (value.missing or value.low > value.high):
            return
        first = value.low if isinstance(value, Open) else value
        if first > self.on.toordinal():
            self.problems.caution(
                f"{address} = {self.given[address]} is after the day of this screening, "
                f"{self.on.isoformat()}; is the date right?"
            )

    def entries(self, key: str) -> list[tuple[str, Map]] | None:
        """The entries of a list with their ids; None where the list is not given."""
        node = self.submission.tree.get(key)
        if node is None:
            return None
        if isinstance(node, Blank):
            self.problems.error(
                f'"{key}" says nothing',
                node.place,
                list_hint(self.typed, self.lists[key]),
            )
            return None
        if not isinstance(node, Seq):
            self.problems.error(f'"{key}" is a list', node.place, "begin each entry with a dash")
            return None
        subject = self.typed.flat.subjects.get(self.lists[key])
        most = subject.most if subject is not None and subject.most is not None else MOST_ENTRIES
        if len(node) > most:
            self.problems.error(
                f'"{key}" has {len(node)} entries, and at most {most} are taken',
                node.place,
                "name those of this one vehicle, each once",
            )
            return None
        found: list[tuple[str, Map]] = []
        seen: dict[str, Place] = {}
        for entry in node:
            if not isinstance(entry, Map):
                self.problems.error(f'each entry of "{key}" is a mapping', entry.place)
                continue
            name = entry.get("id")
            if not isinstance(name, Scalar):
                self.problems.error(f'each entry of "{key}" has an id', entry.place, "add id: …")
                continue
            if name in seen:
                self.problems.error(
                    f'two entries of "{key}" have the id "{name}"',
                    name.place,
                    f"the first stands at {seen[name]}",
                )
                continue
            seen[str(name)] = name.place
            one_value(entry, _NOTE_KEYS, f'"{key}.{name}"', self.problems)
            found.append((str(name), entry))
        return found

    def records(self, key: str, subject: str) -> tuple[Any, ...] | None:
        entries = self.entries(key)
        if entries is None:
            return None
        records = []
        for name, entry in entries:
            record = self.record(subject, f"{key}.{name}", entry, {"id": None, "note": None})
            record.id = name
            records.append(record)
        return tuple(records)

    def modifications(self) -> tuple[Any, ...]:
        records = []
        for name, entry in self.entries("modifications") or []:
            kind = entry.get("kind")
            if isinstance(kind, Scalar) and kind not in self.kinds and kind in self.elsewhere:
                continue
            if not isinstance(kind, Scalar) or kind not in self.kinds:
                at = kind.place if kind is not None else entry.place
                message = (
                    f'"{kind}" is no kind of modification'
                    if isinstance(kind, Scalar)
                    else ("each modification has a kind")
                )
                word = str(kind) if isinstance(kind, Scalar) else ""
                self.problems.error(message, at, kind_hint(word, self.typed.flat.kinds))
                continue
            record = self.record(
                str(kind),
                f"modifications.{name}",
                entry,
                dict.fromkeys(("id", "kind", *_NOTE_KEYS)),
            )
            record.id, record.kind = name, str(kind)
            records.append(record)
        return tuple(records)

    def standard(self) -> frozenset[str]:
        """The systems that are declared as standard."""
        node = self.submission.tree.get("standard")
        if node is None or isinstance(node, Blank):
            return frozenset()
        systems = {str(kind.system or kind.id) for kind in self.typed.flat.kinds.values()}
        found = set()
        for entry in node if isinstance(node, Seq) else [node]:
            if not isinstance(entry, Scalar):
                self.problems.error("each standard system is one name", entry.place)
                continue
            if entry in self.elsewhere and entry not in systems:
                continue
            if entry not in systems:
                self.problems.error(
                    f'"{entry}" is no system of a vehicle',
                    entry.place,
                    nearest(str(entry), systems) or f"known: {', '.join(sorted(systems))}",
                )
            else:
                found.add(str(entry))
        modified = {
            str(self.typed.flat.kinds[kind].system or kind)
            for kind in self.kinds
            for entry in [self.submission.tree.get("modifications")]
            if isinstance(entry, Seq)
            and any(isinstance(m, Map) and m.get("kind") == kind for m in entry)
        }
        for system in sorted(found & modified):
            self.problems.error(
                f'"{system}" is declared as standard, but there is a modification of it',
                node.place,
                "take it out of standard",
            )
        return frozenset(found)


def told_of(node: Map) -> dict[str, str]:
    """What is told of a value besides the value: by whom, on which day, with what and so on."""
    found = {key: node.get(key) for key in TOLD}
    return {key: str(value) for key, value in found.items() if isinstance(value, Scalar)}


def _written(node: Node) -> str:
    """A value as it was written, with its tolerance, white space folded."""
    value, tolerance = node, None
    if isinstance(node, Map):
        value, tolerance = node.get("value", node), node.get("tolerance")
    words = [str(each) for each in (value, tolerance) if isinstance(each, Scalar)]
    return " ".join(" ± ".join(words).split())
