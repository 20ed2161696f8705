"""Loading a ruleset folder with all that it builds on.

    read_folder(folder, library=()) -> FlatRuleset      ModrulesError with all problems, in order
    collect(folder, library=()) -> Collected            the same for who goes on to check more:
                                                        what is usable, and the problems so far
    pick_edition(folder, on) -> Path                    the folder of the edition in force on a date
    later_facts(folder, picked, library=()) -> ...      what only editions after that one know

``library`` holds folders in which `builds_on: {ruleset: ...}` is looked up before the shipped
rulesets: each is the folder of a ruleset, or holds folders of rulesets that bear their ids.

Nothing here looks into an expression or follows a name from one item to another.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from modrules.problems import ModrulesError, Problem, in_order
from modrules.ruleset.building import flatten, stack
from modrules.ruleset.editions import later_editions, pick_edition
from modrules.ruleset.find import find_ruleset, shipped_folder, shipped_ids
from modrules.ruleset.flat import FlatRuleset, from_canonical, make_flat
from modrules.ruleset.layer import Memo
from modrules.ruleset.source import collector_paused
from modrules.ruleset.tree import Scalar

__all__ = [
    "Collected",
    "FlatRuleset",
    "collect",
    "find_ruleset",
    "from_canonical",
    "later_facts",
    "pick_edition",
    "read_folder",
    "shipped_folder",
    "shipped_ids",
]


@dataclass(frozen=True, slots=True)
class Collected:
    """What a folder comes to, and what is wrong with it so far.

    ``ruleset`` holds what is usable. The items ``left_out`` (section, id) are there but wrong in
    themselves; if not ``whole``, more is lost, and a name that is not found proves nothing.
    """

    ruleset: FlatRuleset
    problems: tuple[Problem, ...]
    left_out: frozenset[tuple[str, str]]
    whole: bool
    #: Every file of the rulesets that was read.
    files: tuple[Path, ...]

    @property
    def errors(self) -> tuple[Problem, ...]:
        """The problems that stand in the way of using it."""
        return tuple(problem for problem in self.problems if problem.level == "error")


def read_folder(folder: Path, library: Sequence[Path] = ()) -> FlatRuleset:
    """The flattened ruleset in ``folder``; ModrulesError with all problems, in file order."""
    collected = collect(folder, library)
    if collected.errors:
        raise ModrulesError(collected.errors)
    return collected.ruleset


def collect(folder: Path, library: Sequence[Path] = (), memo: Memo | None = None) -> Collected:
    """What is usable of the ruleset in ``folder``, and everything that is wrong with it.

    ``memo`` holds files that have been read already, and gets all others.
    ModrulesError only where ``folder`` is no folder of a ruleset.
    """
    folder = find_ruleset(folder)
    with collector_paused():
        memo = {} if memo is None else memo
        stacked = stack(folder, [Path(each) for each in library], memo)
        problems = list(stacked.problems)
        items, left_out = flatten(stacked.layers, problems)
        cautions: dict[str, Scalar] = {}
        text_files: dict[str, Path] = {}
        for layer in stacked.layers:
            problems += layer.problems
            head, top = layer.head, stacked.layers[-1].head
            # An earlier edition of the same ruleset speaks for itself alone.
            earlier = head.ruleset == top.ruleset and layer is not stacked.layers[-1]
            for caution in () if earlier else head.cautions:
                cautions.setdefault(str(caution), caution)
            for text in layer.items.get("texts", {}):
                text_files.pop(text, None)
            text_files |= layer.text_files
        flat = make_flat(
            stacked.layers[-1].head,
            items,
            tuple((str(each.head.ruleset), str(each.head.edition)) for each in stacked.layers),
            tuple(cautions.values()),
            # Where they are stays so, whatever folder the process is in when they are read.
            {text: path.resolve() for text, path in text_files.items() if text in items["texts"]},
            folder.resolve(),
        )
    files = tuple(sorted({path for path, _ in memo}))
    return Collected(flat, tuple(in_order(problems)), frozenset(left_out), stacked.whole, files)


def later_facts(
    folder: Path, picked: Path, library: Sequence[Path] = ()
) -> tuple[dict[str, str], tuple[Path, ...]]:
    """Each fact that an edition after the one in ``picked`` has, with the first that has it.

    Beside them the files that were read. An edition that is wrong in itself tells nothing.
    """
    memo: Memo = {}
    found: dict[str, str] = {}
    for path, edition in later_editions(folder, picked):
        collected = collect(path, library, memo)
        if not collected.errors:
            for fact in collected.ruleset.facts:
                found.setdefault(str(fact), edition)
    return found, tuple(sorted({path for path, _ in memo}))
