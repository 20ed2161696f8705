"""Rulesets made ready once and kept on disk, found again by the digests of their files.

An entry names the files that it was made from with their digests; if one of them has
changed, or the engine has, the entry is not used. What is kept is read with pickle, so
the folder must belong to the user alone; otherwise nothing is kept and nothing is read.
A fault in the cache never stops the work: the ruleset is then made ready anew.
"""

from __future__ import annotations

import datetime
import json
import marshal
import os
import pickle
import sys
import tempfile
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import fields
from hashlib import sha256
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final

from modrules.language.tree import Names
from modrules.ruleset.flat import FlatRuleset
from modrules.ruleset.names import Vocabulary, functions
from modrules.ruleset.source import collector_paused
from modrules.ruleset.typed import TypedRuleset
from modrules.ruleset.words import SECTIONS
from modrules.screening.compile import Chunk
from modrules.screening.prepared import Ruleset

MOST_ENTRIES: Final = 40
_PACKAGE: Final = Path(__file__).resolve().parents[1]


class Kept:
    """An item of a kept ruleset: the attributes of its model, without the model."""

    def __init__(self, values: dict[str, Any]) -> None:
        self.__dict__.update(values)

    def __setattr__(self, name: str, value: Any) -> None:
        raise AttributeError(f"a ruleset can't be changed ({name})")


def cache_folder() -> Path:
    """Where entries are kept: MODRULES_CACHE, else modrules in the user's folder for caches."""
    chosen = os.environ.get("MODRULES_CACHE")
    if chosen:
        return Path(chosen)
    base = os.environ.get("XDG_CACHE_HOME")
    return (Path(base) if base else Path.home() / ".cache") / "modrules"


def find(folder: Path, on: datetime.date) -> Ruleset | None:
    """The ruleset kept for a folder and a date, if nothing that it was made from has changed."""
    with suppress(Exception):
        if not _private(cache_folder()):
            return None
        data = _entry(folder, on).read_bytes()
        head, _, body = data.partition(b"\n")
        told = json.loads(head)
        if told["body"] != sha256(body).hexdigest():
            return None
        if all(_digest(Path(path)) == digest for path, digest in told["files"].items()):
            with collector_paused():
                return _thawed(pickle.loads(body))
    return None


def keep(ruleset: Ruleset, files: Iterable[Path], folder: Path, on: datetime.date) -> None:
    """Keeps a ruleset that was made from ``files``."""
    with suppress(Exception):
        place = cache_folder()
        place.mkdir(mode=0o700, parents=True, exist_ok=True)
        if not _private(place):
            return
        body = pickle.dumps(_frozen(ruleset), protocol=pickle.HIGHEST_PROTOCOL)
        listed = {str(path.resolve()): _digest(path) for path in sorted({*files})}
        head = json.dumps({"body": sha256(body).hexdigest(), "files": listed})
        with tempfile.NamedTemporaryFile(dir=place, delete=False) as file:
            file.write(head.encode() + b"\n" + body)
        Path(file.name).replace(_entry(folder, on))
        _prune(place)


def _private(place: Path) -> bool:
    """Whether only this user can have written into the folder."""
    told = place.stat()
    if not hasattr(os, "getuid"):
        return True
    return told.st_uid == os.getuid() and not told.st_mode & 0o022


def _entry(folder: Path, on: datetime.date) -> Path:
    engine = max((p.stat().st_mtime_ns for p in _PACKAGE.rglob("*.py")), default=0)
    key = [str(folder.resolve()), on.isoformat(), engine, sys.implementation.cache_tag]
    return cache_folder() / f"{sha256(json.dumps(key).encode()).hexdigest()}.ruleset"


def _digest(path: Path) -> str:
    return sha256(path.read_bytes()).hexdigest()


def _prune(place: Path) -> None:
    entries = sorted(place.glob("*.ruleset"), key=lambda path: path.stat().st_mtime)
    for path in entries[:-MOST_ENTRIES]:
        path.unlink()


# -- what is kept ------------------------------------------------------------------


def _frozen(ruleset: Ruleset) -> dict[str, Any]:
    typed, flat = ruleset.typed, ruleset.flat
    known = {field.name: getattr(flat, field.name) for field in fields(flat)}
    names = typed.names
    return {
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
        "chunks": [
            (chunk.per, chunk.checks, chunk.lists, marshal.dumps(chunk.code), dict(chunk.recipes))
            for chunk in ruleset.chunks
        ],
    }


def _thawed(kept: dict[str, Any]) -> Ruleset:
    content = kept["flat"]
    for name in (*SECTIONS, "text_files"):
        content[name] = MappingProxyType(content[name])
    names = Names(**kept["names"], functions=functions())
    typed = TypedRuleset(
        FlatRuleset(**content),
        Vocabulary(names, kept["ranges"], ()),
        kept["checks"],
        kept["estimates"],
        kept["quantities"],
    )
    chunks = [
        Chunk(per, checks, lists, marshal.loads(code), recipes)
        for per, checks, lists, code, recipes in kept["chunks"]
    ]
    return Ruleset(typed, chunks)


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
