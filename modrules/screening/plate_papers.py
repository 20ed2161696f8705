"""Whether the paper of a plate on the vehicle is in force, by the documents of the submission.

A plate and a document are the same paper if they bear the same number. Where one of them bears
none that can't be told, and a document that does not hold leaves it open whether the plate does.
"""

from __future__ import annotations

from typing import Any, Final

from modrules.language import domains as d
from modrules.language.records import Layout, Open, records_of
from modrules.ruleset.typed import TypedRuleset
from modrules.screening.covering import bare
from modrules.screening.documents import PLATE_NUMBER, PLATE_PAPER, Document
from modrules.screening.papers import Papers, Row
from modrules.screening.values import Problems

_EITHER: Final = Open(1, 0, frozenset((False, True)), missing=True)


def settle_papers(
    world: Any,
    papers: Papers,
    typed: TypedRuleset,
    layout: Layout,
    problems: Problems,
) -> None:
    """Sets of each plate whether its paper is in force, and says which document speaks against.

    What was said of a plate stands unless a document surely speaks against it. Where nothing was
    said and no document speaks against it, it is: a plate has a date and conditions of its own.
    """
    if PLATE_PAPER not in typed.names.facts:
        return
    paper, row = typed.names.facts[PLATE_PAPER], papers.in_force(world)
    for plate in records_of(world, paper.subject):
        mask, against = in_force(plate, papers, row, typed)
        given = getattr(plate, paper.slot)
        value = settled(mask) if isinstance(given, Open) else bool(given and mask != d.FALSE)
        set_paper(plate, value, typed, layout)
        if value is not True:
            for document, same in against:
                problems.caution(_said(plate, document, same=same))


def set_paper(plate: Any, value: Any, typed: TypedRuleset, layout: Layout) -> None:
    """Sets whether the paper of a plate is in force."""
    setattr(plate, typed.names.facts[PLATE_PAPER].slot, value)
    bit = layout.bits[PLATE_PAPER]
    plate.mask = plate.mask | bit if isinstance(value, Open) else plate.mask & ~bit


def settled(mask: int) -> Any:
    """The value of a yes or no of which a truth mask is known."""
    return _EITHER if mask == d.UNDECIDED else mask == d.TRUE


def in_force(
    plate: Any, papers: Papers, row: Row, typed: TypedRuleset
) -> tuple[int, list[tuple[Document, bool]]]:
    """Whether the paper of a plate is in force: a truth mask; and the documents against it.

    ``row``: which documents are (``Papers.in_force``). With each document comes whether it surely
    is the paper of the plate.
    """
    may_be, may_not_be = papers.bearing(_number(plate, typed))
    own = may_be & ~may_not_be
    may, may_not = row
    if own & ~may_not:
        return d.TRUE, []  # it was renewed under its number
    mask = d.UNDECIDED if may_be & ~own & may_not else d.TRUE
    if own:
        mask = d.AND[mask][d.UNDECIDED if own & may else d.FALSE]
    return mask, [(one, surely) for one, surely in papers.among(may_be & may_not, own)]


def is_paper_of(plate: Any, document: Document, papers: Papers, typed: TypedRuleset) -> int:
    """Whether a document is the paper of a plate on the vehicle: a truth mask."""
    return papers.mask(document, papers.bearing(_number(plate, typed)))


def _number(plate: Any, typed: TypedRuleset) -> str:
    """The number of a plate as numbers are compared; empty where nobody knows it."""
    fact = typed.names.facts.get(PLATE_NUMBER)
    stated = getattr(plate, fact.slot) if fact is not None else ""
    return "" if isinstance(stated, Open) else bare(stated)


def _said(plate: Any, document: Document, *, same: bool) -> str:
    if same:
        return (
            f"Plate {plate.id} is the paper {document.id}, which is not, or may not be, in force; "
            "its ratings do not count, or may not. See what is said of that document."
        )
    return (
        f"Plate {plate.id} may be the paper {document.id}, which is not, or may not be, in force; "
        "write the number of both, so that they can be told apart."
    )
