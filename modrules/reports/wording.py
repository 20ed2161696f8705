"""Plain words for answers, outcomes, numbers and citations; one wording, used everywhere."""

from __future__ import annotations

from collections.abc import Iterable

from modrules.reports.layout import clean, listed
from modrules.reports.shape import RANK, Answer, Citation, Finding, Number, Quantity

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
    "same": "unchanged since the check was written",
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
    return f"OPEN: {listed((one.upper() for one in possible), 'or')}"


def number(value: Number) -> str:
    """A number for people: as short as it can be without claiming to be exact when it is not."""
    if isinstance(value, int):
        return str(value)
    if value == int(value) and abs(value) < 1e15:
        return str(int(value))
    text = repr(value)
    if len(text.lstrip("-")) <= 9 and "e" not in text:
        return text
    return f"about {value:.6g}"


def quantity(q: Quantity) -> str:
    """``47 mm``, ``between 44 and 50 mm``, ``at least 44 mm`` or ``not known``."""
    unit = f" {clean(q['unit'])}" if q["unit"] else ""
    low, high, value = q.get("low"), q.get("high"), q["value"]
    if value is not None and (low is None or low == value) and (high is None or high == value):
        return f"{number(value)}{unit}"
    if low is not None and high is not None:
        return f"between {number(low)} and {number(high)}{unit}"
    if low is not None:
        return f"at least {number(low)}{unit}"
    if high is not None:
        return f"at most {number(high)}{unit}"
    return "not known"


def margin(q: Quantity) -> str:
    """Room left or how far off, in words: a bare sign is misread too easily."""
    low, high, value = q.get("low"), q.get("high"), q["value"]
    unit = f" {clean(q['unit'])}" if q["unit"] else ""
    if low is None and high is None:
        low = high = value
    if low is None or high is None:
        return f"margin {quantity(q)}, where less than 0 misses the limit"
    # "Over the limit" would be wrong for a least value; "misses" is right for both kinds.
    if low == high:
        if low == 0:
            return "exactly at the limit"
        over = low < 0
        return f"misses it by {number(-low)}{unit}" if over else f"{number(low)}{unit} of room left"
    if low >= 0:
        return f"{number(low)} to {number(high)}{unit} of room left"
    if high <= 0:
        return f"misses it by {number(-high)} to {number(-low)}{unit}"
    room = f"{number(high)}{unit} of room left"
    return f"misses it by up to {number(-low)}{unit}, or has up to {room}"


def plural(count: int, one: str, many: str = "") -> str:
    return f"{count} {one if count == 1 else many or one + 's'}"


def subject_of(finding: Finding) -> str:
    return "the vehicle" if finding["subject"] in ("", "vehicle") else clean(finding["subject"])


def clause_of(citation: Citation) -> str:
    """``The Orrinmark Code (2026), clause 4.2``."""
    title = clean(citation["title"] or citation["text"])
    edition = f" ({clean(citation['edition'])})" if citation["edition"] else ""
    return f"{title}{edition}, clause {clean(citation['clause'])}"


def clauses_of(citations: Iterable[Citation]) -> str:
    """Several clauses, those of one text together."""
    texts: dict[str, list[str]] = {}
    for citation in citations:
        text, clause = clause_of(citation).rsplit(", clause ", 1)
        texts.setdefault(text, []).append(clause)
    return "; ".join(
        f"{text}, {'clause' if len(clauses) == 1 else 'clauses'} {listed(dict.fromkeys(clauses))}"
        for text, clauses in texts.items()
    )


def lines_of(citation: Citation) -> str:
    """``lines 40 to 44``, or nothing."""
    if not citation["lines"]:
        return ""
    first, last = citation["lines"][0], citation["lines"][-1]
    return f"line {first}" if first == last else f"lines {first} to {last}"
