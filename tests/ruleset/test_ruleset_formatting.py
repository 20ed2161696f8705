"""The one form of ruleset files: what it looks like, and that nothing is lost on the way."""

from __future__ import annotations

import re
import shutil
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from modrules import cli
from modrules.problems import ModrulesError
from modrules.ruleset.formatting import format_path, formatted
from modrules.ruleset.load import collect, shipped_folder
from modrules.ruleset.source import parse_yaml
from modrules.ruleset.tree import Map, Node, Seq
from modrules.ruleset.written import comments_of

HEAD = """\
ruleset: marrowdale
title: Marrowdale
edition: "1"
in_force: {from: 2026-01-01}
files: [checks.yaml]
subjects: [{id: vehicle, title: Vehicle}]
texts: [{id: code, title: Code, edition: "1"}]
"""
UNTIDY = """\
---
# About the whole file.

facts:

- title: 'Height of the sill'   # beside the title
  # above the id
  id: vehicle.hull_height


  range: {to: 1500 mm, from: 100 mm}
  type:
    length
  unit: "mm"
  question: >-
      How high is the sill
      above the ground?
  # after the last key

# above the next
- {id: vehicle.doors, type: count, title: Doors, question: How many doors?,
   range: {from: 0,   # none
           to: 6}}
# Above the checks.
checks:
      - cites:
          clause: 4.1
          text: code
          # under the citation
        id: sill
        about: "vehicle"
        per: vehicle  # only it
        title: "Sill"
        bands:
        - {outcome: complies, over: 400 mm}
        # the rest
        - outcome: "not permitted"
        measures: vehicle.hull_height
# the end
"""
TIDY = """\
# About the whole file.

facts:
  # above the id
  - id: vehicle.hull_height
    title: Height of the sill   # beside the title
    type: length
    unit: mm
    range: {from: 100 mm, to: 1500 mm}
    question: >-
      How high is the sill
      above the ground?
    # after the last key

  # above the next
  - {id: vehicle.doors, type: count, title: Doors, question: How many doors?,
     range: {from: 0,   # none
             to: 6}}

# Above the checks.
checks:
  - id: sill
    title: Sill
    about: vehicle
    per: vehicle  # only it
    measures: vehicle.hull_height
    bands:
      - {over: 400 mm, outcome: complies}
      # the rest
      - outcome: not permitted
    cites:
      text: code
      clause: "4.1"
      # under the citation
# the end
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "ruleset.yaml").write_text(HEAD)
    (tmp_path / "checks.yaml").write_text(UNTIDY)
    return tmp_path


def test_the_one_form(folder: Path, capsys: Any) -> None:
    before = collect(folder)
    assert not before.problems
    assert cli.main(["format", str(folder), "--check"]) == 1
    assert capsys.readouterr().out == (
        f"FORMAT         1 of 2 files would change\n{folder / 'checks.yaml'}\n"
    )
    assert (folder / "checks.yaml").read_text() == UNTIDY
    assert cli.main(["format", str(folder)]) == 0
    assert (folder / "checks.yaml").read_text() == TIDY
    assert (folder / "ruleset.yaml").read_text() == HEAD
    assert collect(folder).ruleset.digest == before.ruleset.digest
    capsys.readouterr()
    assert cli.main(["format", str(folder / "checks.yaml"), str(folder), "--check"]) == 0
    assert capsys.readouterr().out == "FORMAT         nothing to change\n"


def test_a_file_with_a_problem_leaves_all_as_they_are(folder: Path, capsys: Any) -> None:
    (folder / "ruleset.yaml").write_text(HEAD.replace("[checks.yaml]", "[checks.yaml, b.yaml]"))
    (folder / "b.yaml").write_text("checks: [\n")
    assert cli.main(["format", str(folder)]) == 2
    assert "b.yaml:2:1" in capsys.readouterr().err
    assert (folder / "checks.yaml").read_text() == UNTIDY


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("? a\n: b\n", "such as `?`"),
        ("%YAML 1.1\n---\ntitle: a\n", "`%`"),
        ("checks: !!seq\n  - a\n", "or `!`"),
        ('title: "a\u2028b"\n', "ends of lines"),
    ],
)
def test_what_is_not_rearranged_is_refused(text: str, said: str) -> None:
    with pytest.raises(ModrulesError, match=re.escape(said)):
        formatted(text, "a.yaml")


@pytest.mark.parametrize(
    "text",
    [
        "title: |\n  a\n    b  \n\n  c # no comment\n",
        "title: |2\n    indented\n  less\n",
        'title: "a\n  # no comment\n\n  b\\\n  c"\n',
        "title: a\n  b\n\n  c   # a comment\n",
        "title: 'it''s'\n",
        "title:\n",
        "title:   # nothing\nfiles: []\n",
        "checks:\n  -\n  - # empty\n  - - a\n    - b\n",
        "title: a\r\nfiles:\r\n- b # c\r\n",
        "{title: a, files: [b]}\n",
        "files: [\n  a,  # one\n\n  # two\n  b\n]   # three\n",
        'title: "yes"\nfiles: ["12", "a: b", "true"]\n',
        "- a\n-   b\n",
        "title: a\n...\n# after\n",
    ],
)
def test_odd_ways_of_writing(text: str) -> None:
    after = formatted(text, "a.yaml")
    assert formatted(after, "a.yaml") == after
    assert plain(parse_yaml(after, "a")) == plain(parse_yaml(text, "a"))
    assert sorted(comments_of(after)) == sorted(comments_of(text))


def test_nothing_is_written_outside_the_folder(folder: Path, capsys: Any) -> None:
    outside = folder.parent / f"{folder.name}-outside.yaml"
    outside.write_text("cases:\n- {case: 'a'}\n")
    (folder / "cases").mkdir()
    (folder / "cases" / "a.yaml").symlink_to(outside)
    assert cli.main(["format", str(folder)]) == 2
    assert "leads out of the folder" in capsys.readouterr().err
    assert outside.read_text() == "cases:\n- {case: 'a'}\n"
    assert (folder / "checks.yaml").read_text() == UNTIDY


def test_a_json_file_is_left_alone(tmp_path: Path, capsys: Any) -> None:
    (tmp_path / "a.json").write_text('{"checks":[]}')
    assert cli.main(["format", str(tmp_path / "a.json")]) == 2
    assert "JSON" in capsys.readouterr().err
    assert cli.main(["format", str(tmp_path / "none.yaml")]) == 2
    assert "no such file" in capsys.readouterr().err


@pytest.mark.parametrize("name", ["trade", "touring", "orrinmark", "quillander"])
def test_the_shipped_rulesets_are_in_form(name: str) -> None:
    changed = [str(each.path) for each in format_path(shipped_folder() / name) if each.changes]
    assert changed == []


def test_a_shipped_ruleset_turned_inside_out_comes_back(tmp_path: Path) -> None:
    folder = tmp_path / "touring"
    shutil.copytree(shipped_folder() / "touring", folder)
    digest = collect(folder).ruleset.digest
    for path in sorted(folder.rglob("*.yaml")):
        text = path.read_text()
        # Every item with a title begins with it; lists move to the column of their key.
        text = re.sub(r"(?m)^  - (id: .*)\n    (title: .*)$", r"  - \2\n    \1", text)
        text = re.sub(r"(?m)^  ", "", text)
        path.write_text(text)
    assert collect(folder).ruleset.digest == digest
    assert any(each.changes for each in format_path(folder))
    for each in format_path(folder):
        original = shipped_folder() / "touring" / each.path.relative_to(folder)
        if "submissions" not in each.path.parts:
            assert each.after == original.read_text()


# The laws, on files written in every way at once


@st.composite
def untidy(draw: st.DrawFn) -> str:
    """A file of checks, its comments numbered, in an order and layout of no sense."""
    numbers = iter(range(10_000))

    def comment(indent: int) -> list[str]:
        made = []
        for _ in range(draw(st.integers(0, 2))):
            if draw(st.booleans()):
                made.append("")
            shift = draw(st.sampled_from([0, 0, 0, 1, 3]))
            made.append(" " * (indent + shift) + f"# c{next(numbers)}.")
        return made

    def beside() -> str:
        return draw(st.sampled_from(["", "", f" # c{next(numbers)}.", f"     #c{next(numbers)}."]))

    def scalar(text: str) -> str:
        ways = [text, f'"{text}"', f"'{text}'"]
        return draw(st.sampled_from(ways)) + beside()

    def long(text: str, indent: int) -> list[str]:
        style = draw(st.sampled_from([">-", ">", "|-", "plain", '"']))
        first, _, last = text.partition(" ")
        deeper = " " * (indent + draw(st.integers(1, 5)))
        if style == "plain":
            return [first, deeper + last + beside()]
        if style == '"':
            return [f'"{first}', *([""] if draw(st.booleans()) else []), f'{deeper}{last}"']
        return [style + beside(), deeper + first, *([""] * draw(st.integers(0, 1))), deeper + last]

    def check(name: str, indent: int) -> list[str]:
        deep = indent + draw(st.integers(1, 4))
        dash = draw(st.integers(deep - (0 if deep > indent else -1), deep + 2))
        keys: dict[str, list[str]] = {
            "id": [f"id: {scalar(name)}"],
            "title": [f"title: {scalar('A title')}"],
            "about": [f"about: {scalar('vehicle')}"],
            "per": ["per:" + beside(), *comment(deep), " " * deep + scalar("vehicle")],
            "cites": draw(
                st.sampled_from(
                    [
                        ["cites: {clause: 4.1, text: code}"],
                        ["cites:", " " * deep + "clause: '4.10'", " " * deep + "text: code"],
                        ["cites:" + beside(), " " * dash + "- {text: code, clause: 1a}"],
                        ["cites: {text: code,", " " * deep + "clause: '1'}"],
                    ]
                )
            ),
            "unfinished": ["unfinished: true" + beside()],
        }
        first, *rest = long("of advice", indent)
        keys["advice"] = [f"advice: {first}", *rest]
        lines: list[str] = []
        for key in draw(st.permutations(list(keys))):
            between = comment(indent) if lines else []
            own, *more = keys[key]
            lines += [*between, " " * indent + own, *more]
        return lines

    step = draw(st.integers(0, 4))
    lines = ["---"] * draw(st.integers(0, 1)) + comment(0) + ["checks:" + beside()]
    for number in range(draw(st.integers(1, 3))):
        first, *rest = check(f"check-{number}", step + 2)
        lines += [*comment(step), " " * step + "- " + first.lstrip(), *rest]
    lines += comment(draw(st.integers(0, 4)))
    if draw(st.booleans()):
        lines += ["texts:", *comment(1), " - {title: 'T', id: code, edition: 1.10}", *comment(0)]
    else:
        lines += ["texts: [{id: code, title: T, edition: '1.10'}]" + beside()]
    ends = draw(st.sampled_from(["\n", "\n", "\r\n"]))
    return ends.join(lines) + ends * draw(st.integers(0, 3))


def plain(node: Node) -> Any:
    if isinstance(node, Map):
        return {key: plain(value) for key, value in node.items()}
    return [plain(each) for each in node] if isinstance(node, Seq) else str(node)


@given(untidy())
@settings(max_examples=60)
def test_nothing_is_lost_and_twice_is_as_once(text: str) -> None:
    after = formatted(text, "a.yaml")
    assert formatted(after, "a.yaml") == after
    assert plain(parse_yaml(after, "a")) == plain(parse_yaml(text, "a"))
    numbers = re.findall(r"# ?c\d+\.", text)
    assert sorted(re.findall(r"# ?c\d+\.", after)) == sorted(numbers)
    assert "\r" not in after
    assert not re.search(r"\n\n\n", after)


def key_of(line: str) -> str:
    found = re.match(r"[\s-]*([a-z_]+):", line)
    return found[1] if found else ""


def beside_keys(text: str) -> dict[str, str]:
    """For each numbered comment beside a key, or right above one: that key."""
    lines = [line for line in text.splitlines() if line.strip()]
    found: dict[str, str] = {}
    for number, line in enumerate(lines):
        for comment in re.findall(r"c\d+\.", line):
            rest = (one for one in lines[number:] if not one.lstrip().startswith("#"))
            found[comment] = key_of(next(rest, ""))
    return found


@given(untidy())
@settings(max_examples=40)
def test_a_comment_beside_a_key_stays_with_it(text: str) -> None:
    after = beside_keys(formatted(text, "a.yaml"))
    lines = [line for line in text.splitlines() if not line.lstrip().startswith("#")]
    before = beside_keys("\n".join(line for line in lines if key_of(line)))
    assert {comment: after[comment] for comment in before} == before


@given(untidy())
@settings(max_examples=8)
def test_the_digest_stays(tmp_path_factory: pytest.TempPathFactory, text: str) -> None:
    folder = tmp_path_factory.mktemp("ruleset")
    (folder / "ruleset.yaml").write_text(
        "ruleset: m\ntitle: M\nedition: '1'\nin_force: {from: 2026-01-01}\nfiles: [c.yaml]\n"
    )
    (folder / "c.yaml").write_bytes(text.encode())
    before = collect(folder)
    assert not before.problems
    assert cli.main(["format", str(folder)]) == 0
    after = collect(folder)
    assert not after.problems
    assert after.ruleset.canonical == before.ruleset.canonical
    assert cli.main(["format", str(folder), "--check"]) == 0
