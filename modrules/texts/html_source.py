"""HTML before it is parsed: what is no text, or about the site, is taken out, and told in doubt."""

from __future__ import annotations

import re
from collections import deque

MOST_TAG = 2000  # characters of a tag; a longer one (a picture inside the page) is passed over

_SILENT = frozenset({"script", "style", "template", "noscript", "iframe", "object", "svg", "title",
                     "select", "textarea", "audio", "video", "canvas"})  # fmt: skip
#: The way around the site is no part of the text.
_LEFT_OUT = re.compile(rf"<({'|'.join(sorted(_SILENT))}|nav)\b[^>]*", re.I)
#: After the main part of a page these are about the site.
_AFTER_MAIN = re.compile(rf"<({'|'.join(sorted(_SILENT))}|nav|aside|footer)\b[^>]*", re.I)
_NO_WORDS = frozenset({"script", "style"})
#: Words as a law has them, or a number as it has them at the start of a line.
_DEMANDS = re.compile(r"\b(?:must|shall|may not|not exceed|prohibited)\b", re.I)
_NUMBERED = re.compile(
    r">\s*(?:§|\d{1,3}(?:[.)]|\.\d[\d.]*)\s|\(\w{1,3}\)\s|(?:section|article|schedule|annex)\s)",
    re.I,
)
_FOOTER_END = re.compile(r"</footer\s*>", re.I)
_TAG = re.compile(r"<[^<>]*>")
MOST_TAIL = 20_000  # characters after a footer that ends a page: tags, and no words
_MAIN_END = re.compile(r"</main\s*>", re.I)


def _end_of_main(source: str) -> int:
    """Where the main part of a page ends: as it says, or else at a footer that ends the page."""
    ended = max((match.end() for match in _MAIN_END.finditer(source)), default=-1)
    if ended >= 0:
        return ended
    footer = max(source.rfind("<footer"), source.rfind("<FOOTER"))
    closing = _FOOTER_END.search(source, footer) if footer >= 0 else None
    alone = closing is not None and not _TAG.sub("", source[closing.end() :][:MOST_TAIL]).strip()
    return footer if alone else len(source)


def tamed(source: str, untold: deque[tuple[int, str]]) -> str:
    """The source without comments, scripts and broken tags, its lines still where they were.

    The parser takes quadratic time on constructs that are never closed, so none reach it.
    ``untold`` gets (line, sentence) of what is left out and may be words of the text.
    """
    parts: list[str] = []
    at = line = counted = 0
    never_closed: set[str] = set()
    last_close = source.rfind(">")
    main_end = _end_of_main(source)
    while True:
        opened = source.find("<", at)
        if opened < 0:
            parts.append(source[at:])
            return "".join(parts)
        parts.append(source[at:opened])
        if opened > last_close:
            parts.append(source[opened:].replace("<", "&lt;"))
            return "".join(parts)
        around = (_AFTER_MAIN if opened >= main_end else _LEFT_OUT).match(source, opened)
        unended = name = ""
        if source.startswith("<!--", opened):
            end = source.find("-->", opened + 4)
            end, unended = (len(source), "a comment") if end < 0 else (end + 3, "")
            parts.append("\n" * source.count("\n", opened, end))
        elif around is not None:
            name = around[1].lower()
            end = _end_of(source, around, never_closed)
            if end < 0 and name in _NO_WORDS:
                end, unended = len(source), f"<{name}>"
            elif end < 0:
                end = around.end() + 1  # what never ends may hold the whole text
            parts.append("\n" * source.count("\n", opened, end))
        elif source[opened + 1] in "!?":
            end = source.index(">", opened) + 1
            parts.append("\n" * source.count("\n", opened, end))
        elif not (source[opened + 1].isalpha() or source[opened + 1] == "/"):
            parts.append("&lt;")
            end = opened + 1
        else:
            end = source.index(">", opened) + 1
            if end - opened > MOST_TAG:
                parts.append("\n" * source.count("\n", opened, end))
            elif (inner := source.find("<", opened + 1, end)) >= 0:
                parts.append("&lt;" + source[opened + 1 : inner])  # no tag holds another
                end = inner
            else:
                parts.append(source[opened:end])
        if unended or (name and _may_be_law(source, opened, end, name)):
            line, counted = line + source.count("\n", counted, opened), opened
            last = line + source.count("\n", opened, end)
            why = f"{unended} never ends" if unended else f"they stand in <{name}>"
            untold.append((line + 1, f"lines {line + 1} to {last + 1} are left out: {why}"))
        at = end


def _end_of(source: str, opening: re.Match[str], never_closed: set[str]) -> int:
    """Where an element ends that begins with a tag; -1 where it never does."""
    name = opening[1].lower()
    if opening[0].endswith("/"):
        return opening.end() + 1
    closing = None
    if name not in never_closed:
        closing = re.compile(rf"</{name}\b[^>]{{0,200}}>", re.I).search(source, opening.end())
    if closing is None:
        never_closed.add(name)
    return closing.end() if closing is not None else -1


def _may_be_law(source: str, start: int, end: int, name: str) -> bool:
    """Whether what is left out reads like words of the text; contents list numbers in a <nav>."""
    if name in _NO_WORDS:
        return False
    numbered = name != "nav" and _NUMBERED.search(source, start, end) is not None
    return numbered or _DEMANDS.search(source, start, end) is not None
