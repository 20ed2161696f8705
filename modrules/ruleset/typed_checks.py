"""Typing checks: their scope, what they ask, and whether they have all that their outcomes need."""

from __future__ import annotations

from typing import TYPE_CHECKING

from modrules.language import syntax
from modrules.language.tree import (
    YES_NO,
    Node,
    common_scale,
)
from modrules.ruleset.typed import BIT, TypedCheck
from modrules.ruleset.typed_bands import ends_of, typed_band
from modrules.ruleset.work import Work

if TYPE_CHECKING:
    from modrules.ruleset.models import Check


def certifications(work: Work) -> None:
    """Whether certifications and citations name what there is."""
    for _, citation in work.flat.citing():
        if citation.text not in work.flat.texts:
            work.unknown("text", citation.text, work.flat.texts)
    for item in work.flat.certifications.values():
        for other in item.covered_by:
            if other not in work.flat.certifications:
                work.unknown("certification", other, work.flat.certifications)
            elif other == item.id:
                work.report("a certification can't be covered by itself", other)


def typed_check(work: Work, index: int, item: Check) -> TypedCheck:
    """A check with all its expressions typed; problems go to ``work``."""
    per, bindings, scope = scope_of(work, item)
    filing(work, item)
    applies = work.expression(item.applies_if, scope, YES_NO)
    if item.in_force is not None:
        applies = dated(work, item, applies)
    requires = work.expression(item.requires, scope, YES_NO)
    exemptions = []
    for exemption in item.exempt_if:
        node = work.expression(exemption.condition, scope, YES_NO)
        if node is not None:
            exemptions.append(node)
    measure = work.expression(item.measures, scope)
    limit: Node | None = None
    direction = 1
    if measure is not None and measure.type.kind != "quantity":
        work.report(f"only a quantity can be measured; this is a {measure.type}", item.measures)
        measure = None
    if item.requires is not None and measure is None and requires is not None:
        measure, limit, direction = compared(work.parsed[item.requires], requires)
    shape(work, item)
    # Ends without something that is measured, or that is wrong itself, are told of already.
    ends = [
        (None, None) if measure is None else ends_of(work, band, scope, measure)
        for band in item.bands
    ]
    if item.bands and measure is not None:
        measure = work.tree.rescale(
            measure,
            common_scale(
                measure.scale,
                *(end.scale for pair in ends for end in pair if end and end.op == "const"),
            ),
        )
    bands = tuple(
        typed_band(work, band, pair, scope, measure)
        for band, pair in zip(item.bands, ends, strict=True)
    )
    if item.unfinished:
        # What stands there is looked at with its author, and decides nothing yet.
        requires = measure = limit = None
        exemptions, bands = [], ()
    return TypedCheck(
        index=index,
        id=str(item.id),
        per=per,
        bindings=bindings,
        scope=scope,
        about=tuple(str(kind) for kind in item.about),
        unfinished=item.unfinished,
        applies=applies,
        requires=requires,
        exemptions=tuple(exemptions),
        failure=BIT[item.otherwise or "not permitted"],
        certification=str(item.certification) if item.certification else None,
        measure=measure,
        limit=limit,
        direction=direction,
        bands=bands,
    )


def scope_of(work: Work, item: Check) -> tuple[tuple[str, ...], tuple[str, ...], dict[str, str]]:
    """The subjects of a check, the bindings of their records, and what its prefixes stand for."""
    subjects = work.vocabulary.names.subjects
    per = tuple(str(name) for name in item.per)
    for name in item.per:
        if name not in subjects:
            work.unknown("subject", name, subjects)
        elif len(per) == 2 and not subjects[str(name)].many:
            work.report(f"a pair needs lists; there is only one {name}", name)
    own: dict[str, str] = {}
    if len(per) == 2 and per[0] == per[1]:
        own = {"first": f"first:{per[0]}", "second": f"second:{per[0]}"}
        return per, tuple(own.values()), work.typer.scope(**own)
    for subject in per:
        known = subjects.get(subject)
        if known is not None and known.many:
            own[subject] = subject
            if known.is_kind and len(per) == 1:
                own["modification"] = subject
    return per, per, work.typer.scope(**own)


def filing(work: Work, item: Check) -> None:
    """Whether a check is filed under kinds of modification that there are."""
    for kind in item.about:
        if kind != "vehicle" and kind not in work.flat.kinds:
            work.unknown("kind of modification", kind, {**work.flat.kinds, "vehicle": None})
    for kind in item.per:
        if kind in work.flat.kinds and kind not in item.about:
            work.report(f"a check per {kind} is filed under it", kind, f"add {kind} to about")


def shape(work: Work, item: Check) -> None:
    """A check has a requirement or bands, and what its outcomes need."""
    ways = (item.requires is not None) + bool(item.bands)
    if ways != 1 and not (ways == 0 and item.unfinished):
        work.report("a check has either requires, or bands, or unfinished: true", item.id)
    if item.requires is None:
        if item.exempt_if:
            work.report("exempt_if goes with requires", item.exempt_if[0].condition)
        if item.otherwise is not None:
            work.report("otherwise goes with requires", item.otherwise)
    if item.measures is not None and not item.bands and item.requires is None:
        work.report("measures goes with bands or requires", item.measures)
    outcomes = [str(band.outcome) for band in item.bands]
    if item.requires is not None:
        outcomes.append(str(item.otherwise or "not permitted"))
    if "inspect" in outcomes and item.question is None:
        work.report(
            "this check may come to inspect, but has no question for the certifier",
            item.id,
            "add question: …",
        )
    if item.question is not None and "inspect" not in outcomes and not item.unfinished:
        work.report(
            "this check never comes to inspect, so its question is never asked", item.question
        )
    named = [(str(item.otherwise or ""), item.certification, item.id)] if item.requires else []
    named += [(str(band.outcome), band.certification, band.outcome) for band in item.bands]
    for outcome, certification, at in named:
        if outcome == "certification required":
            if certification is None:
                work.report(
                    "a certification that is required has a name", at, "add certification: …"
                )
        elif certification is not None:
            work.report(
                f'the outcome "{outcome or "not permitted"}" takes no certification',
                certification,
            )
        if certification is not None and certification not in work.flat.certifications:
            work.unknown("certification", certification, work.flat.certifications)
    if item.bands and item.certification is not None:
        work.report("each band names its own certification", item.certification)


def dated(work: Work, item: Check, applies: Node | None) -> Node:
    """In force on the screening date, as part of the condition."""
    assert item.in_force is not None
    from modrules.language.tree import DATE

    today = work.tree.node("today", DATE)
    first = work.tree.node("const", DATE, (), item.in_force.first_day.toordinal())
    node = work.tree.node("le", YES_NO, (first, today))
    if item.in_force.last_day is not None:
        last = work.tree.node("const", DATE, (), item.in_force.last_day.toordinal())
        node = work.tree.node("and", YES_NO, (node, work.tree.node("le", YES_NO, (today, last))))
    return node if applies is None else work.tree.node("and", YES_NO, (node, applies))


def compared(tree: syntax.Syntax, node: Node) -> tuple[Node | None, Node | None, int]:
    """What a plain comparison measures, its limit, and where the room lies."""
    if not isinstance(tree, syntax.Binary) or tree.operator not in ("<", "<=", ">", ">="):
        return None, None, 1
    inner = node.args[0] if node.op == "not" else node
    if inner.op != "le" or inner.args[0].type.kind != "quantity":
        return None, None, 1
    a, b = inner.args
    left, right = (a, b) if tree.operator in ("<=", ">") else (b, a)
    return left, right, 1 if tree.operator in ("<", "<=") else -1
