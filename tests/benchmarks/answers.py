"""How long the answers drawn from findings take, in screenings of the same submission.

``python tests/benchmarks/answers.py`` prints ratios and asserts nothing. A screening reads
the facts of the submission, evaluates every check and combines the answer.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable
from pathlib import Path
from time import perf_counter
from typing import Any

import modrules
from modrules.screening.asking import begin, next_question
from modrules.screening.limits import limits
from modrules.screening.next_facts import next_facts
from modrules.screening.turning import turns

ON = datetime.date(2026, 11, 1)
FOLDER = Path(__file__).parents[2] / "rulesets" / "orrinmark" / "submissions"


def best(run: Callable[[], Any], times: int = 5) -> float:
    """The shortest of several runs, in seconds."""
    found = []
    for _ in range(times):
        start = perf_counter()
        run()
        found.append(perf_counter() - start)
    return min(found)


def main() -> None:
    """Prints the ratios."""
    ruleset = modrules.load_ruleset("orrinmark", on=ON)
    exact = modrules.read_submission(FOLDER / "needs-plates.yaml")
    report = modrules.screen(exact, ruleset, on=ON)

    def screened(submission: Any) -> float:
        return best(lambda: modrules.screen(submission, ruleset, on=ON).answer)

    one = screened(exact)
    print(f"one screening of needs-plates: {one * 1000:.1f} ms")
    for fact in (
        "modifications.lift.ride_height_change",
        "axles.front.tyre.overall_diameter",
        "axles.*.load",
        "vehicle.built",
        "axles.front.tyre.load_index",
        "ratings.fuel_capacity_as_built",
    ):
        found = limits(report, fact)
        edges = sum(len(reached.stretches) - 1 for reached in found.findings)
        time = best(lambda fact=fact: limits(report, fact))  # type: ignore[misc]
        print(f"limits {fact}: {time / one:.2f} screenings, {edges} edges of findings")
    print(f"turns of needs-plates: {best(lambda: turns(report)) / one:.1f} screenings")
    loose = modrules.read_submission(FOLDER / "incomplete.yaml")
    part = modrules.screen(loose, ruleset, on=ON)
    one = screened(loose)
    print(f"one screening of incomplete: {one * 1000:.1f} ms")
    print(f"ranking what to find out next: {best(lambda: next_facts(part)) / one:.1f} screenings")
    state = begin(ruleset, loose, ON)
    print(f"the next question: {best(lambda: next_question(state)) / one:.1f} screenings")


if __name__ == "__main__":
    main()
