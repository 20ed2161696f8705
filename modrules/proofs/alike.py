"""Whether two versions of a check ever come to different outcomes, over all vehicles."""

from __future__ import annotations

from typing import Final

from modrules.language import domains as d
from modrules.language.tree import ONE, YES_NO, Node, Type
from modrules.proofs.asking import Answer, Session
from modrules.proofs.examples import Literal
from modrules.proofs.single import band_node, has_value
from modrules.proofs.space import Untranslatable
from modrules.ruleset.typed import BIT, TypedCheck
from modrules.screening.prepared import Ruleset

_OUTCOME: Final = Type("word")


def differ(ruleset: Ruleset, check: TypedCheck, other: TypedCheck) -> Answer:
    """A vehicle for which ``check`` of the ruleset and another version of it differ.

    ``holds`` is False where there is none. A vehicle for which one of them has no value counts
    as no difference.
    """
    try:
        session = Session(ruleset, [check, other])
    except Untranslatable as error:
        return Answer(None, reason=str(error))
    session.checks = (check,)
    same = Node("equal", YES_NO, (outcome(check), outcome(other)), None, ONE, "")
    wanted = [Literal(same, d.FALSE), *has_value(check.measure), *has_value(other.measure)]
    return session.ask(wanted, plain=True)


def outcome(check: TypedCheck) -> Node:
    """What a check comes to, as a node: a word for each outcome and certification."""
    node = _word("no band")
    if check.requires is not None:
        node = _word(f"{check.failure} {check.certification}")
        for exemption in check.exemptions:
            node = _if(exemption, _word(BIT["exempt"]), node)
        node = _if(check.requires, _word(BIT["complies"]), node)
    for band in reversed(check.bands):
        node = _if(band_node(band), _word(f"{band.outcome} {band.certification}"), node)
    if check.applies is not None:
        node = _if(check.applies, node, _word(BIT["not applicable"]))
    return node


def _word(text: object) -> Node:
    return Node("const", _OUTCOME, (), str(text), ONE, "")


def _if(condition: Node, then: Node, other: Node) -> Node:
    return Node("if", _OUTCOME, (condition, then, other), None, ONE, "")
