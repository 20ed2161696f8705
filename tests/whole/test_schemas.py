"""The schemas are current, and the shipped data is valid by them."""

from __future__ import annotations

import json
import sys
from functools import cache
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from loaded import load_ruleset

import modrules
from modrules.ruleset.find import find_ruleset
from modrules.ruleset.source import read_yaml

sys.path.insert(0, str(Path(__file__).parents[1]))
from make_schemas import FOLDER, schemas

SUBMISSIONS = sorted(find_ruleset("orrinmark").glob("submissions/*.yaml"))


@pytest.mark.parametrize("name", ["ruleset", "submission", "report"])
def test_the_file_is_current(name: str) -> None:
    file = f"{name}.schema.json"
    assert (FOLDER / file).read_text(encoding="utf-8") == schemas()[file], (
        "run: python tests/make_schemas.py"
    )


@cache
def _validator(name: str) -> jsonschema.Draft202012Validator:
    schema: Any = json.loads((FOLDER / f"{name}.schema.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema)


@pytest.mark.parametrize("path", SUBMISSIONS, ids=lambda path: path.stem)
def test_reports_are_valid(path: Path) -> None:
    report = modrules.screen(path, load_ruleset("orrinmark", cache=True))
    errors = list(_validator("report").iter_errors(report.to_dict()))
    assert [error.message for error in errors] == []


def _plain(tree: object) -> Any:
    """A file as an editor with YAML 1.2 sees it: keys and scalars as they are written."""
    if isinstance(tree, dict):
        return {str(key): _plain(value) for key, value in tree.items()}
    if isinstance(tree, list):
        return [_plain(value) for value in tree]
    return str(tree)


def test_a_submission_is_valid_by_the_schema_of_its_vocabulary() -> None:
    from modrules.screening.submission_schema import submission_schema

    schema = submission_schema(load_ruleset("orrinmark", cache=True).typed)
    validator = jsonschema.Draft202012Validator(schema)
    assert len(SUBMISSIONS) >= 6
    for path in SUBMISSIONS:
        data = _plain(read_yaml(path))
        assert [e.message for e in validator.iter_errors(data)] == [], path.name


def test_the_schema_refuses_what_the_engine_refuses() -> None:
    validator = _validator("submission")
    for wrong in (
        {"modifications": [{"id": "a", "kind": "suspention"}]},
        {"modifications": [], "vehicel": {}},
        {"vehicle": {}},
        {"modifications": [], "vehicle": {"off_road_features": "perhaps"}},
    ):
        assert not validator.is_valid(wrong), wrong
