"""The JSON Schema of ruleset files, made from the models.

    ruleset_schema() -> dict        for editors: ruleset.yaml and the files that it lists
    schema_of(flat) -> dict         the same, which offers the names that a ruleset knows
    file_schema(model) -> dict      for one kind of file: ``Head`` or ``Sections``
    as_text(schema) -> str          as it stands under schemas/

It is JSON Schema 2020-12. Editors use it for completion, so that every key has a description
and every closed set of words is listed.
"""

from __future__ import annotations

import json
from functools import cache
from typing import TYPE_CHECKING, Any

from modrules.ruleset.models import Head, Sections

if TYPE_CHECKING:
    from modrules.ruleset.flat import FlatRuleset

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


def schema_of(flat: FlatRuleset) -> dict[str, Any]:
    """The schema of a ruleset's files, with the names that it knows to choose from.

    They are offered and not demanded, since the next check may need one that is not there yet.
    """
    schema: dict[str, Any] = json.loads(json.dumps(ruleset_schema()))
    schema["$id"] = f"urn:modrules:ruleset:{flat.id}"
    subjects = [*flat.subjects, *flat.kinds]
    for (model, key), names in {
        ("Check", "about"): ["vehicle", *flat.kinds],
        ("Check", "per"): subjects,
        ("Check", "certification"): flat.certifications,
        ("Band", "certification"): flat.certifications,
        ("Certification", "covered_by"): flat.certifications,
        ("Citation", "text"): flat.texts,
        ("Fact", "condition"): flat.conditions,
        ("Fact", "words"): flat.word_sets,
        ("Fact", "listed_in"): flat.tables,
        ("Key", "words"): flat.word_sets,
        ("Column", "words"): flat.word_sets,
    }.items():
        keys = schema["$defs"][model]["properties"]
        keys[key] = _offering(keys[key], list(map(str, names)))
    return schema


def _offering(schema: dict[str, Any], names: list[str]) -> dict[str, Any]:
    """The schema of one key, in which every text may be chosen from ``names``."""
    if schema.get("type") == "string":
        about = {key: value for key, value in schema.items() if key in ("description", "default")}
        plain = {key: value for key, value in schema.items() if key not in about}
        return {**about, "anyOf": [{"enum": names}, plain]} if names else schema
    return {
        key: _offering(value, names)
        if isinstance(value, dict)
        else [_offering(each, names) for each in value]
        if key == "anyOf"
        else value
        for key, value in schema.items()
    }


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
