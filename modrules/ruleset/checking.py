"""The static check of a ruleset: every expression resolved, with all problems found.

``type_ruleset`` goes from the flattened ruleset to a value that screening runs from: names,
types, dimensions, conditions of measurement, circular quantities, certifications, texts, questions.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING

from modrules.language.parser import parse
from modrules.language.tree import YES_NO, Node
from modrules.problems import Problem, in_order
from modrules.ruleset.flat import FlatRuleset
from modrules.ruleset.names import build_names
from modrules.ruleset.typed import TypedCheck, TypedRuleset
from modrules.ruleset.typed_checks import certifications, typed_check
from modrules.ruleset.typed_loads import typed_load
from modrules.ruleset.typed_quantities import estimates, quantities
from modrules.ruleset.work import Work

if TYPE_CHECKING:
    from modrules.ruleset.models import Check, Quantity


def type_ruleset(flat: FlatRuleset) -> tuple[TypedRuleset, list[Problem]]:
    """The typed ruleset, with every problem in file order; use it only if none is an error."""
    vocabulary = build_names(flat)
    work = Work(flat, vocabulary)
    typed = _typed(work)
    return typed, in_order([*vocabulary.problems, *work.problems])


def type_check(typed: TypedRuleset, item: Check, index: int) -> tuple[TypedCheck, list[Problem]]:
    """Another version of a check, typed in a ruleset, and what is wrong with it."""
    work = Work(typed.flat, typed.vocabulary)
    return typed_check(work, index, item), work.problems


def type_checks_with(
    typed: TypedRuleset, quantity: Quantity, checks: Iterable[TypedCheck]
) -> tuple[list[TypedCheck], list[Problem]]:
    """Some checks with another version of a quantity under them, and what is wrong with them."""
    names, id = typed.names, str(quantity.id)
    holds = parse(quantity.holds) if quantity.holds is not None else None
    other = replace(
        names.quantities[id],
        formula=parse(quantity.formula),
        text=str(quantity.formula),
        holds=holds,
    )
    names = replace(names, quantities={**names.quantities, id: other})
    work = Work(typed.flat, replace(typed.vocabulary, names=names))
    items = typed.flat.checks
    return [typed_check(work, check.index, items[check.id]) for check in checks], work.problems


def _typed(work: Work) -> TypedRuleset:
    nodes = quantities(work)
    estimated = estimates(work)
    certifications(work)
    flat = work.flat
    checks = tuple(typed_check(work, i, item) for i, item in enumerate(flat.checks.values()))
    found = [typed_load(work, item) for item in flat.loads.values()]
    loads = tuple(one for one in found if one is not None)
    return TypedRuleset(flat, work.vocabulary, checks, estimated, nodes, loads, _whole(work))


def _whole(work: Work) -> dict[str, Node]:
    """The conditions under which lists name all that there is of their subjects."""
    found = {}
    for name, item in work.flat.subjects.items():
        if item.whole_if is None:
            continue
        if item.list is None or name == "modification":
            work.report(
                f'there is no list of "{name}" that could lack entries',
                item.whole_if,
                "take whole_if out",
            )
            continue
        node = work.expression(item.whole_if, work.typer.scope(), YES_NO)
        if node is not None:
            found[str(name)] = node
    return found
