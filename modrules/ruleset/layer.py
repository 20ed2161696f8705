"""One folder of a ruleset, before it is laid on what it builds on.

    read_layer(folder, memo) -> Layer         its head, its items, and all problems
    read_head(folder, memo) -> Head           its ruleset.yaml alone; ModrulesError if it is wrong
    known_head(folder, memo) -> Head | None   as much of it as can be used
    read_tree(tree, model) -> Read            one file that is at hand as a tree
    Memo                                      what one loading has read so far

A file that is wrong in one place is used in all others, so that the rest can be looked at too.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Final, TypeVar

from pydantic import ValidationError

from modrules.files import is_file
from modrules.problems import ModrulesError, Place, Problem
from modrules.ruleset.find import HEAD_FILE, edition_in, inside
from modrules.ruleset.models import Head, Item, Sections
from modrules.ruleset.shape import shape_problems
from modrules.ruleset.source import parse_mapping, yaml_of
from modrules.ruleset.tree import Map, Scalar, Seq, plant
from modrules.ruleset.words import ITEM_NAMES, SECTIONS

SectionsT = TypeVar("SectionsT", bound=Sections)

#: How many characters a file may have to be remembered.
_MOST_REMEMBERED: Final = 100_000
#: What stands in for a head that cannot be used, so that the rest can still be looked at.
_STAND_IN = {
    "ruleset": "unknown",
    "title": "unknown",
    "edition": "unknown",
    "in_force": {"from": "0001-01-01"},
}


@dataclass(slots=True)
class Layer:
    """What one folder holds: for each section its items by id, in the order of the files."""

    folder: Path
    head: Head
    items: dict[str, dict[str, Item]]
    problems: list[Problem]
    #: Items that are there but cannot be used: (section, id).
    left_out: set[tuple[str, str]]
    #: Whether every file could be read; if not, a name that is not known may stand in one of them.
    whole: bool
    text_files: dict[str, Path] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Read:
    """One file, validated as far as it can be."""

    content: Sections | None
    problems: tuple[Problem, ...]
    left_out: frozenset[tuple[str, str]]
    whole: bool


Memo = dict[tuple[Path, type[Sections]], Read]


def read_head(folder: Path, memo: Memo) -> Head:
    """The head of the ruleset in ``folder``; ModrulesError where it is wrong."""
    read = _read_head(folder, memo)
    if read.problems or not isinstance(read.content, Head):
        raise ModrulesError(read.problems)
    return read.content


def known_head(folder: Path, memo: Memo) -> Head | None:
    """The head of the ruleset in ``folder`` as far as it can be used; None where it cannot."""
    content = _read_head(folder, memo).content
    return content if isinstance(content, Head) else None


def is_known(head: Head) -> bool:
    """Whether it says itself which ruleset and edition it is of; if not, that has been told."""
    return head.ruleset.at >= 0 and head.edition.at >= 0


def read_layer(folder: Path, memo: Memo) -> Layer:
    """The folder with all its files; what is wrong with them is in ``problems``."""
    read = _read_head(folder, memo)
    head = read.content
    if not isinstance(head, Head):
        head = Head.model_validate(plant(_STAND_IN, ""))
    layer = Layer(folder, head, {}, list(read.problems), set(read.left_out), read.whole)
    _add_items(layer, head)
    listed: dict[Path, Scalar] = {}
    for name in head.files:
        try:
            path = inside(folder, name, name.place, "the file")
        except ModrulesError as error:
            layer.problems += error.problems
            layer.whole = False
            continue
        if path.resolve() in listed or path.resolve() == (folder / HEAD_FILE).resolve():
            layer.problems.append(Problem(f"the file `{name}` is listed twice", name.place))
            continue
        listed[path.resolve()] = name
        read = _read_file(path, Sections, memo, listed_at=name.place)
        layer.problems += read.problems
        layer.left_out |= read.left_out
        layer.whole = layer.whole and read.whole
        if read.content is not None:
            _add_items(layer, read.content)
    _find_texts(layer)
    _find_editions(layer)
    return layer


def _add_items(layer: Layer, content: Sections) -> None:
    for section in SECTIONS:
        found: tuple[Item, ...] = getattr(content, section)
        if not found:
            continue
        known = layer.items.setdefault(section, {})
        for item in found:
            layer.problems += shape_problems(item)
            first = known.get(item.id)
            if first is None:
                known[item.id] = item
                continue
            layer.problems.append(
                Problem(
                    f"there is a {ITEM_NAMES[section]} `{item.id}` already",
                    item.place,
                    f"the first is at {first.place}; give one of them another id",
                )
            )


def _find_texts(layer: Layer) -> None:
    for text in layer.items.get("texts", {}).values():
        name: Scalar | None = getattr(text, "file", None)
        if name is None:
            continue
        try:
            path = inside(layer.folder, name, name.place, "the text")
            there = is_file(path)
        except ModrulesError as error:
            layer.problems += error.problems
            continue
        if there:
            layer.text_files[text.id] = path
        else:
            layer.problems.append(
                Problem(
                    f"the text `{text.id}` names the file `{name}`, which is not there",
                    name.place,
                    "put the file there, or leave `file` out: the text counts as not supplied",
                    level="warning",
                )
            )


def _find_editions(layer: Layer) -> None:
    for name in layer.head.editions:
        try:
            path = edition_in(layer.folder, name, name.place)
            there = is_file(path / HEAD_FILE)
        except ModrulesError as error:
            layer.problems += error.problems
            continue
        if not there:
            layer.problems.append(
                Problem(
                    f"the edition `{name}` has no {HEAD_FILE} in a folder of that name", name.place
                )
            )


def _read_head(folder: Path, memo: Memo) -> Read:
    """The head as far as it can be used; a link out of the folder is refused."""
    path = folder / HEAD_FILE
    try:
        return _read_file(inside(folder, HEAD_FILE, Place(str(path)), "the file"), Head, memo)
    except ModrulesError as error:
        return Read(None, error.problems, frozenset(), False)


def _read_file(
    path: Path, model: type[SectionsT], memo: Memo, listed_at: Place | None = None
) -> Read:
    """The file as ``model``; where it is wrong, as much of it as is right."""
    key = (path.resolve(), model)
    if key in memo:
        return memo[key]
    try:
        text = yaml_of(path)
        read = _read_text if len(text) <= _MOST_REMEMBERED else _read_text.__wrapped__
        memo[key] = read(text, str(path), model)
    except ModrulesError as error:
        problems = tuple(error.problems)
        if listed_at is not None and not path.exists():
            problems = (Problem(f"the listed file `{path.name}` is not there", listed_at),)
        memo[key] = Read(None, problems, frozenset(), False)
    return memo[key]


@lru_cache(maxsize=128)
def _read_text(text: str, name: str, model: type[SectionsT]) -> Read:
    """What the text of a file says. Rulesets and editions have most of their files in common."""
    return read_tree(parse_mapping(text, name), model)


def read_tree(tree: Map, model: type[SectionsT]) -> Read:
    """What a file says as ``model``; where it is wrong, as much of it as is right."""
    try:
        return Read(model.model_validate(tree), (), frozenset(), True)
    except ValidationError as error:
        # Only who has made a mistake waits for jsonschema to be imported.
        from modrules.ruleset.explain import explain

        content, left_out, whole = _salvage(tree, model)
        return Read(content, tuple(explain(tree, model, error)), frozenset(left_out), whole)


def _salvage(tree: Map, model: type[SectionsT]) -> tuple[SectionsT, set[tuple[str, str]], bool]:
    """The valid keys and items of ``tree``, the items left out, and whether no more is lost."""
    stand_in = plant(_STAND_IN, "")
    assert isinstance(stand_in, Map)
    usable: dict[str, object] = dict(stand_in) if model is Head else {}
    left_out: set[tuple[str, str]] = set()
    whole = True
    for key, node in tree.items():
        field_info = model.model_fields.get(key)
        if field_info is None:
            whole = False
        elif key in SECTIONS and isinstance(node, Seq):
            usable[key] = kept = []
            for item in node:
                if _fits(model, key, [item]):
                    kept.append(item)
                elif isinstance(item, Map) and isinstance(item.get("id"), Scalar):
                    left_out.add((key, str(item["id"])))
                else:
                    whole = False
        elif _fits(model, key, node):
            usable[key] = node
        else:
            whole = False
    return model.model_validate(usable), left_out, whole


def _fits(model: type[Sections], key: str, value: object) -> bool:
    """Whether ``value`` can stand under ``key``."""
    stand_in = plant(_STAND_IN, "") if model is Head else Map()
    assert isinstance(stand_in, Map)
    try:
        model.model_validate({**stand_in, key: value})
    except ValidationError:
        return False
    return True
