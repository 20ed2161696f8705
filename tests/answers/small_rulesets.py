"""Small invented rulesets for the answers drawn from findings, and ways to make them at random."""

from __future__ import annotations

import datetime
import tempfile
from fractions import Fraction
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

from hypothesis import strategies as st

import modrules
from modrules.language.units import decimal_text

ON = datetime.date(2026, 11, 1)

VOCABULARY = """\
ruleset: vellmarch
title: Vellmarch trial rules
edition: "1"
in_force: {from: 2020-01-01}
texts:
  - {id: code, title: The Vellmarch code, edition: "1"}
word_sets:
  - {id: colour, words: [amber, white, blue]}
subjects:
  - {id: vehicle, title: The vehicle}
  - {id: modification, title: Modification, list: modifications}
  - {id: axle, title: Axle, list: axles}
kinds:
  - {id: lift, title: Lift}
  - {id: rack, title: Rack}
certifications:
  - {id: plate, title: Plate, kind: plate}
facts:
  - {id: vehicle.a, title: First length, type: length, unit: mm,
     range: {from: 0 mm, to: 100 mm}, question: How long is the first?}
  - {id: vehicle.b, title: Second length, type: length, unit: mm,
     range: {from: 0 mm, to: 100 mm}, question: How long is the second?}
  - {id: vehicle.n, title: Number of seats, type: count,
     range: {from: 0, to: 20}, question: How many seats are there?}
  - {id: vehicle.built, title: Date of build, type: date, question: When was it built?}
  - {id: vehicle.towed, title: Whether it tows, type: yes_no, question: Does it tow?}
  - {id: vehicle.lamp, title: Colour of the lamp, type: word, words: colour,
     question: Which colour is the lamp?}
  - {id: vehicle.rating, title: Rating, type: mass, unit: kg, none_stated: true, safety: true,
     range: {from: 0 kg, to: 900 kg}, question: What is the rating?}
  - {id: axle.track, title: Track, type: length, unit: mm,
     range: {from: 1000 mm, to: 2000 mm}, question: How wide is the track?}
  - {id: lift.height, title: Height of the lift, type: length, unit: mm,
     range: {from: 0 mm, to: 200 mm}, question: How high is the lift?,
     measure: From the axle to the chassis.}
  - {id: rack.mass, title: Mass of the rack, type: mass, unit: kg,
     range: {from: 0 kg, to: 90 kg}, question: How heavy is the rack?}
checks:
"""

CITES = '    cites: {text: code, clause: "1.1"}\n'


def check(name: str, *lines: str, per: str = "vehicle", about: str = "vehicle") -> str:
    """One check from its lines."""
    body = "".join(f"    {line}\n" for line in lines)
    head = f"  - id: {name}\n    title: Check {name}\n    about: {about}\n    per: {per}\n"
    return f"{head}{body}{CITES}"


def ruleset(*checks: str, facts: str = "", more: str = "") -> Any:
    """A ruleset of the vocabulary above with these checks, and further facts and sections."""
    with tempfile.TemporaryDirectory() as folder:
        text = VOCABULARY.replace("checks:\n", f"{facts}checks:\n") + "".join(checks) + more
        (Path(folder) / "ruleset.yaml").write_text(text, encoding="utf-8")
        return modrules.load_ruleset(folder, on=ON)


def decimal(value: Fraction) -> str | None:
    """A number as people write it; None where no decimal gives it exactly."""
    text = decimal_text(value, 9)
    return text if Fraction(text) == value else None


# -- expressions at random ---------------------------------------------------------------

_LENGTHS = st.sampled_from(["vehicle.a", "vehicle.a", "vehicle.b"])
_CONSTANTS = st.integers(0, 100).map(lambda n: f"{n} mm") | st.sampled_from(
    ["1 in", "12.5 mm", "0.3 mm", "2.5 in"]
)


def _more(inner: st.SearchStrategy[str], *, straight: bool) -> st.SearchStrategy[str]:
    pair = st.tuples(inner, inner)
    choices = [
        pair.map(lambda p: f"({p[0]} + {p[1]})"),
        pair.map(lambda p: f"({p[0]} - {p[1]})"),
        pair.map(lambda p: f"smallest({p[0]}, {p[1]})"),
        pair.map(lambda p: f"largest({p[0]}, {p[1]})"),
        inner.map(lambda e: f"absolute({e})"),
        st.tuples(inner, st.sampled_from(["3", "0.7", "7", "2"])).map(
            lambda p: f"({p[0]} * {p[1]})"
        ),
        st.tuples(inner, st.sampled_from(["3", "7", "1.5"])).map(lambda p: f"({p[0]} / {p[1]})"),
        st.tuples(inner, st.sampled_from(["10 mm", "7 mm"])).map(
            lambda p: f"round_up({p[0]}, {p[1]})"
        ),
        st.tuples(inner, st.sampled_from(["10 mm", "1 in"])).map(
            lambda p: f"round_down({p[0]}, {p[1]})"
        ),
        st.tuples(inner, inner, inner, inner).map(
            lambda p: f"(if {p[0]} <= {p[1]} then {p[2]} else {p[3]})"
        ),
        pair.map(lambda p: f"(if vehicle.towed then {p[0]} else {p[1]})"),
    ]
    if not straight:
        choices += [
            st.tuples(inner, inner).map(lambda p: f"({p[0]} * ({p[1]} / 50 mm))"),
            st.tuples(inner, _LENGTHS).map(lambda p: f"(20 mm * ({p[0]} / {p[1]}))"),
        ]
    return st.one_of(choices)


@cache
def lengths(*, straight: bool = True) -> st.SearchStrategy[str]:
    """Expressions of lengths over the two lengths of the vehicle."""
    return st.recursive(
        _LENGTHS | _CONSTANTS, lambda inner: _more(inner, straight=straight), max_leaves=5
    )


@st.composite
def conditions(draw: Any, straight: bool = True) -> str:
    left, right = draw(lengths(straight=straight)), draw(_CONSTANTS)
    first = f"{left} {draw(st.sampled_from(['<', '<=', '>', '>=']))} {right}"
    if draw(st.booleans()):
        return first
    joint = draw(st.sampled_from(["and", "or", "and not"]))
    low = draw(st.integers(0, 90))
    other = draw(st.sampled_from([f"(vehicle.a > {low} mm)", "(vehicle.n <= 5)", "vehicle.towed"]))
    return f"({first}) {joint} {other}"


@st.composite
def checks(draw: Any, name: str, straight: bool = True) -> str:
    """A check at random: a requirement with an exemption, or bands, some with holes."""
    if draw(st.booleans()):
        lines = [f"requires: {draw(conditions(straight))}"]
        if draw(st.booleans()):
            exempt = draw(conditions(straight))
            lines.append(
                f'exempt_if: [{{condition: "{exempt}", cites: {{text: code, clause: "2"}}}}]'
            )
        worst = draw(st.sampled_from(["not permitted", "certification required", "caution"]))
        lines.append(f"otherwise: {worst}")
        if worst == "certification required":
            lines.append("certification: plate")
        return check(name, *lines)
    ends = sorted(draw(st.lists(st.integers(0, 120), min_size=2, max_size=4, unique=True)))
    words = ["complies", "caution", "not permitted", "complies", "exempt"]
    bands = [f"  - {{up_to: {ends[0]} mm, outcome: {words[0]}}}"]
    for number, (low, high) in enumerate(pairwise(ends), start=1):
        side = draw(st.sampled_from(["up_to", "under"]))
        bands.append(f"  - {{over: {low} mm, {side}: {high} mm, outcome: {words[number]}}}")
    if draw(st.booleans()):
        bands.append(f"  - {{over: {ends[-1]} mm, outcome: not permitted}}")
    return check(name, f"measures: {draw(lengths(straight=straight))}", "bands:", *bands)
