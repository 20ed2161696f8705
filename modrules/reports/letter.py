"""The letter that asks an applicant for exactly what is outstanding, and for nothing twice."""

from __future__ import annotations

from collections.abc import Iterator

from modrules.reports import owner, reading
from modrules.reports.changed import attention
from modrules.reports.head import named
from modrules.reports.layout import (
    bullets,
    clean,
    labelled,
    listed,
    page,
    paragraph,
    wrap,
)
from modrules.reports.reading import Numbered, Question
from modrules.reports.shape import Document, Finding, Measurement, Report
from modrules.reports.wording import NO_CERTIFICATE, STATE, asked_for, clauses_of, subject_of

_OPENING = (
    "Your submission was screened on the desk, against the rules named above. Below is what is "
    "still needed before anybody can decide on it. Please send it together, and write on each "
    "paper the number of the vehicle and the modification that it belongs to."
)
_DONE = "Nothing is outstanding as far as this screening goes."
_CLOSING = (
    "This letter comes from a desk screening. It is no decision and no certificate: what is "
    "listed may not be all that the licensed certifier asks for at the inspection."
)
_NOT_ASKED = "No check of this screening asks for it."
_LABEL, _INDENT = 12, "    "


def render(report: Report) -> str:
    """The letter as plain text, no line wider than 79 columns."""
    findings = reading.worst_first(report)
    parts = [
        part
        for part in (
            _forbidden(findings),
            _certifications(report, findings),
            _papers(report),
            _facts(report, findings),
            _precise(report, findings),
            _judged(findings),
            _unseen(report),
        )
        if part
    ]
    lines = [*_head(report), *attention(reading.doubtful_findings(report))]
    lines += ["", *paragraph(_OPENING if parts else _DONE)]
    for number, (title, body) in enumerate(parts, start=1):
        lines += ["", *wrap(f"{number}. {title}"), "", *body]
    lines += ["", *paragraph(_CLOSING), "", NO_CERTIFICATE, ""]
    lines += ["Name and number:    ______________________________", ""]
    return page([*lines, "Date and signature: ______________________________"])


#: The title of a part of the letter, and its lines.
Part = tuple[str, list[str]]


def _head(report: Report) -> list[str]:
    submission = report["submission"]
    lines = wrap("REQUEST FOR WHAT IS OUTSTANDING", "")
    lines += ["", *labelled("submission", submission["title"])]
    for label, value in submission["vehicle"].items():
        lines += labelled("", f"{clean(label)}: {clean(value)}")
    for ruleset in report["rulesets"]:
        lines += labelled("rules", f"{clean(ruleset['title'])} {clean(ruleset['edition'])}")
    return [*lines, *labelled("as of", report["on"])]


def _forbidden(findings: list[Numbered]) -> Part | None:
    """What no paper mends: the letter would mislead if it kept silent about it."""
    lines: list[str] = []
    for finding in _once(f for _, f in findings if f["possible"] == ["not permitted"]):
        lines += bullets([f"{_titled(finding)}{_clauses(finding)}."])
    if not lines:
        return None
    return "Not permitted as it is described; no paper mends it, only a change", lines


def _certifications(report: Report, findings: list[Numbered]) -> Part | None:
    """Each certification that is not held, and every item of evidence once."""
    modifications = {one["id"]: owner.name(one) for one in report["modifications"]}
    causes = {(f["check"], f["subject"]): f for _, f in findings}
    asked: dict[str, str] = {}
    lines: list[str] = []
    for one in reading.certifications_in_order(report):
        outstanding = reading.outstanding(one)
        if one["state"] == "held" and not outstanding:
            continue
        state = "evidence outstanding" if one["state"] == "held" else STATE[one["state"]]
        lines += wrap(f"{named(one)}: {state}", "  - ")
        because = [
            causes[key]
            for key in ((cause["check"], cause["subject"]) for cause in one["because_of"])
            if key in causes
        ]
        names = dict.fromkeys(name for f in because for name in f["modifications"])
        if names:
            told = listed(clean(modifications.get(name, name)) for name in names)
            lines += labelled("for", told, _LABEL, _INDENT)
        citations = [citation for f in because for citation in f["citations"]]
        if citations:
            lines += labelled("under", clauses_of(citations), _LABEL, _INDENT)
        for item in outstanding:
            before = asked.setdefault(item["document"], named(one))
            if before == named(one):
                by = f", from {clean(item['given_by'])}" if item["given_by"] else ""
                lines += labelled("send", f"{clean(item['title'])}{by}", _LABEL, _INDENT)
            else:
                text = f"{clean(item['title'])} counts here too; it is asked for under {before}"
                lines += labelled("", text, _LABEL, _INDENT)
        if one["note"] == "approval comes before the work":
            lines += labelled("note", one["note"], _LABEL, _INDENT)
    return ("Plates and certificates, and the evidence for them", lines) if lines else None


def _papers(report: Report) -> Part | None:
    """Documents that were sent and do not do; those that nothing asks for are left in peace."""
    lines: list[str] = []
    for one in report["documents"]:
        wrong = _wrong(one)
        if wrong:
            lines += wrap(one["title"], "  - ")
            lines += [line for each in wrong for line in wrap(each, _INDENT)]
    return ("Papers that were sent and need to be put right", lines) if lines else None


def _wrong(document: Document) -> list[str]:
    if _NOT_ASKED in document["problems"]:
        return []
    return document["problems"]


def _given(report: Report) -> dict[str, Measurement]:
    return {one["fact"]: one for one in report["measurements"]}


def _questions(report: Report, given: bool) -> Iterator[Question]:
    """The questions about facts that were given imprecisely, or about those that were not."""
    for question in reading.questions(report):
        if question.facts[0]["given"] == given:
            yield question


def _facts(report: Report, findings: list[Numbered]) -> Part | None:
    lines: list[str] = []
    for _, facts in _questions(report, given=False):
        one = facts[0]
        unit = f" (in {clean(one['unit'])})" if one["unit"] else ""
        lines += wrap(f"{asked_for(one)}{unit}", "  - ")
        if one["measure"]:
            lines += labelled("how", one["measure"], _LABEL, _INDENT)
        lines += labelled("for", listed(clean(fact["fact"]) for fact in facts), _LABEL, _INDENT)
        bears = dict.fromkeys(
            clean(f["title"]) for _, f in findings for fact in facts if fact["fact"] in f["missing"]
        )
        if bears:
            lines += labelled("settles", "; ".join(bears), _LABEL, _INDENT)
    return ("Facts that are missing, the most decisive first", lines) if lines else None


def _precise(report: Report, findings: list[Numbered]) -> Part | None:
    """Values that were given and must be known better, with how and how precisely."""
    known = _given(report)
    lines: list[str] = []
    told: set[str] = set()
    for _, facts in _questions(report, given=True):
        for one in facts:
            lines += wrap(f"{asked_for(one)} ({clean(one['fact'])})", "  - ")
            if one["fact"] in known:
                lines += labelled("sent", known[one["fact"]]["value"], _LABEL, _INDENT)
            if one["measure"] and one is facts[0]:
                lines += labelled("how", one["measure"], _LABEL, _INDENT)
            lines += _precisions(findings, one["fact"], told)
    rest = [f for _, f in findings if f["precision"] and _key(f) not in told]
    for finding in rest:
        lines += wrap(f"{_titled(finding)}: {clean(finding['precision'])}", "  - ")
    return ("Measurements to be made again, more precisely", lines) if lines else None


def _precisions(findings: list[Numbered], address: str, told: set[str]) -> list[str]:
    lines: list[str] = []
    for _, finding in findings:
        if not finding["precision"] or address not in finding["missing"]:
            continue
        if _key(finding) not in told:
            told.add(_key(finding))
            text = f"{_titled(finding)} {clean(finding['precision'])}"
            lines += labelled("needed", text, _LABEL, _INDENT)
    return lines


def _key(finding: Finding) -> str:
    return f"{finding['check']} {finding['subject']}"


def _judged(findings: list[Numbered]) -> Part | None:
    """What the certifier judges, each question once with all that it is asked of."""
    questions: dict[str, list[Finding]] = {}
    for _, finding in findings:
        if finding["question"]:
            questions.setdefault(clean(finding["question"]), []).append(finding)
    lines: list[str] = []
    for question, asking in questions.items():
        lines += wrap(question, "  - ")
        about = listed(dict.fromkeys(map(_titled, asking)))
        lines += labelled("about", f"{about}{_clauses(*asking)}", _LABEL, _INDENT)
        if all(reading.is_open(finding) for finding in asking):
            text = "only if what is missing above leaves it open"
            lines += labelled("needed", text, _LABEL, _INDENT)
    if not lines:
        return None
    return "What the certifier must judge; please send what shows it, or bring it along", lines


def _unseen(report: Report) -> Part | None:
    systems = [clean(one["title"] or one["system"]) for one in report["not_looked_at"]]
    if not systems:
        return None
    text = f"Say of each whether it is as built, or describe what was changed: {listed(systems)}."
    return "Systems of which the submission says nothing", paragraph(text, 2)


def _once(findings: Iterator[Finding]) -> Iterator[Finding]:
    seen: set[str] = set()
    for finding in findings:
        if _titled(finding) not in seen:
            seen.add(_titled(finding))
            yield finding


def _titled(finding: Finding) -> str:
    where = subject_of(finding)
    title = clean(finding["title"])
    return title if where == "the vehicle" else f"{title} ({where})"


def _clauses(*findings: Finding) -> str:
    citations = [citation for finding in findings for citation in finding["citations"]]
    return f"; {clauses_of(citations)}" if citations else ""
