"""What typing a ruleset works with: expressions to nodes, and the problems met on the way."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from modrules.language import syntax
from modrules.language.parser import SyntaxProblem, parse
from modrules.language.tree import (
    Node,
    Tree,
    Type,
)
from modrules.language.typer import MOST_NODES, Typer
from modrules.problems import Problem, nearest
from modrules.ruleset.flat import FlatRuleset
from modrules.ruleset.names import Vocabulary
from modrules.ruleset.tree import Scalar


@dataclass(slots=True)
class Work:
    """A ruleset being typed: its names, the tree that all expressions go into, problems so far."""

    flat: FlatRuleset
    vocabulary: Vocabulary
    problems: list[Problem] = field(default_factory=list)
    typer: Typer = field(init=False)
    tree: Tree = field(init=False)
    parsed: dict[str, syntax.Syntax] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.tree = Tree()
        self.typer = Typer(self.vocabulary.names, self.tree)

    def report(self, message: str, at: Scalar | None, hint: str = "") -> None:
        self.problems.append(Problem(message, at.place if at is not None else None, hint))

    def unknown(self, what: str, name: Scalar, known: Mapping[str, Any]) -> None:
        self.report(f'there is no {what} "{name}"', name, nearest(name, known))

    def expression(
        self, text: Scalar | None, scope: Mapping[str, str], expected: Type | None = None
    ) -> Node | None:
        """The typed node of an expression, or None with its problems reported."""
        if text is None:
            return None
        tree = self.parsed.get(text)
        if tree is None:
            try:
                tree = self.parsed[text] = parse(text)
            except SyntaxProblem as problem:
                self.problems.append(
                    Problem(problem.message, text.place_at(*problem.span), problem.hint)
                )
                return None
        node = self.typer.expression(tree, scope, expected)
        self.take_problems(text)
        if node is not None and node.size > MOST_NODES:
            self.report(
                f"this expression is too large: {node.size} parts with the quantities in it",
                text,
                f"at most {MOST_NODES} are allowed",
            )
            return None
        return node

    def take_problems(self, text: Scalar) -> None:
        for problem in self.typer.problems:
            self.problems.append(
                Problem(problem.message, text.place_at(*problem.span), problem.hint)
            )
        self.typer.problems.clear()

    def own_scope(self, subject: str) -> dict[str, str]:
        known = self.vocabulary.names.subjects[subject]
        if not known.many:
            return self.typer.scope()
        own = {subject: subject}
        if known.is_kind:
            own["modification"] = subject
        return self.typer.scope(**own)
