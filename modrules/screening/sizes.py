"""The tyre sizes that a vehicle may be asked about: those of its tables and its submission."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from modrules.screening.report import Screening
from modrules.screening.varying import Target, targets
from modrules.trade.markings import MarkingError, parse_marking


def sizes(screenings: Iterable[Screening], target: Target) -> list[str]:
    """Every size in the supplied tables and in the submission; the target's own comes first."""
    found: dict[str, None] = {}
    if isinstance(target.value, str):
        found[target.value] = None
    for screening in screenings:
        for text in [*_given(screening), *_tabled(screening)]:
            found.setdefault(text)
    return list(found)


def _given(screening: Screening) -> Iterator[str]:
    for target in targets(screening):
        if target.type == "tyre_marking" and isinstance(target.value, str):
            yield target.value


def _tabled(screening: Screening) -> Iterator[str]:
    """Cells of tables, in columns of texts or markings, that read as the marking of a tyre."""
    for table in screening.ruleset.typed.names.tables.values():
        places = [n for n, key in enumerate(table.keys) if key.type.kind == "text"]
        columns = [n for n, kind, _, _ in table.columns.values() if kind.kind == "text"]
        for keys, values in table.rows:
            cells = [keys[n] for n in places] + [values[n] for n in columns]
            for cell in cells:
                if isinstance(cell, str) and len(cell) > 5:
                    try:
                        yield str(parse_marking(cell))
                    except MarkingError:
                        continue
