"""Building on: finding the rulesets underneath, and laying one on the other.

    stack(folder, library, memo) -> Stack       the layers, from the bottom up
    flatten(layers, problems) -> items, left_out

A new id adds an item; one that is there underneath needs `replaces: true` and swaps the whole
item, at its old position; `removes` withdraws one. Everything else about ids is a problem.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from modrules.files import is_file
from modrules.problems import ModrulesError, Problem, nearest
from modrules.ruleset.find import HEAD_FILE, edition_in, inside, shipped_folder, shipped_ids
from modrules.ruleset.layer import Layer, Memo, is_known, known_head, read_layer
from modrules.ruleset.models import BuildsOn, Item
from modrules.ruleset.tree import Scalar
from modrules.ruleset.words import ITEM_NAMES, SECTIONS

#: How many rulesets may build on each other.
MAX_CHAIN = 20

Items = dict[str, dict[str, Item]]


@dataclass(frozen=True, slots=True)
class Stack:
    """The layers from the bottom up, and what went wrong in finding them."""

    layers: tuple[Layer, ...]
    problems: tuple[Problem, ...]
    #: Whether all layers were found and all their files could be read.
    whole: bool


def stack(folder: Path, library: Sequence[Path], memo: Memo) -> Stack:
    """The ruleset in ``folder`` and, one after the other, what it builds on."""
    problems: list[Problem] = []
    layers = [read_layer(folder, memo)]
    found = True
    while (below := layers[-1].head.builds_on) is not None:
        try:
            path = _find_below(layers[-1], below, library, memo)
            layer = read_layer(path, memo)
            _refuse_circle(layers, layer, below)
        except ModrulesError as error:
            problems += error.problems
            found = False
            break
        problems += _wrong_edition(below, layer)
        layers.append(layer)
    layers.reverse()
    return Stack(tuple(layers), tuple(problems), found and all(each.whole for each in layers))


def flatten(layers: Sequence[Layer], problems: list[Problem]) -> tuple[Items, set[tuple[str, str]]]:
    """The items that the layers come to, and those that are there but cannot be used."""
    items: Items = {}
    left_out: set[tuple[str, str]] = set()
    whole = True
    for index, layer in enumerate(layers):
        below = layers[index - 1] if index else None
        removed = _withdraw(layer, below, items, left_out, whole, problems)
        whole = whole and layer.whole
        for section in SECTIONS:
            known = items.setdefault(section, {})
            for name, item in layer.items.get(section, {}).items():
                there = name in known or (section, name) in left_out
                if item.replaces and (section, name) in removed:
                    problems.append(_replaces_removed(section, item))
                elif item.replaces and not there and whole:
                    problems.append(_replaces_nothing(section, item, below, known))
                elif there and not item.replaces:
                    problems.append(_there_already(section, item, below, known.get(name)))
                elif (section, name) in removed:
                    problems.append(_replaces_removed(section, item))
                known[name] = item
                left_out.discard((section, name))
        left_out |= layer.left_out - {
            (section, name) for section in layer.items for name in layer.items[section]
        }
    return items, left_out


def _withdraw(
    layer: Layer,
    below: Layer | None,
    items: Items,
    left_out: set[tuple[str, str]],
    whole: bool,
    problems: list[Problem],
) -> set[tuple[str, str]]:
    """Take out of ``items`` what ``layer`` removes; (section, id) of each."""
    removed: set[tuple[str, str]] = set()
    for removal in layer.head.removes:
        section, name = str(removal.section), str(removal.id)
        called = f"the {ITEM_NAMES[section]} `{name}`"
        if (section, name) in removed:
            problems.append(Problem(f"{called} is withdrawn twice", removal.id.place))
        elif name in items.get(section, {}):
            del items[section][name]
            removed.add((section, name))
        elif (section, name) in left_out:
            left_out.discard((section, name))
            removed.add((section, name))
        elif below is None:
            problems.append(
                Problem(
                    f"{called} cannot be withdrawn: this ruleset builds on no other",
                    removal.id.place,
                )
            )
        elif whole:
            problems.append(
                Problem(
                    f"{called} is not in `{below.head.ruleset}` and cannot be withdrawn",
                    removal.id.place,
                    nearest(name, items.get(section, {})),
                )
            )
    return removed


def _replaces_nothing(
    section: str, item: Item, below: Layer | None, known: dict[str, Item]
) -> Problem:
    where = f"`{below.head.ruleset}` has none of this id" if below else "it builds on no other"
    return Problem(
        f"the {ITEM_NAMES[section]} `{item.id}` replaces nothing: {where}",
        item.place,
        nearest(item.id, known) or "remove `replaces`",
    )


def _there_already(section: str, item: Item, below: Layer | None, first: Item | None) -> Problem:
    owner = f" in `{below.head.ruleset}`" if below else ""
    where = f"it is at {first.place}; " if first is not None else ""
    return Problem(
        f"there is a {ITEM_NAMES[section]} `{item.id}`{owner} already",
        item.place,
        f"{where}write `replaces: true` on this one to replace it, or give it another id",
    )


def _replaces_removed(section: str, item: Item) -> Problem:
    return Problem(
        f"the {ITEM_NAMES[section]} `{item.id}` is withdrawn and given as well",
        item.place,
        "to replace it, write `replaces: true` on it and no entry under `removes`",
    )


def _find_below(layer: Layer, below: BuildsOn, library: Sequence[Path], memo: Memo) -> Path:
    """The folder of the ruleset that ``layer`` builds on."""
    if below.folder is not None and below.ruleset is None:
        path = inside(layer.folder, below.folder, below.folder.place, "the folder")
        if is_file(path / HEAD_FILE):
            return path
        raise ModrulesError(
            Problem(
                f"the folder `{below.folder}`, on which this ruleset builds, has no {HEAD_FILE}",
                below.folder.place,
            )
        )
    if below.ruleset is None or below.folder is not None:
        raise ModrulesError(
            Problem(
                "`builds_on` names either a `ruleset` or a `folder`",
                below.place if below.place.file else layer.head.ruleset.place,
                'write {ruleset: ID, edition: "..."} or {folder: NAME}',
            )
        )
    if below.edition is None:
        raise ModrulesError(
            Problem(
                f"`builds_on` does not say which edition of `{below.ruleset}` is meant",
                below.ruleset.place,
                f'write {{ruleset: {below.ruleset}, edition: "..."}}',
            )
        )
    return _look_up(below.ruleset, below.edition, library, memo)


def _look_up(name: Scalar, edition: Scalar, library: Sequence[Path], memo: Memo) -> Path:
    """The folder of the ruleset ``name`` in that edition: in the library, else a shipped one."""
    editions: list[str] = []
    for folder in _candidates(name, library, memo):
        head = known_head(folder, memo)
        if head is None or not is_known(head):
            # Wrong in itself: what is wrong is told when the whole of it is read.
            return folder
        if head.ruleset != name:
            continue
        if head.edition == edition:
            return folder
        editions.append(str(head.edition))
        for other in head.editions:
            path = edition_in(folder, other, other.place)
            older = known_head(path, memo)
            if older is not None and older.ruleset == name:
                if older.edition == edition:
                    return path
                editions.append(str(older.edition))
    if editions:
        raise ModrulesError(
            Problem(
                f"there is no edition `{edition}` of `{name}`",
                edition.place,
                f"there is: {', '.join(dict.fromkeys(editions))}",
            )
        )
    ids = [*shipped_ids(), *(each.name for folder in library for each in _folders(folder))]
    raise ModrulesError(
        Problem(
            f"there is no ruleset `{name}` to build on",
            name.place,
            nearest(name, ids) or f"shipped are: {', '.join(shipped_ids()) or 'none'}",
        )
    )


def _candidates(name: str, library: Sequence[Path], memo: Memo) -> list[Path]:
    found: list[Path] = []
    for folder in library:
        if (folder / HEAD_FILE).is_file():
            head = known_head(folder, memo)
            if head is not None and head.ruleset == name:
                found.append(folder)
        if (folder / name / HEAD_FILE).is_file():
            found.append(folder / name)
    if (shipped_folder() / name / HEAD_FILE).is_file():
        found.append(shipped_folder() / name)
    return found


def _folders(folder: Path) -> list[Path]:
    if not folder.is_dir():
        return []
    return [each for each in folder.iterdir() if (each / HEAD_FILE).is_file()]


def _refuse_circle(layers: Sequence[Layer], layer: Layer, below: BuildsOn) -> None:
    """ModrulesError where ``layer`` is one of those above it, or the chain is too long."""
    here = layer.folder.resolve()
    for index, above in enumerate(layers):
        if above.folder.resolve() == here or (is_known(layer.head) and _pin(above) == _pin(layer)):
            names = [f"`{each.head.ruleset}`" for each in (*layers[index:], layer)]
            way = f": {' on '.join(names)}" if len(names) > 2 else ""
            raise ModrulesError(
                Problem(
                    f"the ruleset {names[0]} builds on itself{way}",
                    below.place,
                    "let it build on another ruleset, or on another edition",
                )
            )
    if len(layers) >= MAX_CHAIN:
        raise ModrulesError(
            Problem(f"more than {MAX_CHAIN} rulesets build on each other", below.place)
        )


def _pin(layer: Layer) -> tuple[str, str]:
    return str(layer.head.ruleset), str(layer.head.edition)


def _wrong_edition(below: BuildsOn, layer: Layer) -> list[Problem]:
    if below.edition in (None, layer.head.edition) or not is_known(layer.head):
        return []
    return [
        Problem(
            f"`{below.folder or below.ruleset}` holds the edition `{layer.head.edition}`, "
            f"and `{below.edition}` is asked for",
            below.edition.place,
            "name the edition that is there, once the change of edition has been looked at",
        )
    ]
