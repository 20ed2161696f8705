"""How far can I go: the values of one fact over which each outcome holds.

``limits`` screens one fact of a report over all that it may be, everything else as it is.
A number comes in stretches, with the checks and clauses that set each edge between two; a
word, a yes or no, or a tyre size comes value by value.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from typing import Any

from modrules.language.records import NONE_STATED, Open
from modrules.problems import ModrulesError, Problem
from modrules.ruleset.words import OUTCOMES
from modrules.screening.amounts import Amount, End, hard_range, present
from modrules.screening.findings import Finding, changed_text, outcomes_of, said_of
from modrules.screening.lines import Exact
from modrules.screening.report import Report, combined
from modrules.screening.sizes import sizes
from modrules.screening.stretches import Cut, Piece, merged, pieces_of, step_of
from modrules.screening.varying import Reads, Target, Varying, find


@dataclass(frozen=True, slots=True)
class Stretch:
    """Values of the fact with one outcome, as the ends of what is possible.

    Not ``exact``: the outcome lies between these two, but need not reach either.
    """

    low: End
    high: End
    possible: tuple[str, ...]
    exact: bool

    def holds(self, value: Fraction) -> bool:
        """Whether a value in the declared unit lies in it."""
        low, high = self.low.amount.exact, self.high.amount.exact
        above = low < value or (self.low.closed and low == value)
        return above and (value < high or (self.high.closed and value == high))

    def to_data(self) -> dict[str, Any]:
        return {
            "from": self.low.to_data(),
            "to": self.high.to_data(),
            "best": self.possible[0],
            "worst": self.possible[-1],
            "exact": self.exact,
        }


@dataclass(frozen=True, slots=True)
class Edge:
    """Where one stretch of the answer gives way to the next: at a value, or between two."""

    low: Amount
    high: Amount
    set_by: tuple[Finding, ...]

    @property
    def exact(self) -> bool:
        return self.low == self.high


@dataclass(frozen=True, slots=True)
class Reached:
    """A finding that the fact can reach, with its own stretches or values."""

    finding: Finding
    stretches: tuple[Stretch, ...]
    values: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class ValueAnswer:
    """One value of a fact that is no number, and both ends of the whole answer for it."""

    value: str
    answer: dict[str, str]
    current: bool


@dataclass(frozen=True, slots=True)
class Limits:
    """How far one fact may go. ``stretches`` and ``edges``, or ``values`` of no number."""

    target: Target
    unit: str
    now: dict[str, str]
    stretches: tuple[Stretch, ...]
    edges: tuple[Edge, ...]
    values: tuple[ValueAnswer, ...]
    findings: tuple[Reached, ...]
    #: what is known of the fact now, without its unit; of each record where they differ
    present: str = ""
    #: all findings of the report, those with them that the fact can't reach
    every: tuple[Finding, ...] = ()

    def to_dict(self) -> dict[str, Any]:
        """The same as plain data."""
        return to_dict(self)


@dataclass(frozen=True, slots=True)
class _Row:
    """A finding with what evaluates it."""

    finding: Finding
    varying: Varying


def limits(report: Report, address: str) -> Limits:
    """How far the fact at an address may go. Raises ModrulesError where there is none."""
    found = find(report._screenings, address)
    rows: list[_Row] = []
    target: Target | None = None
    for screening, matches in zip(report._screenings, found, strict=True):
        if not matches:
            continue
        first, *others = matches
        if any(other.fact is not first.fact for other in others):
            message = f'"{address}" stands for several facts that are not the same'
            raise ModrulesError(Problem(message, None, "name one of them"))
        if target is None:
            target = replace(first, address=address)
            now = tuple(dict.fromkeys(map(present, matches)))
        varying = Varying(screening, first, Reads(screening.ruleset), also=tuple(others))
        rows += [_Row(f, varying) for f in varying.reached()]
    assert target is not None
    reached = {id(row.finding) for row in rows}
    constant = [f for f in report.findings if id(f) not in reached]
    if target.is_number:
        made = _of_number(report, target, rows, constant)
    else:
        made = _of_values(report, target, rows, constant)
    return replace(made, present=" and ".join(now), every=report.findings)


# -- numbers -----------------------------------------------------------------------------


def _of_number(report: Report, target: Target, rows: list[_Row], constant: list[Finding]) -> Limits:
    low, high = hard_range(target)
    step = step_of(target, low, high)
    pieces = [pieces_of(row.varying, row.finding, low, high, step) for row in rows]
    answers = answer_pieces(low, high, pieces, combined(constant))
    stretches = tuple(_stretch(piece, target) for piece in answers)
    return Limits(
        target,
        target.fact.unit,
        dict(report.answer),
        stretches,
        tuple(_edges(answers, rows, pieces, target, step)),
        _none_stated(target, rows, constant),
        tuple(
            Reached(row.finding, tuple(_stretch(p, target) for p in own), ())
            for row, own in zip(rows, pieces, strict=True)
        ),
    )


def answer_pieces(
    low: Exact, high: Exact, pieces: Sequence[list[Piece]], constant: dict[str, str]
) -> list[Piece]:
    """The stretches of the whole answer; the mask of each has its two ends."""
    cuts: list[Cut] = sorted({(low, 0), (high, 1), *(p.start for own in pieces for p in own)})
    rank = OUTCOMES.index
    found = []
    places = [0] * len(pieces)
    for start, end in pairwise(cuts):
        best, worst = rank(constant["best"]), rank(constant["worst"])
        # The lowest that the worst end can be, and the highest that the best one can be.
        sure_worst, loose_best = worst, best
        for number, own in enumerate(pieces):
            while own[places[number]].end <= start:
                places[number] += 1
            piece = own[places[number]]
            mildest, hardest = _ends(piece.mask)
            best, worst = max(best, mildest), max(worst, hardest)
            sure_worst = max(sure_worst, hardest if piece.exact else mildest)
            loose_best = max(loose_best, mildest if piece.exact else hardest)
        mask = 1 << best | 1 << worst
        found.append(Piece(start, end, mask, sure_worst == worst and loose_best == best))
    return merged(found)


def _ends(mask: int) -> tuple[int, int]:
    """The ranks of the mildest and of the worst outcome in a mask."""
    return (mask & -mask).bit_length() - 1, mask.bit_length() - 1


def _stretch(piece: Piece, target: Target) -> Stretch:
    (low, after), (high, past) = piece.start, piece.end
    if target.whole:
        low, high = low + after, high - 1 + past
        after, past = 0, 1
    fact = target.fact
    return Stretch(
        End(Amount(low, fact), not after),
        End(Amount(high, fact), bool(past)),
        outcomes_of(piece.mask),
        piece.exact,
    )


def _edges(
    answers: list[Piece],
    rows: list[_Row],
    pieces: list[list[Piece]],
    target: Target,
    step: Fraction,
) -> Iterable[Edge]:
    """The edges of the answer, with the findings that make it other on the two sides."""
    at = 1
    while at < len(answers):
        before, after = answers[at - 1], answers[at]
        narrow = not after.exact and at + 1 < len(answers) and before.exact
        if narrow and after.end[0] - after.start[0] > 2 * step:
            narrow = False
        if narrow:
            after = answers[at + 1]
        low, high = before.end[0], after.start[0]
        if target.whole:
            low, high = before.end[0] - 1 + before.end[1], after.start[0] + after.start[1]
        setting = [
            row.finding for row, own in zip(rows, pieces, strict=True) if _sets(own, before, after)
        ]
        yield Edge(Amount(low, target.fact), Amount(high, target.fact), tuple(setting))
        at += 2 if narrow else 1


def _sets(own: list[Piece], before: Piece, after: Piece) -> bool:
    """Whether a finding is why the answer turns between two of its stretches."""
    left = next(p for p in own if p.start < before.end <= p.end)
    right = next(p for p in own if p.start <= after.start < p.end)
    for end in (0, 1):
        ends = [_ends(piece.mask)[end] for piece in (before, after)]
        mine = [_ends(piece.mask)[end] for piece in (left, right)]
        worse = 0 if ends[0] > ends[1] else 1
        if ends[0] != ends[1] and mine[worse] == ends[worse] and mine[0] != mine[1]:
            return True
    return False


# -- words, yes or no, tyre sizes --------------------------------------------------------


def _of_values(report: Report, target: Target, rows: list[_Row], constant: list[Finding]) -> Limits:
    values: list[tuple[str, Any]] = []
    kind = target.fact.type.kind
    if kind == "yes_no":
        values = [("yes", True), ("no", False)]
    elif kind == "word":
        values = [(word, word) for word in target.fact.type.words]
    elif target.type == "tyre_marking":
        values = [(size, size) for size in sizes(report._screenings, target)]
    else:
        message = f'the fact "{target.address}" is a text, which takes any value'
        raise ModrulesError(Problem(message, None, "vary a number, a date, a word or a tyre size"))
    if target.fact.none_stated:
        values.append(("none stated", NONE_STATED))
    masks = [[_mask(row, value) for row in rows] for _, value in values]
    answers = tuple(
        ValueAnswer(name, whole_answer(own, constant), bool(rows) and _all_now(rows[0], value))
        for (name, value), own in zip(values, masks, strict=True)
    )
    reached = tuple(
        Reached(row.finding, (), tuple(outcomes_of(own[number]) for own in masks))
        for number, row in enumerate(rows)
    )
    return Limits(target, "", dict(report.answer), (), (), answers, reached)


def _mask(row: _Row, value: Any) -> int:
    """The outcomes for a value; for the present one what was screened, measurements and all."""
    if _all_now(row, value):
        return row.finding._mask
    row.varying.set(value)
    return row.varying.possible(row.finding)


def _all_now(row: _Row, value: Any) -> bool:
    return all(_is_now(target, value) for target in row.varying.targets)


def _is_now(target: Target, value: Any) -> bool:
    now = target.value
    if isinstance(now, Open):
        return bool(now == value)
    return now.__class__ is value.__class__ and bool(now == value)


def _none_stated(
    target: Target, rows: list[_Row], constant: list[Finding]
) -> tuple[ValueAnswer, ...]:
    """The answer where the maker states none, for a number of which that may be said."""
    if not target.fact.none_stated:
        return ()
    masks = []
    for row in rows:
        row.varying.set(NONE_STATED)
        masks.append(row.varying.possible(row.finding))
    now = target.value == NONE_STATED
    return (ValueAnswer("none stated", whole_answer(masks, constant), now),)


def whole_answer(masks: Iterable[int], constant: Iterable[Finding]) -> dict[str, str]:
    """Both ends of the answer of some masks, and of the findings that stay as they are."""
    now = combined(constant)
    best, worst = OUTCOMES.index(now["best"]), OUTCOMES.index(now["worst"])
    for mask in masks:
        mildest, hardest = _ends(mask)
        best, worst = max(best, mildest), max(worst, hardest)
    return {"best": OUTCOMES[best], "worst": OUTCOMES[worst]}


# -- as plain data -----------------------------------------------------------------------


def to_dict(found: Limits) -> dict[str, Any]:
    """The limits as plain data, for programs and renderers."""
    target = found.target
    return {
        "fact": target.address,
        "title": str(target.item.title) if target.item is not None else "Date of fitting",
        "type": target.type,
        "unit": found.unit,
        "now": found.present,
        "answer_now": found.now,
        "changed_text": changed_text(found.every),
        "stretches": [stretch.to_data() for stretch in found.stretches],
        "edges": [
            {
                "from": edge.low.to_data(),
                "to": edge.high.to_data(),
                "exact": edge.exact,
                "set_by": [said_of(finding) for finding in edge.set_by],
            }
            for edge in found.edges
        ],
        "values": [{"value": one.value, "now": one.current, **one.answer} for one in found.values],
        "findings": [
            {
                **said_of(reached.finding),
                "possible_now": list(reached.finding.possible),
                # What else has to be known for it, whatever this fact is.
                "open_for": [one for one in reached.finding.missing if one != target.address],
                "stretches": [stretch.to_data() for stretch in reached.stretches],
                "values": [list(possible) for possible in reached.values],
            }
            for reached in found.findings
        ],
    }
