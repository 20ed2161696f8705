"""The citations of a ruleset, and the pins that stand beside it.

citations_of(flat) -> tuple[Citation, ...]     every citation, with what makes it
pins_of(folder) -> Pins | None                 the pins in ``pins.json`` of a ruleset folder
pins_file(folder) -> Path                      that file, be it there or not
"""

from __future__ import annotations

from pathlib import Path
from typing import Final

from modrules.files import is_file
from modrules.problems import ModrulesError, Place, Problem
from modrules.ruleset.flat import FlatRuleset
from modrules.texts import Citation, Pins, read_pins

#: The file of pins in a ruleset folder.
PINS_FILE: Final = "pins.json"


def citations_of(flat: FlatRuleset) -> tuple[Citation, ...]:
    """Every citation of certifications, checks and exemptions, in the order of the ruleset."""
    return tuple(
        Citation(str(c.text), str(c.clause), str(c.quote or ""), str(by)) for by, c in flat.citing()
    )


def pins_of(folder: Path) -> Pins | None:
    """The pins of the ruleset in a folder; None where it is not pinned. Raises ModrulesError."""
    path = pins_file(folder)
    return read_pins(path) if is_file(path) else None


def pins_file(folder: Path) -> Path:
    """Where the pins of the ruleset in a folder stand; ModrulesError where a link stands there."""
    path = folder / PINS_FILE
    if path.is_symlink():
        hint = "put the file itself into the folder, or take the link away"
        raise ModrulesError(
            Problem("the pins of a ruleset are never a link", Place(str(path)), hint)
        )
    return path
