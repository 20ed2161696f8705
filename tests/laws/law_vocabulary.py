"""The vocabulary over which the laws are tried: small, and with every type that facts have.

Which facts may be none stated, are about safety, or are estimated is chosen anew for
each ruleset. Numbers lie on a coarse grid, so that values often meet a limit exactly.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from fractions import Fraction

from law_choices import Choices, chance, pick

#: for each dimension: the units in use, and the range of facts with its unit
DIMENSIONS: dict[str, tuple[tuple[str, ...], tuple[int, int, str]]] = {
    "length": (("mm", "in", "cm", "ft", "m"), (-200, 900, "mm")),
    "area": (("m2",), (-2, 6, "m2")),
    "volume": (("L", "mL"), (-50, 300, "L")),
    "mass": (("kg", "lb", "t", "g"), (-100, 4000, "kg")),
    "speed": (("km/h", "mph", "m/s"), (-50, 250, "km/h")),
    "force": (("kN", "N"), (-20, 50, "kN")),
    "torque": (("Nm",), (-100, 900, "Nm")),
    "pressure": (("kPa", "psi", "bar"), (-100, 700, "kPa")),
    "power": (("kW",), (-100, 500, "kW")),
    "temperature": (("degC",), (-60, 150, "degC")),
    "angle": (("deg",), (-90, 90, "deg")),
    "number": (("", "%"), (-3, 5, "")),
}
#: the numbers of which literals and values are made, whatever the unit
GRID = tuple(
    Fraction(text)
    for text in ("1", "0", "2", "3", "5", "0.5", "10", "2.54", "50", "-1", "-2.5", "100", "0.1")
)
WORDS = {"colour": ("red", "blue", "green"), "tint": ("red", "grey")}
TEXTS = ("Q", "R", "S", "none of these")
MARKINGS = ("265/70R17 121/118S", "31x10.50R15LT 109Q", "205R16C 110/108R", "7.50R16LT 122/118L")
DAYS = ("2019-12-31", "2020-02-29", "2021-03-14", "2024-07-01", "1999-01-31")
#: what a partly known date may be written as
FIRST_DAY, LAST_DAY = "1995-01-01", "2030-12-31"


@dataclass(frozen=True)
class FactSpec:
    """A fact of the vocabulary, and how it is declared."""

    id: str
    type: str
    unit: str = ""
    words: str = ""
    condition: str = ""
    none_stated: bool = False
    safety: bool = False
    ranged: bool = True
    estimate: str = ""
    tolerance: str = ""

    @property
    def subject(self) -> str:
        return self.id.partition(".")[0]

    @property
    def measured(self) -> bool:
        return self.type in DIMENSIONS

    @property
    def ends(self) -> tuple[Fraction, Fraction, str]:
        """The range of a measured fact or a count, and its unit."""
        if self.type == "count":
            return Fraction(0), Fraction(4), ""
        low, high, unit = DIMENSIONS[self.type][1]
        if self.unit == "%":
            return Fraction(100 * low), Fraction(100 * high), "%"
        return Fraction(low), Fraction(high), unit

    @property
    def units(self) -> tuple[str, ...]:
        """The units in which its values are written; a bare number is in the declared unit."""
        return ("%",) if self.unit == "%" else DIMENSIONS[self.type][0]


def _facts() -> tuple[FactSpec, ...]:
    facts = [
        FactSpec("vehicle.flag", "yes_no"),
        FactSpec("vehicle.extra.flag", "yes_no"),
        FactSpec("vehicle.colour", "word", words="colour"),
        FactSpec("vehicle.tint", "word", words="tint"),
        FactSpec("vehicle.maker", "text"),
        FactSpec("vehicle.marking", "tyre_marking"),
        FactSpec("vehicle.grade", "listed"),
        FactSpec("vehicle.seats", "count"),
        FactSpec("vehicle.doors", "count"),
        FactSpec("vehicle.built", "date"),
        FactSpec("vehicle.inspected", "date"),
        FactSpec("vehicle.service", "period"),
        FactSpec("vehicle.height", "length", condition="unladen"),
        FactSpec("vehicle.drop", "length", condition="laden"),
        FactSpec("vehicle.sag", "length", condition="unladen"),
        FactSpec("vehicle.track", "length", unit="in"),
        FactSpec("vehicle.share", "number", unit="%"),
        FactSpec("vehicle.kerb", "mass", unit="lb"),
        FactSpec("plate.mass", "mass"),
        FactSpec("plate.issued", "date"),
        FactSpec("plate.flag", "yes_no"),
        FactSpec("axle.load", "mass"),
        FactSpec("axle.radius", "length"),
        FactSpec("axle.width", "length"),
        FactSpec("axle.colour", "word", words="colour"),
        FactSpec("axle.locked", "yes_no"),
        FactSpec("axle.maker", "text"),
        FactSpec("axle.marking", "tyre_marking"),
        FactSpec("axle.bolts", "count"),
        FactSpec("axle.fitted", "date"),
        FactSpec("wheel.width", "length"),
        FactSpec("wheel.load", "mass"),
        FactSpec("wheel.spare", "yes_no"),
        FactSpec("wheel.colour", "word", words="tint"),
        FactSpec("lift.change", "length"),
        FactSpec("lift.kit", "yes_no"),
        FactSpec("lift.built", "date"),
        FactSpec("tank.volume", "volume"),
        FactSpec("tank.steel", "yes_no"),
        FactSpec("modification.mass", "mass"),
        FactSpec("modification.approved", "yes_no"),
        FactSpec("modification.colour", "word", words="colour"),
    ]
    facts += [FactSpec(f"vehicle.{name}", name) for name in DIMENSIONS]
    return tuple(
        replace(fact, unit=fact.unit or fact.ends[2]) if fact.measured else fact for fact in facts
    )


FACTS = _facts()
SINGLES = ("vehicle", "plate")
LISTS = {"axle": "axles", "wheel": "wheels"}
KINDS = ("lift", "tank")

#: estimates that a ruleset may declare: the fact, its estimate, and tolerances that make sense
ESTIMATES: tuple[tuple[FactSpec, str, tuple[str, ...]], ...] = (
    (FactSpec("axle.diameter", "length", unit="mm"), "axle.radius * 0.9", ("", "2 %", "3 mm")),
    (
        FactSpec("vehicle.class", "word", words="colour"),
        "if vehicle.flag then red else blue",
        ("",),
    ),
    (FactSpec("vehicle.due", "date"), "vehicle.built + 18 months", ("",)),
    (FactSpec("axle.symbol", "text"), "tyre_speed_symbol(axle.marking)", ("",)),
    (
        FactSpec("vehicle.gross", "mass", unit="kg"),
        "vehicle.mass / 2 + 100 kg * vehicle.seats",
        ("", "5 %", "10 kg"),
    ),
)


@dataclass(frozen=True)
class Vocabulary:
    """The facts of one ruleset, by id."""

    facts: dict[str, FactSpec] = field(default_factory=dict)

    def of(self, subject: str) -> list[FactSpec]:
        """The facts of a subject; those of every modification too, for a kind."""
        own = [fact for fact in self.facts.values() if fact.subject == subject]
        if subject in KINDS:
            own += [fact for fact in self.facts.values() if fact.subject == "modification"]
        return own


def make_vocabulary(choices: Choices) -> Vocabulary:
    """The vocabulary of one ruleset, with what is declared of each fact chosen."""
    facts: dict[str, FactSpec] = {
        "modification.kind": FactSpec("modification.kind", "word", words="kinds"),
        "modification.fitted": FactSpec("modification.fitted", "date", ranged=False),
    }
    for fact in FACTS:
        facts[fact.id] = _declared(choices, fact)
    for fact, formula, tolerances in ESTIMATES:
        declared = _declared(choices, fact)
        if chance(choices, 2, 3):
            tolerance = pick(choices, tolerances)
            declared = replace(declared, estimate=formula, tolerance=tolerance)
        facts[fact.id] = declared
    return Vocabulary(facts)


def _declared(choices: Choices, fact: FactSpec) -> FactSpec:
    how = choices.below(8)
    return replace(
        fact,
        none_stated=how in (5, 6),
        safety=how in (4, 6) and fact.measured,
        ranged=fact.type not in ("date", "period") or how not in (1, 3),
    )


def words_of(fact: FactSpec) -> tuple[str, ...]:
    """The words that a fact takes."""
    return KINDS if fact.words == "kinds" else WORDS[fact.words]


def declaration(fact: FactSpec) -> dict[str, object]:
    """The fact as an item of a ruleset."""
    item: dict[str, object] = {
        "id": fact.id,
        "title": f"Title of {fact.id}",
        "type": "text" if fact.type == "listed" else fact.type,
        "question": f"What is {fact.id}?",
    }
    if fact.measured and fact.unit:
        item["unit"] = fact.unit
    if fact.type == "listed":
        item["listed_in"] = "symbols"
    if fact.words:
        item["words"] = fact.words
    if fact.condition:
        item["condition"] = fact.condition
    if fact.measured or fact.type == "count":
        low, high, unit = fact.ends
        item["range"] = {"from": f"{low} {unit}".strip(), "to": f"{high} {unit}".strip()}
    elif fact.type == "date" and fact.ranged:
        item["range"] = {"from": FIRST_DAY, "to": LAST_DAY}
    elif fact.type == "period" and fact.ranged:
        item["range"] = {"from": "1 months", "to": "5 years"}
    if fact.none_stated:
        item["none_stated"] = True
    if fact.safety:
        item["safety"] = True
    if fact.estimate:
        item["from"] = fact.estimate
    if fact.tolerance:
        item["estimate_tolerance"] = fact.tolerance
    return item
