"""Slips of authors, planted in copies of the rulesets that ship: proofreading points to each.

A proofread of a whole jurisdiction takes long. So a copy holds many slips in different checks, and
only the checks that some slip concerns, with the worked cases that are to notice one. The copies of
one ruleset hold the same checks: what one says of its slips, no other may say.
"""

from __future__ import annotations

import functools
import re
import shutil
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any, NamedTuple

import pytest
import yaml

import modrules

HERE = Path(__file__).parent
RULESETS = HERE.parents[1] / "rulesets"
SLIPS: list[dict[str, Any]] = yaml.safe_load((HERE / "slips.yaml").read_text("utf-8"))["found"]
COPIES = sorted({slip["copy"] for slip in SLIPS})

SAYS = {
    "gap": "have a gap",
    "overlap": "name the same value",
    "never applies": "never applies",
    "always met": "is always met",
    "never met": "is never met",
    "exemption never needed": "is never needed",
    "exemption swallows": "swallow",
    "band never reached": " never reached: ",
    "not both": "can't both be met",
    "differ": " the same and differ",
    "fact unused": "is asked for and never used",
    "certification unused": "no check requires the certification",
    "evidence unused": ("is asked of nobody", "no certification takes the document"),
    "one fact opens most": "checks may stay open",
    "limit mistyped": "comes to",
    "citation": "text ",
}
BY_READING = ("limit mistyped", "citation")


class Finding(NamedTuple):
    file: str
    """Of the ruleset."""
    item: str
    """The id of the item that it points to; of a worked case that of its check; of a submission its
    name; of a note the fact that it is about."""
    message: str


def listed(one_or_several: str | Sequence[str]) -> Sequence[str]:
    return [one_or_several] if isinstance(one_or_several, str) else one_or_several


def expected(slip: dict[str, Any]) -> tuple[Sequence[str], Sequence[str]]:
    (items,) = (listed(value) for key, value in slip["at"].items() if key != "file")
    return items, listed(slip["at"]["file"])


def tells(finding: Finding, slip: dict[str, Any]) -> bool:
    items, files = expected(slip)
    says = listed(SAYS[slip.get("said_as", slip["kind"])])
    said = any(each in finding.message for each in says)
    return finding.item in items and finding.file in files and said


# -- items of a file, as stretches of its text


def items(text: str) -> Iterator[tuple[int, int, str, str]]:
    """From and up to which line, in which section, and which id; of a worked case its check's."""
    lines = [*text.splitlines(), "end:"]
    section, begun = "", 0
    for number, line in enumerate(lines, 1):
        top = re.match(r"\w+:", line)
        if begun and (top or line.startswith("  - ")):
            item = "\n".join(lines[begun - 1 : number - 1])
            key = "of" if section == "cases" else "id"
            named = re.search(rf"^(?:  - |    ){key}: (\S+)", item, re.MULTILINE)
            yield begun, number, section, named[1] if named else ""
        if top:
            section = top[0][:-1]
        begun = number if line.startswith("  - ") else (0 if top else begun)


def item_at(text: str, line: int) -> str:
    return next((name for begin, end, _, name in items(text) if begin <= line < end), "")


def names_any(path: Path, names: frozenset[str]) -> bool:
    return any(name in names for *_, name in items(path.read_text("utf-8")))


def only(path: Path, section: str, kept: frozenset[str]) -> None:
    """Cuts the items of a section that are not kept out of a file."""
    text = path.read_text("utf-8")
    there = [item for item in items(text) if item[2] == section]
    lines = text.splitlines()
    for begin, end, _, name in reversed(there):
        if name not in kept:
            del lines[begin - 1 : end - 1]
    if not kept.intersection(name for *_, name in there):
        lines = [line.replace(f"{section}:", f"{section}: []") for line in lines]
    path.write_text("\n".join(lines) + "\n", "utf-8")


# -- copies


def group_of(copy: str) -> str:
    """What is proofread: the folder, and after a comma what was done to it."""
    return copy.rsplit(" ", 1)[0]


def root_of(copy: str) -> str:
    return group_of(copy).split(",")[0]


def touched(slip: dict[str, Any]) -> set[str]:
    """The ids of the items that the slip changes or must be found at."""
    text = (RULESETS / slip["file"]).read_text("utf-8")
    assert text.count(slip["text"]) == 1, (
        f"{slip['id']}: the text must stand once in {slip['file']}"
    )
    line = text[: text.index(slip["text"])].count("\n") + 1
    return {item_at(text, line), *expected(slip)[0]}


@functools.cache
def kept(group: str) -> tuple[frozenset[str], frozenset[str]]:
    """The checks that the copies of a ruleset keep, and those whose worked cases they keep."""
    slips = [slip for slip in SLIPS if group_of(slip["copy"]) == group]
    checks: set[str] = set().union(*map(touched, slips))
    ruleset = yaml.safe_load(
        (RULESETS / root_of(slips[0]["copy"]) / "ruleset.yaml").read_text("utf-8")
    )
    checks |= {item["id"] for item in ruleset.get("removes", [])}
    cases = {item for s in slips if s["kind"] == "limit mistyped" for item in expected(s)[0]}
    return frozenset(checks), frozenset(cases)


def planted(copy: str, folder: Path) -> list[dict[str, Any]]:
    """Makes the copy, and gives the slips in it."""
    slips = [slip for slip in SLIPS if slip["copy"] == copy]
    checks, cases = kept(group_of(copy))
    top = root_of(copy).split("/")[0]
    shutil.copytree(RULESETS / top, folder / top)
    for slip in slips:
        path = folder / slip["file"]
        text = path.read_text("utf-8")
        assert text.count(slip["text"]) == 1, slip["id"]
        path.write_text(text.replace(slip["text"], slip["by"]), "utf-8")
    whole = any(slip["file"].endswith("ruleset.yaml") for slip in slips)
    for path in (folder / top).rglob("*.yaml"):
        if path.parent.name == "cases" and (whole or not names_any(path, cases)):
            path.unlink()
        elif path.parent.name == "cases":
            only(path, "cases", cases)
        elif "checks" in (path.parent.name, path.stem) and not whole:
            only(path, "checks", checks)
    return slips


@functools.cache
def proofread(copy: str, folder: Path) -> tuple[Finding, ...]:
    slips = planted(copy, folder)
    result = modrules.proofread(
        folder / root_of(copy), proofs=any(slip["kind"] not in BY_READING for slip in slips)
    )
    found = []
    for problem in (*result.problems, *result.cases_failed, *result.notes):
        path = Path(problem.place.file)
        item = item_at(path.read_text("utf-8"), problem.place.line)
        fact = re.match(r'without "(.+)",', problem.message)
        if path.parent.name == "submissions":
            item = path.stem
        elif fact:
            item = fact[1]
        found.append(Finding("/".join(path.relative_to(folder).parts[1:]), item, problem.message))
    return tuple(found)


@pytest.fixture(scope="module")
def findings(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], tuple[Finding, ...]]:
    folders = {copy: tmp_path_factory.mktemp("copy") for copy in COPIES}
    return lambda copy: proofread(copy, folders[copy])


@pytest.mark.parametrize("group", sorted(set(map(group_of, COPIES))))
def test_proofreading_points_to_each_slip_and_to_nothing_else(
    group: str, findings: Callable[[str], tuple[Finding, ...]]
) -> None:
    copies = [copy for copy in COPIES if group_of(copy) == group]
    assert len(copies) > 1, "a slip is held against a copy without it"
    checks = kept(group)[0]
    for copy in copies:
        slips = [slip for slip in SLIPS if slip["copy"] == copy]
        elsewhere = {f for other in copies if other != copy for f in findings(other)}
        fresh = [f for f in findings(copy) if f not in elsewhere]
        missed = [s["id"] for s in slips if not any(tells(f, s) for f in fresh)]
        assert not missed, f"{copy}: proofreading does not point to {missed}"
        concerned = set().union(*map(touched, slips))
        beside = [f for f in findings(copy) if f.item in checks - concerned]
        assert not beside, f"{copy}: nothing was planted here"
