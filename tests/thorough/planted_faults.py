"""Faults to plant in the shipped rulesets, one by one: kind, ruleset, file, old, new, place.

The place is a part of the changed file; empty: what was put in.
"""

from __future__ import annotations

from typing import Final, NamedTuple


class Fault(NamedTuple):
    kind: str
    ruleset: str
    file: str
    check: str
    old: str
    new: str
    at: str = ""


def _added(kind: str, ruleset: str, file: str, rule: str, per: str, about: str, at: str) -> Fault:
    text = "regulations" if ruleset == "quillander" else "code"
    check = (
        f"checks:\n  - id: planted\n    title: Planted\n    about: {about}\n    per: {per}\n"
        f'{rule}    cites: {{text: {text}, clause: "1"}}\n\n'
    )
    return Fault(kind, ruleset, file, "planted", "checks:\n", check, at)


_ORR, _QUI, _TOU = "orrinmark", "quillander", "touring"
_TYRES, _HEIGHT = "checks/tyres.yaml", "checks/height.yaml"
_Q_TYRES, _Q_HEIGHT = "2022/checks/tyres.yaml", "2022/checks/height.yaml"

NEVER_APPLIES: Final = (
    Fault(
        "never applies",
        _ORR,
        _TYRES,
        "tyres-front-rear",
        "and vehicle.drive = full_time_all_wheels",
        "and vehicle.drive = full_time_all_wheels and vehicle.drive != full_time_all_wheels",
    ),
    Fault(
        "never applies",
        _QUI,
        _Q_HEIGHT,
        "edge-height",
        "      ratings.gross_mass <= 4200 kg\n",
        "      ratings.gross_mass <= 42 kg\n",
        "ratings.gross_mass <= 42 kg",
    ),
    Fault(
        "never applies",
        _ORR,
        _HEIGHT,
        "lowering",
        "applies_if: suspension.ride_height_change < 0 mm",
        "applies_if: suspension.ride_height_change < 0 mm and suspension.ride_height_change > 0 mm",
    ),
    Fault(
        "never applies",
        _TOU,
        "checks/masses.yaml",
        "axle-wheels",
        "    applies_if: axle.wheel.load_rating is stated\n    requires: axle.load_coupled",
        "    applies_if: axle.wheel.load_rating is stated and axle.wheel.load_rating is not stated"
        "\n    requires: axle.load_coupled",
        "applies_if: axle.wheel.load_rating is stated and axle.wheel.load_rating is not stated",
    ),
)
ALWAYS_MET: Final = (
    Fault(
        "always met",
        _ORR,
        _TYRES,
        "tyre-speed",
        "axle.tyre_speed >= smallest(placard.speed, 180 km/h)",
        "axle.tyre_speed >= 10 km/h",
    ),
    Fault(
        "always met",
        _QUI,
        "2022/checks/general.yaml",
        "reach",
        "ratings.gross_mass <= 4200 kg",
        "ratings.gross_mass <= 4200 t",
    ),
    Fault(
        "always met",
        _ORR,
        _TYRES,
        "tyres-front-rear",
        "second.tyre.overall_diameter) <= 14 mm",
        "second.tyre.overall_diameter) <= 14 m",
    ),
    Fault(
        "always met",
        _ORR,
        "checks/steering.yaml",
        "wheel-clearance",
        "corner.bump_clearance >= 6 mm and (corner.axle = rear",
        "corner.axle = front or (corner.axle = rear",
    ),
)
NEVER_MET: Final = (
    Fault(
        "never met",
        _ORR,
        _TYRES,
        "tyres-front-rear",
        "second.tyre.overall_diameter) <= 14 mm",
        "second.tyre.overall_diameter) <= -14 mm",
    ),
    Fault(
        "never met",
        _ORR,
        "checks/steering.yaml",
        "turning-circle",
        "14.6 m)",
        "14.6 mm)",
        "vehicle.steering.turning_circle\n      <=",
    ),
    Fault(
        "never met",
        _QUI,
        "2022/checks/roof_fuel.yaml",
        "tank-place",
        "vehicle.use != people and fuel_tank.guard",
        "vehicle.use != people and vehicle.use = people",
    ),
)
NEVER_NEEDED: Final = (
    Fault(
        "exemption never needed",
        _ORR,
        _TYRES,
        "tyres-alike-on-axle",
        "first.spare_in_use or second.spare_in_use",
        "first.tyre.marking = second.tyre.marking and absolute(first.tyre.overall_diameter"
        " - second.tyre.overall_diameter) <= 5 mm",
    ),
    Fault(
        "exemption never needed",
        _ORR,
        _TYRES,
        "tyre-speed",
        "and axle.tyre_speed >= 140 km/h",
        "and axle.tyre_speed >= 240 km/h",
        "axle.tyre.tread = deep_off_road",
    ),
    Fault(
        "exemption never needed",
        _QUI,
        _Q_TYRES,
        "tyre-speed",
        "axle.tyre.tread = snow and axle.tyre_speed >= 125 km/h",
        "axle.tyre.tread = snow and axle.tyre_speed > axle.speed_needed",
    ),
    Fault(
        "exemption never needed",
        _ORR,
        "checks/wheels.yaml",
        "wheel-spacers",
        "axle.spacer.maker_fitted and axle.spacer.thickness < 7 mm and",
        "axle.spacer.maker_fitted and axle.spacer.approved and",
    ),
)
SWALLOWS: Final = (
    Fault(
        "exemption swallows",
        _ORR,
        _TYRES,
        "tyres-alike-on-axle",
        "first.spare_in_use or second.spare_in_use",
        "first.spare_in_use or not first.spare_in_use",
    ),
    Fault(
        "exemption swallows",
        _ORR,
        "checks/wheels.yaml",
        "wheel-spacers",
        "axle.spacer.maker_fitted and axle.spacer.thickness < 7 mm and not axle.spacer.stacked",
        "axle.spacer.stacked or not axle.spacer.approved",
    ),
    Fault(
        "exemption swallows",
        _QUI,
        "2022/checks/roof_fuel.yaml",
        "tank-place",
        "condition: fuel_tank.where_maker_had_one",
        "condition: not fuel_tank.guard or vehicle.use = people",
        "not fuel_tank.guard or",
    ),
)
GAPS: Final = (
    Fault(
        "gap",
        _ORR,
        _TYRES,
        "tyre-diameter-large",
        "{over: 7 %, up_to: 10 %",
        "{over: 8 %, up_to: 10 %",
    ),
    Fault(
        "gap",
        _ORR,
        _HEIGHT,
        "total-lift",
        "{over: 85 mm, up_to: 125 mm",
        "{over: 85 mm, under: 125 mm",
        "{over: 125 mm",
    ),
    Fault(
        "gap",
        _QUI,
        "2022/checks/suspension.yaml",
        "whole-travel",
        "{from: 64 %, under: 72 %",
        "{over: 64 %, under: 72 %",
    ),
    Fault(
        "gap",
        _QUI,
        "2022/checks/wheels.yaml",
        "track",
        "{over: 2 * axle.track_allowance, outcome",
        "{over: 3 * axle.track_allowance, outcome",
    ),
    Fault(
        "gap",
        _ORR,
        "checks/wheels.yaml",
        "track",
        "{over: 36 mm, outcome: not permitted}",
        "{over: 64 mm, outcome: not permitted}",
    ),
    Fault(
        "gap",
        _QUI,
        "2022/checks/seats.yaml",
        "seat-cover",
        "      - {outcome: not permitted}\n    question: Does the seam",
        "    question: Does the seam",
        "{outcome: inspect, only_if: seat_covers.opening_seam}",
    ),
)
NEVER_REACHED: Final = (
    Fault(
        "never reached",
        _ORR,
        _TYRES,
        "tyre-diameter-large",
        "{over: 4 %, up_to: 7 %, outcome: complies, only_if: vehicle.off_road_features}",
        "{over: 4 %, up_to: 7 %, outcome: complies}",
        "{over: 4 %, up_to: 7 %, outcome: certification required",
    ),
    Fault(
        "never reached",
        _QUI,
        "2022/checks/roof_fuel.yaml",
        "tank-exhaust",
        "under: 55 mm, outcome: complies, only_if: fuel_tank.shielded}",
        "under: 55 mm, outcome: complies}",
        "{from: 25 mm, under: 55 mm, outcome: not permitted}",
    ),
    Fault(
        "never reached",
        _QUI,
        "2022/checks/roof_fuel.yaml",
        "roof-load",
        "{up_to: roof.least_rating, outcome: caution",
        "{up_to: roof.least_rating / 1.7, outcome: caution",
    ),
    Fault(
        "never reached",
        _ORR,
        "checks/roof_fuel.yaml",
        "vehicle-height",
        "{up_to: 2.3 m, outcome: complies}",
        "{up_to: 23 m, outcome: complies}",
        "{over: 2.3 m, up_to: 3.1 m",
    ),
    Fault(
        "never reached",
        _QUI,
        _Q_HEIGHT,
        "stability-control",
        "only_if: vehicle.stability_control_maker_accepts",
        "only_if: not vehicle.stability_control_works",
    ),
)
ROWS_DISAGREE: Final = (
    Fault(
        "rows disagree",
        _ORR,
        _TYRES,
        "tyre-diameter-large",
        "{over: 7 %, up_to: 10 %",
        "{from: 7 %, up_to: 10 %",
    ),
    Fault(
        "rows disagree",
        _ORR,
        _HEIGHT,
        "total-lift",
        "{over: 45 mm, up_to: 85 mm",
        "{from: 45 mm, up_to: 85 mm",
    ),
    Fault(
        "rows disagree",
        _TOU,
        "checks/pressures.yaml",
        "warm-rise",
        "{over: 3 psi, outcome",
        "{from: 3 psi, outcome",
    ),
    Fault(
        "rows disagree",
        _ORR,
        "checks/roof_fuel.yaml",
        "vehicle-height",
        "{over: 3.1 m, up_to: 3.8 m",
        "{over: 2.9 m, up_to: 3.8 m",
    ),
    Fault(
        "rows disagree",
        _QUI,
        "2022/checks/wheels.yaml",
        "track",
        "{over: axle.track_allowance, up_to",
        "{from: axle.track_allowance, up_to",
    ),
)
CHECKS_DIFFER: Final = (
    _added(
        "checks differ",
        _ORR,
        _TYRES,
        "    measures: axle.diameter_change_share\n    bands:\n"
        "      - {up_to: 5 %, outcome: complies}\n      - {over: 5 %, outcome: not permitted}\n",
        "axle",
        "tyres",
        "{over: 5 %, outcome: not permitted}",
    ),
    _added(
        "checks differ",
        _QUI,
        _Q_TYRES,
        "    measures: axle.diameter_change\n    bands:\n"
        "      - {under: 24 mm, outcome: complies}\n"
        "      - {from: 24 mm, outcome: not permitted}\n",
        "axle",
        "tyres",
        "{from: 24 mm, outcome: not permitted}",
    ),
    _added(
        "checks differ",
        _ORR,
        _HEIGHT,
        "    requires: vehicle.total_lift <= 50 mm\n",
        "vehicle",
        "suspension",
        "requires: vehicle.total_lift <= 50 mm",
    ),
)
CONFLICTS: Final = (
    _added(
        "checks conflict",
        _ORR,
        "checks/steering.yaml",
        "    requires: corner.bump_clearance <= 5 mm\n",
        "corner",
        "tyres",
        "requires: corner.bump_clearance <= 5 mm",
    ),
    _added(
        "checks conflict",
        _QUI,
        "2022/checks/masses.yaml",
        "    requires: vehicle.mass_in_use > vehicle.rating_in_force\n",
        "vehicle",
        "vehicle",
        "requires: vehicle.mass_in_use > vehicle.rating_in_force",
    ),
    _added(
        "checks conflict",
        _QUI,
        "2022/checks/suspension.yaml",
        "    requires: corner.bump_travel < 40 mm\n",
        "corner",
        "suspension",
        "requires: corner.bump_travel < 40 mm",
    ),
    _added(
        "checks conflict",
        _ORR,
        "checks/steering.yaml",
        "    requires: vehicle.steering.turning_circle >= 15 m\n",
        "vehicle",
        "tyres",
        "requires: vehicle.steering.turning_circle >= 15 m",
    ),
)


def _fact(ruleset: str, file: str, old: str, name: str) -> Fault:
    new = (
        f"facts:\n  - {{id: {name}, title: Planted, type: yes_no, question: Is it so?}}\n\n{old}"
        if old != "facts:\n"
        else f"{old}  - {{id: {name}, title: Planted, type: yes_no, question: Is it so?}}\n"
    )
    return Fault("fact unused", ruleset, file, "", old, new, name)


def _quantity(ruleset: str, file: str, name: str, formula: str, unit: str) -> Fault:
    new = (
        f"quantities:\n  - {{id: {name}, title: Planted, unit: {unit}, formula: {formula},\n"
        "     source: arithmetic}\n"
    )
    return Fault("quantity unused", ruleset, file, "", "quantities:\n", new, name)


def _certification(kind: str, ruleset: str, file: str, at: str) -> Fault:
    new = (
        "certifications:\n  - {id: planted, title: Planted, kind: plate, evidence:\n"
        "     [{id: planted-paper, title: Paper}, {id: planted-report, title: Report}]}\n"
    )
    return Fault(kind, ruleset, file, "", "certifications:\n", new, at)


_VOCABULARY = "vocabulary.yaml"
UNUSED: Final = (
    _fact(_ORR, _VOCABULARY, "quantities:\n", "vehicle.planted"),
    _fact(_QUI, "2022/vocabulary.yaml", "facts:\n", "axle.planted"),
    _fact(_TOU, "quantities.yaml", "quantities:\n", "trailer.planted"),
    _quantity(_ORR, _VOCABULARY, "vehicle.planted", "2 * vehicle.wheelbase", "mm"),
    _quantity(_QUI, "2022/quantities.yaml", "axle.planted", "axle.track - 1 mm", "mm"),
    _quantity(_TOU, "quantities.yaml", "vehicle.planted", "vehicle.kerb_mass + 1 kg", "kg"),
    _certification("certification unused", _ORR, "certifications.yaml", "id: planted,"),
    _certification("certification unused", _QUI, "2022/certifications.yaml", "id: planted,"),
    _certification("certification unused", _ORR, "2023/certifications.yaml", "id: planted,"),
    _certification("evidence unused", _ORR, "certifications.yaml", "id: planted-paper"),
    _certification("evidence unused", _QUI, "2022/certifications.yaml", "id: planted-report"),
    _certification("evidence unused", _ORR, "2023/certifications.yaml", "id: planted-report"),
)

FAULTS: Final = (
    *NEVER_APPLIES,
    *ALWAYS_MET,
    *NEVER_MET,
    *NEVER_NEEDED,
    *SWALLOWS,
    *GAPS,
    *NEVER_REACHED,
    *ROWS_DISAGREE,
    *CHECKS_DIFFER,
    *CONFLICTS,
    *UNUSED,
)
