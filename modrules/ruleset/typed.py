"""A ruleset fully checked, as values that screening runs from; ``checking`` makes them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Final

from modrules.language.tree import (
    Names,
    Node,
)
from modrules.ruleset.flat import FlatRuleset
from modrules.ruleset.names import Vocabulary
from modrules.ruleset.words import OUTCOMES

if TYPE_CHECKING:
    pass


#: The bit of each outcome in a set of possible outcomes.
BIT: Final[Mapping[str, int]] = {outcome: 1 << i for i, outcome in enumerate(OUTCOMES)}
EVERY_OUTCOME: Final = (1 << len(OUTCOMES)) - 1
CERTIFICATION_REQUIRED: Final = BIT["certification required"]


@dataclass(frozen=True, slots=True)
class TypedBand:
    """A band: its condition as a whole, and apart from constant ends of the measure.

    ``low``/``high`` are ends in the measure's scale where they are constants (else None, and
    the end is part of ``extra``). ``low_end``/``high_end`` are the ends as expressions, constant
    or not; ``condition`` is what only_if and unless ask, without the ends.
    """

    outcome: int
    certification: str | None
    low: int | None
    low_closed: bool
    high: int | None
    high_closed: bool
    ends: tuple[Node, ...]
    extra: Node | None
    low_end: Node | None
    high_end: Node | None
    condition: Node | None


@dataclass(frozen=True, slots=True)
class TypedCheck:
    """A check ready to run. Nodes are None where the check does not have that part."""

    index: int
    id: str
    per: tuple[str, ...]
    bindings: tuple[str, ...]
    #: what the prefixes of names stand for
    scope: Mapping[str, str]
    about: tuple[str, ...]
    unfinished: bool
    applies: Node | None
    requires: Node | None
    exemptions: tuple[Node, ...]
    failure: int
    certification: str | None
    measure: Node | None
    limit: Node | None
    #: +1: room is limit - measure; -1: room is measure - limit
    direction: int
    bands: tuple[TypedBand, ...]

    def nodes(self) -> list[Node]:
        """Every node at the top of an expression of this check."""
        found = [self.applies, self.requires, *self.exemptions, self.measure]
        for band in self.bands:
            found += [*band.ends, band.extra]
        return [node for node in found if node is not None]

    @property
    def certifications(self) -> tuple[str, ...]:
        """The certifications that it may require."""
        stated = (self.certification, *(band.certification for band in self.bands))
        return tuple(dict.fromkeys(name for name in stated if name is not None))

    @property
    def outcomes(self) -> int:
        """Every outcome that the check states, certified with what it replaces."""
        mask = BIT["not applicable"] if self.applies is not None else 0
        if self.unfinished:
            return EVERY_OUTCOME
        if self.requires is not None:
            mask |= BIT["complies"] | self.failure | (BIT["exempt"] if self.exemptions else 0)
        for band in self.bands:
            mask |= band.outcome
        return mask | (BIT["certified"] if mask & CERTIFICATION_REQUIRED else 0)


@dataclass(frozen=True, slots=True)
class TypedLimit:
    """A limit on a load: its condition, the limit, and what it leaves of it."""

    id: str
    in_place_of: str | None
    applies: Node | None
    limit: Node
    room: Node
    #: the room above the load by the list of parts
    ledger_room: Node | None


@dataclass(frozen=True, slots=True)
class TypedLoad:
    """A load with its limits, ready to evaluate. All its masses are in one dimension."""

    id: str
    per: str
    applies: Node | None
    load: Node
    ledger: Node | None
    #: the load as weighed less that by the list of parts
    residual: Node | None
    parts: tuple[Node, ...]
    each: Node | None
    limits: tuple[TypedLimit, ...]

    def nodes(self) -> list[Node]:
        """Every node at the top of an expression of this load."""
        found = [self.applies, self.load, self.ledger, *self.parts, self.each]
        for limit in self.limits:
            found += [limit.applies, limit.limit]
        return [node for node in found if node is not None]


@dataclass(frozen=True, slots=True)
class TypedRuleset:
    """All that screening needs of a ruleset, fully checked."""

    flat: FlatRuleset
    vocabulary: Vocabulary
    checks: tuple[TypedCheck, ...]
    #: the estimate of a fact from other facts, and the node of its tolerance
    estimates: Mapping[str, tuple[Node, Node | None]]
    quantities: Mapping[str, Node]
    loads: tuple[TypedLoad, ...]
    #: for each subject that has it, the condition without which its list may lack entries
    whole: Mapping[str, Node]

    @property
    def names(self) -> Names:
        return self.vocabulary.names


def fraction(node: Node) -> Fraction:
    """The SI value of a constant node."""
    return Fraction(node.value) * node.scale
