"""A filed report made again: the same bytes, or what differs.

Equal engine, rulesets, texts and submission give equal bytes; so where the bytes differ, one
of these does, or the file was changed after it was made.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from modrules.files import read_bytes
from modrules.problems import ModrulesError, Place, Problem
from modrules.reports.as_json import render
from modrules.reports.layout import clean, heading, labelled, page, paragraph, wrap

#: A filed report larger than this is not read.
MOST_BYTES: Final = 50_000_000
#: so many places that differ are told one by one
MOST_TOLD: Final = 20


@dataclass(frozen=True, slots=True)
class Difference:
    """What differs: in words, as it was filed, and as it is now."""

    what: str
    filed: str
    now: str


def read_filed(path: Path) -> tuple[bytes, dict[str, Any]]:
    """A filed JSON report, as bytes and as data. Raises ModrulesError."""
    place = Place(str(path))
    raw = read_bytes(path, MOST_BYTES)
    try:
        data = json.loads(raw)
    except (ValueError, RecursionError) as error:
        hint = "make one with: modrules screen … --format json --output FILE"
        raise ModrulesError(Problem("this is no report in JSON", place, hint)) from error
    if not isinstance(data, dict) or not isinstance(data.get("on"), str) or "engine" not in data:
        hint = "make one with: modrules screen … --format json --output FILE"
        raise ModrulesError(Problem("this is no report of modrules", place, hint))
    return raw, data


def differences(raw: bytes, filed: Mapping[str, Any], now: Any) -> list[Difference]:
    """What differs between a filed report and the one made now; nothing where the bytes agree."""
    if raw == render(now).encode():
        return []
    found = [*_identities(filed, now)]
    places = list(_places("", filed, json.loads(render(now))))
    told = [p for p in places if re.split(r"[.\[,]", p.what)[0] not in _NAMED]
    found += told[:MOST_TOLD]
    if len(told) > MOST_TOLD:
        found.append(Difference("further places that differ", "", str(len(told) - MOST_TOLD)))
    return found or [Difference("only the layout of the file", "laid out otherwise", "as made")]


#: What is told by its identity, not place by place.
_NAMED: Final = ("engine", "rulesets", "texts", "submission")


def _identities(filed: Mapping[str, Any], now: Mapping[str, Any]) -> Iterator[Difference]:
    """What the report was made from, thing by thing."""
    if filed.get("engine") != now["engine"]:
        yield Difference("version of the engine", _version(filed), _version(now))
    given = filed.get("submission")
    digest = given.get("digest") if isinstance(given, dict) else None
    if digest != now["submission"]["digest"]:
        yield Difference("submission", str(digest), str(now["submission"]["digest"]))
    for key, one in (("rulesets", "ruleset"), ("texts", "text")):
        before, after = _by_id(filed.get(key)), _by_id(now[key])
        for name in dict.fromkeys([*before, *after]):
            if before.get(name) != after.get(name):
                yield Difference(f"{one} {name}", _identity(before, name), _identity(after, name))


def _version(report: Mapping[str, Any]) -> str:
    engine = report.get("engine")
    return str(engine.get("version")) if isinstance(engine, dict) else "not stated"


def _by_id(entries: Any) -> dict[str, Any]:
    listed = entries if isinstance(entries, list) else []
    return {str(e.get("id")): e for e in listed if isinstance(e, dict)}


def _identity(entries: Mapping[str, Any], name: str) -> str:
    entry = entries.get(name)
    if entry is None:
        return "not there"
    digest = str(entry.get("digest") or "")
    return f"edition {entry.get('edition')}, {digest or 'not supplied'}"


def _places(path: str, filed: Any, now: Any) -> Iterator[Difference]:
    """Each place at which two pieces of data differ."""
    if isinstance(filed, dict) and isinstance(now, dict):
        for key in dict.fromkeys([*filed, *now]):
            inner = f"{path}.{key}" if path else str(key)
            yield from _places(inner, filed.get(key, _ABSENT), now.get(key, _ABSENT))
    elif isinstance(filed, list) and isinstance(now, list):
        if len(filed) != len(now):
            yield Difference(f"{path}, how many", str(len(filed)), str(len(now)))
        for number, (one, other) in enumerate(zip(filed, now, strict=False)):
            yield from _places(f"{path}[{_name(one, other, number)}]", one, other)
    elif filed != now or filed.__class__ is not now.__class__:
        yield Difference(path, _shown(filed), _shown(now))


def _name(filed: Any, now: Any, number: int) -> str:
    """What tells an entry of a list from the others; its number where nothing does."""
    for keys in (("check", "subject"), ("id",), ("fact",)):
        if all(isinstance(entry, dict) and keys[0] in entry for entry in (filed, now)):
            names = [", ".join(str(entry.get(key)) for key in keys) for entry in (filed, now)]
            if names[0] == names[1]:
                return names[0]
    return str(number)


_ABSENT: Final = object()


def _shown(value: Any) -> str:
    if value is _ABSENT:
        return "not there"
    text = json.dumps(value, ensure_ascii=False)
    return text if len(text) <= 300 else f"{text[:300]}…"


def render_differences(found: list[Difference], filed: Mapping[str, Any]) -> str:
    """What differs, for the screen."""
    if not found:
        engine = clean(_version(filed))
        said = f"The same bytes, made again by modrules {engine} with the rules of {filed['on']}."
        return page(paragraph(said))
    lines = heading("Not the same")
    for one in found:
        lines += wrap(one.what)
        lines += labelled("filed", one.filed, 8, "    ") if one.filed else []
        lines += labelled("now", one.now, 8, "    ")
    return page(lines)
