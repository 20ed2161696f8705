"""A naive evaluator, written from the design and not from the engine.

It walks the syntax trees of a ruleset given as plain data, over submissions in which every
fact is exact, none stated included. A value is a Fraction (in SI units), an int (a date as
ordinal, a period as months), a bool, a text, or None: no value. What it gives is the set of
possible outcomes of each check on each subject: one, or all where there is no value.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction
from itertools import combinations, product
from typing import Any

from reference_values import (
    NONE_STATED,
    SI,
    Expressions,
    Paper,
    Period,
    Subjects,
    World,
    both,
    either,
    negation,
    ordinal,
)

EVERYTHING = frozenset(
    (
        "not applicable",
        "complies",
        "exempt",
        "certified",
        "caution",
        "inspect",
        "certification required",
        "not permitted",
    )
)
_ENDS: dict[str, Callable[[Any, Any], bool]] = {
    "over": lambda value, end: value > end,
    "from": lambda value, end: value >= end,
    "up_to": lambda value, end: value <= end,
    "under": lambda value, end: value < end,
}


class Reference(Expressions):
    """The evaluator of one ruleset on one submission."""

    # -- checks ------------------------------------------------------------------------

    def findings(self) -> dict[tuple[str, tuple[str, ...]], frozenset[str]]:
        """The outcomes of each check on each subject, by ids; no ids where there is none."""
        found = {}
        for check in self.data["checks"]:
            subjects = self.subjects_of(check)
            for ids, names in subjects:
                found[check["id"], ids] = self.outcomes(check, names)
            if not subjects:
                found[check["id"], ()] = frozenset(("not applicable",))
        return found

    def subjects_of(self, check: Mapping[str, Any]) -> list[tuple[tuple[str, ...], Subjects]]:
        per = [check["per"]] if isinstance(check["per"], str) else list(check["per"])
        if len(per) == 2 and per[0] == per[1]:
            return [
                ((a["id"], b["id"]), {"first": a, "second": b})
                for a, b in combinations(self.records(per[0]), 2)
            ]
        lists = []
        for subject in per:
            records = self.records(subject)
            if subject == "modification" and "vehicle" not in check["about"]:
                records = [m for m in records if m["kind"] in check["about"]]
            lists.append(records)
        found = []
        for chosen in product(*lists):
            names = dict(zip(per, chosen, strict=True))
            if len(per) == 1 and per[0] in self.kinds:
                names["modification"] = chosen[0]
            ids = tuple(record["id"] for record in chosen if "id" in record)
            found.append((ids, names))
        return found

    def outcomes(self, check: Mapping[str, Any], names: Subjects) -> frozenset[str]:
        applies = self.in_force(check)
        if "applies_if" in check:
            applies = both(applies, lambda: self.value(check["applies_if"], names))
        if applies is None:
            return EVERYTHING
        if not applies:
            return frozenset(("not applicable",))
        if check.get("unfinished"):
            return EVERYTHING
        outcome = self.required(check, names) if "requires" in check else self.banded(check, names)
        return EVERYTHING if outcome is None else frozenset((outcome,))

    def in_force(self, check: Mapping[str, Any]) -> bool:
        period = check.get("in_force", {})
        first, last = period.get("from", "0001-01-01"), period.get("up_to", "9999-12-31")
        return ordinal(first) <= self.world.today <= ordinal(last)

    def required(self, check: Mapping[str, Any], names: Subjects) -> str | None:
        met = self.value(check["requires"], names)
        if met is None:
            return None
        if met:
            return "complies"
        excused: bool | None = False
        for exemption in check.get("exempt_if", ()):
            excused = either(excused, lambda e=exemption: self.value(e["condition"], names))
        if excused is None:
            return None
        if excused:
            return "exempt"
        return self.certified(
            check.get("otherwise", "not permitted"), check.get("certification"), check, names
        )

    def banded(self, check: Mapping[str, Any], names: Subjects) -> str | None:
        measured = None
        if "measures" in check:
            measured = self.value(check["measures"], names)
            if measured is None:
                return None
        for band in check["bands"]:
            matches = self.matches(band, measured, names)
            if matches is None:
                return None
            if matches:
                return self.certified(band["outcome"], band.get("certification"), check, names)
        return None

    def matches(self, band: Mapping[str, Any], measured: Any, names: Subjects) -> bool | None:
        found: bool | None = True
        for key, holds in _ENDS.items():
            if key in band:
                end = self.value(band[key], names)
                holding = None if end is None else holds(measured, end)
                found = both(found, lambda holding=holding: holding)
        if "only_if" in band:
            found = both(found, lambda: self.value(band["only_if"], names))
        if "unless" in band:
            found = both(found, lambda: negation(self.value(band["unless"], names)))
        return found

    # -- certifications ------------------------------------------------------------------

    def certified(
        self, outcome: str, name: str | None, check: Mapping[str, Any], names: Subjects
    ) -> str:
        if outcome != "certification required" or name is None:
            return outcome
        own = {m["id"]: m for m in names.values() if m.get("kind") in self.kinds}
        if not own:
            mods = self.world.subjects["modification"]
            # What is filed under no kind that was modified bears on all modifications.
            own = {m["id"]: m for m in mods if m["kind"] in check["about"]}
            own = own or {m["id"]: m for m in mods}
        held = any(self.covers(paper, name, list(own.values())) for paper in self.world.papers)
        return "certified" if held else outcome

    def covers(self, paper: Paper, name: str, mods: list[Mapping[str, Any]]) -> bool:
        enough = {name}
        while True:
            more = {o for each in enough for o in self.certifications[each].get("covered_by", ())}
            if more <= enough:
                break
            enough |= more
        if paper.certification not in enough:
            return False
        if paper.issued is None or paper.issued > self.world.today:
            return False
        if paper.expires is not None and paper.expires < self.world.today:
            return False
        if not {m["id"] for m in mods} <= paper.modifications:
            return False
        before = any(
            self.certifications[each].get("approval_before_work")
            for each in (name, paper.certification)
        )
        if before and any(paper.issued > m["modification.fitted"] for m in mods):
            return False
        return all(self.within(paper, fact, limit) for fact, limit in paper.up_to.items())

    def within(self, paper: Paper, fact: str, limit: Fraction) -> bool:
        """Whether what was done stays within what the paper covers; a value that nobody
        states is not shown to."""
        for record in self.records(fact.partition(".")[0]):
            if "kind" in record and record["id"] not in paper.modifications:
                continue
            value = record[fact]
            if value is NONE_STATED or value > limit:
                return False
        return True


__all__ = ["EVERYTHING", "NONE_STATED", "SI", "Paper", "Period", "Reference", "Subjects", "World"]
