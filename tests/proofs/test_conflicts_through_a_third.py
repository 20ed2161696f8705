"""Two checks that can't both be met for what a third one allows."""

from __future__ import annotations

import little
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from modrules.proofs.examples import screened
from modrules.proofs.found import Found
from modrules.proofs.proving import prove
from modrules.screening.prepared import Ruleset

MANY = little.check("many", "not vehicle.p or vehicle.n >= 3")
FEW = little.check("few", "not vehicle.q or vehicle.n <= 2")
BANDS = """\
    bands:
      - {outcome: complies, only_if: vehicle.p and vehicle.q}
      - {outcome: caution}
    caution: Take care.
"""
ALLOWS = {
    "requirement": little.check(
        "third", "vehicle.p and vehicle.q", more="    otherwise: caution\n"
    ),
    "exemption": little.check(
        "third", "vehicle.r", more=little.exempt_if("vehicle.p and vehicle.q")
    ),
    "band 1": little.check("third", BANDS),
}


def through(ruleset: Ruleset) -> list[Found]:
    proofs = prove(ruleset)
    assert proofs.not_proved == ()
    return [each for each in proofs.found if each.kind == "conflict through a third"]


@pytest.mark.parametrize("way", ALLOWS)
def test_it_names_all_three_at_their_places(way: str) -> None:
    checks = (MANY, FEW, ALLOWS[way])
    ruleset = little.load(*checks)
    (found,) = through(ruleset)
    assert found.checks == ("many", "few", "third")
    assert f'"third" allows here, by its {way}, what "many" and "few"' in found.problem.message
    lines = little.text(*checks).splitlines()
    place = found.problem.place
    assert place is not None
    allowing = "condition" if way == "exemption" else "vehicle.p and vehicle.q"
    assert allowing in lines[place.line - 1]
    for name, demand in (("many", "vehicle.n >= 3"), ("few", "vehicle.n <= 2")):
        line = next(n for n, text in enumerate(lines, 1) if demand in text)
        assert f'"{name}" stands at ' in found.problem.hint
        assert f"ruleset.yaml:{line}:" in found.problem.hint
    assert found.example is not None
    seen = {c.id: screened(ruleset, found.example, c)[0] for c in ruleset.typed.checks}
    assert seen == dict(zip(found.checks, found.possible, strict=True))
    assert seen["third"] in (("complies",), ("exempt",))
    assert sorted((seen["many"], seen["few"])) == [("complies",), ("not permitted",)]


@pytest.mark.parametrize(
    "checks",
    [
        # Some vehicle that the third allows meets both.
        (MANY, FEW, little.check("third", "vehicle.p or vehicle.q")),
        # What the third allows is never of interest to both.
        (MANY, FEW, little.check("third", "vehicle.p and not vehicle.q")),
        # One of the two can't be met there at all: it is at odds with the third alone.
        (MANY, FEW, little.check("third", "vehicle.p and vehicle.q and vehicle.n >= 3")),
        # Where the third says so, one of the two does not apply.
        (
            little.check("many", "not vehicle.p or vehicle.n >= 3", applies="not vehicle.q"),
            FEW,
            little.check("third", "vehicle.p and vehicle.q"),
        ),
        # The two pull the same way.
        (
            MANY,
            little.check("few", "not vehicle.q or vehicle.n >= 2"),
            little.check("third", "vehicle.p and vehicle.q"),
        ),
    ],
)
def test_no_false_alarm(checks: tuple[str, ...]) -> None:
    assert through(little.load(*checks)) == []


def by_force(ruleset: Ruleset) -> bool:
    """Whether trying every vehicle shows the conflict."""
    met = [
        (seen["many"] == "complies", seen["few"] == "complies", seen["third"] == "complies")
        for _, (seen,) in little.vehicles(ruleset)
        if "not applicable" not in (seen["many"], seen["few"])
    ]
    allowed = [(many, few) for many, few, third in met if third]
    return (
        any(many for many, _ in allowed)
        and any(few for _, few in allowed)
        and (True, True) not in allowed
        and any(many and few for many, few, _ in met)
    )


about_p = st.sampled_from(["vehicle.p", "not vehicle.p"])
about_q = st.sampled_from(["vehicle.q", "not vehicle.q"])
third = st.builds("{} {} {}".format, about_p, st.sampled_from(["and", "and", "or"]), about_q)


@settings(max_examples=25, derandomize=True)
@example("not vehicle.p", 3, "not vehicle.q", 2, "vehicle.p and vehicle.q", "vehicle.p")
@given(about_p, st.integers(1, 4), about_q, st.integers(0, 3), third, about_p | about_q)
def test_as_trying_everything_says(
    first: str, low: int, second: str, high: int, allowed: str, applies: str
) -> None:
    ruleset = little.load(
        little.check("many", f"{first} or vehicle.n >= {low}"),
        little.check("few", f"{second} or vehicle.n <= {high}", applies=f"vehicle.r or {applies}"),
        little.check("third", f"({allowed}) and ({first} or {second} or vehicle.n <= 9)"),
    )
    pairs = [each for each in prove(ruleset).found if each.kind == "checks conflict"]
    found = [each for each in through(ruleset) if set(each.checks[:2]) == {"many", "few"}]
    # Two that conflict as they stand are told as that, not again.
    if not pairs:
        assert bool(found) == by_force(ruleset)
