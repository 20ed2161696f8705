"""Questions about one check at a time, over all vehicles.

ask_about(asker, check)      applies_if, requirement, exemptions, bands
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from modrules.language import domains as d
from modrules.language.tree import ONE, YES_NO, Node, common_scale
from modrules.problems import Place, Problem
from modrules.proofs.alike import label
from modrules.proofs.asking import BUDGET, Answer, Session
from modrules.proofs.conditions import band_node, facts_in, shown
from modrules.proofs.examples import Literal, exact
from modrules.proofs.extent import common, left_out, reckoned, said, settled
from modrules.proofs.found import Example, Found, NotProved, Remark
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
        self.remarks: list[Remark] = []
        self.asked = 0
        #: bands that nothing reaches, as (check, number from 0), and checks that never apply, as
        #: (check, None)
        self.dead: set[tuple[str, int | None]] = set()

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
        asker.dead.add((check.id, None))
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
    taken: list[int] = []
    for index, node in enumerate(nodes):
        reached = asker.ask(
            session, f"is band {index + 1} ever reached?", [*base, *earlier, so(node)]
        )
        if reached.holds is False:
            unreached.add(index)
            asker.dead.add((check.id, index))
            matches = asker.ask(session, f"does band {index + 1} ever match?", [*base, so(node)])
            if matches.holds is not False:
                taken.append(index)
            else:
                what = (
                    f'band {index + 1} of "{check.id}" is never reached: no vehicle comes into it'
                )
                problem = (what, band_place(item.bands[index]), "")
                asker.report("never reached", session, problem, base)
        earlier.append(not_so(node))
    if taken:
        # One slip may take all from several bands, so it is told once.
        which = _listing([str(index + 1) for index in taken])
        many = len(taken) > 1
        what = (
            f'band{"s" if many else ""} {which} of "{check.id}" {"are" if many else "is"} never '
            f"reached: earlier bands take all that is in {'them' if many else 'it'}"
        )
        problem = (what, band_place(item.bands[taken[0]]), "")
        asker.report("never reached", session, problem, [*base, so(nodes[taken[0]])], base)
    gap = asker.ask(session, "do its bands cover every value?", [*base, *earlier])
    if gap.holds:
        plain = session.ask([*base, *earlier], plain=True)
        place, value = _gap_place(session, check, item, plain if plain.holds else gap)
        what = f"no band covers {value or 'every vehicle'}"
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
    for i in range(len(item.bands)):
        for j in range(i + 1, len(item.bands)):
            if j in unreached:
                continue
            for way in _claims(check, item, i, j):
                literals = [*base, so(nodes[i]), so(nodes[j]), *way]
                question = f"do bands {i + 1} and {j + 1} name the same value?"
                if not asker.ask(session, question, literals).holds:
                    continue
                both = common(check, i, j).removeprefix("what lies ").removeprefix("what is ")
                many = both.startswith(("from", "over", "under")) or both.endswith(("more", "less"))
                values = f"value{'s' if many else ''}{both and f', {both},'}"
                asker.report(
                    "rows disagree",
                    session,
                    (
                        f'bands {i + 1} and {j + 1} of "{check.id}" name the same {values} with '
                        f"different outcomes: {_said(check.bands[i])} counts, "
                        f"{_said(check.bands[j])} does not",
                        band_place(item.bands[j]),
                        "let one band begin where the other ends",
                    ),
                    literals,
                )
                break


def _listing(words: Sequence[str]) -> str:
    """Words one after another: 1, 2 and 3."""
    return " and ".join([", ".join(words[:-1]), words[-1]]) if len(words) > 1 else words[0]


def _said(band: TypedBand) -> str:
    return label(band.outcome, band.certification)


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
        conditions = [band.condition for band in check.bands if band.condition is not None]
        words = said(session, answer.example, conditions) if answer.example is not None else ""
        return band_place(item.bands[-1]), words
    value = exact(session.ruleset, answer.example, session.space, check.measure)
    there = settled(session, answer.example, check)
    if value is None or there is None:
        words = f"{shown(value, check.measure)} for some vehicles" if value is not None else ""
        return band_place(item.bands[-1]), words
    ends = list(enumerate(there.bands))
    after = [(b.low, i) for i, b in ends if b.low is not None and b.low >= value]
    before = [(-b.high, i) for i, b in ends if b.high is not None and b.high <= value]
    nearest = min(after or before or [(0, len(check.bands) - 1)])[1]
    return band_place(item.bands[nearest]), left_out(there, item, value)


def _claims(check: TypedCheck, item: Check, i: int, j: int) -> Iterator[Sequence[Literal]]:
    """The ways in which two rows may claim values with different outcomes, as by mistake.

    A way is what else must be so of a vehicle.

    A row inside another is a cascade, and a row with a condition of its own before one without
    is an exception; both are ways to write a rule. Rows that meet in one value never are.
    """
    first, second = item.bands[i], item.bands[j]
    if (first.outcome, first.certification) == (second.outcome, second.certification):
        return
    if _meet(first, second) or _meet(second, first):
        yield ()
        return
    if (first.only_if, first.unless) not in (
        (None, None),
        (second.only_if, second.unless),
    ):
        return
    a, b = check.bands[i], check.bands[j]
    if reckoned(a) or reckoned(b):
        yield from _crossing(a, b)
        yield from _crossing(b, a)
        return
    low = [-d.INFINITE if end is None else end for end in (a.low, b.low)]
    high = [d.INFINITE if end is None else end for end in (a.high, b.high)]
    if max(low) >= min(high):
        crossed = _at_one_end(a, b)
    else:
        ends = ((low[0], high[0]), (low[1], high[1]))
        crossed = any(m[0] < n[0] and m[1] < n[1] for m, n in (ends, ends[::-1]))
    if crossed:
        yield ()


def _crossing(lower: TypedBand, upper: TypedBand) -> Iterator[Sequence[Literal]]:
    """That one band begins before another and ends in it, where the ends are reckoned.

    All from the same facts: else which of them is greater hangs on the vehicle, by intention.
    """
    if upper.low_end is None or lower.high_end is None:
        return
    ends = (lower.low_end, lower.high_end, upper.low_end, upper.high_end)
    if len({facts_in([end]) for end in ends if end is not None}) > 1:
        return
    pairs = ((lower.low_end, upper.low_end), (lower.high_end, upper.high_end))
    yield [_less(a, b) for a, b in pairs if a is not None and b is not None]


def _less(a: Node, b: Node) -> Literal:
    """That one quantity is less than another."""
    scale = common_scale(a.scale, b.scale)
    a, b = (Node("rescale", n.type, (n,), n.scale / scale, scale, n.unit) for n in (a, b))
    return not_so(Node("le", YES_NO, (b, a), None, ONE, ""))


def _at_one_end(a: TypedBand, b: TypedBand) -> bool:
    return _touch(a, b) or _touch(b, a)


def _touch(lower: TypedBand, upper: TypedBand) -> bool:
    closed = lower.high_closed and upper.low_closed
    return closed and lower.high is not None and lower.high == upper.low


def _meet(lower: Band, upper: Band) -> bool:
    """Whether one ends and the other begins at the same text, both with that value."""
    return lower.up_to is not None and lower.up_to == upper.over_or_at
