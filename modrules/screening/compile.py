"""Straight-line Python for the checks of a ruleset: one function per scope, in chunks.

A generated function takes the world, what appends to the findings, and two callbacks:
``held(check, certification, subject)`` for a certification that is required, and
``leave(check, subject)`` for a check that needs the interval evaluator because one of
its facts is open or an expression has no value. What it appends is a plain tuple
(check index, subject, outcomes, measured, limit, margin); the numbers are counted in
the scale of the check's measure. It gives False where there is no subject.
"""

from __future__ import annotations

import ast
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import reduce
from operator import or_
from types import CodeType
from typing import Final

from modrules.language.codegen import LOAD, STORE, Emitter, Recipe, call, compare, load, variable
from modrules.language.recipes import constants
from modrules.language.records import Layout, attribute
from modrules.language.statements import (
    assign,
    attempt,
    attr,
    both,
    locate,
    negated,
    settled,
    store,
    touched,
    union,
    when,
)
from modrules.language.tree import Node
from modrules.ruleset.typed import TypedCheck, TypedRuleset
from modrules.screening.decide import Deciding, Raw
from modrules.screening.needs import Needs, blurred

__all__ = ["Chunk", "Raw", "Screen", "compile_ruleset"]

CHUNK: Final = 50
Screen = Callable[..., bool]


@dataclass(frozen=True, slots=True)
class Chunk:
    """The code of some checks of one scope, and what it refers to."""

    per: tuple[str, ...]
    #: indexes of the checks
    checks: tuple[int, ...]
    code: CodeType
    recipes: Mapping[str, Recipe]

    def function(self, typed: TypedRuleset) -> Screen:
        """The generated function; ``typed`` is the ruleset that it was made from."""
        space = constants(typed.names, self.recipes)
        space.update((f"check_{index}", typed.checks[index]) for index in self.checks)
        space["blurred"] = blurred
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
        self.needs = Needs(typed.names, layout)
        self.loop = [name for name in per if typed.names.subjects[name].many]
        #: the variable with the open facts of the subject
        self.mask = "open_facts" if self.loop else "mask"

    # -- the function as a whole ---------------------------------------------------

    def build(self) -> Chunk:
        outer, inner = self.shared()
        for check in self.checks:
            inner += self.check(check)
        before = [*self.start(), *outer]
        if not self.loop:
            body = [*before, *inner]
        elif len(self.loop) == 1:
            body = self.each(before, inner)
        else:
            body = self.pairs(before, inner)
        # Parsed from a constant, since the fields of a function differ between Pythons.
        module = ast.parse("def screen(world, append, held, leave): return True")
        function = module.body[0]
        assert isinstance(function, ast.FunctionDef)
        function.body[:0] = body
        filename = self.place(self.checks[0])[0]
        locate(function, 1)
        code = compile(module, filename, "exec")
        return Chunk(
            self.per,
            tuple(check.index for check in self.checks),
            code,
            self.emitter.recipes,
        )

    def start(self) -> list[ast.stmt]:
        """What the checks read throughout: subjects of which there is one, and what is open."""
        used = self.emitter.used
        body = [
            assign(variable(name), attr("world", attribute(name)))
            for name in self.layout.singles
            if name in used or name in self.needs.guarded
        ]
        if "today" in used:
            body.append(assign("today", attr("world", "today")))
        seen = ast.BinOp(attr("world", "mask"), ast.BitAnd(), ast.Constant(self.needs.seen))
        body.append(assign("mask", seen))
        blurring = [
            self.blurring("mask", binding, attr("world", attribute(binding[5:])))
            if binding.startswith("each ")
            else self.blurring("mask", binding, ast.Tuple([load(variable(binding))], LOAD))
            for binding in self.needs.guarded
            if binding not in self.bindings() or not self.loop
        ]
        return [*body, when(load("mask"), *blurring)] if blurring else body

    def blurring(self, mask: str, binding: str, records: ast.expr) -> ast.stmt:
        name = f"guarded_{len(self.emitter.recipes)}"
        facts = self.needs.blurs(binding)
        self.emitter.recipes[name] = ("value", facts)
        bits = reduce(or_, (bit for bit, *_ in facts))
        test = ast.BinOp(load(mask), ast.BitAnd(), ast.Constant(bits))
        return when(test, assign(mask, call("blurred", load(mask), records, load(name))))

    def opened(self) -> list[ast.stmt]:
        """The open facts of the records at hand. The world's mask tells if there are any."""
        names = [variable(name) for name in self.bindings()]
        masks = union(load("mask"), *(attr(name, "mask") for name in names))
        body = [assign("open_facts", both(load("mask"), masks))]
        for binding, name in zip(self.bindings(), names, strict=True):
            if binding in self.needs.guarded:
                record = ast.Tuple([load(name)], LOAD)
                body.append(when(load("mask"), self.blurring("open_facts", binding, record)))
        return body

    def each(self, before: list[ast.stmt], inner: list[ast.stmt]) -> list[ast.stmt]:
        element = variable(self.per[0])
        records = attr("world", attribute(self.per[0]))
        if not self.filed or "vehicle" in self.filed:
            loop = ast.For(store(element), records, self.opened() + inner, [])
            return [when(negated(records), nothing()), *before, loop]
        self.emitter.recipes["FILED"] = ("value", frozenset(self.filed))
        other = compare(attr(element, "kind"), ast.NotIn(), load("FILED"))
        start = [when(other, ast.Continue()), assign("there", ast.Constant(True))]
        loop = ast.For(store(element), records, start + self.opened() + inner, [])
        first = [when(negated(records), nothing()), assign("there", ast.Constant(False))]
        return [*first, *before, loop, when(negated(load("there")), nothing())]

    def pairs(self, before: list[ast.stmt], inner: list[ast.stmt]) -> list[ast.stmt]:
        first, second = (variable(name) for name in self.bindings())
        lists = [attr("world", attribute(name)) for name in self.per]
        pair = ast.Tuple([load(first), load(second)], LOAD)
        inner = [assign("subject", pair), *self.opened(), *inner]
        if self.per[0] != self.per[1]:
            loop = ast.For(
                store(first), lists[0], [ast.For(store(second), lists[1], inner, [])], []
            )
            return [when(negated(both(*lists)), nothing()), *before, loop]
        one = ast.Constant(1)
        rest = from_place(lists[1], ast.BinOp(load("at"), ast.Add(), one))
        target = ast.Tuple([store("at"), store(first)], STORE)
        within = ast.For(store(second), rest, inner, [])
        loop = ast.For(target, call("enumerate", lists[0]), [within], [])
        several = both(lists[0], from_place(lists[0], one))
        return [when(negated(several), nothing()), *before, loop]

    def bindings(self) -> tuple[str, ...]:
        return self.checks[0].bindings

    def subject(self) -> ast.expr:
        if not self.loop:
            return ast.Constant(None)
        return load("subject" if len(self.loop) > 1 else variable(self.per[0]))

    # -- what several checks share ---------------------------------------------------

    def shared(self) -> tuple[list[ast.stmt], list[ast.stmt]]:
        """Statements that work out each quantity once: before the loop, or inside it.

        List functions in them come first, and those that tell for all subjects if a check applies.
        """
        outer: list[ast.stmt] = []
        inner: list[ast.stmt] = []
        found = _Shared(frozenset(self.bindings()) if self.loop else None)
        for check in self.checks:
            for top in check.nodes():
                for node in found.under(top, always=top is check.applies):
                    inside = found.inside(node)
                    target = inner if inside else outer
                    target += self.worked_out(node, self.mask if inside else "mask")
        return outer, inner

    def worked_out(self, node: Node, mask: str) -> list[ast.stmt]:
        """Statements that leave a value in a variable, unless an open fact or no value is met."""
        emitter = self.emitter
        body = node.args[0] if node.op == "quantity" else node
        need = self.needs.of(body)
        if body in emitter.locals:
            emitter.locals[node] = emitter.locals[body]
            self.needs.settle(node, need)
            return []
        name = f"quantity_{len(emitter.locals) + len(emitter.quotients)}"
        fails = emitter.fails(body)
        bit = self.needs.fresh() if fails else 0
        note = assign(mask, union(load(mask), ast.Constant(bit)))
        if body.op == "div":
            left, right = (emitter.expression(arg) for arg in body.args)
            statements = quotient(name, left, right, note if fails else None)
        elif fails and node.op == "over":
            return []
        else:
            statements = settled(emitter, body, name)
        if fails and (body.op != "div" or any(map(emitter.fails, body.args))):
            statements = [attempt(statements, [note])]
        self.needs.settle(node, need | bit)
        if body.op == "div":
            emitter.quotients[node] = (name, f"{name}_below")
        else:
            emitter.locals[node] = name
        return [when(negated(touched(mask, need)), *statements)] if need else statements

    # -- one check --------------------------------------------------------------------

    def place(self, check: TypedCheck) -> tuple[str, int]:
        place = self.typed.flat.checks[check.id].place
        return place.file or "ruleset", max(place.line, 1)

    def check(self, check: TypedCheck) -> list[ast.stmt]:
        deciding = Deciding(self.emitter, check, self.subject)
        need = self.needs.of_check(check)
        body = deciding.statements()
        if any(map(self.emitter.fails, check.nodes())):
            body = [attempt(body, [deciding.leave()])]
        if need:
            body = [ast.If(touched(self.mask, need), [deciding.leave()], body)]
        line = self.place(check)[1]
        for statement in body:
            statement.lineno = line
        return body


def nothing() -> ast.stmt:
    """Tells that there is no subject."""
    return ast.Return(ast.Constant(False))


def from_place(records: ast.expr, place: ast.expr) -> ast.expr:
    return ast.Subscript(records, ast.Slice(place), LOAD)


def quotient(
    name: str, left: ast.expr, right: ast.expr, by_zero: ast.stmt | None
) -> list[ast.stmt]:
    """A quotient in two parts, of which the divisor is above zero.

    ``by_zero`` is done where it is zero; None: it is known to be above zero.
    """
    below = f"{name}_below"
    parts = [assign(name, left), assign(below, right)]
    if by_zero is None:
        return parts
    turned = [assign(each, ast.UnaryOp(ast.USub(), load(each))) for each in (name, below)]
    negative = compare(load(below), ast.Lt(), ast.Constant(0))
    return [*parts, ast.If(load(below), [when(negative, *turned)], [by_zero])]


class _Shared:
    """Finds what is worked out before the checks; ``loop`` are the bindings of a loop, if any."""

    def __init__(self, loop: frozenset[str] | None) -> None:
        self.loop = loop
        self._done: set[tuple[Node, bool, bool]] = set()
        self._found: dict[Node, None] = {}

    def inside(self, node: Node) -> bool:
        """Whether a value differs between the subjects of a loop."""
        return self.loop is None or bool(self.loop & bindings_of(node))

    def under(self, top: Node, always: bool) -> Iterable[Node]:
        """What was not found yet under a node, innermost first.

        ``always``: the node is evaluated for all subjects, whatever they are.
        """
        before = len(self._found)
        self._visit(top, always and self.loop is not None, False)
        return list(self._found)[before:]

    def _visit(self, node: Node, eager: bool, in_list: bool) -> None:
        """Quantities are found wherever they stand, unless they are of one element of a list:
        code that was made before would else not know that the quantity may have failed."""
        state = (node, eager, in_list)
        if state in self._done:
            return
        self._done.add(state)
        whole = node.op == "quantity" and not node.value[1].startswith("each ")
        for arg in node.args:
            self._visit(arg, eager or whole, (in_list and not whole) or node.op == "over")
        if whole or (node.op == "over" and node.args and eager and not in_list):
            self._found.setdefault(node)


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
