"""Markers: where a line, or a stretch inside a paragraph, may begin a clause.

One pattern finds every candidate. It starts with a line end, which the pattern engine
looks for quickly, so that lines without a number cost next to nothing. What a
candidate is in truth (a clause, a cross reference, a quantity) is decided later, in
order, by the outline.
"""

from __future__ import annotations

import re
from typing import NamedTuple

from modrules.texts.numbers import (
    ANNEXES,
    LATIN,
    NEUTRAL,
    NOTES,
    ORDINALS,
    PARTS,
    series_from,
    spaced,
)

# What a marker may be; the order has no meaning.
(
    ITEMS, WORD, NUMBER, LIST, NOTE, DEFINITION, TITLE, FENCE, UNDERLINE, PARAGRAPH, CLOSING,
    QUOTATION, CONTENTS,
) = range(13)  # fmt: skip
# What a format may say itself, and a reader then gives beside the lines; no pattern finds these.
ENTRY, TERM, END, DOUBT = range(20, 24)

# Groups of ``CANDIDATE``: an item with nothing special about it; from where on it is words alone.
PLAIN_ITEM, WORDS_FROM = 3, 31

MOST_PARTS = 10  # of a dotted number, and of items in a row: deeper is not a number


class Marker(NamedTuple):
    """A candidate: positions count characters in the body of the text."""

    start: int  # of the line's content, or of the marker inside a line
    end: int  # just past the marker and the white space after it
    kind: int
    label: str  # the number, the first item, the term or the words of a heading
    items: str = ""  # items after the number or after the first item: (b)(ii)
    word: str = ""  # Part, Schedule, Article, Note …
    tail: str = ""  # what closes a number: "." or ")" or ""
    lead: str = ""  # indentation and quotation bars before it
    level: int = 0  # of a Markdown heading; 0 for none
    marked: bool = False  # printed with emphasis
    inside: bool = False  # stands inside a paragraph, not at a line's start
    unsure: bool = False  # stands inside a sentence, and may be a reference
    of_list: int = 0  # which list of its page it is said to be in, from 1


_LABEL = (
    r"(?:\d{1,3}(?:\.\d{1,2})?[A-Za-z]{0,2}|[ivxl]{1,7}|[IVXL]{1,7}"
    r"|[a-z]{1,2}(?:-\d{1,2})?|[A-Z]{1,2})"
)
_ITEM = rf"\(\\?{_LABEL}\\?\)"
_NUMBER = (
    r"(?:[A-Z]{1,4}[.-]?)?\d{1,5}[A-Za-z]{0,2}"
    rf"(?:\\?[.-](?:\d{{1,5}}[A-Za-z]{{0,2}}|[A-Za-z](?![A-Za-z]))){{0,{MOST_PARTS - 1}}}"
    rf"(?:[ ]?(?:{'|'.join(LATIN)})(?![A-Za-z]))?"
)


def _either(words: tuple[str, ...]) -> str:
    return "|".join(f"{word}|{word.upper()}" for word in words)


_DEFINES = (
    r"[^\n.;:]{0,60}?\b(?:means?|includes?|ha(?:s|ve)\s+the\s+(?:same\s+)?meaning)(?=[\s:—–]|\Z)"
)
# "Worked example" is as common as a heading: it is a note in a box alone.
_NOTES = (
    r"(?:(?:(?<=>[ ])|(?<=>[ ][*][*]))(?i:WORKED[ ])|(?:WORKED|Worked)[ ](?=(?i:example)[ ]\d))?"
    r"(?:{}|(?:STEP|Step)(?=[ ]\d)"
    r"|(?:EXCEPTIONS?|Exceptions?)(?=[ ]?\d{{0,2}}[*_.]{{0,4}}[:—–])"
    r"|(?:PENALTY|Penalty)(?=[*_ ]{{0,4}}[:—–][*_]{{0,3}}\n))"
).format("|".join(f"{word.upper()}S?|{word.capitalize()}s?" for word in NOTES))
_PROVIDED = r"(?:PROVIDED|Provided)[ ](?:(?:further|also|always|however|moreover),?[ ]){0,3}that\b"
_UNNUMBERED = (
    rf"(?:(?:THE|The)[ ])?(?:{_either(ORDINALS)})[ ](?:{_either((*ANNEXES, *PARTS))})"
    rf"|(?:(?:THE|The)[ ])?(?:{_either(ANNEXES)})"
)
#: A line that may go on the sentence around a list, if its break was set; or a bare letter.
_BROKEN = (
    r"(?:(?<=[,;.:—–\"”]\n)(?=[A-Za-z])"
    r"|(?=(?:or|and|but|unless|except|provided|if|whichever|b|ii)[ ,]))"
)
#: A definition may also be set in.
_SET_IN = r"(?<=[ \t>])(?=[a-z][\w'’(),/ -]{1,70}?[ ](?:means|includes|has[ ]the)\b)"
#: Two capitals after a word in capitals that are no number: SCHEDULE OF FEES.
_NO_LETTERS = r"(?:OF|TO|IN|BY|ON|OR|AS|AT|IS|NO)\b"
_WORDS = _either((*ANNEXES, *PARTS, *NEUTRAL, "Table", "Figure", "Fig", "Recital"))

#: Where a line may begin a clause; read a match with ``marker_of``.
CANDIDATE = re.compile(
    rf"""
    \n(?:((?<=\n\n))|(?=[^a-z\n]|[a-z]{{1,7}}+\\?[.)][ \t*_])|{_BROKEN})   # 1
    ([ \t]*+(?:>[ \t]*+){{0,4}}+)                                          # 2 lead
    (?:
      (\((?:\d{{1,2}}|[a-z]{{1,5}}|[A-Z]{{1,2}})\))(?=[ ]\w)                       # 3 plain item
    |
    (?=[^a-z\n]|[a-z]{{1,7}}+\\?[.)][ \t*_])
    (?:(\#{{1,6}})[ \t]++|[-+*•☐☑□■▪◦●○][ \t]++)?                                   # 4 heading
    (?:
      ([*_]{{0,3}})\\?(?:\d{{0,2}}\[(?=\(|(?:[A-Z]\.)?\d+[A-Z]?[. ]|(?:{_WORDS})\.?[ ]))? # 5
      (?:
        ({_ITEM})((?:[ ]?{_ITEM}){{0,{MOST_PARTS}}})(?=[\s*_"“‘—–:A-Za-z]|\Z)   # 6 item 7 more
      | ({_NUMBER})((?:[ ]?{_ITEM}){{0,{MOST_PARTS}}})\\?([.)]?)(?=[\s*_—–:]|\Z)     # 8-10
      | (?=[A-Z])({_WORDS})\.?[ \t]+   # 11 word
        (?!{_NO_LETTERS})({_NUMBER}|[IVXLC]{{1,7}}|[A-Z]{{1,2}})             # 12 number
        ((?:[ ]?{_ITEM}){{0,{MOST_PARTS}}})([.)]?)(?=[\s*_—–:-]|\Z)           # 13 items 14 tail
      | (§{{1,2}})[ \t]*({_NUMBER})                                          # 15 sign
        ((?:[ ]?{_ITEM}){{0,{MOST_PARTS}}})([.)]?)(?=[\s*_—–:]|\Z)            # 17 items 18 tail
      | ([a-z]{{1,2}}|[ivxl]{{1,7}}|[A-Z]|[IVXL]{{2,7}})\\?([.)])(?=[\s*_]|\Z)   # 19 letter 20 tail
      | ({_NOTES})(?:[ ](\d{{1,3}}))?(?:[ ]to[ ]entry)?                       # 21 22
        (?=[*_ \t]*(?:[:.—–-]|\n)|(?:(?<=[ES\d])|[*_]{{2,3}})[ \t]+(?![A-Z ,’'-]{{5,}}\n)[A-Z"“])
      | (?<=[*_"“‘'])((?:[^*_"”’\n]|\n(?!\n)){{2,80}}?)(?:[*_]{{1,3}}|["”’']{{1,2}})[*_"”]{{0,3}}
        (?:{_DEFINES}|[ ]?[:—–-][ ]|(?:(?<=:[*][*])|(?<=:[*_]))[ ])       # 23 term
      )
    | (?=["“‘'])["“‘']{{1,2}}((?:[^*_"”’\n]|\n(?!\n)){{2,80}}?)["”’']{{1,2}}
        {_DEFINES}       # 24 term
    | (```|~~~)                                                          # 25 fence
    | ([=]{{3,}}|-{{3,}})(?=\n|\Z)                                          # 26 underline
    | ([Ww]hereas|WHEREAS)[:,]?(?=\n)                                       # 27 recitals
    | [*_]{{0,3}}({_PROVIDED})                                            # 28 proviso
    | [*_]{{0,3}}({_UNNUMBERED})(?=[*_ \t]*(?:[—–:-]+[ ]|\n|\Z)|[ ]{{3,}}|\t) # 29 division
    | (?(4)([^\n]{{1,400}})|(?!))                                          # 30 title
    )
    | (?(1)(?=\S)()|(?:{_BROKEN}|{_SET_IN})())             # 31 paragraph 32 break
    )
    """,
    re.X,
)
#: At a line's start ``CANDIDATE`` finds it. The look back comes second: the search is for "(".
_RUN_IN = re.compile(r"\((?<!\n\()([a1iA])\)[*_]{0,3}[ \n]")
#: Without the opening bracket a list must be led in by a colon.
_RUN_IN_HALF = re.compile(r":(?<=\w:)[ \n]([a1i])\)[ ]")
_REFERENCE = re.compile(
    r"(?:\b(?:clauses?|sections?|paragraphs?|subsections?|subclauses?|subparagraphs?|articles?"
    r"|items?|points?|regulations?|rules?|parts?|schedules?|annex|appendix|tables?|sub-?items?"
    r"|in|of|to|by|with|under|at|and|or|see|from|both|either|than|per|for|that|the|is|are"
    r"|subject|column|row|note|figure|requirements?|conditions?|limbs?|steps?|options?)"
    r"|[,(/)\]\d])\Z",
    re.I,
)
RUN_IN_REACH = 3000  # characters in which the next item of a run-in list must follow


#: The last group → the kind, and the groups of its word, its number, its items and its tail.
_NUMBERED = {
    7: (ITEMS, (0, 6, 7, 0)), 10: (NUMBER, (0, 8, 9, 10)), 14: (WORD, (11, 12, 13, 14)),
    18: (WORD, (15, 16, 17, 18)), 20: (LIST, (0, 19, 0, 20)),
}  # fmt: skip


def marker_of(match: re.Match[str]) -> Marker:
    """Read a match of ``CANDIDATE``: the last group that took part says what it is."""
    last = match.lastindex or 0
    start, end, lead = match.start() + 1, match.end(), match[2]
    if last == PLAIN_ITEM:
        return Marker(start, end, ITEMS, match[PLAIN_ITEM], lead=lead)
    depth = len(match[4] or "")
    if last in _NUMBERED:
        kind, groups = _NUMBERED[last]
        word, number, items, tail = [match[group] if group else "" for group in groups]
        label = number if kind in (ITEMS, LIST) else spaced(number)
        return Marker(start, end, kind, label, items, word, tail, lead, depth, bool(match[5]))
    if last in (21, 22):
        word = match[21].lower().replace("ies", "y").removesuffix("s").removeprefix("worked ")
        return Marker(start, end, NOTE, match[22] or "", "", word, "", lead, depth, bool(match[5]))
    if last in (23, 24):
        return Marker(start, start, DEFINITION, match[last], "", "", "", lead, depth, True)
    if last == 28:
        return Marker(start, start, NOTE, "", "", "proviso", "", lead, depth)
    if last == 29:
        ordinal, _, word = match[29].rpartition(" ")
        ordinal = ordinal.rpartition(" ")[2].capitalize().removeprefix("The")
        return Marker(start, end, WORD, ordinal, "", word, "", lead, depth)
    if last == 27:
        return Marker(start, end, WORD, "", "", match[27], "", lead, depth)
    if last >= WORDS_FROM:
        return Marker(start, start, CLOSING if last > WORDS_FROM else PARAGRAPH, "", lead=lead)
    kind = {25: FENCE, 26: UNDERLINE, 30: TITLE}[last]
    return Marker(start, end, kind, match[last], "", "", "", lead, depth)


def run_in_lists(body: str) -> list[Marker]:
    """Lists inside a paragraph: ``must (a) stop; and (b) wait``; at least two items of it."""
    found: dict[int, Marker] = {}
    for match in _RUN_IN.finditer(body):
        start = match.start()
        before = _word_before(body, start)
        if before is None or (before and _REFERENCE.search(before)):
            continue
        series = _series(body, start, match[1])
        if len(series) < 2 and (before or not _goes_on(body, start, match[1])):
            continue
        for at, label in series:
            if _inside_a_line(body, at):
                unsure = bool(before) and at == start
                found[at] = Marker(
                    at, at + len(label) + 2, ITEMS, f"({label})", inside=True, unsure=unsure
                )
    for match in _RUN_IN_HALF.finditer(body):
        series = _series(body, match.start(1), match[1], "{})")
        for at, label in series if len(series) > 1 else ():
            if _inside_a_line(body, at):
                found[at] = Marker(
                    at, at + len(label) + 1, LIST, label, tail=")", inside=True, unsure=False
                )
    return [found[at] for at in sorted(found)]


def _inside_a_line(body: str, at: int) -> bool:
    """Whether words stand before; at the start of a line ``CANDIDATE`` finds a marker."""
    return bool(body[max(0, at - _MOST_OPENERS) : at].rpartition("\n")[2].strip(_LINE_OPENERS))


_LINE_OPENERS = " \t*_>#-+"
_MOST_OPENERS = 100  # a line may be as long as the text, and hold many items

SECOND_LETTERS = ("b ", "ii ")
_SECOND = re.compile(r"\n(?=[ \t>bi])([ \t>]{0,60}+)(b|ii) ")
#: What may stand before the first of bare letters: a blank line, a lead-in, or a full stop.
_LEADS_IN = re.compile(r"(?:\A|\n|[:;.,—–-][ \t*_]*)\n\Z")


def bare_letters(body: str) -> list[Marker]:
    """Items printed as a letter alone: ``a the first``, ``b the second`` on lines of their own.

    A line may begin with the word *a*, but with *b* or *ii* no sentence goes on: so the
    second item is looked for, then the first before it and the others after it. A second
    without a first is given too, for the outline to doubt.
    """
    found: dict[int, Marker] = {}
    for match in _SECOND.finditer(body):
        line, lead = match.start() + 1, match[1]
        first = "a" if match[2] == "b" else "i"
        if line not in found:
            before = _bare_first(body, line, f"\n{lead}{first} ")
            for start, label in (*before, *_bare_rest(body, line, lead, first)):
                end = start + len(lead) + len(label) + 1
                found[start] = Marker(start, end, LIST, label, lead=lead)
    return [found[start] for start in sorted(found)]


def _bare_first(body: str, second: int, sought: str) -> list[tuple[int, str]]:
    """The nearest line before the second item that may be the first."""
    at = second
    for _ in range(_MOST_TRIES):
        at = body.rfind(sought, max(0, second - RUN_IN_REACH), at)
        if at < 0:
            return []
        line_before = body[body.rfind("\n", max(0, at - 400), at) + 1 : at]
        lead = len(line_before) - len(line_before.lstrip(" \t>"))
        set_in = len(sought) - len(sought.lstrip()) - 1 > lead
        if set_in or _LEADS_IN.search(body, max(0, at - 40), at + 1):
            return [(at + 1, sought.split()[-1])]
    return []


def _bare_rest(body: str, second: int, lead: str, first: str) -> list[tuple[int, str]]:
    """The second item, and those that follow it line by line."""
    rest: list[tuple[int, str]] = []
    at = second - 1
    for label in series_from(first)[1:]:
        at = body.find(f"\n{lead}{label} ", at, at + RUN_IN_REACH)
        if at < 0:
            break
        rest.append((at + 1, label))
    return rest


def _word_before(body: str, at: int) -> str | None:
    """What stands before ``at`` in its paragraph, "" after a stop; None at a line's start."""
    text = body[max(0, at - 40) : at]
    if "\n\n" in text:
        text = text[text.rindex("\n\n") + 1 :]
    line_start = text.rfind("\n")
    if line_start >= 0 and not text[line_start + 1 :].strip(_LINE_OPENERS):
        return None
    stripped = text.rstrip(" *_")
    if not stripped or not (text[-1].isspace() or text[-1] in "—–-:*_"):
        return None
    return "" if stripped[-1] in ":;—–-.," else stripped


_MOST_TRIES = 4  # mentions of an item passed over before its list is taken to end
_BETWEEN = re.compile(r"[;,.:—–](?:\s+(?:and|or|but|and/or|then))?[\s*_]*\Z")


def _series(body: str, start: int, first: str, form: str = "({})") -> list[tuple[int, str]]:
    """The items that follow one another in a paragraph, each after ``;``, ``,`` or and/or."""
    stop = body.find("\n\n", start, start + RUN_IN_REACH)
    stop = start + RUN_IN_REACH if stop < 0 else stop
    series = [(start, first)]
    at = start
    for label in series_from(first)[1:]:
        sought = form.format(label)
        for _ in range(_MOST_TRIES):
            at = body.find(sought, at + 1, stop)
            if at < 0:
                return series
            follows = body[at + len(sought) : at + len(sought) + 1]
            if (not follows or follows in " \n*_") and _BETWEEN.search(body, max(0, at - 16), at):
                break
        else:
            return series
        series.append((at, label))
    return series


def _goes_on(body: str, start: int, first: str) -> bool:
    """Whether the item after ``first`` stands at the start of a line soon after."""
    sought = f"({series_from(first)[1]})"
    at = start
    for _ in range(_MOST_TRIES):
        at = body.find(sought, at + 1, start + RUN_IN_REACH)
        if at < 0:
            return False
        if not _inside_a_line(body, at):
            return True
    return False
