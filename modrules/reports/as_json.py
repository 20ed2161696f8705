"""The report as a JSON file: equal reports give equal bytes.

The keys stand in the order in which ``shape.py`` declares them, and the labels of the
vehicle in the order of the alphabet. The file is plain ASCII (other characters are
escaped), so that showing it on a screen cannot be used to fake a screen.
"""

from __future__ import annotations

import json
from functools import cache
from typing import Any, get_args, get_origin, get_type_hints, is_typeddict

from modrules.reports.shape import Report


def render(report: Report) -> str:
    """The report as JSON text that ends in a newline. Raises ValueError on NaN or infinity."""
    ordered = _ordered(report, Report)
    text = json.dumps(ordered, indent=2, ensure_ascii=True, allow_nan=False) + "\n"
    return text.replace("\x7f", "\\u007f")  # the one control character that JSON lets through


def _ordered(value: Any, hint: Any) -> Any:
    """The value with its keys in the order of its declared type, ``hint``."""
    if isinstance(value, dict):
        shape = _first(hint, is_typeddict)
        if shape is None:
            return {key: value[key] for key in sorted(value)}
        hints = _hints(shape)
        known = [key for key in hints if key in value]
        # A key that is not declared is kept: dropping it would hide it from the schema.
        others = sorted(key for key in value if key not in hints)
        return {key: _ordered(value[key], hints.get(key)) for key in known + others}
    if isinstance(value, list | tuple):
        found = _first(hint, _is_list)
        item = get_args(found)[0] if found is not None else None
        if item in (str, int):
            return list(value)
        return [_ordered(element, item) for element in value]
    return value


def _first(hint: Any, wanted: Any) -> Any:
    """The part of a type that ``wanted`` accepts, looking through ``X | None`` and notes."""
    if wanted(hint):
        return hint
    for part in get_args(hint):
        if (found := _first(part, wanted)) is not None:
            return found
    return None


def _is_list(hint: Any) -> bool:
    return bool(get_origin(hint) == list)  # noqa: E721


@cache
def _hints(shape: Any) -> dict[str, Any]:
    return get_type_hints(shape)
