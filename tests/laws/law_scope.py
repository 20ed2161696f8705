"""What expressions are made of: scopes, quantities, tables, and how dimensions go together."""

from __future__ import annotations

from dataclasses import dataclass, replace

from law_vocabulary import KINDS, SINGLES

#: a dimension as the product of two others
PRODUCTS = {
    "area": ("length", "length"),
    "volume": ("area", "length"),
    "torque": ("force", "length"),
    "power": ("force", "speed"),
    "force": ("pressure", "area"),
}
#: a dimension as the quotient of two others
QUOTIENTS = {
    "length": ("area", "length"),
    "area": ("volume", "length"),
    "pressure": ("force", "area"),
    "speed": ("power", "force"),
}
TRADE = {
    "mass": ("load_capacity({count})",),
    "length": ("clearance_gained({length}, {length})", "tyre_diameter({marking})"),
    "speed": ("speed_of_symbol({text})", "true_speed({speed}, {length}, {length})"),
    "number": ("diameter_change_ratio({length}, {length})",),
    "volume": (),
}


@dataclass(frozen=True)
class QuantitySpec:
    """A quantity of the ruleset: ``type`` is a dimension, yes_no, date or count."""

    id: str
    type: str
    formula: str
    unit: str

    @property
    def subject(self) -> str:
        return self.id.partition(".")[0]


@dataclass(frozen=True)
class TableSpec:
    """A table: the types of its keys and columns (a word type as ``word:colour``)."""

    id: str
    keys: tuple[tuple[str, str, str], ...]
    columns: tuple[tuple[str, str, str], ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Scope:
    """What may be named: prefixes with their subjects, and the lists already gone over."""

    prefixes: tuple[tuple[str, str], ...]
    inside: frozenset[str] = frozenset()

    def over(self, name: str) -> Scope:
        """The scope inside ``each name``."""
        own = {name: name}
        if name in KINDS:
            own["modification"] = "modification"
        kept = tuple(each for each in self.prefixes if each[0] not in own)
        return replace(self, prefixes=(*kept, *own.items()), inside=self.inside | {name})


def scope_of(*bindings: tuple[str, str]) -> Scope:
    """The one-of subjects and the bindings given."""
    return Scope((*((name, name) for name in SINGLES), *bindings))
