"""The reference page of a ruleset: what may be named in it, made from what it declares."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from itertools import groupby
from typing import TYPE_CHECKING

from modrules.reports.blocks import Block, Heading, Items, Pairs, Sheet, Table, Text
from modrules.reports.layout import clean
from modrules.trade.functions import FUNCTIONS

if TYPE_CHECKING:
    from modrules.ruleset.flat import FlatRuleset
    from modrules.ruleset.models import Column, Fact, Key, Range
    from modrules.ruleset.uses import Uses

_DIRECTIONS = {"up": "moves the result up", "down": "moves the result down"}
_NOTHING = "nothing in this ruleset"


def reference(flat: FlatRuleset, used: Uses) -> Sheet:
    """Facts by subject, quantities, tables, functions, certifications, kinds of modification."""
    parts = [
        _facts(flat, used),
        _quantities(flat, used),
        _tables(flat, used),
        _functions(used),
        _certifications(flat, used),
        _kinds(flat),
    ]
    blocks = [block for part in parts for block in part]
    return Sheet(
        title=f"Reference of {clean(flat.title)}, edition {clean(flat.edition)}",
        subtitle="What an expression of this ruleset may name, and what a submission may say.",
        answer="",
        blocks=(*_about(flat), *_contents(blocks), *blocks),
    )


def _about(flat: FlatRuleset) -> Iterator[Block]:
    yield Heading(2, "This ruleset")
    last = flat.in_force.last_day
    until = f" to {last.isoformat()}" if last is not None else ", no end is known"
    chain = " on ".join(f"{name} {edition}" for name, edition in reversed(flat.chain))
    counts = {
        "facts": len(flat.facts),
        "quantities": len(flat.quantities),
        "tables": len(flat.tables),
        "functions": len(FUNCTIONS),
        "certifications": len(flat.certifications),
        "kinds of modification": len(flat.kinds),
        "checks": len(flat.checks),
    }
    yield Pairs(
        (
            ("Ruleset", clean(chain)),
            ("In force", f"{flat.in_force.first_day.isoformat()}{until}"),
            ("Digest", flat.digest),
            ("Holds", ", ".join(f"{count} {name}" for name, count in counts.items())),
        )
    )


def _contents(blocks: Iterable[Block]) -> Iterator[Block]:
    """The parts, and the subjects whose facts there are, each leading to its place."""
    headings = (block for block in blocks if isinstance(block, Heading))
    led = [one for one in headings if any(each.startswith("part-") for each in one.anchors)]
    yield Heading(2, "What stands where")
    titles = (one.text if one.level == 2 else f"Facts: {one.text}" for one in led)
    yield Items(tuple(titles), tuple(one.anchors[0] for one in led))


def _part(title: str) -> Heading:
    return Heading(2, title, anchors=(f"part-{title.split()[0].lower()}",))


def _facts(flat: FlatRuleset, used: Uses) -> Iterator[Block]:
    yield _part("Facts")
    titles = {str(one.id): clean(one.title) for one in flat.subjects.values()}
    titles |= {str(one.id): clean(one.title) for one in flat.kinds.values()}
    lists = {str(s.id): clean(s.list) for s in flat.subjects.values() if s.list is not None}
    lists |= dict.fromkeys(map(str, flat.kinds), "modifications")
    # The facts of a subject stand together, in the order in which subjects first have one.
    order = {name: n for n, name in enumerate(dict.fromkeys(map(_subject, flat.facts)))}
    names = sorted(flat.facts, key=lambda name: order[_subject(name)])
    for subject, members in groupby(names, _subject):
        title = f"{titles.get(subject, subject)} ({subject})"
        yield Heading(3, title, anchors=(f"part-facts-{subject}",))
        if subject in lists:
            yield Text(f"Several may be given, in the list {lists[subject]} of a submission.")
        whole = flat.subjects[subject].whole_if if subject in flat.subjects else None
        if whole is not None:
            yield Pairs((("Whole if", clean(whole)),))
        for name in members:
            fact = flat.facts[name]
            yield Heading(4, clean(name), anchors=(f"fact-{name}",))
            yield Pairs(tuple(_fact(flat, fact, used)))


def _subject(name: str) -> str:
    return name.partition(".")[0]


def _fact(flat: FlatRuleset, fact: Fact, used: Uses) -> Iterator[tuple[str, str]]:
    yield "What it is", clean(fact.title)
    yield "Type", _type(flat, fact)
    if fact.listed_in is not None:
        yield "Values", f"those of the table {clean(fact.listed_in)}"
    if fact.condition is not None:
        condition = flat.conditions.get(fact.condition)
        said = f": {clean(condition.title)}" if condition is not None else ""
        yield "Measured", f"{clean(fact.condition)}{said}"
    if fact.range is not None:
        yield "Range", f"{_range(fact.range)}; nothing else is accepted"
    if fact.usual is not None:
        yield "Usual", f"{_range(fact.usual)}; anything else draws a caution"
    if fact.none_stated:
        yield "May be", "none stated (the maker states no limit)"
    if fact.safety:
        yield "Safety", "left open, it is never decided by its range alone"
    if fact.estimate is not None:
        tolerance = f" ± {clean(fact.estimate_tolerance)}" if fact.estimate_tolerance else ""
        yield "Estimated", f"{clean(fact.estimate)}{tolerance}"
    yield "Question", clean(fact.question)
    if fact.measure is not None:
        yield "How to find out", clean(fact.measure)
    yield "Used by", _users(used.facts, fact.id)


def _type(flat: FlatRuleset, item: Fact | Key | Column) -> str:
    """The type with its unit, or with the words that there are."""
    said = {"yes_no": "yes or no", "tyre_marking": "tyre marking"}.get(item.type, clean(item.type))
    if item.unit is not None:
        return f"{said}, in {clean(item.unit)}"
    words = flat.word_sets.get(item.words) if item.words is not None else None
    return f"{said}: {', '.join(map(clean, words.words))}" if words is not None else said


def _range(found: Range) -> str:
    return f"{clean(found.low)} to {clean(found.high)}"


def _users(users: Mapping[str, tuple[str, ...]], name: str) -> str:
    return ", ".join(map(clean, users.get(str(name), ()))) or _NOTHING


def _quantities(flat: FlatRuleset, used: Uses) -> Iterator[Block]:
    yield _part("Quantities")
    if not flat.quantities:
        yield Text("There are none.")
    for name, item in flat.quantities.items():
        yield Heading(3, clean(name), anchors=(f"quantity-{name}",))
        rows = [("What it is", clean(item.title)), ("Formula", clean(item.formula))]
        if item.unit is not None:
            rows.append(("Unit", clean(item.unit)))
        rows += [("Source", clean(item.source)), ("Used by", _users(used.quantities, name))]
        yield Pairs(tuple(rows))


def _tables(flat: FlatRuleset, used: Uses) -> Iterator[Block]:
    yield _part("Tables")
    if not flat.tables:
        yield Text("There are none.")
    for name, item in flat.tables.items():
        yield Heading(3, clean(name), anchors=(f"table-{name}",))
        yield Pairs(
            (
                ("What it gives", clean(item.title)),
                *((f"Key {clean(key.id)}", _key(flat, key)) for key in item.keys),
                *((f"Column {clean(one.id)}", _type(flat, one)) for one in item.columns),
                ("Source", clean(item.source)),
                ("Used by", _users(used.tables, name)),
            )
        )
        head = (*(clean(one.id) for one in item.keys), *(clean(one.id) for one in item.columns))
        rows = tuple(tuple(map(clean, row)) for row in item.rows)
        yield Table(clean(item.title), head, rows)


def _key(flat: FlatRuleset, key: Key) -> str:
    up_to = "; the first row whose key is at least the value" if key.match == "up_to" else ""
    return _type(flat, key) + up_to


def _functions(used: Uses) -> Iterator[Block]:
    yield _part("Functions")
    for name, one in FUNCTIONS.items():
        yield Heading(3, clean(name), anchors=(f"function-{name}",))
        rows = [("What it gives", clean(one.doc))]
        for parameter, word, unit, direction in zip(
            one.parameter_names, one.parameters, one.units, one.monotone, strict=True
        ):
            said = [_words(word) + (f" in {unit}" if unit else "")]
            if word != "text":
                said.append(_DIRECTIONS.get(direction or "", "must be known exactly"))
            rows.append((f"Takes {parameter.replace('_', ' ')}", ", ".join(said)))
        unit = f" in {one.result_unit}" if one.result_unit else ""
        rows.append(("Gives", f"{_words(one.result)}{unit}"))
        if one.tolerance:
            rows.append(("Tolerance", f"{float(one.tolerance * 100):g} % of the result"))
        rows += [("Source", clean(one.source)), ("Used by", _users(used.functions, name))]
        yield Pairs(tuple(rows))


def _words(word: str) -> str:
    return word.replace("_", " ")


def _certifications(flat: FlatRuleset, used: Uses) -> Iterator[Block]:
    yield _part("Certifications")
    if not flat.certifications:
        yield Text("There are none.")
    for name, item in flat.certifications.items():
        yield Heading(3, clean(name), anchors=(f"certification-{name}",))
        rows = [("What it is", clean(item.title)), ("Kind", clean(item.kind))]
        if item.covered_by:
            rows.append(("Covered by", ", ".join(map(clean, item.covered_by))))
        if item.approval_before_work:
            rows.append(("Approval", "dated on or before the day of fitting"))
        rows += [("Takes", f"{clean(one.title)} ({clean(one.id)})") for one in item.evidence]
        rows.append(("Used by", _users(used.certifications, name)))
        yield Pairs(tuple(rows))


def _kinds(flat: FlatRuleset) -> Iterator[Block]:
    yield _part("Kinds of modification")
    if not flat.kinds:
        yield Text("There are none.")
        return
    rows = []
    for name, kind in flat.kinds.items():
        checks = [str(check.id) for check in flat.checks.values() if name in check.about]
        system = clean(kind.system or name)
        rows.append((clean(name), clean(kind.title), system, ", ".join(checks) or _NOTHING))
    head = ("Kind", "What it is", "System to declare standard", "Checks filed under it")
    yield Table("Kinds of modification", head, tuple(rows))
