"""The flattened ruleset: one immutable value with everything that the layers come to.

    FlatRuleset                                                  the value
    from_canonical(data, text_files, folder) -> FlatRuleset      the same from its canonical bytes
    make_flat(...) -> FlatRuleset                                the same from layers

Its digest is that of its content. Layout, comments, the order of keys, the files over which it
is spread, the way in which it was built up and where a text lies are no part of that; the order
of items is, since reports follow it.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from modrules.problems import ModrulesError
from modrules.ruleset.source import collector_paused
from modrules.ruleset.tree import Scalar, Source
from modrules.ruleset.words import SECTIONS

if TYPE_CHECKING:
    from modrules.ruleset.models import (
        Certification,
        Check,
        Citation,
        Condition,
        Fact,
        Head,
        Item,
        Kind,
        Load,
        Period,
        Quantity,
        Subject,
        Table,
        TextSource,
        WordSet,
    )

#: Raised when the meaning of the canonical bytes changes: digests change with it.
_FORM = 1


@dataclass(frozen=True, slots=True, eq=False)
class FlatRuleset:
    """A ruleset with all that it builds on: each section maps ids to items, in order.

    Two of them are equal when their content is, wherever it was read from.
    """

    id: Scalar
    title: Scalar
    edition: Scalar
    in_force: Period
    conditions: Mapping[str, Condition]
    word_sets: Mapping[str, WordSet]
    subjects: Mapping[str, Subject]
    kinds: Mapping[str, Kind]
    facts: Mapping[str, Fact]
    quantities: Mapping[str, Quantity]
    tables: Mapping[str, Table]
    loads: Mapping[str, Load]
    certifications: Mapping[str, Certification]
    texts: Mapping[str, TextSource]
    checks: Mapping[str, Check]
    #: (id, edition) of each ruleset, from the one at the bottom to this one.
    chain: tuple[tuple[str, str], ...]
    #: What all rulesets of the chain say on every report, from the bottom up.
    cautions: tuple[Scalar, ...]
    #: Files of the shipped texts, by the id of the text.
    text_files: Mapping[str, Path]
    #: The content as bytes: the same for the same content, however it is laid out in files.
    canonical: bytes
    #: sha256 of ``canonical``, in hexadecimal.
    digest: str
    folder: Path

    def section(self, name: str) -> Mapping[str, Item]:
        """The section of that name."""
        found: Mapping[str, Item] = getattr(self, name)
        return found

    def citing(self) -> Iterator[tuple[Scalar, Citation]]:
        """Every citation after the id of the certification or check that makes it."""
        for certification in self.certifications.values():
            for citation in certification.cites:
                yield certification.id, citation
        for check in self.checks.values():
            for citation in (*check.cites, *(c for e in check.exempt_if for c in e.cites)):
                yield check.id, citation

    def __eq__(self, other: object) -> bool:
        return isinstance(other, FlatRuleset) and self.canonical == other.canonical

    def __hash__(self) -> int:
        return hash(self.canonical)

    def __reduce__(self) -> tuple[Any, ...]:
        return _rebuilt, (self.canonical, dict(self.text_files), self.folder)


def make_flat(
    head: Head,
    items: Mapping[str, Mapping[str, Item]],
    chain: tuple[tuple[str, str], ...],
    cautions: tuple[Scalar, ...],
    text_files: Mapping[str, Path],
    folder: Path,
) -> FlatRuleset:
    """The value for the head at the top and the items of all layers."""
    content = {
        "form": _FORM,
        "ruleset": head.ruleset,
        "title": head.title,
        "edition": head.edition,
        "in_force": head.in_force.model_dump(mode="json", by_alias=True, exclude_defaults=True),
        "chain": chain,
        "cautions": cautions,
        "sections": {
            section: [_content(item) for item in items[section].values()]
            for section in SECTIONS
            if items.get(section)
        },
    }
    canonical = json.dumps(
        content, sort_keys=True, ensure_ascii=False, separators=(",", ":")
    ).encode()
    return _assembled(head, items, chain, cautions, text_files, folder, canonical)


def _assembled(
    head: Head,
    items: Mapping[str, Mapping[str, Item]],
    chain: tuple[tuple[str, str], ...],
    cautions: tuple[Scalar, ...],
    text_files: Mapping[str, Path],
    folder: Path,
    canonical: bytes,
) -> FlatRuleset:
    sections: Any = {name: MappingProxyType(dict(items.get(name, {}))) for name in SECTIONS}
    return FlatRuleset(
        id=head.ruleset,
        title=head.title,
        edition=head.edition,
        in_force=head.in_force,
        **sections,
        chain=chain,
        cautions=cautions,
        text_files=MappingProxyType(dict(text_files)),
        canonical=canonical,
        digest=sha256(canonical).hexdigest(),
        folder=folder,
    )


def from_canonical(
    data: bytes, text_files: Mapping[str, Path] | None = None, folder: Path = Path()
) -> FlatRuleset:
    """The ruleset whose ``canonical`` is ``data``; its texts know no places.

    For bytes of this engine's own making (a cache, a pickle): ModrulesError where they are not.
    """
    from modrules.ruleset.models import Head

    try:
        with collector_paused():
            content = json.loads(data)
            if content.pop("form") != _FORM:
                raise ValueError("another form")
            chain = tuple((str(name), str(edition)) for name, edition in content.pop("chain"))
            tree = _grown(content | content.pop("sections"), Source("a saved ruleset"))
            head = Head.model_validate(tree)
            items = {name: {item.id: item for item in getattr(head, name)} for name in SECTIONS}
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        raise ModrulesError("these are not the bytes of a saved ruleset") from error
    return _assembled(head, items, chain, head.cautions, text_files or {}, folder, data)


def _grown(data: Any, source: Source) -> Any:
    """The tree of what json has read: as ``plant`` gives, without the path to each value."""
    if isinstance(data, dict):
        return {key: _grown(value, source) for key, value in data.items()}
    if isinstance(data, list):
        return [_grown(each, source) for each in data]
    if isinstance(data, bool):
        return Scalar("true" if data else "false", source)
    return Scalar(data, source)


def _rebuilt(canonical: bytes, text_files: dict[str, Path], folder: Path) -> FlatRuleset:
    return from_canonical(canonical, text_files, folder)


def _content(item: Item) -> dict[str, Any]:
    """What an item says: not how it came to stand there, nor where a text lies."""
    content: dict[str, Any] = item.model_dump(
        mode="json", by_alias=True, exclude_defaults=True, exclude={"replaces", "file"}
    )
    return content
