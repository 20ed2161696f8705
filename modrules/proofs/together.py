"""Questions about two checks at a time: do they agree, and can both be met?"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import combinations

from z3 import Z3Exception

from modrules.language.tree import ONE, YES_NO, Node, walk
from modrules.problems import Place
from modrules.proofs.conditions import ALWAYS, band_node
from modrules.proofs.examples import Literal
from modrules.proofs.single import (
    Asker,
    band_place,
    has_value,
    not_so,
    so,
)
from modrules.proofs.space import Untranslatable
from modrules.ruleset.typed import BIT, TypedCheck
from modrules.screening.findings import outcomes_of

NOT_PERMITTED = BIT["not permitted"]
_NEVER = Node("const", YES_NO, (), False, ONE, "")


def ask_together(asker: Asker, only: frozenset[str] | None = None) -> None:
    """Every pair of checks that have a fact in common and may be at odds.

    ``only``: pairs in which one of these checks takes part.
    """
    for first, second in in_touch(asker.ruleset.typed.checks):
        if only is not None and not only & {first.id, second.id}:
            continue
        try:
            if _same_measure(asker, first, second) and _differ(asker, first, second):
                continue
            if forbids(first) and forbids(second):
                _conflict(asker, first, second)
        except (Z3Exception, Untranslatable) as error:
            asker.give_up((first.id, second.id), error)


def in_touch(checks: Iterable[TypedCheck]) -> Iterator[tuple[TypedCheck, TypedCheck]]:
    """The pairs of checks that a fact decides which they have in common."""
    finished = [check for check in checks if not check.unfinished]
    decisive = {check.id: facts_in(_deciding(check)) for check in finished}
    for first, second in combinations(finished, 2):
        if decisive[first.id] & decisive[second.id]:
            yield first, second


def forbids(check: TypedCheck) -> bool:
    """Whether a check comes to not permitted for some vehicle."""
    return bool(check.outcomes & NOT_PERMITTED)


def _deciding(check: TypedCheck) -> Iterator[Node]:
    """What decides a check that applies."""
    nodes = [check.requires, *check.exemptions, check.measure]
    nodes += [band_node(band) for band in check.bands]
    return (node for node in nodes if node is not None)


def facts_in(nodes: Iterable[Node]) -> frozenset[tuple[str, str]]:
    """The facts in some expressions, as (binding, fact)."""
    return frozenset(
        (node.value[0].removeprefix("each "), node.value[1])
        for node in walk(nodes)
        if node.op in ("fact", "fallback", "stated")
    )


def applying(check: TypedCheck) -> list[Literal]:
    """That a check applies."""
    return [so(check.applies)] if check.applies is not None else []


def bearing(*checks: TypedCheck) -> list[Literal]:
    """That checks apply, and that what they measure has a value."""
    applies = [literal for check in checks for literal in applying(check)]
    return applies + [literal for check in checks for literal in has_value(check.measure)]


# -- the same measure, different outcomes ----------------------------------------------------


def core(node: Node) -> Node:
    """What is measured, whatever it is counted in."""
    while node.op in ("rescale", "same", "quantity"):
        node = node.args[0]
    return node


def _same_measure(asker: Asker, first: TypedCheck, second: TypedCheck) -> bool:
    a, b = first.measure, second.measure
    if a is None or b is None or first.bindings != second.bindings:
        return False
    if core(a) is not core(b):
        return False
    return all(_plain_ends(asker, check) for check in (first, second))


def _plain_ends(asker: Asker, check: TypedCheck) -> bool:
    """Whether the limits are values, and not other facts: those are rules of their own."""
    if check.limit is not None:
        return core(check.limit).op == "const"
    for band, given in zip(check.bands, asker.item(check).bands, strict=True):
        if band.low is None and (given.over or given.over_or_at):
            return False
        if band.high is None and (given.up_to or given.under):
            return False
    return bool(check.bands)


def _rows(asker: Asker, check: TypedCheck) -> Iterator[tuple[int, list[Literal], Place]]:
    """Each outcome that a check gives, when it does so, and where that stands."""
    item = asker.item(check)
    if check.requires is not None:
        assert item.requires is not None
        place = item.requires.place
        yield BIT["complies"], [so(check.requires)], place
        failing = [not_so(check.requires), *(not_so(node) for node in check.exemptions)]
        yield check.failure, failing, place
        return
    earlier: list[Literal] = []
    for band, given in zip(check.bands, item.bands, strict=True):
        node = band_node(band)
        yield band.outcome, [*earlier, so(node)], band_place(given)
        earlier.append(not_so(node))


def _differ(asker: Asker, first: TypedCheck, second: TypedCheck) -> bool:
    session = asker.session(first, second)
    base = [*applying(first), *applying(second)]
    for outcome, literals, _ in _rows(asker, first):
        for other, others, place in _rows(asker, second):
            if outcome == other:
                continue
            wanted = [*base, *literals, *others]
            answer = asker.ask(session, "do they differ for one value?", wanted)
            if answer.holds:
                said, also = outcomes_of(outcome)[0], outcomes_of(other)[0]
                asker.report(
                    "checks differ",
                    session,
                    (
                        f'the checks "{first.id}" and "{second.id}" measure the same and differ: '
                        f"{said} by the one, {also} by the other",
                        place,
                        f"the other one stands at {asker.item(first).place}",
                    ),
                    wanted,
                )
                return True
    return False


# -- two that cannot both be met -------------------------------------------------------------


def permitted(check: TypedCheck) -> Node:
    """The condition that a check that applies comes to something other than not permitted."""
    if check.requires is not None:
        if check.failure != NOT_PERMITTED:
            return ALWAYS
        node = check.requires
        for exemption in check.exemptions:
            node = Node("or", YES_NO, (node, exemption), None, ONE, "")
        return node
    node = _NEVER
    for band in reversed(check.bands):
        allowed = _NEVER if band.outcome == NOT_PERMITTED else ALWAYS
        node = Node("if", YES_NO, (band_node(band), allowed, node), None, ONE, "")
    return node


def _conflict(asker: Asker, first: TypedCheck, second: TypedCheck) -> None:
    session = asker.session(first, second)
    base = bearing(first, second)
    one, other = so(permitted(first)), so(permitted(second))
    if asker.ask(session, "can both be met?", [*base, one, other]).holds is not False:
        return
    # Where one of them alone can't be met, or they never meet, that is no conflict of the two.
    if asker.ask(session, "do both apply, and can the first be met?", [*base, one]).holds:
        if not asker.ask(session, "can the second be met?", [*base, other]).holds:
            return
        asker.report(
            "checks conflict",
            session,
            (
                f'the checks "{first.id}" and "{second.id}" can\'t both be met: '
                "whatever meets the one breaks the other",
                where(asker, second),
                f"the other one stands at {asker.item(first).place}",
            ),
            [*base, one],
            base,
        )


def where(asker: Asker, check: TypedCheck) -> Place:
    """Where what a check demands stands."""
    item = asker.item(check)
    return item.requires.place if item.requires is not None else item.place
