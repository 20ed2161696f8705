"""What took long to make, kept on disk: one folder of the user's own, one file an entry.

An entry is used only if its body has the digest that it names, and only from a folder
that nobody else can write to; otherwise nothing is kept and nothing is read. A fault
here never stops the work: what is not found is made anew.
"""

from __future__ import annotations

import json
import os
import sys
import tempfile
from collections.abc import Mapping
from contextlib import suppress
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Any, Final

from modrules.files import read_bytes

MOST_ENTRIES: Final = 40  # of each kind; the oldest give way
MOST_BYTES: Final = 400_000_000  # of all entries of a kind together
_PACKAGE: Final = Path(__file__).resolve().parent


def folder() -> Path:
    """Where entries are kept: MODRULES_CACHE, else modrules in the user's folder for caches."""
    chosen = os.environ.get("MODRULES_CACHE")
    if chosen:
        return Path(chosen)
    base = os.environ.get("XDG_CACHE_HOME")
    return (Path(base) if base else Path.home() / ".cache") / "modrules"


def name_of(kind: str, *key: str) -> str:
    """The name of an entry by what it was made from; another engine has other names."""
    whole = [*key, _engine(_PACKAGE), str(sys.implementation.cache_tag)]
    return f"{sha256(json.dumps(whole).encode()).hexdigest()}.{kind}"


@cache
def _engine(package: Path) -> str:
    """What tells this engine from another: where it is, and each of its files as last saved.

    To read them all would take longer than much of what is kept. What runs is what stood there
    when it began.
    """
    files = ((path, path.stat()) for path in sorted(package.rglob("*.py")))
    told = [(str(p.relative_to(package)), s.st_size, s.st_mtime_ns) for p, s in files]
    return json.dumps([str(package), told])


def find(name: str) -> tuple[Mapping[str, Any], bytes] | None:
    """What was told of an entry, and its body; None where there is none that can be trusted."""
    with suppress(Exception):
        if not _private(folder()):
            return None
        head, _, body = read_bytes(folder() / name, MOST_BYTES).partition(b"\n")
        told = json.loads(head)
        if told["body"] == sha256(body).hexdigest():
            return told, body
    return None


def keep(name: str, body: bytes, **told: Any) -> None:
    """Keeps an entry; it is there whole or not at all."""
    with suppress(Exception):
        place = folder()
        place.mkdir(mode=0o700, parents=True, exist_ok=True)
        if not _private(place):
            return
        head = json.dumps({"body": sha256(body).hexdigest(), **told})
        with tempfile.NamedTemporaryFile(dir=place, delete=False) as file:
            try:
                file.write(head.encode() + b"\n" + body)
                file.close()
                Path(file.name).replace(place / name)
            except BaseException:
                Path(file.name).unlink(missing_ok=True)
                raise
        _prune(place, name.rpartition(".")[2])


def _private(place: Path) -> bool:
    """Whether only this user can have written into the folder."""
    told = place.stat()
    if not hasattr(os, "getuid"):
        return True
    return told.st_uid == os.getuid() and not told.st_mode & 0o022


def _prune(place: Path, kind: str) -> None:
    entries = [(path.stat(), path) for path in place.glob(f"*.{kind}")]
    size = 0
    for number, (told, path) in enumerate(sorted(entries, key=lambda e: -e[0].st_mtime_ns)):
        size += told.st_size
        if number >= MOST_ENTRIES or size > MOST_BYTES:
            path.unlink()
