"""The checks written by hand give what the engine gives, so that measuring one against the
other compares like with like."""

from __future__ import annotations

import datetime
from collections import Counter
from collections.abc import Mapping
from typing import Any

import pytest
from by_hand import screen
from loaded import load_ruleset
from varied import Varied

from modrules.ruleset.typed import BIT
from modrules.screening.binding import bind
from modrules.screening.prepared import Ruleset, Run
from modrules.screening.submission import read_submission

ON = datetime.date(2026, 11, 1)
SUBMISSIONS = 302
Numbers = tuple[int, Any, Any, Any]


@pytest.fixture(scope="module")
def ruleset() -> Ruleset:
    return load_ruleset("orrinmark", on=ON)


def both(
    ruleset: Ruleset, tree: Mapping[str, Any]
) -> tuple[dict[Any, Numbers], dict[Any, Numbers]]:
    """The findings of the engine and those by hand, by check and subject."""
    bound = bind(read_submission(tree), ruleset.typed, ruleset.layout, ON, fragment=True)
    checks = {check.id: check for check in ruleset.typed.checks}
    raw = Run(ruleset, bound).screen()
    found = screen(bound.world, Run(ruleset, bound).held, checks)
    engine = {(ruleset.typed.checks[r[0]].id, r[1]): r[2:] for r in raw}
    by_hand = {(f[0], f[1]): f[2:] for f in found}
    assert len(engine) == len(raw)
    assert len(by_hand) == len(found)
    return engine, by_hand


def decided(outcome: int) -> bool:
    return outcome & (outcome - 1) == 0


def test_agrees_on_the_demo(ruleset: Ruleset) -> None:
    engine, by_hand = both(ruleset, Varied(ruleset).submission(0))
    assert engine == by_hand
    assert {check for check, _ in engine} == set(ruleset.flat.checks)


def test_agrees_on_other_submissions(ruleset: Ruleset) -> None:
    varied = Varied(ruleset)
    seen: Counter[tuple[str, int]] = Counter()
    on_limit = 0
    for number in range(1, SUBMISSIONS):
        engine, by_hand = both(ruleset, varied.submission(number))
        assert engine.keys() == by_hand.keys(), number
        for (check, subject), numbers in engine.items():
            if decided(numbers[0]):
                assert numbers == by_hand[check, subject], (number, check)
                on_limit += numbers[3] == 0
            seen[check, numbers[0]] += 1
    assert on_limit > 100
    # Every outcome that a check states, or nearly, was among what was compared.
    lacking = [
        (check.id, word)
        for check in ruleset.typed.checks
        if not check.unfinished
        for word, bit in BIT.items()
        if check.outcomes & bit and not seen[check.id, bit]
    ]
    assert len(lacking) < 5, lacking
    # Of what is open, only what the rules themselves leave open.
    assert {check for check, mask in seen if not decided(mask)} <= {"electric-drive"}
