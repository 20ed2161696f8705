"""Every shipped ruleset, in each of its editions, is pinned to the text that comes with it."""

from __future__ import annotations

from pathlib import Path

import pytest

from modrules.api import supplied
from modrules.ruleset.citing import citations_of, pins_of
from modrules.ruleset.find import shipped_folder
from modrules.ruleset.load import collect
from modrules.texts import check_pins

EDITIONS = sorted(
    path.parent.relative_to(shipped_folder()).as_posix()
    for path in shipped_folder().glob("**/ruleset.yaml")
)


def test_older_editions_are_among_them() -> None:
    assert {"orrinmark", "orrinmark/2023", "quillander", "quillander/2022"} <= {*EDITIONS}


@pytest.mark.parametrize("name", EDITIONS)
def test_every_citation_is_pinned_and_holds(name: str) -> None:
    folder: Path = shipped_folder() / name
    ruleset = collect(folder).ruleset
    cited = {(c.text, c.clause, c.quote) for c in citations_of(ruleset)}
    pins = pins_of(folder)
    pinned = {(p.text, p.clause, p.quote) for p in pins.pins} if pins is not None else set()
    assert pinned == cited
    if pins is not None:
        assert {one.status for one in check_pins(supplied(ruleset, {}), pins)} == {"same"}
