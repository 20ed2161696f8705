"""Two checks that can't both be met for what a third one allows.

    ask_through(asker, only)

A check allows a vehicle where it applies and its requirement is met, or one of its exemptions
excuses it, or a band says that it complies: each of these is a branch. Two checks that forbid
something, and pull a fact that they share opposite ways, are set against each other by a branch
of a third one that names a fact on which the demand of each of them hangs besides, where over
all vehicles in the branch to which both apply

- each of them alone can be met,
- no vehicle meets both,

and without the branch some vehicle does. (Else the two conflict as they stand, which is asked
before.) Three checks are reported once, however they are taken.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from z3 import Z3Exception

from modrules.problems import Place
from modrules.proofs.conditions import band_node, facts_in
from modrules.proofs.examples import Literal
from modrules.proofs.pulls import opposed, pulls
from modrules.proofs.single import Asker, band_place, not_so, so
from modrules.proofs.space import Untranslatable
from modrules.proofs.together import bearing, by_fact, forbids, in_touch, permitted, where
from modrules.ruleset.typed import BIT, TypedCheck

_ALLOWS = BIT["complies"]


@dataclass(frozen=True, slots=True)
class Branch:
    """A way in which a check allows a vehicle: when it does so, what it is, and where it stands."""

    check: TypedCheck
    literals: Sequence[Literal]
    words: str
    place: Place
    facts: frozenset[tuple[str, str]]


def ask_through(asker: Asker, only: frozenset[str] | None = None) -> None:
    """Every pair of checks that pull a fact opposite ways, in the branches of the others.

    ``only``: problems in which one of these checks takes part.
    """
    checks = asker.ruleset.typed.checks
    branches = [b for check in checks if not check.unfinished for b in _branches(asker, check)]
    naming = by_fact(branch.facts for branch in branches)
    known = {frozenset(each.checks) for each in asker.found}
    for first, second in in_touch(checks):
        pair = {first.id, second.id}
        if not (forbids(first) and forbids(second)) or pair in known:
            continue
        one, other = pulls(permitted(first)), pulls(permitted(second))
        contested = opposed(one, other)
        near, also = (
            {n for fact in each.keys() - contested for n in naming.get(fact, ())}
            for each in (one, other)
        )
        for branch in (branches[n] for n in sorted(near & also)) if contested else ():
            three = frozenset((*pair, branch.check.id))
            if len(three) < 3 or three in known or not (only is None or only & three):
                continue
            try:
                if _set_against(asker, first, second, branch):
                    known.add(three)
            except (Z3Exception, Untranslatable) as error:
                asker.give_up((first.id, second.id, branch.check.id), error)


def _branches(asker: Asker, check: TypedCheck) -> Iterator[Branch]:
    item = asker.item(check)
    base = bearing(check)
    if check.requires is not None:
        assert item.requires is not None
        met = [*base, so(check.requires)]
        yield _branch(check, met, "its requirement", item.requires.place)
        for node, exemption in zip(check.exemptions, item.exempt_if, strict=True):
            excused = [*base, not_so(check.requires), so(node)]
            yield _branch(check, excused, "its exemption", exemption.condition.place)
        return
    for number, (band, given) in enumerate(zip(check.bands, item.bands, strict=True), 1):
        node = band_node(band)
        if band.outcome == _ALLOWS:
            yield _branch(check, [*base, so(node)], f"its band {number}", band_place(given))
        base = [*base, not_so(node)]


def _branch(check: TypedCheck, literals: Sequence[Literal], words: str, place: Place) -> Branch:
    return Branch(check, literals, words, place, facts_in(each.node for each in literals))


def _set_against(asker: Asker, first: TypedCheck, second: TypedCheck, branch: Branch) -> bool:
    """Whether a branch of a third check sets the two against each other; if so, reports it."""
    third = branch.check
    session = asker.session(first, second, third)
    one, other = so(permitted(first)), so(permitted(second))
    pair = bearing(first, second)
    inside = [*pair, *branch.literals]
    for question, literals, expected in (
        ("can both be met in what the third allows?", [*inside, one, other], False),
        ("can the first be met in what the third allows?", [*inside, one], True),
        ("can the second be met in what the third allows?", [*inside, other], True),
        ("can both be met at all?", [*pair, one, other], True),
    ):
        if asker.ask(session, question, literals).holds is not expected:
            return False
    asker.report(
        "conflict through a third",
        session,
        (
            f'"{third.id}" allows here, by {branch.words}, what "{first.id}" and "{second.id}" '
            "can't both be met for: whatever meets the one breaks the other",
            branch.place,
            f'"{first.id}" stands at {where(asker, first)}, '
            f'"{second.id}" stands at {where(asker, second)}',
        ),
        [*inside, one],
        [*inside, other],
    )
    return True
