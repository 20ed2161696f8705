"""What to find out next, and one question after the other, for the screen."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from modrules.problems import Problem
from modrules.reports.changed import attention
from modrules.reports.layout import WIDTH, clean, columns, heading, labelled, page, wrap
from modrules.reports.questions import written
from modrules.reports.wording import NO_CERTIFICATE, asked_for, plural

Data = Mapping[str, Any]
#: What is known now of that of which there is no estimate.
_NO_ESTIMATE = ("not known", "not given", "not all given")


def render(found: Data) -> str:
    """The open facts as plain text: what is missing first, then what is not precise enough."""
    facts = found["next"]
    lines = ["WHAT TO FIND OUT NEXT", *attention(found["changed_text"]), NO_CERTIFICATE]
    if not facts:
        lines += ["", "Nothing: every finding is decided."]
    absent = [fact for fact in facts if not fact["given"]]
    imprecise = [fact for fact in facts if fact["given"]]
    if absent:
        lines += heading("Missing, the most telling first")
        for place, fact in enumerate(absent, start=1):
            lines += [*wrap(fact["question"] or fact["title"], f"{place:>2}. ", "    ")]
            lines += _fact(fact)
    if imprecise:
        lines += heading("Given, but not precisely enough")
        for fact in imprecise:
            lines += wrap(asked_for(fact), "  - ", "    ")
            lines += _fact(fact)
    return page(lines)


def now(fact: Data) -> str:
    unit = f" {clean(fact['unit'])}" if fact["unit"] and fact["now"][:1].isdigit() else ""
    return f"{clean(fact['now'])}{unit}"


def settles(fact: Data) -> str:
    """How many findings a fact settles, in words."""
    least, most, bears = fact["settles_at_least"], fact["settles_at_most"], fact["bears_on"]
    bearing = f"bears on {plural(bears, 'open finding')}"
    if not most:
        return f"{bearing}; settles none of them alone"
    if least == most:
        return f"{bearing}; settles {least} whatever it is"
    at_least = f"at least {least} and " if least else ""
    return f"{bearing}; settles {at_least}up to {most}, depending on what it is"


def _fact(fact: Data) -> list[str]:
    lines: list[str] = []
    if fact["measure"]:
        lines += labelled("how", fact["measure"], 11, "    ")
    if not fact["given"] and fact["now"] not in _NO_ESTIMATE:
        lines += labelled("estimated", now(fact), 11, "    ")
    lines += labelled("written as", written([fact]), 11, "    ")
    return lines + labelled("", settles(fact), 11, "    ")


# -- one question after the other ----------------------------------------------------------

ASK_START = """\
Answer as in a submission: 47 mm, 47 mm +/- 3 mm, yes, a word, 2026-03-14.
An empty line if you don't know. The word stop, or Ctrl-D, stops.
"""


def question_text(question: Any, number: int) -> str:
    """One question with how to measure it and what may be answered."""
    left = plural(question.left - 1, "other fact") if question.left > 1 else "nothing else"
    lines = ["", *wrap(question.question or question.title, f"{number}. ", "   ")]
    if question.measure:
        lines += labelled("how", question.measure, 8, "   ")
    answers = [*question.words, *(["none stated"] if question.none_stated else [])]
    if answers and not question.meanings and question.kind != "list":
        lines += labelled("answer", ", ".join(answers), 8, "   ")
    if question.meanings:
        rows = [[clean(w), m] for w, m in zip(question.words, question.meanings, strict=True)]
        lines += columns(rows, (24,), 3)
    if question.unit:
        lines += labelled("unit", question.unit, 8, "   ")
    fact = question.settles
    if fact is not None:
        lines += labelled("why", f"{settles(fact.to_dict())}; {left} may matter yet", 8, "   ")
    return page(lines[1:])


def no_answer(problems: Iterable[Problem]) -> str:
    """Why an answer can't be taken, and what to write instead."""
    lines: list[str] = []
    for problem in problems:
        # They may stand behind the prompt, where what is typed does not end its line.
        lines += wrap(f"That can't be taken: {problem.message}.", "   ", width=WIDTH - 2)
        lines += wrap(problem.hint, "   ") if problem.hint else []
    return page(lines)


def submission_text(data: Mapping[str, Any]) -> str:
    """The submission as YAML, in plain ASCII."""
    import yaml

    return yaml.safe_dump(dict(data), sort_keys=False, allow_unicode=False, width=79)
