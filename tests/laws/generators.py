"""Rulesets made at random, as plain data, and the same made ready to screen.

A ruleset has a small vocabulary, tables with gaps, quantities, and checks of every shape.
It goes through the models that a folder goes through, only from memory.
"""

from __future__ import annotations

import datetime
import re
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from pathlib import Path
from typing import Any

from hypothesis import strategies as st
from law_choices import Choices, chance, choices, pick, some
from law_expressions import Writer
from law_scope import QuantitySpec, Scope, TableSpec, scope_of
from law_vocabulary import (
    DIMENSIONS,
    KINDS,
    LISTS,
    SINGLES,
    WORDS,
    FactSpec,
    Vocabulary,
    declaration,
    make_vocabulary,
)

from modrules.ruleset.flat import FlatRuleset, make_flat
from modrules.ruleset.models import Head
from modrules.ruleset.tree import plant
from modrules.ruleset.words import SECTIONS
from modrules.screening.prepared import Ruleset, prepare

CITES = {"text": "code", "clause": "1"}
TODAY = datetime.date(2026, 7, 15)
#: what a check may be about and per: filed under, subjects, and what its names stand for
PLACES: tuple[tuple[tuple[str, ...], tuple[str, ...]], ...] = (
    (("vehicle",), ("vehicle",)),
    (("lift",), ("axle",)),
    (("lift", "tank"), ("vehicle",)),
    (("lift",), ("lift",)),
    (("tank", "lift"), ("modification",)),
    (("tank",), ("modification",)),
    (("lift",), ("axle", "axle")),
    (("tank",), ("axle", "wheel")),
    (("tank",), ("tank", "axle")),
    (("vehicle",), ("wheel",)),
)
UNMET = ("not permitted", "certification required", "inspect", "caution")
BANDED = ("complies", "certification required", "not permitted", "inspect", "caution", "exempt")
WHOLE_IF = {
    "axle": (
        "count(each axle) >= vehicle.doors",
        "any(axle.colour = red for each axle)",
        "count(each axle where axle.locked) >= 1 and any(axle.width > 0 mm for each axle)",
        "count(each axle) = 2",
    ),
    "wheel": ("any(wheel.spare for each wheel)", "count(each wheel) >= count(each axle)"),
}
CERTIFICATIONS = ("plate-one", "plate-two", "full-one")


@dataclass(frozen=True)
class Made:
    """A ruleset as plain data, what it was made from, and the numbers that stand in it."""

    data: dict[str, Any]
    vocabulary: Vocabulary
    literals: dict[str, list[tuple[Fraction, str]]]

    @cached_property
    def flat(self) -> FlatRuleset:
        return flat_of(self.data)

    @cached_property
    def ruleset(self) -> Ruleset:
        return prepare(self.flat)

    @cached_property
    def used(self) -> tuple[FactSpec, ...]:
        """The facts that the ruleset reads, those behind its estimates with them."""
        texts = " ".join(_texts(self.data))
        words = set(re.findall(r"[a-z_]+(?:\.[a-z_]+)+", texts))
        for word in list(words):
            for prefix in ("first.", "second."):
                if word.startswith(prefix):
                    words.add(f"axle.{word.removeprefix(prefix)}")
        found = [fact for fact in self.vocabulary.facts.values() if fact.id in words]
        if any(c.get("approval_before_work") for c in self.data["certifications"]):
            found.append(self.vocabulary.facts["modification.fitted"])
        return tuple(dict.fromkeys(fact for fact in found if fact.id != "modification.kind"))


def _texts(data: Any) -> list[str]:
    if isinstance(data, dict):
        # The id of a declaration is no use of it, and its title neither.
        return [
            t for k, v in data.items() if k not in ("id", "title", "question") for t in _texts(v)
        ]
    if isinstance(data, (list, tuple)):
        return [text for each in data for text in _texts(each)]
    return [data] if isinstance(data, str) else []


def flat_of(data: dict[str, Any]) -> FlatRuleset:
    """The flattened ruleset of plain data, by the models that a folder is read by."""
    head = Head.model_validate(plant(data, "ruleset"))
    items = {name: {item.id: item for item in getattr(head, name)} for name in SECTIONS}
    chain = ((str(head.ruleset), str(head.edition)),)
    return make_flat(head, items, chain, head.cautions, {}, Path())


def rulesets() -> st.SearchStrategy[Made]:
    """The strategy of whole rulesets."""
    return choices().map(make_ruleset)


def make_ruleset(choices: Choices, focus: str = "") -> Made:
    """A whole ruleset; ``focus`` is a way of requiring that each of its checks then takes."""
    vocabulary = make_vocabulary(choices)
    writer = Writer(choices, vocabulary, _tables(choices))
    for table in writer.tables:
        for at, (_, type, _) in enumerate(table.keys):
            for row in table.rows if type in DIMENSIONS else ():
                number, _, unit = row[at].partition(" ")
                own = unit or DIMENSIONS[type][1][2]
                writer.literals.setdefault(f"key {type}", []).append((Fraction(number), own))
    _quantities(writer)
    made = [_check(writer, index, focus) for index in range(1 + choices.below(3))]
    data = {
        "ruleset": "made-up",
        "title": "Made up",
        "edition": "1",
        "in_force": {"from": "2020-01-01"},
        "conditions": [{"id": name, "title": name} for name in ("unladen", "laden")],
        "word_sets": [{"id": name, "words": list(words)} for name, words in WORDS.items()],
        "subjects": [
            *({"id": name, "title": name} for name in SINGLES),
            *_lists(choices),
            {"id": "modification", "title": "Modification", "list": "modifications"},
        ],
        "kinds": [{"id": name, "title": name} for name in KINDS],
        "facts": [
            declaration(fact)
            for fact in vocabulary.facts.values()
            if fact.id not in ("modification.kind", "modification.fitted")
        ],
        "tables": [_table_data(table) for table in writer.tables],
        "quantities": [
            {"id": q.id, "title": q.id, "formula": q.formula, "source": "made up"}
            | ({"unit": q.unit} if q.unit else {})
            for q in writer.quantities
        ],
        "certifications": _certifications(choices),
        "texts": [{"id": "code", "title": "The code", "edition": "1"}],
        "checks": made,
    }
    return Made(data, vocabulary, writer.literals)


def _lists(choices: Choices) -> list[dict[str, str]]:
    """The subjects of which there is a list; some say when it is whole."""
    found = []
    for name, key in LISTS.items():
        item = {"id": name, "title": name, "list": key}
        if chance(choices, 1, 2):
            item["whole_if"] = pick(choices, WHOLE_IF[name])
        found.append(item)
    return found


# -- tables ------------------------------------------------------------------------------


def _tables(choices: Choices) -> tuple[TableSpec, ...]:
    """Tables of every kind of key; rows are left out at random, so that there are gaps."""
    tables = (
        TableSpec(
            "symbols",
            (("symbol", "text", "exact"),),
            (("speed", "speed", "km/h"), ("steps", "count", "")),
            (("Q", "160", "1"), ("R", "170", "2"), ("S", "180", "3")),
        ),
        TableSpec(
            "loads",
            (("width", "length", "up_to"),),
            (("mass", "mass", "kg"), ("symbol", "text", "")),
            (("100 mm", "5", "Q"), ("2 in", "2", "R"), ("0.5 m", "50", "S")),
        ),
        TableSpec(
            "seats",
            (("seats", "count", "exact"),),
            (("length", "length", "in"), ("colour", "word:colour", "")),
            (("1", "1", "red"), ("2", "2", "blue"), ("3", "3.5", "red"), ("4", "0.1", "green")),
        ),
        TableSpec(
            "paints",
            (("colour", "word:colour", "exact"), ("mass", "mass", "up_to")),
            (("share", "number", "%"),),
            (("red", "100", "5"), ("red", "1000", "50"), ("blue", "500 lb", "150")),
        ),
        TableSpec(
            "flags",
            (("flag", "yes_no", "exact"),),
            (("length", "length", "mm"), ("fine", "yes_no", "")),
            (("yes", "50", "no"), ("no", "100", "yes")),
        ),
        TableSpec(
            "years",
            (("day", "date", "up_to"), ("flag", "yes_no", "exact")),
            (("fine", "yes_no", ""), ("force", "force", "N")),
            (("2015-12-31", "yes", "yes", "100"), ("2025-12-31", "no", "no", "5000")),
        ),
        TableSpec(
            "sizes",
            (("size", "length", "exact"),),
            (("pressure", "pressure", "psi"), ("seats", "count", "")),
            (("50 mm", "30", "2"), ("2 in", "40", "4"), ("5.08 cm 0", "0", "0")),
        ),
    )
    return tuple(_with_rows(choices, table) for table in tables)


def _with_rows(choices: Choices, table: TableSpec) -> TableSpec:
    rows = [row for row in table.rows if not row[0].endswith(" 0")]
    return TableSpec(table.id, table.keys, table.columns, tuple(some(choices, rows, 1)))


def _table_data(table: TableSpec) -> dict[str, Any]:
    def typed(type: str) -> dict[str, str]:
        if type.startswith("word:"):
            return {"type": "word", "words": type[5:]}
        return {"type": type}

    return {
        "id": table.id,
        "title": table.id,
        "source": "made up",
        "keys": [
            {"id": name, "match": match} | typed(type) | _unit_of(type)
            for name, type, match in table.keys
        ],
        "columns": [
            {"id": name} | typed(type) | ({"unit": unit} if unit else {})
            for name, type, unit in table.columns
        ],
        "rows": [list(row) for row in table.rows],
    }


def _unit_of(type: str) -> dict[str, str]:
    found = DIMENSIONS.get(type)
    return {"unit": found[1][2]} if found and found[1][2] else {}


# -- quantities and certifications ---------------------------------------------------------


def _quantities(writer: Writer) -> None:
    """Quantities of the vehicle, of axles and of a kind; later ones may use earlier ones."""
    choices = writer.choices
    plan = (
        ("vehicle", "reach", "length"),
        ("axle", "spread", "length"),
        ("lift", "rise", "length"),
        ("vehicle", "odd", "yes_no"),
        ("axle", "part", "number"),
        ("vehicle", "tight", "count"),
        ("wheel", "strain", "mass"),
        ("vehicle", "end", "date"),
        ("axle", "sum", "mass"),
    )
    for subject, name, type in some(choices, plan):
        scope = scope_of() if subject in SINGLES else scope_of((subject, subject))
        if subject in KINDS:
            scope = Scope((*scope.prefixes, ("modification", "modification")))
        # A quantity of a list does not go over that list, so that it can be used inside it.
        scope = Scope(scope.prefixes, frozenset((subject,)))
        formula = writer.value(scope, type, 2)
        unit = DIMENSIONS[type][1][2] if type in DIMENSIONS else ""
        writer.quantities.append(QuantitySpec(f"{subject}.{name}", type, formula, unit))


def _certifications(choices: Choices) -> list[dict[str, Any]]:
    items: list[dict[str, Any]] = []
    for index, name in enumerate(CERTIFICATIONS):
        item: dict[str, Any] = {
            "id": name,
            "title": name,
            "kind": "plate" if index < 2 else "certificate",
            "evidence": [{"id": f"proof-{index}", "title": "A proof"}],
        }
        if index < 2 and chance(choices, 1, 2):
            item["covered_by"] = ["full-one"]
        if chance(choices, 1, 3):
            item["approval_before_work"] = True
        items.append(item)
    return items


# -- checks --------------------------------------------------------------------------------


def _check(writer: Writer, index: int, focus: str) -> dict[str, Any]:
    choices = writer.choices
    about, per = pick(choices, PLACES)
    scope = _scope(per)
    item: dict[str, Any] = {
        "id": f"check-{index}",
        "title": f"Check {index}",
        "about": list(about),
        "per": list(per) if len(per) > 1 else per[0],
        "cites": CITES,
    }
    if chance(choices, 1, 4):
        item["applies_if"] = writer.yes_no(scope, 2)
    if chance(choices, 1, 10):
        item["in_force"] = pick(
            choices,
            (
                {"from": "2026-07-15"},
                {"from": "2020-01-01", "up_to": "2026-07-15"},
                {"from": "2026-07-16"},
                {"from": "2020-01-01", "up_to": "2026-07-14"},
            ),
        )
    shape = choices.below(13)
    if focus:
        item["requires"] = getattr(writer, focus)(scope)
    elif shape == 12:
        item["unfinished"] = True
    elif shape in (0, 1, 2, 9, 10):
        _required(writer, scope, item)
    elif shape == 3:
        item["bands"] = [_band(writer, scope, None) for _ in range(1 + choices.below(3))]
        _closing(writer, item)
    else:
        _banded(writer, scope, item, computed=shape in (6, 7, 8))
    outcomes = [band["outcome"] for band in item.get("bands", ())]
    if "inspect" in [*outcomes, item.get("otherwise")]:
        item["question"] = "Is it safe?"
    return item


def _scope(per: tuple[str, ...]) -> Scope:
    if len(per) == 2 and per[0] == per[1]:
        return scope_of(("first", per[0]), ("second", per[0]))
    own = [(name, name) for name in per if name not in SINGLES]
    if len(per) == 1 and per[0] in KINDS:
        own.append(("modification", "modification"))
    return scope_of(*own)


def _required(writer: Writer, scope: Scope, item: dict[str, Any]) -> None:
    choices = writer.choices
    way = choices.below(6)
    if way == 0:
        item["requires"] = writer.simple(scope)
    elif way == 1:
        item["requires"] = writer.yes_no(scope, 3)
    elif way == 2:
        item["requires"] = writer.tabled(scope)
    elif way == 3:
        item["requires"] = writer.twice(scope)
    else:
        item["requires"] = writer.compared(scope, 2)
    if chance(choices, 1, 2):
        item["exempt_if"] = [
            {"condition": writer.yes_no(scope, 2), "cites": CITES}
            for _ in range(1 + choices.below(2))
        ]
    outcome = pick(choices, UNMET)
    if outcome != "not permitted" or chance(choices, 1, 2):
        item["otherwise"] = outcome
    if outcome == "certification required":
        item["certification"] = pick(choices, CERTIFICATIONS)


def _band(writer: Writer, scope: Scope, ends: dict[str, str] | None) -> dict[str, Any]:
    choices = writer.choices
    outcome = pick(choices, BANDED)
    band: dict[str, Any] = {"outcome": outcome, **(ends or {})}
    if outcome == "certification required":
        band["certification"] = pick(choices, CERTIFICATIONS)
    if chance(choices, 1, 3 if ends is not None else 2):
        band[pick(choices, ("only_if", "unless"))] = writer.yes_no(scope, 1)
        if chance(choices, 1, 5):
            band["only_if"] = writer.yes_no(scope, 0)
            band["unless"] = writer.yes_no(scope, 0)
    return band


def _closing(writer: Writer, item: dict[str, Any]) -> None:
    """Mostly a last band for all that is left, so that not every check has a gap."""
    if chance(writer.choices, 2, 3):
        item["bands"].append({"outcome": pick(writer.choices, ("complies", "not permitted"))})


def _banded(writer: Writer, scope: Scope, item: dict[str, Any], *, computed: bool) -> None:
    choices = writer.choices
    dimension = pick(choices, tuple(DIMENSIONS))
    item["measures"] = writer.quantity(scope, dimension, choices.below(3))
    unit = DIMENSIONS[dimension][1][2]
    ends: list[str] = []
    for _ in range(1 + choices.below(2)):
        if computed and chance(choices, 1, 2):
            ends.append(writer.quantity(scope, dimension, 1))
        else:
            ends.append(writer.number(dimension))
    fixed = [end for end in ends if not re.search(r"[a-z]\.[a-z]", end)]
    if len(fixed) == 2:
        low = pick(choices, ("0", "1", "0.5"))
        ends = [f"{low} {unit}".strip(), f"{pick(choices, ('2', '2.54', '50'))} {unit}".strip()]
        writer.literals.setdefault(dimension, []).extend(
            (Fraction(end.split()[0]), unit) for end in ends
        )
    lower, upper = ("over", "up_to") if chance(choices, 2, 3) else ("from", "under")
    # Now and then the ends do not meet: the value itself then lies in a gap.
    if chance(choices, 1, 8):
        lower = "over" if lower == "from" else "from"
    bands = [_band(writer, scope, {upper: ends[0]})]
    if len(ends) == 2:
        bands.append(_band(writer, scope, {lower: ends[0], upper: ends[1]}))
    if chance(choices, 3, 4):
        bands.append(_band(writer, scope, {lower: ends[-1]}))
    item["bands"] = bands
    _closing(writer, item)
