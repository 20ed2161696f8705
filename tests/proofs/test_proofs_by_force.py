"""For small rulesets the proofs say what trying every vehicle says."""

from __future__ import annotations

import datetime
import itertools
import re
import tempfile
from collections.abc import Iterable, Iterator
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

import modrules
from modrules.proofs.cases import default_day
from modrules.proofs.found import Found
from modrules.proofs.proving import prove
from modrules.ruleset.words import OUTCOMES
from modrules.screening.binding import bind
from modrules.screening.findings import outcomes_of
from modrules.screening.prepared import Ruleset, Run
from modrules.screening.submission import read_submission

HEAD = """\
ruleset: small
title: Small
edition: "1"
in_force: {from: 2026-01-01}
texts: [{id: code, title: Code, edition: "1"}]
word_sets: [{id: sort, words: [red, green, blue]}]
subjects: [{id: vehicle, title: Vehicle}, {id: axle, title: Axle, list: axles}]
facts:
  - {id: vehicle.a, title: A, type: yes_no, question: A?}
  - {id: vehicle.b, title: B, type: yes_no, question: B?}
  - {id: vehicle.sort, title: Sort, type: word, words: sort, question: Which?}
  - {id: vehicle.n, title: N, type: count, range: {from: 0, to: 4}, question: How many?}
  - {id: vehicle.m, title: M, type: count, none_stated: true, range: {from: 1, to: 2}, question: M?}
  - {id: axle.w, title: W, type: yes_no, question: W?}
checks:
"""
VALUES = {
    "a": ("yes", "no"),
    "b": ("yes", "no"),
    "sort": ("red", "green", "blue"),
    "n": tuple("01234"),
    "m": ("1", "2", "none stated"),
}
AXLES: tuple[tuple[str, ...], ...] = ((), ("yes",), ("no",), ("yes", "no"))

atoms = st.sampled_from(
    [
        "vehicle.a",
        "vehicle.b",
        "vehicle.sort = red",
        "vehicle.sort in (green, blue)",
        "vehicle.m is stated",
        "(vehicle.m if stated else 3) > vehicle.n",
        "vehicle.n - 2 * vehicle.n <= -3",
        "vehicle.n * vehicle.n >= 5",
        "any(axle.w for each axle)",
        "all(axle.w for each axle)",
        "count(each axle) > 1",
    ]
) | st.builds(
    lambda operator, limit: f"vehicle.n {operator} {limit}",
    st.sampled_from(["<", "<=", ">", ">=", "=", "!="]),
    st.integers(0, 4),
)
conditions = st.recursive(
    atoms,
    lambda inner: (
        st.builds("({} {} {})".format, inner, st.sampled_from(["and", "or"]), inner)
        | st.builds("not ({})".format, inner)
    ),
    max_leaves=3,
)
ends = st.sampled_from(["", "over: {}, ", "from: {}, "])
tops = st.sampled_from(["", "under: {}, ", "up_to: {}, "])


@st.composite
def band_lists(draw: st.DrawFn) -> list[tuple[str, str]]:
    """Bands with an outcome each of its own, and their outcomes."""
    bands = []
    for outcome in draw(st.permutations(["complies", "caution", "not permitted"])):
        low = draw(st.integers(0, 4))
        high = draw(st.integers(low + 1, 5))
        text = draw(ends).format(low) + draw(tops).format(high)
        if draw(st.booleans()):
            text += f'only_if: "{draw(conditions)}", '
        bands.append((f"{{{text}outcome: {outcome}}}", outcome))
    return bands


def vehicles(ruleset: Ruleset) -> Iterator[list[tuple[str, ...]]]:
    """What each check comes to, for every vehicle."""
    for values in itertools.product(*VALUES.values()):
        for axles in AXLES:
            tree = {
                "submission": "x",
                "modifications": [],
                "vehicle": dict(zip(VALUES, values, strict=True)),
                "axles": [{"id": str(i), "w": w} for i, w in enumerate(axles)],
            }
            bound = bind(read_submission(tree), ruleset.typed, ruleset.layout, default_day(ruleset))
            yield [outcomes_of(raw[2]) for raw in sorted(Run(ruleset, bound).screen())]


NONE, COMPLIES, EXEMPT, NOT_PERMITTED = (
    (outcome,) for outcome in ("not applicable", "complies", "exempt", "not permitted")
)
ANYTHING = tuple(OUTCOMES)


def expected(seen: list[list[tuple[str, ...]]], outcomes: list[str]) -> set[tuple[str, str]]:
    """The kinds of problem that trying all vehicles shows, with the check or band."""
    found = set()
    first = {row[0] for row in seen}
    if first == {NONE}:
        found.add(("never applies", "first"))
    else:
        if COMPLIES not in first:
            found.add(("never met", "first"))
        if not first & {EXEMPT, NOT_PERMITTED}:
            found.add(("always met", "first"))
        elif EXEMPT not in first:
            found.add(("exemption never needed", "first"))
        elif NOT_PERMITTED not in first:
            found.add(("exemption swallows", "first"))
    second = {row[1] for row in seen}
    if ANYTHING in second:
        found.add(("gap", "second"))
    found |= {
        ("never reached", f"band {number}")
        for number, outcome in enumerate(outcomes, 1)
        if (outcome,) not in second
    }
    both = {
        (row[0] != NOT_PERMITTED, row[1] not in (NOT_PERMITTED, ANYTHING))
        for row in seen
        if row[0] != NONE
    }
    if any(one for one, _ in both) and any(other for _, other in both) and (True, True) not in both:
        found.add(("checks conflict", "first and second"))
    return found


def claimed(found: Iterable[Found]) -> set[tuple[str, str]]:
    """The same of what the proofs found."""
    kinds = {"rows disagree", "checks differ", "fact unused"}
    claims = set()
    for each in found:
        if each.kind in kinds:
            continue
        what = {" and ".join(each.checks)}
        if each.kind == "never reached":
            bands = re.findall(r"\d+", each.problem.message.partition(" of ")[0])
            what = {f"band {number}" for number in bands}
        claims |= {(each.kind, one) for one in what}
    return claims


@settings(max_examples=12, derandomize=True)
@given(conditions, conditions, conditions, band_lists())
def test_proofs_agree_with_trying_everything(
    applies: str, requires: str, exemption: str, bands: list[tuple[str, str]]
) -> None:
    cites = '    cites: {text: code, clause: "1"}\n'
    text = HEAD + (
        "  - id: first\n    title: First\n    about: vehicle\n    per: vehicle\n"
        f'    applies_if: "{applies}"\n    requires: "{requires}"\n    exempt_if:\n'
        f'      - {{condition: "{exemption}", cites: {{text: code, clause: "2"}}}}\n{cites}'
        "  - id: second\n    title: Second\n    about: vehicle\n    per: vehicle\n"
        "    measures: vehicle.n\n    bands:\n"
        + "".join(f"      - {band}\n" for band, _ in bands)
        + cites
    )
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "ruleset.yaml").write_text(text, encoding="utf-8")
        ruleset = modrules.load_ruleset(folder, on=datetime.date(2026, 6, 1))
        proofs = prove(ruleset)
    assert proofs.not_proved == ()
    told = expected(list(vehicles(ruleset)), [outcome for _, outcome in bands])
    if any(each.kind == "checks differ" for each in proofs.found):
        # Two checks of one measure that come to different things are told as that, not again.
        told.discard(("checks conflict", "first and second"))
    assert claimed(proofs.found) == told
