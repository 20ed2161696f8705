"""Which open facts can still change a finding, as far as its expressions tell.

A part that is decided is passed over with all that it reads; of an ``if`` whose condition is
decided, the other branch; of bands, those that the measure can't reach.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

from modrules.language import domains as d
from modrules.language.possible import read
from modrules.language.records import NONE_STATED, Open, attribute, records_of
from modrules.language.tree import Node
from modrules.ruleset.typed import BIT
from modrules.screening.explain import lists_read
from modrules.screening.findings import Finding
from modrules.screening.lists import conditions
from modrules.screening.prepared import NotGiven, concerned
from modrules.screening.report import Screening
from modrules.screening.varying import Target, target_of

_HELD: Final = BIT["certified"] | BIT["certification required"]


def live_targets(screening: Screening, finding: Finding) -> list[Target]:
    """The open facts that bear on a finding that is open, in the order of its text."""
    subject = finding._raw[1]
    if finding.decided or finding._nothing_there:
        return []
    walk = _Walk(screening, finding)
    walk.lists()
    if isinstance(subject, NotGiven):
        return walk.found
    walk.check()
    found = {target.address: target for target in walk.found}
    for target in _papers(screening, finding):
        found.setdefault(target.address, target)
    return list(found.values())


def is_open(target: Target) -> bool:
    return isinstance(target.value, Open) and target.value != NONE_STATED


class _Walk:
    def __init__(self, screening: Screening, finding: Finding) -> None:
        self.ruleset = screening.ruleset
        self.finding = finding
        self.closure = screening.ruleset.intervals.closure
        self.env = finding._env
        self.found: list[Target] = []
        self.seen: set[tuple[Node, tuple[int, ...]]] = set()

    def lists(self) -> None:
        """On what it hangs whether the lists that it reads are whole."""
        check, subject = self.finding._check, self.finding._raw[1]
        names = subject.per if isinstance(subject, NotGiven) else lists_read(check.nodes())
        for node in conditions(self.ruleset.typed, self.env.world, names):
            self.visit(node)  # one that holds is decided, and passed over

    def check(self) -> None:
        check = self.finding._check
        if check.applies is not None:
            self.visit(check.applies)
        if check.requires is not None:
            self.visit(check.requires)
            if self.value(check.requires) != d.TRUE:
                for exemption in check.exemptions:
                    self.visit(exemption)
        if not check.bands:
            return
        evaluator = self.ruleset.evaluator(check)
        reached = list(range(len(check.bands)))
        if check.measure is not None:
            self.visit(check.measure)
            low, high, gap = self.value(check.measure)
            if not gap and low <= high:
                touched = [s for s in evaluator.segments if s.touches(low, high)]
                reached = sorted({i for s in touched for i in s.bands})
        for index in reached:
            extra = check.bands[index].extra
            if extra is not None:
                self.visit(extra)

    def value(self, node: Node) -> Any:
        return self.closure(node)(self.env)

    def visit(self, node: Node) -> None:
        key = (node, tuple(map(id, self.env.records.values())))
        if key in self.seen:
            return
        self.seen.add(key)
        if node.op in ("fact", "stated", "fallback"):
            self.fact(node)
            return
        if _decided(self.value(node), node.type.kind):
            return
        if node.op == "over":
            self.members(node)
        elif node.op == "if":
            condition, then, other = node.args
            self.visit(condition)
            mask = self.value(condition)
            for bit, branch in ((d.TRUE, then), (d.FALSE, other)):
                if mask & bit:
                    self.visit(branch)
        elif node.op in ("smallest", "largest"):
            for arg in self.reaching(node):
                self.visit(arg)
        else:
            for arg in node.args:
                self.visit(arg)

    def reaching(self, node: Node) -> Iterator[Node]:
        """Of the smallest or largest of two, those that it may be."""
        ranges = [self.value(arg) for arg in node.args]
        for own, other, arg in zip(ranges, reversed(ranges), node.args, strict=True):
            plain = not own[2] and not other[2] and own[0] <= own[1] and other[0] <= other[1]
            beaten = own[0] >= other[1] if node.op == "smallest" else own[1] <= other[0]
            if not (plain and beaten and own != other):
                yield arg

    def fact(self, node: Node) -> None:
        binding, name, slot = node.value
        value = read(self.env, binding, name, slot)
        if isinstance(value, Open) and value != NONE_STATED:
            record = self.env.records.get(binding)
            if record is None:
                record = getattr(self.env.world, attribute(binding))
            fact = self.ruleset.typed.names.facts[name]
            self.found.append(target_of(self.ruleset, record, fact))
        if node.op == "fallback" and isinstance(value, Open) and value.none:
            self.visit(node.args[1])

    def members(self, node: Node) -> None:
        _, binding, *_ = node.value
        records = records_of(self.env.world, binding.removeprefix("each "))
        outer = self.env.records.get(binding)
        for record in records:
            self.env.records[binding] = record
            for arg in node.args:
                self.visit(arg)
        self.env.records.pop(binding, None)
        if outer is not None:
            self.env.records[binding] = outer


def _decided(value: Any, kind: str) -> bool:
    if kind == "yes_no":
        return value in (d.TRUE, d.FALSE, d.GAP)
    if kind in ("word", "text"):
        values, gap = value
        return values is not None and len(values) + gap == 1
    low, high, gap = value
    return bool(low == high and not gap) or (low > high)


def _papers(screening: Screening, finding: Finding) -> Iterator[Target]:
    """The facts on which it hangs whether a certification covers what was done."""
    bound, ruleset = screening.run.bound, screening.ruleset
    if finding._mask & _HELD != _HELD or not bound.documents:
        return
    names = ruleset.typed.names.facts
    for record in (
        concerned(finding._check, finding._raw[1], bound.world, ruleset.flat.kinds)
        or bound.world.modification_
    ):
        fitted = target_of(ruleset, record, names["modification.fitted"])
        if is_open(fitted):
            yield fitted
    for fact in [names[name] for name in bound.papers.facts if name in names]:
        for record in records_of(bound.world, fact.subject):
            if isinstance(getattr(record, fact.slot, None), Open):
                target = target_of(ruleset, record, fact)
                if is_open(target):
                    yield target
