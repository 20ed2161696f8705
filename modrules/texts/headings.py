"""Headings of clauses: which of a clause's first words are its heading."""

from __future__ import annotations

import re

from modrules.texts import outline as ol
from modrules.texts.words import shown

MOST_CHARACTERS = 160
_SENTENCE = re.compile(r"[^.]{2,90}?(?:\.?[—–]|\.)(?=\s|\Z|\()")


def heading_in(source: str, kind: str, *, marked: bool, lists: bool) -> str:
    """The heading that the words after a clause's number begin with, or "".

    ``source``: the clause's own words up to the first clause in it; ``marked``: a
    heading by its mark; ``lists``: a list of items comes next.
    """
    if kind in (ol.ITEM, *ol.ASIDES, ol.ROW):
        return ""
    line, newline, after = source.partition("\n")
    words = shown(line).strip(" .:—–-")
    if kind == ol.HEADING:
        return shown(line.lstrip("# \t")).strip(" :—–-")
    if not words and kind in (ol.PART, ol.ANNEX, ol.TABLE, ol.CLAUSE):
        return _next_line(after, apart=kind == ol.CLAUSE)
    if marked or kind in (ol.PART, ol.ANNEX, ol.TABLE):
        return words[:MOST_CHARACTERS]
    if not words or len(words) > MOST_CHARACTERS:
        return _first_sentence(line, lists and not newline)
    ended = shown(line).rstrip()[-1:] in ".;:,—–"
    apart = not after.strip() or after.startswith("\n")
    # Without a blank line after it: capitals, or a short line before one that begins anew.
    apart = apart or words.isupper() or (len(words) <= 40 and after.lstrip()[:1].isupper())
    emphasised = line.strip().endswith(("**", "__")) or re.match(r"\s*\*\*[^*]+\*\*\.?\s*\Z", line)
    if words[0].isupper() and (emphasised or (not ended and apart)):
        return words
    return _first_sentence(line, lists and not newline)


def _next_line(after: str, apart: bool) -> str:
    """The line after the number's own; where it must stand ``apart``, only before a blank line."""
    line, _, rest = after.lstrip("\n").partition("\n")
    words = shown(line).strip(" :—–-")
    if apart and ((rest and rest[0] != "\n") or not words[:1].isupper()):
        return ""
    return words if words and len(words) <= MOST_CHARACTERS and words[-1] not in ".;," else ""


def _first_sentence(line: str, lists: bool) -> str:
    """``Lifted vehicles. (a) A person …``: a short sentence without a verb's look, then a list."""
    if not lists:
        return ""
    match = _SENTENCE.match(shown(line).lstrip(" .:—–-"))
    if match is None or not match[0][0].isupper():
        return ""
    rest = shown(line).lstrip(" .:—–-")[match.end() :].strip()
    return match[0].strip(" .—–") if not rest and match[0].count(" ") < 12 else ""
