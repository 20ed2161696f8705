"""What a change bears on, out of a ruleset's table ``consequences``.

The table is optional. It has the keys ``kind`` and ``number`` and the columns ``look_at`` and
``done``; a ruleset that knows better puts its own in place of the trade's.
"""

from __future__ import annotations

from typing import Any, Final

from modrules.ruleset.flat import FlatRuleset

TABLE: Final = "consequences"
_COLUMNS: Final = ("kind", "number", "look_at", "done")


def look_at(flat: FlatRuleset, kind: str) -> list[dict[str, str]]:
    """What to look at where a modification of this kind was made, in the table's order.

    Each is ``{look_at, done}``, where done is *inspection* or *road_test*; empty where the
    ruleset has no such table.
    """
    table: Any = flat.tables.get(TABLE)
    if table is None:
        return []
    names = [str(column.id) for column in (*table.keys, *table.columns)]
    if not set(_COLUMNS) <= set(names):
        return []
    rows = [dict(zip(names, map(str, row), strict=True)) for row in table.rows]
    return [{"look_at": row["look_at"], "done": row["done"]} for row in rows if row["kind"] == kind]
