"""Which facts stand in the way of exact code while they are open, as bits of a mask.

Every fact has a bit in the masks of the records. Where a rule asks first whether a fact
is stated, exact code can also run if none is stated; such a use has a bit of its own,
which is set at run time by ``blurred`` if the fact is open otherwise.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, Final

from modrules.language.records import NONE_STATED, Layout, Open
from modrules.language.tree import Names, Node
from modrules.ruleset.typed import TypedCheck

#: What is known where a node is evaluated: conditions that hold, and facts (as the value of
#: their nodes) that are stated.
Known = frozenset[Any]
NOTHING: Final[Known] = frozenset()
#: ops that read the records, and those that evaluate a part only by what another came to
_READING: Final = frozenset(["over", "fact", "stated", "fallback"])
_TELLING: Final = frozenset(["and", "or", "if", "over", "fallback"])
#: A fact that may have none stated: its bit, its slot, the bit to set where it is open
#: otherwise, and the bits to clear.
Blur = tuple[int, str, int, int]


class Needs:
    """The bits that must be clear for the exact code of nodes to run.

    ``seen`` are those of the records, in the world's mask, of all nodes that were asked about.
    """

    def __init__(self, names: Names, layout: Layout) -> None:
        self.names = names
        self.layout = layout
        self.seen = 0
        #: the facts that are first asked for as stated, by the binding that they are read from:
        #: bit, slot, and bit of that use
        self.guarded: dict[str, dict[str, tuple[int, str, int]]] = {}
        #: the bits of facts that are used without asking
        self._strict = 0
        self._next = 1 << (len(layout.bits) + len(layout.each_bits))
        self._settled: dict[Node, int] = {}
        #: how often a fact that may have none stated was met
        self._met = 0

    def fresh(self) -> int:
        """A bit that is no fact's."""
        bit = self._next
        self._next <<= 1
        return bit

    def settle(self, node: Node, bits: int) -> None:
        """Says what a node needs, wherever it stands: it is worked out beforehand."""
        self._settled[node] = bits

    def of(self, node: Node, known: Known = NOTHING) -> int:
        """The bits of a node and its parts, where the conditions ``known`` hold."""
        found = self._settled.get(node)
        if found is not None:
            return found
        met = self._met
        bits = self._own(node, known) if node.op in _READING else 0
        if node.op in _TELLING:
            for arg, more in zip(node.args, self._known_in(node, known), strict=True):
                bits |= self.of(arg, more)
        else:
            for arg in node.args:
                bits |= self.of(arg, known)
        if self._met == met:
            # It needs the same wherever it stands.
            self._settled[node] = bits
        return bits

    def blurs(self, binding: str) -> tuple[Blur, ...]:
        """What ``blurred`` takes for a binding, when all has been asked about."""
        found = []
        for fact, (bit, slot, instead) in self.guarded[binding].items():
            clear = (bit | self.layout.each_bits.get(fact, 0)) & ~self._strict
            found.append((bit, slot, instead, clear))
        return tuple(found)

    def of_check(self, check: TypedCheck) -> int:
        """The bits of all that a check asks for, by what it has found before it asks."""
        known = holding(check.applies) if check.applies is not None else NOTHING
        bits = self.of(check.applies) if check.applies is not None else 0
        for node in (check.requires, check.measure):
            if node is not None:
                bits |= self.of(node, known)
        unmet = known | (failing(check.requires) if check.requires is not None else NOTHING)
        for node in check.exemptions:
            bits |= self.of(node, unmet)
        for band in check.bands:
            if band.extra is not None:
                bits |= self.of(band.extra, known)
                if band.low is None and band.high is None:
                    known |= failing(band.extra)
        return bits

    def _own(self, node: Node, known: Known) -> int:
        if node.op == "over":
            bits = self.layout.each_bits[node.value[1]]
            self.seen |= bits
            return bits
        binding, fact, slot = node.value
        in_list = binding.startswith("each ")
        bits = (self.layout.each_bits if in_list else self.layout.bits)[fact]
        # A record of a list also shows in the world's mask, by the bit of the list.
        self.seen |= bits | self.layout.each_bits.get(fact, 0)
        if not self.names.facts[fact].none_stated:
            return bits
        self._met += 1
        if node.op == "fact" and node.value not in known:
            self._strict |= bits | self.layout.each_bits.get(fact, 0)
            return bits
        here = self.guarded.setdefault(binding, {})
        if fact not in here:
            here[fact] = (bits, slot, self.fresh())
        return here[fact][2]

    def _known_in(self, node: Node, known: Known) -> Iterable[Known]:
        """What is known where each part of a node is evaluated."""
        args = node.args
        if node.op in ("and", "or"):
            now = known
            for arg in args:
                yield now
                now |= holding(arg) if node.op == "and" else failing(arg)
        elif node.op == "if":
            condition = args[0]
            yield known
            # What is known by the same condition: if c then p else q, and c.
            same = [
                n for n in known if isinstance(n, Node) and n.op == "if" and n.args[0] is condition
            ]
            yield known.union(holding(condition), *(holding(n.args[1]) for n in same))
            yield known.union(failing(condition), *(holding(n.args[2]) for n in same))
        elif node.op == "over":
            _, _, has_body, has_where, has_default = node.value
            if has_body:
                yield known | (holding(args[1]) if has_where else NOTHING)
            yield from (known for _ in range(has_where + has_default))
        else:
            yield from (known | {node.value}, known)


def holding(condition: Node) -> Known:
    """What is known where a condition is true."""
    if condition.op == "and":
        return NOTHING.union(*map(holding, condition.args))
    if condition.op == "not":
        return failing(condition.args[0]) | {condition}
    if condition.op == "stated":
        return frozenset([condition, condition.value])
    return frozenset([condition])


def failing(condition: Node) -> Known:
    """What is known where a condition is false."""
    if condition.op == "or":
        return NOTHING.union(*map(failing, condition.args))
    return holding(condition.args[0]) if condition.op == "not" else NOTHING


def blurred(mask: int, records: Any, facts: Iterable[Blur]) -> int:
    """A mask of open facts, without those that are open only by none being stated.

    That goes for uses that ask for it first; for others the fact keeps its bit.
    """
    for bit, slot, instead, clear in facts:
        if mask & bit:
            for record in records or ():
                value = getattr(record, slot)
                if value.__class__ is Open and value is not NONE_STATED:
                    mask |= instead
            mask &= ~clear
    return mask
