"""The sheets that are opened: shipped vehicles, and one with an attack in every field."""

from __future__ import annotations

import datetime
import json
from pathlib import Path
from typing import Any, cast

import modrules
from modrules.reports import html
from modrules.reports.shape import Report

ROOT = Path(__file__).parents[2]
DAY = datetime.date(2026, 11, 1)
SHIPPED = ("needs-plates", "incomplete", "evidence-for-everything")
#: Sets a mark on the window if any of it is ever run.
ATTACK = (
    "<script>window.hacked=1</script><img src=x onerror='window.hacked=1'>"
    "\"><svg onload=window.hacked=1></title></style><a href='javascript:window.hacked=1'>x</a>"
)


def written(report: modrules.Report, path: Path) -> str:
    """The sheet as a file, and its address."""
    path.write_text(html.render(cast("Report", report.to_dict())), encoding="utf-8")
    return path.as_uri()


def shipped(name: str, folder: Path) -> str:
    file = ROOT / "rulesets" / "orrinmark" / "submissions" / f"{name}.yaml"
    ruleset = modrules.load_ruleset("orrinmark", on=DAY)
    return written(modrules.screen(file, ruleset, on=DAY), folder / f"{name}.html")


def hostile(folder: Path) -> str:
    """A ruleset and a submission that carry the attack wherever a text of theirs is free."""
    base = folder / "hostile"
    (base / "texts").mkdir(parents=True)
    clause = f"# 1 {ATTACK}\n\n1.1 A lift of up to 10 mm is free. {ATTACK}\n"
    (base / "texts" / "code.md").write_text(clause, encoding="utf-8")
    # JSON is YAML, and quotes whatever it has to.
    (base / "ruleset.yaml").write_text(json.dumps(_ruleset()), encoding="utf-8")
    ruleset = modrules.load_ruleset(base)
    return written(modrules.screen(_submission(), ruleset, on=DAY), folder / "hostile.html")


def _ruleset() -> dict[str, Any]:
    cites = {"text": "code", "clause": "1.1", "quote": ATTACK}
    said = {"caution": ATTACK, "advice": ATTACK, "cites": cites}
    return {
        "ruleset": "hostile",
        "title": f"Rules {ATTACK}",
        "edition": ATTACK,
        "in_force": {"from": "2020-01-01"},
        "builds_on": {"ruleset": "trade", "edition": "1"},
        "cautions": [ATTACK],
        "texts": [
            {"id": "code", "title": f"Code {ATTACK}", "edition": ATTACK, "file": "texts/code.md"}
        ],
        "facts": [
            {
                "id": "vehicle.badge",
                "title": f"Badge {ATTACK}",
                "type": "text",
                "identifies": True,
                "question": ATTACK,
                "measure": ATTACK,
            },
            {
                "id": "vehicle.stance",
                "title": f"Stance {ATTACK}",
                "type": "length",
                "unit": "mm",
                "range": {"from": "0 mm", "to": "900 mm"},
                "question": ATTACK,
                "measure": ATTACK,
            },
        ],
        "certifications": [
            {
                "id": "plate",
                "title": f"Plate {ATTACK}",
                "kind": "plate",
                "evidence": [{"id": "proof", "title": f"Proof {ATTACK}"}],
            }
        ],
        "checks": [
            {
                "id": "lift",
                "title": f"Lift {ATTACK}",
                "about": "suspension",
                "per": "suspension",
                "measures": "suspension.ride_height_change",
                "bands": [
                    {"up_to": "10 mm", "outcome": "complies"},
                    {"outcome": "certification required", "certification": "plate"},
                ],
                **said,
            },
            {
                "id": "judged",
                "title": f"Judged {ATTACK}",
                "about": "vehicle",
                "per": "vehicle",
                "requires": "vehicle.stance < 100 mm",
                "otherwise": "inspect",
                "question": ATTACK,
                **said,
            },
        ],
    }


def _submission() -> dict[str, Any]:
    told = dict.fromkeys(("by", "with", "condition", "source", "note"), ATTACK)
    told["on"] = "2026-01-01"  # which is held to be a date
    return {
        "submission": f"Build {ATTACK}",
        "vehicle": {
            "badge": ATTACK,
            "identification_number": ATTACK,
            "make": ATTACK,
            "mass_in_use": {"value": "2600 kg", **told},
            "kerb_mass": "2200 kg",
            "kerb_mass_as_built": "2000 kg",
        },
        "ratings": {"gross_mass": {"value": "3000 kg", **told}},
        "plates": [{"id": ATTACK, "plate_kind": "mass", "number": ATTACK, "gross_mass": "3100 kg"}],
        "axles": [{"id": ATTACK, "load": "1200 kg", "rating": "1400 kg",
                   "tyre": {"overall_diameter": "800 mm"}}],
        "listed_tyres": [{"id": ATTACK, "overall_diameter": "760 mm"}],
        "modifications": [
            {
                "id": ATTACK,
                "kind": "suspension",
                "title": ATTACK,
                "note": ATTACK,
                "fitted": "2026-01-01",
                "part_maker": ATTACK,
                "part_number": ATTACK,
                "fitted_by": ATTACK,
                "ride_height_change": {"value": "40 mm", **told},
            }
        ],
        "evidence": [
            {
                "id": ATTACK,
                "title": ATTACK,
                "certification": "plate",
                "issued": "2026-01-01",
                "issuer": ATTACK,
                "number": ATTACK,
                "note": ATTACK,
                "covers": {"modifications": [ATTACK], "vehicle": [f"1{ATTACK}"], "part": ATTACK},
            }
        ],
    }  # fmt: skip
