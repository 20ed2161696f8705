"""Where a check rests on what has no value for some vehicle, and so comes to every outcome.

    ask_outside(asker, check)

Asked about are quantities that say where their source holds (``holds``), tables looked up by
numbers, functions whose domain is known, and divisions. A vehicle for which one of these has no
value is told from others by this: the check comes to every outcome, and would not if that one had
a value there. Where several only lack one together, all of them are named. Where one lacks a value
only because a list over which it goes is empty, that is a remark. What can't be asked about, since
nobody knows where it has a value, is one too.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from modrules.language import domains as d
from modrules.language.tree import ONE, YES_NO, Names, Node, walk
from modrules.proofs.alike import ANYTHING, outcome, word
from modrules.proofs.asking import Session
from modrules.proofs.called import has_domain, period_is_plain
from modrules.proofs.edges import core, name_of
from modrules.proofs.examples import Literal, Seen
from modrules.proofs.found import Example, Remark
from modrules.proofs.single import Asker, so
from modrules.proofs.symbolic import Source, Symbolic
from modrules.ruleset.typed import TypedCheck


@dataclass(frozen=True, slots=True)
class _Supposed(Literal):
    """What would be so if the source held everywhere; no example can be asked about it."""


class _Supposing(Session):
    """Questions about a check, some sources of which are taken to have a value everywhere."""

    supposed: Symbolic

    def condition(self, literal: Literal) -> object:
        made = self.supposed if isinstance(literal, _Supposed) else self.symbolic
        return made.holds(literal.node, literal.mask)

    def confirmed(self, example: Example, literals: Sequence[Literal]) -> Seen | None:
        asked = [literal for literal in literals if not isinstance(literal, _Supposed)]
        return super().confirmed(example, asked)


@dataclass(frozen=True, slots=True)
class _Use:
    """What a check rests on in one way: in words, by a verb, and what a problem of it is."""

    words: str
    verb: str
    kind: str
    sources: frozenset[Source]
    #: the lists over which folds in its arguments go
    lists: frozenset[str]


_HOLDS = "outside its range"
_VALUE = "without a value"


def ask_outside(asker: Asker, check: TypedCheck) -> None:
    """Asks of each source that a check rests on whether it is used where it has no value."""
    session = _Supposing(asker.ruleset, [check], asker.budget)
    node = outcome(check)
    anything = Node("equal", YES_NO, (node, word(ANYTHING)), None, ONE, "")

    def ask(uses: Sequence[_Use]) -> bool | None:
        loose = frozenset[Source]().union(*(use.sources for use in uses))
        session.supposed = Symbolic(session.space, loose=loose)
        literals = [Literal(anything, d.GAP), _Supposed(anything, d.FALSE)]
        lists = sorted({name for use in uses for name in use.lists})
        filled = [*literals, *(so(_some(name)) for name in lists)]
        said = " and ".join(f"{use.verb} {use.words}" for use in uses)
        question = f"is there no value where it {said}?"
        place = asker.item(check).place
        holds = asker.ask(session, question, filled).holds
        if holds:
            message = f'"{check.id}" {said}, and comes to every outcome there'
            hint = "narrow what the check applies to, or say what counts there"
            asker.report(uses[0].kind, session, (message, place, hint), filled)
        elif holds is False and lists:
            none = " or no ".join(lists)
            holds = asker.ask(session, f"{question} With no {none}?", literals).holds
            if holds:
                # What counts for an empty list is written out in each fold, so it is no slip.
                remark = f"with no {none} nothing can be reckoned, and every outcome is possible"
                asker.remarks.append(Remark(check.id, remark))
        return holds

    names = asker.ruleset.typed.names
    for what in _not_known(check, names):
        remark = f"not asked whether it has a value for every vehicle: {what}"
        asker.remarks.append(Remark(check.id, remark))
    left = [use for use in _uses(check, names) if ask([use]) is False]
    # Each may be without a value just where another one is.
    if len(left) > 1:
        ask(left)


def _uses(check: TypedCheck, names: Names) -> Iterator[_Use]:
    """What may have no value of its own in a check, the same in words taken together."""
    found: dict[tuple[str, str, str], set[Source]] = {}

    def note(verb: str, words: str, kind: str, source: Source) -> None:
        found.setdefault((verb, words, kind), set()).add(source)

    for node in walk(check.nodes()):
        if node.op == "if" and node.value is not None:
            words = f'the quantity "{node.value}" outside the range where its source holds'
            note("uses", words, _HOLDS, ("quantity", node.value))
        elif node.op == "look_up" and _by_numbers(node):
            table = node.value[0]
            words = f'the table "{table}" outside the range where its source holds'
            note("uses", words, _HOLDS, ("table", table))
        elif node.op == "call" and has_domain(names, node):
            note("calls", f'"{node.value}" where it has no value', _VALUE, node)
        elif node.op == "div" and core(node.args[1]).op != "const":
            note("divides by", f"{name_of(node.args[1])} where that is zero", _VALUE, node)
    for (verb, words, kind), sources in sorted(found.items(), key=lambda item: item[0]):
        inside = walk(arg for each in sources if isinstance(each, Node) for arg in each.args)
        lists = {node.value[1].removeprefix("each ") for node in inside if node.op == "over"}
        yield _Use(words, verb, kind, frozenset(sources), frozenset(lists))


def _some(subject: str) -> Node:
    """That a list has an entry."""
    return Node("over", YES_NO, (), ("any", f"each {subject}", False, False, False), ONE, "")


def _by_numbers(node: Node) -> bool:
    return all(arg.type.kind == "quantity" for arg in node.args)


def _not_known(check: TypedCheck, names: Names) -> Iterator[str]:
    """What else a check uses that may have no value: where, is known of none of it."""
    found = set()
    for node in walk(check.nodes()):
        if node.op == "call" and not has_domain(names, node):
            found.add(f'"{node.value}" of a text')
        elif node.op == "look_up" and not _by_numbers(node):
            found.add(f'the table "{node.value[0]}" by words')
        elif node.op == "date_plus" and not period_is_plain(node):
            found.add("a date shifted by a period that is no constant")
    yield from sorted(found)
