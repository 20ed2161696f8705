"""Clauses that exempt: each is begun as a check of its own, tied to what it exempts from."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

import modrules
from modrules import cli
from modrules.author_commands import load
from modrules.proofs.exempting import exempting
from modrules.proofs.progress import progress
from modrules.ruleset.words import OUTCOMES
from modrules.texts import Text, text_from

TEXT = """\
# Code of lifts

## 3 Tyres

3.1 A tyre must not exceed 800 mm.

3.2 Clause 3.1 does not apply to a vehicle of the rescue service.

## 4 Lifts

4.1 A lift must not exceed 50 mm.

4.2 A vehicle must carry a flag:

(1) on the roof;

(2) on the bonnet;

(3) at the rear.

4.3 {}

## 5 Trailers

5.1 A trailer must have brakes.
"""


def one(words: str) -> Text:
    return text_from(TEXT.format(words), id="code")


@pytest.mark.parametrize(
    ("words", "clauses", "unknown"),
    [
        ("Clause 4.1 does not apply to a tractor.", ("4.1",), ()),
        ("Clauses 3.1, 4.1 and 5.1 do not apply to a tractor.", ("3.1", "4.1", "5.1"), ()),
        ("Clauses 3.1 to 4.2 shall not apply.", ("3.1", "3.2", "4.1", "4.2"), ()),
        ("Clauses 4.1 to 4.2 shall not apply.", ("4.1", "4.2"), ()),
        ("A tractor is exempt from clause 4.1 and from 5.1.", ("4.1", "5.1"), ()),
        ("The office may exempt a tractor from the limit in section 4.1.", ("4.1",), ()),
        ("Despite clause 4.2, a tractor may have one.", ("4.2",), ()),
        ("Notwithstanding the requirements of 4.2(1), it may be at the side.", ("4.2(1)",), ()),
        ("A tractor need not comply with clause 5.1.", ("5.1",), ()),
        ("Paragraph 4.2 (2) does not apply to a tractor.", ("4.2(2)",), ()),
        # What it names besides is a condition, and nothing that it exempts from.
        ("A tractor to which clause 3.1 applies need not have a flag.", (), ()),
        ("A vehicle under 4.1 is exempt.", (), ()),
        ("A flag is carried, except that a tractor carries none.", (), ()),
        # "This clause" is the one around it, unless it says more before.
        ("This clause does not apply to a tractor.", ("4",), ()),
        ("A flag must be red. This clause does not apply to a tractor.", (), ()),
        ("Clause 9.9 does not apply to a tractor.", (), ("Clause 9.9",)),
        # Not even an exception to an exemption is passed over.
        ("A tractor is not exempt after dark.", (), ()),
        ("It does not apply its brakes by itself.", None, ()),
        ("An exemption is shown to the police.", None, ()),
        ("A tractor is a vehicle.", None, ()),
    ],
)
def test_what_a_clause_exempts_from(
    words: str, clauses: tuple[str, ...] | None, unknown: tuple[str, ...]
) -> None:
    text = one(words)
    found = exempting(text, text.clauses["4.3"])
    if clauses is None:
        assert found is None
    else:
        assert found is not None
        assert (found.clauses, found.unknown) == (clauses, unknown)


@pytest.mark.parametrize(
    "said",
    [
        "despite (1), a tractor has none",
        "sub-clause (1) does not apply to a tractor",
        "a tractor is exempt from paragraph (1)",
    ],
)
def test_an_item_is_meant_from_where_it_stands(said: str) -> None:
    words = "(2) on the bonnet;"
    new = f"(2) {said};"
    text = text_from(TEXT.format("A flag is red.").replace(words, new), id="code")
    found = exempting(text, text.clauses["4.2(2)"])
    assert found is not None
    assert found.clauses == ("4.2(1)",)


@pytest.fixture
def folder(tmp_path: Path, capsys: Any) -> Path:
    (tmp_path / "code.md").write_text(TEXT.format("Tractors need not, by way of exception, wait."))
    made = tmp_path / "marrowdale"
    begun = ["draft", str(tmp_path / "code.md"), "--id", "marrowdale", "--output", str(made)]
    assert cli.main([*begun, "--from", "2026-01-01"]) == 0
    said = capsys.readouterr().out
    assert "clauses read like requirements, 2 only like exemptions" in said
    return made


def states(folder: Path) -> dict[str, tuple[str, tuple[str, ...]]]:
    flat = load(str(folder)).ruleset.flat
    text = modrules.read_text(folder / "texts" / "code.md", id="text")
    return {row.clause: (row.state, row.checks) for row in progress(text, flat)}


def test_an_exemption_is_begun_and_decides_nothing(folder: Path) -> None:
    assert cli.main(["format", str(folder), "--check"]) == 0
    assert [str(problem) for problem in modrules.proofread(folder).problems] == []
    checks = modrules.load_ruleset(folder).flat.checks
    assert [str(cite.clause) for cite in checks["clause-3-2"].cites] == ["3.2", "3.1"]
    assert all(check.unfinished for check in checks.values())
    text = (folder / "checks.yaml").read_text()
    assert "# exempts from clause 3.1: write that under exempt_if of clause-3-1\n" in text
    assert "# exempts, and names no other clause: write that under exempt_if of what it" in text
    report = modrules.screen({"modifications": []}, modrules.load_ruleset(folder))
    assert {f.check: f.possible for f in report.findings}["clause-3-2"] == tuple(OUTCOMES)
    assert {finding.possible for finding in report.findings} == {tuple(OUTCOMES)}


def test_a_clause_is_not_finished_before_what_exempts_from_it(folder: Path) -> None:
    assert states(folder)["3.1"] == ("unfinished", ("clause-3-1", "clause-3-2"))
    file = folder / "checks.yaml"
    text = file.read_text()
    rule = "requires: vehicle.wheelbase > 2 m"
    file.write_text(text.replace("unfinished: true", rule, 1))
    # Its own check is finished now, and still its exemption is not.
    assert states(folder)["3.1"][0] == "unfinished"
    report = modrules.screen({"modifications": []}, modrules.load_ruleset(folder))
    assert {f.check: f.possible for f in report.findings}["clause-3-2"] == tuple(OUTCOMES)
    before, _, rest = text.partition("  # line 7 of the text\n")
    _, _, after = rest.partition("\n\n")
    exemption = (
        f"{rule}\n    exempt_if:\n      - condition: vehicle.off_road_features\n"
        '        cites: {text: text, clause: "3.2"}'
    )
    file.write_text(before.replace("unfinished: true", exemption, 1) + after)
    found = states(folder)
    assert (found["3.1"], found["3.2"]) == (("finished", ("clause-3-1",)),) * 2


def test_an_exemption_without_a_check_is_not_begun(folder: Path) -> None:
    file = folder / "checks.yaml"
    before, _, rest = file.read_text().partition("  # line 7 of the text\n")
    file.write_text(before + rest.partition("\n\n")[2])
    assert states(folder)["3.2"] == ("not begun", ())
