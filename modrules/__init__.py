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

from modrules.api import load_ruleset, proofread, read_submission, screen
from modrules.problems import ModrulesError, Place, Problem

__version__ = "0.1.0"

__all__ = [
    "ModrulesError",
    "Place",
    "Problem",
    "__version__",
    "load_ruleset",
    "proofread",
    "read_submission",
    "screen",
]
