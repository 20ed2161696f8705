"""What a submission says that only a later edition of a ruleset knows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from modrules.ruleset.tree import Map, Node


def left_out(
    later: Mapping[str, str], names: Sequence[str], node: Node, address: str
) -> dict[str, str] | None:
    """Facts by their address, each with the edition that knows it; None where one is unknown.

    ``names`` are what the fact at ``address`` may be called; of a group of facts that is new as a
    whole, each fact stands by itself.
    """
    edition = next((later[name] for name in names if name in later), None)
    if edition is not None:
        return {address: edition}
    if not isinstance(node, Map) or not node:
        return None
    found: dict[str, str] = {}
    for key, inner in node.items():
        more = left_out(later, [f"{name}.{key}" for name in names], inner, f"{address}.{key}")
        if more is None:
            return None
        found |= more
    return found
