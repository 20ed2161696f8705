"""From syntax tree to typed tree: names, types, dimensions and conditions of measurement.

One function per piece of syntax, in a plain mapping. Problems are collected;
``TypeProblem`` ends the piece in which it was found, and the rest is still checked.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping
from fractions import Fraction
from typing import Any, Final

from modrules.language import arithmetic
from modrules.language import syntax as s
from modrules.language.calls import call, over
from modrules.language.tree import (
    DATE,
    ONE,
    PERIOD,
    TEXT,
    YES_NO,
    FactName,
    Names,
    Node,
    QuantityName,
    Tree,
    Type,
)
from modrules.language.type_problems import TypeProblem, a_type, fail, wrong_unit
from modrules.language.units import PERIODS, UNITS
from modrules.problems import nearest

MOST_NODES: Final = 3000
#: How deep a tree goes with the quantities in it: all that walks it may do so by recursion.
MOST_DEEP: Final = 120


class Typer:
    """Types expressions of one ruleset into one tree.

    ``scope`` maps the prefix of a dotted name to the binding that it stands for at
    run time: in a check of a pair of axles, ``first`` and ``second``.
    """

    def __init__(self, names: Names, tree: Tree | None = None) -> None:
        self.names = names
        self.tree = tree or Tree()
        self.problems: list[TypeProblem] = []
        self._quantities: dict[tuple[str, str], Node] = {}
        self._open: list[str] = []
        self._singles = {name: name for name, subject in names.subjects.items() if not subject.many}

    def scope(self, **bindings: str) -> dict[str, str]:
        """The one-of subjects and the bindings given."""
        return {**self._singles, **bindings}

    def expression(
        self, tree: s.Syntax, scope: Mapping[str, str], expected: Type | None = None
    ) -> Node | None:
        """The typed node, or None with ``problems`` added to."""
        before = len(self.problems)
        try:
            node = self.type(tree, scope, expected)
            if expected is not None:
                self.require(node, expected, tree.span)
            self.not_too_deep(node.depth, tree.span)
        except TypeProblem as problem:
            self.problems.append(problem)
            return None
        return node if len(self.problems) == before else None

    # -- the pieces -------------------------------------------------------------

    def type(self, tree: s.Syntax, scope: Mapping[str, str], expected: Type | None = None) -> Node:
        return _RULES[type(tree)](self, tree, scope, expected)

    def require(self, node: Node, expected: Type, span: s.Span) -> None:
        found = node.type
        if found.kind != expected.kind:
            fail(f"this is {a_type(found)}, but {a_type(expected)} is expected", span)
        if expected.kind == "quantity" and found.dimension != expected.dimension:
            fail(
                f"this is {a_type(found)}, but {a_type(expected)} is expected",
                span,
                wrong_unit(found),
            )

    def number(self, tree: s.Number, _scope: Any, _expected: Any) -> Node:
        if tree.unit in PERIODS:
            months = tree.value * PERIODS[tree.unit]
            if months.denominator != 1:
                fail("calendar periods are whole months", tree.span)
            return self.tree.node("const", PERIOD, (), months.numerator)
        if not tree.unit:
            is_whole = tree.value.denominator == 1
            value = tree.value
            return self.tree.node(
                "const",
                Type("quantity", whole=is_whole),
                (),
                value.numerator,
                Fraction(1, value.denominator),
            )
        unit = UNITS[tree.unit]
        return arithmetic.constant(
            self.tree, tree.value * unit.factor, Type("quantity", unit.dimension), tree.unit
        )

    def date(self, tree: s.Date, _scope: Any, _expected: Any) -> Node:
        ordinal = datetime.date.fromisoformat(tree.value).toordinal()
        return self.tree.node("const", DATE, (), ordinal)

    def text(self, tree: s.Text, _scope: Any, _expected: Any) -> Node:
        return self.tree.node("const", TEXT, (), tree.value)

    def name(self, tree: s.Name, scope: Mapping[str, str], expected: Type | None) -> Node:
        name = tree.name
        if name in ("yes", "no"):
            return self.tree.node("const", YES_NO, (), name == "yes")
        if name == "today":
            return self.tree.node("today", DATE)
        if "." not in name:
            return self.word(tree, expected)
        prefix, _, rest = name.partition(".")
        known = self.names.subjects
        binding = scope.get(prefix)
        if binding is None:
            subject = known.get(prefix)
            if subject is None:
                everything = [*self.names.facts, *self.names.quantities]
                fail(f'there is no fact or quantity "{name}"', tree.span, nearest(name, everything))
            fail(
                f'"{prefix}" is a list; there is no one {prefix} here',
                tree.span,
                f"use it over the list, as any(… for each {prefix}), or say per: {prefix}",
            )
        owner = self.owner(prefix, binding)
        full = f"{owner}.{rest}"
        fact = self.names.facts.get(full)
        if fact is not None:
            return self.fact(fact, binding)
        quantity = self.names.quantities.get(full)
        if quantity is not None:
            return self.quantity(quantity, binding, tree.span)
        everything = [*self.names.facts, *self.names.quantities]
        fail(f'there is no fact or quantity "{full}"', tree.span, nearest(full, everything))

    def owner(self, prefix: str, binding: str) -> str:
        """The subject whose facts ``prefix`` names; ``first`` and ``second`` carry theirs."""
        if prefix in ("first", "second"):
            return binding.partition(":")[2]
        return prefix

    def fact(self, fact: FactName, binding: str) -> Node:
        return self.tree.node(
            "fact", fact.type, (), (binding, fact.id, fact.slot), fact.scale, fact.unit
        )

    def quantity(self, quantity: QuantityName, binding: str, span: s.Span) -> Node:
        key = (quantity.id, binding)
        found = self._quantities.get(key)
        if found is not None:
            return found
        if quantity.id in self._open:
            circle = " → ".join([*self._open[self._open.index(quantity.id) :], quantity.id])
            fail(f"this quantity is made from itself: {circle}", span)
        self.not_too_deep(len(self._open), span)
        if s.UNREADABLE in (quantity.formula, quantity.holds):
            fail(f'the quantity "{quantity.id}" can\'t be read', span, "see what is said of it")
        self._open.append(quantity.id)
        try:
            scope = self.scope(**self.own_scope(quantity, binding))
            body = self.type(quantity.formula, scope)
            if quantity.holds is not None:
                body = self.held(quantity.id, self.type(quantity.holds, scope), body, span)
            self.not_too_deep(body.depth, span)
        except TypeProblem as problem:
            message = problem.message
            if not message.startswith('the quantity "'):
                message = f'the quantity "{quantity.id}" has a problem: {message}'
            fail(message, span)
        finally:
            self._open.pop()
        if body.type.kind == "quantity" and body.type.dimension != quantity.dimension:
            fail(f'the quantity "{quantity.id}" is {a_type(body.type)}', span)
        node = self.tree.node("quantity", body.type, (body,), key, body.scale, quantity.unit)
        self._quantities[key] = node
        return node

    def held(self, id: str, holds: Node, body: Node, span: s.Span) -> Node:
        """A formula where its source holds, and elsewhere no value: what dividing by zero gives."""
        if holds.type.kind != "yes_no" or body.type.kind != "quantity":
            fail(f"only a number holds under a condition, which is yes or no; see {id}", span)
        nothing, zero = (
            self.tree.node("const", type_, (), 0, scale)
            for type_, scale in ((body.type, body.scale), (Type("quantity"), ONE))
        )
        outside = self.tree.node("div", body.type, (nothing, zero), None, body.scale, body.unit)
        parts = (holds, body, outside)
        return self.tree.node("if", body.type, parts, id, body.scale, body.unit)

    def not_too_deep(self, depth: int, span: s.Span) -> None:
        if depth > MOST_DEEP:
            fail(
                f"this is more than {MOST_DEEP} steps deep, with the quantities in it",
                span,
                "make quantities from facts, rather than each from the one before",
            )

    def own_scope(self, quantity: QuantityName, binding: str) -> dict[str, str]:
        """What a quantity's formula sees beside the one-of subjects: its own subject."""
        subject = self.names.subjects.get(quantity.subject)
        if subject is None or not subject.many:
            return {}
        own = {quantity.subject: binding}
        if subject.is_kind:
            own["modification"] = binding
        return own

    def word(self, tree: s.Name, expected: Type | None) -> Node:
        if expected is not None and expected.kind == "word":
            if tree.name not in expected.words:
                fail(
                    f'"{tree.name}" is none of the words that can stand here',
                    tree.span,
                    nearest(tree.name, expected.words)
                    or f"expected one of: {', '.join(expected.words[:12])}",
                )
            return self.tree.node("const", expected, (), tree.name)
        hint = "a fact has its subject in front, as vehicle.kerb_mass"
        if expected is not None:
            hint = f"expected {a_type(expected)}"
        elif tree.name in self.names.words:
            hint = "a word can only be compared with a fact that takes words"
        fail(f'"{tree.name}" has no meaning here', tree.span, hint)

    def unary(self, tree: s.Unary, scope: Mapping[str, str], _expected: Any) -> Node:
        if tree.operator == "not":
            node = self.condition(tree.operand, scope)
            return arithmetic.negation(self.tree, node)
        node = self.type(tree.operand, scope)
        if node.type.kind != "quantity":
            fail(f"only numbers can be negative; this is {a_type(node.type)}", tree.operand.span)
        return arithmetic.negative(self.tree, node)

    def condition(self, tree: s.Syntax, scope: Mapping[str, str]) -> Node:
        node = self.type(tree, scope)
        self.require(node, YES_NO, tree.span)
        return node

    def binary(self, tree: s.Binary, scope: Mapping[str, str], _expected: Any) -> Node:
        operator = tree.operator
        if operator in ("and", "or"):
            left = self.expression(tree.left, scope, YES_NO)
            right = self.condition(tree.right, scope)
            return self.tree.node(operator, YES_NO, (left or right, right))
        if operator in ("=", "!="):
            return self.equality(tree, scope)
        left = self.type(tree.left, scope)
        right = self.type(tree.right, scope)
        if operator in ("<", "<=", ">", ">="):
            return arithmetic.comparison(self.tree, operator, left, right, tree.span)
        return arithmetic.calculation(self.tree, operator, left, right, tree)

    def equality(self, tree: s.Binary, scope: Mapping[str, str]) -> Node:
        sides = (tree.left, tree.right)
        bare = [
            isinstance(side, s.Name)
            and "." not in side.name
            and side.name not in ("yes", "no", "today")
            for side in sides
        ]
        if bare[0] and not bare[1]:
            right = self.type(tree.right, scope)
            left = self.type(tree.left, scope, right.type)
        else:
            left = self.type(tree.left, scope)
            right = self.type(tree.right, scope, left.type)
        node = arithmetic.equal(self.tree, left, right, tree)
        return node if tree.operator == "=" else arithmetic.negation(self.tree, node)

    def member(self, tree: s.Member, scope: Mapping[str, str], _expected: Any) -> Node:
        operand = self.type(tree.operand, scope)
        kind = operand.type.kind
        if kind not in ("word", "text") and not operand.type.whole:
            fail(
                f"this is {a_type(operand.type)}; only words, texts and counts can be looked for "
                "in a list",
                tree.operand.span,
            )
        values = []
        for choice in tree.choices:
            node = self.type(choice, scope, operand.type)
            if node.op != "const" or node.type.kind != kind:
                fail(f"a list holds plain values; expected {a_type(operand.type)}", choice.span)
            if kind == "quantity":
                if not node.type.whole:
                    fail("a count is a whole number", choice.span)
                # Twice a count is never 3: what the operand can't be is left out.
                number = node.value * node.scale / operand.scale
                if number.denominator == 1:
                    values.append(number.numerator)
            else:
                if kind == "text" and operand.type.words:
                    arithmetic.listed(node.value, operand.type.words, choice.span)
                values.append(node.value)
        found = self.tree.node("in", YES_NO, (operand,), frozenset(values))
        return arithmetic.negation(self.tree, found) if tree.negated else found

    def optional_fact(self, tree: s.Syntax, scope: Mapping[str, str]) -> Node:
        node = self.type(tree, scope)
        if node.op != "fact":
            fail(
                "only a fact can be stated or not",
                tree.span,
                "put parentheses round the fact and what stands in for it",
            )
        if not self.names.facts[node.value[1]].none_stated:
            fail(
                f'"{node.value[1]}" is always stated or missing; rules can\'t ask whether a fact '
                "is missing",
                tree.span,
                "declare none_stated: true where a maker may state none",
            )
        return node

    def stated(self, tree: s.Stated, scope: Mapping[str, str], _expected: Any) -> Node:
        fact = self.optional_fact(tree.operand, scope)
        node = self.tree.node("stated", YES_NO, (), fact.value)
        return arithmetic.negation(self.tree, node) if tree.negated else node

    def fallback(self, tree: s.Fallback, scope: Mapping[str, str], _expected: Any) -> Node:
        fact = self.optional_fact(tree.operand, scope)
        other = self.type(tree.other, scope, fact.type)
        type_, scale, (left, right) = arithmetic.branches(self.tree, fact, other, tree.span)
        return self.tree.node("fallback", type_, (left, right), fact.value, scale, fact.unit)

    def conditional(self, tree: s.Conditional, scope: Mapping[str, str], expected: Any) -> Node:
        condition = self.condition(tree.condition, scope)
        then = self.type(tree.then, scope, expected)
        other = self.type(tree.other, scope, expected)
        type_, scale, (then, other) = arithmetic.branches(self.tree, then, other, tree.span)
        return self.tree.node(
            "if", type_, (condition, then, other), None, scale, then.unit or other.unit
        )


_Rule = Callable[[Typer, Any, Mapping[str, str], Any], Node]
_RULES: Final[Mapping[type, _Rule]] = {
    s.Number: Typer.number,
    s.Date: Typer.date,
    s.Text: Typer.text,
    s.Name: Typer.name,
    s.Unary: Typer.unary,
    s.Binary: Typer.binary,
    s.Member: Typer.member,
    s.Stated: Typer.stated,
    s.Fallback: Typer.fallback,
    s.Conditional: Typer.conditional,
    s.Call: call,
    s.Over: over,
}
