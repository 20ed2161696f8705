"""What proofs cost grows with the checks, not with all that a ruleset declares besides.

It is counted here; ``tests/benchmarks/run.py`` measures times.
"""

from __future__ import annotations

from pathlib import Path

import pytest

import modrules
from modrules.proofs.proving import prove
from modrules.proofs.together import in_touch
from modrules.screening.prepared import Ruleset
from tests.benchmarks import many_checks
from tests.counting import calls_of, steps_of


@pytest.fixture
def made(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> list[Ruleset]:
    """A ruleset of checks that share next to no facts, and one of four times as many."""
    rulesets = []
    for checks in (20, 80):
        monkeypatch.setattr(many_checks, "FACTS", 3 * checks)
        folder = many_checks.write_ruleset(tmp_path / str(checks), checks)
        rulesets.append(modrules.load_ruleset(folder))
    return rulesets


def test_checks_that_share_no_facts_cost_the_same_each(made: list[Ruleset]) -> None:
    few, many = made
    prove(few, only=["measured-0"])
    asked = prove(few).asked
    assert asked > 60
    # Where each question cost the size of the vocabulary, this was 6.5 times as much.
    assert calls_of(lambda: prove(many)) < 4.4 * calls_of(lambda: prove(few))


def test_more_facts_that_a_check_does_not_use_cost_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    rulesets = []
    for facts in (20, 320):
        monkeypatch.setattr(many_checks, "FACTS", facts)
        folder = many_checks.write_ruleset(tmp_path / str(facts), 4)
        rulesets.append(modrules.load_ruleset(folder))
    names = [check.id for check in rulesets[0].typed.checks]
    prove(rulesets[0], only=names)
    few, many = (calls_of(lambda r=each: prove(r, only=names)) for each in rulesets)  # type: ignore[misc]
    assert many < 1.05 * few


def test_pairs_are_looked_for_by_the_facts_that_they_share(made: list[Ruleset]) -> None:
    few, many = (steps_of(lambda r=each: list(in_touch(r.typed.checks))) for each in made)  # type: ignore[misc]
    assert many < 4.4 * few
