"""Proofs of a ruleset over all vehicles.

prove(ruleset, only=None) -> Proofs       needs z3 (the extra "proofs")
available() -> bool                        whether it is there
"""

from __future__ import annotations

from collections.abc import Iterable
from importlib.util import find_spec

from modrules.problems import Problem, in_order
from modrules.proofs.found import Found, Proofs
from modrules.proofs.unused import most_decisive, unused
from modrules.screening.prepared import Ruleset


def available() -> bool:
    """Whether the solver that proofs need is installed."""
    return find_spec("z3") is not None


def prove(ruleset: Ruleset, only: Iterable[str] | None = None, budget: int | None = None) -> Proofs:
    """What holds of a ruleset for every vehicle, from its typed checks and its ranges.

    ``only``: the ids of the checks to look at (all if left out); then what is unused is not
    looked for, nor while a check is unfinished. ``budget``: the solver's steps for one
    question. The ruleset must come from its files (not from a cache), so that the problems
    have places.
    """
    from z3 import Z3Exception

    from modrules.proofs.asking import BUDGET
    from modrules.proofs.outside import ask_outside
    from modrules.proofs.single import Asker, ask_about
    from modrules.proofs.space import Untranslatable
    from modrules.proofs.through import ask_through
    from modrules.proofs.together import ask_together

    asker = Asker(ruleset, budget or BUDGET)
    chosen = None if only is None else frozenset(only)
    for check in ruleset.typed.checks:
        if chosen is None or check.id in chosen:
            try:
                ask_about(asker, check)
                ask_outside(asker, check)
            except (Z3Exception, Untranslatable) as error:
                asker.give_up((check.id,), error)
    ask_together(asker, chosen)
    ask_through(asker, chosen)
    found: list[Found] = asker.found
    notes: tuple[Problem, ...] = ()
    if chosen is None:
        notes = most_decisive(ruleset)
        # What a check will use is known when it is written.
        unfinished = sum(check.unfinished for check in ruleset.typed.checks)
        if unfinished:
            said = f"what nothing uses was not looked for, since {unfinished} checks are unfinished"
            notes = (Problem(said, level="note"), *notes)
        else:
            found = [*found, *unused(ruleset, asker.dead)]
    places = {problem: n for n, problem in enumerate(in_order(each.problem for each in found))}
    found.sort(key=lambda each: places[each.problem])
    return Proofs(tuple(found), tuple(asker.not_proved), asker.asked, notes, tuple(asker.remarks))
