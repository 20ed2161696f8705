"""Questions about one check at a time, over all vehicles.

ask_about(asker, check)      applies_if, requirement, exemptions, bands
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from modrules.language import domains as d
from modrules.language.tree import ONE, YES_NO, Node
from modrules.problems import Place, Problem
from modrules.proofs.asking import BUDGET, Answer, Session
from modrules.proofs.conditions import band_node, shown
from modrules.proofs.examples import Literal, exact
from modrules.proofs.found import Example, Found, NotProved
from modrules.ruleset.typed import TypedBand, TypedCheck
from modrules.screening.prepared import Ruleset

if TYPE_CHECKING:
    from modrules.ruleset.models import Band, Check


def so(node: Node) -> Literal:
    return Literal(node, d.TRUE)


def not_so(node: Node) -> Literal:
    return Literal(node, d.FALSE)


def not_surely(node: Node) -> Literal:
    """False, or without a value."""
    return Literal(node, d.FALSE | d.GAP)


class Asker:
    """Asks questions and collects what they come to."""

    def __init__(self, ruleset: Ruleset, budget: int = BUDGET) -> None:
        self.ruleset = ruleset
        self.budget = budget
        self.found: list[Found] = []
        self.not_proved: list[NotProved] = []
        self.asked = 0

    def session(self, *checks: TypedCheck) -> Session:
        return Session(self.ruleset, checks, self.budget)

    def item(self, check: TypedCheck) -> Check:
        return self.ruleset.flat.checks[check.id]

    def ask(self, session: Session, question: str, literals: Sequence[Literal]) -> Answer:
        """The answer; one that is not proved is noted as such."""
        self.asked += 1
        answer = session.ask(literals)
        if answer.holds is None:
            checks = tuple(check.id for check in session.checks)
            self.not_proved.append(NotProved(checks, question, answer.reason))
        return answer

    def give_up(self, checks: tuple[str, ...], error: Exception) -> None:
        """Notes that what is to be asked of these checks can't be put to the solver."""
        self.asked += 1
        self.not_proved.append(NotProved(checks, "all of it", f"no translation: {error}"))

    def report(
        self,
        kind: str,
        session: Session,
        problem: tuple[str, Place, str],
        *wanted: Sequence[Literal],
    ) -> None:
        """Adds a problem, with an example of the first of ``wanted`` for which there is one."""
        message, place, hint = problem
        example: Example | None = None
        possible: tuple[tuple[str, ...], ...] = ()
        for literals in (*wanted, ()):
            answer = session.ask(literals, plain=True)
            if answer.holds and answer.seen is not None:
                example, possible = answer.example, answer.seen.possible
                break
        checks = tuple(check.id for check in session.checks)
        self.found.append(
            Found(kind, checks, Problem(message, place, hint, "warning"), example, possible)
        )


def ask_about(asker: Asker, check: TypedCheck) -> None:
    """Everything that one check is asked."""
    session = asker.session(check)
    item = asker.item(check)
    applies = [so(check.applies)] if check.applies is not None else []
    if applies and asker.ask(session, "does it ever apply?", applies).holds is False:
        place = item.applies_if.place if item.applies_if is not None else item.place
        asker.report(
            "never applies",
            session,
            (
                f'the check "{check.id}" never applies: no vehicle meets its condition',
                place,
                "look at its condition and its dates",
            ),
            [not_so(applies[0].node)],
        )
        return
    if check.unfinished:
        return
    if check.requires is not None:
        _requirement(asker, session, check, item, applies)
    else:
        _bands(asker, session, check, item, applies)


def _requirement(
    asker: Asker, session: Session, check: TypedCheck, item: Check, applies: list[Literal]
) -> None:
    requires = check.requires
    assert requires is not None
    assert item.requires is not None
    met, unmet = [*applies, so(requires)], [*applies, not_so(requires)]
    if asker.ask(session, "is its requirement ever met?", met).holds is False:
        asker.report(
            "never met",
            session,
            (
                f'the requirement of "{check.id}" is never met, whatever the vehicle',
                item.requires.place,
                "look at its limit and at the ranges of the facts in it",
            ),
            unmet,
            applies,
        )
    if asker.ask(session, "is its requirement ever not met?", unmet).holds is False:
        asker.report(
            "always met",
            session,
            (
                f'the requirement of "{check.id}" is always met, so the check never bites',
                item.requires.place,
                "look at its limit and at the ranges of the facts in it",
            ),
            met,
            applies,
        )
        return
    for number, (node, exemption) in enumerate(
        zip(check.exemptions, item.exempt_if, strict=True), 1
    ):
        which = f"exemption {number}" if len(check.exemptions) > 1 else "the exemption"
        place = exemption.condition.place
        needed = asker.ask(session, f"is {which} ever needed?", [*unmet, so(node)])
        if needed.holds is False:
            holds = asker.ask(session, f"does {which} ever hold?", [*applies, so(node)])
            why = (
                "it holds for no vehicle"
                if holds.holds is False
                else "the requirement is met whenever it holds"
            )
            asker.report(
                "exemption never needed",
                session,
                (f'{which} of "{check.id}" is never needed: {why}', place, ""),
                [*applies, so(node)],
                unmet,
            )
            continue
        bites = asker.ask(
            session, f"is there a failure outside {which}?", [*unmet, not_surely(node)]
        )
        if bites.holds is False:
            asker.report(
                "exemption swallows",
                session,
                (
                    f'{which} of "{check.id}" swallows the rule: it holds whenever the '
                    "requirement is not met",
                    place,
                    "",
                ),
                [*unmet, so(node)],
            )
            return
    if len(check.exemptions) > 1:
        outside = [*unmet, *(not_surely(node) for node in check.exemptions)]
        if asker.ask(session, "is there a failure outside all exemptions?", outside).holds is False:
            asker.report(
                "exemption swallows",
                session,
                (
                    f'the exemptions of "{check.id}" together swallow the rule: one of them holds '
                    "whenever the requirement is not met",
                    item.exempt_if[0].condition.place,
                    "",
                ),
                unmet,
            )


# -- bands ---------------------------------------------------------------------------------


def has_value(measure: Node | None) -> list[Literal]:
    if measure is None:
        return []
    return [so(Node("le", YES_NO, (measure, measure), None, ONE, ""))]


def _bands(
    asker: Asker, session: Session, check: TypedCheck, item: Check, applies: list[Literal]
) -> None:
    base = [*applies, *has_value(check.measure)]
    nodes = [band_node(band) for band in check.bands]
    earlier: list[Literal] = []
    unreached: set[int] = set()
    for index, node in enumerate(nodes):
        place = band_place(item.bands[index])
        reached = asker.ask(
            session, f"is band {index + 1} ever reached?", [*base, *earlier, so(node)]
        )
        if reached.holds is False:
            unreached.add(index)
            matches = asker.ask(session, f"does band {index + 1} ever match?", [*base, so(node)])
            why = (
                "no vehicle comes into it"
                if matches.holds is False
                else "earlier bands take all that is in it"
            )
            asker.report(
                "never reached",
                session,
                (f'band {index + 1} of "{check.id}" is never reached: {why}', place, ""),
                [*base, so(node)],
                base,
            )
        earlier.append(not_so(node))
    gap = asker.ask(session, "do its bands cover every value?", [*base, *earlier])
    if gap.holds:
        plain = session.ask([*base, *earlier], plain=True)
        place, value = _gap_place(session, check, item, plain if plain.holds else gap)
        what = f"no band covers {value}" if value else "no band covers every vehicle"
        asker.report(
            "gap",
            session,
            (
                f'the bands of "{check.id}" have a gap: {what}',
                place,
                "every outcome stays possible there; add a band or move an end",
            ),
            [*base, *earlier],
        )
    for i, first in enumerate(item.bands):
        for j in range(i + 1, len(item.bands)):
            if j in unreached or not _disagree(check, item, i, j):
                continue
            literals = [*base, so(nodes[i]), so(nodes[j])]
            question = f"do bands {i + 1} and {j + 1} name the same value?"
            if asker.ask(session, question, literals).holds:
                asker.report(
                    "rows disagree",
                    session,
                    (
                        f'bands {i + 1} and {j + 1} of "{check.id}" name the same value with '
                        f"different outcomes: {first.outcome} counts, {item.bands[j].outcome} "
                        "does not",
                        band_place(item.bands[j]),
                        "let one band begin where the other ends",
                    ),
                    literals,
                )


def band_place(band: Band) -> Place:
    """Where a band begins: its first text."""
    given = (band.over, band.over_or_at, band.up_to, band.under, band.only_if, band.unless)
    first: Place = next((text.place for text in given if text is not None), band.outcome.place)
    return first


def _gap_place(
    session: Session, check: TypedCheck, item: Check, answer: Answer
) -> tuple[Place, str]:
    """The band that begins after the gap (else the one that ends before it), and the value."""
    if check.measure is None or answer.example is None:
        return band_place(item.bands[-1]), ""
    value = exact(session.ruleset, answer.example, session.space, check.measure)
    if value is None:
        return band_place(item.bands[-1]), ""
    after = [(b.low, i) for i, b in enumerate(check.bands) if b.low is not None and b.low >= value]
    before = [
        (-b.high, i) for i, b in enumerate(check.bands) if b.high is not None and b.high <= value
    ]
    nearest = min(after or before or [(0, len(check.bands) - 1)])[1]
    return band_place(item.bands[nearest]), shown(value, check.measure)


def _disagree(check: TypedCheck, item: Check, i: int, j: int) -> bool:
    """Whether two rows claim a stretch of values with different outcomes, as by mistake.

    A row inside another is a cascade, and a row with a condition of its own before one without
    is an exception; both are ways to write a rule. Rows that meet in one value never are.
    """
    first, second = item.bands[i], item.bands[j]
    if (first.outcome, first.certification) == (second.outcome, second.certification):
        return False
    if _meet(first, second) or _meet(second, first):
        return True
    if (first.only_if, first.unless) not in (
        (None, None),
        (second.only_if, second.unless),
    ):
        return False
    a, b = check.bands[i], check.bands[j]
    ends = [a.low, a.high, b.low, b.high]
    given = [first.over or first.over_or_at, first.up_to or first.under]
    given += [second.over or second.over_or_at, second.up_to or second.under]
    if any(end is None and text is not None for end, text in zip(ends, given, strict=True)):
        return False
    low = [-d.INFINITE if end is None else end for end in (a.low, b.low)]
    high = [d.INFINITE if end is None else end for end in (a.high, b.high)]
    if max(low) >= min(high):
        return _at_one_end(a, b)
    return (low[0] < low[1] and high[0] < high[1]) or (low[1] < low[0] and high[1] < high[0])


def _at_one_end(a: TypedBand, b: TypedBand) -> bool:
    return _touch(a, b) or _touch(b, a)


def _touch(lower: TypedBand, upper: TypedBand) -> bool:
    closed = lower.high_closed and upper.low_closed
    return closed and lower.high is not None and lower.high == upper.low


def _meet(lower: Band, upper: Band) -> bool:
    """Whether one ends and the other begins at the same text, both with that value."""
    return lower.up_to is not None and lower.up_to == upper.over_or_at
