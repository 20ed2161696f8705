"""A submission as it was given: vehicle, modifications, measurements and evidence.

``read_submission`` reads a file or a mapping into an immutable value that knows no ruleset.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Any

from modrules.problems import ModrulesError, Problem
from modrules.ruleset.source import read_yaml
from modrules.ruleset.tree import Blank, Map, Node, Scalar, Seq, plant


@dataclass(frozen=True, slots=True)
class Submission:
    """A submission as it was given. ``digest`` ignores layout and the order of keys."""

    tree: Map
    digest: str
    title: str
    name: str


def read_submission(source: str | Path | Mapping[str, Any]) -> Submission:
    """The submission in a YAML or JSON file, or given as a mapping.

    Raises ModrulesError where it is no submission at all.
    """
    if isinstance(source, Mapping):
        tree: Node = plant(source, "submission")
        name = "submission"
    else:
        if not isinstance(source, (str, Path)):
            given = type(source).__name__
            message = f"a value of the Python type {given} is no submission"
            raise ModrulesError(Problem(message, None, "give a mapping, or the path of a file"))
        tree = read_yaml(Path(source))
        name = str(source)
    if not isinstance(tree, Map):
        raise ModrulesError(
            Problem(
                "a submission is a mapping with keys such as vehicle and modifications", tree.place
            )
        )
    return submission_of(tree, name)


def submission_of(tree: Map, name: str) -> Submission:
    """The submission that a tree holds; ``name`` stands for its file."""
    title = tree.get("submission")
    return Submission(tree, digest_of(tree), str(title) if isinstance(title, Scalar) else "", name)


def digest_of(tree: Node) -> str:
    """sha256 over the content of a tree: the same for the same content, however laid out."""
    text = json.dumps(plain(tree), sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    return sha256(text.encode()).hexdigest()


def plain(tree: Node) -> Any:
    """The content of a tree as plain data, white space folded."""
    if isinstance(tree, Map):
        return {key: plain(value) for key, value in tree.items()}
    if isinstance(tree, Seq):
        return [plain(value) for value in tree]
    return None if isinstance(tree, Blank) else " ".join(tree.split())
