"""Several clauses in one citation: lists and ranges, and which clauses are in them.

``4(a) and (c)``, ``ss 4, 5 and 7``, ``Schedule 1, items 1 to 3``, ``4-6``. A citation is to
one clause, so that none of them is chosen; they are told. What is left out in a later
one (``(c)`` for ``4(c)``) is taken from the one before it.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Iterator
from itertools import islice
from typing import NamedTuple

from modrules.texts import outline as ol
from modrules.texts.citations import assemble, tidy
from modrules.texts.lookup import Lookup
from modrules.texts.numbers import styles_of
from modrules.texts.spelling import Step, steps_in

_DASH = re.compile(r"(?<=[\w).])[‐‑‒–—−-](?=[\w(])")
_MOST_DASHES = 6  # places tried at which a dash may mean "to"
_MOST_PARTS = 40  # of a list; a longer one is not read
_MOST_READINGS = 16  # tried of one part


class Listed(NamedTuple):
    """The clauses in a list or a range, by position, and whether each that is named is there."""

    indices: list[int]
    whole: bool


def listed(lookup: Lookup, clause: str) -> Listed | None:
    """The clauses in a list or a range; None where a citation is none, or none of it is there."""
    clause = tidy(clause)
    steps = steps_in(clause)
    if steps is not None and _is_list(steps):
        found = _found(lookup, steps)
        sure = any(step.several or step.joined in ("and", "to") for step in steps)
        return found if found.indices and (found.whole or sure) else None
    for dash in islice(_DASH.finditer(clause), _MOST_DASHES):
        steps = steps_in(f"{clause[: dash.start()]} to {clause[dash.end() :]}")
        if steps is not None and _is_list(steps):
            found = _found(lookup, steps)
            if found.indices and found.whole:
                return found
    return None


def _is_list(steps: list[Step]) -> bool:
    return 0 < sum(bool(step.joined) for step in steps) < _MOST_PARTS


def _found(lookup: Lookup, steps: list[Step]) -> Listed:
    """The clauses that joined steps name: of each part the first reading that leads anywhere."""
    indices: dict[int, None] = {}
    whole = True
    start, before = -1, list[Step]()
    parts = list(_parts(steps))
    tail = _tail(parts)
    for part in parts:
        joined = part[0].joined
        last: list[int] = []
        for reading in islice(_readings(before, part, tail, joined), _MOST_READINGS):
            wanted = assemble([step._replace(joined="") for step in reading])
            last = lookup.led_to(wanted) if wanted is not None else []
            if joined == "to":
                last = [index for index in last if index > start >= 0]
            if last:
                before = [step for step in reading if step not in tail]
                break
        whole = whole and bool(last)
        if joined == "to" and len(last) == 1:
            indices.update(dict.fromkeys(_between(lookup, start, last[0])))
        indices.update(dict.fromkeys(last))
        start = last[0] if len(last) == 1 else -1
        before = before or [step for step in part if step not in tail]
    return Listed(list(indices), whole)


def _parts(steps: list[Step]) -> Iterator[list[Step]]:
    """Steps cut where they are joined."""
    part: list[Step] = []
    for step in steps:
        if step.joined and part:
            yield part
            part = []
        part.append(step)
    yield part


def _tail(parts: list[list[Step]]) -> list[Step]:
    """What all parts are ``of``: the section of ``paragraphs (a) and (b) of section 4``."""
    last = parts[-1]
    at = next((at for at, step in enumerate(last) if step.of), len(last))
    earlier = any(step.of for part in parts[:-1] for step in part)
    return [] if earlier or at == 0 else last[at:]


def _readings(
    before: list[Step], part: list[Step], tail: list[Step], joined: str
) -> Iterator[list[Step]]:
    """What a part may mean after the one before it, the likelier first."""
    own = [step for step in part if step not in tail]
    for steps in _completed(before, own, joined):
        yield [*steps, *tail]
    for steps in _completed(before, own, joined) if tail and own == part else ():
        yield steps
    yield part


def _completed(before: list[Step], part: list[Step], joined: str) -> Iterator[list[Step]]:
    """A part with what it leaves out, taken from the one before it."""
    first = part[0]
    if not before:
        yield part
        return
    places = list(reversed(list(enumerate(before))))
    if first.number:
        for at, step in places:
            if step.number and (not first.word or step.kind == first.kind):
                named = first if first.word else step
                alike = first._replace(kind=named.kind, word=named.word, of=step.of)
                head, dot, _ = step.number.rpartition(".")
                within = alike._replace(number=f"{head}.{first.number}")
                ways = [alike, within] if dot and "." not in first.number else [alike]
                for way in reversed(ways) if joined == "to" else ways:
                    yield [*before[:at], way, *part[1:]]
    label = first.items[0] if first.items and not first.number else ""
    label = label or (first.number if not first.kind else "")
    rest = first.items[1:] if not first.number else first.items
    for at, step in places if label else ():
        for place in reversed(range(len(step.items))):
            if set(styles_of(step.items[place])) & set(styles_of(label)):
                items = (*step.items[:place], label, *rest)
                yield [*before[:at], step._replace(items=items), *part[1:]]


def _between(lookup: Lookup, first: int, last: int) -> Iterator[int]:
    """The clauses of a range, those alone that no other one in it holds."""
    out = lookup.outline
    kinds = {out.kinds[first], out.kinds[last]}
    holding = set(lookup.outwards(last)) - {last}
    index = first
    while index <= last:
        alike = out.kinds[index] in kinds and index not in holding
        if alike:
            yield index
        if not alike and (index in holding or out.kinds[index] in (ol.PART, ol.HEADING)):
            index += 1  # what is in a part of the text is looked through
        else:
            index = bisect_left(out.starts, out.ends[index], lo=index + 1)
