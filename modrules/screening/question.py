"""One question of a questionnaire, as plain values."""

from __future__ import annotations

from dataclasses import dataclass

from modrules.screening.next_facts import NextFact


@dataclass(frozen=True, slots=True)
class Question:
    """One question. ``words``: what may be answered.

    ``kind``: fact or paper, which take one answer; list, whose entries are named; and
    modifications, papers, covered or systems, of whose words several may be chosen.
    """

    address: str
    kind: str
    title: str
    question: str
    measure: str
    unit: str | None = None
    words: tuple[str, ...] = ()
    #: what each of the words stands for, where that is to be said
    meanings: tuple[str, ...] = ()
    none_stated: bool = False
    settles: NextFact | None = None
    #: how many facts may still change the answer, this one included
    left: int = 1
