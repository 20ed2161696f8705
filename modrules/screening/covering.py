"""Whether a document covers what was done, piece by piece.

What all documents of a submission come to by these pieces is put together in ``papers``.
Whatever is not plainly covered is not covered.
"""

from __future__ import annotations

from typing import Any, Final

from modrules.language import domains as d
from modrules.language.records import Open
from modrules.ruleset.typed import BIT, TypedRuleset
from modrules.screening.documents import NUMBER, Document

REQUIRED: Final = BIT["certification required"]
CERTIFIED: Final = BIT["certified"]
FITTED: Final = "modification.fitted"
#: Written for a name that nobody knows: it is the same as no other, and as no second unknown one.
NAMELESS: Final = ("", "unknown", "notknown", "?", "-")


def sufficient(typed: TypedRuleset, certification: str) -> frozenset[str]:
    """The certification itself and all higher ones that cover it."""
    found: set[str] = set()
    wanted = [certification]
    while wanted:
        name = wanted.pop()
        if name in found or name not in typed.flat.certifications:
            continue
        found.add(name)
        wanted += [str(other) for other in typed.flat.certifications[name].covered_by]
    return frozenset(found)


def within(limit: Any, value: Any) -> int:
    """Whether what was done stays within what a document covers.

    A value that nobody states is not shown to, so it is not covered.
    """
    low, high, none = value.range if isinstance(value, Open) else (value, value, False)
    mask = d.FALSE if none else 0
    if low <= high:
        mask |= d.at_most((low, high, False), (limit, limit, False))
    return mask


def says_no_vehicle(document: Document, typed: TypedRuleset) -> bool:
    """Whether a document may be for another vehicle because it does not say for which it is.

    That holds whether or not the number of the vehicle at hand is given: to give it is more
    information about the vehicle, and makes the paper neither better nor worse.
    """
    return not document.vehicles and NUMBER in typed.names.facts


def known_by(names: tuple[str, ...]) -> frozenset[str]:
    """The names that a document states, as names are compared: without those that nobody knows."""
    return frozenset(plain(name) for name in names).difference(NAMELESS)


def is_named(wanted: frozenset[str], value: Any) -> int:
    """Whether the value of a text fact is one of some names (``known_by``): a truth mask."""
    if not wanted:
        return d.FALSE
    if isinstance(value, Open):
        stated = value.values is None or bool(value.values)
        return d.UNDECIDED if stated else d.FALSE
    return d.TRUE if plain(value) in wanted else d.FALSE


def plain(name: str) -> str:
    """A name without case and blanks, by which two are compared."""
    return "".join(name.split()).casefold()


def bare(number: str) -> str:
    """The letters and digits of a number, by which two are compared: OM-1 and om 1 are one.

    Nothing of one that nobody knows.
    """
    name = plain(number)
    return "" if name in NAMELESS else "".join(filter(str.isalnum, name))


def dated(document: Document, today: int) -> int:
    """Whether it is issued and not expired on a day: a truth mask."""
    return d.FALSE if document.issued is None else not_out_of_date(document, today)


def before_fitting(document: Document, fitted: Any) -> int:
    """Whether it was issued before a part was fitted, or on that day: a truth mask."""
    if document.issued is None:
        return d.FALSE
    ends = (fitted.low, fitted.high) if isinstance(fitted, Open) else (fitted, fitted)
    return d.at_most((*document.issued, False), (*ends, False))


def not_out_of_date(document: Document, today: int) -> int:
    """Whether no date on it speaks against it on a day: a truth mask."""
    now: d.Range = (today, today, False)
    mask = d.TRUE
    if document.issued is not None:
        mask = d.AND[mask][d.at_most((*document.issued, False), now)]
    if document.expires is not None:
        mask = d.AND[mask][d.at_most(now, (*document.expires, False))]
    return mask
