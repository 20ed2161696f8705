"""The JSON Schema of ruleset files, made from the models.

    ruleset_schema() -> dict        for editors: ruleset.yaml and the files that it lists
    file_schema(model) -> dict      for one kind of file: ``Head`` or ``Sections``
    as_text(schema) -> str          as it stands under schemas/

It is JSON Schema 2020-12. Editors use it for completion, so that every key has a description
and every closed set of words is listed.
"""

from __future__ import annotations

import json
from functools import cache
from typing import Any

from modrules.ruleset.models import Head, Sections

DIALECT = "https://json-schema.org/draft/2020-12/schema"


@cache
def file_schema(model: type[Sections]) -> dict[str, Any]:
    """The schema of a file that is a ``model``; shared, so not to be changed."""
    schema = _tidied(model.model_json_schema(by_alias=True))
    assert isinstance(schema, dict)
    return {"$schema": DIALECT, **schema}


def ruleset_schema() -> dict[str, Any]:
    """One schema for ruleset.yaml and the files that it lists.

    A file with any key of the head must have all that a head needs.
    """
    schema = dict(file_schema(Head))
    needed = schema.pop("required")
    head_only = [key for key in schema["properties"] if key not in Sections.model_fields]
    schema["title"] = "Ruleset file"
    schema["description"] = "The file ruleset.yaml of a ruleset, or one of the files that it lists."
    schema["dependentRequired"] = {
        key: [other for other in needed if other != key] for key in head_only
    }
    schema["$id"] = "urn:modrules:ruleset"
    order = ("$schema", "$id", "title", "description", "type")
    return {key: schema[key] for key in order} | schema


def as_text(schema: dict[str, Any]) -> str:
    """The schema as a file."""
    return json.dumps(schema, indent=2, ensure_ascii=False) + "\n"


def _tidied(schema: Any, *, is_key: bool = False) -> Any:
    """Without what pydantic adds and no editor needs: titles of keys, and null beside a type.

    A key that says nothing is an error in a ruleset file, so that null is no value of any.
    """
    if isinstance(schema, list):
        return [_tidied(each) for each in schema]
    if not isinstance(schema, dict):
        return schema
    tidy: dict[str, Any] = {}
    for key, value in schema.items():
        if key in ("properties", "$defs") and isinstance(value, dict):
            tidy[key] = {
                name: _tidied(each, is_key=key == "properties") for name, each in value.items()
            }
        elif key == "anyOf":
            kept = [_tidied(each) for each in value if each != {"type": "null"}]
            if len(kept) == 1:
                tidy |= {name: each for name, each in kept[0].items() if name not in schema}
            else:
                tidy[key] = kept
        elif (key == "title" and is_key) or (key == "default" and value in (None, [])):
            continue
        else:
            tidy[key] = _tidied(value)
    return tidy
