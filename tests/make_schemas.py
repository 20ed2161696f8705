"""Writes the JSON Schemas in schemas/ anew, from the models and the trade's vocabulary."""

from __future__ import annotations

import json
from pathlib import Path

import modrules
from modrules.reports.schema import schema_text
from modrules.ruleset.schema import as_text, ruleset_schema
from modrules.screening.submission_schema import submission_schema

FOLDER = Path(__file__).parents[1] / "schemas"


def schemas() -> dict[str, str]:
    """The text of each schema by the name of its file."""
    submission = submission_schema(modrules.load_ruleset("trade").typed)
    return {
        "ruleset.schema.json": as_text(ruleset_schema()),
        "submission.schema.json": json.dumps(submission, indent=2, ensure_ascii=False) + "\n",
        "report.schema.json": schema_text(),
    }


if __name__ == "__main__":
    for name, text in schemas().items():
        (FOLDER / name).write_text(text, encoding="utf-8")
