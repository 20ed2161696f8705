"""Proofreading a ruleset: every problem in it, its citations, and its worked cases."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from modrules.problems import Problem, in_order
from modrules.proofs.cases import CaseResult, read_cases, run_case, uncovered
from modrules.ruleset.flat import FlatRuleset
from modrules.ruleset.load import collect
from modrules.ruleset.models import Citation
from modrules.ruleset.typed import type_ruleset
from modrules.screening.prepared import Ruleset
from modrules.texts import Text, resolve


@dataclass(frozen=True, slots=True)
class Proofreading:
    """What proofreading found.

    ``problems``: in file order; ``level`` tells errors (the ruleset can't be used) from
    warnings. ``cases_failed``: the cases that came out otherwise. ``summary``: in words.
    """

    problems: tuple[Problem, ...]
    cases_run: int
    cases_failed: tuple[Problem, ...]
    summary: tuple[str, ...]

    @property
    def clean(self) -> bool:
        return not self.problems and not self.cases_failed


def proofread_folder(folder: Path, texts: Mapping[str, Text]) -> Proofreading:
    """Reads a ruleset folder closely. ``texts`` are those at hand, by id.

    Raises ModrulesError only where the folder holds no ruleset at all.
    """
    collected = collect(folder)
    typed, found = type_ruleset(collected.ruleset)
    problems = [*collected.problems, *found]
    problems += citation_problems(collected.ruleset, texts)
    cases, wrong = read_cases(folder)
    problems += wrong
    results: list[CaseResult] = []
    counted: list[str] = _counts(collected.ruleset)
    if not any(problem.level == "error" for problem in problems):
        ruleset = Ruleset(typed)
        results = [run_case(ruleset, case) for case in cases]
        if cases:
            counted.append(f"worked cases: {len(results)}")
            lacking = uncovered(ruleset, results)
            full = len(typed.checks) - len(lacking)
            counted.append(f"checks whose every outcome has a case: {full} of {len(typed.checks)}")
            counted += [
                f"  {check}: no case comes to {', '.join(outcomes)}"
                for check, outcomes in lacking.items()
            ]
    elif cases:
        counted.append(f"worked cases not run because of the problems above: {len(cases)}")
    failed = [result.problem for result in results if result.problem is not None]
    return Proofreading(
        tuple(in_order(problems)), len(results), tuple(in_order(failed)), tuple(counted)
    )


def _counts(flat: FlatRuleset) -> list[str]:
    chain = " on ".join(f"{name} {edition}" for name, edition in reversed(flat.chain))
    return [
        f"ruleset: {chain}",
        f"facts: {len(flat.facts)}, quantities: {len(flat.quantities)}, tables: "
        f"{len(flat.tables)}, certifications: {len(flat.certifications)}, checks: "
        f"{len(flat.checks)}",
    ]


def citation_problems(flat: FlatRuleset, texts: Mapping[str, Text]) -> list[Problem]:
    """Citations that do not stand in the texts at hand, as warnings."""
    problems = []
    for check in flat.checks.values():
        for citation in (*check.cites, *(c for e in check.exempt_if for c in e.cites)):
            text = texts.get(str(citation.text))
            if text is not None:
                problem = _citation_problem(citation, text)
                if problem is not None:
                    problems.append(problem)
    return problems


def _citation_problem(citation: Citation, text: Text) -> Problem | None:
    excerpt = resolve(text, str(citation.clause), str(citation.quote or ""))
    if excerpt.status in ("found", "same", "moved"):
        return None
    name = f'clause {citation.clause} of text "{citation.text}"'
    said = {
        "gone": f"there is no {name}",
        "changed": f"the quotation does not stand in {name}",
        "ambiguous": f"{name} may be any of several",
    }
    place = (
        citation.quote if citation.quote and excerpt.status == "changed" else citation.clause
    ).place
    hint = "it may be " + ", ".join(excerpt.candidates[:5]) if excerpt.candidates else excerpt.note
    return Problem(said.get(excerpt.status, f"{name}: {excerpt.status}"), place, hint, "warning")
