"""The citations of a ruleset, and the pins that stand beside it.

citations_of(flat) -> tuple[Citation, ...]     every citation, with what makes it
pins_of(folder) -> Pins | None                 the pins in ``pins.json`` of a ruleset folder
"""

from __future__ import annotations

from pathlib import Path
from typing import Final

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
    path = folder / PINS_FILE
    return read_pins(path) if path.is_file() else None
