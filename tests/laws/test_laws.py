"""The laws of evaluation over rulesets and submissions made at random, always the same ones."""

from __future__ import annotations

from law_runs import run_law
from laws import LAWS, Tally

from modrules.language import intervals, syntax
from modrules.ruleset.words import OUTCOMES

#: how many rulesets each law is tried on, with three submissions each
EXAMPLES = {"agreement": 110, "soundness": 90, "reports": 15}


def test_laws_hold_and_everything_occurs() -> None:
    """In one run, so that what occurred in it can be counted."""
    tally = Tally()
    for law in LAWS:
        run_law(law, EXAMPLES.get(law, 60), tally)
    never = [what for what in wanted() if not tally.seen[what]]
    assert never == []


def wanted() -> list[str]:
    """All that must occur in the run: constructs, outcomes, ways of being open."""
    classes = [
        name
        for name, found in vars(syntax).items()
        if isinstance(found, type)
        and issubclass(found, syntax.Syntax)
        and found is not syntax.Syntax
    ]
    assert len(classes) >= 12
    assert len(intervals.MAKERS) >= 28
    return [
        *(f"syntax: {name}" for name in classes),
        *(f"op: {op}" for op in intervals.MAKERS),
        *(f"outcome: {outcome}" for outcome in OUTCOMES),
        *(f"examples: {law}" for law in LAWS),
        *(
            f"check: {shape}"
            for shape in (
                "requires",
                "measures",
                "bands without a measure",
                "unfinished",
                "exempt_if",
                "applies_if",
                "in_force",
                "pair",
            )
        ),
        *(
            f"band: {key}"
            for key in ("over", "from", "up_to", "under", "only_if", "unless", "certification")
        ),
        "compiled",
        "limits worked out for whoever reads",
        "left to the interval evaluator",
        "decided",
        "no value",
        "none stated",
        "open findings",
        "decided though facts are open",
        "missing facts",
        "tolerances",
        "partial dates",
        "completions",
        "narrowed",
        "sets narrowed",
        "safety facts missing",
        "assumed",
        "lists not given",
        "lists given in part",
        "lists that are whole without some entries",
        "lists that lack entries",
        "margins",
        "right on the limit",
        "precision",
        "reasons",
        "reordered",
    ]
