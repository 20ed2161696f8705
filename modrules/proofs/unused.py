"""What a ruleset declares and nothing uses, and what nearly everything hangs on.

unused(ruleset) -> list[Found]            facts, quantities, certifications, evidence
most_decisive(ruleset) -> tuple[str, ...]     facts whose absence leaves most checks open
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Final

from modrules.language.tree import Node, walk
from modrules.problems import Place, Problem
from modrules.proofs.found import Found
from modrules.ruleset.typed import TypedRuleset
from modrules.screening.prepared import Ruleset

#: The share of the checks that is "most of the ruleset", and how many checks make one.
MOST: Final = 0.5
LEAST_CHECKS: Final = 4


def unused(ruleset: Ruleset) -> list[Found]:
    """What the ruleset's own files declare in vain; what it builds on is not looked at.

    A ruleset without checks is a vocabulary for others, in which nothing is in vain.
    """
    if not ruleset.typed.checks:
        return []
    return [*_facts(ruleset), *_quantities(ruleset), *_certifications(ruleset)]


def _own(ruleset: Ruleset, place: Place) -> bool:
    """Whether it stands in this ruleset's files, and not in those of another edition of it."""
    if not place.file:
        return False
    folder = ruleset.flat.folder.resolve()
    parents = Path(place.file).resolve().parents
    return next((each for each in parents if (each / "ruleset.yaml").exists()), None) == folder


def _warning(kind: str, message: str, place: Place, hint: str) -> Found:
    return Found(kind, (), Problem(message, place, hint, "warning"))


def _facts_in(tops: Iterable[Node]) -> set[str]:
    return {n.value[1] for n in walk(tops) if n.op in ("fact", "stated", "fallback")}


def _tops(typed: TypedRuleset) -> list[Node]:
    """Every expression of the checks and loads."""
    found = [node for check in typed.checks for node in check.nodes()]
    found += [node for load in typed.loads for node in load.nodes()]
    return found


def _facts(ruleset: Ruleset) -> Iterator[Found]:
    typed = ruleset.typed
    tops = _tops(typed)
    tops += typed.quantities.values()
    tops += [node for node, _ in typed.estimates.values()]
    yield from _left(ruleset, "fact", "asked for and never used", _facts_in(tops))


def _quantities(ruleset: Ruleset) -> Iterator[Found]:
    tops = _tops(ruleset.typed)
    used = {node.value[0] for node in walk(tops) if node.op == "quantity"}
    yield from _left(ruleset, "quantity", "used by no check and no load", used)


def _left(ruleset: Ruleset, what: str, said: str, used: set[str]) -> Iterator[Found]:
    """The items of a section, named ``what`` in words, that are not among those used."""
    section = {"fact": "facts", "quantity": "quantities"}[what]
    for item in ruleset.flat.section(section).values():
        if str(item.id) not in used and _own(ruleset, item.place):
            yield _warning(
                f"{what} unused",
                f'the {what} "{item.id}" is {said}',
                item.place,
                "use it in a check, or take it out",
            )


def _certifications(ruleset: Ruleset) -> Iterator[Found]:
    flat = ruleset.flat
    named = {str(c.certification) for c in flat.checks.values() if c.certification}
    bands = [band for check in flat.checks.values() for band in check.bands]
    named |= {str(band.certification) for band in bands if band.certification}
    # A higher certification that also does is asked for by way of the lower one.
    reached, stack = set(named), list(named)
    while stack:
        item = flat.certifications.get(stack.pop())
        for higher in item.covered_by if item is not None else ():
            if str(higher) not in reached:
                reached.add(str(higher))
                stack.append(str(higher))
    asked = {str(e.id) for name in reached for e in flat.certifications[name].evidence}
    for certification in flat.certifications.values():
        if str(certification.id) in reached or not _own(ruleset, certification.place):
            continue
        yield _warning(
            "certification unused",
            f'no check requires the certification "{certification.id}"',
            certification.place,
            "name it in a check, let it cover another one, or take it out",
        )
        for evidence in certification.evidence:
            if str(evidence.id) not in asked:
                yield _warning(
                    "evidence unused",
                    f'the evidence "{evidence.id}" is asked of nobody: no check requires '
                    f'"{certification.id}"',
                    evidence.place,
                    "",
                )


def most_decisive(ruleset: Ruleset) -> tuple[str, ...]:
    """A note on each fact that more than half of the checks depend on."""
    counts: dict[str, int] = {}
    checks = ruleset.typed.checks
    if len(checks) < LEAST_CHECKS:
        return ()
    for check in checks:
        for fact in _facts_in(check.nodes()):
            counts[fact] = counts.get(fact, 0) + 1
    often = sorted((-n, fact) for fact, n in counts.items() if n > MOST * len(checks))
    return tuple(
        f'without "{fact}", {-n} of {len(checks)} checks may stay open' for n, fact in often
    )
