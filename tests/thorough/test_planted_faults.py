"""Each law must have been seen to fail: a fault is planted in the engine, and the law finds it."""

from __future__ import annotations

import ast
from bisect import bisect_right
from collections.abc import Callable, Iterator
from fractions import Fraction
from typing import Any

import pytest
from law_runs import counterexample
from laws import LAWS

from modrules.language import domains, interval_lists, intervals, recipes
from modrules.language.domains import Range
from modrules.language.records import Open
from modrules.ruleset.typed import BIT
from modrules.screening import (
    binding,
    decide,
    entries,
    estimates,
    evaluate,
    findings,
    margins,
    prepared,
    values,
    working,
)
from modrules.screening.evaluate import Evaluator
from modrules.screening.papers import Papers
from modrules.screening.prepared import Run

Patch = pytest.MonkeyPatch
PLANTED: dict[str, tuple[str, str, Callable[[Patch], None]]] = {}


Fault = Callable[[Patch], None]


def plant(law: str, focus: str = "") -> Callable[[Fault], Fault]:
    """Files a fault under the law that must find it, among rulesets of one focus if need be."""

    def file(fault: Fault) -> Fault:
        PLANTED[fault.__name__] = (law, focus, fault)
        return fault

    return file


# -- agreement -----------------------------------------------------------------------------


@plant("agreement")
def interval_at_most_is_strict(patch: Patch) -> None:
    def at_most(a: Range, b: Range) -> int:
        if a[0] > a[1] or b[0] > b[1]:
            return domains.GAP
        mask = domains.GAP if a[2] or b[2] else 0
        if a[1] < b[0]:
            return mask | domains.TRUE
        return mask | (domains.FALSE if a[0] >= b[1] else domains.UNDECIDED)

    patch.setattr(domains, "at_most", at_most)


@plant("agreement")
def band_end_open_instead_of_closed(patch: Patch) -> None:
    def below(end: int | None, _closed: bool, _low: Any, high: Any) -> bool:
        return end is None or high < end

    patch.setattr(evaluate, "_below", below)


@plant("agreement")
def compiled_band_end_closed_instead_of_open(patch: Patch) -> None:
    plain = decide.in_order

    def in_order(left: Any, operator: ast.cmpop, right: Any) -> ast.expr:
        return plain(left, ast.LtE() if isinstance(operator, ast.Lt) else operator, right)

    patch.setattr(decide, "in_order", in_order)


@plant("agreement")
def exemption_ignored_in_compiled_code(patch: Patch) -> None:
    patch.setattr(decide, "EXEMPT", BIT["not permitted"])


@plant("agreement")
def certification_coverage_flipped(patch: Patch) -> None:
    plain = Papers.outcomes
    patch.setattr(Papers, "outcomes", lambda self, row: plain(self, (row[1], row[0])))


@plant("agreement")
def false_and_no_value_has_no_value(patch: Patch) -> None:
    def both(x: int, y: int) -> int:
        if domains.GAP in (x, y):
            return domains.GAP
        return domains.TRUE if x == y == domains.TRUE else domains.FALSE

    patch.setattr(domains, "AND", domains._table(both))


@plant("agreement", "tabled")
def step_of_a_table_excludes_its_end(patch: Patch) -> None:
    patch.setattr(recipes, "bisect_left", bisect_right)


@plant("agreement")
def any_of_a_list_is_whether_there_are_any(patch: Patch) -> None:
    def any_of(members: list[tuple[int, Any]], _default: Any) -> int:
        return domains.truth(bool(members))

    patch.setitem(interval_lists._FOLDS, "any", any_of)  # type: ignore[arg-type]


# -- soundness, information, narrowing -----------------------------------------------------


@plant("soundness")
def fact_that_may_be_none_stated_counts_as_none(patch: Patch) -> None:
    def is_none(value: Open) -> bool:
        return value.none and (value.low > value.high or value.values == frozenset())

    patch.setattr(intervals, "is_none", is_none)


@plant("soundness", "simple")
def estimate_forgets_none_stated(patch: Patch) -> None:
    plain = estimates._narrow

    def narrow(*given: Any) -> Any:
        value = plain(*given)
        return Open(value.low, value.high) if isinstance(value, Open) and value.none else value

    patch.setattr(estimates, "_narrow", narrow)


@plant("soundness")
def tolerance_halved(patch: Patch) -> None:
    plain = values.read_quantity

    def read(*given: Any, **how: Any) -> tuple[Fraction, Fraction | None, str]:
        value, tolerance, unit = plain(*given, **how)
        return value, tolerance / 2 if tolerance is not None else None, unit

    patch.setattr(values, "read_quantity", read)


@plant("information", "simple")
def month_alone_counts_as_its_first_day(patch: Patch) -> None:
    plain = values.read_date

    def read(text: str) -> tuple[int, int]:
        first, last = plain(text)
        return first, last if last - first > 40 else first

    patch.setattr(values, "read_date", read)


@plant("narrowing")
def sums_ignore_what_has_no_value(patch: Patch) -> None:
    plain = domains.range_add
    patch.setattr(domains, "range_add", lambda a, b: (*plain(a, b)[:2], False))


@plant("narrowing")
def only_the_first_case_is_tried(patch: Patch) -> None:
    plain = evaluate.split
    patch.setattr(evaluate, "split", lambda value: plain(value)[:1])


@plant("narrowing", "twice")
def open_conditions_assumed_true(patch: Patch) -> None:
    def cases(self: Evaluator, env: Any, at: int) -> Iterator[None]:
        for node, closure in self.atoms[at:]:
            mask = closure(env)
            env.nodes[node] = domains.TRUE if mask & domains.TRUE else mask
        yield

    patch.setattr(Evaluator, "_atom_cases", cases)


# -- ranges, lists, numbers, reports, order ------------------------------------------------


@plant("ranges", "simple")
def missing_safety_facts_keep_their_range(patch: Patch) -> None:
    plain = values.missing_value

    def missing(fact: Any, limits: Any, _item: Any) -> Open:
        return plain(fact, limits, None)

    patch.setattr(entries, "missing_value", missing)


@plant("ranges")
def what_is_assumed_is_not_told(patch: Patch) -> None:
    patch.setattr(findings, "assumed", lambda *_: [])


@plant("lists")
def list_not_given_comes_to_what_the_check_states(patch: Patch) -> None:
    plain = Run.evaluate

    def evaluate(run: Run, check: Any, subject: Any, world: Any = None) -> int:
        if isinstance(subject, prepared.NotGiven):
            return int(check.outcomes) | BIT["not applicable"]
        return plain(run, check, subject, world)

    patch.setattr(Run, "evaluate", evaluate)


@plant("agreement")
def list_that_lacks_entries_passes_as_whole(patch: Patch) -> None:
    plain = binding.settle

    def settle(layout: Any, world: Any) -> None:
        kept = {n: one for n, one in world.unlisted.items() if n not in world.whole_if}
        world.whole_if, world.unlisted = {}, kept
        plain(layout, world)

    patch.setattr(binding, "settle", settle)


@plant("lists")
def entries_not_listed_are_one_at_most(patch: Patch) -> None:
    def folded(function: str, given: Any, unlisted: Any, default: Any) -> Any:
        return interval_lists._FOLDS[function]([*given, unlisted], default)

    patch.setattr(interval_lists, "_with_unlisted", folded)


@plant("numbers")
def margin_from_the_wrong_side(patch: Patch) -> None:
    plain = decide.constant_ends

    def turned(check: Any) -> Any:
        return {index: (end, -sign) for index, (end, sign) in plain(check).items()}

    patch.setattr(decide, "constant_ends", turned)


@plant("numbers")
def room_beyond_the_end_of_another_band(patch: Patch) -> None:
    plain = margins.ends_around

    def turned(*given: Any) -> Any:
        return tuple((end, -sign) for end, sign in plain(*given))

    patch.setattr(margins, "ends_around", turned)


@plant("reports")
def reason_is_not_told(patch: Patch) -> None:
    patch.setattr(working, "why_no_value", lambda *_: None)


@plant("order")
def only_the_first_document_counts(patch: Patch) -> None:
    patch.setattr(binding, "Papers", lambda documents, *given: Papers(documents[:1], *given))


def test_each_law_has_a_planted_fault() -> None:
    assert {law for law, _, _ in PLANTED.values()} == set(LAWS)


@pytest.mark.parametrize("fault", PLANTED)
def test_the_law_finds_the_fault(fault: str, monkeypatch: Patch) -> None:
    law, focus, planted = PLANTED[fault]
    planted(monkeypatch)
    broken = counterexample(law, focus)
    assert broken is not None
    assert broken.law == law
