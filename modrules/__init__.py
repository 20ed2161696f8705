"""modrules: what do the rules say about a modified vehicle?

A ruleset is data, a submission is data; ``screen`` brings the two together:

    import modrules

    ruleset = modrules.load_ruleset("orrinmark")
    report = modrules.screen("submission.yaml", ruleset)
    for finding in report.findings:
        print(finding.title, finding.possible, finding.message)

Everything here is a screening aid and no certificate: the local code and the licensed
certifier decide.
"""

from typing import TYPE_CHECKING, Any

from modrules.api import (
    beside,
    limits,
    load_ruleset,
    next_facts,
    proofread,
    read_submission,
    read_text,
    render,
    resolve,
    screen,
    stages,
    turns,
    verify,
)
from modrules.problems import ModrulesError, Place, Problem

if TYPE_CHECKING:
    from modrules.proofs.proofread import Proofreading
    from modrules.screening.asking import answered, begin, next_question, skipped
    from modrules.screening.findings import Finding
    from modrules.screening.prepared import Ruleset
    from modrules.screening.report import Report
    from modrules.screening.submission import Submission
    from modrules.texts import Excerpt, Text

__version__ = "0.1.0"

__all__ = [
    "Excerpt",
    "Finding",
    "ModrulesError",
    "Place",
    "Problem",
    "Proofreading",
    "Report",
    "Ruleset",
    "Submission",
    "Text",
    "__version__",
    "answered",
    "begin",
    "beside",
    "limits",
    "load_ruleset",
    "next_facts",
    "next_question",
    "proofread",
    "read_submission",
    "read_text",
    "render",
    "resolve",
    "screen",
    "skipped",
    "stages",
    "turns",
    "verify",
]

#: What is imported when it is asked for, so that the start is quick.
_LATER = {
    "Excerpt": "modrules.texts",
    "Finding": "modrules.screening.findings",
    "Proofreading": "modrules.proofs.proofread",
    "Report": "modrules.screening.report",
    "Ruleset": "modrules.screening.prepared",
    "Submission": "modrules.screening.submission",
    "Text": "modrules.texts",
    "answered": "modrules.screening.asking",
    "begin": "modrules.screening.asking",
    "next_question": "modrules.screening.asking",
    "skipped": "modrules.screening.asking",
}


def __getattr__(name: str) -> Any:
    if name in _LATER:
        from importlib import import_module

        return getattr(import_module(_LATER[name]), name)
    raise AttributeError(f"module 'modrules' has no attribute {name!r}")
