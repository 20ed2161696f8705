"""Straight-line Python for the checks of a ruleset: one function per scope, in chunks.

A generated function takes the world, a list to append to, and two callbacks:
``held(check, certification, subject)`` for a certification that is required, and
``leave(check, subject)`` for a check that needs the interval evaluator because one of
its facts is open or an expression has no value. What it appends is a plain tuple
(check index, subject, outcomes, measured, limit, margin); the numbers are counted in
the scale of the check's measure.
"""

from __future__ import annotations

import ast
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from types import CodeType
from typing import Any, Final

from modrules.language.codegen import (
    Emitter,
    Recipe,
    call,
    can_fail,
    compare,
    constant,
    load,
    variable,
)
from modrules.language.recipes import constants
from modrules.language.records import Layout, attribute
from modrules.language.tree import Node
from modrules.ruleset.typed import BIT, TypedBand, TypedCheck, TypedRuleset

CHUNK: Final = 50
NOT_APPLICABLE: Final = BIT["not applicable"]
COMPLIES: Final = BIT["complies"]
EXEMPT: Final = BIT["exempt"]
CAUTION: Final = BIT["caution"]

#: A finding as a plain tuple: check index, subject, outcomes, measured, limit, margin.
Raw = tuple[int, Any, int, Any, Any, Any]
Screen = Callable[..., None]


@dataclass(frozen=True, slots=True)
class Chunk:
    """The code of some checks of one scope, and what it refers to."""

    per: tuple[str, ...]
    #: indexes of the checks, and the world's attributes of the lists that they run over
    checks: tuple[int, ...]
    lists: tuple[str, ...]
    code: CodeType
    recipes: Mapping[str, Recipe]

    def function(self, typed: TypedRuleset) -> Screen:
        """The generated function; ``typed`` is the ruleset that it was made from."""
        space = constants(typed.names, self.recipes)
        space.update((f"check_{index}", typed.checks[index]) for index in self.checks)
        exec(self.code, space)  # code generated below from a typed tree, never from text
        made: Screen = space["screen"]
        return made


def compile_ruleset(typed: TypedRuleset, layout: Layout) -> list[Chunk]:
    """The chunks of a ruleset, scope by scope."""
    scopes: dict[tuple[tuple[str, ...], tuple[str, ...]], list[TypedCheck]] = {}
    for check in typed.checks:
        filed = check.about if check.per == ("modification",) else ()
        scopes.setdefault((check.per, filed), []).append(check)
    chunks = []
    for (per, filed), checks in scopes.items():
        for start in range(0, len(checks), CHUNK):
            part = checks[start : start + CHUNK]
            chunks.append(_Chunk(typed, layout, per, filed, part).build())
    return chunks


class _Chunk:
    def __init__(
        self,
        typed: TypedRuleset,
        layout: Layout,
        per: tuple[str, ...],
        filed: tuple[str, ...],
        checks: list[TypedCheck],
    ) -> None:
        self.typed = typed
        self.layout = layout
        self.per = per
        self.filed = filed
        self.checks = checks
        self.emitter = Emitter(typed.names)
        self.spare_bit = 1 << (len(layout.bits) + len(layout.each_bits))
        self.needs: dict[Node, int] = {}
        self.loop = [name for name in per if typed.names.subjects[name].many]

    # -- the function as a whole ---------------------------------------------------

    def build(self) -> Chunk:
        outer, inner = self.quantities()
        body: list[ast.stmt] = [
            assign("mask", attr("world", "mask")),
            assign("today", attr("world", "today")),
        ]
        body += [
            assign(variable(name), attr("world", attribute(name))) for name in self.layout.singles
        ]
        body += outer
        screened = [statement for check in self.checks for statement in self.check(check)]
        if not self.loop:
            body.append(assign("subject", ast.Constant(None)))
            body.append(assign("open_facts", load("mask")))
            body += inner + screened
        elif len(self.loop) == 1:
            body.append(self.each(inner + screened))
        else:
            body.append(self.pairs(inner + screened))
        # Parsed from a constant, since the fields of a function differ between Pythons.
        module = ast.parse("def screen(world, append, held, leave): pass")
        function = module.body[0]
        assert isinstance(function, ast.FunctionDef)
        function.body = body
        filename = self.place(self.checks[0])[0]
        locate(function, 1)
        code = compile(module, filename, "exec")
        self.emitter.recipes["FILED"] = ("value", frozenset(self.filed))
        return Chunk(
            self.per,
            tuple(check.index for check in self.checks),
            tuple(attribute(name) for name in self.loop),
            code,
            self.emitter.recipes,
        )

    def each(self, body: list[ast.stmt]) -> ast.stmt:
        element = variable(self.per[0])
        start: list[ast.stmt] = []
        if self.filed and "vehicle" not in self.filed:
            start.append(
                ast.If(
                    compare(attr(element, "kind"), ast.NotIn(), load("FILED")), [ast.Continue()], []
                )
            )
        start.append(assign("subject", load(element)))
        start.append(assign("open_facts", union(load("mask"), attr(element, "mask"))))
        return ast.For(
            store(element),
            attr("world", attribute(self.per[0])),
            start + body,
            [],
        )

    def pairs(self, body: list[ast.stmt]) -> ast.stmt:
        first, second = (variable(name) for name in self.bindings())
        lists = [attr("world", attribute(name)) for name in self.per]
        start: list[ast.stmt] = [
            assign("subject", ast.Tuple([load(first), load(second)], ast.Load())),
            assign("open_facts", union(load("mask"), attr(first, "mask"), attr(second, "mask"))),
        ]
        if self.per[0] == self.per[1]:
            at = "at"
            rest = ast.Subscript(
                attr("world", attribute(self.per[1])),
                ast.Slice(ast.BinOp(load(at), ast.Add(), ast.Constant(1))),
                ast.Load(),
            )
            inner = ast.For(store(second), rest, start + body, [])
            target = ast.Tuple([store(at), store(first)], ast.Store())
            return ast.For(target, call("enumerate", lists[0]), [inner], [])
        inner = ast.For(store(second), lists[1], start + body, [])
        return ast.For(store(first), lists[0], [inner], [])

    def bindings(self) -> tuple[str, ...]:
        return self.checks[0].bindings

    # -- shared quantities ----------------------------------------------------------

    def quantities(self) -> tuple[list[ast.stmt], list[ast.stmt]]:
        """Statements that compute each quantity once: before the loop, or inside it."""
        outer: list[ast.stmt] = []
        inner: list[ast.stmt] = []
        loop_bindings = set(self.bindings()) if self.loop else set()
        done: set[Node] = set()
        for check in self.checks:
            for top in check.nodes():
                for node in _quantities(top, done):
                    inside = bool(loop_bindings & bindings_of(node))
                    mask = "open_facts" if inside or not self.loop else "mask"
                    target = inner if inside or not self.loop else outer
                    target.append(self.quantity(node, mask))
        return outer, inner

    def quantity(self, node: Node, mask: str) -> ast.stmt:
        name = f"quantity_{len(self.emitter.locals)}"
        need = self.need(node.args[0])
        statement: ast.stmt = assign(name, self.emitter.expression(node.args[0]))
        fails = fallible(node.args[0], self.emitter.locals)
        if fails:
            bit = self.spare_bit
            self.spare_bit <<= 1
            note: ast.stmt = assign(mask, union(load(mask), ast.Constant(bit)))
            statement = attempt([statement], [note])
            self.needs[node] = need | bit
        else:
            self.needs[node] = need
        self.emitter.locals[node] = name
        if need:
            statement = ast.If(untouched(mask, need), [statement], [])
        return statement

    def need(self, node: Node) -> int:
        """The bits that must be clear for the exact code of a node to run."""
        found = self.needs.get(node)
        if found is not None:
            return found
        if node.op in ("fact", "stated", "fallback"):
            binding, fact, _ = node.value
            bits = self.layout.each_bits if binding.startswith("each ") else self.layout.bits
            mask = bits[fact]
        elif node.op == "over":
            mask = self.layout.each_bits[node.value[1]]
        else:
            mask = 0
        for arg in node.args:
            mask |= self.need(arg)
        self.needs[node] = mask
        return mask

    # -- one check --------------------------------------------------------------------

    def place(self, check: TypedCheck) -> tuple[str, int]:
        place = self.typed.flat.checks[check.id].place
        return place.file or "ruleset", max(place.line, 1)

    def check(self, check: TypedCheck) -> list[ast.stmt]:
        leave = self.leave(check)
        need = 0
        for node in check.nodes():
            need |= self.need(node)
        body = self.decide(check)
        fails = any(fallible(node, self.emitter.locals) for node in check.nodes())
        if fails:
            body = [attempt(body, [leave])]
        if need:
            body = [
                ast.If(ast.BinOp(load("open_facts"), ast.BitAnd(), constant(need)), [leave], body)
            ]
        line = self.place(check)[1]
        for statement in body:
            statement.lineno = line
        return body

    def leave(self, check: TypedCheck) -> ast.stmt:
        """Leaves a check to the interval evaluator."""
        return ast.Expr(call("leave", ast.Constant(check.index), load("subject")))

    def decide(self, check: TypedCheck) -> list[ast.stmt]:
        if check.unfinished:
            body = [self.leave(check)]
        else:
            body = self.required(check) if check.requires is not None else self.banded(check)
        if check.applies is None:
            return body
        not_applicable = self.append(check, ast.Constant(NOT_APPLICABLE))
        return [ast.If(self.emitter.expression(check.applies), body, [not_applicable])]

    def append(self, check: TypedCheck, outcome: ast.expr, *numbers: ast.expr) -> ast.stmt:
        values = numbers or (ast.Constant(None),) * 3
        finding = ast.Tuple(
            [ast.Constant(check.index), load("subject"), outcome, *values], ast.Load()
        )
        return ast.Expr(call("append", finding))

    def outcome(self, check: TypedCheck, bit: int, certification: str | None) -> ast.expr:
        if certification is None:
            return ast.Constant(bit)
        name = f"check_{check.index}"
        return call("held", load(name), ast.Constant(certification), load("subject"))

    def named(self, node: Node, name: str, body: list[ast.stmt]) -> ast.expr:
        """The value of a node under a name, so that it is computed once."""
        expression = self.emitter.expression(node)
        if isinstance(expression, (ast.Name, ast.Constant, ast.Attribute)):
            return expression
        body.append(assign(name, expression))
        return load(name)

    def required(self, check: TypedCheck) -> list[ast.stmt]:
        assert check.requires is not None
        body: list[ast.stmt] = []
        numbers: tuple[ast.expr, ...] = ()
        requires: ast.expr
        if check.measure is not None and check.limit is not None:
            measured = self.named(check.measure, "measured", body)
            limit = self.named(check.limit, "limit", body)
            room = (limit, measured) if check.direction > 0 else (measured, limit)
            strict = check.requires.op == "not"
            requires = compare(room[1], ast.Lt() if strict else ast.LtE(), room[0])
            numbers = (measured, limit, ast.BinOp(room[0], ast.Sub(), room[1]))
        else:
            if check.measure is not None:
                measured = self.named(check.measure, "measured", body)
                numbers = (measured, ast.Constant(None), ast.Constant(None))
            requires = self.emitter.expression(check.requires)
        fail = self.append(check, self.outcome(check, check.failure, check.certification), *numbers)
        otherwise: list[ast.stmt] = [fail]
        exempt = [self.emitter.expression(node) for node in check.exemptions]
        if exempt:
            condition = exempt[0] if len(exempt) == 1 else ast.BoolOp(ast.Or(), exempt)
            excused = self.append(check, ast.Constant(EXEMPT), *numbers)
            otherwise = [ast.If(condition, [excused], [fail])]
        met = self.append(check, ast.Constant(COMPLIES), *numbers)
        body.append(ast.If(requires, [met], otherwise))
        return body

    def banded(self, check: TypedCheck) -> list[ast.stmt]:
        body: list[ast.stmt] = []
        measured: ast.expr = ast.Constant(None)
        if check.measure is not None:
            measured = self.named(check.measure, "measured", body)
        otherwise: list[ast.stmt] = [self.leave(check)]
        for band in reversed(check.bands):
            numbers: tuple[ast.expr, ...] = ()
            if check.measure is not None:
                limit, margin = self.margin(check, band, measured)
                numbers = (measured, limit, margin)
            found = self.append(
                check, self.outcome(check, band.outcome, band.certification), *numbers
            )
            condition = self.band_condition(band, measured)
            otherwise = [found] if condition is None else [ast.If(condition, [found], otherwise)]
        return body + otherwise

    def band_condition(self, band: TypedBand, measured: ast.expr) -> ast.expr | None:
        parts: list[ast.expr] = []
        if band.low is not None:
            operator: ast.cmpop = ast.GtE() if band.low_closed else ast.Gt()
            parts.append(compare(measured, operator, constant(band.low)))
        if band.high is not None:
            operator = ast.LtE() if band.high_closed else ast.Lt()
            parts.append(compare(measured, operator, constant(band.high)))
        if band.extra is not None:
            parts.append(self.emitter.expression(band.extra))
        if not parts:
            return None
        return parts[0] if len(parts) == 1 else ast.BoolOp(ast.And(), parts)

    def margin(
        self, check: TypedCheck, band: TypedBand, measured: ast.expr
    ) -> tuple[ast.expr, ast.expr]:
        """The end that the margin counts from, and the margin."""
        end, sign = margin_end(check, band)
        if end is None:
            return ast.Constant(None), ast.Constant(None)
        limit = constant(end)
        room = (limit, measured) if sign > 0 else (measured, limit)
        return limit, ast.BinOp(room[0], ast.Sub(), room[1])


def margin_end(check: TypedCheck, band: TypedBand) -> tuple[int | None, int]:
    """The constant end of a band that matters, and where the room lies.

    For a harmless band that is the end beyond which it gets worst: the room is what is left
    up to there. For a worse one it is the end at which the mildest neighbour begins: the
    margin is negative, by how much it is over. (+1: room is end - measure.)
    """
    harmless = band.outcome <= CAUTION
    best: tuple[int, int, int] | None = None
    for end, is_low in ((band.high, False), (band.low, True)):
        if end is None:
            continue
        beyond = [
            other.outcome
            for other in check.bands
            if other is not band and (other.high if is_low else other.low) == end
        ]
        if harmless:
            rank = -max(beyond, default=1 << 8)
            sign = -1 if is_low else 1
        else:
            rank = min(beyond, default=1 << 8)
            sign = 1 if is_low else -1
        if best is None or rank < best[0]:
            best = (rank, end, sign)
    return (best[1], best[2]) if best is not None else (None, 1)


# -- small pieces of syntax ------------------------------------------------------------


def locate(node: ast.AST, line: int) -> None:
    """Gives a node and all under it a line: its own where it has one, else that of its parent.

    A traceback through generated code then shows the ruleset's own line.
    """
    parts = node.__dict__
    line = parts.get("lineno", line)
    parts["lineno"] = parts["end_lineno"] = line
    parts["col_offset"] = parts["end_col_offset"] = 0
    for name in node._fields:
        child = parts.get(name)
        if child.__class__ is list:
            for each in child:
                if isinstance(each, ast.AST):
                    locate(each, line)
        elif isinstance(child, ast.AST) and not isinstance(child, _UNPLACED):
            locate(child, line)


_UNPLACED: Final = (ast.expr_context, ast.operator, ast.cmpop, ast.boolop, ast.unaryop)


def attr(name: str, attribute_name: str) -> ast.expr:
    return ast.Attribute(load(name), attribute_name, ast.Load())


def store(name: str) -> ast.expr:
    return ast.Name(name, ast.Store())


def assign(name: str, value: ast.expr) -> ast.stmt:
    return ast.Assign([store(name)], value)


def union(*masks: ast.expr) -> ast.expr:
    result = masks[0]
    for mask in masks[1:]:
        result = ast.BinOp(result, ast.BitOr(), mask)
    return result


def untouched(mask: str, need: int) -> ast.expr:
    return ast.UnaryOp(ast.Not(), ast.BinOp(load(mask), ast.BitAnd(), constant(need)))


def attempt(body: list[ast.stmt], otherwise: list[ast.stmt]) -> ast.stmt:
    handler = ast.ExceptHandler(load("NO_VALUE"), None, otherwise)
    return ast.Try(body, [handler], [], [])


def _quantities(top: Node, done: set[Node]) -> Iterable[Node]:
    """Quantities under a node, innermost first; not those of one element of a list.

    What stands inside a list function is taken too: were it met later, code that was made
    before would not know that the quantity may have failed.
    """
    found: list[Node] = []

    def visit(node: Node) -> None:
        if node in done:
            return
        done.add(node)
        for arg in node.args:
            visit(arg)
        if node.op == "quantity" and not node.value[1].startswith("each "):
            found.append(node)

    visit(top)
    return found


def bindings_of(node: Node) -> set[str]:
    """The bindings that a node reads, those of list functions inside it aside."""
    found: set[str] = set()
    stack = [node]
    while stack:
        piece = stack.pop()
        if piece.op in ("fact", "stated", "fallback"):
            found.add(piece.value[0])
        stack += piece.args
    return {binding for binding in found if not binding.startswith("each ")}


def fallible(node: Node, known: Mapping[Node, str]) -> bool:
    """Whether the exact code of a node may raise, quantities already computed aside."""
    stack = [node]
    while stack:
        piece = stack.pop()
        if piece in known:
            continue
        if can_fail(piece):
            return True
        stack += piece.args
    return False
