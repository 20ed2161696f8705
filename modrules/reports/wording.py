"""Plain words for answers, outcomes, numbers and citations; one wording, used everywhere."""

from __future__ import annotations

from collections.abc import Iterable

from modrules.reports.layout import clean, listed
from modrules.reports.shape import RANK, Answer, Citation, Finding, Missing, Number, Quantity
from modrules.texts.resolve import IN_DOUBT

#: Said on everything, near the top.
NO_CERTIFICATE = "A screening aid, no certificate: the local code and licensed certifier decide."

#: What each outcome means to somebody who reads one for the first time.
MEANING: dict[str, str] = {
    "not applicable": "the check has nothing to say about this vehicle",
    "complies": "the rule is met",
    "exempt": "the rule is not met, and an exemption excuses it",
    "certified": "a certification is required, and held for what was done",
    "caution": "no rule is broken; there is advice to heed",
    "inspect": "the rule leaves it to a person's judgement or to another document",
    "certification required": "a plate or certificate is required",
    "not permitted": "a rule forbids it as described",
}

#: Said of a number of which nothing is known.
UNKNOWN = "not known"

#: An answer's end as the rest of "at best, ..." and "at worst, ...".
_END: dict[str, str] = {
    "not applicable": "no rule applies",
    "complies": "every rule that was checked is met",
    "exempt": "every rule that was checked is met or excused",
    "certified": "what must be certified is certified",
    "caution": "no rule is broken, and there is advice to heed",
    "inspect": "a certifier must judge",
    "certification required": "a plate or certificate is required",
    "not permitted": "a rule forbids something as described",
}

STATE: dict[str, str] = {
    "required": "required",
    "held": "held",
    "open": "may be required",
    "held but does not cover": "held, does not cover the work",
}

#: What is to be said of a citation; nothing where all is as it should be.
STATUS: dict[str, str] = {
    "found": "",
    "same": "",
    "moved": "ATTENTION: these words stand in another clause of the supplied text",
    "changed": "ATTENTION: the clause in the supplied text is not what the check was written on",
    "gone": "ATTENTION: the supplied text has no such clause",
    "ambiguous": "ATTENTION: the supplied text has this clause or quotation more than once",
    "not supplied": "the text was not supplied, so nobody has looked this up",
}


def answer_line(answer: Answer) -> str:
    """Both ends in one line: ``not permitted``, ``between a and b: open``."""
    best, worst = answer["best"], answer["worst"]
    return best if best == worst else f"between {best} and {worst}: open"


def answer_sentence(answer: Answer) -> str:
    """The answer as a plain sentence that names both ends."""
    best, worst = answer["best"], answer["worst"]
    if best == worst:
        words = _END[best]
        return f"{words[0].upper()}{words[1:]}."
    return f"At best, {_END[best]}; at worst, {_END[worst]}."


def outcome_line(finding: Finding) -> str:
    """The outcome of a finding in capitals; every outcome still possible where it is open."""
    possible = sorted(finding["possible"], key=RANK.__getitem__)
    if len(possible) == 1:
        return possible[0].upper()
    if len(possible) == len(RANK):
        return f"OPEN: EVERY OUTCOME, UP TO {possible[-1].upper()}"
    return f"OPEN: {listed((one.upper() for one in possible), 'or')}"


def number(value: Number) -> str:
    """A number for people: three decimals at most, ``about`` where that is not all of it."""
    if isinstance(value, int):
        return str(value)
    rounded = round(value, 3)
    if value and not rounded:
        return f"about {value:.2g}"  # very little is not nothing
    text = f"{rounded:.3f}".rstrip("0").rstrip(".")
    return text if rounded == value else f"about {text}"


def quantity(q: Quantity) -> str:
    """``47 mm``, ``44 to 50 mm``, ``at least 44 mm`` or ``not known``."""
    unit = f" {clean(q['unit'])}" if q["unit"] else ""
    low, high, value = q.get("low"), q.get("high"), q["value"]
    if value is not None and (low is None or low == value) and (high is None or high == value):
        return f"{number(value)}{unit}"
    if low is not None and high is not None:
        return f"{number(low)} to {number(high)}{unit}"
    if low is not None:
        return f"at least {number(low)}{unit}"
    if high is not None:
        return f"at most {number(high)}{unit}"
    return UNKNOWN


def margin(q: Quantity) -> str:
    """Room left or how far off, in words: a bare sign is misread too easily."""
    low, high, value = q.get("low"), q.get("high"), q["value"]
    unit = f" {clean(q['unit'])}" if q["unit"] else ""
    if low is None and high is None:
        low = high = value
    if low is None or high is None:
        return f"margin {quantity(q)}, where less than 0 is past the limit"
    # "Over the limit" would be wrong for a least value; "past it" is right for both kinds.
    if low == high:
        if low == 0:
            return "right on the limit"
        over = low < 0
        return f"past it by {number(-low)}{unit}" if over else f"{number(low)}{unit} to spare"
    if low >= 0:
        return f"{number(low)} to {number(high)}{unit} to spare"
    if high <= 0:
        return f"past it by {number(-high)} to {number(-low)}{unit}"
    return f"past it by up to {number(-low)}{unit}, or up to {number(high)}{unit} to spare"


def asked_for(missing: Missing) -> str:
    """What is to be found out: the question, or to measure again what is not known well enough."""
    if not missing["given"]:
        return clean(missing["question"] or missing["title"])
    title, now = clean(missing["title"]), clean(missing["now"])
    if not missing["unit"]:
        return f"State more exactly: {title} (now {now})"
    precision = clean(missing["precision"]) or "more precisely"
    return f"Measure again, {precision}: {title} (now {now} {clean(missing['unit'])})"


def plural(count: int, one: str, many: str = "") -> str:
    return f"{count} {one if count == 1 else many or one + 's'}"


def rest_on_changed_text(count: int) -> str:
    """``2 findings rest on changed text``."""
    return f"{plural(count, 'finding')} {'rests' if count == 1 else 'rest'} on changed text"


def message_of(finding: Finding) -> str:
    """The message without the outcomes at its end, for where they stand beside it anyway."""
    message = clean(finding["message"])
    told = " or ".join(finding["possible"])
    for ending in (f"open: {told}", told):
        if message == ending:
            return ""
        if message.endswith(f": {ending}"):
            return message.removesuffix(f": {ending}")
    return message


def check_of(finding: Finding) -> str:
    """The check with its ruleset in front: ``orrinmark/tyre-speed``."""
    front = f"{clean(finding['ruleset'])}/"
    check = clean(finding["check"])
    return check if check.startswith(front) else front + check


def subject_of(finding: Finding) -> str:
    """``the vehicle``, ``axle rear``, ``body blocks b1``: kinds are written as words."""
    return subject_words(finding["subject"])


def subject_words(subject: str) -> str:
    """``the vehicle``, ``axle rear``, of what a finding or a load is about."""
    kind, space, name = clean(subject).partition(" ")
    return (
        f"{kind.replace('_', ' ')}{space}{name}" if kind not in ("", "vehicle") else "the vehicle"
    )


def text_of(citation: Citation) -> str:
    """``The Orrinmark Code (2026)``."""
    edition = f" ({clean(citation['edition'])})" if citation["edition"] else ""
    return f"{clean(citation['title'] or citation['text'])}{edition}"


def number_of(citation: Citation) -> str:
    """``4.2``, or ``4.2 (changed)`` where the words do not stand there as they did.

    ``4.2 (index in doubt)``: what the index of the text doubts there, the note tells.
    """
    marks: list[str] = (
        [citation["status"]] if STATUS[citation["status"]].startswith("ATTENTION") else []
    )
    if IN_DOUBT in citation.get("note", ""):
        marks.append("index in doubt")
    return clean(citation["clause"]) + (f" ({', '.join(marks)})" if marks else "")


def clause_of(citation: Citation) -> str:
    """``The Orrinmark Code (2026), clause 4.2``."""
    return f"{text_of(citation)}, clause {number_of(citation)}"


def clauses_of(citations: Iterable[Citation]) -> str:
    """Several clauses, those of one text together, each marked where it is doubtful."""
    texts: dict[str, dict[str, None]] = {}
    for citation in citations:
        texts.setdefault(text_of(citation), {})[number_of(citation)] = None
    return "; ".join(
        f"{text}, {'clause' if len(clauses) == 1 else 'clauses'} {listed(clauses)}"
        for text, clauses in texts.items()
    )


def place_of(citation: Citation) -> str:
    """``page 3, lines 40 to 44``; without the page in a text without pages; or nothing."""
    told = (("page", citation.get("pages")), ("line", citation["lines"]))
    return ", ".join(from_to(what, span[0], span[-1]) for what, span in told if span)


def from_to(what: str, first: int, last: int) -> str:
    """``line 40``, ``lines 40 to 44``."""
    return f"{what} {first}" if first == last else f"{what}s {first} to {last}"
