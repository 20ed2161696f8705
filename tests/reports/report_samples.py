"""Reports written by hand: one of every outcome, one clean, one open, one hostile.

Places, vehicles and rules in them are invented.
"""

from __future__ import annotations

import copy
from typing import Any

Report = dict[str, Any]

CODE = {
    "text": "code",
    "title": "The Orrinmark Code",
    "edition": "2026",
    "clause": "4.2",
    "quote": "measured over the tread",
    "status": "found",
    "excerpt": "4.2 The overall diameter of a tyre, measured over the tread, may exceed the "
    "largest on the placard by 50 mm and no more.\n\n"
    "    (a) A vehicle with off-road features may exceed it by 20 mm without a plate.",
    "lines": [40, 44],
    "digest": "sha256:11aa",
}


def mm(value: float | None, **ends: float) -> dict[str, Any]:
    return {"value": value, "unit": "mm", **ends}


def kg(value: float | None, **ends: float | None) -> dict[str, Any]:
    return {"value": value, "unit": "kg", **ends}


def limit(key: str, title: str, mass: float, **changes: Any) -> dict[str, Any]:
    base: dict[str, Any] = {
        "limit": key,
        "title": title,
        "set_by": "maker's plate",
        "document": "",
        "mass": kg(mass),
        "state": "in force",
        "in_place_of": None,
        "room": None,
        "binds": "no",
        "bound_before": "no",
        "missing": [],
    }
    return {**base, **changes}


def cite(clause: str, **changes: Any) -> dict[str, Any]:
    plain = {"clause": clause, "quote": "", "excerpt": f"{clause} Words of clause {clause}."}
    return {**CODE, **plain, "digest": f"sha256:{clause}", **changes}


def finding(check: str, title: str, possible: str | list[str], **changes: Any) -> dict[str, Any]:
    base: dict[str, Any] = {
        "ruleset": "orrinmark",
        "check": check,
        "title": title,
        "about": ["tyres"],
        "subject": "axle rear",
        "modifications": ["tyres"],
        "possible": [possible] if isinstance(possible, str) else possible,
        "message": "",
        "measured": None,
        "limit": None,
        "margin": None,
        "working": [],
        "missing": [],
        "precision": None,
        "assumed": [],
        "exemption": None,
        "reason": None,
        "citations": [cite("4.9")],
        "certification": None,
        "question": None,
        "caution": None,
        "advice": None,
    }
    unknown = set(changes) - set(base)
    assert not unknown, unknown
    return {**base, **changes}


TYRE_FACT = "axles.front.tyre.overall_diameter"
HOSE_FACT = "modifications.lift.brake_hose_slack"

FINDINGS = [
    finding(
        "tyre-load",
        "Load rating of the tyre",
        "complies",
        message="The tyre carries more.",
        measured={"value": 1450, "unit": "kg"},
        limit={"value": 1380, "unit": "kg"},
        margin={"value": 70, "unit": "kg"},
        working=["tyre_load_index(121) = 1450 kg"],
    ),
    finding(
        "tyre-diameter",
        "Overall diameter against the placard",
        "not permitted",
        message="The tyre stands 65 mm over the largest listed; 50 mm is the most.",
        measured=mm(65),
        limit=mm(50),
        margin=mm(-15),
        citations=[CODE],
        working=[
            "axle.tyre.overall_diameter - placard.largest_diameter",
            "= 830 mm - 765 mm",
            "= 65 mm",
        ],
    ),
    finding(
        "tyre-diameter",
        "Overall diameter against the placard",
        ["complies", "certification required", "not permitted"],
        subject="axle front",
        message="The overall diameter of the front tyre is not known.",
        measured=mm(None, low=-365, high=535),
        limit=mm(50),
        citations=[CODE],
        margin=mm(None, low=-485, high=415),
        missing=[TYRE_FACT],
        certification="running-gear",
    ),
    finding(
        "ride-height-lift",
        "Lift of the suspension",
        "certification required",
        about=["suspension"],
        subject="vehicle",
        modifications=["lift"],
        message="A lift of 62 mm is over 50 mm and up to 75 mm.",
        measured=mm(62),
        limit=mm(50),
        margin=mm(-12),
        certification="running-gear",
        citations=[cite("5.2", quote="over 50 mm", status="changed")],
    ),
    finding(
        "lift-and-tyres",
        "Lift and larger tyres together",
        ["certified", "not permitted"],
        about=["suspension", "tyres"],
        subject="vehicle",
        modifications=["lift", "tyres"],
        message="The two together raise the vehicle by 77 mm, known within 4 mm.",
        measured=mm(None, low=73, high=81),
        limit=mm(75),
        margin=mm(None, low=-6, high=2),
        precision="the ride height must be known to within 2 mm",
        certification="engineer-full",
        citations=[cite("5.7", status="not supplied", excerpt="", lines=None, digest="")],
    ),
    finding(
        "brake-hoses",
        "Brake hoses at full droop",
        "inspect",
        about=["suspension"],
        subject="vehicle",
        modifications=["lift"],
        message="The code leaves it to judgement.",
        question="Do the hoses stay slack at full droop, wheels turned both ways?",
        citations=[cite("6.1")],
    ),
    finding(
        "bar-airbags",
        "Front bar and airbags",
        "caution",
        about=["front_bar"],
        subject="vehicle",
        modifications=["bar"],
        message="The bar is declared compatible.",
        caution="Keep the maker's declaration in the vehicle.",
        citations=[cite("9.3")],
    ),
    finding(
        "tank-mounting",
        "Mounting of the fuel tank",
        "certified",
        about=["fuel_tank"],
        subject="vehicle",
        modifications=["tank"],
        message="Plate 1234 covers the tank.",
        certification="fuel-system",
        citations=[cite("8.4")],
    ),
    finding(
        "tyre-speed",
        "Speed symbol",
        "exempt",
        message="140 km/h is under 160 km/h.",
        exemption="off-road features, and the symbol is at least 140 km/h (clause 4.5(2))",
        citations=[cite("4.5(1)"), cite("4.5(2)")],
    ),
    finding(
        "track-width",
        "Track over the standard track",
        "complies",
        assumed=["axles.rear.track"],
        message="No track in range is too wide.",
        citations=[cite("4.7", status="gone", excerpt="", lines=None, digest="")],
    ),
    finding(
        "gross-mass",
        "Gross mass within the rating",
        ["complies", "not permitted"],
        about=["vehicle"],
        subject="vehicle",
        modifications=[],
        message="The gross mass cannot be worked out.",
        reason="no row of table axle_share for 4 axles",
        citations=[cite("7.1")],
    ),
    finding(
        "towing-speed",
        "Speed while towing",
        "not applicable",
        about=["tow_bar"],
        subject="vehicle",
        modifications=[],
        citations=[cite("12.2")],
    ),
    finding(
        "winch-rope",
        "Rope of the winch",
        "not applicable",
        about=["winch"],
        subject="winch w1",
        modifications=[],
        citations=[cite("13.1")],
    ),
]

FULL: Report = {
    "engine": {"name": "modrules", "version": "0.1.0"},
    "on": "2026-11-01",
    "rulesets": [
        {
            "id": "orrinmark",
            "title": "Orrinmark light vehicle modification rules",
            "edition": "2026-1",
            "digest": "sha256:aaaa",
            "in_force": {"from": "2026-07-01", "up_to": None},
        },
    ],
    "texts": [
        {
            "id": "code",
            "title": "The Orrinmark Code",
            "edition": "2026",
            "digest": "sha256:bbbb",
            "supplied": True,
        },
        {
            "id": "guide",
            "title": "The Orrinmark Guide",
            "edition": "",
            "digest": "",
            "supplied": False,
        },
    ],
    "submission": {
        "title": "Touring build of an Ostrel Quorrin",
        "digest": "sha256:cccc",
        "vehicle": {"make": "Ostrel", "model": "Quorrin", "built": "2021-03"},
        "unidentified": ["Category"],
        "standard": ["Wheels"],
    },
    "answer": {"best": "not permitted", "worst": "not permitted"},
    "findings": FINDINGS,
    "modifications": [
        {
            "id": "tyres",
            "kind": "tyres",
            "title": "Tyres",
            "answer": {"best": "not permitted", "worst": "not permitted"},
            "covered": True,
            "planned": True,
            "facts": [],
            "look_at": [],
            "certifications": [
                {"id": "running-gear", "state": "required"},
                {"id": "engineer-full", "state": "open"},
            ],
            "missing": [TYRE_FACT],
        },
        {
            "id": "lift",
            "kind": "suspension",
            "title": "Suspension",
            "answer": {"best": "certification required", "worst": "not permitted"},
            "covered": True,
            "planned": True,
            "facts": [],
            "look_at": [],
            "certifications": [
                {"id": "running-gear", "state": "required"},
                {"id": "engineer-full", "state": "open"},
            ],
            "missing": [HOSE_FACT],
        },
        {
            "id": "bar",
            "kind": "front_bar",
            "title": "Front bar",
            "answer": {"best": "caution", "worst": "caution"},
            "covered": True,
            "planned": True,
            "facts": [],
            "look_at": [],
            "certifications": [],
            "missing": [],
        },
        {
            "id": "tank",
            "kind": "fuel_tank",
            "title": "Fuel tank",
            "answer": {"best": "certified", "worst": "certified"},
            "covered": True,
            "planned": True,
            "facts": [],
            "look_at": [],
            "certifications": [{"id": "fuel-system", "state": "held"}],
            "missing": [],
        },
        {
            "id": "canopy",
            "kind": "canopy",
            "title": "Canopy or tray",
            "answer": None,
            "covered": False,
            "planned": True,
            "facts": [],
            "look_at": [],
            "certifications": [],
            "missing": [],
        },
    ],
    "certifications": [
        {
            "id": "fuel-system",
            "title": "Fuel system plate",
            "kind": "plate",
            "state": "held",
            "because_of": [{"check": "tank-mounting", "subject": "vehicle"}],
            "issued_by": "a certifier of the Office",
            "approval_before_work": False,
            "citations": [],
            "evidence": [
                {
                    "document": "pressure-test",
                    "title": "Pressure test of the tank",
                    "supplied": True,
                    "by": "doc-3",
                    "given_by": "",
                    "settle": "after_fitting",
                }
            ],
            "note": "",
        },
        {
            "id": "engineer-full",
            "title": "Engineer's certificate",
            "kind": "certificate",
            "state": "open",
            "because_of": [{"check": "lift-and-tyres", "subject": "vehicle"}],
            "issued_by": "a certifier of the Office",
            "approval_before_work": False,
            "citations": [],
            "evidence": [
                {
                    "document": "road-test",
                    "title": "Road test of lane changes",
                    "supplied": False,
                    "by": None,
                    "given_by": "",
                    "settle": "after_fitting",
                }
            ],
            "note": "",
        },
        {
            "id": "running-gear",
            "title": "Running gear plate",
            "kind": "plate",
            "state": "required",
            "because_of": [
                {"check": "ride-height-lift", "subject": "vehicle"},
                {"check": "tyre-diameter", "subject": "axle front"},
            ],
            "issued_by": "a certifier of the Office",
            "approval_before_work": False,
            "citations": [],
            "evidence": [
                {
                    "document": "wheel-alignment",
                    "title": "Wheel alignment report after the work",
                    "supplied": False,
                    "by": None,
                    "given_by": "",
                    "settle": "after_fitting",
                },
                {
                    "document": "lamp-aim",
                    "title": "Lamp aim report",
                    "supplied": False,
                    "by": None,
                    "given_by": "the workshop",
                    "settle": "before_buying",
                },
                {
                    "document": "photographs",
                    "title": "Photographs at full droop",
                    "supplied": True,
                    "by": "doc-2",
                    "given_by": "",
                    "settle": "after_fitting",
                },
            ],
            "note": "",
        },
    ],
    "documents": [
        {
            "id": "doc-2",
            "title": "Photographs",
            "what": "Photograph, put forward as: Photographs at full droop",
            "issuer": "Workshop at Pell Cross",
            "number": "17",
            "issued": "2026-05-03",
            "expires": None,
            "covers": ["modification lift"],
            "used_for": ["Running gear plate: Photographs at full droop"],
            "problems": [],
            "certification": None,
            "void": [],
            "room": [],
        },
        {
            "id": "doc-4",
            "title": "Plate 9",
            "what": "Running gear plate",
            "issuer": "",
            "number": "",
            "issued": "2024-05-03",
            "expires": "2025-05-03",
            "covers": ["modification lift", "change of ride height up to 40 mm"],
            "used_for": [],
            "problems": ["It expired on 2025-05-03."],
            "certification": "running-gear",
            "void": ["It expired on 2025-05-03."],
            "room": [
                {
                    "fact": "modifications.lift.ride_height_change",
                    "title": "Change of ride height",
                    "covered": {"value": 40, "unit": "mm"},
                    "now": {"value": 47, "unit": "mm"},
                    "room": {"value": -7, "unit": "mm"},
                    "within": False,
                }
            ],
        },
    ],
    "loads": [
        {
            "ruleset": "orrinmark",
            "load": "gross-mass",
            "title": "Gross mass",
            "subject": "vehicle",
            "certain": True,
            "mass": kg(3100),
            "made_up_of": [
                {"title": "kerb mass", "mass": kg(2100)},
                {"title": "people and load", "mass": kg(1000)},
            ],
            "ledger": kg(3080),
            "residual": kg(20),
            "by_ledger": False,
            "room": kg(200),
            "left_for": None,
            "limits": [
                limit(
                    "maker",
                    "Gross rating of the maker",
                    3050,
                    state="replaced",
                    room=kg(-50),
                    bound_before="yes",
                ),
                limit(
                    "upgrade",
                    "Gross rating of the upgrade",
                    3300,
                    in_place_of="maker",
                    set_by="plate of the upgrade",
                    document="plate 9",
                    room=kg(200),
                    binds="yes",
                ),
            ],
            "missing": [],
        },
        {
            "ruleset": "orrinmark",
            "load": "for-people-and-gear",
            "title": "Vehicle with full tanks, nobody aboard",
            "subject": "vehicle",
            "certain": True,
            "mass": kg(2860),
            "made_up_of": [],
            "ledger": None,
            "residual": None,
            "by_ledger": False,
            "room": kg(190),
            "left_for": {
                "title": "people and gear",
                "one": "person",
                "many": "people",
                "each": kg(80),
                "source": "common practice, no published source",
                "at_least": 2,
                "at_most": 2,
            },
            "limits": [limit("maker", "Gross rating of the maker", 3050, room=kg(190))],
            "missing": [],
        },
    ],
    "measurements": [
        {
            "fact": "vehicle.kerb_mass",
            "title": "Kerb mass",
            "value": "2100 kg",
            "quantity": {"value": 2100, "unit": "kg"},
            "by": "I. Marrowby",
            "on": "2026-09-01",
            "with": "Weighbridge at Pell Cross",
            "condition": "Full tanks, nobody aboard",
            "source": "",
            "note": "",
            "wanted": "Full tanks and tools, nobody aboard, no load",
        },
    ],
    "missing": [
        {
            "fact": TYRE_FACT,
            "title": "Overall diameter of the tyre",
            "question": "How tall is the front tyre?",
            "measure": "Stand the vehicle on level ground with the tyre at placard pressure and "
            "measure from the ground to the top of the tread.",
            "unit": "mm",
            "given": False,
            "now": "not known",
            "precision": "",
            "settle": "before_buying",
            "line": "overall_diameter: 810 mm ± 20 mm",
            "under": "tyre in {id: front, ...} in axles",
            "decides": 1,
            "findings": ["tyre-diameter"],
        },
        {
            "fact": HOSE_FACT,
            "title": "Slack of the brake hoses",
            "question": "",
            "measure": "",
            "unit": "mm",
            "given": False,
            "now": "not known",
            "precision": "",
            "settle": None,
            "line": "brake_hose_slack: 67 mm ± 1 mm",
            "under": "{id: lift, ...} in modifications",
            "decides": 0,
            "findings": [],
        },
    ],
    "not_looked_at": [
        {"system": "brakes", "title": "Brakes"},
        {"system": "steering", "title": "Steering"},
    ],
    "cautions": ["These rules are invented and bind nobody."],
}


def full() -> Report:
    """Every outcome, open findings, missing facts, evidence of every state."""
    return copy.deepcopy(FULL)


def clean() -> Report:
    """Nothing to act on."""
    report = full()
    report["findings"] = [f for f in report["findings"] if f["possible"] == ["complies"]][:1]
    report["answer"] = {"best": "complies", "worst": "complies"}
    report["modifications"] = [
        {
            **report["modifications"][0],
            "certifications": [],
            "answer": report["answer"],
            "missing": [],
        }
    ]
    report.update(
        certifications=[],
        documents=[],
        loads=[],
        measurements=[],
        missing=[],
        not_looked_at=[],
        cautions=[],
    )
    return report


def undecided() -> Report:
    """Between *complies* and *not permitted*."""
    report = full()
    keep = ("gross-mass", "tyre-load")
    report["findings"] = [f for f in report["findings"] if f["check"] in keep]
    report["findings"].append(
        finding(
            "tyre-diameter",
            "Overall diameter against the placard",
            ["complies", "certification required"],
            subject="axle front",
            citations=[CODE],
            missing=[TYRE_FACT],
            certification="running-gear",
        )
    )
    report["answer"] = {"best": "complies", "worst": "not permitted"}
    report["modifications"] = [
        {
            **report["modifications"][0],
            "answer": {"best": "complies", "worst": "certification required"},
        }
    ]
    report["certifications"] = [{**report["certifications"][2], "state": "open"}]
    report["missing"] = report["missing"][:1]
    return report


def crowded() -> Report:
    """Far more of everything than a screen holds."""
    report = full()
    long = "with a title that goes on and on for a good deal longer than it needs to"
    one = report["certifications"][2]
    report["certifications"] = [
        {**one, "id": f"plate-{n}", "title": f"Plate number {n} {long}"} for n in range(20)
    ]
    report["submission"]["title"] = f"A build {long} {long}"
    report["rulesets"][0]["title"] = f"Rules {long} {long}"
    report["not_looked_at"] = [{"system": f"s{n}", "title": f"System {n}"} for n in range(30)]
    report["modifications"] *= 9
    report["missing"] = [
        {
            **report["missing"][0],
            "question": f"How tall is {n} {long} {long}?",
            "fact": f"axles.rear{n}.tyre.overall_diameter",
        }
        for n in range(40)
    ]
    for entry in report["findings"]:
        entry["title"] += f" {long}"
        entry["citations"] = [{**c, "title": f"The Code {long}"} for c in entry["citations"]]
    return report


def two_rulesets() -> Report:
    """One submission against two rulesets, with different answers."""
    report = full()
    report["rulesets"].append({**report["rulesets"][0], "id": "velmere", "title": "Velmere rules"})
    report["findings"].append(
        {**finding("lift", "Lift", ["complies", "inspect"]), "ruleset": "velmere"}
    )
    return report


#: Tries to clear the screen, turn the writing round, and add a heading and an answer.
ATTACK = (
    "x\x1b[2J\u202eesrever\u2066\nANSWER         COMPLIES\r\n\x9b1mWHY\x07\x00\u2028PLATES none\x7f"
)


#: Keys of a report whose texts come out of a closed set of words.
_ENDS = {"from", "up_to", "best", "worst", "possible"}
CLOSED = {"state", "status", "kind", "on", "binds", "bound_before", "settle"} | _ENDS


def hostile() -> Report:
    """The attack in every text of the report that could come from a stranger."""

    def attack(value: Any, key: str = "") -> Any:
        if isinstance(value, dict):
            return {k: attack(v, k) for k, v in value.items()}
        if isinstance(value, list):
            return [attack(item, key) for item in value]
        if isinstance(value, str) and key not in CLOSED:
            return value + ATTACK
        return value

    report = attack(full())
    report["submission"]["vehicle"] = {f"make{ATTACK}": f"Ostrel{ATTACK}"}
    assert isinstance(report, dict)
    return report


ALL = {
    "full": full,
    "clean": clean,
    "undecided": undecided,
    "crowded": crowded,
    "two_rulesets": two_rulesets,
    "hostile": hostile,
}
