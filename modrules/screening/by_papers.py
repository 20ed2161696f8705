"""Findings for which a fact that varies matters by documents alone.

No expression of theirs reads it; documents, the papers of plates among them, cover it up to a
value. Then a finding comes to the same wherever its documents do, and findings that ask the same of
the same documents turn at the same places: these are looked for once, whatever number of
findings there is.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from modrules.screening.covering import FITTED
from modrules.screening.findings import Finding
from modrules.screening.lines import Exact, NotStraight
from modrules.screening.papers import Row, both
from modrules.screening.prepared import NotGiven
from modrules.screening.stretches import Piece, merged, traced
from modrules.screening.varying import Varying


def only_covered(varying: Varying, finding: Finding) -> bool:
    """Whether what varies matters for a finding by what documents cover up to a value."""
    # A date of fitting is held against the dates of documents, each modification by itself.
    apart = varying.target.fact.id == FITTED or isinstance(finding._raw[1], NotGiven)
    return not (apart or varying.read_by(finding, papers=False))


def possible(varying: Varying, finding: Finding) -> int:
    """The outcomes of a finding with the fact as it is set."""
    if not only_covered(varying, finding) or varying.read_by(finding):
        return varying.possible(finding)
    run = varying.screening.run
    here = run.bound.papers.here(varying.world)
    return run.evaluate_by(finding._check, finding._raw[1], here, enough=finding._mask)


def pieces_by(
    varying: Varying, findings: Sequence[Finding], low: Exact, high: Exact
) -> list[list[Piece]]:
    """The stretches of each of some findings, one list for all that turn alike.

    Raises NotStraight where the fact can't be followed in straight pieces.
    """
    if not varying.straight:
        raise NotStraight
    run, papers = varying.screening.run, varying.screening.run.bound.papers
    states: dict[tuple[Row, tuple[int, ...]], int] = {}

    def state() -> int:
        return states.setdefault((papers.here(varying.world), varying.in_force()), len(states))

    places = traced(varying, state, low, high)
    told: dict[tuple[Row, ...], list[tuple[tuple[int, ...], tuple[int, ...]]]] = {}
    made: dict[Any, list[Piece]] = {}
    found = []
    for finding in findings:
        check, subject, enough = finding._check, finding._raw[1], finding._mask
        asked = run.asked(check, subject)
        if asked not in told:
            told[asked] = [
                (tuple([papers.outcomes(both(row, here)) for row in asked]), plates)
                for here, plates in states
            ]
        answers = told[asked]
        if not varying.read_by(finding):
            answers = [(each, ()) for each, _ in answers]
        masks = {
            (each, plates): run.evaluate_with(
                check, subject, each, enough=enough, plates=plates, varying=varying
            )
            for each, plates in dict.fromkeys(answers)
        }
        key = (asked, tuple(masks.values()))
        if key not in made:
            made[key] = merged(
                Piece(place.start, place.end, masks[answers[place.mask]]) for place in places
            )
        found.append(made[key])
    return found
