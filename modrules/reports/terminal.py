"""The report for the screen: the answer, then why, then the rest."""

from __future__ import annotations

from modrules.reports import finding as finding_lines
from modrules.reports import loads, owner, reading
from modrules.reports.documents import documents
from modrules.reports.head import hangs_on, head, named
from modrules.reports.layout import (
    bullets,
    chain,
    clean,
    columns,
    heading,
    labelled,
    listed,
    page,
    paragraph,
    wrap,
)
from modrules.reports.questions import written
from modrules.reports.reading import Numbered
from modrules.reports.shape import OUTCOMES, Finding, LoadLimit, Missing, Report, RulesetUsed
from modrules.reports.wording import (
    MEANING,
    NO_CERTIFICATE,
    STATE,
    answer_line,
    asked_for,
    plural,
    subject_of,
    subject_words,
)


def render(report: Report) -> str:
    """The whole report as plain text, no line wider than 80 columns."""
    findings = reading.worst_first(report)
    telling = [one for one in findings if not reading.is_met(one.finding)]
    met = [one for one in findings if reading.is_met(one.finding)]
    return page(
        [
            *head(report, findings),
            *_modifications(report),
            *_findings("Why, worst first", telling, report),
            *missing(report, findings),
            *load_lines(report),
            *left_lines(report),
            *certifications(report, findings),
            *documents(report),
            *not_seen(report),
            *cautions(report),
            # What is met comes late: there is much of it, and nothing to do about it.
            *_findings("Rules that are met", met, report),
            *_idle(report),
            *sources(report),
            *_words(report),
        ]
    )


def _modifications(report: Report) -> list[str]:
    rows: list[list[str]] = []
    for one in report["modifications"]:
        if one["covered"] and one["answer"]:
            idle = one["answer"]["worst"] == "not applicable"
            words = answer_line(one["answer"]) + (f": {owner.IDLE}" if idle else "")
        else:
            words = f"not covered: {owner.silent(len(report['rulesets']))}"
        rows.append([owner.name(one), words])
    if not rows:
        return []
    return [*heading("Answer per modification"), *columns(rows, (36,))]


def _findings(title: str, findings: list[Numbered], report: Report) -> list[str]:
    if not findings:
        return []
    names = finding_lines.names_of(report)
    printed: finding_lines.Printed = {}
    lines = heading(f"{title}: {plural(len(findings), 'finding')}")
    for one in findings:
        lines += finding_lines.full(one, names, printed)
    return lines


def load_lines(report: Report) -> list[str]:
    """What binds, then each load in use with all of its limits."""
    shown = loads.in_use(report)
    if not shown:
        return []
    lines = heading("Loads and their limits")
    for label, text in loads.binding(report):
        lines += labelled(label, text)
    for load in shown:
        lines += ["", *wrap(f"{clean(load['title'])}, {subject_words(load['subject'])}")]
        lines += labelled("load", loads.told(load), 11, "    ")
        rows = [
            [loads.mark(one), loads.figure(one), loads.room(one["room"]), _by(one)]
            for one in load["limits"]
        ]
        lines += columns(rows, (9, 13, 17), 4)
        if asked := loads.to_find_out(load):
            lines += labelled("find out", chain(asked), 11, "    ")
    return lines


def left_lines(report: Report) -> list[str]:
    """The card of what is left: for people and gear, on the roof, for a trailer."""
    planned, blank = loads.planned(report), loads.blanks(report)
    if not planned and not blank:
        return []
    lines = heading("What is left")
    if planned:
        lines += [*paragraph(loads.EACH_ALONE), ""]
    for title, load in planned:
        first, *rest = loads.left(load)
        lines += labelled(title, first, 26, "  ")
        lines += [line for text in rest for line in labelled("", text, 26, "  ")]
    return lines + (wrap(f"No limit is known yet for: {blank}.", "  ") if blank else [])


def _by(limit: LoadLimit) -> str:
    over = " (in place of the one above)" if limit["in_place_of"] else ""
    return f"{clean(limit['title'])}: {loads.document(limit)}{over}"


def _idle(report: Report) -> list[str]:
    """What does not apply, as one list: titles once, with their subjects."""
    subjects: dict[str, list[Finding]] = {}
    for finding in reading.idle(report):
        subjects.setdefault(clean(finding["title"]), []).append(finding)
    if not subjects:
        return []
    parts = []
    for title, findings in subjects.items():
        named_subjects = listed(dict.fromkeys(map(subject_of, findings)))
        parts.append(title if named_subjects == "the vehicle" else f"{title} ({named_subjects})")
    count = len(reading.idle(report))
    return [
        *heading(f"Rules that do not apply: {plural(count, 'finding')}"),
        *paragraph("; ".join(parts)),
    ]


def missing(report: Report, findings: list[Numbered]) -> list[str]:
    """What to find out, the most decisive first, and what to measure more precisely."""
    lines: list[str] = []
    known = False
    for number, facts in reading.questions(report):
        one = facts[0]
        if not lines and not one["given"]:
            lines += heading("What is missing, the most decisive first")
        if one["given"] and not known:
            known = True
            lines += heading("What to measure again, more precisely")
        lines += wrap(asked_for(one), f"{number:>2}. ", "    ")
        if not one["given"]:
            unit = f", in {clean(one['unit'])}" if one["unit"] else ""
            lines += labelled("fact", f"{clean(one['title'])}{unit}", 11, "    ")
        if one["measure"]:
            lines += labelled("how", one["measure"], 11, "    ")
        lines += labelled("written as", written(facts), 11, "    ")
        for place, fact in enumerate(facts):
            label = "" if place else "address"
            lines += labelled(
                label, f"{clean(fact['fact'])}, {_matters(fact, findings)}", 11, "    "
            )
    imprecise = [one for one in findings if one.finding["precision"]]
    if imprecise:
        lines += heading("How precisely each finding must be known")
        lines += bullets(
            f"[{number}] {clean(finding['title'])}, {subject_of(finding)}: {finding['precision']}"
            for number, finding in imprecise
        )
    return lines


def _matters(fact: Missing, findings: list[Numbered]) -> str:
    numbers = [f"[{n}]" for n, finding in findings if fact["fact"] in finding["missing"]]
    return hangs_on(fact) + (f": {', '.join(numbers)}" if numbers else "")


def certifications(report: Report, findings: list[Numbered]) -> list[str]:
    """Each plate or certificate: why, and every piece of evidence that it takes."""
    if not report["certifications"]:
        return []
    where = {(f["check"], f["subject"]): f" [{n}]" for n, f in findings}
    lines = heading("Plates and certificates")
    for one in reading.certifications_in_order(report):
        lines += wrap(f"{STATE[one['state']].upper()}: {named(one)} [{one['id']}]")
        pairs = [(cause["check"], cause["subject"]) for cause in one["because_of"]]
        causes = [f"{check} on {on}{where.get((check, on), '')}" for check, on in pairs]
        if causes:
            lines += labelled("because of", listed(causes), 12, "    ")
        for item in one["evidence"]:
            mark = "supplied" if item["supplied"] else "OUTSTANDING"
            by = f", by {item['by']}" if item["by"] else ""
            lines += labelled(mark, f"{clean(item['title'])} ({item['document']}){by}", 12, "    ")
        if one["note"]:
            lines += labelled("note", one["note"], 12, "    ")
        lines.append("")
    return lines


def not_seen(report: Report) -> list[str]:
    """What the ruleset says nothing about, and the systems that nobody declared."""
    lines: list[str] = []
    silent = [one for one in report["modifications"] if not one["covered"]]
    if silent:
        words = owner.silent(len(report["rulesets"]))
        lines += heading("Not covered")
        lines += paragraph(
            f"About these {words}. That is no permission: ask the licensed certifier."
        )
        lines += bullets(map(owner.name, silent))
    if idle := reading.none_applies(report):
        lines += heading("Not applicable")
        lines += paragraph(
            "There are checks for these, and none applies as described. That is no permission."
        )
        lines += bullets(f"{owner.name(one)}: {owner.looked(checks)}" for one, checks in idle)
    systems = [clean(one["title"] or one["system"]) for one in report["not_looked_at"]]
    if systems:
        lines += heading("Not looked at")
        lines += paragraph(
            f"{', '.join(systems)}. The submission neither lists a modification of these nor "
            "declares them standard; nothing is said about them here."
        )
    return lines


def cautions(report: Report) -> list[str]:
    if not report["cautions"]:
        return []
    return [*heading("Cautions"), *bullets(report["cautions"])]


def sources(report: Report) -> list[str]:
    """What the report was made from, with the digests that make it repeatable."""
    submission, engine = report["submission"], report["engine"]
    lines = heading("Sources")
    lines += labelled("submission", submission["title"])
    lines += _digest(submission["digest"])
    for label, value in submission["vehicle"].items():
        lines += labelled("", f"{clean(label)}: {clean(value)}")
    for ruleset in report["rulesets"]:
        title = f"{clean(ruleset['title'])} ({ruleset['id']}), edition {ruleset['edition']}"
        lines += labelled("ruleset", title + _in_force(ruleset))
        lines += _digest(ruleset["digest"])
    for text in report["texts"]:
        edition = f", edition {text['edition']}" if text["edition"] else ""
        absent = "" if text["supplied"] else ": NOT SUPPLIED, no citation of it was looked up"
        lines += labelled("text", f"{clean(text['title'])} ({text['id']}){edition}{absent}")
        lines += _digest(text["digest"])
    lines += labelled("made by", f"{engine['name']} {engine['version']}, rules of {report['on']}")
    return [*lines, "", *paragraph(NO_CERTIFICATE)]


def _in_force(ruleset: RulesetUsed) -> str:
    begin, end = ruleset["in_force"]["from"], ruleset["in_force"]["up_to"]
    words = [f"from {begin}" if begin else "", f"up to {end}" if end else ""]
    return f", in force {' '.join(filter(None, words))}" if begin or end else ""


def _digest(digest: str) -> list[str]:
    return labelled("digest", digest) if digest else []


def _words(report: Report) -> list[str]:
    used = {outcome for finding in report["findings"] for outcome in finding["possible"]}
    rows = [[outcome, MEANING[outcome]] for outcome in reversed(OUTCOMES) if outcome in used]
    return [*heading("The words, worst first"), *columns(rows, (22,))] if rows else []
