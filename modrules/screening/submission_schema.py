"""The JSON Schema of a submission, made from a vocabulary.

It serves editors (completion, hover, first checks). The full check of a submission is
made by ``submission.bind``, which knows units, ranges and what names what.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from modrules.ruleset.typed import TypedRuleset
from modrules.screening.documents import KINDS, NONE_STATED

if TYPE_CHECKING:
    from modrules.ruleset.models import Fact

_SCHEMA: Final = "https://json-schema.org/draft/2020-12/schema"
_PARTIAL_DATE: Final = r"^\d{4}(-\d{2}(-\d{2})?)?$"
#: Dates may be read as numbers (a year) by an editor, and as dates.
_DATE: Final[dict[str, Any]] = {
    "anyOf": [{"type": "string", "pattern": _PARTIAL_DATE}, {"type": "integer"}]
}
_MEASUREMENT: Final[dict[str, Any]] = {
    "description": "A value with how it was found.",
    "type": "object",
    "required": ["value"],
    "additionalProperties": False,
    "properties": {
        key: {"type": ["string", "number", "boolean"], "description": said}
        for key, said in (
            ("value", "The value, with its unit."),
            ("tolerance", "How far the value may be off, either way."),
            ("by", "Who measured it."),
            ("on", "The day on which it was measured."),
            ("with", "The instrument."),
            ("condition", "In which condition it was measured, such as full tanks."),
            ("source", "The paper or place that it was taken from."),
            ("note", "Anything else to be known of it."),
        )
    },
}
_TEXT: Final[dict[str, Any]] = {"type": ["string", "number"]}
#: One name or several: of vehicles, variants or parts.
_NAMES: Final[dict[str, Any]] = {"anyOf": [_TEXT, {"type": "array", "items": _TEXT}]}
_ID: Final[dict[str, Any]] = {"type": "string", "description": "A name of your own to refer to it."}
_NOTE: Final[dict[str, Any]] = {"type": "string", "description": "A note; it changes no answer."}
_TITLE: Final[dict[str, Any]] = {"type": "string", "description": "What it is called."}


def submission_schema(typed: TypedRuleset) -> dict[str, Any]:
    """The schema of submissions to a ruleset, as plain data in a fixed order."""
    flat = typed.flat
    properties: dict[str, Any] = {
        "submission": {"type": "string", "description": "A title."},
        "standard": {
            "type": "array",
            "description": "Systems that are declared as standard, not modified.",
            "items": {"enum": sorted({str(k.system or k.id) for k in flat.kinds.values()})},
        },
    }
    for subject in flat.subjects.values():
        if subject.id == "modification":
            continue
        body = _facts(typed, [str(subject.id)])
        body["description"] = str(subject.title)
        if subject.list is None:
            properties[str(subject.id)] = body
        else:
            title = f"{subject.title}: each that there is; [] says that there are none."
            if subject.whole_if is not None:
                title = f"{subject.title}: each that the vehicle has."
            properties[str(subject.list)] = {
                "type": "array",
                "description": title,
                "items": _entry(body, ["id"]),
            }
    properties["modifications"] = {
        "type": "array",
        "description": "What was changed. An empty list says that nothing was.",
        "items": {
            "type": "object",
            "required": ["id", "kind"],
            "properties": {
                "kind": {
                    "description": "The kind of modification.",
                    "enum": [str(kind) for kind in flat.kinds],
                }
            },
            "oneOf": [_modification(typed, str(kind.id)) for kind in flat.kinds.values()],
        },
    }
    properties["evidence"] = {
        "type": "array",
        "description": "Plates, certificates and other papers that are at hand.",
        "items": _document(typed),
    }
    return {
        "$schema": _SCHEMA,
        "$id": "https://modrules.invalid/submission.schema.json",
        "title": "modrules submission",
        "description": f"A submission, with the vocabulary of {flat.id} {flat.edition}.",
        "type": "object",
        "required": ["modifications"],
        "additionalProperties": False,
        "properties": properties,
        "$defs": {
            "measurement": _MEASUREMENT,
            "modification": _facts(typed, ["modification"]),
        },
    }


def _entry(body: dict[str, Any], required: list[str]) -> dict[str, Any]:
    extra = {"id": _ID, "note": _NOTE}
    return {**body, "required": required, "properties": {**extra, **body["properties"]}}


def _modification(typed: TypedRuleset, kind: str) -> dict[str, Any]:
    item = typed.flat.kinds[kind]
    body = _facts(typed, [kind])
    common = _facts(typed, ["modification"])["properties"]
    shared = {key: {"$ref": f"#/$defs/modification/properties/{key}"} for key in common}
    own = {
        "id": _ID,
        "kind": {"const": kind, "description": f"{item.title}: the kind of modification."},
        "title": _TITLE,
        "note": _NOTE,
        "fitted": {**_DATE, "description": "Date of fitting."},
    }
    return {
        "title": str(item.title),
        "type": "object",
        "additionalProperties": False,
        "properties": {**own, **shared, **body["properties"]},
    }


def _facts(typed: TypedRuleset, subjects: list[str]) -> dict[str, Any]:
    root: dict[str, Any] = {"type": "object", "additionalProperties": False, "properties": {}}
    for fact in typed.flat.facts.values():
        subject, *path = str(fact.id).split(".")
        if subject not in subjects:
            continue
        branch = root
        for step in path[:-1]:
            group = {
                "type": "object",
                "description": f"Facts of the {step.replace('_', ' ')}.",
                "additionalProperties": False,
                "properties": {},
            }
            branch = branch["properties"].setdefault(step, group)
        branch["properties"][path[-1]] = _fact(typed, fact)
    return root


def _fact(typed: TypedRuleset, fact: Fact) -> dict[str, Any]:
    value = _value(typed, fact)
    told = [str(fact.question)]
    if fact.unit is not None:
        told.append(f"In {fact.unit}, or with a unit.")
    if fact.condition is not None:
        told.append(f"Measured: {typed.flat.conditions[str(fact.condition)].title}.")
    if fact.measure is not None:
        told.append(str(fact.measure))
    choices = [value]
    if fact.none_stated:
        choices.append({"const": "none stated"})
    return {
        "title": str(fact.title),
        "description": " ".join(told),
        "anyOf": [*choices, {"$ref": "#/$defs/measurement"}],
    }


def _value(typed: TypedRuleset, fact: Fact) -> dict[str, Any]:
    known = typed.names.facts[str(fact.id)].type
    if known.kind == "yes_no":
        return {"enum": [True, False, "yes", "no"]}
    if known.kind == "word":
        return {"enum": list(known.words)}
    if known.kind == "date":
        return dict(_DATE)
    if known.kind == "text":
        return {"enum": list(known.words)} if known.words else dict(_TEXT)
    if known.whole:
        return {"anyOf": [{"type": "integer"}, {"type": "string", "pattern": r"^\d+$"}]}
    if fact.unit:  # a number alone would not say in which unit
        return {"type": "string", "pattern": r"^\s*[-+]?\d.*[^\s\d.±+-]"}
    return {"anyOf": [{"type": "number"}, {"type": "string", "pattern": r"^\s*[-+]?\d"}]}


def _document(typed: TypedRuleset) -> dict[str, Any]:
    certifications = typed.flat.certifications.values()
    taken = sorted({str(e.id) for item in certifications for e in item.evidence})
    named = {"type": "string"}
    held = {"enum": [str(c.id) for c in certifications]} if certifications else named
    return {
        "type": "object",
        "required": ["id"],
        "additionalProperties": False,
        "properties": {
            "id": _ID,
            "title": _TITLE,
            "kind": {"description": "What kind of document it is.", "enum": list(KINDS)},
            "certification": {"description": "The plate or certificate that it is.", **held},
            "document": {
                "description": "The piece of evidence that it is, of a certification.",
                **({"enum": taken} if taken else named),
            },
            "issued": {**_DATE, "description": "The day on which it was issued."},
            "expires": {
                "description": "The last day on which it counts.",
                "anyOf": [dict(_DATE), {"const": NONE_STATED}],
            },
            "issuer": {"type": "string", "description": "Who issued it."},
            "number": {"type": ["string", "number"], "description": "Its number."},
            "note": _NOTE,
            "covers": {
                "type": "object",
                "description": "What it is for; of what is left out it says nothing.",
                "additionalProperties": False,
                "properties": {
                    "modifications": {
                        "type": "array",
                        "description": "The ids of the modifications that it covers.",
                        "items": {"type": "string"},
                    },
                    "up_to": {
                        "type": "object",
                        "description": "Facts, each with the largest value that it covers.",
                    },
                    **{
                        key: {**_NAMES, "description": f"The {said} that it is for."}
                        for key, said in (
                            ("vehicle", "identification number of the vehicle"),
                            ("variant", "variant of the vehicle"),
                            ("part", "number of the part"),
                        )
                    },
                },
            },
        },
    }
