"""What a ruleset declares and nothing uses, and what nearly everything hangs on.

unused(ruleset, dead) -> list[Found]              facts, quantities, certifications, evidence
most_decisive(ruleset) -> tuple[Problem, ...]     facts whose absence leaves most checks open
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator
from functools import cache
from pathlib import Path
from typing import Final

from modrules.language.tree import Node, walk
from modrules.problems import ModrulesError, Place, Problem
from modrules.proofs.found import Found
from modrules.ruleset.checking import type_ruleset
from modrules.ruleset.find import HEAD_FILE, inside
from modrules.ruleset.flat import FlatRuleset
from modrules.ruleset.layer import Memo, known_head
from modrules.ruleset.load import collect
from modrules.ruleset.typed import TypedRuleset
from modrules.screening.prepared import Ruleset

#: The share of the checks that is "most of the ruleset", and how many checks make one.
MOST: Final = 0.5
LEAST_CHECKS: Final = 3
#: Bands that nothing reaches, as (check, number from 0); checks that never apply: (check, None).
Dead = Collection[tuple[str, int | None]]
Others = Callable[[], tuple[TypedRuleset, ...]]


def unused(ruleset: Ruleset, dead: Dead = ()) -> list[Found]:
    """What the files of the ruleset and its other editions declare in vain.

    What any of the editions uses is used. Another ruleset that it builds on is not looked at. A
    certification that only ``dead`` bands and checks name is required by none.

    A ruleset without checks is a vocabulary for others, in which nothing is in vain.
    """
    if not ruleset.typed.checks:
        return []
    others = cache(lambda: tuple(_others(ruleset)))
    return [
        *_left(ruleset, "fact", "asked for and never used", _facts_used, others),
        *_left(ruleset, "quantity", "used by no check and no load", _quantities_used, others),
        *_certifications(ruleset, dead, others),
    ]


def is_own(editions: Collection[Path], place: Place) -> bool:
    """Whether it stands in the files of one of these ``edition_folders``."""
    if not place.file:
        return False
    parents = Path(place.file).resolve().parents
    folder = next((each for each in parents if (each / HEAD_FILE).exists()), None)
    return folder in editions


def edition_folders(ruleset: Ruleset) -> list[Path]:
    """The folders of all editions of a ruleset, of which one may be inside another."""
    own, memo = ruleset.flat.folder, Memo()
    around = next((each for each in own.parents if (each / HEAD_FILE).exists()), own)
    for top in (around, own):
        head = known_head(top, memo)
        if head is None:
            continue
        beneath = [head.builds_on.folder] if head.builds_on and head.builds_on.folder else []
        found = [top]
        for name in (*head.editions, *beneath):
            try:
                found.append(inside(top, name, name.place, "the edition").resolve())
            except ModrulesError:
                continue  # said when the ruleset is read
        if own in found:
            return list(dict.fromkeys(found))
    return [own]


def _others(ruleset: Ruleset) -> Iterator[TypedRuleset]:
    """The other editions of a ruleset, as far as they can be read."""
    for folder in edition_folders(ruleset):
        if folder != ruleset.flat.folder:
            try:
                yield type_ruleset(collect(folder).ruleset)[0]
            except ModrulesError:
                continue  # said when that edition is proofread


def _warning(kind: str, message: str, place: Place, hint: str) -> Found:
    return Found(kind, (), Problem(message, place, hint, "warning"))


def _facts_in(tops: Iterable[Node]) -> set[str]:
    return {n.value[1] for n in walk(tops) if n.op in ("fact", "stated", "fallback")}


def _tops(typed: TypedRuleset) -> list[Node]:
    """Every expression of the checks and loads, and of when lists are whole."""
    found = [node for check in typed.checks for node in check.nodes()]
    found += [node for load in typed.loads for node in load.nodes()]
    return [*found, *typed.whole.values()]


def _facts_used(typed: TypedRuleset) -> set[str]:
    estimates = [node for node, _ in typed.estimates.values()]
    return _facts_in([*_tops(typed), *typed.quantities.values(), *estimates])


def _quantities_used(typed: TypedRuleset) -> set[str]:
    return {node.value[0] for node in walk(_tops(typed)) if node.op == "quantity"}


def _left(
    ruleset: Ruleset,
    what: str,
    said: str,
    used: Callable[[TypedRuleset], set[str]],
    others: Others,
) -> Iterator[Found]:
    """The items of a section, named ``what`` in words, that no edition uses."""
    section = {"fact": "facts", "quantity": "quantities"}[what]
    here, own = used(ruleset.typed), edition_folders(ruleset)
    left = [
        item
        for item in ruleset.flat.section(section).values()
        if str(item.id) not in here and is_own(own, item.place)
    ]
    elsewhere = set().union(*map(used, others())) if left else set()
    for item in left:
        if str(item.id) not in elsewhere:
            yield _warning(
                f"{what} unused",
                f'the {what} "{item.id}" is {said}',
                item.place,
                "use it in a check, or take it out",
            )


def _named(flat: FlatRuleset) -> Iterator[tuple[str, str, int | None]]:
    """Each certification that a check names, the check, and in which of its bands."""
    for id, check in flat.checks.items():
        given: list[tuple[int | None, str | None]] = [(None, check.certification)]
        given += [(number, band.certification) for number, band in enumerate(check.bands)]
        yield from ((str(name), id, number) for number, name in given if name)


def _reached(flat: FlatRuleset, dead: Dead = ()) -> set[str]:
    """The certifications that a check comes to require, or that cover one of those."""
    named = {
        name
        for name, check, number in _named(flat)
        if (check, number) not in dead and (check, None) not in dead
    }
    # A higher certification that also does is asked for by way of the lower one.
    reached, stack = set(named), list(named)
    while stack:
        item = flat.certifications.get(stack.pop())
        for higher in item.covered_by if item is not None else ():
            if str(higher) not in reached:
                reached.add(str(higher))
                stack.append(str(higher))
    return reached


def _certifications(ruleset: Ruleset, dead: Dead, others: Others) -> Iterator[Found]:
    flat = ruleset.flat
    reached, own = _reached(flat, dead), edition_folders(ruleset)
    left = [
        each
        for each in flat.certifications.values()
        if str(each.id) not in reached and is_own(own, each.place)
    ]
    for other in others() if left else ():
        # What an edition names in vain is told at its band when that edition is proofread.
        reached |= _reached(other.flat, dead)
    known = flat.certifications
    asked = {str(e.id) for name in reached & known.keys() for e in known[name].evidence}
    for certification in left:
        if str(certification.id) in reached:
            continue
        only = ", ".join(
            f'the check "{check}"' if number is None else f'band {number + 1} of "{check}"'
            for name, check, number in _named(flat)
            if name == certification.id
        )
        yield _warning(
            "certification unused",
            f'no check requires the certification "{certification.id}"'
            + (f": no vehicle comes to {only}, which names it" if only else ""),
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


def most_decisive(ruleset: Ruleset) -> tuple[Problem, ...]:
    """A note on each fact that more than half of the checks depend on.

    It stands where the ruleset declares the fact, or else at the first check that asks for it.
    """
    counts: dict[str, int] = {}
    checks = ruleset.typed.checks
    if len(checks) < LEAST_CHECKS:
        return ()
    for check in checks:
        for fact in _facts_in(check.nodes()):
            counts[fact] = counts.get(fact, 0) + 1
    often = sorted((-n, fact) for fact, n in counts.items() if n > MOST * len(checks))
    return tuple(
        Problem(
            f'without "{fact}", {-n} of {len(checks)} checks may stay open',
            _asked_at(ruleset, fact),
            level="note",
        )
        for n, fact in often
    )


def _asked_at(ruleset: Ruleset, fact: str) -> Place | None:
    item = ruleset.flat.facts.get(fact)
    if item is not None and is_own(edition_folders(ruleset), item.place):
        return item.place
    checks = (check for check in ruleset.typed.checks if fact in _facts_in(check.nodes()))
    first = next(checks, None)
    return ruleset.flat.checks[first.id].place if first is not None else None
