"""The JSON Schema (2020-12) of the report, made from the types in ``shape.py``.

``python -m modrules.reports.schema > schemas/report.schema.json`` writes the file.
"""

from __future__ import annotations

import json
import types
from typing import (
    Annotated,
    Any,
    Literal,
    NotRequired,
    Union,
    get_args,
    get_origin,
    get_type_hints,
    is_typeddict,
)

from modrules.reports.shape import Report

Schema = dict[str, Any]

_PLAIN: dict[object, Schema] = {
    str: {"type": "string"},
    bool: {"type": "boolean"},
    int: {"type": "integer"},
    float: {"type": "number"},
    type(None): {"type": "null"},
}


def report_schema() -> Schema:
    """The schema of the JSON report: strict, no key that is not declared."""
    definitions: dict[str, Schema] = {}
    top = _object(Report, definitions)
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": "urn:modrules:report",
        "title": "modrules report",
        "description": "What the rulesets say about one submission on one date. "
        "A screening aid and no certificate.",
        **top,
        "$defs": dict(sorted(definitions.items())),
    }


def schema_text() -> str:
    """The schema as the file under ``schemas/`` holds it."""
    return json.dumps(report_schema(), indent=2) + "\n"


def _object(shape: type, definitions: dict[str, Schema]) -> Schema:
    required: list[str] = []
    properties: dict[str, Schema] = {}
    for key, hint in get_type_hints(shape, include_extras=True).items():
        if get_origin(hint) is NotRequired:
            (hint,) = get_args(hint)
        else:
            required.append(key)
        properties[key] = _schema(hint, definitions)
    return {
        "type": "object",
        "additionalProperties": False,
        "required": required,
        "properties": properties,
    }


def _schema(hint: Any, definitions: dict[str, Schema]) -> Schema:
    if hint in _PLAIN:
        return dict(_PLAIN[hint])
    if is_typeddict(hint):
        name = hint.__name__
        if name not in definitions:
            definitions[name] = _object(hint, definitions)
        return {"$ref": f"#/$defs/{name}"}
    origin, arguments = get_origin(hint), get_args(hint)
    if origin is Annotated:
        # Where null is allowed too, further keywords still bind only what they are about.
        made = _schema(arguments[0], definitions)
        for note in arguments[1:]:
            made.update({"description": note} if isinstance(note, str) else dict(note))
        return made
    if origin is Literal:
        return {"enum": list(arguments)}
    if origin is list:
        return {"type": "array", "items": _schema(arguments[0], definitions)}
    if origin is dict:
        return {"type": "object", "additionalProperties": _schema(arguments[1], definitions)}
    if origin in (Union, types.UnionType):
        return _union([_schema(argument, definitions) for argument in arguments])
    raise TypeError(f"no JSON Schema for {hint!r}")


def _union(parts: list[Schema]) -> Schema:
    """One of several: plain types join in one ``type``, anything else in ``anyOf``."""
    if all(isinstance(part.get("type"), str) for part in parts):
        names = [part["type"] for part in parts]
        # JSON Schema counts every integer as a number.
        names = [name for name in names if not (name == "integer" and "number" in names)]
        merged: Schema = {}
        for part in parts:
            merged.update(part)
        return {**merged, "type": names[0] if len(names) == 1 else names}
    return {"anyOf": parts}


if __name__ == "__main__":
    print(schema_text(), end="")
