"""The owner's answer on a page: what each change needs, what to find out first, what lies ahead.

What is cut short here says so, and stands in full in ``plates``; nothing that decides is cut.
"""

from __future__ import annotations

from modrules.reports import ahead, loads, owner, plates, questions, reading
from modrules.reports import finding as finding_lines
from modrules.reports.ahead import Told
from modrules.reports.changed import changed_text
from modrules.reports.head import hangs_on
from modrules.reports.layout import clean, heading, labelled, listed, page, paragraph, wrap
from modrules.reports.reading import Numbered, Question
from modrules.reports.shape import Modification, Report
from modrules.reports.terminal import cautions, left_lines
from modrules.reports.wording import (
    NO_CERTIFICATE,
    asked_for,
    clauses_of,
    message_of,
    outcome_line,
    plural,
    subject_of,
)

#: So many findings of a modification, and so many questions of all, before the rest is counted.
MOST_FINDINGS = 6
MOST_QUESTIONS = 8
_INDENT = "    "


def render(report: Report) -> str:
    """The page as plain text, no line wider than 80 columns."""
    findings = reading.worst_first(report)
    joint = [one for one in findings if reading.is_joint(one.finding)]
    first = questions.first_of_each(report)
    told = _told(report, first)
    together = heading("Together, and the vehicle as a whole") if joint else []
    sections = {
        one["id"]: _one(one, report, findings, first[one["id"]], told)
        for one in report["modifications"]
    }
    alone = [
        one
        for one in report["modifications"]
        if _is_met_alone(one, report, findings, first[one["id"]])
    ]
    for one in alone:
        del sections[one["id"]]
    return page(
        [
            *plates.head(report),
            *plates.table(report),
            *(line for lines in sections.values() for line in lines),
            *_met_alone(report, findings, alone),
            *together,
            *_findings(joint),
            *changed_text(reading.doubtful_findings(report)),
            *_what_is_left(report),
            *_questions(report, told),
            *ahead.render(report, told),
            *cautions(report),
            *_more(),
        ]
    )


def _told(report: Report, first: dict[str, list[Question]]) -> Told:
    """The questions that are told with a modification, by number: the first one that has each."""
    told: dict[int, Modification] = {}
    for one in report["modifications"]:
        for question in first[one["id"]]:
            told.setdefault(question.number, one)
    return told


def _one(
    one: Modification,
    report: Report,
    findings: list[Numbered],
    first: list[Question],
    told: Told,
) -> list[str]:
    verdict = owner.of_modification(one, len(report["rulesets"]))
    bearing = [each for each in findings if one["id"] in each.finding["modifications"]]
    own = [each for each in bearing if not reading.is_joint(each.finding)]
    joint = [each for each in bearing if reading.is_joint(each.finding) and plates.is_telling(each)]
    return [
        *heading(f"{owner.name(one)}: {verdict.word}"),
        *paragraph(owner.sentences(one, report)),
        *plates.takes(one, report),
        *_findings(own),
        *wrap(
            f"Together with others, told below: {plural(len(joint), 'finding')}." if joint else "",
            "",
        ),
        *_first_questions(one, report, first, told),
    ]


def _is_met_alone(
    one: Modification, report: Report, findings: list[Numbered], first: list[Question]
) -> bool:
    """Whether there is nothing to tell of a modification but that its checks are met."""
    bearing = [each for each in findings if one["id"] in each.finding["modifications"]]
    return (
        owner.of_modification(one, len(report["rulesets"])).word == "NO PLATE"
        and not any(map(plates.is_telling, bearing))
        and not plates.takes(one, report)
        and not first
    )


def _met_alone(report: Report, findings: list[Numbered], ones: list[Modification]) -> list[str]:
    """Modifications of which there is nothing else to tell, a line each."""
    lines = heading("Need no plate") if ones else []
    for sentence in dict.fromkeys(owner.sentences(one, report) for one in ones):
        lines += paragraph(sentence.replace("It needs", "Each needs"))
        for one in ones:
            if owner.sentences(one, report) == sentence:
                met = sum(
                    one["id"] in each.finding["modifications"]
                    and not reading.is_joint(each.finding)
                    for each in findings
                )
                lines += wrap(f"{owner.name(one)}: met {plural(met, 'check')}", "  - ", _INDENT)
    return lines


def _first_questions(
    one: Modification, report: Report, first: list[Question], told: Told
) -> list[str]:
    """What to find out first about a modification, in full where it is told for the first time."""
    lines = ["", "Find out first:"] if first else []
    numbers = {question.number: question for question in reading.questions(report)}
    for question in first:
        where = told[question.number]
        if where is one:
            # All of its facts, also those that bear on other modifications alone.
            lines += questions.asked(numbers[question.number])
        else:
            lines += wrap(asked_for(question.facts[0]), f"{question.number:>2}. ", _INDENT)
            lines += labelled("how", f"told under {owner.name(where)}", 11, _INDENT)
    rest = len(reading.questions_of(report, one)) - len(first)
    if rest:
        lines += wrap(f"and {plural(rest, 'more question')} on it: modrules plates --all", "")
    return lines


def _findings(findings: list[Numbered]) -> list[str]:
    """Findings in a line or two each, worst first; what is met is counted."""
    telling = [one for one in findings if plates.is_telling(one)]
    groups = finding_lines.alike(telling)
    lines: list[str] = []
    for ones in groups[:MOST_FINDINGS]:
        finding = ones[0].finding
        marks = "".join(f"[{number}] " for number, _ in ones)
        subjects = listed(subject_of(other) for _, other in ones)
        lines += wrap(
            f"{outcome_line(finding)}: {clean(finding['title'])}, {subjects}", marks, _INDENT
        )
        if message := message_of(finding):
            lines += paragraph(message, len(_INDENT))
        if finding["citations"]:
            lines += paragraph(clauses_of(finding["citations"]), len(_INDENT))
    rest = sum(len(ones) for ones in groups[MOST_FINDINGS:])
    if rest:
        worst = outcome_line(groups[MOST_FINDINGS][0].finding)
        lines += wrap(f"and {plural(rest, 'more finding')}, at worst {worst}", "")
    met = len(findings) - len(telling)
    if met:
        lines.append(f"Met: {plural(met, 'other check' if telling else 'check')}.")
    return lines


def _what_is_left(report: Report) -> list[str]:
    """The card of what is left, and which limit binds."""
    left, binds = left_lines(report), loads.binding(report)
    start = [""] if left else heading("What binds")
    return [
        *left,
        *(start if binds else []),
        *(line for label, text in binds for line in labelled(label, text)),
    ]


def _questions(report: Report, told: Told) -> list[str]:
    """The first of the questions that are not told with a modification, and how to answer them."""
    every = [one for one in reading.questions(report) if one.number not in told]
    lines = heading("Find out besides" if told else "Find out first") if every else []
    for one in every[:MOST_QUESTIONS]:
        lines += questions.asked(one, f"; {hangs_on(one.facts[0])}")
    rest = len(every) - MOST_QUESTIONS
    if rest > 0:
        lines += wrap(f"and {plural(rest, 'more question')}: modrules next", "")
    return lines


def _more() -> list[str]:
    lines = heading("In full")
    lines += paragraph(
        "modrules plates --all tells every finding with its clauses, everything that is missing, "
        "and each certificate; modrules screen tells the working too."
    )
    return [*lines, "", NO_CERTIFICATE]
