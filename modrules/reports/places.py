"""Where in the submission file a finding is to be seen: addresses to lines and columns."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import NamedTuple

from modrules.reports.shape import Finding
from modrules.ruleset.source import read_yaml
from modrules.ruleset.tree import Map, Node, Seq


class Spot(NamedTuple):
    """A line and a column, both from 1."""

    line: int
    column: int


def places_in(file: Path) -> dict[str, Spot]:
    """Every address of the submission in ``file``: ``modifications.lift.fitted`` to its spot.

    Items of a list go by their ``id``. Raises ModrulesError where the file cannot be read.
    """
    return dict(_walk(read_yaml(file), ()))


def addresses_of(finding: Finding, places: Mapping[str, Spot]) -> list[str]:
    """The addresses that a finding is about and that the file has, each once, in file order."""
    wanted = {f"modifications.{name}" for name in finding["modifications"]}
    # "axle front" and "axle front+rear" are the items of a list with these ids.
    names = (finding["subject"].split() or [""])[-1].split("+")
    wanted |= {one for one in places if one.count(".") == 1 and one.split(".")[1] in names}
    wanted.discard("")
    return sorted(wanted & places.keys(), key=lambda one: (places[one], one))


def _walk(node: Node, path: tuple[str, ...]) -> Iterator[tuple[str, Spot]]:
    if isinstance(node, Map):
        for key, value in node.items():
            place = node.key_place(key)
            yield ".".join((*path, key)), Spot(place.line, place.column)
            yield from _walk(value, (*path, key))
    elif isinstance(node, Seq):
        for item in node:
            if isinstance(item, Map) and isinstance(item.get("id"), str):
                name = str(item["id"])
                yield ".".join((*path, name)), Spot(item.place.line, item.place.column)
                yield from _walk(item, (*path, name))
