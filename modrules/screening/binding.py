"""A submission bound to a vocabulary and a day: every fact as its run-time value.

Once the entries are read into records, what they say together is settled: which lists may lack
entries, what is estimated, what the documents come to, whether the papers of plates are in force.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from modrules.language.intervals import Intervals
from modrules.language.records import Layout, attribute
from modrules.ruleset.typed import TypedRuleset
from modrules.screening.documents import Document, read_documents
from modrules.screening.entries import Reader, unknown_record
from modrules.screening.estimates import estimate_facts
from modrules.screening.lists import find_lacking, settle
from modrules.screening.papers import Papers
from modrules.screening.plate_papers import settle_papers
from modrules.screening.submission import Submission


@dataclass(frozen=True, slots=True)
class Bound:
    """A submission with every fact as its run-time value, for one vocabulary and date.

    ``papers`` tells what the documents come to, with those for another ruleset of the screening;
    ``standard`` are the systems declared as standard; ``given`` the addresses of the facts
    that were given, with what was written; ``told`` who measured them, when, and so on;
    ``cuts`` the ends of values that reached past their declared range;
    ``cautions`` what is odd about them.
    """

    submission: Submission
    world: Any
    documents: tuple[Document, ...]
    papers: Papers
    standard: frozenset[str]
    given: Mapping[str, str]
    told: Mapping[str, Mapping[str, str]]
    cuts: Mapping[str, tuple[Any, Any]]
    cautions: tuple[str, ...]
    on: datetime.date


def bind(
    submission: Submission,
    typed: TypedRuleset,
    layout: Layout,
    on: datetime.date,
    beside: Sequence[TypedRuleset] = (),
    later: Mapping[str, str] | None = None,
    *,
    fragment: bool = False,
) -> Bound:
    """Every fact of the submission as its run-time value; ModrulesError with all problems.

    What only a ruleset in ``beside`` knows is passed over: it is meant for that one. A fact that
    only a later edition knows (``later``: fact to edition) is left out, and a caution says so.
    ``fragment``: lists name what matters, and count as whole whatever else a vehicle has.
    """
    reader = Reader(submission, typed, layout, on, names_of(beside), later or {})
    problems = reader.problems
    reader.check()
    world, not_given = _read(reader, layout)
    intervals = Intervals(typed.names, layout)
    world.unlisted = {
        name: unknown_record(typed, layout, name) for name in layout.lists if name in not_given
    }
    world.whole_if = {
        name: (intervals.closure(node), unknown_record(typed, layout, name))
        for name, node in ({} if fragment else typed.whole).items()
        if name not in not_given
    }
    evidence = submission.tree.get("evidence")
    documents, others = read_documents(
        evidence, world.modification_, typed, problems, reader.elsewhere
    )
    standard = reader.standard()
    problems.raise_errors()
    world.day, world.today = on, on.toordinal()
    world.id, world.kind, world.place = "", "", None
    # An estimate over a list must know what it lacks, and may tell more of what that hangs on.
    find_lacking(world)
    estimate_facts(world, typed, layout, intervals, problems)
    papers = Papers(documents, others, world, typed)
    settle_papers(world, papers, typed, layout, problems)
    problems.raise_errors()
    settle(layout, world)
    return Bound(
        submission,
        world,
        documents,
        papers,
        standard,
        reader.given,
        reader.told,
        problems.cuts,
        tuple(problems.cautions),
        on,
    )


def _read(reader: Reader, layout: Layout) -> tuple[Any, set[str]]:
    """A world with the records of a submission, and the subjects whose lists are not given."""
    world = layout.world()
    for name in layout.singles:
        setattr(world, attribute(name), reader.single(name))
    not_given = set()
    for key, subject in reader.lists.items():
        if subject != "modification":
            records = reader.records(key, subject)
            setattr(world, attribute(subject), records or ())
            if records is None:
                not_given.add(subject)
    world.modification_ = reader.modifications()
    for kind in reader.kinds:
        chosen = tuple(m for m in world.modification_ if m.kind == kind)
        setattr(world, attribute(kind), chosen)
    return world, not_given


def names_of(rulesets: Sequence[TypedRuleset]) -> frozenset[str]:
    """Everything that a submission may name because one of these rulesets knows it."""
    found: set[str] = set()
    for typed in rulesets:
        flat = typed.flat
        for fact in typed.names.facts:
            steps = fact.split(".")
            found.update(".".join(steps[:n]) for n in range(1, len(steps) + 1))
        found.update(str(s.list or s.id) for s in flat.subjects.values())
        found.update(map(str, flat.kinds))
        found.update(map(str, flat.certifications))
        found.update(str(e.id) for c in flat.certifications.values() for e in c.evidence)
        found.update(str(k.system) for k in flat.kinds.values() if k.system is not None)
    return frozenset(found)
