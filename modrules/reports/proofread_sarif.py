"""What proofreading found as SARIF 2.1.0 (OASIS): a rule for each way of finding, a result for
each problem at its place in the ruleset's own files.

Nothing in it depends on the day or the machine: equal findings give equal bytes.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import PurePath
from typing import Any, Final
from urllib.parse import quote

from modrules.problems import Place, Problem
from modrules.reports.layout import clean
from modrules.reports.sarif import log_of
from modrules.reports.trouble import Proofread, all_problems

#: What can find a problem, and what that means; the keys are those of ``Proofread.kinds``.
_RULES: Final = {
    "ruleset": "what stands in the ruleset's files is wrong, or doubtful",
    "citation": "a citation does not stand in the text at hand",
    "worked-case": "a worked case comes to another outcome than its author worked out",
    "proof": "something holds for all vehicles within the declared ranges that hardly was meant",
}


def proofread_sarif(head: str, result: Proofread) -> str:
    """All problems as one run; ``head`` is the file for what has no place of its own."""
    from modrules import __version__

    names = list(_RULES)
    results = [
        _result(problem, result.kinds[problem], names, head, result.examples.get(problem, ()))
        for problem in [*all_problems(result), *(note for note in result.notes if note.place)]
    ]
    rules = [{"id": name, "shortDescription": {"text": said}} for name, said in _RULES.items()]
    return log_of(
        {
            "tool": {"driver": {"name": "modrules", "version": __version__, "rules": rules}},
            "columnKind": "unicodeCodePoints",
            "results": results,
            "properties": {"summary": [clean(line) for line in result.summary]},
        }
    )


def _result(
    problem: Problem, kind: str, names: Sequence[str], head: str, example: Sequence[str]
) -> dict[str, Any]:
    hint = f" ({clean(problem.hint)})" if problem.hint else ""
    shown: Mapping[str, Any] = {"properties": {"example": list(example)}} if example else {}
    return {
        "ruleId": kind,
        "ruleIndex": names.index(kind),
        "kind": "fail",
        "level": problem.level,
        "message": {"text": clean(problem.message) + hint},
        "locations": [{"physicalLocation": _location(problem.place or Place(head))}],
        **shown,
    }


def _location(place: Place) -> dict[str, Any]:
    location: dict[str, Any] = {"artifactLocation": {"uri": quote(PurePath(place.file).as_posix())}}
    if place.line:
        region = {"startLine": place.line, "startColumn": max(place.column, 1)}
        if place.end_column > place.column > 0:
            region["endColumn"] = place.end_column
        location["region"] = region
    return location
