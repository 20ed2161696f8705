"""What the keys of one item say together, beyond what each says alone.

    shape_problems(item) -> list[Problem]       what is wrong with the item taken by itself

A model says of each key what may stand there; which keys go together is said here.
"""

from __future__ import annotations

from collections.abc import Iterable

from modrules.problems import Problem
from modrules.ruleset.models import (
    Band,
    Certification,
    Check,
    Fact,
    Item,
    Load,
    Table,
    WordSet,
)
from modrules.ruleset.tree import Scalar

#: What a check filed under no kind of modification is about.
VEHICLE = "vehicle"


def shape_problems(item: Item) -> list[Problem]:
    """What is wrong with the item taken by itself, in no particular order."""
    match item:
        case Check():
            return _of_check(item)
        case Fact(estimate=None, estimate_tolerance=Scalar() as tolerance):
            return [Problem("`estimate_tolerance` goes with `from`", tolerance.place)]
        case WordSet():
            return _twice("the word", item.words)
        case Table():
            return _twice(
                "the column", [each.id for each in item.keys] + [each.id for each in item.columns]
            )
        case Load():
            return _of_load(item)
        case Certification():
            return [
                *_twice("the evidence", [each.id for each in item.evidence]),
                *_twice("the certification", item.covered_by),
                *(
                    Problem(f"the certification `{name}` covers itself", name.place)
                    for name in item.covered_by
                    if name == item.id
                ),
            ]
        case _:
            return []


def _twice(what: str, names: Iterable[Scalar]) -> list[Problem]:
    """A problem for each name that stands in the list before."""
    seen: set[str] = set()
    problems = []
    for name in names:
        if name in seen:
            problems.append(Problem(f"{what} `{name}` is listed twice", name.place))
        seen.add(name)
    return problems


def _of_load(load: Load) -> list[Problem]:
    problems = _twice("the limit", [limit.id for limit in load.limits])
    first = {str(limit.id) for limit in load.limits if limit.in_place_of is None}
    problems += [
        Problem(
            f"the limit `{limit.id}` stands in place of `{limit.in_place_of}`, which is no limit "
            "of this load or replaces one itself",
            limit.in_place_of.place,
            f"one of: {', '.join(sorted(first))}" if first else "",
        )
        for limit in load.limits
        if limit.in_place_of is not None and limit.in_place_of not in first
    ]
    left = load.left_for
    counting = () if left is None else (left.each, left.one, left.many, left.source)
    if left is not None and any(counting) and not all(counting):
        problems.append(
            Problem(
                "`each`, `one`, `many` and `source` go together",
                left.title.place,
                "give all of them or none",
            )
        )
    return problems


def _of_check(check: Check) -> list[Problem]:
    problems = _ways(check)
    problems += _twice("the kind", check.about)
    if VEHICLE in check.about and len(check.about) > 1:
        problems.append(
            Problem(
                f"the check `{check.id}` is about the vehicle and about kinds of modification",
                check.about[0].place,
                "name either `vehicle` or the kinds",
            )
        )
    for band in check.bands:
        problems += _of_band(band, check)
    problems += _certification(check.id, check.otherwise, check.certification, check.unfinished)
    outcomes = [*(band.outcome for band in check.bands), check.otherwise]
    inspected = [outcome for outcome in outcomes if outcome == "inspect"]
    if inspected and inspected[0] is not None and check.question is None:
        problems.append(
            Problem(
                f"the check `{check.id}` may come to inspect, and has no `question`",
                inspected[0].place,
                "say under `question` what the certifier is to judge",
            )
        )
    return problems


def _ways(check: Check) -> list[Problem]:
    """A check asks in one way, by a requirement or by bands; while unfinished, also in none."""
    ways = {"`requires`": check.requires, "`bands`": check.bands or check.measures}
    taken = [way for way, value in ways.items() if value]
    problems = []
    if not taken and not check.unfinished:
        problems.append(
            Problem(
                f"the check `{check.id}` asks nothing",
                check.id.place,
                "give `requires`, or `measures` with `bands`, or `unfinished: true`",
            )
        )
    elif len(taken) > 1:
        problems.append(
            Problem(
                f"the check `{check.id}` has {' and '.join(taken)}, of which it can have one",
                check.id.place,
                "make two checks of it",
            )
        )
    elif check.requires is None:
        for key, scalar in (
            ("otherwise", check.otherwise),
            ("exempt_if", check.exempt_if[0].condition if check.exempt_if else None),
        ):
            if scalar is not None:
                way = taken[0] if taken else "`unfinished`"
                problems.append(
                    Problem(f"`{key}` goes with `requires`, not with {way}", scalar.place)
                )
    if check.measures is not None and not check.bands:
        problems.append(
            Problem(
                f"the check `{check.id}` measures something, and has no `bands` to judge it by",
                check.measures.place,
                "add `bands`",
            )
        )
    return problems


def _of_band(band: Band, check: Check) -> list[Problem]:
    problems = []
    for one, other in ((band.over, band.over_or_at), (band.up_to, band.under)):
        if one is not None and other is not None:
            lower = one is band.over
            ends = "`over` and `from`" if lower else "`up_to` and `under`"
            problems.append(
                Problem(
                    f"this band has {ends}, which are two {'lower' if lower else 'upper'} ends",
                    other.place,
                    f"keep one: {'`over`' if lower else '`under`'} leaves the end out",
                )
            )
    ends_given = (band.over, band.over_or_at, band.up_to, band.under)
    first = next((end for end in ends_given if end is not None), None)
    if first is not None and check.measures is None:
        problems.append(
            Problem(
                f"this band has an end, and the check `{check.id}` has no `measures`",
                first.place,
                "say under `measures` what lies between the ends",
            )
        )
    return problems + _certification(check.id, band.outcome, band.certification, False)


def _certification(
    check: Scalar, outcome: Scalar | None, certification: Scalar | None, either_way: bool
) -> list[Problem]:
    """A certification is named where one is required, and nowhere else."""
    required = outcome == "certification required"
    if required and certification is None and outcome is not None:
        return [
            Problem(
                f"the check `{check}` requires a certification here and does not say which",
                outcome.place,
                "add `certification: ...`",
            )
        ]
    if certification is not None and not required and not either_way:
        return [
            Problem(
                f"the check `{check}` names a certification here that it does not require",
                certification.place,
                "remove it, or let the outcome be certification required",
            )
        ]
    return []
