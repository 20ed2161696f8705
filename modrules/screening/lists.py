"""Which lists of a submission may lack entries, and so the open facts of a world.

A list that is not given may hold any entries. One that is given names all there is, unless its
subject has a condition (``whole_if``) that the entries given do not surely meet: then there may be
others beside them, for which an entry stands of which nothing is known.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from modrules.language import domains as d
from modrules.language.possible import Env
from modrules.language.records import Layout, world_mask
from modrules.language.tree import Node, walk
from modrules.ruleset.typed import TypedRuleset


def settle(layout: Layout, world: Any) -> None:
    """Sets which lists may lack entries, and the mask of open facts."""
    find_lacking(world)
    world.mask = world_mask(layout, world)


def find_lacking(world: Any) -> None:
    """Sets which lists may lack entries (``unlisted``), by the facts as they are known."""
    waiting = {name: unlisted for name, (_, unlisted) in world.whole_if.items()}
    lacking = {name: one for name, one in world.unlisted.items() if name not in waiting}
    for name, (evaluate, unlisted) in world.whole_if.items():
        # Its own list counts as it is given; of others, what is not known to be whole stays open.
        del waiting[name]
        world.unlisted = {**lacking, **waiting}
        if evaluate(Env(world, {})) != d.TRUE:
            lacking[name] = unlisted
    world.unlisted = lacking


def conditions(typed: TypedRuleset, world: Any, names: Iterable[str]) -> list[Node]:
    """On what it hangs whether those of these lists that are given are whole."""
    return [typed.whole[name] for name in dict.fromkeys(names) if name in world.whole_if]


def telling_whole(typed: TypedRuleset, world: Any) -> frozenset[str]:
    """The facts that tell whether the lists that are given are whole."""
    nodes = walk(conditions(typed, world, world.whole_if))
    return frozenset(n.value[1] for n in nodes if n.op in ("fact", "stated", "fallback"))


def lacks(world: Any, subject: str) -> bool:
    """Whether there may be more of a subject than the submission lists."""
    return subject in world.unlisted
