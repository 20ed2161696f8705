"""What a ruleset's author asks for, as text: mutation, a ruleset begun from a text."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Protocol

from modrules.problems import Place
from modrules.reports.layout import clean, heading, labelled, page
from modrules.reports.wording import plural


class Mutant(Protocol):
    """A changed check or quantity that no case notices."""

    @property
    def item(self) -> object: ...
    @property
    def change(self) -> str: ...
    @property
    def place(self) -> Place: ...


class Mutation(Protocol):
    """What mutation found; see ``modrules.proofs.mutation``."""

    @property
    def made(self) -> int: ...
    @property
    def unnoticed(self) -> Sequence[Mutant]: ...
    @property
    def alike(self) -> int | None: ...


class Drafted(Protocol):
    """One clause of which a check was begun."""

    @property
    def clause(self) -> str: ...
    @property
    def demands(self) -> bool: ...


class Draft(Protocol):
    """A ruleset begun from a text; see ``modrules.proofs.draft``."""

    @property
    def folder(self) -> Path: ...
    @property
    def drafted(self) -> Sequence[Drafted]: ...
    @property
    def clauses(self) -> int: ...


def mutation_text(name: str, result: Mutation) -> str:
    """The changes that no worked case notices, each with its place."""
    lines = labelled("MUTATION", name)
    unnoticed = len(result.unnoticed)
    noticed = result.made - unnoticed - (result.alike or 0)
    lines += labelled("RESULT", f"{unnoticed} of {result.made} changes noticed by no case")
    lines += labelled("NOTICED", str(noticed))
    alike = (
        "not looked for: install modrules[proofs]" if result.alike is None else str(result.alike)
    )
    lines += labelled("NO DIFFERENCE", f"{alike} (the same outcome for every vehicle)")
    if unnoticed:
        lines += heading("noticed by no case")
        # Not wrapped: editors find their way by "file:line:column:" on one line.
        for mutant in result.unnoticed:
            id = getattr(mutant.item, "id", "")
            lines.append(clean(f"{mutant.place}: {id}: {mutant.change}"))
    return page(lines)


def format_text(changed: Sequence[str], files: int, *, check: bool) -> str:
    """Which files were put in form, or would be."""
    verb = "would change" if check else "changed"
    said = f"{len(changed)} of {plural(files, 'file')} {verb}" if changed else "nothing to change"
    lines = labelled("FORMAT", said)
    # One to a line and not wrapped, so that they can be handed on.
    return page([*lines, *(clean(name) for name in changed)])


def draft_text(result: Draft) -> str:
    """What was begun, and what comes next."""
    lines = labelled("BEGUN", str(result.folder))
    demands = sum(each.demands for each in result.drafted)
    count = f"{demands} of {result.clauses} clauses read like requirements"
    exempt = len(result.drafted) - demands
    if exempt:
        count += f", {exempt} only like {'an exemption' if exempt == 1 else 'exemptions'}"
    lines += labelled("CLAUSES", count)
    lines += labelled("CHECKS", "one for each, unfinished: every outcome stays possible")
    lines += labelled("NEXT", f"modrules progress {result.folder}")
    return page(lines)
