"""Structure that a format says itself: taken as it is said, and never guessed again.

A page says which of its words are the items of a list, which are a term, and where the
list ends. A reader of such a format gives markers of these kinds beside the lines; in
the outline they stand above whatever the words of their line look like.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

from modrules.texts import markers as mk
from modrules.texts import outline as ol
from modrules.texts.builder import Builder, Open
from modrules.texts.citations import definition_key
from modrules.texts.definitions import term_alone
from modrules.texts.handlers import HANDLERS as LOOKED_AT
from modrules.texts.items import last_top, leads_in
from modrules.texts.numbered import is_expected, open_number, seek
from modrules.texts.numbers import follows, is_first

_NOT_IN_LISTS = -1  # an indentation further out than any: no paragraph's look ends such a clause
_OPENS_NO_LIST = (ol.TABLE, ol.ROW)


def _reach(builder: Builder, at: int) -> None:
    builder.look_between(builder, builder.cursor, at)
    builder.cursor = max(builder.cursor, at)


def _depth_of_list(builder: Builder, number: int) -> int:
    """The depth of the open clause that belongs to a list of the page; -1 where there is none."""
    for depth in range(len(builder.stack) - 1, 0, -1):
        if builder.stack[depth].of_list == number:
            return depth
    return -1


def _holder(builder: Builder, at: int) -> int:
    """The depth of the clause that a list which starts here is in."""
    stack = builder.stack
    depth = len(stack) - 1
    while depth > 0 and stack[depth].kind in _OPENS_NO_LIST:
        depth -= 1
    if stack[depth].kind in ol.ASIDES and not leads_in(builder, at):
        depth -= 1  # the note came before the clause's own list
    return depth


def _take_entry(builder: Builder, marker: mk.Marker) -> bool:
    """An entry of a list: an item, or a clause where the list is in none."""
    start, label = marker.start, marker.label
    _reach(builder, start)
    stack = builder.stack
    depth, unsure = _depth_of_list(builder, marker.of_list), ""
    if depth >= 0:
        of_clauses, unsure = stack[depth].kind is ol.CLAUSE, stack[depth].unsure
        depth -= 1
    else:
        depth = _holder(builder, start)
        of_clauses = label.isdigit() and _is_in_no_clause(builder, depth)
        if not of_clauses and _goes_on_clauses(builder, label, depth):
            of_clauses = True
            unsure = f"the list from {label} on may go on the clauses, or be in the last one"
        elif not of_clauses and _follows_lead_in(builder, start):
            unsure = "the list stands beside the item before it, which seems to lead into it"
    if unsure:
        builder.doubt("level uncertain", start, unsure)
    before = len(builder.keys)
    if of_clauses:
        depth = seek(builder, label, marker)
        open_number(builder, marker, label, depth, is_expected(builder, label, depth), "")
    else:
        recital = stack[depth].word == "Whereas"
        key = f"Recital {label}" if recital else f"{stack[depth].base}({label})"
        _open(builder, marker, depth, ol.ITEM, key, marker.end)
    for opened in stack:
        if opened.index == before < len(builder.keys):
            opened.of_list, opened.unsure = marker.of_list, unsure
    return True


def _is_in_no_clause(builder: Builder, depth: int) -> bool:
    """Whether no clause holds what stands at a depth, be it under a heading."""
    opened = builder.stack[depth]
    while depth > 0 and opened.kind is ol.HEADING and opened.word != "Whereas":
        depth -= 1
        opened = builder.stack[depth]
    return opened.kind in (ol.FRONT, ol.PART, ol.ANNEX) and opened.word != "Whereas"


def _goes_on_clauses(builder: Builder, label: str, depth: int) -> bool:
    """Whether a list that starts further on has the number that the next clause would have."""
    opened = builder.stack[depth]
    whole = opened.kind is ol.CLAUSE and "." not in opened.number
    return whole and not is_first(label) and follows(last_top(builder), label)


def _follows_lead_in(builder: Builder, at: int) -> bool:
    """Whether a list has just ended with words that lead into another."""
    last = len(builder.keys) - 1
    ended = builder.kinds[last] is ol.ITEM and builder.ends[last] == at
    return ended and leads_in(builder, at)


def _open(builder: Builder, marker: mk.Marker, depth: int, kind: str, key: str,
          text_from: int) -> Open | None:  # fmt: skip
    builder.close_to(depth, marker.start)
    if builder.too_deep(marker):
        return None
    opened = builder.add(kind, key, marker.start, text_from)
    opened.lead, opened.of_list = _NOT_IN_LISTS, marker.of_list
    return opened


def _take_term(builder: Builder, marker: mk.Marker) -> bool:
    """A term with its definition after it."""
    _reach(builder, marker.start)
    depth = _depth_of_list(builder, marker.of_list)
    depth = depth - 1 if depth >= 0 else _holder(builder, marker.start)
    term = term_alone(marker.label)
    opened = _open(builder, marker, depth, ol.DEFINITION, definition_key(term), marker.start)
    if opened is not None:
        builder.terms[opened.index] = term
    return True


def _take_end(builder: Builder, marker: mk.Marker) -> bool:
    """The end of a list: what comes after it is in the clause that holds the list."""
    at = marker.start
    _reach(builder, at)
    depth = _depth_of_list(builder, marker.of_list)
    if depth < 0:
        return False
    if builder.stack[depth].kind is ol.CLAUSE:
        # Where clauses are lists of one entry each, what is theirs often stands between.
        after = mk.CANDIDATE.match(builder.body, at - 1)
        if after is not None and after.lastindex == mk.WORDS_FROM:
            builder.doubt("closing words", at, "a paragraph after a list may belong to its last "
                          "item", builder.stack[depth].index)  # fmt: skip
        return False
    builder.close_to(depth - 1, at)
    builder.give(at)
    return False


def _take_doubt(builder: Builder, marker: mk.Marker) -> bool:
    """What a reader could not tell, or left out, at the clause where it stands."""
    builder.doubt(marker.word, marker.start, marker.label, builder.stack[-1].index)
    return False


HANDLERS: Mapping[int, Callable[[Builder, mk.Marker], bool]] = MappingProxyType({
    **LOOKED_AT, mk.ENTRY: _take_entry, mk.TERM: _take_term, mk.END: _take_end,
    mk.DOUBT: _take_doubt,
})  # fmt: skip
