"""A ruleset of one place that exists nowhere: a lift takes a plate, approved before the work."""

from __future__ import annotations

import datetime
from functools import cache
from pathlib import Path
from tempfile import mkdtemp
from typing import Any

import modrules

RULESET = """\
ruleset: fennholt
title: Fennholt rules
edition: "1"
in_force: {from: 2020-01-01}
builds_on: {ruleset: trade, edition: "1"}
texts:
  - {id: code, title: Fennholt code, edition: "1"}
certifications:
  - id: lift-plate
    title: Lift plate
    kind: plate
    approval_before_work: true
    covered_by: [full]
    evidence:
      - {id: spring-declaration, title: Declaration of the maker of the springs}
      - {id: alignment, title: Alignment report}
  - {id: full, title: Full certificate, kind: certificate}
  - {id: tank-plate, title: Tank plate, kind: plate, evidence: [{id: leak, title: Leak test}]}
checks:
  - id: lift
    title: Lift
    about: suspension
    per: suspension
    measures: suspension.ride_height_change
    bands:
      - {up_to: 10 mm, outcome: complies}
      - {outcome: certification required, certification: lift-plate}
    cites: {text: code, clause: "1"}
"""
DAY = datetime.date(2026, 11, 1)
VEHICLE = {"identification_number": "FH 55 A", "variant": "Long"}
LIFT = {
    "id": "lift",
    "kind": "suspension",
    "fitted": "2026-06-01",
    "part_number": "OS-40",
    "ride_height_change": "40 mm",
}
PLATE = {
    "id": "plate",
    "title": "Plate 7",
    "certification": "lift-plate",
    "issued": "2026-05-01",
    "covers": {"modifications": ["lift"], "vehicle": "FH55A"},
}


@cache
def ruleset() -> modrules.Ruleset:
    folder = Path(mkdtemp(prefix="fennholt"))
    (folder / "ruleset.yaml").write_text(RULESET, encoding="utf-8")
    return modrules.load_ruleset(folder)


def submission(
    *documents: dict[str, Any], vehicle: Any = VEHICLE, lift: Any = LIFT
) -> dict[str, Any]:
    return {
        "submission": "A lift",
        "vehicle": dict(vehicle),
        "modifications": [dict(lift)],
        "evidence": [dict(one) for one in documents],
    }


def screened(*documents: dict[str, Any], **more: Any) -> modrules.Report:
    return modrules.screen(submission(*documents, **more), ruleset(), on=DAY)


def changed(base: dict[str, Any], *without: str, **more: Any) -> dict[str, Any]:
    """A copy with some keys changed; ``covers_`` before a key stands for ``covers: {key: …}``."""
    made = {key: value for key, value in base.items() if key not in without}
    covers = dict(made.get("covers", {}))
    for key, value in more.items():
        if key.startswith("covers_"):
            covers[key.removeprefix("covers_")] = value
        else:
            made[key] = value
    return {**made, "covers": covers} if covers else made
