"""Keys that do not go together."""

from __future__ import annotations

from pathlib import Path

import pytest
from ruleset_files import head, told, write

from modrules.problems import ModrulesError
from modrules.ruleset.load import read_folder

BASE = 'id: c, title: C, about: tyres, per: axle, cites: {text: code, clause: "1"}'


def problems(folder: Path, text: str) -> list[tuple[int, int, str]]:
    write(folder, ruleset=head() + "files: [more.yaml]\n", more=text)
    try:
        read_folder(folder)
    except ModrulesError as error:
        return [(line, column, message) for _, line, column, message in told(error)]
    return []


RIGHT = [
    "requires: a",
    "requires: a, otherwise: caution",
    "requires: a, otherwise: inspect, question: q",
    "requires: a, otherwise: certification required, certification: c",
    "requires: a, exempt_if: [{condition: b, cites: {text: t, clause: 1}}]",
    "measures: a, bands: [{up_to: 5 mm, outcome: complies}, {over: 5 mm, outcome: not permitted}]",
    "measures: a, bands: [{from: 1, under: 2, outcome: certification required, certification: c}]",
    "bands: [{only_if: a, outcome: exempt}, {outcome: not applicable}]",
    "bands: [{outcome: inspect}], question: q",
    "unfinished: true",
    "unfinished: true, certification: c",
    "unfinished: true, requires: a",
    "unfinished: true, measures: aa, bands: [{up_to: 1, outcome: complies}]",
]


@pytest.mark.parametrize("keys", RIGHT)
def test_what_goes_together(tmp_path: Path, keys: str) -> None:
    assert problems(tmp_path, f"checks: [{{{BASE}, {keys}}}]\n") == []


WRONG = [
    ("", "id: c", "the check `c` asks nothing"),
    ("unfinished: false", "id: c", "the check `c` asks nothing"),
    ("requires: a, bands: [{outcome: complies}]", "id: c",
     "the check `c` has `requires` and `bands`, of which it can have one"),
    ("requires: a, bands: [{outcome: complies}], unfinished: true", "id: c",
     "the check `c` has `requires` and `bands`, of which it can have one"),
    ("measures: aa", "measures: aa",
     "the check `c` measures something, and has no `bands` to judge it by"),
    ("bands: [{outcome: complies}], otherwise: caution", "otherwise: caution",
     "`otherwise` goes with `requires`, not with `bands`"),
    ("bands: [{outcome: complies}], exempt_if: [{condition: b, cites: {text: t, clause: 1}}]",
     "condition: b", "`exempt_if` goes with `requires`, not with `bands`"),
    ("measures: a, bands: [{over: 1, from: 2, outcome: complies}]", "from: 2",
     "this band has `over` and `from`, which are two lower ends"),
    ("measures: a, bands: [{under: 1, up_to: 2, outcome: complies}]", "under: 1",
     "this band has `up_to` and `under`, which are two upper ends"),
    ("bands: [{outcome: complies, over: 1}]", "over: 1",
     "this band has an end, and the check `c` has no `measures`"),
    ("bands: [{outcome: inspect}]", "outcome: inspect",
     "the check `c` may come to inspect, and has no `question`"),
    ("requires: a, otherwise: inspect", "otherwise: inspect",
     "the check `c` may come to inspect, and has no `question`"),
    ("requires: a, otherwise: certification required", "otherwise: certification",
     "the check `c` requires a certification here and does not say which"),
    ("bands: [{outcome: certification required}], certification: x", "outcome: certification",
     "the check `c` requires a certification here and does not say which"),
    ("requires: a, certification: x", "certification: x",
     "the check `c` names a certification here that it does not require"),
    ("bands: [{outcome: complies, certification: x}]", "certification: x",
     "the check `c` names a certification here that it does not require"),
]  # fmt: skip


@pytest.mark.parametrize(("keys", "at", "message"), WRONG)
def test_what_does_not(tmp_path: Path, keys: str, at: str, message: str) -> None:
    text = f"checks: [{{{BASE}, {keys}}}]"
    column = text.index(at) + at.index(":") + 3
    assert (1, column, message) in problems(tmp_path, text + "\n")


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (f"checks: [{{{BASE.replace('tyres', '[tyres, tyres]')}, unfinished: true}}]",
         "the kind `tyres` is listed twice"),
        (f"checks: [{{{BASE.replace('tyres', '[tyres, vehicle]')}, unfinished: true}}]",
         "the check `c` is about the vehicle and about kinds of modification"),
        ("facts: [{id: axle.a, title: A, type: yes_no, question: Q, estimate_tolerance: 3 %}]",
         "`estimate_tolerance` goes with `from`"),
        ("word_sets: [{id: side, words: [left, right, left]}]", "the word `left` is listed twice"),
        ("tables: [{id: t, title: T, source: s, keys: [{id: k, type: text}], "
         "columns: [{id: k, type: text}], rows: [[a, b]]}]", "the column `k` is listed twice"),
        ("certifications: [{id: c, title: C, kind: plate, evidence: [{id: e, title: E}, "
         "{id: e, title: E}]}]", "the evidence `e` is listed twice"),
        ("certifications: [{id: c, title: C, kind: plate, covered_by: [d, d]}]",
         "the certification `d` is listed twice"),
        ("certifications: [{id: c, title: C, kind: plate, covered_by: [c]}]",
         "the certification `c` covers itself"),
    ],
)  # fmt: skip
def test_names_within_an_item(tmp_path: Path, text: str, message: str) -> None:
    assert [each for _, _, each in problems(tmp_path, text + "\n")] == [message]
