"""The JSON Schema of ruleset files: current, of use to editors, and at one with the models."""

from __future__ import annotations

import copy
import json
import random
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import event, given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from pydantic import ValidationError

from modrules.ruleset.explain import explain, validator_for
from modrules.ruleset.load import shipped_folder
from modrules.ruleset.models import Head, Sections
from modrules.ruleset.schema import as_text, file_schema, ruleset_schema
from modrules.ruleset.source import parse_yaml, read_mapping
from modrules.ruleset.tree import Blank, Map, Node, Scalar, Seq

SCHEMA_FILE = Path(__file__).parents[2] / "schemas" / "ruleset.schema.json"
SHIPPED = sorted(
    path
    for path in shipped_folder().rglob("*.yaml")
    if not {"cases", "submissions"} & set(path.relative_to(shipped_folder()).parts)
)


def typed(node: Node) -> Any:
    """The tree as an editor sees it: typed by YAML 1.2."""
    match node:
        case Map():
            return {key: typed(value) for key, value in node.items()}
        case Seq():
            return [typed(each) for each in node]
        case Blank():
            return "" if node.quoted else None
    if not node.quoted and re.fullmatch(r"[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?", node):
        return float(node)
    return node == "true" if not node.quoted and node in ("true", "false") else str(node)


def inner(schema: Any) -> Iterator[dict[str, Any]]:
    if isinstance(schema, dict):
        yield schema
        for value in schema.values():
            yield from inner(value)
    elif isinstance(schema, list):
        for value in schema:
            yield from inner(value)


def test_the_file_is_current() -> None:
    assert SCHEMA_FILE.read_text(encoding="utf-8") == as_text(ruleset_schema())


def test_it_is_a_schema_of_2020_12() -> None:
    Draft202012Validator.check_schema(ruleset_schema())
    assert ruleset_schema()["$schema"] == "https://json-schema.org/draft/2020-12/schema"


def test_every_key_is_described() -> None:
    for schema in inner(ruleset_schema()):
        for key, value in schema.get("properties", {}).items():
            if isinstance(value, dict) and "$defs" not in value:
                assert value.get("description"), key
                assert "title" not in value


def test_no_key_may_be_null_or_unknown() -> None:
    for schema in inner(ruleset_schema()):
        assert schema.get("type") != "null"
        assert "default" not in schema or schema["default"] is not None
        if schema.get("type") == "object" and "properties" in schema:
            assert schema["additionalProperties"] is False


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: str(path.relative_to(shipped_folder())))
def test_shipped_files_are_valid_as_editors_read_them(path: Path) -> None:
    errors = list(Draft202012Validator(ruleset_schema()).iter_errors(typed(read_mapping(path))))
    assert errors == []


@pytest.mark.parametrize(
    ("value", "valid"),
    [
        ({}, True),
        ({"checks": []}, True),
        ({"ruleset": "a"}, False),
        ({"title": "a"}, False),
        ({"cautions": ["a"]}, False),
        ({"ruleset": "a", "title": "A", "edition": 1, "in_force": {"from": "2026-01-01"}}, True),
        ({"ruleset": "a", "title": "A", "edition": 1, "in_force": {"from": "2026"}}, False),
    ],
)
def test_a_file_with_keys_of_the_head_needs_all_of_it(value: dict[str, Any], valid: bool) -> None:
    assert Draft202012Validator(ruleset_schema()).is_valid(value) is valid


#: One item of everything, with every key somewhere.
FULL = """\
ruleset: harrow
title: H
edition: "1"
in_force: {from: 2026-07-01, up_to: 2027-01-01}
builds_on: {ruleset: trade, folder: x, edition: "1"}
files: [a.yaml]
editions: [2023]
cautions: [c]
removes: [{section: checks, id: x, reason: r}]
conditions: [{id: unladen, title: U, replaces: true}]
word_sets: [{id: side, words: [left, right]}]
subjects:
  - {id: axle, title: A, list: axles, most: 6, as_built: false, whole_if: any(each axle)}
kinds: [{id: tyres, title: T, system: tyres, also_called: [shoes]}]
facts:
  - {id: axle.track, title: T, type: length, unit: mm, condition: unladen,
     range: {from: 1 mm, to: 2 mm}, usual: {from: 1 mm, to: 2 mm}, none_stated: true,
     safety: false, identifies: true, as_built: true, past: false,
     from: axle.other, estimate_tolerance: 3 %, question: Q,
     settle: before_fitting,
     measure: M}
  - {id: axle.side, title: T, type: word, words: side, question: Q}
  - {id: axle.mark, title: T, type: text, listed_in: t, question: Q}
quantities:
  - {id: axle.wide, title: T, unit: mm, formula: axle.track, source: S, holds: axle.track > 1 m}
tables:
  - {id: t, title: T, source: S, keys: [{id: k, type: length, unit: mm, match: up_to}],
     columns: [{id: c, type: word, words: side}], rows: [[1, left], [2, right]]}
loads:
  - id: axle-load
    title: Load on the axle
    per: axle
    applies_if: axle.driven
    load: axle.load
    ledger: axle.load_by_ledger
    made_up_of: [{title: all of it, mass: axle.load}]
    left_for: {title: people, each: 80 kg, one: person, many: people, source: common practice}
    limits:
      - {id: maker, title: Rating, set_by: maker's plate, limit: axle.rating}
      - id: upgrade
        title: Raised rating
        set_by: plate
        in_place_of: maker
        applies_if: any(each plate)
        limit: 2000 kg
certifications:
  - {id: c, title: C, kind: plate, covered_by: [d], approval_before_work: yes,
      issued_by: O, cites: {text: code, clause: 1},
      evidence: [{id: e, title: E, given_by: M, settle: before_buying}]}
texts:
  - {id: code, title: C, edition: 1, file: code.md, set_aside: [{clause: 2, reason: R}]}
checks:
  - {id: a, title: A, about: tyres, per: [axle, axle], applies_if: a, requires: b,
     exempt_if: [{condition: c, cites: {text: code, clause: 1}}], otherwise: inspect,
     question: Q, caution: C, advice: A, in_force: {from: 2026-07-01},
     cites: [{text: code, clause: "4.2", quote: q}]}
  - {id: b, title: A, about: [tyres], per: axle, measures: a, cites: {text: code, clause: 4.2},
     bands: [{over: 1, up_to: 2, outcome: certification required, certification: c, only_if: a},
             {from: 2, under: 3, outcome: complies, unless: b}]}
  - {id: c, title: A, about: vehicle, per: vehicle, unfinished: true,
     certification: c, cites: {text: code, clause: 4.2}}
"""


def test_everything_is_in_the_full_example() -> None:
    tree = parse_yaml(FULL, "full.yaml")
    Head.model_validate(tree)
    used = {key for each in inner(typed(tree)) for key in each}
    known = {key for each in inner(file_schema(Head)) for key in each.get("properties", ())}
    assert used == known


def _holders(node: Any) -> Iterator[Any]:
    """All mappings and lists of the tree, from the top down."""
    if isinstance(node, (dict, list)):
        yield node
        for each in node.values() if isinstance(node, dict) else node:
            yield from _holders(each)


@settings(max_examples=300, deadline=None)
@given(
    seed=st.integers(0, 1_000_000),
    how=st.sampled_from(["remove", "add", "rename", "repeat", "replace"]),
    value=st.sampled_from(
        ["word", "Two Words", "a.b", "", "4.10", "true", "2026-02-03", "2026-13-01", "complies"]
    ),
    quoted=st.booleans(),
    shape=st.sampled_from(["text", "text", "list", "map", "long list"]),
)
def test_schema_and_models_agree(seed: int, how: str, value: str, quoted: bool, shape: str) -> None:
    """Whatever one change makes of a valid file, both refuse it or neither does.

    But for dates, of which only the models know that they exist and are in order.
    """
    dice = random.Random(seed)
    tree = parse_yaml(FULL, "full.yaml")
    assert isinstance(tree, Map)
    tree = copy.deepcopy(tree)
    text = (Scalar if value else Blank)(value, style='"' if quoted else "")
    new: Any = {
        "text": text,
        "list": Seq(),
        "map": Map(),
        "long list": Seq(),
    }[shape]
    if shape.endswith("list"):
        new += [text] * (4 if shape == "long list" else 1)
    holder = dice.choice([each for each in _holders(tree) if each])
    key: Any = dice.choice(list(holder) if isinstance(holder, dict) else range(len(holder)))
    if how == "remove":
        del holder[key]
    elif how == "replace":
        holder[key] = new
    elif isinstance(holder, dict):
        holder["colour"] = holder.pop(key) if how == "rename" else new
    else:
        holder.append(holder[key] if how == "repeat" else new)

    problems = []
    try:
        Head.model_validate(tree)
    except ValidationError as error:
        problems = explain(tree, Head, error)
        assert problems
        assert all(problem.place is not None for problem in problems)
        assert not any("nput should" in problem.message for problem in problems)
    beyond_schemas = [p for p in problems if re.search("no date|before it begins", p.message)]
    valid = len(problems) == len(beyond_schemas)
    event(f"{how}: {'valid' if valid else 'refused'}")
    assert validator_for(Head).is_valid(tree) is valid


def test_a_listed_file_has_the_sections_of_the_head() -> None:
    assert set(Sections.model_fields) < set(Head.model_fields)
    listed = file_schema(Sections)
    assert set(listed["properties"]) == set(Sections.model_fields)
    assert json.loads(as_text(listed)) == listed
