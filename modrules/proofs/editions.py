"""The difference between two editions of a ruleset: in words.

    differences(old, new) -> list[Difference]

Checks are compared as their author wrote them; a quantity that changed is named beside the
checks that rest on it. ``modrules.proofs.effects`` tells whose answer changes.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from difflib import SequenceMatcher
from typing import TYPE_CHECKING, Any, Final

from modrules.language import syntax as s
from modrules.language.parser import parse
from modrules.problems import Place
from modrules.screening.prepared import Ruleset

if TYPE_CHECKING:
    from modrules.ruleset.models import Band, Check, Item

SECTIONS: Final = {
    "checks": "check",
    "certifications": "certification",
    "quantities": "quantity",
    "tables": "table",
    "loads": "load",
    "facts": "fact",
    "kinds": "kind of modification",
    "texts": "text",
}
_TEXTS: Final = {
    "title": "title",
    "otherwise": "outcome where it is not met",
    "certification": "certification",
    "question": "question to the certifier",
    "caution": "caution",
    "advice": "advice",
}
_EXPRESSIONS: Final = {
    "applies_if": "what it applies to",
    "requires": "requirement",
    "measures": "what it measures",
}
#: The ends of a band, as they are written.
ENDS: Final = {"over": "over", "over_or_at": "from", "up_to": "up_to", "under": "under"}


@dataclass(frozen=True, slots=True)
class Difference:
    """One difference: the item, what became of it in words, and where it stands now."""

    section: str
    id: str
    title: str
    change: str
    place: Place | None


def differences(old: Ruleset, new: Ruleset) -> list[Difference]:
    """Everything that is new, withdrawn or changed, section by section."""
    found: list[Difference] = []
    for section, name in SECTIONS.items():
        before, after = old.flat.section(section), new.flat.section(section)
        for key, item in before.items():
            if key not in after:
                found.append(_difference(section, item, f"{name} withdrawn", None))
        for key, item in after.items():
            if key not in before:
                found.append(_difference(section, item, f"new {name}", item.place))
            else:
                for change in changes(section, before[key], item):
                    found.append(_difference(section, item, change, item.place))
    return found


def _difference(section: str, item: Item, change: str, place: Place | None) -> Difference:
    title = str(getattr(item, "title", None) or item.id)
    return Difference(section, str(item.id), title, change, place)


def changes(section: str, old: Any, new: Any) -> Iterator[str]:
    """What changed in one item, in words."""
    if section == "checks":
        yield from _check(old, new)
        return
    before, after = _content(old), _content(new)
    if section == "quantities" and before.get("formula") != after.get("formula"):
        yield from expression("formula", old.formula, new.formula)
        before.pop("formula"), after.pop("formula")
    for key in [*before, *(key for key in after if key not in before)]:
        if before.get(key) != after.get(key):
            yield _from_to(key.replace("_", " "), before.get(key), after.get(key))


def _content(item: Any) -> dict[str, Any]:
    content: dict[str, Any] = item.model_dump(
        mode="json", by_alias=True, exclude_defaults=True, exclude={"replaces", "file", "id"}
    )
    return content


def _from_to(what: str, old: object, new: object) -> str:
    if old is None:
        return f"{what} added: {_short(new)}"
    if new is None:
        return f"{what} taken out: {_short(old)}"
    if isinstance(old, list | dict) or isinstance(new, list | dict):
        return f"{what} changed"
    return f"{what} from {_short(old)} to {_short(new)}"


def _short(value: object) -> str:
    text = " ".join(str(value).split())
    return text if len(text) <= 160 else f"{text[:159]}…"


# -- checks ----------------------------------------------------------------------------------


def _check(old: Check, new: Check) -> Iterator[str]:
    for name, words in _TEXTS.items():
        if getattr(old, name) != getattr(new, name):
            yield _from_to(words, getattr(old, name), getattr(new, name))
    for name, words in (("per", "subject"), ("about", "filed under")):
        if getattr(old, name) != getattr(new, name):
            yield f"{words} from {_names(getattr(old, name))} to {_names(getattr(new, name))}"
    if old.unfinished != new.unfinished:
        yield "still to be written" if new.unfinished else "written now"
    if old.in_force != new.in_force:
        yield _from_to("in force", _days(old), _days(new))
    for name, words in _EXPRESSIONS.items():
        yield from expression(words, getattr(old, name), getattr(new, name))
    yield from _exemptions(old, new)
    yield from _bands(old, new)
    if [_content_of(c) for c in old.cites] != [_content_of(c) for c in new.cites]:
        yield "clauses that it rests on changed"


def _content_of(model: Any) -> dict[str, Any]:
    content: dict[str, Any] = model.model_dump(mode="json", exclude_defaults=True)
    return content


def _names(names: tuple[Any, ...]) -> str:
    return " and ".join(str(name) for name in names)


def _days(check: Check) -> str | None:
    period = check.in_force
    return None if period is None else f"{period.first_day} to {period.last_day or 'any day'}"


def expression(what: str, old: Any, new: Any) -> Iterator[str]:
    """What changed in an expression: its limits one by one, where nothing else did."""
    if old is None or new is None:
        if old is not None or new is not None:
            yield _from_to(what, old, new)
        return
    before, after = parse(old), parse(new)
    if before == after:
        return
    numbers = list(_numbers(before, after))
    if None in numbers:
        yield f"{what} from ({_short(old)}) to ({_short(new)})"
        return
    for pair in numbers:
        assert pair is not None
        if pair[0] != pair[1]:
            yield f"limit in the {what} from {s.text_of(pair[0])} to {s.text_of(pair[1])}"


def _numbers(old: s.Syntax, new: s.Syntax) -> Iterator[tuple[s.Syntax, s.Syntax] | None]:
    """Values that stand in the same place; None where something else differs."""
    if isinstance(old, s.Number | s.Date) and isinstance(new, s.Number | s.Date):
        yield old, new
        return
    parts, others = s.parts_of(old), s.parts_of(new)
    if type(old) is not type(new) or len(parts) != len(others) or _own(old) != _own(new):
        yield None
        return
    for part, other in zip(parts, others, strict=True):
        yield from _numbers(part, other)


def _own(piece: s.Syntax) -> list[object]:
    """What a piece says itself, its parts aside."""
    names = ("operator", "name", "value", "negated", "function", "subject")
    found: list[object] = [getattr(piece, name, None) for name in names]
    if isinstance(piece, s.Over):
        found += [piece.body is None, piece.where is None, piece.default is None]
    return found


def _exemptions(old: Check, new: Check) -> Iterator[str]:
    before = {str(e.condition): e for e in old.exempt_if}
    after = {str(e.condition): e for e in new.exempt_if}
    gone = [e for text, e in before.items() if text not in after]
    come = [e for text, e in after.items() if text not in before]
    for left, right in zip(gone, come, strict=False):
        yield from expression("exemption", left.condition, right.condition)
    for each in gone[len(come) :]:
        yield f"exemption withdrawn: {_short(each.condition)}"
    for each in come[len(gone) :]:
        yield f"new exemption: {_short(each.condition)}"


def _bands(old: Check, new: Check) -> Iterator[str]:
    before = [_content_of(band) for band in old.bands]
    after = [_content_of(band) for band in new.bands]
    keys = [[str(sorted(each.items())) for each in side] for side in (before, after)]
    for tag, i, j, k, m in SequenceMatcher(None, keys[0], keys[1], autojunk=False).get_opcodes():
        if tag == "equal":
            continue
        if tag == "replace" and j - i == m - k:
            for left, right in zip(old.bands[i:j], new.bands[k:m], strict=True):
                yield from _band(left, right)
            continue
        # Where bands come and go, those of one outcome and form are taken for the same one.
        left_over = list(new.bands[k:m])
        for band in old.bands[i:j]:
            same = next((each for each in left_over if _form(each) == _form(band)), None)
            if same is None:
                yield f"band withdrawn: {band_words(band)}"
            else:
                left_over.remove(same)
                yield from _band(band, same)
        for band in left_over:
            yield f"new band: {band_words(band)}"


def _form(band: Band) -> tuple[object, ...]:
    """The outcome of a band, and which of its parts it has."""
    parts = (getattr(band, name) is None for name in (*ENDS, "only_if", "unless"))
    return (str(band.outcome), band.certification, *parts)


def _band(old: Band, new: Band) -> Iterator[str]:
    same = all(
        (getattr(old, name) is None) == (getattr(new, name) is None)
        for name in (*ENDS, "only_if", "unless")
    )
    if not same or old.outcome != new.outcome:
        yield f"band from ({band_words(old)}) to ({band_words(new)})"
        return
    for name, word in ENDS.items():
        left, right = getattr(old, name), getattr(new, name)
        if left is not None and parse(left) != parse(right):
            yield f"limit of the band {old.outcome} from {word} {left} to {word} {right}"
    for name in ("only_if", "unless"):
        yield from expression(f"condition of the band {old.outcome}", *_pair(old, new, name))
    if old.certification != new.certification:
        yield _from_to(
            f"certification of the band {old.outcome}", *_pair(old, new, "certification")
        )


def _pair(old: Band, new: Band, name: str) -> tuple[Any, Any]:
    return getattr(old, name), getattr(new, name)


def band_words(band: Band) -> str:
    """A band as one reads it aloud."""
    parts = [f"{word} {getattr(band, name)}" for name, word in ENDS.items() if getattr(band, name)]
    for name in ("only_if", "unless"):
        if getattr(band, name):
            parts.append(f"{name.replace('_', ' ')} {_short(getattr(band, name))}")
    outcome = str(band.outcome)
    if band.certification:
        outcome += f" ({band.certification})"
    return f"{', '.join(parts) or 'any'}: {outcome}"


def changed_quantities(old: Ruleset, new: Ruleset) -> Mapping[str, list[str]]:
    """Quantities that both have and whose formula differs, and the checks that rest on them."""
    from modrules.language.tree import walk

    changed = {
        str(name)
        for name, item in new.flat.quantities.items()
        if name in old.flat.quantities
        and str(item.formula) != str(old.flat.quantities[name].formula)
    }
    found: dict[str, list[str]] = {name: [] for name in sorted(changed)}
    for check in new.typed.checks:
        used = {n.value[0] for n in walk(check.nodes()) if n.op == "quantity"}
        for name in used & changed:
            found[name].append(check.id)
    return found
