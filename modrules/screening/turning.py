"""What turns the answer: per finding and fact the smallest change to something milder.

Each fact that a finding reads is varied by itself, everything else as it is. Two findings
that need opposite changes of one fact are a conflict; and a change that makes another
finding worse says so.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import product
from typing import Any

from modrules.language.records import Open
from modrules.language.units import decimal_text
from modrules.ruleset.words import OUTCOMES
from modrules.screening.amounts import Amount, hard_range, present
from modrules.screening.findings import Finding, changed_text, outcomes_of, said_of
from modrules.screening.report import Report, Screening
from modrules.screening.sizes import sizes
from modrules.screening.stretches import Cut, Piece, pieces_of, step_of
from modrules.screening.varying import Reads, Target, Varying

_RANK = {outcome: rank for rank, outcome in enumerate(OUTCOMES)}
_COMPLIES = _RANK["complies"]


@dataclass(frozen=True, slots=True)
class Turn:
    """One fact, and what it would have to be for one finding to be milder.

    ``direction`` is more, less or other. A number has ``to``, not included where not
    ``closed``: then it takes just more or just less. ``change`` is by how much, in the
    declared unit (days for a date); None where the present value is not exactly known. Not
    ``exact``: it is enough, but a little less of a change may be too. ``as_built``: the vehicle
    has it from its maker, so that it is no way out: another value is another vehicle.
    """

    finding: Finding
    target: Target
    direction: str
    to: Amount | None
    closed: bool
    value: str
    change: Fraction | None
    becomes: tuple[str, ...]
    worsens: tuple[tuple[Finding, tuple[str, ...]], ...]
    exact: bool = True
    as_built: bool = False


@dataclass(frozen=True, slots=True)
class Conflict:
    """Two findings that need opposite changes of one fact."""

    more: Turn
    less: Turn


@dataclass(frozen=True, slots=True)
class Turns:
    """All turns of all findings that are worse than *complies*, and the conflicts."""

    findings: tuple[Finding, ...]
    turns: tuple[Turn, ...]
    conflicts: tuple[Conflict, ...]
    #: all findings of the report, those that comply with them
    every: tuple[Finding, ...] = ()

    def to_dict(self) -> dict[str, Any]:
        """The same as plain data."""
        return to_dict(self)


def turns(report: Report) -> Turns:
    """What would make each finding that is worse than *complies* milder."""
    worse = tuple(f for f in report.findings if _RANK[f.worst] > _COMPLIES)
    found: list[Turn] = []
    for screening in report._screenings:
        found += _of_screening(report, screening)
    order = {id(finding): number for number, finding in enumerate(worse)}
    found.sort(key=lambda turn: (order[id(turn.finding)], turn.target.address))
    return Turns(worse, tuple(found), tuple(_conflicts(found)), report.findings)


def _of_screening(report: Report, screening: Screening) -> Iterator[Turn]:
    reads = Reads(screening.ruleset)
    bad: dict[str, tuple[Target, list[Finding]]] = {}
    for finding in screening.findings:
        if _RANK[finding.worst] > _COMPLIES:
            for target in reads.targets(finding):
                bad.setdefault(target.address, (target, []))[1].append(finding)
    for target, findings in bad.values():
        varying = Varying(screening, target, reads)
        fixed = _as_built(screening, target)
        reached = varying.reached()
        if target.is_number:
            found = _number(varying, findings, reached)
        else:
            found = _words(report, varying, findings, reached)
        yield from (replace(turn, as_built=fixed) for turn in found)


def _as_built(screening: Screening, target: Target) -> bool:
    """Whether the vehicle has what a fact says from its maker, so that no work changes it."""
    subject = screening.ruleset.flat.subjects.get(target.fact.subject)
    own = target.item is not None and target.item.as_built
    return own or (subject is not None and subject.as_built)


# -- numbers -----------------------------------------------------------------------------


def _number(varying: Varying, findings: list[Finding], reached: list[Finding]) -> Iterator[Turn]:
    target = varying.target
    now = target.value
    low_now, high_now = (now.low, now.high) if isinstance(now, Open) else (now, now)
    if low_now > high_now or (isinstance(now, Open) and now.missing):
        return  # nothing is known that could be changed
    low, high = hard_range(target)
    low_now, high_now = max(low_now, low), min(high_now, high)
    step = step_of(target, low, high)
    every = {id(f): pieces_of(varying, f, low, high, step) for f in reached}
    for finding in findings:
        milder = [p for p in every[id(finding)] if p.mask.bit_length() - 1 < _RANK[finding.worst]]
        # What lies around an inexact value settles itself once the value is known.
        outside_up = [piece for piece in milder if piece.start >= (high_now, 0)]
        outside_down = [piece for piece in milder if piece.end <= (low_now, 1)]
        if outside_up:
            piece = min(outside_up, key=lambda p: p.start)
            yield _turn(varying, finding, piece, piece.start, "more", every, reached)
        if outside_down:
            piece = max(outside_down, key=lambda p: p.end)
            yield _turn(varying, finding, piece, piece.end, "less", every, reached)


def _turn(
    varying: Varying,
    finding: Finding,
    piece: Piece,
    cut: Cut,
    direction: str,
    every: dict[int, list[Piece]],
    reached: list[Finding],
) -> Turn:
    target = varying.target
    place, side = cut
    if target.whole:
        # Of whole numbers the first or the last that lies in the stretch.
        place = place + side if direction == "more" else place - 1 + side
        closed = True
    else:
        closed = side == (0 if direction == "more" else 1)
    to = Amount(place, target.fact)
    now = target.value
    change = None
    if not isinstance(now, Open):
        change = abs(to.exact - Amount(now, target.fact).exact)
    worsens = []
    for other in reached:
        own = every[id(other)]
        if direction == "more":
            there = next(p for p in own if p.start <= cut < p.end)
        else:
            there = next(p for p in own if p.start < cut <= p.end)
        possible = outcomes_of(there.mask)
        if _RANK[possible[-1]] > _RANK[other.worst]:
            worsens.append((other, possible))
    # What lies on the way there, next to the stretch: perhaps only enclosed.
    sides = [(p.start if direction == "less" else p.end, p) for p in every[id(finding)]]
    touching = [p for side_cut, p in sides if side_cut == cut]
    return Turn(
        finding,
        target,
        direction,
        to,
        closed,
        str(to),
        change,
        outcomes_of(piece.mask),
        tuple(worsens),
        all(p.exact for p in touching),
    )


# -- words and yes or no -----------------------------------------------------------------


def _words(
    report: Report, varying: Varying, findings: list[Finding], reached: list[Finding]
) -> Iterator[Turn]:
    target = varying.target
    if isinstance(target.value, Open):
        return
    values: list[Any] = []
    if target.fact.type.kind == "yes_no":
        values = [not target.value]
    elif target.fact.type.kind == "word":
        values = [word for word in target.fact.type.words if word != target.value]
    elif target.type == "tyre_marking":
        values = [size for size in sizes(report._screenings, target) if size != target.value]
    for value in values:
        varying.set(value)
        after = {id(finding): outcomes_of(varying.possible(finding)) for finding in reached}
        worsens = tuple(
            (other, after[id(other)])
            for other in reached
            if _RANK[after[id(other)][-1]] > _RANK[other.worst]
        )
        words = {True: "yes", False: "no"}.get(value, str(value))
        for finding in findings:
            becomes = after[id(finding)]
            if _RANK[becomes[-1]] < _RANK[finding.worst]:
                yield Turn(finding, target, "other", None, True, words, None, becomes, worsens)


# -- against each other ------------------------------------------------------------------


def _conflicts(found: list[Turn]) -> Iterator[Conflict]:
    """Pairs of findings of which one needs more of a fact, and the other less of it."""
    by_fact: dict[str, list[Turn]] = {}
    for turn in found:
        if turn.direction != "other" and not turn.as_built:
            by_fact.setdefault(turn.target.address, []).append(turn)
    for own in by_fact.values():
        either = {(id(turn.finding), turn.direction) for turn in own}
        more = [t for t in own if t.direction == "more" and (id(t.finding), "less") not in either]
        less = [t for t in own if t.direction == "less" and (id(t.finding), "more") not in either]
        for first, second in product(more, less):
            yield Conflict(first, second)


# -- as plain data -----------------------------------------------------------------------


def to_dict(found: Turns) -> dict[str, Any]:
    """The turns as plain data, finding by finding."""
    return {
        "changed_text": changed_text(found.every),
        "findings": [
            {
                **said_of(finding),
                "possible": list(finding.possible),
                "turns": [_data(turn) for turn in found.turns if turn.finding is finding],
            }
            for finding in found.findings
        ],
        "conflicts": [
            {
                "fact": conflict.more.target.address,
                "title": _title(conflict.more.target),
                "unit": conflict.more.target.fact.unit,
                "now": present(conflict.more.target),
                "more": {**said_of(conflict.more.finding), **_end(conflict.more)},
                "less": {**said_of(conflict.less.finding), **_end(conflict.less)},
            }
            for conflict in found.conflicts
        ],
    }


def _title(target: Target) -> str:
    return str(target.item.title) if target.item is not None else "Date of fitting"


def _end(turn: Turn) -> dict[str, Any]:
    return {"to": {**turn.to.to_data(), "closed": turn.closed} if turn.to is not None else None}


def _data(turn: Turn) -> dict[str, Any]:
    change = turn.change
    return {
        "fact": turn.target.address,
        "title": _title(turn.target),
        "unit": turn.target.fact.unit,
        "now": present(turn.target),
        "direction": turn.direction,
        **_end(turn),
        "value": turn.value,
        "change": None if change is None else _exactly(change),
        "exact": turn.exact,
        "as_built": turn.as_built,
        "becomes": list(turn.becomes),
        "worsens": [
            {**said_of(other), "becomes": list(possible)} for other, possible in turn.worsens
        ],
    }


def _exactly(value: Fraction) -> dict[str, Any]:
    """A number as JSON has it, and exactly."""
    text = decimal_text(value, 12)
    exact = text if Fraction(text) == value else f"{value.numerator}/{value.denominator}"
    plain = value.numerator if value.denominator == 1 else float(decimal_text(value, 9))
    return {"value": plain, "exact": exact}
