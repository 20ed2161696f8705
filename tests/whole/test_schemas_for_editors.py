"""Schemas for who writes: each key says what it is, and the names of one's own are offered."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from modrules import cli
from modrules.ruleset.find import find_ruleset
from modrules.ruleset.source import read_yaml

sys.path.insert(0, str(Path(__file__).parents[1]))
from make_schemas import FOLDER

OWN = """\
ruleset: marrowdale
title: Marrowdale
edition: "1"
in_force: {from: 2026-01-01}
builds_on: {ruleset: trade, edition: "1"}
texts: [{id: code, title: Code, edition: "1"}]
certifications: [{id: hill-plate, title: Hill plate, kind: plate}]
facts:
  - {id: vehicle.hill_mark, title: Hill mark, type: yes_no, question: Does it bear the mark?}
checks:
  - id: mark
    title: Mark
    about: vehicle
    per: vehicle
    requires: vehicle.hill_mark
    otherwise: certification required
    certification: hill-plate
    cites: {text: code, clause: "1"}
"""


def undescribed(schema: Any, path: str = "") -> Iterator[str]:
    """The keys that say nothing to who points at them; one said elsewhere is said."""
    if isinstance(schema, dict):
        keys = schema.get("properties")
        for key, value in keys.items() if isinstance(keys, dict) else ():
            if "description" not in value and "$ref" not in value:
                yield f"{path}/{key}"
        for key, value in schema.items():
            yield from undescribed(value, f"{path}/{key}")
    elif isinstance(schema, list):
        for number, value in enumerate(schema):
            yield from undescribed(value, f"{path}/{number}")


def plain(tree: object) -> Any:
    if isinstance(tree, dict):
        return {str(key): plain(value) for key, value in tree.items()}
    return [plain(value) for value in tree] if isinstance(tree, list) else str(tree)


def made(ruleset: str, of: str, capsys: Any) -> jsonschema.Draft202012Validator:
    assert cli.main(["schema", ruleset, "--of", of]) == 0
    schema = json.loads(capsys.readouterr().out)
    assert list(undescribed(schema)) == []
    return jsonschema.Draft202012Validator(schema)


@pytest.mark.parametrize("name", ["ruleset", "submission"])
def test_every_key_says_what_it_is(name: str) -> None:
    schema = json.loads((FOLDER / f"{name}.schema.json").read_text(encoding="utf-8"))
    assert list(undescribed(schema)) == []


def test_the_names_of_ones_own_are_offered(tmp_path: Path, capsys: Any) -> None:
    (tmp_path / "ruleset.yaml").write_text(OWN)
    folder = str(tmp_path)
    submissions = made(folder, "submissions", capsys).schema
    mark = submissions["properties"]["vehicle"]["properties"]["hill_mark"]
    assert mark["description"] == "Does it bear the mark?"
    checks = made(folder, "files", capsys).schema["$defs"]["Check"]["properties"]
    assert {"enum": ["hill-plate"]} in checks["certification"]["anyOf"]
    cases = made(folder, "cases", capsys)
    cases.check_schema(cases.schema)  # that of submissions is within it
    case = {"case": "a", "of": "mark", "source": "1", "given": {}, "expect": "complies"}
    assert cases.is_valid({"cases": [case]})
    for wrong in ({"of": "mork"}, {"expect": "fine"}, {"given": {"vehicle": {"hill_mork": "yes"}}}):
        assert not cases.is_valid({"cases": [case | wrong]})


def test_of_files_that_are_still_being_written(tmp_path: Path, capsys: Any) -> None:
    (tmp_path / "ruleset.yaml").write_text(OWN.replace("requires: vehicle", "requires: vehickle"))
    files = made(str(tmp_path), "files", capsys)
    files.check_schema(files.schema)
    assert cli.main(["schema", str(tmp_path)]) == 2
    assert "vehickle" in capsys.readouterr().err


@pytest.mark.parametrize("name", ["quillander"])
def test_shipped_files_are_valid_by_the_schemas_of_their_ruleset(name: str, capsys: Any) -> None:
    folder = find_ruleset(name)
    files = [read_yaml(path) for path in sorted((folder / "checks").glob("*.yaml"))]
    validator = made(name, "files", capsys)
    for tree in files:
        assert [error.message for error in validator.iter_errors(written(tree))] == []
    validator = made(name, "cases", capsys)
    # A few of each file: what differs between them is what they are about.
    for path in sorted((folder / "cases").glob("*.yaml")):
        data = plain(read_yaml(path))
        some = {"cases": data["cases"][:2]}
        assert [error.message for error in validator.iter_errors(some)] == [], path


def written(tree: object) -> Any:
    """A file as a reader of YAML sees it, with yes and no as such where they are plain."""
    if isinstance(tree, dict):
        return {str(key): written(value) for key, value in tree.items()}
    if isinstance(tree, list):
        return [written(value) for value in tree]
    return {"true": True, "false": False}.get(str(tree), str(tree))
