"""How a finding came out, in words: formulas with the numbers put in, and why there is no value.

Worked out when it is asked for, from the same typed tree and the same evaluator that decided.
"""

from __future__ import annotations

from typing import Any

from modrules.language import domains as d
from modrules.language import syntax
from modrules.language.parser import parse
from modrules.language.possible import Env, is_none, read
from modrules.language.records import Open
from modrules.language.tree import Node
from modrules.language.type_problems import TypeProblem
from modrules.ruleset.typed import EVERY_OUTCOME, TypedCheck
from modrules.screening import covering
from modrules.screening.explain import lists_missing, open_facts
from modrules.screening.prepared import Run, bindings, concerned
from modrules.screening.show import value_words


class Working:
    """Writes the working of one finding, line by line."""

    def __init__(self, run: Run, check: TypedCheck, subject: Any) -> None:
        self.run = run
        self.check = check
        self.env = Env(run.bound.world, bindings(check, subject))
        self.typer = run.typer
        self.lines: list[str] = []
        self.done: set[str] = set()

    def write(self, *, applicable: bool) -> list[str]:
        """All lines; of a check that is not applicable, only why it is not."""
        item = self.run.ruleset.flat.checks[self.check.id]
        if item.applies_if is not None:
            self.expression("applies if", str(item.applies_if), self.check.scope)
        if not applicable:
            return self.lines
        if item.measures is not None:
            self.expression("measures", str(item.measures), self.check.scope)
        if item.requires is not None:
            self.expression("requires", str(item.requires), self.check.scope)
        for exemption in item.exempt_if:
            self.expression("exempt if", str(exemption.condition), self.check.scope)
        for band in item.bands:
            words = [
                f"{name} {text}"
                for name, text in (
                    ("over", band.over),
                    ("from", band.over_or_at),
                    ("up to", band.up_to),
                    ("under", band.under),
                )
                if text is not None
            ]
            words += [f"only if {band.only_if}"] if band.only_if is not None else []
            words += [f"unless {band.unless}"] if band.unless is not None else []
            self.lines.append(f"band: {', '.join(words) or 'all else'}: {band.outcome}")
            for text in (band.only_if, band.unless):
                if text is not None:
                    self.expression("  where", str(text), self.check.scope)
        return self.lines

    def expression(
        self, label: str, text: str, scope: Any, result: Node | None = None, source: str = ""
    ) -> None:
        """A line with the formula, then one with the numbers put in and the result."""
        tree = parse(text)
        quantities: list[tuple[str, str]] = []

        def value(piece: syntax.Syntax) -> str | None:
            if isinstance(piece, syntax.Name):
                if "." not in piece.name and piece.name != "today":
                    return None
                node = self.typer.type(piece, scope)
                if node.op == "quantity":
                    quantities.append(node.value)
            elif isinstance(piece, (syntax.Over, syntax.Call)):
                if isinstance(piece, syntax.Call) and piece.function in (
                    "largest",
                    "smallest",
                    "absolute",
                    "regardless",
                    "round_up",
                    "round_down",
                ):
                    return None
                node = self.typer.type(piece, scope)
            else:
                return None
            words = self.words(node)
            return f"({words})" if " or " in words or " to " in words or ", " in words else words

        try:
            put_in = syntax.render(tree, value)
            told = self.words(result if result is not None else self.typer.type(tree, scope))
        except TypeProblem:
            self.lines.append(f"{label}: {text}")
            return
        plain = syntax.text_of(tree)
        self.lines.append(f"{label}: {plain}")
        if put_in not in (plain, told, f"({told})"):
            self.lines.append(f"  = {put_in}")
        if told != plain:
            self.lines.append(f"  = {told}")
        if source:
            self.lines.append(f"    by: {source}")
        for key in quantities:
            self.quantity(*key)

    def quantity(self, name: str, binding: str) -> None:
        if name in self.done:
            return
        self.done.add(name)
        item = self.run.ruleset.flat.quantities[name]
        known = self.run.ruleset.typed.names.quantities[name]
        scope = self.typer.scope(**self.typer.own_scope(known, binding))
        node = self.typer.quantity(known, binding, (0, 0))
        self.expression(f"  {name}", str(item.formula), scope, node, str(item.source))

    def words(self, node: Node) -> str:
        if node.op in ("fact", "stated", "fallback"):
            value = read(self.env, *node.value)
            if isinstance(value, Open) and is_none(value) and node.op == "fact":
                return "none stated"
            if isinstance(value, Open) and value.missing and node.op == "fact":
                return "not known"
        return value_words(self.run.ruleset.intervals.closure(node)(self.env), node)


def why_no_value(run: Run, check: TypedCheck, subject: Any, possible: int) -> str | None:
    """Why every outcome is possible, where that is not for a missing fact alone."""
    if possible != EVERY_OUTCOME:
        return None
    if check.unfinished:
        return "this check is not finished"
    lists = lists_missing(run, check, subject)
    if lists:
        return f"not given, or not all of it: {', '.join(lists)}"
    env = Env(run.bound.world, bindings(check, subject))
    for node in check.nodes():
        found = _gap(run, env, node)
        if found:
            return found
    return None if open_facts(run, check, subject) else "the rule has no band for this value"


def why_doubted(
    run: Run, check: TypedCheck, subject: Any, certifications: tuple[str, ...]
) -> str | None:
    """Why a document that would cover the work may not, where no missing fact is to blame."""
    bound, typed = run.bound, run.ruleset.typed
    needed = concerned(check, subject, bound.world, run.ruleset.flat.kinds)
    wanted = needed or bound.world.modification_
    rows = [bound.papers.covering(name, wanted) for name in certifications]
    for document in bound.documents:
        may = any(bound.papers.mask(document, row) & d.TRUE for row in rows)
        if may and covering.says_no_vehicle(document, typed):
            return f"{document.title} names no vehicle and may be for another"
    return None


def _gap(run: Run, env: Env, node: Node) -> str | None:
    """The innermost part of a node that may have no value, in words."""
    value = run.ruleset.intervals.closure(node)(env)
    kind = node.type.kind
    gap = bool(value & d.GAP) if kind == "yes_no" else value[-1]
    if not gap:
        return None
    outside = node.op == "if" and node.value is not None
    if outside and run.ruleset.intervals.closure(node.args[0])(env) & d.FALSE:
        return f"{node.value} is outside the range where its source holds"
    for arg in node.args:
        if node.op == "over":
            break
        found = _gap(run, env, arg)
        if found:
            return found
    if node.op == "fact":
        value = read(env, *node.value)
        known = isinstance(value, Open) and is_none(value)
        return f"{node.value[1]}: none stated" if known else f"{node.value[1]}: perhaps none stated"
    if node.op == "div":
        return "a division by what may be zero"
    if node.op == "look_up":
        return f"the table {node.value[0]} may have no row for this"
    if node.op == "call":
        return f"{node.value} may have no value for this"
    if node.op == "over":
        return f"{node.value[0]} over {node.value[1]} may have no value"
    return None
