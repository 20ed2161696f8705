"""What a ruleset's author asks for, as text: mutation, editions, a ruleset begun from a text."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Protocol

from modrules.problems import Place, Problem
from modrules.reports.layout import bullets, clean, heading, labelled, page, wrap
from modrules.reports.wording import plural


class Mutant(Protocol):
    """A changed check that no case notices."""

    @property
    def check(self) -> object: ...
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


class Difference(Protocol):
    """One difference between editions; see ``modrules.proofs.editions``."""

    @property
    def id(self) -> str: ...
    @property
    def title(self) -> str: ...
    @property
    def change(self) -> str: ...


class Effect(Protocol):
    """What changes for one submission; see ``modrules.proofs.effects``."""

    @property
    def name(self) -> str: ...
    @property
    def before(self) -> Mapping[str, str]: ...
    @property
    def after(self) -> Mapping[str, str]: ...
    @property
    def answer_changes(self) -> bool: ...
    @property
    def findings(self) -> Sequence[tuple[str, str, tuple[str, ...], tuple[str, ...]]]: ...


class Effects(Protocol):
    """What changes for a folder of submissions."""

    @property
    def screened(self) -> Sequence[Effect]: ...
    @property
    def left_out(self) -> Sequence[tuple[str, Problem]]: ...


class Drafted(Protocol):
    """One clause of which a check was begun."""

    @property
    def clause(self) -> str: ...


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
            check = getattr(mutant.check, "id", "")
            lines.append(clean(f"{mutant.place}: {check}: {mutant.change}"))
    return page(lines)


def comparison_text(
    old: str,
    new: str,
    differences: Sequence[Difference],
    quantities: Mapping[str, Sequence[str]],
    effects: Effects | None,
    on: str,
) -> str:
    """What differs between two editions, in words and by effect."""
    lines = labelled("BEFORE", old) + labelled("NOW", new)
    lines += labelled("RESULT", plural(len(differences), "difference"))
    by_item: dict[tuple[str, str], list[str]] = {}
    for each in differences:
        by_item.setdefault((each.title, each.id), []).append(each.change)
    if by_item:
        lines += heading("in words")
    for (title, key), changes in by_item.items():
        named = title if title == key else f"{title} [{key}]"
        lines += ["", *wrap(named)]
        lines += bullets(changes)
        if quantities.get(key):
            lines += bullets([f"checks that rest on it: {', '.join(quantities[key])}"])
    if effects is not None:
        lines += heading(f"by effect, screened on {on}")
        lines += _effects(effects)
    return page(lines)


def _effects(effects: Effects) -> list[str]:
    changed = [each for each in effects.screened if each.answer_changes]
    total = plural(len(effects.screened), "submission")
    lines = [*wrap(f"{total}; the answer changes for {len(changed)}")]
    for each in effects.screened:
        before, after = (_ends(side) for side in (each.before, each.after))
        said = f"from {before} to {after}" if each.answer_changes else f"still {after}"
        lines += ["", *wrap(f"{each.name}: {said}")]
        lines += bullets(
            f"{check}{f', {subject}' if subject else ''}: from {_possible(was)} to {_possible(now)}"
            for check, subject, was, now in each.findings
        )
    for name, problem in effects.left_out:
        lines += ["", *wrap(f"{name}: not screened by both: {problem.message}")]
    return lines


def _ends(answer: Mapping[str, str]) -> str:
    best, worst = answer["best"], answer["worst"]
    return best if best == worst else f"between {best} and {worst}"


def _possible(outcomes: Sequence[str]) -> str:
    if len(outcomes) > 4:
        return f"open up to {outcomes[-1]}"
    return " or ".join(outcomes) if outcomes else "no such finding"


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
    count = f"{len(result.drafted)} of {result.clauses} clauses read like requirements"
    lines += labelled("CLAUSES", count)
    lines += labelled("CHECKS", "one for each, unfinished: every outcome stays possible")
    lines += labelled("NEXT", f"modrules progress {result.folder}")
    return page(lines)
