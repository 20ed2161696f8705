"""How far a ruleset has come with a text, clause by clause.

progress(text, flat) -> tuple[Progress, ...]     one for each clause with words of its own
progress_as_data(text, rows) -> dict             the same as plain data
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from typing import Any, Final

from modrules.proofs.draft import requirements
from modrules.ruleset.citing import citations_of
from modrules.ruleset.flat import FlatRuleset
from modrules.texts import Text, coverage
from modrules.texts.coverage import DEFINES, TITLES

FINISHED, UNFINISHED, NOT_BEGUN = "finished", "unfinished", "not begun"
SET_ASIDE, NO_DEMAND = "set aside", "no demand"
#: Every state of a clause, what is to be done first.
STATES: Final = (NOT_BEGUN, UNFINISHED, FINISHED, SET_ASIDE, NO_DEMAND)


@dataclass(frozen=True, slots=True)
class Progress:
    """One clause. ``state``: finished or unfinished as the ``checks`` and certifications that cite
    it, or a clause around it (a certification is always finished); not begun where it reads like a
    requirement and none does; set aside for the ``reason``; or no demand, where it reads like none.
    """

    clause: str
    words: str
    state: str
    checks: tuple[str, ...] = ()
    reason: str = ""


def progress(text: Text, flat: FlatRuleset) -> tuple[Progress, ...]:
    """Every clause with words of its own, in the order of the text; no definitions.

    What a clause is set aside for holds for the clauses in it too, but a check that cites one
    counts first. A clause that one unfinished check cites is unfinished, whatever else does.
    """
    asides = set_aside(text, flat)
    begun = {check.id for check in flat.checks.values() if check.unfinished}
    demands = {drafted.clause for drafted in requirements(text)}
    rows = coverage(text, citations_of(flat))
    found: list[Progress] = []
    for index, row in enumerate(rows, start=1):
        if row.coverage in (DEFINES, TITLES):
            continue
        checks, reason = row.cited_by, ""
        for around in text.lookup.outwards(index):
            if checks or reason:
                break
            checks, reason = rows[around - 1].cited_by, asides.get(around, "")
        if checks:
            state = FINISHED if begun.isdisjoint(checks) else UNFINISHED
        elif reason:
            state = SET_ASIDE
        else:
            state = NOT_BEGUN if row.number in demands else NO_DEMAND
        found.append(Progress(row.number, row.heading or row.words, state, checks, reason))
    return tuple(found)


def set_aside(text: Text, flat: FlatRuleset) -> dict[int, str]:
    """The reasons for which clauses of a text are set aside, by their positions."""
    return {
        index: str(each.reason)
        for source in flat.texts.values()
        if source.id == text.id
        for each in source.set_aside
        for index in text.find(str(each.clause))
    }


def progress_as_data(text: Text, rows: Iterable[Progress]) -> dict[str, Any]:
    """Progress as plain data for JSON: the text, how many clauses are in each state, and each."""
    listed = tuple(rows)
    counts = {state: sum(row.state == state for row in listed) for state in STATES}
    about = {"id": text.id, "title": text.title, "edition": text.edition, "digest": text.digest}
    return {"text": about, "counts": counts, "clauses": [asdict(row) for row in listed]}
