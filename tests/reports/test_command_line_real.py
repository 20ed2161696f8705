"""The command line on the shipped rulesets and submissions.

Nothing is replaced, but a ruleset that was loaded once is kept: rulesets never change.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from loaded import load_ruleset
from test_report_terminal import folded, head, part

import modrules
from modrules import cli
from modrules.reports import layout, places
from modrules.reports.schema import report_schema

ROOT = Path(__file__).parents[2]
SUBMISSIONS = ROOT / "rulesets" / "orrinmark" / "submissions"
ON = "2026-11-01"

Run = Callable[..., tuple[int, str, str]]


@pytest.fixture(autouse=True)
def _loaded_once(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(modrules, "load_ruleset", load_ruleset)


@pytest.fixture
def run(capsys: Any) -> Run:
    def call(*arguments: str) -> tuple[int, str, str]:
        status = cli.main(list(arguments))
        said = capsys.readouterr()
        return status, said.out, said.err

    return call


def orrinmark(command: str, name: str, *more: str) -> list[str]:
    path = str(SUBMISSIONS / f"{name}.yaml")
    return [command, path, "--ruleset", "orrinmark", "--on", ON, *more]


STATUS = {
    "compliant": 0,
    "evidence-for-everything": 0,
    "needs-plates": 1,
    "not-permitted": 1,
    "incomplete": 3,
    "borderline": 3,
}


@pytest.mark.parametrize("name", STATUS)
@pytest.mark.parametrize("command", ["screen", "plates"])
def test_every_shipped_submission(run: Run, command: str, name: str) -> None:
    status, out, err = run(*orrinmark(command, name))
    assert (status, err) == (STATUS[name], "")
    assert max(map(layout.width_of, out.split("\n"))) <= 80
    first = head(out)
    assert "no certificate: the local code and licensed certifier decide" in first
    assert "PLATES " in first


@pytest.mark.parametrize("name", STATUS)
def test_the_json_report_fits_its_schema(run: Run, name: str) -> None:
    status, out, _ = run(*orrinmark("screen", name, "--format", "json"))
    report = json.loads(out)
    assert status == STATUS[name]
    errors = Draft202012Validator(report_schema()).iter_errors(report)
    assert [error.json_path for error in errors] == []


def test_a_newcomer_finds_five_facts_in_the_first_24_lines(run: Run) -> None:
    first = head(run(*orrinmark("screen", "needs-plates"))[1])
    for words in (
        "ANSWER CERTIFICATION REQUIRED",
        "REQUIRED: Fuel plate; outstanding Pressure test of the tanks; Diagram of the fuel lines",
        "HELD: Mass plate",
        "Total lift, the vehicle; Orrinmark Light Vehicle Modification Code",
        "NOT LOOKED AT",
    ):
        assert words in first
    first = head(run(*orrinmark("screen", "incomplete"))[1])
    assert "ANSWER BETWEEN COMPLIES AND NOT PERMITTED: OPEN" in first
    assert "FIND OUT NEXT 1 of " in first


def test_the_owner_finds_what_to_do_per_modification(run: Run) -> None:
    out = run(*orrinmark("plates", "needs-plates"))[1]
    assert "PLATE 4: Larger all-terrain tyres" in head(out)
    tank = part(out, "LONG-RANGE TANK")
    assert "Fuel plate: required need Pressure test of the tanks" in tank
    assert "clause" in tank
    out = run(*orrinmark("plates", "incomplete"))[1]
    assert "no plate" not in out.lower()


def test_a_tolerance_across_a_limit_says_how_precisely(run: Run) -> None:
    out = run(*orrinmark("screen", "borderline"))[1]
    assert "must be known to within" in part(out, "HOW PRECISELY EACH FINDING MUST BE KNOWN")
    assert "Measure again, to within" in part(out, "WHAT TO MEASURE AGAIN, MORE PRECISELY")


def test_clauses_are_found_in_the_shipped_text_and_quoted(run: Run) -> None:
    out = run(*orrinmark("screen", "needs-plates"))[1]
    assert "ATTENTION" not in out
    why = part(out, "WHY")
    assert '"takes a running gear plate" | A total lift over 45 mm' in why


def test_a_text_of_ones_own_is_read(run: Run, tmp_path: Path) -> None:
    text = tmp_path / "code.md"
    text.write_text("# Nothing of the kind\n\n## 1 Other\n\n1.1 Quite another text.\n")
    _, out, _ = run(*orrinmark("screen", "needs-plates", "--text", f"code={text}"))
    assert "ATTENTION" in head(out)
    assert "the supplied text has no such clause" in out


def test_two_rulesets_are_two_screenings(run: Run) -> None:
    more = ["--ruleset", "quillander"]
    status, out, err = run(*orrinmark("screen", "compliant", *more))
    assert status in (0, 1, 3), err
    assert "Orrinmark light vehicle modification rules: complies" in head(out)


@pytest.mark.parametrize(("day", "edition"), [("2024-05-01", "2023-1"), (ON, "2026-1")])
def test_the_date_picks_the_edition(run: Run, tmp_path: Path, day: str, edition: str) -> None:
    build = tmp_path / "build.yaml"
    build.write_text("submission: An old one\nmodifications: []\n")
    arguments = ["screen", str(build), "--ruleset", "orrinmark", "--format", "json", "--on", day]
    _, out, err = run(*arguments)
    assert err == ""
    report = json.loads(out)
    assert (report["on"], report["rulesets"][0]["edition"]) == (day, edition)


def test_sarif_points_into_the_submission(run: Run) -> None:
    _, out, _ = run(*orrinmark("screen", "needs-plates", "--format", "sarif"))
    lines = (SUBMISSIONS / "needs-plates.yaml").read_text(encoding="utf-8").split("\n")
    results = json.loads(out)["runs"][0]["results"]
    fuel = next(one for one in results if one["ruleId"] == "orrinmark/fuel-capacity")
    region = fuel["locations"][0]["physicalLocation"]["region"]
    assert "id: tank" in lines[region["startLine"] - 1]
    assert places.places_in(SUBMISSIONS / "needs-plates.yaml")["modifications.tank"].line


@pytest.mark.parametrize("name", ["html", "markdown", "sarif", "json"])
def test_formats_give_the_same_bytes_again(run: Run, name: str) -> None:
    arguments = orrinmark("screen", "borderline", "--format", name)
    assert run(*arguments) == run(*arguments)


# Bad input: one clear message, status 2, nothing on the output, nothing written


BAD = {
    "not yaml": ("a: [1, 2", "build.yaml"),
    "a duplicate key": ("submission: x\nsubmission: y\n", "submission"),
    "an unknown key": ("submission: x\nvehikle: {}\n", "vehicle"),
    "a wrong unit": ("submission: x\nvehicle: {wheelbase: 2800 kg}\n", "wheelbase"),
    "no number": ("submission: x\nvehicle: {wheelbase: .nan}\n", "wheelbase"),
    "an impossible date": ("submission: x\nvehicle: {built: 2021-02-30}\n", "built"),
    "one id twice": (
        "submission: x\nmodifications:\n"
        "  - {id: a, kind: tyres, fitted: 2026-08-01}\n"
        "  - {id: a, kind: tyres, fitted: 2026-08-01}\n",
        "a",
    ),
}


@pytest.mark.parametrize("name", BAD)
def test_an_unusable_submission(run: Run, tmp_path: Path, name: str) -> None:
    text, words = BAD[name]
    build = tmp_path / "build.yaml"
    build.write_text(text)
    target = tmp_path / "report.json"
    options = ["--ruleset", "orrinmark", "--format", "json", "--output", str(target)]
    status, out, err = run("screen", str(build), *options)
    assert (status, out) == (2, "")
    assert err.startswith("modrules: the input could not be used")
    assert "build.yaml:" in err
    assert words in err
    assert "Traceback" not in err
    assert not target.exists()


def test_what_is_not_there_or_no_file(run: Run, tmp_path: Path) -> None:
    for submission, options, words in (
        (tmp_path / "none.yaml", [], "none.yaml"),
        (tmp_path, [], str(tmp_path)),
        (SUBMISSIONS / "compliant.yaml", ["--text", "coed=x.md"], "coed"),
        (SUBMISSIONS / "compliant.yaml", ["--text", f"code={tmp_path}"], str(tmp_path)),
        (SUBMISSIONS / "compliant.yaml", ["--text", f"code={tmp_path}/no.md"], "no.md"),
    ):
        status, out, err = run("screen", str(submission), "--ruleset", "orrinmark", *options)
        assert (status, out) == (2, ""), (submission, options)
        assert words in err
        assert "an error inside modrules" not in err


def test_an_unknown_ruleset_names_the_nearest(run: Run) -> None:
    arguments = orrinmark("screen", "compliant")
    arguments[arguments.index("orrinmark")] = "orinmark"
    status, out, err = run(*arguments)
    assert (status, out) == (2, "")
    assert 'did you mean "orrinmark"?' in err


@pytest.mark.parametrize(
    ("facts", "hint"),
    [
        # Spelled nearly like vehicle.tare_mass, but another fact altogether.
        (
            "vehicle: {gross_mass: 3050 kg}",
            "facts of this name: plate.gross_mass, ratings.gross_mass",
        ),
        ("vehicle: {kerb_mas: 2200 kg}", 'did you mean "kerb_mass"?'),
        ("placard: {zzz: 3}", "`modrules reference orrinmark` names every fact"),
    ],
)
def test_a_fact_of_another_place_is_told_where(
    run: Run, tmp_path: Path, facts: str, hint: str
) -> None:
    plan = tmp_path / "plan.yaml"
    plan.write_text(f"{facts}\nmodifications: []\n")
    status, out, err = run("screen", str(plan), "--ruleset", "orrinmark")
    assert (status, out) == (2, "")
    assert hint in err


# Proofreading and the demo


def test_a_shipped_ruleset_reads_clean(run: Run) -> None:
    # All of them are read in tests/shipped, and proved in tests/thorough.
    status, out, err = run("proofread", "trade", "--no-proofs")
    assert (status, err) == (0, ""), out
    assert "RESULT         nothing to mend" in out


def test_a_ruleset_with_a_fault(run: Run, tmp_path: Path) -> None:
    (tmp_path / "ruleset.yaml").write_text(
        'ruleset: mine\ntitle: Mine\nedition: "1"\nin_force: {from: 2026-01-01}\n'
        'builds_on: {ruleset: trade, edition: "1"}\n'
        "texts:\n  - {id: code, title: Code}\n"
        "checks:\n  - {id: x, title: X, about: vehicle, per: vehicle,\n"
        "     requires: vehicle.wheelbase < 3 kg, cites: {text: code, clause: '1'}}\n"
    )
    status, out, _ = run("proofread", str(tmp_path))
    assert status == 1
    assert "error: " in out
    assert "ruleset.yaml:10:" in out
    assert "^" in out


def test_the_demo(run: Run, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    status, out, err = run("demo")
    assert (status, err) == (0, "")
    text = folded(out)
    for words in (
        "$ modrules screen ",
        "needs-plates.yaml \\ --ruleset orrinmark --on 2026-11-01",
        "ANSWER CERTIFICATION REQUIRED",
        "$ modrules plates ",
        "incomplete.yaml",
        "FIND OUT NEXT",
        "more lines",
    ):
        assert words in text
    # A folder of that name where one happens to stand is not the shipped ruleset.
    (tmp_path / "orrinmark").mkdir()
    (tmp_path / "orrinmark" / "ruleset.yaml").write_text("ruleset: orrinmark\n")
    monkeypatch.chdir(tmp_path)
    assert run("demo")[0] == 0


def test_a_pipe_that_closes_early() -> None:
    command = [sys.executable, "-m", "modrules.cli", *orrinmark("screen", "incomplete")]
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    process = subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=environment
    )
    assert process.stdout is not None
    assert process.stderr is not None
    process.stdout.read(1)
    process.stdout.close()
    said = process.stderr.read()
    process.stderr.close()
    assert (process.wait(timeout=60), said) == (3, b"")
