"""The needs-plates demo with other facts: submissions made by number, everything in them exact.

A fact keeps the value of the demo, or takes another: any in its range, one near the old
one, or one that stands as a limit in some check. Modifications come and go, and so do
documents. Each fact draws from a source of its own, named by its address.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from fractions import Fraction
from random import Random
from typing import Any

import yaml

from modrules.language.tree import FactName, Node
from modrules.language.units import decimal_text, unit_factor
from modrules.ruleset.find import find_ruleset
from modrules.screening.prepared import Ruleset

#: Markings with their diameters in mm; what a corner is given as its diameter keeps near that.
MARKINGS = (("275/70R17 121/118S", 816), ("265/65R17 112S", 776), ("245/70R17 110S", 774))
SYMBOLS = ("N", "P", "Q", "R", "S", "T", "H", "V")
#: Values on the limits that are shares of other values, which chance does not meet.
SHARES: tuple[Mapping[str, str], ...] = (
    {"listed_tyre.overall_diameter": "750 mm", "axle.tyre.overall_diameter": "780 mm"},
    {"listed_tyre.overall_diameter": "800 mm", "axle.tyre.overall_diameter": "856 mm"},
    {"listed_tyre.overall_diameter": "800 mm", "axle.tyre.overall_diameter": "880 mm"},
    {"listed_tyre.overall_diameter": "800 mm", "axle.tyre.overall_diameter": "824 mm"},
    {"corner.bump_travel_as_built": "90 mm", "corner.bump_travel": "63 mm"},
    {"corner.bump_travel_as_built": "160 mm", "suspension.ride_height_change": "-40 mm"},
    {"corner.rebound_travel_as_built": "100 mm", "corner.rebound_travel": "60 mm"},
    {"corner.rebound_travel_as_built": "100 mm", "corner.rebound_travel": "45 mm"},
    {"vehicle.mass_in_use": "3000 kg", "axle.load": "1170 kg"},
    {"vehicle.mass_in_use": "3000 kg", "axle.load": "1020 kg"},
    {"trailer.mass": "2000 kg", "trailer.coupling_load": "240 kg"},
    {"trailer.mass": "2000 kg", "trailer.coupling_load": "120 kg"},
    {"ratings.power_as_built": "100 kW", "engine.power": "112 kW"},
    {"ratings.power_as_built": "100 kW", "engine.power": "130 kW"},
    {"vehicle.wheelbase": "3000 mm", "vehicle.overhang_rear": "1680 mm"},
    {"vehicle.wheelbase": "3000 mm", "vehicle.overhang_rear": "1860 mm"},
    {"vehicle.wheelbase": "3000 mm", "vehicle.clearance_between_axles": "129 mm"},
    {"ratings.gross_mass": "3000 kg", "mass_upgrade.gross_mass": "3420 kg"},
    {"axle.brake.diameter_as_built": "300 mm", "axle.brake.diameter": "324 mm"},
    {
        "vehicle.steering.turning_circle_as_built": "12 m",
        "vehicle.steering.turning_circle": "13.08 m",
    },
    {"vehicle.speedometer.true_speed": "80 km/h", "vehicle.speedometer.shown": "89.4 km/h"},
    {"axle.tyre.made": "2019-11-01", "vehicle.historic_register": "yes"},
    {"axle.tyre.made": "2016-11-01", "vehicle.built": "1996-11-01"},
    {
        "axle.tyre.made": "2011-11-01",
        "vehicle.historic_register": "yes",
        "vehicle.built": "1996-11-01",
    },
    {
        "vehicle.built": "1978-05-01",
        "vehicle.historic_register": "yes",
        "modification.fitted": "2016-10-31",
    },
    {"axle.suspension": "beam", "axle.track_as_built": "1500 mm", "axle.track": "1564 mm"},
)


class Varied:
    """Makes submissions for one ruleset: ``submission(number)`` is a mapping."""

    def __init__(self, ruleset: Ruleset) -> None:
        self.names = ruleset.typed.names
        self.ranges = ruleset.typed.vocabulary.ranges
        self.certifications = sorted(map(str, ruleset.flat.certifications))
        self.kinds = sorted(map(str, ruleset.flat.kinds))
        self.lists = {str(s.list): str(s.id) for s in ruleset.flat.subjects.values() if s.list}
        self.facts: dict[str, list[FactName]] = {}
        for fact in self.names.facts.values():
            self.facts.setdefault(fact.subject, []).append(fact)
        self.limits: dict[Any, set[Fraction]] = {}
        for check in ruleset.typed.checks:
            for node in _every(check.nodes()):
                if node.op == "const" and node.type.kind == "quantity":
                    value = Fraction(node.value) * node.scale
                    self.limits.setdefault(node.type.dimension, set()).add(value)
                elif node.op == "const" and node.type.kind == "date":
                    self.limits.setdefault("date", set()).add(Fraction(node.value))
        path = find_ruleset("orrinmark") / "submissions" / "needs-plates.yaml"
        self.demo = path.read_text(encoding="utf-8")

    def submission(self, number: int) -> dict[str, Any]:
        """The submission of that number; 0 is the demo itself."""
        tree: dict[str, Any] = yaml.load(self.demo, Loader=yaml.BaseLoader)
        if number == 0:
            return tree
        del tree["standard"]
        random = Random(f"{number}")
        given = dict(random.choice(SHARES)) if random.random() < 0.7 else {}
        tree["modifications"] = modifications = list(self.modifications(tree, random))
        tree["evidence"] = list(self.evidence(modifications, random))
        if random.random() < 0.3:
            tree["plates"].append({"id": "towing", "plate_kind": "towing"})
        for key, subject in self.lists.items():
            if random.random() < 0.03 and key not in ("modifications", "listed_tyres"):
                tree[key] = []
            for record in tree.get(key, []):
                subjects = (record["kind"], subject) if subject == "modification" else (subject,)
                self.vary(record, subjects, f"{number}/{key}/{record['id']}", given)
        for subject, known in self.names.subjects.items():
            if not known.many:
                self.vary(tree.setdefault(subject, {}), (subject,), f"{number}/{subject}", given)
        return tree

    def modifications(self, tree: dict[str, Any], random: Random) -> Iterator[dict[str, Any]]:
        there = set()
        rare = random.random() < 0.2
        for modification in tree["modifications"]:
            if random.random() < (0.3 if rare else 0.85):
                there.add(modification["kind"])
                yield modification
        for kind in self.kinds:
            if kind not in there and random.random() < (0.1 if rare else 0.5):
                for n in range(random.choice((1, 1, 1, 2))):
                    yield {"id": f"{kind}-{n}", "kind": kind}

    def evidence(
        self, modifications: list[dict[str, Any]], random: Random
    ) -> Iterator[dict[str, Any]]:
        for n in range(random.choice((0, 0, 2, 5))):
            covered = [m["id"] for m in modifications if random.random() < 0.8]
            yield {
                "id": f"document-{n}",
                "certification": random.choice(self.certifications),
                "issued": random.choice(("2015-01-01", "2026-08-01", "2027-03-01")),
                "covers": {"modifications": covered},
            }

    def vary(
        self, record: dict[str, Any], subjects: tuple[str, ...], at: str, given: Mapping[str, str]
    ) -> None:
        """Sets every fact of a record."""
        marking, diameter = Random(at).choice(MARKINGS)
        for subject in subjects:
            for fact in self.facts[subject]:
                *stems, leaf = fact.id.split(".")[1:]
                branch = record
                for stem in stems:
                    branch = branch.setdefault(stem, {})
                random = Random(f"{at}/{fact.id}")
                if fact.id == "modification.kind":
                    continue
                if fact.id in given:
                    value = given[fact.id]
                elif leaf == "marking":
                    # Elsewhere the marking would have to agree with what is varied.
                    value = marking if subject == "corner" else ""
                elif fact.id == "corner.tyre.overall_diameter":
                    value = f"{diameter + random.choice((-5, 0, 0, 4, 7))} mm"
                else:
                    value = self.value(fact, branch.get(leaf), random)
                if value:
                    branch[leaf] = value
                else:
                    branch.pop(leaf, None)

    def value(self, fact: FactName, old: str | None, random: Random) -> str:
        """A value for a fact, as it is written in a submission."""
        way = random.random()
        if old is not None and way < 0.5:
            return old
        if fact.none_stated and random.random() < 0.25:
            return "none stated"
        kind = fact.type.kind
        if kind == "yes_no":
            return random.choice(("yes", "no"))
        if kind == "word":
            return random.choice(fact.type.words)
        if kind == "text":
            return random.choice(SYMBOLS) if fact.slot.endswith("speed_symbol") else "text"
        if kind == "date":
            if way < 0.8:
                return _date(
                    random.choice(sorted(self.limits["date"])) + random.choice((-1, 0, 0, 1))
                )
            return _date(
                random.randint(date(1970, 1, 1).toordinal(), date(2026, 10, 1).toordinal())
            )
        if "load_index" in fact.slot:
            # The table of loads ends on both sides of the range of the fact.
            return str(random.randint(95, 125))
        limits = self.ranges[fact.id]
        low, high = limits.low, limits.high
        assert low is not None
        assert high is not None
        chosen: Any = low + (high - low) * Fraction(random.randint(0, 1000), 1000)
        on_limits = [
            value / fact.scale
            for value in sorted(self.limits.get(fact.type.dimension, ()))
            if low <= value / fact.scale <= high
        ]
        if on_limits and way > 0.7:
            chosen = random.choice(on_limits)
        chosen = Fraction(chosen)
        if fact.type.whole:
            return str(int(chosen))
        written = decimal_text(chosen * fact.scale / unit_factor(fact.unit), 6)
        return f"{written} {fact.unit}".strip()


def _date(ordinal: Fraction | int) -> str:
    return date.fromordinal(int(ordinal)).isoformat()


def _every(nodes: list[Node]) -> Iterator[Node]:
    for node in nodes:
        yield node
        yield from _every(list(node.args))
