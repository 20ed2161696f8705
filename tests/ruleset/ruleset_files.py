"""Small rulesets, written to files for the tests of reading them."""

from __future__ import annotations

from pathlib import Path
from textwrap import dedent

from modrules.problems import ModrulesError

HEAD = """\
ruleset: {name}
title: Rules of {name}
edition: "{edition}"
in_force: {{from: 2026-07-01}}
"""

CHECK = """\
  - id: {name}
    title: Title of {name}
    about: tyres
    per: axle
    requires: axle.track <= 1600 mm
    cites: {{text: code, clause: "4.2"}}
"""


def head(name: str = "harrow", edition: str = "1") -> str:
    """The lines that every ruleset.yaml has."""
    return HEAD.format(name=name, edition=edition)


def check(name: str, more: str = "") -> str:
    """One check, as an entry of the section; ``more`` are further lines of it."""
    return CHECK.format(name=name) + "".join(f"    {line}\n" for line in more.splitlines())


def write(folder: Path, **files: str) -> Path:
    """Write files into ``folder``: ``ruleset`` is ruleset.yaml, ``a__b`` is a/b.yaml."""
    for name, text in files.items():
        path = folder / (name.replace("__", "/") + ".yaml")
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(dedent(text), encoding="utf-8")
    return folder


def told(error: ModrulesError) -> list[tuple[str, int, int, str]]:
    """The problems of an error as (file name, line, column, message)."""
    return [
        (Path(p.place.file).name, p.place.line, p.place.column, p.message)
        if p.place is not None
        else ("", 0, 0, p.message)
        for p in error.problems
    ]
