"""Where a check rests on a quantity or a table outside the range in which its source holds.

    ask_outside(asker, check)

Such a vehicle is told from others by this: the check comes to every outcome, and would not if
the one quantity or table had a value there. A quantity has a range where it says so (``holds``),
a table where it is looked up by numbers. (A function has no value outside the range of its own.)
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from modrules.language import domains as d
from modrules.language.tree import ONE, YES_NO, Node, walk
from modrules.proofs.alike import ANYTHING, outcome, word
from modrules.proofs.asking import Session
from modrules.proofs.examples import Literal, Seen
from modrules.proofs.found import Example
from modrules.proofs.single import Asker
from modrules.proofs.symbolic import Symbolic
from modrules.ruleset.typed import TypedCheck


@dataclass(frozen=True, slots=True)
class _Supposed(Literal):
    """What would be so if the source held everywhere; no example can be asked about it."""


class _Supposing(Session):
    """Questions about a check, one source of which is taken to hold everywhere."""

    supposed: Symbolic

    def condition(self, literal: Literal) -> object:
        made = self.supposed if isinstance(literal, _Supposed) else self.symbolic
        return made.holds(literal.node, literal.mask)

    def confirmed(self, example: Example, literals: Sequence[Literal]) -> Seen | None:
        asked = [literal for literal in literals if not isinstance(literal, _Supposed)]
        return super().confirmed(example, asked)


def ask_outside(asker: Asker, check: TypedCheck) -> None:
    """Asks of each source that a check rests on whether it is used where it does not hold."""
    session = _Supposing(asker.ruleset, [check], asker.budget)
    node = outcome(check)
    anything = Node("equal", YES_NO, (node, word(ANYTHING)), None, ONE, "")
    for source, words in _sources(check):
        session.supposed = Symbolic(session.space, loose=source)
        literals = [Literal(anything, d.GAP), _Supposed(anything, d.FALSE)]
        question = f"is {words} used where it does not hold?"
        if not asker.ask(session, question, literals).holds:
            continue
        asker.report(
            "outside its range",
            session,
            (
                f'"{check.id}" uses {words} outside the range where its source holds, and comes '
                "to every outcome there",
                asker.item(check).place,
                "narrow what the check applies to, or say what counts there",
            ),
            literals,
        )


def _sources(check: TypedCheck) -> Iterator[tuple[str, str]]:
    """What a check rests on that may have a range, by name, and in words."""
    found: dict[str, str] = {}
    for node in walk(check.nodes()):
        if node.op == "if" and node.value is not None:
            found[node.value] = f'the quantity "{node.value}"'
        elif node.op == "look_up" and all(arg.type.kind == "quantity" for arg in node.args):
            found[node.value[0]] = f'the table "{node.value[0]}"'
    yield from sorted(found.items())
