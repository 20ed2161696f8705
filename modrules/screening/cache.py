"""Rulesets made ready once and kept on disk, found again by the digests of their files.

An entry names the files that it was made from with their digests; if one of them has
changed, or the engine has, the entry is not used. What is kept is read with pickle, which
the folder allows: it belongs to the user alone (``modrules.kept``). A fault here never
stops the work: the ruleset is then made ready anew.
"""

from __future__ import annotations

import datetime
import marshal
import pickle
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import fields
from hashlib import sha256
from pathlib import Path
from types import MappingProxyType
from typing import Any

from modrules import kept
from modrules.files import read_bytes
from modrules.language.tree import Names
from modrules.ruleset.flat import FlatRuleset
from modrules.ruleset.names import Vocabulary, functions
from modrules.ruleset.source import MAX_BYTES, collector_paused
from modrules.ruleset.typed import TypedRuleset
from modrules.ruleset.words import SECTIONS
from modrules.screening.compile import Chunk
from modrules.screening.prepared import Ruleset


class Kept:
    """An item of a kept ruleset: the attributes of its model, without the model."""

    def __init__(self, values: dict[str, Any]) -> None:
        self.__dict__.update(values)

    def __setattr__(self, name: str, value: Any) -> None:
        raise AttributeError(f"a ruleset can't be changed ({name})")


def find(folder: Path, on: datetime.date) -> Ruleset | None:
    """The ruleset kept for a folder and a date, if nothing that it was made from has changed."""
    with suppress(Exception):
        entry = kept.find(_name(folder, on))
        if entry is None:
            return None
        told, body = entry
        if all(_digest(Path(path)) == digest for path, digest in told["files"].items()):
            with collector_paused():
                return _thawed(pickle.loads(body))
    return None


def keep(ruleset: Ruleset, files: Iterable[Path], folder: Path, on: datetime.date) -> None:
    """Keeps a ruleset that was made from ``files``."""
    with suppress(Exception):
        listed = {str(path.resolve()): _digest(path) for path in sorted({*files})}
        body = pickle.dumps(_frozen(ruleset), protocol=pickle.HIGHEST_PROTOCOL)
        kept.keep(_name(folder, on), body, files=listed)


def _name(folder: Path, on: datetime.date) -> str:
    return kept.name_of("ruleset", str(folder.resolve()), on.isoformat())


def _digest(path: Path) -> str:
    return sha256(read_bytes(path, MAX_BYTES)).hexdigest()


# -- what is kept ------------------------------------------------------------------


def _frozen(ruleset: Ruleset) -> dict[str, Any]:
    typed, flat = ruleset.typed, ruleset.flat
    known = {field.name: getattr(flat, field.name) for field in fields(flat)}
    names = typed.names
    return {
        "later": dict(ruleset.later),
        "flat": {
            name: {str(key): _light(item) for key, item in value.items()}
            if name in SECTIONS
            else _light(value)
            for name, value in known.items()
        },
        "names": {
            field.name: getattr(names, field.name)
            for field in fields(names)
            if field.name != "functions"
        },
        "ranges": typed.vocabulary.ranges,
        "checks": typed.checks,
        "estimates": dict(typed.estimates),
        "quantities": dict(typed.quantities),
        "loads": typed.loads,
        "whole": dict(typed.whole),
        "chunks": [
            (chunk.per, chunk.checks, marshal.dumps(chunk.code), dict(chunk.recipes))
            for chunk in ruleset.chunks
        ],
    }


def _thawed(frozen: dict[str, Any]) -> Ruleset:
    content = frozen["flat"]
    for name in (*SECTIONS, "text_files"):
        content[name] = MappingProxyType(content[name])
    names = Names(**frozen["names"], functions=functions())
    typed = TypedRuleset(
        FlatRuleset(**content),
        Vocabulary(names, frozen["ranges"], ()),
        frozen["checks"],
        frozen["estimates"],
        frozen["quantities"],
        frozen["loads"],
        frozen["whole"],
    )
    chunks = [
        Chunk(per, checks, marshal.loads(code), recipes)
        for per, checks, code, recipes in frozen["chunks"]
    ]
    return Ruleset(typed, chunks, cache=True, later=frozen["later"])


def _light(value: Any) -> Any:
    """A value without models and without places."""
    if isinstance(value, str):
        return str(value)
    if isinstance(value, tuple):
        return tuple(_light(each) for each in value)
    names = getattr(type(value), "model_fields", None)
    if names is not None:
        return Kept({name: _light(getattr(value, name)) for name in names})
    if isinstance(value, (dict, MappingProxyType)):
        return {str(key): _light(each) for key, each in value.items()}
    return value
