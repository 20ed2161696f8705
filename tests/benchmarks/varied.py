"""The needs-plates demo with other facts: submissions made by number, everything in them exact.

A fact that some check reads keeps the value of the demo, or takes another: one from its
range, or one that stands as a limit in some check. Modifications come and go, and so do
documents. The same number always gives the same submission.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import date
from fractions import Fraction
from random import Random
from typing import Any

import yaml

from modrules.language.tree import FactName, Node
from modrules.language.units import decimal_text, unit_factor
from modrules.ruleset.find import find_ruleset
from modrules.ruleset.names import FactRange
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
    {
        "vehicle.built": "1978-05-01",
        "vehicle.clearance_between_axles": "110 mm",
        "vehicle.clearance_between_axles_as_built": "105 mm",
    },
    {
        "vehicle.built": "1990-05-01",
        "steering.wheel_replaced": "yes",
        "vehicle.steering.wheel_diameter": "335 mm",
        "vehicle.steering.airbag": "no",
        "vehicle.steering.airbag_as_built": "yes",
        "vehicle.steering.airbag_required": "no",
    },
    {
        "vehicle.built": "2003-09-30",
        "vehicle.brakes.anti_lock_as_built": "yes",
        "vehicle.brakes.anti_lock_works": "no",
        "vehicle.brakes.anti_lock_form_without": "yes",
    },
    {
        "vehicle.front_airbags": "yes",
        "front_bar.approved_airbags": "no",
        "front_bar.mounted_to_cover_only": "yes",
        "front_bar.bar_mass": "8.9 kg",
        "front_bar.covers_crash_sensor": "no",
    },
    {"seats_belts.seat_replaced": "yes", "seat.as_built": "no", "seat.maker_states_fit": "no"},
    {"axle.suspension": "beam", "axle.track_as_built": "1500 mm", "axle.track": "1564 mm"},
)


class Varied:
    """Makes submissions for one ruleset: ``submission(number)`` is a mapping."""

    def __init__(self, ruleset: Ruleset) -> None:
        self.certifications = sorted(map(str, ruleset.flat.certifications))
        self.kinds = sorted(map(str, ruleset.flat.kinds))
        self.lists = {str(s.list): str(s.id) for s in ruleset.flat.subjects.values() if s.list}
        names = ruleset.typed.names
        self.singles = [name for name, subject in names.subjects.items() if not subject.many]
        nodes = [n for check in ruleset.typed.checks for top in check.nodes() for n in _every(top)]
        reads = {n.value[1] for n in nodes if n.op in ("fact", "stated", "fallback")}
        #: the facts that the checks read, by their subjects, each with what makes its values
        self.facts: dict[str, list[tuple[list[str], str, Callable[[Random], str]]]] = {}
        for fact in names.facts.values():
            if fact.id in reads - {"modification.kind"} | {"modification.fitted"}:
                made = _values(fact, ruleset.typed.vocabulary.ranges.get(fact.id), nodes)
                steps = fact.id.split(".")[1:]
                self.facts.setdefault(fact.subject, []).append((steps, fact.id, made))
        path = find_ruleset("orrinmark") / "submissions" / "needs-plates.yaml"
        self.demo = json.dumps(yaml.load(path.read_bytes(), Loader=yaml.BaseLoader))

    def submission(self, number: int) -> dict[str, Any]:
        """The submission of that number; 0 is the demo itself."""
        tree: dict[str, Any] = json.loads(self.demo)
        if number == 0:
            return tree
        del tree["standard"]
        random = Random(number)
        given = dict(random.choice(SHARES)) if random.random() < 0.7 else {}
        tree["modifications"] = list(self.modifications(tree, random))
        tree["evidence"] = list(self.evidence(tree, random))
        if random.random() < 0.3:
            tree["plates"].append({"id": "towing", "plate_kind": "towing"})
        for key, subject in self.lists.items():
            if random.random() < 0.03 and key not in ("modifications", "listed_tyres"):
                tree[key] = []
            for record in tree.get(key, []):
                if subject == "modification":
                    self.vary(record, record["kind"], random, given)
                self.vary(record, subject, random, given)
        for subject in self.singles:
            self.vary(tree.setdefault(subject, {}), subject, random, given)
        for record in (*tree["listed_tyres"], *(axle["tyre"] for axle in tree["axles"])):
            # The marking would have to agree with all that is varied.
            del record["marking"]
        for corner in tree["corners"]:
            marking, diameter = random.choice(MARKINGS)
            off = random.choice((-5, 0, 0, 4, 7))
            corner["tyre"] = {"marking": marking, "overall_diameter": f"{diameter + off} mm"}
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

    def evidence(self, tree: dict[str, Any], random: Random) -> Iterator[dict[str, Any]]:
        vehicle = tree["vehicle"]["identification_number"]
        for n in range(random.choice((0, 3, 8))):
            covered = [m["id"] for m in tree["modifications"] if random.random() < 0.9]
            yield {
                "id": f"document-{n}",
                "certification": random.choice(self.certifications),
                "issued": random.choice(("1980-01-01", "2015-01-01", "2026-08-01", "2027-03-01")),
                "covers": {"modifications": covered, "vehicle": vehicle},
            }

    def vary(
        self, record: dict[str, Any], subject: str, random: Random, given: Mapping[str, str]
    ) -> None:
        """Sets every fact of a record that a check reads."""
        for steps, fact, made in self.facts.get(subject, ()):
            *stems, leaf = steps
            branch = record
            for stem in stems:
                branch = branch.setdefault(stem, {})
            if fact in given:
                branch[leaf] = given[fact]
            elif leaf not in branch or random.random() < 0.5:
                branch[leaf] = made(random)


def _values(fact: FactName, limits: FactRange | None, nodes: list[Node]) -> Callable[[Random], str]:
    """What makes values for a fact, as they are written in a submission."""
    kind = fact.type.kind
    written: Sequence[str]
    if kind == "yes_no":
        written = ("yes", "no")
    elif kind == "word":
        written = fact.type.words
    elif kind == "text":
        written = SYMBOLS
    elif kind == "date":
        days = {node.value for node in nodes if node.op == "const" and node.type.kind == "date"}
        around = {day + off for day in days for off in (-1, 0, 1)}
        around |= set(range(date(1970, 1, 1).toordinal(), date(2026, 10, 1).toordinal(), 397))
        written = [date.fromordinal(day).isoformat() for day in sorted(around)]
    elif "load_index" in fact.slot:
        # The table of loads has fewer than the range of the fact allows.
        written = [str(index) for index in range(95, 126)]
    else:
        assert limits is not None
        assert limits.low is not None
        assert limits.high is not None
        low, high = Fraction(limits.low), Fraction(limits.high)
        at = {
            node.value * node.scale / fact.scale
            for node in nodes
            if node.op == "const" and node.type.dimension == fact.type.dimension
            if node.type.kind == "quantity"
        }
        steps = {low + (high - low) * step / 40 for step in range(41)}
        factor = fact.scale / unit_factor(fact.unit)
        numbers = sorted({value for value in at | steps if low <= value <= high})
        if fact.type.whole:
            written = sorted({str(int(number)) for number in numbers})
        else:
            written = [f"{decimal_text(number * factor)} {fact.unit}".strip() for number in numbers]
    if fact.none_stated:
        return lambda random: "none stated" if random.random() < 0.25 else random.choice(written)
    return lambda random: random.choice(written)


def _every(node: Node) -> Iterator[Node]:
    yield node
    for arg in node.args:
        yield from _every(arg)
