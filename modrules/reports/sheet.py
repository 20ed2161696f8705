"""The certifier's sheet: what is filed of a desk screening, and taken to the vehicle."""

from __future__ import annotations

from collections.abc import Iterator

from modrules.reports import reading, sheet_parts
from modrules.reports.blocks import (
    Bar,
    Blank,
    Block,
    Heading,
    Items,
    Pairs,
    Quote,
    Sheet,
    Steps,
    Table,
    Text,
    Tick,
)
from modrules.reports.finding import Names, Printed, addressed, filed, names_of, remarks
from modrules.reports.head import hangs_on, named
from modrules.reports.layout import clean, listed
from modrules.reports.reading import Numbered
from modrules.reports.shape import RANK, Citation, Finding, Report, RulesetUsed, TextUsed
from modrules.reports.wording import (
    MEANING,
    NO_CERTIFICATE,
    STATE,
    STATUS,
    answer_line,
    answer_sentence,
    asked_for,
    check_of,
    clause_of,
    clauses_of,
    margin,
    message_of,
    outcome_line,
    place_of,
    plural,
    quantity,
    rest_on_changed_text,
    subject_of,
)


def sheet(report: Report) -> Sheet:
    """The sheet of a report, as parts for a renderer."""
    findings = reading.worst_first(report)
    telling = [one for one in findings if not reading.is_met(one.finding)]
    met = [one for one in findings if reading.is_met(one.finding)]
    printed: Printed = {}
    parts = (
        _answer(report, findings),
        sheet_parts.identification(report),
        _certifications(report, findings),
        sheet_parts.papers(report),
        sheet_parts.scope(report),
        _doubtful(report),
        _findings("Findings, worst first", telling, report, printed),
        sheet_parts.masses(report),
        sheet_parts.heights(report),
        _missing(report, findings),
        sheet_parts.inspection(report, findings),
        _cautions(report),
        _judgement(),
        # From here on it is what the above rests on.
        _sources(report),
        sheet_parts.modifications(report, findings),
        sheet_parts.ratings(report),
        sheet_parts.measurements(report),
        _met(met, report, printed),
        _idle(report),
    )
    return Sheet(
        title=f"Desk screening: {clean(report['submission']['title'])}",
        subtitle=NO_CERTIFICATE,
        answer=answer_line(report["answer"]),
        blocks=tuple(block for part in parts for block in part),
    )


def _answer(report: Report, findings: list[Numbered]) -> Iterator[Block]:
    yield Heading(2, "Answer")
    yield Text(answer_sentence(report["answer"]), strong=True)
    because = [
        f"[{number}] {clean(finding['title'])}, {subject_of(finding)}"
        + (f"; {clauses_of(finding['citations'])}" if finding["citations"] else "")
        for number, finding in reading.decisive(findings, report["answer"])
    ]
    decided = [f"{n} {outcome}" for outcome, n in reading.decided_counts(report)]
    still = [f"{n} {outcome}" for outcome, n in reading.open_counts(report)]
    rows = [("Because of", one) for one in because]
    if doubtful := reading.doubtful_findings(report):
        rows.append(("Attention", rest_on_changed_text(len(doubtful))))
    rows.append(("Findings", f"{len(report['findings'])} in all"))
    if still:
        rows.append(("Open, at worst", ", ".join(still)))
    if decided:
        rows.append(("Decided", ", ".join(decided)))
    if len(report["rulesets"]) > 1:
        for ruleset in report["rulesets"]:
            mine = reading.combined(
                one for one in report["findings"] if one["ruleset"] == ruleset["id"]
            )
            rows.append((clean(ruleset["title"]), answer_line(mine) if mine else "nothing to say"))
    yield Pairs(tuple(rows))


def _certifications(report: Report, findings: list[Numbered]) -> Iterator[Block]:
    yield Heading(2, "Plates and certificates")
    if not report["certifications"]:
        yield Text("None is named by the checks that were made.")
        return
    numbers = {(f["check"], f["subject"]): f"[{n}]" for n, f in findings}
    for one in reading.certifications_in_order(report):
        yield Heading(3, f"{STATE[one['state']].upper()}: {named(one)}")
        keys = [(cause["check"], cause["subject"]) for cause in one["because_of"]]
        rows = [("Because of", listed(numbers.get(key, clean(key[0])) for key in keys))]
        if one["note"]:
            rows.append(("Note", clean(one["note"])))
        yield Pairs(tuple(rows))
        for item in one["evidence"]:
            by = f", document {clean(item['by'])}" if item["by"] else ""
            yield Tick(clean(item["title"] or item["document"]) + by, item["supplied"])


def _findings(
    title: str, findings: list[Numbered], report: Report, printed: Printed
) -> Iterator[Block]:
    if findings:
        yield Heading(2, f"{title}: {plural(len(findings), 'finding')}")
    names = names_of(report)
    for one in findings:
        yield from _finding(one, names, printed)


def _finding(one: Numbered, names: Names, printed: Printed) -> Iterator[Block]:
    number, finding = one
    outcome = finding["possible"][0] if len(finding["possible"]) == 1 else "open"
    title = f"[{number}] {outcome_line(finding)}: {clean(finding['title'])}, {subject_of(finding)}"
    yield Heading(3, title, outcome, (f"finding-{number}",))
    yield from _told(finding, names)
    for citation in finding["citations"]:
        yield from _citation(citation, number, printed)
    if finding["working"]:
        yield Steps(tuple(map(_step, finding["working"])))


def _met(findings: list[Numbered], report: Report, printed: Printed) -> Iterator[Block]:
    """The rules that are met: what one check came to on several subjects is told together."""
    if findings:
        yield Heading(2, f"Rules that are met: {plural(len(findings), 'finding')}")
    names = names_of(report)
    checks: dict[str, list[Numbered]] = {}
    for one in findings:
        checks.setdefault(check_of(one.finding), []).append(one)
    for ones in checks.values():
        if len(ones) == 1:
            yield from _finding(ones[0], names, printed)
        else:
            yield from _met_alike(ones, names, printed)


def _met_alike(ones: list[Numbered], names: Names, printed: Printed) -> Iterator[Block]:
    """The numbers of each subject, and the working of the first with what differs in the others."""
    first = ones[0].finding
    marks = " ".join(f"[{number}]" for number, _ in ones)
    title = f"{marks} {outcome_line(first)}: {clean(first['title'])}"
    yield Heading(3, title, "complies", tuple(f"finding-{number}" for number, _ in ones))
    rows = tuple((f"[{number}] {subject_of(one)}", *_numbers(one)) for number, one in ones)
    if any(any(numbers) for _, *numbers in rows):
        yield Table("Measured against the limit", ("On", "Measured", "Limit", "Margin"), rows)
    else:
        yield Text(f"{listed(subject for subject, *_ in rows)}.")
    said: list[tuple[str, str]] = []
    for _, one in ones:
        said += [row for row in _remarks(one, names) if row not in said]
    yield Pairs(tuple(said))
    for number, one in ones:
        for citation in one["citations"]:
            key = (citation["text"], citation["clause"], citation["excerpt"])
            if one is first or key not in printed:
                yield from _citation(citation, number, printed)
    lines = [_step(line) for line in first["working"]]
    for number, one in ones[1:]:
        others = [_step(line) for line in one["working"]]
        differing = [line for line in others if line not in lines]
        if differing:
            lines += [f"[{number}] as above, but:", *(f"  {line}" for line in differing)]
    if lines:
        yield Steps(tuple(lines))


def _numbers(finding: Finding) -> tuple[str, str, str]:
    """What was measured, the limit and the margin; empty where there is none."""
    measured, limit, left = finding["measured"], finding["limit"], finding["margin"]
    return (
        quantity(measured) if measured else "",
        quantity(limit) if limit else "",
        margin(left) if left else "",
    )


def _told(finding: Finding, names: Names) -> Iterator[Block]:
    """A finding in words and numbers, without its clauses and its working."""
    if message := message_of(finding):
        yield Text(message)
    measured, limit = finding["measured"], finding["limit"]
    rows: list[tuple[str, str]] = []
    if measured:
        known = "Can be" if finding["missing"] else "Measured"
        rows.append((known, quantity(measured)))
    if limit:
        rows.append(("Limit", quantity(limit)))
    if finding["margin"]:
        rows.append(("Margin", margin(finding["margin"])))
    yield Pairs((*rows, *_remarks(finding, names)))
    if measured and limit and measured["unit"] == limit["unit"]:
        yield Bar(clean(finding["title"]), measured, limit)


def _remarks(finding: Finding, names: Names) -> list[tuple[str, str]]:
    """What is missing, what is to be heeded, and which check it is."""
    rows: list[tuple[str, str]] = []
    if finding["missing"]:
        rows.append(("Missing", addressed(finding["missing"], names)))
    if finding["assumed"]:
        rows.append(("Decided by the declared range of", addressed(finding["assumed"], names)))
    rows += [(label.capitalize(), clean(text)) for label, text in remarks(finding)]
    takes = finding["certification"]
    if takes and RANK[reading.ends(finding)[1]] >= RANK["certified"]:
        rows.append(("Takes", clean(names.certifications.get(takes, takes))))
    rows.append(("Check", filed(finding)))
    return rows


def _step(line: str) -> str:
    """A line of working, clean, with its indent: steps stand below what they are part of."""
    return " " * min(len(line) - len(line.lstrip()), 8) + clean(line)


def _citation(citation: Citation, number: int, printed: Printed) -> Iterator[Block]:
    """A clause with its quotation, and its own words where they were not printed before."""
    key = (citation["text"], citation["clause"], citation["excerpt"])
    repeated = key in printed
    before = printed.setdefault(key, number) if citation["excerpt"] else number
    place = place_of(citation)
    where = f", {place}" if place else ""
    quote = f': "{clean(citation["quote"])}"' if citation["quote"] else ""
    status = STATUS[citation["status"]]
    said = f" ({status})" if status else ""
    if note := clean(citation.get("note", "")):
        said += f". {note[:1].upper()}{note[1:]}"
    if repeated:
        place = "above" if before == number else f"at [{before}]"
        yield Text(f"{clause_of(citation)}, printed {place}{quote}{said}")
        return
    yield Text(f"{clause_of(citation)}{where}{quote}{said}")
    lines = [clean(line) for line in citation["excerpt"].splitlines() if line.strip()]
    if lines:
        yield Quote(tuple(lines))


def _missing(report: Report, findings: list[Numbered]) -> Iterator[Block]:
    imprecise = [one for one in findings if one.finding["precision"]]
    if not report["missing"] and not imprecise:
        return
    yield Heading(2, "What is missing, the most decisive first")
    rows = []
    for _, facts in reading.questions(report):
        for one in facts:
            numbers = [f"[{n}]" for n, finding in findings if one["fact"] in finding["missing"]]
            unit = f"{clean(one['unit'])}; " if one["unit"] else ""
            rows.append(
                (
                    f"{asked_for(one)} ({unit}{clean(one['fact'])})",
                    # Told once where several facts are measured in the same way.
                    clean(one["measure"]) if one is facts[0] else "as above",
                    listed(numbers) or hangs_on(one),
                    "",
                )
            )
    if rows:
        head = ("Fact", "How to find out", "Bears on", "Answer")
        yield Table("Facts to find out", head, tuple(rows), to_fill=True)
    if imprecise:
        yield Heading(3, "To measure more precisely")
        yield Items(
            tuple(
                f"[{n}] {clean(f['title'])}, {subject_of(f)}: {clean(f['precision'])}"
                for n, f in imprecise
            )
        )


def _doubtful(report: Report) -> Iterator[Block]:
    findings = reading.doubtful_findings(report)
    if not findings:
        return
    yield Heading(2, "What rests on changed text")
    yield Items(
        tuple(
            f"{clean(finding['title'])}, {subject_of(finding)}: {clause_of(citation)}. "
            + STATUS[citation["status"]]
            for finding in findings
            for citation in reading.doubtful(finding)
        )
    )


def _idle(report: Report) -> Iterator[Block]:
    idle = reading.idle(report)
    if idle:
        yield Heading(2, f"Rules that do not apply: {plural(len(idle), 'finding')}")
        yield Text("; ".join(f"{clean(one['title'])}, {subject_of(one)}" for one in idle) + ".")


def _cautions(report: Report) -> Iterator[Block]:
    if report["cautions"]:
        yield Heading(2, "Cautions")
        yield Items(tuple(map(clean, report["cautions"])))


def _sources(report: Report) -> Iterator[Block]:
    yield Heading(2, "Sources")
    rows = [
        ("Ruleset", f"{_edition_of(one)}; digest {clean(one['digest'])}")
        for one in report["rulesets"]
    ]
    for text in report["texts"]:
        digest = f"digest {clean(text['digest'])}" if text["supplied"] else "not supplied"
        rows.append(("Text", f"{_edition_of(text)}; {digest}"))
    yield Pairs((*rows, ("Submission", f"digest {clean(report['submission']['digest'])}")))
    engine = report["engine"]
    yield Text(f"Made by {clean(engine['name'])} {clean(engine['version'])}.")
    used = {outcome for finding in report["findings"] for outcome in finding["possible"]}
    yield Heading(3, "The words")
    yield Pairs(tuple((o, words) for o, words in reversed(MEANING.items()) if o in used))


def _edition_of(one: RulesetUsed | TextUsed) -> str:
    return f"{clean(one['title'])} ({clean(one['id'])}), edition {clean(one['edition'])}"


def _judgement() -> Iterator[Block]:
    yield Heading(2, "Judgement of the certifier")
    yield Blank("Judgement, with reasons", 6)
    yield Blank("Name and number")
    yield Blank("Date and signature")
    yield Text(NO_CERTIFICATE, strong=True)
