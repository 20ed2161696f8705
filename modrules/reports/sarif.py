"""The report as SARIF 2.1.0 (OASIS), for tools that show findings beside a file.

Each check is a rule with help, each finding a result at its places in the submission file.
Nothing in it depends on the day or the machine: equal reports give equal bytes.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from modrules.reports.layout import clean
from modrules.reports.places import Spot, addresses_of
from modrules.reports.reading import doubtful, ends, is_open, none_applies
from modrules.reports.shape import RANK, Finding, Report
from modrules.reports.wording import (
    NO_CERTIFICATE,
    answer_line,
    check_of,
    clause_of,
    margin,
    number_of,
    outcome_line,
    place_of,
    quantity,
    subject_of,
)

SCHEMA = (
    "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
)

#: Kind and level of a decided result; only a failure may have a level.
_KIND: dict[str, tuple[str, str]] = {
    "not applicable": ("notApplicable", "none"),
    "complies": ("pass", "none"),
    "exempt": ("pass", "none"),
    "certified": ("pass", "none"),
    "caution": ("informational", "none"),
    "inspect": ("review", "none"),
    "certification required": ("fail", "warning"),
    "not permitted": ("fail", "error"),
}


def render(report: Report, uri: str = "", places: Mapping[str, Spot] | None = None) -> str:
    """The report as SARIF; ``uri`` is the submission file, ``places`` the spots in it."""
    rules = _rules(report)
    index = {rule["id"]: number for number, rule in enumerate(rules)}
    engine = report["engine"]
    run: dict[str, Any] = {
        "tool": {
            "driver": {
                "name": engine["name"],
                "version": engine["version"],
                "shortDescription": {"text": NO_CERTIFICATE},
                "rules": rules,
            }
        },
        "columnKind": "unicodeCodePoints",
        "results": [_result(finding, index, uri, places or {}) for finding in report["findings"]],
        "properties": {
            "on": report["on"],
            "answer": answer_line(report["answer"]),
            "rulesets": [
                f"{one['id']} {one['edition']} {one['digest']}" for one in report["rulesets"]
            ],
            "submission": report["submission"]["digest"],
            "notLookedAt": [one["system"] for one in report["not_looked_at"]],
            "notCovered": [one["id"] for one in report["modifications"] if not one["covered"]],
            "noneApplies": [one["id"] for one, _ in none_applies(report)],
            "cautions": report["cautions"],
        },
    }
    return log_of(run)


def log_of(run: Mapping[str, Any]) -> str:
    """One run as a whole log, in nothing but ASCII."""
    log = {"$schema": SCHEMA, "version": "2.1.0", "runs": [run]}
    text = json.dumps(log, indent=2, ensure_ascii=True, allow_nan=False) + "\n"
    return text.replace("\x7f", "\\u007f")


def _rules(report: Report) -> list[dict[str, Any]]:
    """One rule per check, in the order of the findings; its help names the clauses."""
    rules: dict[str, dict[str, Any]] = {}
    for finding in report["findings"]:
        key = check_of(finding)
        if key in rules:
            continue
        help_lines = [
            clause_of(one)
            + (f", {place}" if (place := place_of(one)) else "")
            + (f': "{clean(one["quote"])}"' if one["quote"] else "")
            for one in finding["citations"]
        ]
        rules[key] = {
            "id": key,
            "shortDescription": {"text": clean(finding["title"]) or key},
            "help": {"text": "\n".join([*help_lines, NO_CERTIFICATE])},
        }
    return list(rules.values())


def _result(
    finding: Finding, index: Mapping[str, int], uri: str, places: Mapping[str, Spot]
) -> dict[str, Any]:
    best, worst = ends(finding)
    # An open result has no level, so the worst end is told in words and as a number.
    kind, level = ("open", "none") if is_open(finding) else _KIND[best]
    key = check_of(finding)
    return {
        "ruleId": key,
        "ruleIndex": index[key],
        "kind": kind,
        "level": level,
        "rank": round(100 * RANK[worst] / RANK["not permitted"], 1),
        "message": {"text": _message(finding)},
        "locations": _locations(finding, uri, places),
        "properties": {
            "possible": list(finding["possible"]),
            "missing": list(finding["missing"]),
            "working": list(finding["working"]),
        },
    }


def _message(finding: Finding) -> str:
    parts = [f"{outcome_line(finding)}: {clean(finding['title'])}, {subject_of(finding)}."]
    if finding["message"]:
        parts.append(clean(finding["message"]))
    if finding["measured"] and finding["limit"]:
        words = f"Measured {quantity(finding['measured'])}, limit {quantity(finding['limit'])}"
        room = f", {margin(finding['margin'])}" if finding["margin"] else ""
        parts.append(f"{words}{room}.")
    if changed := doubtful(finding):
        parts.append(f"Rests on changed text: {', '.join(map(number_of, changed))}.")
    return " ".join(parts)


def _locations(finding: Finding, uri: str, places: Mapping[str, Spot]) -> list[dict[str, Any]]:
    artifact = {"artifactLocation": {"uri": uri}} if uri else {}
    found = addresses_of(finding, places)
    made: list[dict[str, Any]] = []
    for address in found:
        spot = places[address]
        region = {"startLine": spot.line, "startColumn": spot.column}
        made.append(
            {
                **({"physicalLocation": {**artifact, "region": region}} if uri else {}),
                "logicalLocations": [{"fullyQualifiedName": address}],
            }
        )
    if made:
        return made
    where = {"logicalLocations": [{"fullyQualifiedName": finding["subject"] or "vehicle"}]}
    return [{**({"physicalLocation": artifact} if uri else {}), **where}]
