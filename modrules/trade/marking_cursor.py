"""A cursor over a tyre marking, and the numbers that each part of a marking may take."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import NoReturn

from modrules.trade.tables import LOAD_INDEX_KG
from modrules.trade.tyre_marking import MarkingError

#: A marking is short; a longer text is refused before it is looked at.
LONGEST = 100

#: Accepted numbers by their text. Metric widths and aspect ratios go in steps of five, so that a
#: slip of the pen is noticed; rims are whole or half inches.
WIDTHS_MM: dict[str, int] = {str(width): width for width in range(105, 460, 5)}
ASPECTS: dict[str, int] = {str(aspect): aspect for aspect in range(20, 105, 5)}
RIMS_IN: dict[str, Decimal] = {
    f"{rim}{half}": Decimal(f"{rim}{half}") for rim in range(8, 30) for half in ("", ".5")
}
RIMS_IN["30"] = Decimal(30)
INDICES: dict[str, int] = {str(index): index for index in LOAD_INDEX_KG}
PLIES: dict[str, int] = {str(plies): plies for plies in range(2, 25, 2)}

_NUMBER = re.compile(r"[0-9]+(?:\.[0-9]+)?")
_WORD = re.compile(r"[^ ]+")


class Cursor:
    """A place in one marking, whose text is upper-cased and has single spaces."""

    def __init__(self, text: str) -> None:
        if len(text) > LONGEST:
            raise MarkingError(
                f"{text[:40]}...",
                "extra text",
                text[:40],
                f"it has {len(text)} characters; a marking has at most {LONGEST}",
            )
        self.text = text
        # Other letters keep their case: some have a plain capital and would pass for it.
        upper = "".join(letter.upper() if letter.isascii() else letter for letter in text)
        self.line = " ".join(upper.split())
        self.at = 0

    @property
    def ended(self) -> bool:
        return self.at >= len(self.line)

    def peek(self) -> str:
        """The next character, or nothing at the end."""
        return self.line[self.at : self.at + 1]

    def space(self) -> None:
        """Passes over a space."""
        if self.peek() == " ":
            self.at += 1

    def take(self, pattern: re.Pattern[str]) -> re.Match[str] | None:
        """Passes over what ``pattern`` matches here, if it does."""
        found = pattern.match(self.line, self.at)
        if found is not None:
            self.at = found.end()
        return found

    def sees(self, pattern: re.Pattern[str]) -> bool:
        return pattern.match(self.line, self.at) is not None

    def number(self, part: str, what: str) -> str:
        """Passes over a number in plain figures, as text."""
        found = self.take(_NUMBER)
        if found is None:
            self.fail(part, self.word(), f"{self.shown()} stands where {what} is expected")
        return found.group()

    def word(self) -> str:
        """The text from here to the next space."""
        found = _WORD.match(self.line, self.at)
        return found.group() if found else ""

    def shown(self) -> str:
        word = self.word()
        return f'"{word}"' if word else "the end"

    def fail(self, part: str, found: str, reason: str) -> NoReturn:
        raise MarkingError(self.text, part, found, reason)
