"""The written texts of the tests, and what a file that is refused says."""

from __future__ import annotations

from pathlib import Path

import pytest

from modrules.problems import ModrulesError
from modrules.texts import Text, read_text

FIXTURES = Path(__file__).parent / "fixtures"
NAMES = sorted(path.stem for path in FIXTURES.glob("*.clauses"))


def fixture(name: str) -> Text:
    """The text of a name, whatever its format."""
    (source,) = (p for p in FIXTURES.glob(f"{name}.*") if p.suffix != ".clauses")
    return read_text(source, id=name)


def listed(name: str) -> list[str]:
    """The clauses of the text of a name, as they were listed by hand."""
    return (FIXTURES / f"{name}.clauses").read_text(encoding="utf-8").split("\n")[:-1]


def refusal(path: Path) -> str:
    """The one problem that reading a file ends with; it names the file."""
    with pytest.raises(ModrulesError) as caught:
        read_text(path, id="t")
    (problem,) = caught.value.problems
    assert problem.place is not None
    assert problem.place.file == str(path)
    return f"{problem.message} {problem.hint}"
