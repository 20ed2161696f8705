"""Rulesets with one file changed, in memory: what a fault planted in it does to the proofs."""

from __future__ import annotations

import dataclasses
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

from modrules.ruleset.checking import type_ruleset
from modrules.ruleset.find import find_ruleset
from modrules.ruleset.load import collect
from modrules.ruleset.models import Sections
from modrules.ruleset.source import read_mapping
from modrules.ruleset.words import SECTIONS
from modrules.screening.prepared import Ruleset


@cache
def flat_ruleset(name: str) -> Any:
    """The flattened ruleset as it ships."""
    return collect(find_ruleset(name)).ruleset


def with_change(name: str, file: str, old: str, new: str, folder: Path) -> tuple[Ruleset, str]:
    """The ruleset with ``old`` changed into ``new`` in one of its files, and the file's text.

    The file is the only one of the ruleset's own in ``folder``.
    """
    text = (find_ruleset(name) / file).read_text(encoding="utf-8")
    assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times in {file}"
    changed = text.replace(old, new)
    path = folder / Path(file).name
    path.write_text(changed, encoding="utf-8")
    (folder / "ruleset.yaml").touch()
    read = Sections.model_validate(read_mapping(path))
    flat = flat_ruleset(name)
    sections = {
        section: MappingProxyType(
            {**flat.section(section), **{str(item.id): item for item in getattr(read, section)}}
        )
        for section in SECTIONS
        if getattr(read, section)
    }
    flat = dataclasses.replace(flat, folder=folder, **sections)
    typed, problems = type_ruleset(flat)
    assert [str(problem) for problem in problems if problem.level == "error"] == []
    return Ruleset(typed), changed


def line_of(text: str, part: str) -> int:
    """The line on which a part of a text begins."""
    assert text.count(part) == 1, f"{part!r} stands {text.count(part)} times"
    return text[: text.index(part)].count("\n") + 1
