"""From syntax tree to typed tree: names, types, dimensions and conditions of measurement.

One function per piece of syntax, in a plain mapping. Problems are collected;
``TypeProblem`` ends the piece in which it was found, and the rest is still checked.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping
from fractions import Fraction
from typing import Any, Final, NoReturn

from modrules.language import syntax as s
from modrules.language.tree import (
    COUNT,
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
from modrules.language.units import (
    NUMBER,
    PERIODS,
    TIME,
    UNITS,
    in_words,
    over,
    quantum,
    shown_unit,
    times,
    whole,
)
from modrules.problems import nearest

MOST_NODES: Final = 3000
#: How deep a tree goes with the quantities in it: all that walks it may do so by recursion.
MOST_DEEP: Final = 120


class TypeProblem(Exception):
    """A piece of an expression that means nothing; ``span`` is its stretch of the source."""

    def __init__(self, message: str, span: s.Span, hint: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.span = span
        self.hint = hint


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
            self.fail(f"this is {_a(found)}, but {_a(expected)} is expected", span)
        if expected.kind == "quantity" and found.dimension != expected.dimension:
            self.fail(
                f"this is {_a(found)}, but {_a(expected)} is expected", span, _wrong_unit(found)
            )

    def fail(self, message: str, span: s.Span, hint: str = "") -> NoReturn:
        raise TypeProblem(message, span, hint)

    def number(self, tree: s.Number, _scope: Any, _expected: Any) -> Node:
        if tree.unit in PERIODS:
            months = tree.value * PERIODS[tree.unit]
            if months.denominator != 1:
                self.fail("calendar periods are whole months", tree.span)
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
        return self.constant(tree.value * unit.factor, Type("quantity", unit.dimension), tree.unit)

    def constant(self, si_value: Fraction, type: Type, unit: str) -> Node:
        """A constant counted in quanta, or in a finer scale where it is not whole in those."""
        step = quantum(type.dimension)
        count = si_value / step
        return self.tree.node("const", type, (), count.numerator, step / count.denominator, unit)

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
                self.fail(
                    f'there is no fact or quantity "{name}"', tree.span, nearest(name, everything)
                )
            self.fail(
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
        self.fail(f'there is no fact or quantity "{full}"', tree.span, nearest(full, everything))

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
            self.fail(f"this quantity is made from itself: {circle}", span)
        self.not_too_deep(len(self._open), span)
        self._open.append(quantity.id)
        try:
            body = self.type(quantity.formula, self.scope(**self.own_scope(quantity, binding)))
            self.not_too_deep(body.depth, span)
        except TypeProblem as problem:
            message = problem.message
            if not message.startswith('the quantity "'):
                message = f'the quantity "{quantity.id}" has a problem: {message}'
            self.fail(message, span)
        finally:
            self._open.pop()
        if body.type.kind == "quantity" and body.type.dimension != quantity.dimension:
            self.fail(f'the quantity "{quantity.id}" is {_a(body.type)}', span)
        node = self.tree.node("quantity", body.type, (body,), key, body.scale, quantity.unit)
        self._quantities[key] = node
        return node

    def not_too_deep(self, depth: int, span: s.Span) -> None:
        if depth > MOST_DEEP:
            self.fail(
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
                self.fail(
                    f'"{tree.name}" is none of the words that can stand here',
                    tree.span,
                    nearest(tree.name, expected.words)
                    or f"expected one of: {', '.join(expected.words[:12])}",
                )
            return self.tree.node("const", expected, (), tree.name)
        hint = "a fact has its subject in front, as vehicle.kerb_mass"
        if expected is not None:
            hint = f"expected {_a(expected)}"
        elif tree.name in self.names.words:
            hint = "a word can only be compared with a fact that takes words"
        self.fail(f'"{tree.name}" has no meaning here', tree.span, hint)

    def unary(self, tree: s.Unary, scope: Mapping[str, str], _expected: Any) -> Node:
        if tree.operator == "not":
            node = self.condition(tree.operand, scope)
            return self.negation(node)
        node = self.type(tree.operand, scope)
        if node.type.kind != "quantity":
            self.fail(f"only numbers can be negative; this is {_a(node.type)}", tree.operand.span)
        return self.negative(node)

    def negative(self, node: Node) -> Node:
        if node.op == "const":
            return self.tree.node("const", node.type, (), -node.value, node.scale, node.unit)
        return self.tree.node("neg", node.type, (node,), None, node.scale, node.unit)

    def negation(self, node: Node) -> Node:
        return node.args[0] if node.op == "not" else self.tree.node("not", YES_NO, (node,))

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
            return self.comparison(operator, left, right, tree.span)
        return self.arithmetic(operator, left, right, tree)

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
        node = self.equal(left, right, tree)
        return node if tree.operator == "=" else self.negation(node)

    def equal(self, left: Node, right: Node, tree: s.Syntax) -> Node:
        kind = left.type.kind
        if kind != right.type.kind:
            self.fail(
                f"{_a(left.type)} can't equal {_a(right.type)}",
                tree.span,
            )
        if kind == "quantity":
            if not (left.type.whole and right.type.whole):
                self.fail(
                    "measured quantities are never exactly equal",
                    tree.span,
                    "use <= or >=, or both",
                )
            left, right = self.tree.aligned(left, right)
        if left.type.words and right.type.words and not {*left.type.words} & {*right.type.words}:
            self.fail("these two never take the same word", tree.span)
        for one, other in ((left, right), (right, left)):
            if kind == "text" and one.type.words and other.op == "const":
                self.listed(other.value, one.type.words, tree.span)
        return self.tree.node("equal", YES_NO, (left, right))

    def listed(self, text: str, known: tuple[str, ...], span: s.Span) -> None:
        """Refuses a text that a fact whose values are all listed never takes."""
        if text not in known:
            self.fail(
                f'"{text}" is none of the values that there are',
                span,
                nearest(text, known) or f"one of: {', '.join(known[:12])}",
            )

    def comparison(self, operator: str, left: Node, right: Node, span: s.Span) -> Node:
        if left.type.kind != right.type.kind or left.type.kind not in (
            "quantity",
            "date",
            "period",
        ):
            self.fail(
                f"{_a(left.type)} can't be compared with {_a(right.type)}",
                span,
                "only numbers, quantities and dates have an order",
            )
        if left.type.kind == "quantity":
            self.same_measure(left, right, span, "compared with")
            left, right = self.tree.aligned(left, right)
        # One comparison serves all four: a < b is not (b <= a).
        if operator in ("<=", ">"):
            node = self.tree.node("le", YES_NO, (left, right))
            return node if operator == "<=" else self.negation(node)
        node = self.tree.node("le", YES_NO, (right, left))
        return node if operator == ">=" else self.negation(node)

    def same_measure(self, left: Node, right: Node, span: s.Span, doing: str) -> str:
        a, b = left.type, right.type
        if a.dimension != b.dimension:
            self.fail(
                f"{in_words(a.dimension)} can't be {doing} {in_words(b.dimension)}",
                span,
                _wrong_unit(a if a.dimension == NUMBER else b),
            )
        if a.condition and b.condition and a.condition != b.condition:
            self.fail(
                f'a value measured "{a.condition}" can\'t be {doing} one measured "{b.condition}"',
                span,
                "convert one of them, or write regardless(…) where the difference does not matter",
            )
        return a.condition or b.condition

    def arithmetic(self, operator: str, left: Node, right: Node, tree: s.Binary) -> Node:
        a, b = left.type.kind, right.type.kind
        if operator in "+-" and a == "date" and b == "period":
            if operator == "-":
                right = self.tree.node("neg", PERIOD, (right,))
            return self.tree.node("date_plus", DATE, (left, right))
        if operator == "-" and a == "date" and b == "date":
            days = Type("quantity", TIME, whole=False)
            return self.tree.node("sub", days, (left, right), None, quantum(TIME), "days")
        if operator in "+-" and a == "date" and right.type.dimension == TIME and b == "quantity":
            self.fail(
                "only calendar periods can be added to a date",
                tree.right.span,
                "write months or years",
            )
        for side, node in ((tree.left, left), (tree.right, right)):
            if node.type.kind != "quantity":
                self.fail(f"this is {_a(node.type)}; {operator} needs numbers", side.span)
        if operator in "+-":
            return self.addition(operator, left, right, tree.span)
        if operator == "*":
            return self.product(left, right)
        return self.quotient(left, right, tree.right.span)

    def addition(self, operator: str, left: Node, right: Node, span: s.Span) -> Node:
        doing = "added to" if operator == "+" else "taken from"
        pair = (left, right) if operator == "+" else (right, left)
        condition = self.same_measure(*pair, span, doing)
        is_whole = left.type.whole and right.type.whole
        unit = left.unit or right.unit
        type_ = Type("quantity", left.type.dimension, condition, whole=is_whole)
        left, right = self.tree.aligned(left, right)
        if left.op == "const" and right.op == "const":
            value = left.value + right.value if operator == "+" else left.value - right.value
            return self.tree.node("const", type_, (), value, left.scale, unit)
        op = "add" if operator == "+" else "sub"
        return self.tree.node(op, type_, (left, right), None, left.scale, unit)

    def product(self, left: Node, right: Node) -> Node:
        if right.op != "const" and left.op == "const":
            left, right = right, left
        type_ = self.combined(
            left.type,
            right.type,
            times(left.type.dimension, right.type.dimension),
            left.type.whole and right.type.whole,
        )
        unit = (
            left.unit
            if type_.dimension == left.type.dimension
            else (right.unit if type_.dimension == right.type.dimension else "")
        )
        if right.op == "const" and right.value != 0:
            return self.scaled(left, right.value * right.scale, type_, unit)
        return self.tree.node("mul", type_, (left, right), None, left.scale * right.scale, unit)

    def quotient(self, left: Node, right: Node, span: s.Span) -> Node:
        type_ = self.combined(
            left.type, right.type, over(left.type.dimension, right.type.dimension), False
        )
        unit = left.unit if type_.dimension == left.type.dimension else ""
        if right.op == "const":
            if right.value == 0:
                self.fail("this divides by zero", span)
            return self.scaled(left, 1 / (right.value * right.scale), type_, unit)
        return self.tree.node("div", type_, (left, right), None, left.scale / right.scale, unit)

    def scaled(self, node: Node, factor: Fraction, type: Type, unit: str) -> Node:
        """A constant factor goes into the scale; nothing is left to do at run time."""
        if factor < 0:
            node, factor = self.negative(node), -factor
        scale = node.scale * factor
        if node.op == "const":
            return self.tree.node("const", type, (), node.value, scale, unit)
        return self.tree.node("same", type, (node,), None, scale, unit)

    def combined(self, a: Type, b: Type, dimension: Any, is_whole: bool) -> Type:
        condition = a.condition if not b.condition or a.condition == b.condition else ""
        if not a.condition:
            condition = b.condition
        if dimension == NUMBER and a.dimension != NUMBER:
            condition = ""
        return Type("quantity", dimension, condition, whole=is_whole)

    def member(self, tree: s.Member, scope: Mapping[str, str], _expected: Any) -> Node:
        operand = self.type(tree.operand, scope)
        kind = operand.type.kind
        if kind not in ("word", "text") and not operand.type.whole:
            self.fail(
                f"this is {_a(operand.type)}; only words, texts and counts can be looked for "
                "in a list",
                tree.operand.span,
            )
        values = []
        for choice in tree.choices:
            node = self.type(choice, scope, operand.type)
            if node.op != "const" or node.type.kind != kind:
                self.fail(f"a list holds plain values; expected {_a(operand.type)}", choice.span)
            if kind == "quantity":
                if not node.type.whole:
                    self.fail("a count is a whole number", choice.span)
                # Twice a count is never 3: what the operand can't be is left out.
                number = node.value * node.scale / operand.scale
                if number.denominator == 1:
                    values.append(number.numerator)
            else:
                if kind == "text" and operand.type.words:
                    self.listed(node.value, operand.type.words, choice.span)
                values.append(node.value)
        found = self.tree.node("in", YES_NO, (operand,), frozenset(values))
        return self.negation(found) if tree.negated else found

    def optional_fact(self, tree: s.Syntax, scope: Mapping[str, str]) -> Node:
        node = self.type(tree, scope)
        if node.op != "fact":
            self.fail(
                "only a fact can be stated or not",
                tree.span,
                "put parentheses round the fact and what stands in for it",
            )
        if not self.names.facts[node.value[1]].none_stated:
            self.fail(
                f'"{node.value[1]}" is always stated or missing; rules can\'t ask whether a fact '
                "is missing",
                tree.span,
                "declare none_stated: true where a maker may state none",
            )
        return node

    def stated(self, tree: s.Stated, scope: Mapping[str, str], _expected: Any) -> Node:
        fact = self.optional_fact(tree.operand, scope)
        node = self.tree.node("stated", YES_NO, (), fact.value)
        return self.negation(node) if tree.negated else node

    def fallback(self, tree: s.Fallback, scope: Mapping[str, str], _expected: Any) -> Node:
        fact = self.optional_fact(tree.operand, scope)
        other = self.type(tree.other, scope, fact.type)
        type_, scale, (left, right) = self.branches(fact, other, tree.span)
        return self.tree.node("fallback", type_, (left, right), fact.value, scale, fact.unit)

    def branches(
        self, left: Node, right: Node, span: s.Span
    ) -> tuple[Type, Fraction, tuple[Node, ...]]:
        """Two nodes of which one will be the value: their common type and scale."""
        if left.type.kind != right.type.kind:
            self.fail(f"one side is {_a(left.type)}, the other {_a(right.type)}", span)
        if left.type.kind == "quantity":
            condition = self.same_measure(left, right, span, "an alternative to")
            pair = self.tree.aligned(left, right)
            is_whole = left.type.whole and right.type.whole
            return (
                Type("quantity", left.type.dimension, condition, whole=is_whole),
                pair[0].scale,
                pair,
            )
        words = tuple(dict.fromkeys(left.type.words + right.type.words))
        if not left.type.words or not right.type.words:
            words = ()
        return Type(left.type.kind, words=words), ONE, (left, right)

    def conditional(self, tree: s.Conditional, scope: Mapping[str, str], expected: Any) -> Node:
        condition = self.condition(tree.condition, scope)
        then = self.type(tree.then, scope, expected)
        other = self.type(tree.other, scope, expected)
        type_, scale, (then, other) = self.branches(then, other, tree.span)
        return self.tree.node(
            "if", type_, (condition, then, other), None, scale, then.unit or other.unit
        )

    def call(self, tree: s.Call, scope: Mapping[str, str], _expected: Any) -> Node:
        builtin = _BUILTINS.get(tree.function)
        if builtin is not None:
            return builtin(self, tree, scope)
        function = self.names.functions.get(tree.function)
        if function is None:
            known = [*_BUILTINS, *self.names.functions, *_OVER]
            hint = nearest(tree.function, known)
            if tree.function in _OVER:
                hint = f"write {tree.function}(… for each LIST)"
            self.fail(f'there is no function "{tree.function}"', tree.span, hint)
        self.arguments(tree, len(function.parameters), len(function.parameters))
        args = []
        for piece, (type_, _) in zip(tree.arguments, function.parameters, strict=True):
            node = self.type(piece, scope, type_)
            self.require(node, type_, piece.span)
            args.append(node)
        return self.tree.node(
            "call", function.result, tuple(args), function.name, function.scale, function.unit
        )

    def arguments(self, tree: s.Call, least: int, most: int) -> None:
        count = len(tree.arguments)
        if not least <= count <= most:
            wanted = f"{least}" if least == most else f"{least} or more"
            self.fail(f"{tree.function} takes {wanted} values, not {count}", tree.span)

    def extreme(self, tree: s.Call, scope: Mapping[str, str]) -> Node:
        self.arguments(tree, 2, 20)
        nodes = [self.type(piece, scope) for piece in tree.arguments]
        node = nodes[0]
        for other, piece in zip(nodes[1:], tree.arguments[1:], strict=True):
            if node.type.kind not in ("quantity", "date"):
                self.fail(f"{_a(node.type)} has no order", tree.arguments[0].span)
            type_, scale, pair = self.branches(node, other, piece.span)
            node = self.tree.node(tree.function, type_, pair, None, scale, node.unit or other.unit)
        return node

    def absolute(self, tree: s.Call, scope: Mapping[str, str]) -> Node:
        self.arguments(tree, 1, 1)
        node = self.measured(tree.arguments[0], scope)
        return self.tree.node("absolute", node.type, (node,), None, node.scale, node.unit)

    def regardless(self, tree: s.Call, scope: Mapping[str, str]) -> Node:
        self.arguments(tree, 1, 1)
        node = self.measured(tree.arguments[0], scope)
        type_ = Type("quantity", node.type.dimension, whole=node.type.whole)
        return self.tree.node("same", type_, (node,), None, node.scale, node.unit)

    def round(self, tree: s.Call, scope: Mapping[str, str]) -> Node:
        self.arguments(tree, 2, 2)
        node = self.measured(tree.arguments[0], scope)
        step = self.measured(tree.arguments[1], scope)
        self.same_measure(node, step, tree.span, "rounded to")
        if step.op != "const" or step.value <= 0:
            self.fail("the step of rounding is a plain value over zero", tree.arguments[1].span)
        node, step = self.tree.aligned(node, step)
        return self.tree.node(
            "round", node.type, (node,), (tree.function, step.value), node.scale, node.unit
        )

    def measured(self, tree: s.Syntax, scope: Mapping[str, str]) -> Node:
        node = self.type(tree, scope)
        if node.type.kind != "quantity":
            self.fail(f"this is {_a(node.type)}, but a quantity is expected", tree.span)
        return node

    def look_up(self, tree: s.Call, scope: Mapping[str, str]) -> Node:
        self.arguments(tree, 3, 8)
        table_piece, column_piece, *key_pieces = tree.arguments
        table_id = table_piece.name if isinstance(table_piece, s.Name) else ""
        table = self.names.tables.get(table_id)
        if table is None:
            self.fail(
                "there is no such table", table_piece.span, nearest(table_id, self.names.tables)
            )
        column_id = column_piece.name if isinstance(column_piece, s.Name) else ""
        column = table.columns.get(column_id)
        if column is None:
            self.fail(
                f'the table "{table.id}" has no such column',
                column_piece.span,
                nearest(column_id, table.columns) or f"its columns: {', '.join(table.columns)}",
            )
        if len(key_pieces) != len(table.keys):
            self.fail(
                f'the table "{table.id}" has {len(table.keys)} keys, not {len(key_pieces)}',
                tree.span,
                f"its keys: {', '.join(key.id for key in table.keys)}",
            )
        nodes = []
        for key, piece in zip(table.keys, key_pieces, strict=True):
            node = self.type(piece, scope, key.type)
            self.require(node, key.type, piece.span)
            nodes.append(node)
        _, type_, scale, unit = column
        return self.tree.node("look_up", type_, tuple(nodes), (table.id, column_id), scale, unit)

    def over(self, tree: s.Over, scope: Mapping[str, str], _expected: Any) -> Node:
        if tree.function not in _OVER:
            self.fail(
                f'"{tree.function}" does not work over a list',
                tree.span,
                nearest(tree.function, _OVER) or f"known: {', '.join(_OVER)}",
            )
        subject = self.names.subjects.get(tree.subject)
        if subject is None or not subject.many:
            lists = [name for name, known in self.names.subjects.items() if known.many]
            self.fail(f'there is no list "{tree.subject}"', tree.span, nearest(tree.subject, lists))
        binding = f"each {tree.subject}"
        if binding in scope.values():
            self.fail(f"each {tree.subject} is already open here", tree.span)
        inner = {**scope, tree.subject: binding}
        if subject.is_kind:
            inner["modification"] = binding
        where = self.condition(tree.where, inner) if tree.where is not None else None
        body = self.type(tree.body, inner) if tree.body is not None else None
        return self.fold(tree, body, where, binding, scope)

    def fold(
        self,
        tree: s.Over,
        body: Node | None,
        where: Node | None,
        binding: str,
        scope: Mapping[str, str],
    ) -> Node:
        function = tree.function
        default: Node | None = None
        if function in ("largest", "smallest"):
            if tree.default is None:
                self.fail(
                    f"{function} over a list needs a value for the empty list",
                    tree.span,
                    'add "if none" and a value',
                )
        elif tree.default is not None:
            self.fail(f"{function} needs no value for the empty list", tree.default.span)
        type_, scale, unit = YES_NO, ONE, ""
        if function == "count":
            type_ = COUNT
            if body is not None:
                self.fail("count takes no value", tree.span, "write count(each … where …)")
        elif function in ("any", "all"):
            if body is not None and tree.body is not None:
                self.require(body, YES_NO, tree.body.span)
            elif function == "all":
                self.fail("all needs a condition", tree.span, "write all(… for each …)")
        else:
            if body is None or tree.body is None:
                self.fail(f"{function} needs a value", tree.span, f"write {function}(… for each …)")
            if body.type.kind != "quantity" and not (
                function != "sum" and body.type.kind == "date"
            ):
                self.fail(f"{function} needs numbers, not {_a(body.type)}", tree.body.span)
            type_, scale, unit = body.type, body.scale, body.unit
            if tree.default is not None:
                default = self.type(tree.default, scope)
                type_, scale, (body, default) = self.branches(body, default, tree.default.span)
        args = tuple(node for node in (body, where, default) if node is not None)
        shape = (function, binding, body is not None, where is not None, default is not None)
        return self.tree.node("over", type_, args, shape, scale, unit)


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
    s.Call: Typer.call,
    s.Over: Typer.over,
}
_BUILTINS: Final[Mapping[str, Callable[[Typer, s.Call, Mapping[str, str]], Node]]] = {
    "largest": Typer.extreme,
    "smallest": Typer.extreme,
    "absolute": Typer.absolute,
    "regardless": Typer.regardless,
    "round_up": Typer.round,
    "round_down": Typer.round,
    "look_up": Typer.look_up,
}
_OVER: Final = ("sum", "count", "largest", "smallest", "all", "any")


def _a(type: Type) -> str:
    words = str(type)
    return words if words[0] in "0123456789" else f"{'an' if words[0] in 'aeiou' else 'a'} {words}"


def _wrong_unit(type: Type) -> str:
    if type.kind == "quantity" and type.dimension == NUMBER:
        return "does the number lack its unit?"
    return ""


__all__ = ["TypeProblem", "Typer", "shown_unit", "whole"]
