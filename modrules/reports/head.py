"""The first 24 lines: the answer, the plates, the outstanding evidence, what to do next.

A screen of 24 lines must hold them whatever the report. So the parts that can grow are
shortened to the room that the others leave, and say what they left out and where it is.
"""

from __future__ import annotations

from modrules.reports import owner, reading
from modrules.reports.layout import MARGIN, WIDTH, chain, clean, labelled, listed, width_of, wrap
from modrules.reports.reading import Numbered, Question
from modrules.reports.shape import RANK, Certification, Missing, Report
from modrules.reports.wording import (
    NO_CERTIFICATE,
    STATE,
    answer_line,
    answer_sentence,
    asked_for,
    number_of,
    plural,
    rest_on_changed_text,
    subject_of,
    text_of,
)

#: The lines of the screen that the head must fit.
HEAD = 24
_BLANK = " " * MARGIN


def head(report: Report, findings: list[Numbered]) -> list[str]:
    """At most 24 lines; the plates take what the rest leaves."""
    top, answer = title(report, "SCREENING"), _answer(report, findings)
    last = [*_counts(report), *_next(report, findings), *_unseen(report)]
    room = HEAD - len(top) - len(answer) - len(last)
    return spaced(top, answer, plates(report, room), last)


def spaced(*parts: list[str]) -> list[str]:
    """The parts of a head one after the other, with empty lines between as far as there is room."""
    room = HEAD - sum(map(len, parts))
    lines = list(parts[0])
    for number, part in enumerate(parts[1:], start=1):
        # The gaps further down matter more: there the parts are longer.
        gap = room >= len(parts) - number
        lines += ([""] if gap else []) + part
        room -= gap
    return lines


def fitted(label: str, text: object, most: int) -> list[str]:
    """Text beside a label in at most ``most`` lines, the last one ending in ``...`` if cut."""
    return cut(labelled(label, text), most)


def cut(lines: list[str], most: int) -> list[str]:
    """At most ``most`` lines; where some are left out, the last one kept ends in ``...``."""
    if len(lines) <= most:
        return lines
    last = lines[most - 1]
    while width_of(last) > WIDTH - 4:
        last = last[:-1]
    return [*lines[: most - 1], last.rstrip(" ,;") + " ..."]


def plates(report: Report, room: int) -> list[str]:
    """The certifications, most urgent first, each with its outstanding evidence."""
    every = reading.certifications_in_order(report)
    if not every:
        return _no_plates(report, room)
    # First with all that is outstanding, then one line each, then fewer of them.
    full = [_plate(one) for one in every]
    short = [cut(_plate_line(one, with_count=True), 1) for one in every]
    shown = list(short)
    for place, lines in enumerate(full):
        if sum(map(len, shown)) - len(shown[place]) + len(lines) <= room:
            shown[place] = lines
    left_out = 0
    while shown and sum(map(len, shown)) + bool(left_out) > max(room, 1):
        shown.pop()
        left_out += 1
    lines = [line for one in shown for line in one]
    if left_out:
        lines.append(f"{_BLANK}and {left_out} more: see PLATES AND CERTIFICATES")
    return [f"{'PLATES':<{MARGIN}}{lines[0].lstrip()}", *lines[1:]]


def _no_plates(report: Report, room: int) -> list[str]:
    worst = RANK[report["answer"]["worst"]]
    if worst < reading.ACT:
        text = "none called for by the checks that were made"
    elif reading.exit_status(report["answer"]) == 3:
        text = "none named so far; an open finding may still call for one"
    else:
        text = "none named by the checks; the findings say what is to be done"
    return fitted("PLATES", text, max(1, room))


def _plate_line(one: Certification, with_count: bool) -> list[str]:
    text = f"{STATE[one['state']].upper()}: {named(one)}"
    missing = len(reading.outstanding(one))
    if with_count and missing:
        text += f"; {plural(missing, 'piece')} of evidence outstanding"
    return wrap(text, _BLANK, _BLANK + "  ")


def named(one: Certification) -> str:
    """The title of a certification, with its kind where the title does not say it."""
    title = clean(one["title"])
    return title if one["kind"] in title.lower() else f"{title} ({one['kind']})"


def _plate(one: Certification) -> list[str]:
    missing = reading.outstanding(one)
    items = [f"{STATE[one['state']].upper()}: {named(one)}"]
    if missing:
        names = [clean(item["title"] or item["document"]) for item in missing]
        items += [f"outstanding {names[0]}", *names[1:]]
    elif one["evidence"] and one["state"] != "held":
        items.append("all evidence supplied")
    if one["note"] and one["state"] == "held but does not cover":
        items.append(clean(one["note"]))
    return wrap(chain(items, ";"), _BLANK, _BLANK + "  ")


def title(report: Report, first: str) -> list[str]:
    lines = fitted(first, report["submission"]["title"], 1)
    if len(report["rulesets"]) > 1:
        return lines + _several_rulesets(report) + fitted("ON", report["on"], 1)
    (ruleset,) = report["rulesets"]
    rules = f"{clean(ruleset['title'])} {clean(ruleset['edition'])}"
    return lines + fitted("RULES", f"{rules}, on {report['on']}", 2)


def _several_rulesets(report: Report) -> list[str]:
    """One line per ruleset, with its own answer: they are separate screenings."""
    lines: list[str] = []
    for place, ruleset in enumerate(report["rulesets"][:3]):
        mine = [one for one in report["findings"] if one["ruleset"] == ruleset["id"]]
        answer = reading.combined(mine)
        words = answer_line(answer) if answer else "nothing to say"
        lines += fitted("" if place else "RULES", f"{clean(ruleset['title'])}: {words}", 1)
    if len(report["rulesets"]) > 3:
        lines += fitted("", f"and {len(report['rulesets']) - 3} more, under SOURCES", 1)
    return lines


def _answer(report: Report, findings: list[Numbered]) -> list[str]:
    answer = report["answer"]
    lines = labelled("ANSWER", answer_line(answer).upper())
    lines += labelled("", answer_sentence(answer))
    chosen = reading.decisive(findings, answer)
    for place, (number, finding) in enumerate(chosen):
        # The clause comes first, and the name of the text last, where a cut does least harm.
        clauses = list(dict.fromkeys(map(number_of, finding["citations"])))
        if len(clauses) > 3:
            clauses[2:] = [f"{len(clauses) - 2} more"]
        word = "clause " if len(clauses) == 1 else "clauses "
        words = f"[{number}] {word + listed(clauses) + ': ' if clauses else ''}"
        words += f"{clean(finding['title'])}, {subject_of(finding)}"
        texts = dict.fromkeys(map(text_of, finding["citations"]))
        words += f"; {listed(texts)}" if texts else ""
        lines += fitted("" if place else "BECAUSE OF", words, 2 if len(chosen) == 1 else 1)
    return [*lines, NO_CERTIFICATE]


def _counts(report: Report) -> list[str]:
    """The open findings first: the harmless end of a long list may be cut off, they may not."""
    decided, still = reading.decided_counts(report), reading.open_counts(report)
    items: list[str] = []
    if still:
        count = sum(n for _, n in still)
        worst = [f"{n} {outcome}" for outcome, n in still]
        items += chain([f"{count} open, at worst {worst[0]}", *worst[1:]])
        items[-1] += ";" if decided else ""
    items += chain(f"{n} {outcome}" for outcome, n in decided)
    lines = fitted("FINDINGS", [f"{len(report['findings'])}:", *items], 3)
    return [*lines, *attention(report)]


def attention(report: Report) -> list[str]:
    """A line where findings rest on changed text."""
    doubtful = reading.doubtful_findings(report)
    return fitted("ATTENTION", rest_on_changed_text(len(doubtful)), 1) if doubtful else []


def _next(report: Report, findings: list[Numbered]) -> list[str]:
    if report["missing"]:
        return first_question(report)
    imprecise = [one for one in findings if one.finding["precision"]]
    if imprecise:
        number, finding = imprecise[0]
        words = f"[{number}] {clean(finding['title'])}: {finding['precision']}"
        return fitted("FIND OUT NEXT", words, 2)
    return []


def first_question(report: Report, question: Question | None = None) -> list[str]:
    """A question, else the most decisive of all, in at most three lines, and how many there are."""
    questions = reading.questions(report)
    first = (question or questions[0]).facts[0]
    where = f"{clean(first['fact'])}, {hangs_on(first)}"
    text = f"1 of {len(questions)}: {asked_for(first)} {where}"
    return fitted("FIND OUT NEXT", text, 3)


def hangs_on(missing: Missing) -> str:
    count = missing["decides"]
    return f"bears on {plural(count, 'open finding') if count else 'no open finding by itself'}"


def _unseen(report: Report) -> list[str]:
    lines: list[str] = []
    silent = [clean(one["title"]) for one in report["modifications"] if not one["covered"]]
    if silent:
        text = f"{owner.silent(len(report['rulesets']))} about {', '.join(silent)}"
        lines += fitted("NOT COVERED", text, 1)
    idle = [clean(one["title"]) for one, _ in reading.none_applies(report)]
    if idle:
        lines += fitted("NONE APPLIES", f"of the checks on {', '.join(idle)}", 1)
    systems = [clean(one["title"] or one["system"]) for one in report["not_looked_at"]]
    if systems:
        lines += fitted("NOT LOOKED AT", f"{len(systems)}: {', '.join(systems)}", 1)
    return lines
