"""Reading a YAML or JSON file into the plain tree, or saying clearly why not.

    read_yaml(path, *, limit=8_000_000, name="") -> Map | Seq | Scalar
    read_mapping(path, ...) -> Map          the same, where the file must hold a mapping
    parse_yaml(text, name) -> Map | Seq | Scalar
    parse_mapping(text, name) -> Map        the same, where the text must hold a mapping
    yaml_of(path, ...) -> str               the text of the file, as YAML also where it is JSON
    read_source(path) -> str                what stands in the file, as text
    events(text)                            what the parser makes of a text, piece by piece
    collector_paused()                      context: no garbage collection while a tree grows

The tree is built from the parser's events and not by its composer: that needs no recursion,
sees depth, anchors and tags before anything is built, and costs less than typing by YAML.
"""

from __future__ import annotations

import gc
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import yaml
from yaml.events import (
    AliasEvent,
    DocumentStartEvent,
    MappingEndEvent,
    MappingStartEvent,
    ScalarEvent,
    SequenceEndEvent,
    SequenceStartEvent,
    StreamEndEvent,
)

from modrules.files import read_bytes
from modrules.problems import ModrulesError, Place, Problem
from modrules.ruleset.tree import CONTROL, MAX_DEPTH, Blank, Map, Scalar, Seq, Source, shortened

#: How large a file may be, in bytes.
MAX_BYTES = 8_000_000
#: How many keys and values one file may hold; keeps memory within bounds.
MAX_NODES = 1_000_000
#: After so many problems reading stops: the rest would only bury the first.
_MAX_PROBLEMS = 50

_PLAIN_TAGS = frozenset({"!", *(f"tag:yaml.org,2002:{kind}" for kind in ("str", "map", "seq"))})
_NOTHING = frozenset({"", "~", "null", "Null", "NULL"})
_PARSER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
#: JSON writes a character beyond the basic plane as two escapes, which YAML does not know.
_JSON_ESCAPE = re.compile(r"\\(?:u(d[89ab][0-9a-f]{2})\\u(d[c-f][0-9a-f]{2})|.)", re.I | re.S)


@contextmanager
def collector_paused() -> Iterator[None]:
    """Pause the garbage collector, whose passes over a growing tree cost more than the reading."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def read_yaml(path: Path, *, limit: int = MAX_BYTES, name: str = "") -> Map | Seq | Scalar:
    """The tree of the file at ``path``; places call the file ``name`` (else the path as given).

    ModrulesError with everything that is wrong: no such file, a folder, more than ``limit``
    bytes, no UTF-8 text, no YAML, several documents, nested too deeply, a key twice, an anchor,
    an alias, a tag, a merge key, a key that is no text, or nothing in it.
    """
    name = name or str(path)
    return parse_yaml(yaml_of(path, limit=limit, name=name), name)


def yaml_of(path: Path, *, limit: int = MAX_BYTES, name: str = "") -> str:
    """The file's text as YAML, also where it is JSON. Errors as ``read_source``."""
    text = read_source(path, limit, name)
    return _as_yaml(text) if path.suffix.lower() == ".json" else text


def read_mapping(path: Path, *, limit: int = MAX_BYTES, name: str = "") -> Map:
    """``read_yaml`` of a file that must hold a mapping at its top."""
    name = name or str(path)
    return parse_mapping(yaml_of(path, limit=limit, name=name), name)


def parse_mapping(text: str, name: str) -> Map:
    """``parse_yaml`` of a text that must hold a mapping at its top."""
    tree = parse_yaml(text, name)
    if isinstance(tree, Map):
        return tree
    holds = "a list" if isinstance(tree, Seq) else "a single text"
    raise ModrulesError(
        Problem(
            f"this file holds {holds} where keys with values are expected",
            tree.place,
            "its first line should be a key, such as `title: ...`",
        )
    )


def parse_yaml(text: str, name: str) -> Map | Seq | Scalar:
    """The tree of ``text``; ``name`` stands for the file in places. Errors as ``read_yaml``."""
    source = Source(name, text)
    problems: list[Problem] = []
    try:
        with collector_paused():
            tree = _build(_PARSER(text).get_event, source, problems)
    except yaml.MarkedYAMLError as error:
        problems.append(_syntax_problem(error, source))
    except yaml.reader.ReaderError as error:
        problems.append(
            Problem(
                f"the character U+{_code(error.character):04X} cannot stand in a YAML file",
                source.place(error.position),
                "the file may be no text at all; otherwise remove the character",
            )
        )
    if problems:
        raise ModrulesError(problems)
    if isinstance(tree, Blank):
        raise ModrulesError(Problem("this file is empty", Place(name)))
    return tree


def events(text: str) -> Iterator[Any]:
    """The parser's events of a text that has been read without a problem."""
    return iter(yaml.parse(text, Loader=_PARSER))


def read_source(path: Path, limit: int = MAX_BYTES, name: str = "") -> str:
    """The file's text; nothing is read of what is no file or is too large.

    ModrulesError as ``read_yaml`` has it.
    """
    name = name or str(path)
    data = read_bytes(path, limit, name=name, split="split it into several files")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise ModrulesError(
            Problem(
                "this is not UTF-8 text",
                Place(name, line),
                "save it as UTF-8 text; a binary file cannot be read",
            )
        ) from None
    if "\0" in text:
        message = "this is a binary file, and a text is expected here"
        raise ModrulesError(Problem(message, Place(name)))
    return text


def _as_yaml(text: str) -> str:
    """JSON without the two things that YAML does not take: tabs and halved characters."""
    text = text.replace("\t", " ")
    return _JSON_ESCAPE.sub(_join_halves, text) if "\\ud" in text.lower() else text


def _join_halves(found: re.Match[str]) -> str:
    if found[1] is None:
        return found[0]
    code = 0x10000 + ((int(found[1], 16) & 0x3FF) << 10) + (int(found[2], 16) & 0x3FF)
    return f"\\U{code:08X}"


def _build(
    next_event: Callable[[], Any], source: Source, problems: list[Problem]
) -> Scalar | Blank | Map | Seq:
    """The tree of the events of one document.

    One loop with its own stack. A mapping takes a key and a value in turn: ``key`` is the key
    that waits for its value. What follows a refused key goes to ``astray`` and is forgotten.
    """
    new = str.__new__
    keys: dict[str, str] = {}
    root = Seq(source, 0)
    holder: Any = root
    in_map = False
    key: str | None = None
    stack: list[tuple[Any, bool, str | None]] = []
    astray = ""
    nodes = documents = 0
    linked = False
    node: Any

    while True:
        event = next_event()
        kind = type(event)
        if kind is ScalarEvent:
            mark = event.start_mark
            text = event.value
            if in_map and key is None and not event.anchor and event.tag is None:
                # A key: the common case of a plain known one goes first and straight.
                at = mark.index
                key = keys.setdefault(text, text)
                if key in holder or key in _NOTHING or key == "<<" or CONTROL.search(key):
                    _refuse_key(key, event, holder, source, problems)
                    key = astray
                else:
                    holder.key_at.append(at)
                    holder[key] = None
                continue
            style = event.style or ""
            if style == '"':
                if CONTROL.search(text):
                    _note(problems, event, source, *_CONTROL_CHARACTER)
            elif style and style in "|>":
                text = text.rstrip("\n")
            node = new(Blank if text in _NOTHING and (not style or not text) else Scalar, text)
            node.source = source
            node.at = mark.index
            node.to = event.end_mark.index
            node.style = style
        elif kind is MappingStartEvent:
            node = Map(source, event.start_mark.index)
        elif kind is SequenceStartEvent:
            node = Seq(source, event.start_mark.index)
        elif kind is MappingEndEvent or kind is SequenceEndEvent:
            holder, in_map, key = stack.pop()
            continue
        elif kind is AliasEvent:
            node = Blank("", source, event.start_mark.index, event.end_mark.index)
        elif kind is StreamEndEvent:
            break
        else:
            if kind is DocumentStartEvent:
                documents += 1
                if documents > 1:
                    _note(problems, event, source, *_SECOND_DOCUMENT)
                    return root[0]
            continue

        nodes += 1
        if nodes > MAX_NODES:
            _note(problems, event, source, f"the file holds more than {MAX_NODES:,} values")
            return root
        if event.anchor and not linked:
            # Said once: where there is one there are many, and one remedy for all.
            linked = True
            _note(problems, event, source, *_ALIAS)
        if kind is not AliasEvent and event.tag is not None and event.tag not in _PLAIN_TAGS:
            _note(problems, event, source, *_tag(event.tag))
        if not in_map:
            holder.append(node)
        elif key is None:
            if not event.anchor:
                _note(problems, event, source, *_BAD_KEY)
            if kind is MappingStartEvent or kind is SequenceStartEvent:
                return root
            key = astray
        else:
            if key is not astray:
                holder[key] = node
            key = None
        if kind is MappingStartEvent or kind is SequenceStartEvent:
            stack.append((holder, in_map, key))
            if len(stack) > MAX_DEPTH:
                _note(problems, event, source, _TOO_DEEP)
                return root
            holder, in_map, key = node, kind is MappingStartEvent, None
        if len(problems) >= _MAX_PROBLEMS:
            return root
    return root[0] if root else Blank("", source, 0, 0)


_TOO_DEEP = f"the nesting is deeper than {MAX_DEPTH} levels"
_ALIAS = (
    "anchors (&name) and aliases (*name) are not used here",
    "write the value out where it is needed; put a text that begins with & or * in quotes",
)
_BAD_KEY = ("a key must be a plain text", "write `key: value`")
_CONTROL_CHARACTER = (
    "this text holds a control character",
    "remove the escape that stands for it",
)
_SECOND_DOCUMENT = (
    "a second document begins here, and a file holds one",
    "remove the line `---`, or put what follows into a file of its own",
)


def _note(
    problems: list[Problem], event: Any, source: Source, message: str, hint: str = ""
) -> None:
    place = source.place(event.start_mark.index, event.end_mark.index)
    problems.append(Problem(message, place, hint))


def _refuse_key(key: str, event: Any, holder: Map, source: Source, problems: list[Problem]) -> None:
    """Say why ``key`` cannot be a key of ``holder``."""
    if key == "<<":
        _note(problems, event, source, "merge keys (<<) are not used here", "write the keys out")
    elif CONTROL.search(key):
        _note(problems, event, source, *_CONTROL_CHARACTER)
    elif key in _NOTHING:
        _note(problems, event, source, "a key is missing before the colon", "write `key: value`")
    else:
        first = holder.key_place(key)
        _note(
            problems,
            event,
            source,
            f"the key `{shortened(key)}` is here a second time",
            f"it is first on line {first.line}; keep one of the two",
        )


def _tag(tag: str) -> tuple[str, str]:
    shown = shortened(tag.replace("tag:yaml.org,2002:", "!!", 1))
    return (
        f"the tag {shown} is not used here",
        "write the value alone; it is read by what the ruleset says of it",
    )


def _code(character: Any) -> int:
    return character if isinstance(character, int) else ord(str(character)[:1] or "\0")


def _syntax_problem(error: yaml.MarkedYAMLError, source: Source) -> Problem:
    """The parser's own message, with the place and what most often is the cause."""
    mark = error.problem_mark or error.context_mark
    place = source.place(min(mark.index, len(source.text)) if mark is not None else 0)
    what = error.problem or error.context or "it ends too early"
    if "nesting depth" in what:
        return Problem(_TOO_DEEP, place)
    message = f"this is not valid YAML: {what}"
    if error.context and error.context_mark is not None:
        began = error.context_mark.line + 1
        if began != place.line:
            message += f" ({error.context} that begins on line {began})"
    character = place.source[place.column - 1 : place.column]
    hint = ""
    if character == "\t":
        hint = "indent with spaces; a tab cannot be used for it"
    elif "mapping values" in what:
        hint = "put a text with a colon and a space in it in quotes, and check the indentation"
    elif "cannot start any token" in what:
        hint = f"put a text that begins with {character} in quotes"
    return Problem(message, place, hint)
