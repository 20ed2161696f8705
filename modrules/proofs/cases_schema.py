"""The JSON Schema of files of worked cases, made from a ruleset."""

from __future__ import annotations

from typing import Any

from modrules.ruleset.schema import DIALECT
from modrules.ruleset.typed import TypedRuleset
from modrules.ruleset.words import CASE_KEYS, OUTCOMES
from modrules.screening.submission_schema import submission_schema


def cases_schema(typed: TypedRuleset) -> dict[str, Any]:
    """The schema of worked cases of a ruleset: its checks, outcomes and facts to choose from."""
    submission = submission_schema(typed)
    outcome = {"enum": list(OUTCOMES)}
    keys: dict[str, Any] = {
        "case": {"type": "string", "description": "What the case shows, in a few words."},
        "of": {"description": "The check that it is a case of.", "enum": list(typed.flat.checks)},
        "source": {
            "type": ["string", "number"],
            "description": "The clause from which the outcome was worked out by hand.",
        },
        "given": {
            "type": "object",
            "description": "What is known of the vehicle: a part of a submission.",
            "additionalProperties": False,
            "properties": submission["properties"],
        },
        "subject": {
            "type": "string",
            "description": "Where there are several: the id of what it is about; of a pair, a+b.",
        },
        "on": {
            "type": "string",
            "format": "date",
            "description": "The day of screening; left out: half a year into the edition.",
        },
        "expect": {
            "description": "The outcome; as a list, exactly the outcomes still possible.",
            "anyOf": [outcome, {"type": "array", "items": outcome, "minItems": 1}],
        },
    }
    case = {
        "type": "object",
        "required": ["case", "of", "source", "given", "expect"],
        "additionalProperties": False,
        "properties": {key: keys[key] for key in CASE_KEYS},
    }
    return {
        "$schema": DIALECT,
        "$id": f"urn:modrules:cases:{typed.flat.id}",
        "title": "Worked cases",
        "description": f"Worked cases of {typed.flat.id} {typed.flat.edition}.",
        "type": "object",
        "required": ["cases"],
        "additionalProperties": False,
        "properties": {"cases": {"type": "array", "description": "Cases.", "items": case}},
        "$defs": submission["$defs"],
    }
