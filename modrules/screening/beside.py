"""Two screenings side by side: another place, or before and after.

Findings are matched by check and subject, modifications and certifications by their ids.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from modrules.ruleset.words import OUTCOMES
from modrules.screening.findings import Finding, changed_text, said_of
from modrules.screening.report import Report, _in_order, _title, combined

_RANK: Final = {outcome: rank for rank, outcome in enumerate(OUTCOMES)}


@dataclass(frozen=True, slots=True)
class Pair:
    """One finding on the left and on the right; None where there is no such finding."""

    left: Finding | None
    right: Finding | None

    @property
    def change(self) -> str:
        """From left to right: same, worse, milder, other (neither), gone or new."""
        if self.left is None or self.right is None:
            return "new" if self.left is None else "gone"
        before, after = _ranks(self.left), _ranks(self.right)
        if self.left.possible == self.right.possible:
            return "same"
        if after[0] >= before[0] and after[1] >= before[1]:
            return "worse" if after != before else "other"
        return "milder" if after[0] <= before[0] and after[1] <= before[1] else "other"


@dataclass(frozen=True, slots=True)
class Beside:
    """Two reports side by side. ``differ``: ruleset or submission."""

    left: Report
    right: Report
    differ: str
    pairs: tuple[Pair, ...]

    def to_dict(self) -> dict[str, Any]:
        """The same as plain data."""
        return to_dict(self)


def beside(left: Report, right: Report, differ: str) -> Beside:
    """Matches the findings of two reports, in the order of the left one."""
    theirs = {(f.check, f.subject): f for f in right.findings}
    pairs = [Pair(f, theirs.pop((f.check, f.subject), None)) for f in left.findings]
    pairs += [Pair(None, finding) for finding in theirs.values()]
    return Beside(left, right, differ, tuple(pairs))


def apart(report: Report) -> list[Report]:
    """A report on several rulesets as one report each."""
    return [Report([one], report._engine, report.on) for one in report._screenings]


def _ranks(finding: Finding) -> tuple[int, int]:
    return _RANK[finding.best], _RANK[finding.worst]


def _side(report: Report) -> dict[str, Any]:
    screening = report._screenings[0]
    submission = screening.run.bound.submission
    return {
        "rulesets": [
            {
                "id": one.ruleset.id,
                "title": one.ruleset.title,
                "edition": one.ruleset.edition,
                "digest": one.ruleset.digest,
            }
            for one in report._screenings
        ],
        "submission": {"title": submission.title, "digest": submission.digest},
        "answer": dict(report.answer),
        "changed_text": changed_text(report.findings),
    }


def answers(report: Report) -> dict[str, tuple[str, dict[str, str] | None]]:
    """Title and answer of each modification; None where no check covers it."""
    found: dict[str, tuple[str, dict[str, str] | None]] = {}
    for screening in report._screenings:
        records = {r.id: r for r in screening.run.bound.world.modification_}
        for name in _in_order(screening, records):
            kind = screening.ruleset.flat.kinds[records[name].kind]
            about = [finding for finding in report.findings if name in finding.modifications]
            title = _title(screening, name) or str(kind.title)
            found.setdefault(name, (title, combined(about) if about else None))
    return found


def certifications(report: Report) -> dict[str, tuple[str, str]]:
    """Title and state of each certification that is or may be required."""
    return {
        name: (str(screening.ruleset.flat.certifications[name].title), state)
        for screening in report._screenings
        for name, state, _ in screening.states
    }


def to_dict(found: Beside) -> dict[str, Any]:
    """Two reports side by side, as plain data."""
    return {
        "differ": found.differ,
        "on": found.left.on.isoformat(),
        "left": _side(found.left),
        "right": _side(found.right),
        "modifications": [
            {"id": name, "title": title, "left": left, "right": right}
            for name, title, left, right in _joined(answers(found.left), answers(found.right))
        ],
        "certifications": [
            {"id": name, "title": title, "left": left, "right": right}
            for name, title, left, right in _joined(
                certifications(found.left), certifications(found.right)
            )
        ],
        "findings": [_pair(pair) for pair in found.pairs],
    }


def _joined(
    left: dict[str, tuple[str, Any]], right: dict[str, tuple[str, Any]]
) -> Sequence[tuple[str, str, Any, Any]]:
    """Entries of both sides by id; what one side lacks is ``"absent"`` there."""
    return [
        (
            name,
            (left.get(name) or right[name])[0],
            left[name][1] if name in left else "absent",
            right[name][1] if name in right else "absent",
        )
        for name in dict.fromkeys([*left, *right])
    ]


def _pair(pair: Pair) -> dict[str, Any]:
    one = pair.left or pair.right
    assert one is not None
    return {
        "check": one.check,
        "title": one.title,
        "subject": one.subject,
        "change": pair.change,
        **{
            side: None
            if finding is None
            else {
                "ruleset": finding._run.ruleset.id,
                "possible": list(finding.possible),
                "message": finding.message,
                "citations": said_of(finding)["citations"],
            }
            for side, finding in (("left", pair.left), ("right", pair.right))
        },
    }
