"""The owner's answer in full: which modifications take a plate, and what must be found out."""

from __future__ import annotations

from modrules.reports import ahead, owner, questions, reading
from modrules.reports import finding as finding_lines
from modrules.reports.changed import changed_text
from modrules.reports.head import (
    HEAD,
    attention,
    first_question,
    fitted,
    named,
    plates,
    spaced,
    title,
)
from modrules.reports.layout import chain, clean, columns, heading, labelled, page, paragraph, wrap
from modrules.reports.reading import Numbered
from modrules.reports.shape import RANK, Modification, Report
from modrules.reports.terminal import (
    cautions,
    certifications,
    left_lines,
    load_lines,
    missing,
    not_seen,
    sources,
)
from modrules.reports.wording import (
    NO_CERTIFICATE,
    STATE,
    answer_line,
    asked_for,
    outcome_line,
    plural,
)

#: Findings at least this bad are told; of better ones only the number is given.
_TELLING = RANK["exempt"]


def render(report: Report) -> str:
    """The owner's answer as plain text, no line wider than 80 columns."""
    findings = reading.worst_first(report)
    return page(
        [
            *head(report),
            *table(report),
            *_each(report, findings),
            *_together(findings),
            *changed_text(reading.doubtful_findings(report)),
            *left_lines(report),
            *load_lines(report),
            *missing(report, findings),
            *certifications(report, findings),
            *not_seen(report),
            *cautions(report),
            *ahead.render(report),
            *sources(report),
        ]
    )


def head(report: Report) -> list[str]:
    """At most 24 lines: the answers, the plates, what to find out next."""
    top = title(report, "PLATES FOR")
    top += [*labelled("IN ALL", answer_line(report["answer"]).upper()), NO_CERTIFICATE]
    last = attention(report)
    if report["missing"]:
        asked = [q for own in questions.first_of_each(report).values() for q in own[:1]]
        last += first_question(report, *asked[:1])
    systems = [clean(one["title"] or one["system"]) for one in report["not_looked_at"]]
    if systems:
        last += fitted("NOT LOOKED AT", f"{len(systems)}: {', '.join(systems)}", 1)
    room = HEAD - len(top) - len(last)
    for most in (9, 4, 3, 2, 1):
        groups = _groups(report, most)
        # The plates come first: the answers are shortened until all evidence has its place.
        if len(groups) + len(plates(report, HEAD)) <= room:
            break
    return spaced(top, groups, plates(report, room - len(groups)), last)


def _groups(report: Report, most: int) -> list[str]:
    """The modifications by their answer, each answer in so many lines at most."""
    rulesets = len(report["rulesets"])
    groups: dict[tuple[str, str], list[str]] = {}
    for one in report["modifications"]:
        span = owner.span(one["answer"]) if one["covered"] and one["answer"] else ""
        key = (owner.of_modification(one, rulesets).word, span)
        groups.setdefault(key, []).append(clean(one["title"]))
    lines: list[str] = []
    for word, span in sorted(groups, key=lambda key: owner.WORDS.index(key[0])):
        names = groups[word, span]
        start = f"{len(names)}, {span}:" if span else f"{len(names)}:"
        lines += fitted(word, [start, *chain(names, ";")], most)
    joint = reading.combined(f for f in report["findings"] if reading.is_joint(f))
    if joint:
        word, span = owner.of_answer(joint, rulesets).word, owner.span(joint)
        lines += fitted("TOGETHER", f"{word}{f' ({span})' if span else ''}", 1)
    return lines


def table(report: Report) -> list[str]:
    """The answer of every modification, with what it takes, and of what they do together."""
    rulesets = len(report["rulesets"])
    rows = [
        [owner.name(one), owner.of_modification(one, rulesets).word, _detail(one, report)]
        for one in report["modifications"]
    ]
    together = [finding for finding in report["findings"] if reading.is_joint(finding)]
    if joint := reading.combined(together):
        titles = {one["id"]: clean(one["title"]) for one in report["certifications"]}
        takes = dict.fromkeys(
            titles[f["certification"]] for f in together if f["certification"] in titles
        )
        word = owner.of_answer(joint, rulesets).word
        detail = owner.span(joint) or ", ".join(takes)
        rows.append(["together, and the vehicle", word, detail])
    return [*heading("Answer per modification"), *columns(rows, (30, 14))] if rows else []


def _detail(one: Modification, report: Report) -> str:
    """What a line of the table says beside the answer."""
    if not one["covered"] or one["answer"] is None:
        return owner.silent(len(report["rulesets"]))
    if span := owner.span(one["answer"]):
        return span
    if one["answer"]["worst"] == "not applicable":
        return owner.IDLE
    names = {c["id"]: clean(c["title"]) for c in report["certifications"]}
    return ", ".join(
        ("perhaps " if c["state"] == "open" else "") + names.get(c["id"], c["id"])
        for c in one["certifications"]
    )


def _each(report: Report, findings: list[Numbered]) -> list[str]:
    if not report["modifications"]:
        return [*heading("Modifications"), *paragraph("The submission lists none.")]
    return [
        line for one in report["modifications"] for line in _modification(one, report, findings)
    ]


def _modification(one: Modification, report: Report, findings: list[Numbered]) -> list[str]:
    verdict = owner.of_modification(one, len(report["rulesets"]))
    lines = heading(f"{owner.name(one)}: {verdict.word}")
    lines += paragraph(owner.sentences(one, report))
    lines += takes(one, report)
    mine = [f for f in findings if one["id"] in f.finding["modifications"]]
    telling = [one for one in mine if is_telling(one)]
    for ones in finding_lines.alike(telling):
        lines += [
            "",
            *(_joint(ones) if reading.is_joint(ones[0].finding) else finding_lines.brief(ones)),
        ]
    met = len(mine) - len(telling)
    if met:
        lines += ["", f"Met: {plural(met, 'other check' if telling else 'check')} on it."]
    return lines + _to_find_out(one, report)


def is_telling(one: Numbered) -> bool:
    """Whether a finding is told, and not only counted among what is met."""
    return RANK[reading.ends(one.finding)[1]] >= _TELLING


def _joint(ones: list[Numbered]) -> list[str]:
    marks = "".join(f"[{number}] " for number, _ in ones)
    finding = ones[0].finding
    words = f"{outcome_line(finding)}, together with others: {finding['title']}, told below"
    return wrap(words, marks, "    ")


def _to_find_out(one: Modification, report: Report) -> list[str]:
    """What is missing for a modification, its own first; numbered as in the list of all."""
    lines: list[str] = []
    every = dict(reading.questions(report))
    for number, mine in reading.questions_of(report, one):
        # The same question of several axles: say of which.
        owners = dict.fromkeys(".".join(m["fact"].split(".")[:2]) for m in mine)
        of = f" ({', '.join(map(clean, owners))})" if len(every[number]) > 1 else ""
        lines += wrap(asked_for(mine[0]) + of, f"{number:>4}. ")
    if not lines:
        return []
    return ["", "To find out (how to measure it: under the same number below):", *lines]


def takes(one: Modification, report: Report) -> list[str]:
    """The certifications of a modification, with the evidence that each takes."""
    whole = {certification["id"]: certification for certification in report["certifications"]}
    lines: list[str] = []
    for mine in one["certifications"]:
        certification = whole.get(mine["id"])
        if certification is None:
            lines += wrap(f"{mine['id']}: {STATE[mine['state']]}", "  ")
            continue
        lines += wrap(f"{named(certification)}: {STATE[mine['state']]}", "  ")
        for item in certification["evidence"]:
            mark = "have" if item["supplied"] else "need"
            by = f", from {clean(item['given_by'])}" if item["given_by"] else ""
            lines += wrap(f"{clean(item['title'] or item['document'])}{by}", f"    {mark}  ")
        if certification["note"]:
            lines += wrap(certification["note"], "    ")
    return lines


def _together(findings: list[Numbered]) -> list[str]:
    """What the modifications do together, and the vehicle as a whole."""
    joint = [one for one in findings if reading.is_joint(one.finding)]
    if not joint:
        return []
    lines = heading("Together, and the vehicle as a whole")
    telling = [one for one in joint if is_telling(one)]
    for ones in finding_lines.alike(telling):
        lines += finding_lines.brief(ones)
        mods = [clean(name) for name in ones[0].finding["modifications"]]
        if mods:
            lines += labelled("by", ", ".join(mods), 11, "    ")
        lines.append("")
    met = len(joint) - len(telling)
    if met:
        lines.append(f"Met: {plural(met, 'other check' if telling else 'check')}.")
    return lines
