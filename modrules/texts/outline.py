"""The outline of a text: its clauses as columns, in order of position.

Clauses are named by their position in the columns; position 0 is the front matter. An
outline is made once, by ``outline``, and never changed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from modrules.texts.markers import Marker

# Kinds of clause, as words: they are shown.
FRONT, HEADING, PART, ANNEX, CLAUSE, ITEM = (
    "front matter", "heading", "part", "schedule", "clause", "item",
)  # fmt: skip
NOTE, DEFINITION, TABLE, ROW = "note", "definition", "table", "row"
PROVISO, EXCEPTION, PENALTY, STEP = "proviso", "exception", "penalty", "step"
#: Stand beside a clause, with lists of their own.
ASIDES = (NOTE, PROVISO, EXCEPTION, PENALTY, STEP)
BESIDE = (*ASIDES, TABLE, ROW)

MOST_DEEP = 24  # levels of clauses; what is deeper stays words of the clause above
MOST_DOUBTS = 2000  # kept of each kind; a text with more is counted on, not listed


class RawDoubt(NamedTuple):
    """A ground for doubt: its kind, the position in the body, the clause, and a sentence."""

    kind: str
    at: int
    clause: int
    message: str


@dataclass(frozen=True, slots=True)
class Outline:
    """The clauses of a body in order, as columns.

    ``starts`` and ``ends`` enclose a clause with all below it; ``bodies`` is where its
    words begin, after its number. ``returns`` says from where on, after clauses in it,
    the words are a clause's own again: (position, clause). ``terms`` are those of the
    definitions. ``by_key`` leads to the first clause with a key, ``repeats`` to all
    with a key that several have.
    """

    keys: tuple[str, ...]
    kinds: tuple[str, ...]
    parents: tuple[int, ...]
    starts: tuple[int, ...]
    bodies: tuple[int, ...]
    ends: tuple[int, ...]
    returns: tuple[tuple[int, int], ...]
    terms: dict[int, str]
    by_key: dict[str, int]
    repeats: dict[str, list[int]]
    doubts: tuple[RawDoubt, ...]
    #: how many doubts of a kind there were, where they are too many to list
    unlisted: dict[str, int]


def outline(body: str, said: tuple[Marker, ...] = ()) -> Outline:
    """Index a body, which must start with a line end; its time grows linearly.

    ``said``: markers that the format itself gives, in order of position.
    """
    from modrules.texts.builder import Builder
    from modrules.texts.paragraphs import look_between
    from modrules.texts.said import HANDLERS

    return Builder(body, HANDLERS, look_between).run(said)
