"""The rulesets that ship: clean, with a worked case for every outcome of every check."""

from __future__ import annotations

from collections import Counter

import pytest
from loaded import load_ruleset

import modrules
from modrules.ruleset.find import find_ruleset

JURISDICTIONS = ("orrinmark", "quillander")
#: The jurisdictions, and the advice that any of them can be combined with.
WITH_CHECKS = (*JURISDICTIONS, "touring")


@pytest.mark.parametrize("name", ["trade", *WITH_CHECKS])
def test_proofreads_clean_with_a_case_for_every_outcome_of_every_check(name: str) -> None:
    # What is proved of them over all vehicles takes longest, and stands in tests/thorough.
    result = modrules.proofread(name, proofs=False)
    assert [str(problem) for problem in result.problems] == []
    assert [str(problem) for problem in result.cases_failed] == []
    if name in WITH_CHECKS:
        checks = len(load_ruleset(name).flat.checks)
        assert f"checks whose every outcome has a case: {checks} of {checks}" in result.summary


def test_the_first_jurisdiction_is_complete() -> None:
    ruleset = load_ruleset("orrinmark", cache=True)
    assert len(ruleset.flat.checks) >= 50
    text = modrules.read_text(ruleset.text_files["code"], id="code")
    clauses = [c for c in text.clauses.values() if c.kind == "clause"]
    assert len(clauses) >= 80


def test_no_two_checks_are_alike_but_for_names_and_numbers() -> None:
    """The typed trees of two checks never have the same shape all through."""
    for name in JURISDICTIONS:
        ruleset = load_ruleset(name)
        shapes = Counter(_shape(check) for check in ruleset.typed.checks)
        repeated = [shape for shape, count in shapes.items() if count > 1]
        assert not repeated, f"{name}: {repeated}"


def _shape(check: object) -> str:
    def of(node: object) -> str:
        if node is None:
            return "-"
        args = ",".join(of(arg) for arg in node.args)  # type: ignore[attr-defined]
        return f"{node.op}({args})"  # type: ignore[attr-defined]

    parts = [of(node) for node in check.nodes()]  # type: ignore[attr-defined]
    bands = [(band.outcome, of(band.extra)) for band in check.bands]  # type: ignore[attr-defined]
    return repr((check.per, parts, bands, check.failure))  # type: ignore[attr-defined]


def test_the_second_jurisdiction_answers_the_same_vehicle_differently() -> None:
    submission = find_ruleset("orrinmark") / "submissions" / "needs-plates.yaml"
    rulesets = [load_ruleset(name) for name in JURISDICTIONS]
    report = modrules.screen(submission, rulesets).to_dict()
    reasons: dict[str, dict[str, set[str]]] = {}
    for finding in report["findings"]:
        if finding["possible"] != ["not applicable"]:
            for modification in finding["modifications"]:
                by_ruleset = reasons.setdefault(modification, {})
                by_ruleset.setdefault(finding["ruleset"], set()).add(
                    f"{finding['title']}: {finding['possible'][-1]}"
                )
    answered = {m: tuple(r.values()) for m, r in reasons.items() if len(r) == 2}
    differing = [m for m, (first, second) in answered.items() if first != second]
    assert len(differing) >= 5
