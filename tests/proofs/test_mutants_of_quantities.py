"""Mutants of the formulas of quantities: which change does no case notice?"""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import little
import pytest

from modrules.author_commands import load
from modrules.proofs import mutation
from modrules.proofs.cases import Case, read_cases
from modrules.proofs.mutants import quantity_mutants
from modrules.ruleset.find import find_ruleset
from modrules.screening.prepared import Ruleset

QUANTITY = """\
quantities:
  - id: vehicle.more
    title: More
    formula: if vehicle.p then vehicle.n + 1 else vehicle.n
    source: x
    holds: vehicle.n <= 3
"""
CHECKS = (
    little.check("first", "vehicle.more <= 2"),
    little.check("second", "vehicle.q or vehicle.more <= 3"),
)


def written(folder: Path, *cases: tuple[str, str, str]) -> tuple[Ruleset, list[Case]]:
    lines = ["cases:" if cases else "cases: []"]
    for check, given, expect in cases:
        lines.append(f'  - {{case: "{check} {given}", of: {check}, source: "1", expect: {expect},')
        lines.append(f"     given: {{vehicle: {{{given}}}}}}}")
    (folder / "cases").mkdir()
    (folder / "ruleset.yaml").write_text(little.text(*CHECKS, more=QUANTITY), encoding="utf-8")
    (folder / "cases" / "all.yaml").write_text("\n".join(lines) + "\n", encoding="utf-8")
    found, problems = read_cases(folder)
    assert problems == []
    return load(str(folder)).ruleset, found


def changes(result: mutation.Mutation) -> set[str]:
    return {each.change for each in result.unnoticed if each.item.id == "vehicle.more"}


def test_the_mutants_are_those_expected(tmp_path: Path) -> None:
    ruleset, _ = written(tmp_path)
    found = [each.change for each in quantity_mutants(ruleset.flat.quantities["vehicle.more"])]
    assert found == [
        '"+" becomes "-"',
        "1 becomes 2",
        "1 becomes 0",
        '"<=" becomes "<"',
        "3 becomes 4",
        "3 becomes 2",
    ]


def test_a_case_of_any_check_that_rests_on_it_notices(tmp_path: Path) -> None:
    ruleset, cases = written(
        tmp_path,
        ("first", "n: 2, p: yes", "not permitted"),
        ("second", "n: 3, p: no, q: no", "complies"),
    )
    # What becomes of the sum is noticed by the one, and where it holds by the other.
    assert changes(mutation.mutate(ruleset, cases)) == {"1 becomes 2", "3 becomes 4"}
    few = mutation.mutate(ruleset, cases, ["first"])
    assert {"3 becomes 4", '"<=" becomes "<"'} <= changes(few)


def test_without_cases_all_but_those_alike_go_unnoticed(tmp_path: Path) -> None:
    ruleset, _ = written(tmp_path)
    result = mutation.mutate(ruleset, [])
    assert len(changes(result)) == 6
    assert len(result.unnoticed) + (result.alike or 0) == result.made


def test_less_than_three_screenings_of_all_cases_for_each(monkeypatch: pytest.MonkeyPatch) -> None:
    """Counted, not timed: how often a check is evaluated for one mutant of a jurisdiction."""
    ruleset = load("quillander").ruleset
    cases, _ = read_cases(find_ruleset("quillander"))
    evaluated: Counter[str] = Counter()
    possible = mutation.Evaluator.possible

    def counting(self: object, *rest: object) -> int:
        evaluated["mutants"] += 1
        return possible(self, *rest)  # type: ignore[arg-type]

    monkeypatch.setattr(mutation.Evaluator, "possible", counting)
    monkeypatch.setattr(mutation, "available", lambda: False)
    result = mutation.mutate(ruleset, cases)
    assert result.made > 500
    # Each screening of a case evaluates every check of the ruleset at least once.
    assert evaluated["mutants"] <= 3 * result.made * len(cases) * len(ruleset.typed.checks)
    assert evaluated["mutants"] <= result.made * len(cases)
