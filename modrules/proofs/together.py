"""Questions about two checks at a time: do they agree, and can both be met?"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from z3 import Z3Exception

from modrules.language.tree import ONE, YES_NO, Node
from modrules.problems import Place
from modrules.proofs.alike import label
from modrules.proofs.conditions import ALWAYS, band_node, facts_in
from modrules.proofs.examples import Literal
from modrules.proofs.pulls import opposed, pulls
from modrules.proofs.single import (
    Asker,
    band_place,
    has_value,
    not_so,
    so,
)
from modrules.proofs.space import Untranslatable
from modrules.ruleset.typed import BIT, TypedCheck

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
            if _comparable(first, second) and _differ(asker, first, second):
                continue
            if (forbids(first) and forbids(second)) or _contrary(first, second):
                _conflict(asker, first, second)
        except (Z3Exception, Untranslatable) as error:
            asker.give_up((first.id, second.id), error)


def in_touch(checks: Iterable[TypedCheck]) -> Iterator[tuple[TypedCheck, TypedCheck]]:
    """The pairs of checks that a fact decides which they have in common."""
    finished = [check for check in checks if not check.unfinished]
    decisive = [facts_in(_deciding(check)) for check in finished]
    # By way of the facts, so that checks that share none cost nothing.
    deciding = by_fact(decisive)
    for number, first in enumerate(finished):
        others = {n for fact in decisive[number] for n in deciding[fact] if n > number}
        for other in sorted(others):
            yield first, finished[other]


def by_fact(facts: Iterable[Iterable[tuple[str, str]]]) -> dict[tuple[str, str], list[int]]:
    """In which of some sets of facts, by number from 0, each fact is."""
    found: dict[tuple[str, str], list[int]] = {}
    for number, each in enumerate(facts):
        for fact in each:
            found.setdefault(fact, []).append(number)
    return found


def forbids(check: TypedCheck) -> bool:
    """Whether a check comes to not permitted for some vehicle."""
    return bool(check.outcomes & NOT_PERMITTED)


def _deciding(check: TypedCheck) -> Iterator[Node]:
    """What decides a check that applies."""
    nodes = [check.requires, *check.exemptions, check.measure]
    nodes += [band_node(band) for band in check.bands]
    return (node for node in nodes if node is not None)


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


def _comparable(first: TypedCheck, second: TypedCheck) -> bool:
    """Whether two checks are meant for one another: one requirement, or one measure.

    Of one measure, where the limits of both are values, or both are reckoned from one fact.
    Limits that are other facts are rules of their own.
    """
    if first.bindings != second.bindings:
        return False
    if first.requires is not None and first.requires is second.requires:
        return True
    a, b = first.measure, second.measure
    if a is None or b is None or core(a) is not core(b):
        return False
    one, other = _reckoned_from(first), _reckoned_from(second)
    if one is None or other is None:
        return False
    return bool(one & other) if one or other else True


def _reckoned_from(check: TypedCheck) -> frozenset[tuple[str, str]] | None:
    """The facts that the ends of bands are reckoned from; None where a limit is no value."""
    if check.limit is not None:
        return frozenset() if core(check.limit).op == "const" else None
    ends = [end for b in check.bands for end in (b.low_end, b.high_end) if end is not None]
    return facts_in(end for end in ends if core(end).op != "const") if check.bands else None


def _rows(asker: Asker, check: TypedCheck) -> Iterator[tuple[int, str, list[Literal], Place]]:
    """Each outcome that a check gives, that with what it requires, when it does so, and where."""
    item = asker.item(check)
    if check.requires is not None:
        assert item.requires is not None
        place = item.requires.place
        yield BIT["complies"], "complies", [so(check.requires)], place
        failing = [not_so(check.requires), *(not_so(node) for node in check.exemptions)]
        yield check.failure, label(check.failure, check.certification), failing, place
        return
    earlier: list[Literal] = []
    for band, given in zip(check.bands, item.bands, strict=True):
        node = band_node(band)
        yield (
            band.outcome,
            label(band.outcome, band.certification),
            [*earlier, so(node)],
            band_place(given),
        )
        earlier.append(not_so(node))


def _differ(asker: Asker, first: TypedCheck, second: TypedCheck) -> bool:
    session = asker.session(first, second)
    base = [*applying(first), *applying(second)]
    for outcome, said, literals, _ in _rows(asker, first):
        for other, also, others, place in _rows(asker, second):
            if outcome == other:
                continue
            wanted = [*base, *literals, *others]
            answer = asker.ask(session, "do they differ for one value?", wanted)
            if answer.holds:
                what = "measure" if first.requires is not second.requires else "ask"
                asker.report(
                    "checks differ",
                    session,
                    (
                        f'the checks "{first.id}" and "{second.id}" {what} the same and differ: '
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
        return met(check)
    node = _NEVER
    for band in reversed(check.bands):
        allowed = _NEVER if band.outcome == NOT_PERMITTED else ALWAYS
        node = Node("if", YES_NO, (band_node(band), allowed, node), None, ONE, "")
    return node


def _contrary(first: TypedCheck, second: TypedCheck) -> bool:
    """Whether two requirements of the same facts pull one opposite ways, whatever they come to."""
    if first.requires is None or second.requires is None:
        return False
    if facts_in([first.requires]) != facts_in([second.requires]):
        return False
    return bool(opposed(pulls(met(first)), pulls(met(second))))


def met(check: TypedCheck) -> Node:
    """The condition that the requirement of a check is met, or one of its exemptions holds."""
    assert check.requires is not None
    node = check.requires
    for exemption in check.exemptions:
        node = Node("or", YES_NO, (node, exemption), None, ONE, "")
    return node


def _conflict(asker: Asker, first: TypedCheck, second: TypedCheck) -> None:
    session = asker.session(first, second)
    base = bearing(first, second)
    one, other = (
        so(permitted(check) if check.requires is None else met(check)) for check in (first, second)
    )
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
