"""The laws of evaluation, each as a function that raises ``LawBroken`` on a counterexample.

    agreement       compiled code, interval evaluator and reference come to the same
    soundness       whatever completes an open submission comes out among the possible outcomes
    information     saying more never adds a possible outcome
    narrowing       the same for every shape of open fact, set directly at run time
    ranges          what is missing decides by its range only where that is allowed, and said
    lists           a list that is not given, or not whole, leaves open all that giving it can bring
    numbers         measured value, limit and margin are those of rational arithmetic
    reports         every finding can be told, and an open one says why it is open
    order           nothing depends on the order in which entries are listed

Each takes the choices of one example, so that any of them can be tried alone.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Any

from generators import TODAY, Made
from law_choices import Choices, chance, pick, some
from law_fillings import Vehicle, completed, loosened, make_target
from law_worlds import changed_world, closed, opened
from reference import EVERYTHING, Reference, Subjects

from modrules.language.parser import parse
from modrules.language.records import Open, attribute, records_of
from modrules.language.tree import FactName
from modrules.ruleset.typed import BIT, TypedCheck
from modrules.ruleset.words import OUTCOMES
from modrules.screening.binding import bind
from modrules.screening.explain import address_of, lists_read
from modrules.screening.findings import Finding, outcomes_of
from modrules.screening.prepared import NotGiven, Run
from modrules.screening.report import Report, Screening
from modrules.screening.submission import read_submission

Key = tuple[str, tuple[str, ...]]
Found = Mapping[Key, frozenset[str]]
#: what stands for the ids of entries that are not listed
NOT_GIVEN = ("not given",)


class LawBroken(AssertionError):
    """A counterexample to a law."""

    def __init__(self, law: str, told: str) -> None:
        super().__init__(f"{law}: {told}")
        self.law = law


@dataclass
class Tally:
    """How often each thing occurred in a run."""

    seen: Counter[str] = field(default_factory=Counter)

    def note(self, what: str, times: int = 1) -> None:
        self.seen[what] += times


# -- screening -----------------------------------------------------------------------------


def screened(made: Made, vehicle: Vehicle) -> Run:
    """The screening of a submission."""
    ruleset = made.ruleset
    bound = bind(read_submission(vehicle.data()), ruleset.typed, ruleset.layout, TODAY)
    run = Run(ruleset, bound)
    run.screen()
    return run


def ids_of(subject: Any) -> tuple[str, ...]:
    if subject is None:
        return ()
    if isinstance(subject, NotGiven):
        return NOT_GIVEN
    records = subject if isinstance(subject, tuple) else (subject,)
    return tuple(record.id for record in records if record.id)


def found_in(run: Run) -> dict[Key, frozenset[str]]:
    """The possible outcomes of each finding."""
    checks = run.ruleset.typed.checks
    return {(checks[raw[0]].id, ids_of(raw[1])): frozenset(outcomes_of(raw[2])) for raw in run.raw}


def wider_than(found: Found, key: Key) -> frozenset[str]:
    """What was possible of a finding before more was said: of nothing, of what was not listed."""
    return found.get(key) or found.get((key[0], NOT_GIVEN), frozenset())


def by_reference(made: Made, vehicle: Vehicle) -> dict[Key, frozenset[str]]:
    world = vehicle.world(made.vocabulary.facts)
    return Reference(made.data, world).findings()


def lacking_by_reference(made: Made, vehicle: Vehicle) -> set[str]:
    """The lists of an exact submission that are given and yet not known to be whole.

    A condition that reads another list counts it as whole only if that one stands before it.
    """
    world = vehicle.world(made.vocabulary.facts)
    reference = Reference(made.data, world)
    lacking: set[str] = set()
    for item in made.data["subjects"]:
        condition = item.get("whole_if")
        if condition is None:
            continue
        reads_lacking = any(f"each {name})" in condition for name in lacking)
        # More axles never make ``count >= count(each axle)`` hold.
        if reads_lacking or reference.value(condition, world.subjects) is not True:
            lacking.add(item["id"])
    return lacking


def told(made: Made, key: Key, **more: Any) -> str:
    """A counterexample in words: the check, and what else belongs to it."""
    check = next(item for item in made.data["checks"] if item["id"] == key[0])
    shown = {k: v for k, v in check.items() if k not in ("id", "title", "cites")}
    text = json.dumps(shown, ensure_ascii=False)
    formulas = {
        q["id"]: q["formula"] for q in made.data["quantities"] if q["id"].partition(".")[2] in text
    }
    parts = [f"{name}: {_plain(value)}" for name, value in more.items()]
    return "\n  ".join([f"{key}", text, f"{formulas}", *parts])


def _plain(value: Any) -> str:
    if isinstance(value, frozenset):
        return " or ".join(outcome for outcome in OUTCOMES if outcome in value) or "nothing"
    if isinstance(value, Vehicle):
        return json.dumps(value.data(), ensure_ascii=False)
    return str(value)


# -- the laws ------------------------------------------------------------------------------


def agreement(choices: Choices, made: Made, tally: Tally) -> None:
    """Where every fact is exact, all three evaluators come to the same outcomes."""
    vehicle = make_target(choices, made)
    run = screened(made, vehicle)
    found, expected = found_in(run), by_reference(made, vehicle)
    lacking = lacking_by_reference(made, vehicle)
    if lacking != set(run.bound.world.unlisted):
        raise LawBroken("agreement", f"lists that may lack entries: {lacking}\n{_plain(vehicle)}")
    for check in run.ruleset.typed.checks:
        if lacking & set(check.per):
            expected.pop((check.id, ()), None)
            expected[check.id, NOT_GIVEN] = frozenset()
    if set(found) != set(expected):
        raise LawBroken("agreement", f"subjects: {set(found) ^ set(expected)}\n{_plain(vehicle)}")
    exactly = compiled(run)
    for raw in run.raw:
        check = run.ruleset.typed.checks[raw[0]]
        key = (check.id, ids_of(raw[1]))
        if key[1] == NOT_GIVEN or lacking & set(lists_read(check.nodes())):
            tally.note("lists that lack entries")
            if not expected[key] <= found[key]:
                text = told(made, key, engine=found[key], reference=expected[key], vehicle=vehicle)
                raise LawBroken("agreement", text)
            continue
        tally.note("decided" if len(found[key]) == 1 else "no value")
        for outcome in found[key]:
            tally.note(f"outcome: {outcome}", len(found[key]) == 1)
        if found[key] != expected[key]:
            text = told(made, key, engine=found[key], reference=expected[key], vehicle=vehicle)
            raise LawBroken("agreement", text)
        if raw[1] is None and _over_list(run, check):
            continue
        possible = frozenset(outcomes_of(run.evaluate(check, raw[1])))
        if possible != expected[key]:
            text = told(made, key, interval=possible, reference=expected[key], vehicle=vehicle)
            raise LawBroken("agreement", text)
        tally.note("compiled" if key in exactly else "left to the interval evaluator")
    for said in vehicle.said.values():
        tally.note("none stated", said is not None and said.text == "none stated")


def compiled(run: Run) -> set[Key]:
    """The findings that the compiled code decides itself."""
    found: list[Any] = []
    left: set[tuple[int, int]] = set()
    world, checks = run.bound.world, run.ruleset.typed.checks
    for _, screen, _ in run.ruleset._screens:
        screen(world, found.append, run.held, lambda i, s: left.add((i, id(s))))
    return {(checks[raw[0]].id, ids_of(raw[1])) for raw in found}


def _over_list(run: Run, check: TypedCheck) -> bool:
    return any(run.ruleset.typed.names.subjects[name].many for name in check.per)


def soundness(choices: Choices, made: Made, tally: Tally) -> None:
    """The outcome of every completion of a submission is among the possible ones."""
    target = make_target(choices, made)
    vehicle = loosened(choices, made, target, often=1 + choices.below(3))
    run = screened(made, vehicle)
    found = found_in(run)
    _count_open(found, vehicle, tally)
    for raw in run.raw:
        tally.note("precision", Finding(run, raw).precision is not None)
    for _ in range(4):
        other = completed(choices, made, vehicle)
        for exact in (target, other) if other is not None else (target,):
            for key, outcome in by_reference(made, exact).items():
                if not outcome <= wider_than(found, key):
                    text = told(
                        made,
                        key,
                        possible=wider_than(found, key),
                        outcome=outcome,
                        open=vehicle,
                        completed=exact,
                    )
                    raise LawBroken("soundness", text)
        tally.note("completions", other is not None)


def _count_open(found: Found, vehicle: Vehicle, tally: Tally) -> None:
    for possible in found.values():
        tally.note("decided though facts are open", len(possible) == 1)
        tally.note("open findings", 1 < len(possible) < len(EVERYTHING))
    for said in vehicle.said.values():
        if said is None:
            tally.note("missing facts")
        else:
            tally.note("tolerances", "±" in said.text)
            tally.note("partial dates", said.text[:2] in ("19", "20") and len(said.text) < 8)


def information(choices: Choices, made: Made, tally: Tally) -> None:
    """The more is said, the fewer outcomes are possible; what is decided stays so."""
    exact = make_target(choices, made)
    some_said = loosened(choices, made, exact)
    little_said = loosened(choices, made, some_said)
    before: Found | None = None
    for vehicle in (little_said, some_said, exact):
        found = found_in(screened(made, vehicle))
        for key, possible in found.items():
            wide = wider_than(before, key) if before is not None else possible
            if not possible <= wide:
                text = told(made, key, less_said=wide, more_said=possible, more=vehicle)
                raise LawBroken("information", text)
            tally.note("narrowed", possible < wide)
        before = found


def narrowing(choices: Choices, made: Made, tally: Tally) -> None:
    """The same for every shape of open fact: sets of words, ranges, with and without none."""
    run = screened(made, make_target(choices, made))
    levels = [run.bound.world]
    for _ in range(2):
        levels.append(opened(choices, made, run, levels[-1]))
    exact = [run.bound.world, *(closed(choices, run, levels[-1]) for _ in range(3))]
    for index, ids, check in _subjects(run):
        sets = [_possible(run, check, world, index, ids) for world in levels]
        for narrow, wide in pairwise(sets):
            if not narrow <= wide:
                text = told(made, (check.id, ids), narrow=narrow, wide=wide)
                raise LawBroken("narrowing", f"{text}\n{_facts(run, levels)}")
        for world in exact:
            outcome = _possible(run, check, world, index, ids)
            if not outcome <= sets[-1]:
                text = told(made, (check.id, ids), exact=outcome, wide=sets[-1])
                raise LawBroken("narrowing", f"{text}\n{_facts(run, [world, levels[-1]])}")
        tally.note("sets narrowed", len(set(sets)) > 1)


def _subjects(run: Run) -> Iterator[tuple[Any, tuple[str, ...], TypedCheck]]:
    for raw in run.raw:
        check = run.ruleset.typed.checks[raw[0]]
        if raw[1] is not None or not _over_list(run, check):
            yield raw[1], ids_of(raw[1]), check


def _possible(
    run: Run, check: TypedCheck, world: Any, subject: Any, ids: tuple[str, ...]
) -> frozenset[str]:
    """What a check may come to in another world, on the subject of the same ids."""
    if subject is not None and ids != NOT_GIVEN:
        own = [
            next(r for r in getattr(world, attribute(name)) if r.id == record)
            for name, record in zip(check.per, ids, strict=True)
        ]
        subject = tuple(own) if len(own) > 1 else own[0]
    return frozenset(outcomes_of(run.evaluate(check, subject, world)))


def _facts(run: Run, worlds: list[Any]) -> str:
    lines = []
    for name in (*run.ruleset.layout.singles, "axle", "wheel", "modification"):
        for world in worlds:
            found = getattr(world, attribute(name))
            for record in found if isinstance(found, tuple) else (found,):
                values = {s: getattr(record, s, None) for s in type(record).__slots__[4:]}
                lines.append(f"{name} {record.id}: {values}")
    return "\n".join(lines)


def ranges(choices: Choices, made: Made, tally: Tally) -> None:
    """Missing facts on safety never decide by their range; where others do, that is said.

    So it is where the range cut off some of what was given with a tolerance.
    """
    run = screened(made, loosened(choices, made, make_target(choices, made), often=3))
    far = pick(choices, (-(10**15), 10**15))
    safety = {name for name, item in run.ruleset.flat.facts.items() if item.safety}

    def extreme(fact: FactName, value: Any) -> Any:
        missing = isinstance(value, Open) and value.missing
        return far if missing and fact.id in safety and fact.type.kind == "quantity" else value

    cut = _cut_values(run)

    def unbounded(_fact: FactName, value: Any) -> Any:
        if id(value) in cut:
            return Open(*cut[id(value)], none=value.none)
        ranged = isinstance(value, Open) and value.missing and value.values is None
        return Open(none=value.none, missing=True) if ranged else value

    beyond, free = (
        changed_world(run, run.bound.world, extreme),
        changed_world(run, run.bound.world, unbounded),
    )
    for raw in run.raw:
        check, ids = run.ruleset.typed.checks[raw[0]], ids_of(raw[1])
        if raw[1] is None and _over_list(run, check):
            continue
        possible = frozenset(outcomes_of(raw[2]))
        outcome = _possible(run, check, beyond, raw[1], ids)
        if not outcome <= possible:
            text = told(made, (check.id, ids), possible=possible, beyond_range=outcome)
            raise LawBroken("ranges", f"{text}\n{_facts(run, [run.bound.world])}")
        if len(possible) == 1:
            by_range = _possible(run, check, free, raw[1], ids) != possible
            assumed = bool(Finding(run, raw).assumed)
            tally.note("assumed", assumed)
            if by_range != assumed:
                text = told(made, (check.id, ids), decided_by_range=by_range, assumed=assumed)
                raise LawBroken("ranges", f"{text}\n{_facts(run, [run.bound.world])}")
        tally.note("safety facts missing", outcome != possible)


def _cut_values(run: Run) -> dict[int, tuple[Any, Any]]:
    """By the identity of a value of the world that a range cut: what was given."""
    facts, found = run.ruleset.typed.names.facts.values(), {}
    for subject in run.ruleset.typed.names.subjects:
        for record in records_of(run.bound.world, subject):
            for fact in facts:
                value = getattr(record, fact.slot, None)
                given = run.bound.cuts.get(address_of(run.ruleset, record, fact))
                if isinstance(value, Open) and given is not None:
                    found[id(value)] = given
    return found


def lists(choices: Choices, made: Made, tally: Tally) -> None:
    """A list that is not given, or not whole, leaves open all that giving it can bring."""
    given = loosened(choices, made, make_target(choices, made), often=choices.below(3))
    name = pick(choices, ("axle", "wheel"))
    ids = given.records[name] or ()
    kept = some(choices, ids) if chance(choices, 1, 2) else None
    gone = set(ids) - set(kept or ())
    said = {address: value for address, value in given.said.items() if address[0] not in gone}
    without = replace(given, records={**given.records, name: kept}, said=said)
    run = screened(made, without)
    if name not in run.bound.world.unlisted:
        tally.note("lists that are whole without some entries")
        return
    more, less = found_in(screened(made, given)), found_in(run)
    tally.note("lists not given", kept is None)
    tally.note("lists given in part", bool(kept) and bool(gone))
    for key, possible in more.items():
        wide = wider_than(less, key)
        if not possible <= wide:
            text = told(made, key, not_given=wide, given=possible, vehicle=given, part=kept)
            raise LawBroken("lists", text)


def numbers(choices: Choices, made: Made, tally: Tally) -> None:
    """Measured value, limit and margin agree with rational arithmetic, compiled or not."""
    vehicle = make_target(choices, made)
    run = screened(made, vehicle)
    reference = Reference(made.data, vehicle.world(made.vocabulary.facts))
    names = {
        (check["id"], ids): subjects
        for check in made.data["checks"]
        for ids, subjects in reference.subjects_of(check)
    }
    for raw in run.raw:
        index, subject, mask, measured, limit, margin = raw
        check = run.ruleset.typed.checks[index]
        if measured is None or check.measure is None:
            continue
        key = (check.id, ids_of(subject))
        item = next(item for item in made.data["checks"] if item["id"] == check.id)
        expected = _measured(reference, item, names[key])
        scale = check.measure.scale
        got = (measured * scale, None if limit is None else limit * scale)
        if got[0] != expected[0] or (expected[1] is not None and got[1] != expected[1]):
            raise LawBroken("numbers", told(made, key, got=got, expected=expected, vehicle=vehicle))
        if limit is not None:
            room = limit - measured
            certified = mask == BIT["certified"]
            harmless = mask <= BIT["caution"]
            wrong = not certified and "bands" in item and (margin < 0) == harmless and margin != 0
            if abs(room) != abs(margin) or wrong:
                text = told(made, key, got=got, margin=margin, vehicle=vehicle)
                raise LawBroken("numbers", text)
            tally.note("margins")
            tally.note("right on the limit", margin == 0)
        again = Finding(run, (index, subject, mask, None, None, None))
        same = Finding(run, raw)
        if limit is None and same.limit is not None:
            tally.note("limits worked out for whoever reads")
            if not _from_an_end(same, item, reference, names[key]):
                shown = (same.measured, same.limit, same.margin)
                raise LawBroken("numbers", told(made, key, shown=shown, vehicle=vehicle))
        if (same.measured, same.limit, same.margin) != (again.measured, again.limit, again.margin):
            text = told(
                made,
                key,
                compiled=(same.measured, same.limit, same.margin),
                interval=(again.measured, again.limit, again.margin),
                vehicle=vehicle,
            )
            raise LawBroken("numbers", text)


def _from_an_end(
    finding: Finding, item: Mapping[str, Any], reference: Reference, names: Subjects
) -> bool:
    """Whether the limit is an end of a band, with room for the mildest, none for the worst."""
    stated = [band[key] for band in item["bands"] for key in ENDS if key in band]
    measured, limit, margin = finding._numbers
    assert limit is not None
    assert measured is not None
    low, high, _ = limit
    check = finding._run.ruleset.typed.checks[finding._raw[0]]
    assert check.measure is not None
    if low != high:
        return margin is None
    if low * check.measure.scale not in [reference.value(end, names) for end in stated]:
        return False
    return margin is not None and not (
        (finding.possible == ("complies",) and margin < 0)
        or (finding.possible == ("not permitted",) and margin > 0)
    )


def _measured(reference: Reference, item: Mapping[str, Any], names: Subjects) -> tuple[Any, Any]:
    """Measured value and limit by the reference, in SI units; None where there is none."""
    if "measures" in item:
        return reference.value(item["measures"], names), None
    tree: Any = parse(item["requires"])
    everything = {**reference.world.subjects, **names}
    return reference.of(tree.left, everything), reference.of(tree.right, everything)


def reports(choices: Choices, made: Made, tally: Tally) -> None:
    """Everything about every finding can be said; an open finding says why it is open."""
    vehicle = loosened(choices, made, make_target(choices, made), often=choices.below(4))
    if chance(choices, 1, 4):
        vehicle = replace(vehicle, records={**vehicle.records, "axle": None})
    data = _report(made, vehicle)
    text = json.dumps(data, sort_keys=True, ensure_ascii=False)
    if text != json.dumps(_report(made, vehicle), sort_keys=True, ensure_ascii=False):
        raise LawBroken("reports", "the same input gives another report")
    rank = {outcome: i for i, outcome in enumerate(OUTCOMES)}
    best = worst = 0
    for finding in data["findings"]:
        possible = [rank[outcome] for outcome in finding["possible"]]
        if not possible or possible != sorted(set(possible)):
            raise LawBroken("reports", f"possible: {finding['possible']}")
        best, worst = max(best, possible[0]), max(worst, possible[-1])
        decided = len(possible) == 1
        why = finding["missing"] or finding["reason"]
        if not decided and not why:
            key = (finding["check"], ())
            shown = frozenset(finding["possible"])
            raise LawBroken(
                "reports", told(made, key, subject=finding["subject"], open=shown, vehicle=vehicle)
            )
        tally.note("reasons", finding["reason"] is not None)
    if data["answer"] != {"best": OUTCOMES[best], "worst": OUTCOMES[worst]}:
        raise LawBroken("reports", f"answer: {data['answer']}")


def _report(made: Made, vehicle: Vehicle) -> dict[str, Any]:
    report = Report([Screening(screened(made, vehicle), {}, "")], "0", TODAY)
    return report.to_dict()


def order(choices: Choices, made: Made, tally: Tally) -> None:
    """The order of axles, modifications and documents changes nothing but the order."""
    vehicle = loosened(choices, made, make_target(choices, made), often=1)
    turned = {name: ids and ids[::-1] for name, ids in vehicle.records.items()}
    other = replace(vehicle, records=turned, papers=vehicle.papers[::-1])
    # Of a pair, the one listed first is `first`: an order that a rule can see.
    alike = {
        check.id for check in made.ruleset.typed.checks if len(set(check.per)) == len(check.per)
    }
    found, again = found_in(screened(made, vehicle)), found_in(screened(made, other))
    for key, possible in found.items():
        if key[0] in alike and possible != again[key]:
            text = told(made, key, one=possible, other=again[key], vehicle=vehicle)
            raise LawBroken("order", text)
        tally.note("reordered", key[0] in alike)


#: the keys of a band that give an end
ENDS = ("over", "from", "up_to", "under")

LAWS: Mapping[str, Callable[[Choices, Made, Tally], None]] = {
    "agreement": agreement,
    "soundness": soundness,
    "information": information,
    "narrowing": narrowing,
    "ranges": ranges,
    "lists": lists,
    "numbers": numbers,
    "reports": reports,
    "order": order,
}
