"""What rests on changed text, for the screen: the same words under every answer."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from modrules.reports.layout import bullets, clean, heading, labelled
from modrules.reports.reading import doubtful
from modrules.reports.wording import clauses_of, rest_on_changed_text

Data = Mapping[str, Any]
_MOST = 12  # findings that are named; the report as JSON has all of them


def attention(findings: Sequence[Data]) -> list[str]:
    """Beside the answer: how many findings rest on changed text, and on which clauses."""
    if not findings:
        return []
    return labelled("ATTENTION", f"{rest_on_changed_text(len(findings))}: {_clauses(*findings)}")


def changed_text(findings: Sequence[Data]) -> list[str]:
    """Finding by finding: the check, what it is about, and the clauses that changed."""
    if not findings:
        return []
    lines = heading("What rests on changed text")
    for one in findings[:_MOST]:
        subject = clean(one["subject"]).replace("_", " ")
        lines += bullets([f"{clean(one['title'])}, {subject}: {_clauses(one)}"])
    if len(findings) > _MOST:
        lines += bullets([f"and {len(findings) - _MOST} more"])
    return lines


def _clauses(*findings: Data) -> str:
    return clauses_of(citation for one in findings for citation in doubtful(one))  # type: ignore[arg-type]
