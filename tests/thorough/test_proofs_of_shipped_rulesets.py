"""What ships, proved over all vehicles: nothing to mend, and next to nothing left unproved."""

from __future__ import annotations

import pytest

import modrules


@pytest.mark.parametrize("name", ["trade", "orrinmark", "quillander", "touring"])
def test_nothing_is_found_and_hardly_anything_not_proved(name: str) -> None:
    result = modrules.proofread(name)
    assert [str(problem) for problem in result.problems] == []
    assert result.proofs is not None
    assert result.proofs.share_not_proved <= 0.05
    assert name == "trade" or result.proofs.asked > 200
