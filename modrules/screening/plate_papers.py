"""Whether the paper of a plate on the vehicle is in force, by the documents of the submission.

A plate and a document are the same paper if they bear the same number. Where one of them bears
none that can't be told, and a document that does not hold leaves it open whether the plate does.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from modrules.language import domains as d
from modrules.language.records import Layout, Open, records_of
from modrules.ruleset.typed import TypedRuleset
from modrules.screening.covering import NAMELESS, held_up_to, of_this_vehicle, plain
from modrules.screening.documents import CLAIM, PLATE_NUMBER, PLATE_PAPER, Document
from modrules.screening.values import Problems

_EITHER: Final = Open(1, 0, frozenset((False, True)), missing=True)


def settle_papers(
    world: Any,
    papers: Sequence[Document],
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
    paper = typed.names.facts[PLATE_PAPER]
    for plate in records_of(world, paper.subject):
        mask, against = in_force(plate, papers, world, typed)
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
    plate: Any, papers: Sequence[Document], world: Any, typed: TypedRuleset
) -> tuple[int, list[tuple[Document, bool]]]:
    """Whether the paper of a plate is in force: a truth mask; and the documents against it.

    With each comes whether it surely is the paper of the plate.
    """
    own: list[int] = []
    mask = d.TRUE
    against: list[tuple[Document, bool]] = []
    for document in papers:
        same, holds = is_paper_of(plate, document, typed), _holds(document, world, typed)
        if same == d.TRUE:
            own.append(holds)
        elif same == d.UNDECIDED and holds != d.TRUE:
            mask = d.UNDECIDED
        if same != d.FALSE and holds != d.TRUE:
            against.append((document, same == d.TRUE))
    if d.TRUE in own:
        return d.TRUE, []  # it was renewed under its number
    for holds in own[:1]:
        mask = d.AND[mask][d.UNDECIDED if d.UNDECIDED in own else holds]
    return mask, against


def is_paper_of(plate: Any, document: Document, typed: TypedRuleset) -> int:
    """Whether a document is the paper of a plate on the vehicle: a truth mask.

    Of numbers only letters and digits count: OM-1 and om 1 are one. Evidence without a number is
    what it is put forward as, and no plate.
    """
    if document.kind == CLAIM:
        return d.FALSE
    fact = typed.names.facts.get(PLATE_NUMBER)
    stated = getattr(plate, fact.slot) if fact is not None else _EITHER
    number, other = _bare("" if isinstance(stated, Open) else stated), _bare(document.number)
    if number and other:
        return d.TRUE if number == other else d.FALSE
    return d.UNDECIDED if document.certification is not None or other else d.FALSE


def _bare(number: str) -> str:
    """Its letters and digits alone; nothing of one that nobody knows."""
    name = plain(number)
    return "" if name in NAMELESS else "".join(filter(str.isalnum, name))


def _holds(document: Document, world: Any, typed: TypedRuleset) -> int:
    """Whether a document that is the paper of a plate on the vehicle is in force: a truth mask.

    A date or vehicle that it does not state speaks neither for nor against it: the plate has a
    date of its own, and is on the vehicle.
    """
    now: d.Range = (world.today, world.today, False)
    mask = of_this_vehicle(document, world, typed)
    if document.issued is not None:
        mask = d.AND[mask][d.at_most((*document.issued, False), now)]
    if document.expires is not None:
        mask = d.AND[mask][d.at_most(now, (*document.expires, False))]
    return d.AND[mask][held_up_to(document, world, typed)]


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
