"""What to find out next: open facts by how many open findings each can settle.

For every open fact all its values are tried, number by stretch and word by word, and the
findings counted that are decided then. ``least`` holds whatever the value turns out to be;
``most`` for some value. A fact that is given but not precisely enough is told apart.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Any, Final

from modrules.language.records import NONE_STATED, records_of
from modrules.language.units import decimal_text, unit_factor
from modrules.ruleset.models import Fact
from modrules.screening import explain
from modrules.screening.amounts import hard_range, present
from modrules.screening.by_papers import only_covered, pieces_by, possible
from modrules.screening.findings import Finding
from modrules.screening.lines import NotStraight
from modrules.screening.live import is_open, live_targets
from modrules.screening.prepared import NotGiven
from modrules.screening.report import Report, Screening
from modrules.screening.sizes import sizes
from modrules.screening.stretches import Cut, Piece, pieces_of, step_of
from modrules.screening.varying import Reads, Target, Varying, target_of
from modrules.screening.writing import line_of, list_line, under

#: sizes to try where the submission and the tables have none
_COMMON_SIZES: Final = ("235/75R15 109S", "265/70R17 121/118S", "285/70R17 121/118S")
#: edges that have to be enclosed are enclosed this roughly, to count what is decided beside them
_PARTS: Final = 20
#: what makes a finding part of the decision whether a plate is needed
_PLATE: Final = "certification required"


@dataclass(frozen=True, slots=True)
class NextFact:
    """An open fact, or a list that may lack entries (``target`` is None), and what it settles.

    ``least`` and ``most``: the open findings that are decided once it is known, for the least and
    the most telling of its values. ``shares``: of each open finding on which it bears, over how
    much of the values it is decided. ``given``: it is given, but not exactly; ``now``: what is
    known; ``precision``: how precisely to measure it again, as ``to within 2 mm``. ``settle``:
    when it can first be settled for work that is planned. ``line`` and ``under``: how it is
    written in a submission, and where. ``may_be_empty``: of a list, that a vehicle may have no
    entry of it.
    """

    address: str
    target: Target | None
    title: str
    question: str
    measure: str
    unit: str | None
    given: bool
    now: str
    precision: str
    settle: str | None
    line: str
    under: str
    least: int
    most: int
    shares: Mapping[Finding, Fraction]
    may_be_empty: bool = False

    @property
    def bears_on(self) -> tuple[Finding, ...]:
        """The open findings that read it."""
        return tuple(self.shares)

    @property
    def mean(self) -> Fraction:
        """The open findings that are decided once it is known, over all its values alike."""
        return sum(filter(None, self.shares.values()), Fraction(0))

    def to_dict(self) -> dict[str, Any]:
        return {
            "fact": self.address,
            "title": self.title,
            "question": self.question,
            "measure": self.measure,
            "unit": self.unit,
            "given": self.given,
            "now": self.now,
            "precision": self.precision,
            "settle": self.settle,
            "line": self.line,
            "under": self.under,
            "settles_at_least": self.least,
            "settles_at_most": self.most,
            "bears_on": len(self.shares),
            "findings": list(dict.fromkeys(finding.check for finding in self.shares)),
        }


def next_facts(report: Report) -> list[NextFact]:
    """The open facts of a report, the one that settles most first.

    What can be measured now comes before whole lists, and what is given but not precisely
    enough comes last.
    """
    found = [*_lists(report), *_facts(report)]
    return sorted(found, key=_telling)


def _telling(fact: NextFact) -> tuple[Any, ...]:
    # Of two that settle as much, the one on which a modification hangs is asked for first.
    hanging = sum(1 for finding in fact.shares if finding.modifications)
    settles = (-fact.mean, -fact.least, -fact.most)
    return fact.given, fact.target is None, *settles, -hanging, -len(fact.shares), fact.address


def for_modification(
    name: str, about: Sequence[Finding], facts: Sequence[NextFact]
) -> list[NextFact]:
    """Facts by what they settle of one modification, its plate first; equal ones as they come.

    ``about`` are the findings that bear on it.

    What is said of the modification itself comes first, then the part that is chosen for it, then
    the vehicle, and other modifications last; at the end, what by itself settles nothing of it
    and has no part in whether it takes a plate.
    """

    def place(fact: NextFact) -> tuple[Any, ...]:
        concerned = [
            (fact.shares[finding], _PLATE in finding.possible)
            for finding in about
            if finding in fact.shares
        ]
        plate = [share for share, on_plate in concerned if on_plate]
        every = sum((share for share, _ in concerned if share), Fraction(0))
        settles = (-sum(filter(None, plate), Fraction(0)), -len(plate), -every, -len(concerned))
        return fact.given, not (every or plate), _whose(fact, name), *settles

    return sorted(facts, key=place)


def _whose(fact: NextFact, name: str) -> int:
    """0: the modification itself; 1: the part that is chosen; 2: the vehicle; 3: another one."""
    if fact.address.startswith("modifications."):
        return 0 if fact.target is not None and fact.target.record.id == name else 3
    return 1 if fact.settle == "before_buying" else 2


def _facts(report: Report) -> Iterator[NextFact]:
    groups: dict[str, list[tuple[Screening, Target, Reads, list[Finding]]]] = {}
    for screening in report._screenings:
        reads = Reads(screening.ruleset)
        undecided = [f for f in screening.findings if not f.decided]
        own: dict[str, Target] = {}
        bearing: dict[str, list[Finding]] = {}
        for finding in undecided:
            live = live_targets(screening, finding)
            for target in [*live, *_sources(screening, reads, live)]:
                if is_open(target):
                    own.setdefault(target.address, target)
                    bearing.setdefault(target.address, []).append(finding)
        for address, target in own.items():
            groups.setdefault(address, []).append((screening, target, reads, bearing[address]))
    for members in groups.values():
        rows = []
        for screening, target, reads, findings in members:
            varying = Varying(screening, target, reads, keep=True)
            rows += [(finding, varying) for finding in dict.fromkeys(findings)]
        yield _fact(report, members[0][1], rows)


def _sources(screening: Screening, reads: Reads, live: list[Target]) -> Iterator[Target]:
    """The facts from which some others are estimated."""
    names = screening.ruleset.typed.names.facts
    for target in live:
        for source in reads.estimated.get(target.fact.id, ()):
            fact = names[source]
            same = fact.subject in (target.fact.subject, target.record.kind)
            world = screening.run.bound.world
            for record in (target.record,) if same else records_of(world, fact.subject):
                yield target_of(screening.ruleset, record, fact)


def described(report: Report, target: Target) -> NextFact:
    """An open fact of which it is not known what it settles."""
    return _fact(report, target, ())


def _fact(report: Report, target: Target, rows: Sequence[tuple[Finding, Varying]]) -> NextFact:
    pieces = _pieces(target, rows)
    stretches, over = _of_pieces(target, pieces)
    values, at = _of_values(report, target, rows)
    weights = [*stretches, *values]
    weight = sum(weights, Fraction(0)) or Fraction(1)
    # Of many findings few go different ways.
    ways = [(*one, *other) for one, other in zip(over or ((),) * len(rows), at, strict=True)]
    share = {
        way: sum((w for w, decided in zip(weights, way, strict=True) if decided), Fraction(0))
        / weight
        for way in set(ways)
    }
    times = Counter(ways)
    counts = [sum(n for way, n in times.items() if way[i]) for i in range(len(weights))]
    item = target.item
    given = any(target.address in s.run.bound.given for s in report._screenings)
    unbounded = target.fact.type.kind == "text" and target.value.values is None
    return NextFact(
        target.address,
        target,
        str(item.title) if item is not None else "Date of fitting",
        str(item.question) if item is not None else "When was it fitted?",
        str(item.measure or "") if item is not None else "",
        str(item.unit) if item is not None and item.unit is not None else None,
        given,
        present(target),
        _precision(target, pieces) if given else "",
        str(item.settle) if item is not None and item.settle is not None else None,
        line_of(target),
        under(target),
        0 if unbounded else min(counts, default=0),
        max(counts, default=0),
        dict(zip((finding for finding, _ in rows), (share[way] for way in ways), strict=True)),
    )


def _pieces(target: Target, rows: Sequence[tuple[Finding, Varying]]) -> list[list[Piece]]:
    """Of a number, the stretches of each finding over all that it may be."""
    value = target.value
    if not target.is_number or value.low > value.high:
        return []
    low, high = _ends(target)
    step = step_of(target, low, high, _PARTS) if low < high else Fraction(1)
    found: dict[int, list[Piece]] = {}
    alike: dict[int, tuple[Varying, list[tuple[int, Finding]]]] = {}
    for row, (finding, varying) in enumerate(rows):
        if only_covered(varying, finding):
            alike.setdefault(id(varying), (varying, []))[1].append((row, finding))
    for varying, members in alike.values():
        with suppress(NotStraight):
            made = pieces_by(varying, [finding for _, finding in members], low, high)
            found.update(zip((row for row, _ in members), made, strict=True))
    return [
        found[row] if row in found else pieces_of(varying, finding, low, high, step)
        for row, (finding, varying) in enumerate(rows)
    ]


def _ends(target: Target) -> tuple[Any, Any]:
    """The least and the greatest that a number may be."""
    first, last = hard_range(target)
    low, high = target.value.low, target.value.high
    return first if isinstance(low, float) else low, last if isinstance(high, float) else high


def _precision(target: Target, pieces: list[list[Piece]]) -> str:
    """How precisely a number must be measured to settle all that it can settle alone.

    The middle of what it may be is taken for its value, and the nearest place where a finding
    turns for what it must be told apart from; rounded down, which is the safe side.
    """
    settled = [own for own in pieces if any(_single(piece.mask) for piece in own)]
    turns = [cut[0] for own in settled for piece in own for cut in (piece.start, piece.end)]
    low, high = _ends(target)
    between = [at for at in turns if low < at < high]
    if not between:
        return ""
    room = min(abs(Fraction(low + high) / 2 - at) for at in between)
    if target.fact.type.kind == "date":
        return "to the day"
    amount = floored(room * target.fact.scale / unit_factor(target.fact.unit))
    return f"to within {amount} {target.fact.unit}".strip() if room else "as exactly as can be"


def floored(value: Fraction, digits: int = 2) -> str:
    """A positive number with so many digits that say something, rounded down."""
    places = 0
    while value and value * 10**places < 10 ** (digits - 1) and places < 9:
        places += 1
    return decimal_text(Fraction(int(value * 10**places), 10**places), places)


#: The weights of stretches or values, and of each finding at which of them it is decided.
_Tried = tuple[list[Fraction], list[tuple[bool, ...]]]


def _of_pieces(target: Target, every: list[list[Piece]]) -> _Tried:
    """The stretches of a number over which the same findings are decided."""
    if not every:
        return [], []
    low, high = _ends(target)
    lists = {id(own): own for own in every}
    cuts = sorted({(low, 0), (high, 1), *(p.start for own in lists.values() for p in own)})
    # A single value counts, but next to a stretch it weighs nothing.
    weights = [
        Fraction(end[0] - start[0]) if low < high else Fraction(1) for start, end in pairwise(cuts)
    ]
    decided = {key: tuple(_decided(own, cuts)) for key, own in lists.items()}
    return weights, [decided[id(own)] for own in every]


def _decided(own: list[Piece], cuts: list[Cut]) -> Iterator[bool]:
    """Whether a finding with these stretches is decided between one cut and the next."""
    waiting = iter(own)
    piece = next(waiting, None)
    for start, end in pairwise(cuts):
        while piece is not None and piece.end <= start:
            piece = next(waiting, None)
        yield bool(
            piece is not None and piece.start <= start and end <= piece.end and _single(piece.mask)
        )


def _of_values(report: Report, target: Target, rows: Sequence[tuple[Finding, Varying]]) -> _Tried:
    """The values that are no number."""
    weighed = [(Fraction(1), one) for one in candidates(report, target)]
    if target.value.none and target.is_number:
        weighed.append((Fraction(0), NONE_STATED))
    decided: list[tuple[bool, ...]] = [()] * len(rows)
    for _, one in weighed:
        for varying in {id(varying): varying for _, varying in rows}.values():
            varying.set(one)
        for row, (finding, varying) in enumerate(rows):
            decided[row] = (*decided[row], _single(possible(varying, finding)))
    return [weight for weight, _ in weighed], decided


def candidates(report: Report, target: Target) -> list[Any]:
    """The values of a fact that is no number; of a tyre marking, the sizes at hand."""
    value = target.value
    if target.is_number:
        return []
    if value.values is not None:
        found: list[Any] = sorted(value.values)
    elif target.type == "tyre_marking":
        found = list(sizes(report._screenings, target)) or list(_COMMON_SIZES)
    else:
        return []
    return [*found, NONE_STATED] if value.none else found


def _single(mask: int) -> bool:
    return mask & (mask - 1) == 0


# -- lists that may lack entries ---------------------------------------------------------


def _lists(report: Report) -> Iterator[NextFact]:
    """Each list that may lack entries; to say that there are no others settles what is about it
    alone."""
    found: dict[str, tuple[Any, list[Finding], list[bool]]] = {}
    for screening in report._screenings:
        subjects = screening.ruleset.flat.subjects.values()
        keys = {str(s.list): s for s in subjects if s.list is not None}
        for finding in screening.findings:
            if finding.decided:
                continue
            for key in explain.lists_missing(screening.run, finding._check, finding._raw[1]):
                subject, findings, alone = found.get(key, (keys.get(key), [], []))
                settled = isinstance(finding._raw[1], NotGiven) and set(finding._raw[1].per) <= {
                    str(subject.id) if subject is not None else ""
                }
                found[key] = (subject, [*findings, finding], [*alone, settled])
    for key, (subject, findings, alone) in found.items():
        title = str(subject.title) if subject is not None else key
        name = str(subject.id) if subject is not None else ""
        worlds = [s.run.bound.world for s in report._screenings]
        whole = any(name in s.ruleset.typed.whole for s in report._screenings)
        inside = _inside(str(subject.id), findings) if subject is not None else []
        due = {str(fact.settle) for fact in inside}
        yield NextFact(
            key,
            None,
            title,
            _list_question(title, inside),
            f"List each that the vehicle has under {key}:"
            if whole
            else f"List each under {key}: or write {key}: [] where there are none.",
            None,
            False,
            "not all given" if any(records_of(world, name) for world in worlds) else "not given",
            "",
            # Whatever else of it a part may decide, it is to be measured before the work.
            "before_fitting" if "before_fitting" in due else None,
            list_line(key),
            "",
            0,
            sum(alone),
            {one: Fraction(settles, 2) for one, settles in zip(findings, alone, strict=True)},
            not whole,
        )


def _inside(subject: str, findings: Sequence[Finding]) -> list[Fact]:
    """What findings read of the entries of a list."""
    facts: dict[str, Fact] = {}
    reads: dict[int, Reads] = {}
    for finding in findings:
        ruleset = finding._run.ruleset
        own = reads.get(id(ruleset))
        if own is None:
            own = reads[id(ruleset)] = Reads(ruleset)
        for _, name in own.of(finding._check):
            if ruleset.typed.names.facts[name].subject == subject and name in ruleset.flat.facts:
                facts[name] = ruleset.flat.facts[name]
    return list(facts.values())


def _list_question(title: str, inside: Sequence[Fact]) -> str:
    """What is to be found out of the entries of a list, rather than the bare list."""
    if not inside:
        return f"{title}: which are there?"
    titles = dict.fromkeys(str(fact.title) for fact in inside)
    told = "; ".join(each[:1].lower() + each[1:] for each in titles)
    return f"Of each {title[:1].lower()}{title[1:]}: {told}?"
