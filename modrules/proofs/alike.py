"""Whether two versions of a check ever come to different outcomes, over all vehicles."""

from __future__ import annotations

from typing import Final

from modrules.language import domains as d
from modrules.language.tree import ONE, YES_NO, Node, Type, walk
from modrules.proofs.asking import Answer, Session
from modrules.proofs.conditions import band_node
from modrules.proofs.examples import Literal
from modrules.proofs.space import Untranslatable
from modrules.ruleset.typed import TypedCheck
from modrules.ruleset.words import OUTCOMES
from modrules.screening.findings import outcomes_of
from modrules.screening.prepared import Ruleset

_OUTCOME: Final = Type("word")
#: What a check comes to where no band covers the vehicle, as where it has no value.
ANYTHING: Final = "every outcome"


def differ(ruleset: Ruleset, check: TypedCheck, other: TypedCheck) -> Answer:
    """A vehicle for which ``check`` of the ruleset and another version of it differ.

    ``holds`` is False where there is none. A vehicle for which every outcome is possible by the
    one, and not by the other, counts too.
    """
    try:
        session = Session(ruleset, [check, other])
    except Untranslatable as error:
        return Answer(None, reason=str(error))
    session.checks = (check,)
    one, two = outcome(check), outcome(other)
    answer = session.ask([Literal(_equal(one, two), d.FALSE)], plain=True)
    for first, second in ((one, two), (two, one)):
        if answer.holds is not False:
            break
        nothing = Literal(_equal(first, word(ANYTHING)), d.GAP)
        answer = session.ask([nothing, Literal(_equal(second, word(ANYTHING)), d.FALSE)])
    return answer


def outcome(check: TypedCheck) -> Node:
    """What a check comes to, as a node: a word for each outcome and certification."""
    node = word(ANYTHING)
    if check.requires is not None:
        node = word(label(check.failure, check.certification))
        if check.exemptions:
            excused = check.exemptions[0]
            for exemption in check.exemptions[1:]:
                excused = Node("or", YES_NO, (excused, exemption), None, ONE, "")
            node = _if(excused, word("exempt"), node)
        node = _if(check.requires, word("complies"), node)
    for band in reversed(check.bands):
        node = _if(band_node(band), word(label(band.outcome, band.certification)), node)
    if check.applies is not None:
        node = _if(check.applies, node, word("not applicable"))
    return node


def _equal(one: Node, other: Node) -> Node:
    return Node("equal", YES_NO, (one, other), None, ONE, "")


def labels(check: TypedCheck) -> list[str]:
    """The words that the outcome of a check may be, the harmless ones first."""
    found = {
        str(node.value)
        for node in walk([outcome(check)])
        if node.type is _OUTCOME and node.op == "const"
    }
    return sorted({*found, ANYTHING}, key=lambda label: (_rank(label), label))


def _rank(label: str) -> int:
    return next((i for i, known in enumerate(OUTCOMES) if label.startswith(known)), len(OUTCOMES))


def label(mask: int, certification: str | None) -> str:
    """An outcome in words, with the certification that it requires."""
    said = outcomes_of(mask)[0]
    return f"{said} ({certification})" if certification is not None else said


def word(text: str) -> Node:
    """A word for an outcome."""
    return Node("const", _OUTCOME, (), text, ONE, "")


def _if(condition: Node, then: Node, other: Node) -> Node:
    return Node("if", _OUTCOME, (condition, then, other), None, ONE, "")
