"""How many of a thing a vehicle may have: more is refused at once, with the number."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from vellmarch import RULESET, written

from modrules.cli import main

ORRINMARK = {
    "axles": 10,
    "corners": 20,
    "listed_tyres": 40,
    "plates": 20,
    "seats": 30,
    "anchorages": 60,
    "recovery_points": 20,
    "lamps": 30,
}


def _plan(folder: Path, **lists: list[dict[str, Any]]) -> str:
    path = folder / "big.json"
    path.write_text(json.dumps({"modifications": [], **lists}), encoding="utf-8")
    return str(path)


def _many(count: int, **more: Any) -> list[dict[str, Any]]:
    return [{"id": f"x{number}", **more} for number in range(count)]


@pytest.mark.parametrize("key", ORRINMARK)
def test_of_a_list(key: str, tmp_path: Path, capsys: Any) -> None:
    most = ORRINMARK[key]
    for count in (most + 1, 5000):
        path = _plan(tmp_path, **{key: _many(count)})
        assert main(["screen", path, "--ruleset", "orrinmark"]) == 2
        said = capsys.readouterr().err
        assert f'"{key}" has {count} entries, and at most {most} are taken' in said


def test_of_modifications_and_documents(tmp_path: Path, capsys: Any) -> None:
    path = _plan(tmp_path, modifications=_many(61, kind="winch"), evidence=_many(61))
    assert main(["screen", path, "--ruleset", "orrinmark"]) == 2
    said = capsys.readouterr().err
    assert '"modifications" has 61 entries, and at most 60 are taken' in said
    assert '"evidence" has 61 documents, and at most 60 are taken' in said


def test_as_a_ruleset_says(tmp_path: Path, capsys: Any) -> None:
    folder = written(tmp_path)
    path = _plan(tmp_path, modifications=_many(3, kind="lift", height="20 mm"))
    assert main(["screen", path, "--ruleset", str(folder)]) != 2
    head = folder / "ruleset.yaml"
    text = RULESET.replace("list: modifications", "list: modifications, most: 2")
    head.write_text(text, encoding="utf-8")
    capsys.readouterr()
    assert main(["screen", path, "--ruleset", str(folder)]) == 2
    assert '"modifications" has 3 entries, and at most 2 are taken' in capsys.readouterr().err
    for wrong in ("0", "-1", "many", "1000", "2.5"):
        head.write_text(text.replace("most: 2", f"most: {wrong}"), encoding="utf-8")
        assert main(["proofread", str(folder), "--no-proofs"]) == 1
        assert "a whole number from 1 to 999" in capsys.readouterr().out
