"""Definitions: which words at the start of a line or a paragraph are a term that is defined."""

from __future__ import annotations

import re
from collections.abc import Iterator

from modrules.texts import markers as mk
from modrules.texts import outline as ol
from modrules.texts.builder import SENTENCE_END, Builder
from modrules.texts.citations import definition_key

_TERM = r"[A-Za-z\d][\w'’(),/ -]{1,70}?"
#: Without a mark: ``axle load means …``.
_PLAIN = re.compile(rf"({_TERM}),?[ \n](?:means|includes|has the (?:same )?meaning)(?=[\s:—–])")
#: Where terms are defined a dash or a colon does: ``Lift – the increase …``.
_DASHED = re.compile(
    rf"({_TERM})(?:(?:[ ]?[—–]|[ ]-|:)[ \n](?=[\"“'‘(\w])|:(?=\n))|([A-Z]{{2,6}})(?=,[ ])"
)
_NO_TERM = re.compile(
    r"(?:this|that|it|which|who|a|an|the|any|each|every|where|if|in|for|by|unless|and|or|but|however"
    r"|no|such|nothing|these|those|all|some|both|either|neither|there|he|she|they)\b"
    r"|\d+\b(?![ -][a-z])",
    re.I,
)
_COLUMN = re.compile(r"[ \t]*([A-Za-z][\w'’(),/-]*(?: [\w'’(),/-]+){0,7})(?: {3,}|\t+ *)(\S)")
_BEGINS = re.compile(r"[ \t>]*(?:[(§#|\d\"“]|[A-Za-z]{1,2}[.)])")  # no words that lead in
REACH_OF_COLUMNS = 250  # characters in which the first of them stands
LEAST_ROWS = 2
MOST_ROWS = 400  # lines looked at for them
MOST_WORDS = 8
REACH = 110  # characters in which the verb of a definition begins
# "altered, of a vehicle, means": of what it is said is no part of the term.
_SAID_OF = re.compile(
    r",\s+(?:of|for|in\s+relation\s+to|in\s+respect\s+of|when\s+used)\b.*|(?<=\w)\s*\([^()]*\)\Z",
    re.S,
)
_QUOTES_TWICE = ("““", "“‘", "‘“", '"“', '"‘')
_VERBLESS = re.compile(r"[*_]{1,3}[ ]?[:—–-][ ]")
_DEFINES = re.compile(r"definition|interpretation|meaning|glossary|terms|words", re.I)


def take_marked(builder: Builder, marker: mk.Marker) -> bool:
    """A term between marks: ``"lift" means``, ``**tare**: the mass``."""
    before = builder.line_before(marker.start)
    if not builder.opens_paragraph(marker) and before[-1:] not in SENTENCE_END:
        return False
    if builder.body.startswith(_QUOTES_TWICE, marker.start + len(marker.lead)):
        return builder.not_taken(marker, marker.label, "it stands in a quotation")
    after = builder.body.find(marker.label, marker.start) + len(marker.label)
    verbless = marker.label[-1] == ":" or _VERBLESS.match(builder.body, after) is not None
    if verbless and not _among_definitions(builder):
        return False
    open_definition(builder, marker.label.rstrip(":"), marker.start, len(marker.lead))
    return True


def take_plain(builder: Builder, marker: mk.Marker) -> bool:
    """A term without a mark: ``axle load means`` anywhere, ``Load means`` where terms are defined.

    There a dash or a colon after it is enough, in doubt.
    """
    body, start, lead = builder.body, marker.start, len(marker.lead)
    begin = start + lead
    verb = (
        body.find("mean", begin, begin + REACH) >= 0
        or body.find("includes", begin, begin + REACH) >= 0
    )
    match = _PLAIN.match(body, begin) if verb else None
    apart = builder.opens_paragraph(marker)
    if match is not None and _is_term(match[1]):
        small = match[1][0].islower()
        follows_stop = apart or builder.line_before(start)[-1:] in ("", *SENTENCE_END)
        if (small and follows_stop) or (apart and _among_definitions(builder)):
            open_definition(builder, match[1].rstrip(" ,"), start, lead)
            return True
    match = _DASHED.match(body, begin) if apart or _is_beside_one(builder, start) else None
    term = (match[1] or match[2]) if match is not None else ""
    if not term or not _is_term(term) or not _among_definitions(builder):
        return False
    builder.doubt("definition by its looks", start, f"{term[:60]!r} is taken for a term")
    open_definition(builder, term, start, lead)
    return True


def _is_beside_one(builder: Builder, start: int) -> bool:
    """Whether a line follows a definition that no blank line sets apart either."""
    top = builder.stack[-1]
    begun = builder.starts[top.index]
    alike = top.kind is ol.DEFINITION and builder.body[begun - 2] != "\n"
    return alike and builder.line_before(start)[-1:] in SENTENCE_END


def doubt_more(builder: Builder, marker: mk.Marker) -> None:
    """A paragraph after a definition, taken for more of it, may be one of its own."""
    if _NO_TERM.match(builder.body, marker.start + len(marker.lead)) is None:
        builder.doubt("possible definition not taken", marker.start, "a paragraph after a "
                      "definition is taken for more of it", builder.stack[-1].index)  # fmt: skip


def open_columns(builder: Builder, at: int) -> None:
    """Below a heading that says so: terms in one column, and what they mean in the next.

    ``at``: where the words of the heading begin. Such lines are taken as they stand, in doubt.
    """
    body = builder.body
    stop = body.find("\n", at)
    if stop < 0 or (
        body.find("   ", stop, stop + REACH_OF_COLUMNS) < 0
        and body.find("\t", stop, stop + REACH_OF_COLUMNS) < 0
    ):
        return
    if not _among_definitions(builder):
        return
    rows = list(_columns(body, stop + 1))
    if len(rows) < LEAST_ROWS:
        return
    for start, term, end in rows:
        builder.doubt("definition by its looks", start, f"{term!r} is taken for a term")
        open_definition(builder, term, start, 0)
        builder.cursor = builder.skip = end


def _columns(body: str, at: int) -> Iterator[tuple[int, str, int]]:
    """(where it starts, the term, where its line ends) of the terms in columns from a line on."""
    begun, column = False, 0
    for _ in range(MOST_ROWS):
        stop = body.find("\n", at)
        line = body[at : stop if stop >= 0 else len(body)]
        match = _COLUMN.match(line)
        if match is not None and _is_term(match[1]) and column in (0, match.start(2)):
            begun, column = True, match.start(2)
            yield at, match[1], at + len(line)
        elif (begun and line[:column].strip()) or (not begun and _BEGINS.match(line)):
            return
        if stop < 0:
            return
        at = stop + 1


def _is_term(words: str) -> bool:
    return words.count(" ") < MOST_WORDS and _NO_TERM.match(words) is None


def _among_definitions(builder: Builder) -> bool:
    """Whether the heading around says that terms are defined here: **tare**: the mass …"""
    for opened in reversed(builder.stack):
        if opened.kind in (ol.CLAUSE, ol.HEADING, ol.PART, ol.ANNEX):
            start = builder.starts[opened.index]
            end = builder.body.find("\n", start)
            if _DEFINES.search(builder.body, start, end if end >= 0 else len(builder.body)):
                return True
    return False


def open_definition(builder: Builder, term: str, start: int, lead: int) -> None:
    """Open a definition, beside the one before it."""
    stack = builder.stack
    depth = len(stack) - 1
    for lower in range(depth, 0, -1):
        if stack[lower].kind is ol.DEFINITION:
            depth = lower - 1
            break
    else:
        while depth > 0 and stack[depth].kind in ol.BESIDE:
            depth -= 1
    builder.close_to(depth, start)
    if len(stack) < ol.MOST_DEEP:
        term = term_alone(term)
        opened = builder.add(ol.DEFINITION, definition_key(term), start, start)
        opened.lead = lead
        builder.terms[opened.index] = term


def term_alone(term: str) -> str:
    """A term on one line, without what it is said of: ``altered, of a vehicle``."""
    return " ".join(_SAID_OF.sub("", term).split())
