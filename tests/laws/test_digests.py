"""Repeatable: layout is no content, and the same input gives the same bytes."""

from __future__ import annotations

import json
import os
import pickle
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import yaml
from generators import TODAY, Made, make_ruleset
from hypothesis import given, settings
from hypothesis import strategies as st
from law_choices import Choices, choices
from law_fillings import Exact, loosened, make_target
from laws import found_in, screened

from modrules.screening import submission as submissions
from modrules.screening.binding import bind
from modrules.screening.prepared import Ruleset, Run
from modrules.screening.report import Report, Screening
from modrules.screening.submission import read_submission

calm = settings(max_examples=25, derandomize=True, deadline=None, database=None)
HERE = Path(__file__).parent


def vehicle_data(chosen: Choices) -> dict[str, Any]:
    made = make_ruleset(chosen)
    return loosened(chosen, made, make_target(chosen, made)).data()


def turned(data: Any) -> Any:
    """The same content with all keys in the opposite order."""
    if isinstance(data, dict):
        return {key: turned(data[key]) for key in reversed(data)}
    return [turned(each) for each in data] if isinstance(data, list) else data


@calm
@given(chosen=choices())
def test_the_digest_ignores_layout(chosen: Choices, tmp_path_factory: Any) -> None:
    data = vehicle_data(chosen)
    folder: Path = tmp_path_factory.mktemp("submissions")
    forms = {
        "a.json": json.dumps(data),
        "b.json": json.dumps(turned(data), indent=3, ensure_ascii=False),
        "c.yaml": yaml.safe_dump(data, allow_unicode=True, sort_keys=False),
        "d.yaml": "# a comment\n" + yaml.safe_dump(turned(data), default_flow_style=True, width=30),
    }
    digests = {read_submission(data).digest}
    for name, text in forms.items():
        (folder / name).write_text(text, encoding="utf-8")
        digests.add(read_submission(folder / name).digest)
    assert len(digests) == 1


def changed(data: Any, at: list[int]) -> Any:
    """The content with one text of it changed."""
    if isinstance(data, dict):
        return {key: changed(value, at) for key, value in data.items()}
    if isinstance(data, list):
        return [changed(value, at) for value in data]
    at[0] -= 1
    return f"{data} or not" if at[0] == -1 else data


@calm
@given(chosen=choices(), at=st.integers(0, 8))
def test_the_digest_changes_with_the_content(chosen: Choices, at: int) -> None:
    data = vehicle_data(chosen)
    other = changed(data, [at])
    assert (read_submission(other).digest == read_submission(data).digest) == (other == data)
    listed = {**data, "modifications": [*data["modifications"], {"id": "another", "kind": "lift"}]}
    assert read_submission(listed).digest != read_submission(data).digest


def test_a_digest_that_minds_the_order_of_keys_is_noticed(monkeypatch: pytest.MonkeyPatch) -> None:
    """A fault planted on purpose."""
    plain = json.dumps

    def dumps(content: Any, **more: Any) -> str:
        return plain(content, **{**more, "sort_keys": False})

    monkeypatch.setattr(submissions.json, "dumps", dumps)
    orders = [{"a": "1", "b": "2"}, {"b": "2", "a": "1"}]
    assert len({read_submission(each).digest for each in orders}) == 2


def report_text(ruleset: Ruleset, data: dict[str, Any]) -> str:
    bound = bind(read_submission(data), ruleset.typed, ruleset.layout, TODAY)
    report = Report([Screening(Run(ruleset, bound), {}, "")], "0", TODAY)
    return json.dumps(report.to_dict(), ensure_ascii=False)


@settings(max_examples=8, derandomize=True, deadline=None, database=None)
@given(chosen=choices())
def test_the_same_input_gives_the_same_bytes(chosen: Choices) -> None:
    made = make_ruleset(chosen)
    data = loosened(chosen, made, make_target(chosen, made)).data()
    again = Made(made.data, made.vocabulary, made.literals)
    text = report_text(made.ruleset, data)
    assert report_text(made.ruleset, data) == text
    assert report_text(again.ruleset, data) == text
    assert report_text(pickle.loads(pickle.dumps(made.ruleset)), data) == text
    assert again.flat.digest == made.flat.digest


@calm
@given(chosen=choices())
def test_what_the_rules_do_not_read_changes_no_outcome(chosen: Choices) -> None:
    made = make_ruleset(chosen)
    vehicle = loosened(chosen, made, make_target(chosen, made))
    unread = [f for f in made.vocabulary.facts.values() if f not in made.used and f.type == "text"]
    before = found_in(screened(made, vehicle))
    said = dict(vehicle.said)
    for fact in unread:
        if fact.subject == "vehicle":
            said["", fact.id] = Exact("Something else", "Something else")
    assert found_in(screened(made, replace(vehicle, said=said))) == before


_SCRIPT = """
import sys
sys.path.insert(0, sys.argv[1])
from law_choices import Choices
from test_digests import report_text, make_ruleset, make_target, loosened
for seed in range(4):
    chosen = Choices(seed)
    made = make_ruleset(chosen)
    print(made.flat.digest)
    print(report_text(made.ruleset, loosened(chosen, made, make_target(chosen, made)).data()))
"""


def test_the_bytes_do_not_depend_on_how_python_orders_its_sets() -> None:
    texts = []
    for seed in ("1", "2"):
        environment = {
            **os.environ,
            "PYTHONHASHSEED": seed,
            "PYTHONPATH": os.pathsep.join([str(HERE.parents[1]), str(HERE)]),
        }
        done = subprocess.run(
            [sys.executable, "-c", _SCRIPT, str(HERE)],
            env=environment,
            capture_output=True,
            text=True,
            check=True,
        )
        texts.append(done.stdout)
    assert texts[0] == texts[1] != ""
