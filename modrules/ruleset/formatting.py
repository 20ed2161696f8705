"""One way to write ruleset files: order of keys, indentation, quotes, blank lines.

    formatted(text, name) -> str           the text of one file in that form
    format_path(path) -> list[Formatted]   a file, or the files of a ruleset, with their form

Nothing is lost: what the loader reads, every comment, and the digest stay the same, or it is
refused. Collections in brackets and long texts keep the form they have; comments stay with the
item that they stand above, beside or in.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Final, get_args

from modrules.problems import ModrulesError, Place, Problem
from modrules.ruleset.find import HEAD_FILE, data_files, find_ruleset, inside
from modrules.ruleset.layer import Memo, known_head, read_tree
from modrules.ruleset.load import collect
from modrules.ruleset.models import Head, Model, Sections
from modrules.ruleset.source import parse_yaml, read_source
from modrules.ruleset.tree import Map, Node, Seq
from modrules.ruleset.words import CASE_KEYS, SECTIONS
from modrules.ruleset.written import Block, Entry, Leaf, Unusual, comments_of, read_written

#: Keys whose values may look like numbers, or are a text's own words: in double quotes.
_QUOTED_KEYS: Final = frozenset({"clause", "edition", "quote"})
#: Texts that stand alone without quotes, in brackets too, and that no reader takes for more.
_PLAIN: Final = re.compile(r"[^\W\d_](?:[\w %/()<>=.+*;'-]*[\w%).])?")
_RESERVED: Final = frozenset(["true", "false", "yes", "no", "on", "off", "null", "y", "n"])
_STEP: Final = 2


@dataclass(frozen=True, slots=True)
class Kind:
    """What is known of a mapping: the order of its keys, and what stands under them."""

    keys: tuple[str, ...]
    under: Mapping[str, Kind]
    #: Keys that keep the order in which they are written.
    free: bool = False


@dataclass(frozen=True, slots=True)
class Formatted:
    """A file of a ruleset as it is, and in the one form."""

    path: Path
    before: str
    after: str

    @property
    def changes(self) -> bool:
        return self.before != self.after


def formatted(text: str, name: str) -> str:
    """The text of a ruleset file, or of a file of worked cases, in the one form.

    ModrulesError where it can't be read, or can't be put in that form without a loss.
    """
    before = parse_yaml(text, name)
    plain = text.replace("\r\n", "\n").replace("\r", "\n").removeprefix("\ufeff")
    try:
        written = read_written(plain)
    except Unusual as unusual:
        hint = "it can be used as it is; write it with plain keys to have it put in form"
        raise ModrulesError(
            Problem(f"this file is not put in form: {unusual}", Place(name), hint)
        ) from None
    if isinstance(written.top, Leaf):
        return text
    lines = _Writer(plain).block(written.top, 0, _kind_of(before))
    after = "\n".join(lines) + "\n"
    if not _same(before, parse_yaml(after, name)) or _lost(plain, after):
        hint = "the file is left as it is"
        raise ModrulesError(
            Problem("this file can't be put in form without changing it", Place(name), hint)
        )
    return after


def format_path(path: Path) -> list[Formatted]:
    """The file at ``path``; of a folder, the ruleset's files, its worked cases and other editions.

    Nothing is written. ModrulesError where a file can't be read, or where the digest of the
    ruleset would be another one; listed JSON files are left out.
    """
    if path.is_dir():
        return _format_folder(find_ruleset(path))
    if path.suffix.lower() == ".json":
        raise ModrulesError(
            Problem("JSON has no comments to keep and is left alone", Place(str(path)))
        )
    before = read_source(path)
    return [Formatted(path, before, formatted(before, str(path)))]


def _format_folder(folder: Path) -> list[Formatted]:
    found: dict[Path, Formatted] = {}
    problems: list[Problem] = []
    for path in _files(folder, set()):
        try:
            before = read_source(path)
            found[path] = Formatted(path, before, formatted(before, str(path)))
        except ModrulesError as error:
            problems += error.problems
    if problems:
        raise ModrulesError(problems)
    memo: Memo = {}
    for path, each in found.items():
        model = Head if path.name == HEAD_FILE else Sections
        tree = parse_yaml(each.after, str(path))
        if isinstance(tree, Map) and "cases" not in tree:
            memo[path.resolve(), model] = read_tree(tree, model)
    if collect(folder).ruleset.digest != collect(folder, memo=memo).ruleset.digest:
        message = "the ruleset's digest would change, so nothing is put in form"
        raise ModrulesError(Problem(message, Place(str(folder))))
    return list(found.values())


def _files(folder: Path, seen: set[Path]) -> Iterator[Path]:
    """The YAML files of a ruleset folder, of its editions and of those inside that it is on."""
    if folder.resolve() in seen:
        return
    seen.add(folder.resolve())
    head = known_head(folder, {})
    yield inside(folder, HEAD_FILE, Place(str(folder / HEAD_FILE)), "the file")
    if head is None:
        return
    for name in head.files:
        path = inside(folder, name, name.place, "the file")
        if path.suffix.lower() != ".json" and path.resolve() != (folder / HEAD_FILE).resolve():
            yield path
    cases = data_files(folder, "cases")
    if cases.problems:
        raise ModrulesError(cases.problems)
    yield from (path for path in cases.files if path.suffix.lower() != ".json")
    below = head.builds_on.folder if head.builds_on is not None else None
    for name in (*head.editions, *([below] if below is not None else [])):
        path = inside(folder, name, name.place, "the folder")
        if (path / HEAD_FILE).is_file():
            yield from _files(path, seen)


# What is known of the keys


@cache
def _kind(model: type[Model]) -> Kind:
    keys, under = [], {}
    for name, field in model.model_fields.items():
        key = field.alias or name
        keys.append(key)
        inner = _model_in(field.annotation)
        if inner is not None:
            under[key] = _kind(inner)
    # A file's own keys, and the sections, stay where their author put them.
    return Kind(tuple(keys), under, issubclass(model, Sections))


def _model_in(annotation: Any) -> type[Model] | None:
    if isinstance(annotation, type) and issubclass(annotation, Model):
        return annotation
    return next((found for each in get_args(annotation) if (found := _model_in(each))), None)


_CASES: Final = Kind(("cases",), {"cases": Kind(CASE_KEYS, {})}, True)


def _kind_of(tree: Node) -> Kind:
    return _CASES if isinstance(tree, Map) and "cases" in tree else _kind(Head)


def _ordered(names: Sequence[str], kind: Kind | None) -> list[int]:
    """The places of the names, in the order in which they are to stand; unknown ones last."""
    if kind is None or kind.free:
        return list(range(len(names)))
    rank = {key: number for number, key in enumerate(kind.keys)}
    return sorted(range(len(names)), key=lambda i: rank.get(names[i], len(rank)))


# Writing


class _Writer:
    """Writes what stands in ``text`` anew."""

    def __init__(self, text: str) -> None:
        self.text = text

    def block(
        self, block: Block, indent: int, kind: Kind | None, section: bool = False
    ) -> list[str]:
        """The lines of a block; ``section``: its entries are items, set apart by blank lines."""
        lines: list[str] = []
        in_item = kind is not None and not kind.free
        before, after_section = 0, False
        order = _ordered([e.name for e in block.entries], kind if block.is_map else None)
        for number in order:
            entry = block.entries[number]
            lead, own = self._entry(entry, block.is_map, indent, kind)
            apart = bool(lead) and not lead[0] and not (block.is_map and in_item)
            lead = [*_stripped(lead), *([""] if any(lead) and not lead[-1] else [])]
            is_section = kind is not None and kind.free and entry.name in SECTIONS
            if lines:
                long = before > 1 or len(own) > 1
                if apart or (long and (section or (after_section and is_section))):
                    lines.append("")
            lines += [" " * indent + said if said else "" for said in lead]
            lines += own
            before, after_section = len(own), is_section
        tail = block.tail if lines else _stripped(block.tail)
        lines += [" " * indent + said if said else "" for said in tail]
        return lines

    def _entry(
        self, entry: Entry, in_map: bool, indent: int, kind: Kind | None
    ) -> tuple[list[str], list[str]]:
        """The comments above an entry, and its lines."""
        inner = kind.under.get(entry.name) if in_map and kind is not None else kind
        mark = self._slice(entry.key) + ":" if in_map and entry.key is not None else "-"
        value = entry.value
        if value is None:
            return entry.lead, [" " * indent + mark + entry.note]
        if isinstance(value, Leaf):
            first, *rest = self._leaf(value, entry, indent, inner, in_map and kind is not None)
            lines = [f"{' ' * indent}{mark} {first}", *rest]
            lines[-1] += entry.note
            return entry.lead, lines
        if in_map:
            section = kind is not None and kind.free and entry.name in SECTIONS
            lines = self.block(value, indent + _STEP, inner, section)
            return entry.lead, [" " * indent + mark + entry.note, *lines]
        # The first line of what follows a dash stands beside it, so comments go above the dash.
        lines = self.block(value, indent + _STEP, inner)
        own = next(i for i, line in enumerate(lines) if line and not _is_comment(line))
        lead = [*entry.lead, *(line.strip() for line in lines[:own])]
        return lead, [" " * indent + "- " + lines[own].lstrip(" "), *lines[own + 1 :]]

    def _leaf(
        self, leaf: Leaf, entry: Entry, indent: int, kind: Kind | None, known: bool
    ) -> list[str]:
        """The lines of a leaf, the first without indentation."""
        raw = self._slice(leaf)
        if "\n" not in raw:
            return [self._one_line(leaf, kind, entry.name if known else None)]
        first, *rest = raw.split("\n")
        if leaf.kind == "scalar" and leaf.style not in ("|", ">"):
            return [first, *_blank_or(indent + _STEP, [line.lstrip(" \t") for line in rest])]
        if leaf.kind == "scalar" and not re.search(r"\d", first.split("#")[0]):
            margin = next((len(one) - len(one.lstrip(" ")) for one in rest if one.strip()), 0)
            shift = indent + _STEP - margin
        else:
            shift = indent - entry.column
        return [first, *(_shifted(line, shift) for line in rest)]

    def _one_line(self, leaf: Leaf, kind: Kind | None, name: str | None) -> str:
        """A leaf that takes one line; ``name`` is its key in a mapping of a known kind."""
        if leaf.kind == "scalar":
            return _scalar(self._slice(leaf), leaf.style, name)
        if leaf.kind == "list":
            return "[" + ", ".join(self._one_line(v, kind, name) for _, v in leaf.parts) + "]"
        names = [self._name(key) for key, _ in leaf.parts]
        shown = []
        for i in _ordered(names, kind):
            key, value = leaf.parts[i]
            inner = kind.under.get(names[i]) if kind is not None else None
            own = names[i] if kind is not None else None
            said = self._one_line(value, inner, own) if value.at < value.to else ""
            shown.append(f"{self._slice(key)}: {said}" if said else self._slice(key))
        return "{" + ", ".join(shown) + "}"

    def _slice(self, leaf: Leaf | None) -> str:
        return self.text[leaf.at : leaf.to] if leaf is not None else ""

    def _name(self, key: Leaf | None) -> str:
        return self._slice(key).strip("\"'")


def _scalar(raw: str, style: str, name: str | None) -> str:
    """A scalar on one line, in the quotes that it is to have, if any."""
    if style == "'" and not re.search(r"[\"\\]|''|[^ -\uffff]", raw[1:-1]):
        raw, style = f'"{raw[1:-1]}"', '"'
    if name is None or name == "rows":
        return raw
    inner = raw[1:-1]
    if name in _QUOTED_KEYS:
        bare = style == "plain" and (name == "quote" or raw[0].isdigit())
        return f'"{raw}"' if bare and not re.search(r"[\"\\]", raw) else raw
    needless = style == '"' and _PLAIN.fullmatch(inner) and inner.lower() not in _RESERVED
    return inner if needless else raw


def _stripped(lines: Sequence[str]) -> list[str]:
    """Without the blank lines at both ends."""
    numbers = [i for i, line in enumerate(lines) if line]
    return list(lines[numbers[0] : numbers[-1] + 1]) if numbers else []


def _blank_or(indent: int, lines: Sequence[str]) -> list[str]:
    return [" " * indent + line if line else "" for line in lines]


def _shifted(line: str, shift: int) -> str:
    if not line.strip():
        # Blanks in a line of their own can be part of a text.
        return line[-shift:] if shift < 0 or not line else " " * shift + line
    have = len(line) - len(line.lstrip(" "))
    return " " * max(0, have + shift) + line[have:]


def _is_comment(line: str) -> bool:
    return line.lstrip(" ").startswith("#")


# What must not change


def _same(one: Node, other: Node) -> bool:
    if isinstance(one, Map) and isinstance(other, Map):
        return one.keys() == other.keys() and all(_same(one[key], other[key]) for key in one)
    if isinstance(one, Seq) and isinstance(other, Seq):
        pairs = zip(one, other, strict=False)
        return len(one) == len(other) and all(_same(a, b) for a, b in pairs)
    return type(one) is type(other) and one == other


def _lost(before: str, after: str) -> bool:
    return sorted(comments_of(before)) != sorted(comments_of(after))
