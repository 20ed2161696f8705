"""Facts without which most of a ruleset may stay open."""

from __future__ import annotations

from pathlib import Path

import little

import modrules
from modrules.proofs.unused import most_decisive

RULES = ("vehicle.p", "vehicle.p or vehicle.q", "vehicle.n <= 3 and vehicle.p", "vehicle.r")


def test_a_fact_in_more_than_half_of_the_checks_is_named_with_their_number() -> None:
    checks = [little.check(f"c-{n}", rule) for n, rule in enumerate(RULES)]
    assert most_decisive(little.load(*checks)) == (
        'without "vehicle.p", 3 of 4 checks may stay open',
    )
    # Half of them is not most of them, and three checks are too few to speak of.
    half = [little.check("c-5", "vehicle.q"), little.check("c-6", "vehicle.n <= 3")]
    assert most_decisive(little.load(*checks, *half)) == ()
    assert most_decisive(little.load(*checks[:3])) == ()


def test_it_is_said_when_proofreading_and_is_no_problem(tmp_path: Path) -> None:
    checks = [little.check(f"c-{n}", f"{rule} or vehicle.p") for n, rule in enumerate(RULES)]
    text = little.text(*checks)
    (tmp_path / "ruleset.yaml").write_text(text, encoding="utf-8")
    result = modrules.proofread(tmp_path)
    assert 'without "vehicle.p", 4 of 4 checks may stay open' in result.summary
    assert not any("may stay open" in problem.message for problem in result.problems)


def test_it_is_so_by_screening() -> None:
    checks = [little.check(f"c-{n}", rule) for n, rule in enumerate(RULES)]
    given = {"modifications": [], "vehicle": {"q": "no", "r": "no", "n": "3"}}
    findings = modrules.screen(given, little.load(*checks)).findings
    assert [finding.check for finding in findings if not finding.decided] == ["c-0", "c-1", "c-2"]
