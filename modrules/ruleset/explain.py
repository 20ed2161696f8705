"""Why a tree is not what the format asks for: every problem, in words and with its place.

    explain(tree, model, error) -> list[Problem]
    validator_for(model)                        jsonschema's validator for such trees

The models are fast, and say little. So that what they refuse is told well, the JSON Schema of
the same file is run on the tree, and each of its errors becomes a sentence of our own; what
no schema can say (a date that does not exist) is taken from the models.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from functools import cache
from typing import Any, NamedTuple

from jsonschema import Draft202012Validator
from jsonschema.validators import extend
from pydantic import ValidationError

from modrules.problems import Place, Problem, in_order, nearest
from modrules.ruleset.models import Head, Sections
from modrules.ruleset.schema import file_schema
from modrules.ruleset.tree import Blank, Map, Node, Scalar, Seq, place_under, shortened
from modrules.ruleset.words import COUNT, DOTTED_NAME, HYPHEN_NAME, SNAKE_NAME

Path = tuple[str | int, ...]

_extend: Callable[..., Any] = extend
_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
_TYPE_NAMES = {
    "object": "keys with values",
    "array": "a list",
    "string": "a text",
    "number": "a number",
    "boolean": "true or false",
}
_FORMS = {
    f"^{SNAKE_NAME.pattern}$": "write it in lower case with underscores, such as front_bar",
    f"^{DOTTED_NAME.pattern}$": "write the subject, a dot and the name, such as axle.track_width",
    f"^{HYPHEN_NAME.pattern}$": "write it in lower case with hyphens, such as front-bar",
    f"^{COUNT.pattern}$": "write a whole number from 1 to 999",
}


class _Fault(NamedTuple):
    """An error of jsonschema: which keyword asked for what, of which node, and where it is."""

    keyword: str
    wanted: Any
    node: Any
    schema: Any
    path: Path


def explain(tree: Map, model: type[Sections], error: ValidationError) -> list[Problem]:
    """The problems for which ``model`` refused ``tree`` with ``error``, in order."""
    told: list[tuple[Path, Problem]] = []
    for found in validator_for(model).iter_errors(tree):
        for each in _innermost(found):
            fault = _Fault(
                each.validator,
                each.validator_value,
                each.instance,
                each.schema,
                tuple(each.absolute_path),
            )
            told += [(fault.path, problem) for problem in _TELLERS[fault.keyword](fault, tree)]
    at = {path for path, _ in told}
    for detail in error.errors(include_url=False, include_context=False):
        path = _written(detail["loc"], tree)
        # What the models alone know is raised as a ValueError; the rest has been told, unless
        # the schema found nothing at all.
        if (detail["type"] == "value_error" and path not in at) or not at:
            message = detail["msg"].removeprefix("Value error, ")
            told.append((path, Problem(message, _value_place(tree, path))))
    return in_order(dict.fromkeys(problem for _, problem in told))


@cache
def validator_for(model: type[Sections]) -> Any:
    """A validator for trees of files that are a ``model``, by the schema of the same file."""
    checker = Draft202012Validator.TYPE_CHECKER.redefine_many(
        {
            "object": lambda _, node: isinstance(node, Map),
            "array": lambda _, node: isinstance(node, Seq),
            "string": lambda _, node: isinstance(node, Scalar),
            "number": lambda _, node: (
                isinstance(node, Scalar) and not node.quoted and bool(_NUMBER.fullmatch(node))
            ),
            "boolean": lambda _, node: (
                isinstance(node, Scalar)
                and not node.quoted
                and node in ("true", "false", "yes", "no")
            ),
            "null": lambda _, node: isinstance(node, Blank),
        }
    )
    return _extend(Draft202012Validator, type_checker=checker)(file_schema(model))


def _innermost(error: Any) -> Iterator[Any]:
    """The errors that tell what is wrong: of alternatives, those of the one that was meant."""
    if error.validator != "anyOf":
        yield error
        return
    branches: dict[int, list[Any]] = {}
    for each in error.context or ():
        branches.setdefault(int(each.schema_path[0]), []).append(each)
    for errors in branches.values():
        if not any(each.validator == "type" and not each.path for each in errors):
            for each in errors:
                yield from _innermost(each)
            return
    yield error


def _unknown_keys(fault: _Fault, tree: Map) -> list[Problem]:
    known = list(fault.schema["properties"])
    what = _what(fault)
    problems = []
    for key in fault.node:
        if key in known:
            continue
        if known == list(Sections.model_fields) and key in Head.model_fields:
            hint = "it belongs in ruleset.yaml"
        else:
            hint = nearest(key, known) or f"its keys are: {', '.join(known)}"
        problems.append(
            Problem(
                f"{what} has no key `{shortened(key)}`", place_under(tree, (*fault.path, key)), hint
            )
        )
    return problems


def _missing_keys(fault: _Fault, tree: Map) -> list[Problem]:
    missing = [key for key in fault.wanted if key not in fault.node]
    keys = " and ".join(f"`{key}`" for key in missing)
    name = fault.node.get("id")
    place = name.place if isinstance(name, Scalar) else _value_place(tree, fault.path)
    return [Problem(f"{_what(fault)} has no {keys}", place, f"add {keys}")]


def _what(fault: _Fault) -> str:
    """What the mapping is: ``the check `tyre-speed```, ``this band``."""
    title = str(fault.schema.get("title", "part"))
    title = title[:1].lower() + title[1:]
    name = fault.node.get("id") if isinstance(fault.node, Map) else None
    return f"the {title} `{shortened(name)}`" if isinstance(name, Scalar) else f"this {title}"


def _wrong_type(fault: _Fault, tree: Map) -> list[Problem]:
    wanted = fault.wanted
    return [_misfit(fault.node, [wanted] if isinstance(wanted, str) else wanted, fault.path, tree)]


def _no_alternative(fault: _Fault, tree: Map) -> list[Problem]:
    wanted = ["array"]
    for branch in fault.wanted:
        wanted.insert(-1, str(branch.get("type", "object")))
    return [_misfit(fault.node, list(dict.fromkeys(wanted)), fault.path, tree)]


def _misfit(node: Node, wanted: Sequence[str], path: Path, tree: Map) -> Problem:
    """A node of another kind than is wanted."""
    place = _value_place(tree, path)
    key = _key(path)
    if isinstance(node, Blank):
        return Problem(f"{key} has no value", place, "write a value, or take the key out")
    if "string" in wanted:
        wanted = [kind for kind in wanted if kind not in ("number", "boolean")]
    names = " or ".join(_TYPE_NAMES[kind] for kind in wanted)
    match node:
        case Map():
            found = "keys with values are"
        case Seq():
            found = "a list is"
        case _:
            found = f"`{shortened(node)}` is"
    return Problem(f"{key} must be {names}, and {found} here", place)


def _no_such_word(fault: _Fault, tree: Map) -> list[Problem]:
    if not isinstance(fault.node, Scalar):
        return []
    allowed = [str(word) for word in fault.wanted]
    near = nearest(fault.node, allowed)
    return [
        Problem(
            f"{_key(fault.path)} cannot be `{shortened(fault.node)}`",
            _value_place(tree, fault.path),
            f"{near + ' ' if near else ''}it is one of: {', '.join(allowed)}",
        )
    ]


def _wrong_form(fault: _Fault, tree: Map) -> list[Problem]:
    place = _value_place(tree, fault.path)
    text = shortened(fault.node)
    if fault.schema.get("format") == "date":
        message = f"{_key(fault.path)} must be a date, and `{text}` is here"
        return [Problem(message, place, "write it as year-month-day, such as 2026-07-01")]
    hint = _FORMS.get(str(fault.wanted), "")
    return [Problem(f"{_key(fault.path)} cannot be `{text}`", place, hint)]


def _too_few(fault: _Fault, tree: Map) -> list[Problem]:
    place = _value_place(tree, fault.path)
    return [
        Problem(f"{_key(fault.path)} is empty", place, f"it needs {fault.wanted} or more entries")
    ]


def _too_many(fault: _Fault, tree: Map) -> list[Problem]:
    most = fault.wanted
    message = f"{_key(fault.path)} has {len(fault.node)} entries, and may have {most}"
    return [Problem(message, _value_place(tree, fault.path))]


_TELLERS: dict[str, Callable[[_Fault, Map], list[Problem]]] = {
    "additionalProperties": _unknown_keys,
    "required": _missing_keys,
    "type": _wrong_type,
    "anyOf": _no_alternative,
    "enum": _no_such_word,
    "pattern": _wrong_form,
    "minItems": _too_few,
    "maxItems": _too_many,
}


def _key(path: Path) -> str:
    """How a sentence calls what lies at ``path``: by its key, or as an entry of a list."""
    key = next((step for step in reversed(path) if isinstance(step, str)), None)
    if key is None:
        return "the file"
    return f"`{key}`" if isinstance(path[-1], str) else f"an entry of `{key}`"


def _value_place(tree: Map, path: Path) -> Place:
    """Where the value at ``path`` stands: a scalar itself, anything else by its key."""
    node: Node = tree
    for step in path:
        if isinstance(node, Map) and step in node:
            node = node[str(step)]
        elif isinstance(node, Seq) and isinstance(step, int) and step < len(node):
            node = node[step]
        else:
            break
    if isinstance(node, Scalar):
        return node.place
    return place_under(tree, path)


def _written(location: tuple[int | str, ...], tree: Map) -> Path:
    """A pydantic location as a path of the tree: without what stands for no node there."""
    node: Node = tree
    path: list[str | int] = []
    for step in location:
        if isinstance(node, Map) and step in node:
            node = node[str(step)]
        elif isinstance(node, Seq) and isinstance(step, int) and step < len(node):
            node = node[step]
        else:
            break
        path.append(step)
    return tuple(path)
