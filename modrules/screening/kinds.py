"""Which kind of modification a person means by a word that is none."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from difflib import get_close_matches

from modrules.ruleset.models import Kind


def kind_hint(word: str, kinds: Mapping[str, Kind]) -> str:
    """``did you mean "suspension"?`` for a misspelt kind or what people call it; else all kinds."""
    meant: dict[str, dict[str, None]] = {}
    for name, kind in kinds.items():
        for said in (name, str(kind.title), *map(str, kind.also_called)):
            meant.setdefault(_plain(said), {})[str(name)] = None
    wanted = _plain(word)
    close = get_close_matches(wanted, list(meant), n=1, cutoff=0.7)
    found = meant.get(wanted) or dict.fromkeys(k for one in close for k in meant[one])
    # Of several words, those that mean a kind by themselves: a 2 inch lift.
    found = found or dict.fromkeys(k for one in wanted.split() for k in meant.get(one, ()))
    if not found:
        return f"known: {', '.join(sorted(kinds))}"
    return f"did you mean {_listed(found)}?"


def _plain(word: str) -> str:
    return " ".join(word.casefold().replace("_", " ").replace("-", " ").split())


def _listed(names: Iterable[str]) -> str:
    return " or ".join(f'"{name}"' for name in names)
