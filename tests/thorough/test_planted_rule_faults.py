"""Faults planted in the shipped rulesets: each is found, at its place, with an example."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import planted
import pytest
from planted_faults import FAULTS, Fault

from modrules.proofs.examples import screened
from modrules.proofs.proving import prove
from modrules.proofs.unused import unused


def test_there_are_enough_faults_of_each_kind() -> None:
    assert len(FAULTS) >= 40
    assert min(Counter(fault.kind for fault in FAULTS).values()) >= 3


@pytest.mark.parametrize(
    "fault", FAULTS, ids=[f"{n}-{f.kind}-{f.check or f.ruleset}" for n, f in enumerate(FAULTS)]
)
def test_it_is_found_at_its_place(fault: Fault, tmp_path: Path) -> None:
    ruleset, text = planted.with_change(fault.ruleset, fault.file, fault.old, fault.new, tmp_path)
    if fault.check:
        proofs = prove(ruleset, only=[fault.check])
        found = list(proofs.found)
        assert [str(each) for each in proofs.not_proved] == []
    else:
        found = unused(ruleset)
    line = planted.line_of(text, fault.at or fault.new)
    places = [(each.kind, each.problem.place.line) for each in found if each.problem.place]
    assert (fault.kind, line) in places
    for each in found:
        assert each.problem.level == "warning"
        if not fault.check:
            continue
        assert each.example is not None
        for check_id, possible in zip(each.checks, each.possible, strict=True):
            check = next(c for c in ruleset.typed.checks if c.id == check_id)
            assert possible in screened(ruleset, each.example, check)
