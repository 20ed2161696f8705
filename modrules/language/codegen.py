"""Straight-line Python for exact facts, generated through ``ast`` objects.

Each op has one function that makes its Python expression, in a plain mapping. The
code runs on ints (or Fractions where a value is not whole) and raises one of ``NO_VALUE``
where an expression has no value; the caller then asks the interval evaluator.
Text from a ruleset only ever becomes an ``ast.Constant``.
"""

from __future__ import annotations

import ast
from collections.abc import Callable, Mapping
from fractions import Fraction
from typing import Any, Final

from modrules.language.records import attribute
from modrules.language.tree import Names, Node


class NoValue(ArithmeticError):
    """An expression has no value: a function gave none, or a table's cell is empty."""


#: What generated code raises where there is no value.
NO_VALUE: Final = (ZeroDivisionError, KeyError, NoValue)
#: One for all names: it says no more than what it is.
LOAD: Final = ast.Load()
STORE: Final = ast.Store()
_POSITIVE: Final = frozenset(["quantity", "same", "add", "mul", "smallest", "largest"])
_FALLIBLE: Final = frozenset(["div", "look_up", "call"])


def can_fail(node: Node) -> bool:
    """Whether the generated code of this node itself, its parts aside, may raise."""
    return node.op in _FALLIBLE and not (node.op == "div" and positive(node.args[1]))


def positive(node: Node) -> bool:
    """Whether a number is above zero, whatever the facts are. (There is more that is.)"""
    if node.op == "const":
        return bool(node.value > 0)
    if node.op == "rescale":
        return node.value > 0 and positive(node.args[0])
    if node.op == "if":
        return positive(node.args[1]) and positive(node.args[2])
    return node.op in _POSITIVE and all(map(positive, node.args))


def variable(binding: str) -> str:
    """The Python name of a binding: ``axle`` → axle_, ``each axle`` → each_axle_."""
    return binding.replace(" ", "_").replace(":", "_") + "_"


#: A number as generated code has it: an expression, and what that is still to be divided by.
Figure = tuple[ast.expr, ast.expr | None]
#: How a constant of generated code is made: a word, then what it needs.
Recipe = tuple[Any, ...]


class Emitter:
    """Makes Python expressions for nodes; ``recipes`` tells what they refer to.

    Recipes are plain data, so that compiled code can be kept; ``recipes.constants`` makes
    the things themselves. ``locals`` names the variables that already hold the value of a node,
    ``quotients`` those that hold it as a number and what that is divided by, which is above
    zero. ``used`` are the bindings that were read, and today.
    """

    def __init__(self, names: Names) -> None:
        self.names = names
        self.recipes: dict[str, Recipe] = {}
        self.locals: dict[Node, str] = {}
        self.quotients: dict[Node, tuple[str, str]] = {}
        self.used: set[str] = set()
        self._failing: dict[Node, bool] = {}

    def expression(self, node: Node) -> ast.expr:
        name = self.locals.get(node)
        if name is not None:
            return load(name)
        if node in self.quotients:
            return value_of(self.figure(node))
        return _MAKERS[node.op](self, node)

    def fails(self, node: Node) -> bool:
        """Whether the generated code of a node may raise."""
        if node in self.locals or node in self.quotients or not self._may_fail(node):
            return False
        return can_fail(node) or any(map(self.fails, node.args))

    def _may_fail(self, node: Node) -> bool:
        """Whether there is something in a node that may raise, be it worked out or not."""
        found = self._failing.get(node)
        if found is None:
            found = can_fail(node) or any(map(self._may_fail, node.args))
            self._failing[node] = found
        return found

    def test(self, node: Node) -> ast.expr:
        """An expression that is true where the node is; its value may be another than True."""
        if node not in self.locals:
            if node.op in ("and", "or"):
                operator = ast.And() if node.op == "and" else ast.Or()
                return ast.BoolOp(operator, [self.test(arg) for arg in joined(node, node.op)])
            if node.op == "not":
                return _not(self, node)
            if node.op == "over" and node.value[0] == "any":
                # Mostly there is nothing of the kind.
                there = records(node)
                return ast.BoolOp(ast.And(), [there, _over(self, node)]) if node.args else there
        return self.expression(node)

    def figure(self, node: Node) -> Figure:
        """A number; a quotient is kept in two parts where its divisor is above zero."""
        names = self.quotients.get(node)
        if names is not None:
            return load(names[0]), load(names[1])
        if node not in self.locals:
            if node.op in ("quantity", "same"):
                return self.figure(node.args[0])
            if node.op == "rescale":
                over, below = self.figure(node.args[0])
                return ast.BinOp(over, ast.Mult(), ast.Constant(node.value)), below
            if node.op == "div" and positive(node.args[1]):
                return self.expression(node.args[0]), self.expression(node.args[1])
        return self.expression(node), None


def load(name: str) -> ast.expr:
    return ast.Name(name, LOAD)


def constant(value: Any) -> ast.expr:
    """A literal; a Fraction is written as a call."""
    if isinstance(value, Fraction):
        return call("Fraction", constant(value.numerator), constant(value.denominator))
    return ast.Constant(value)


def call(function: str, *arguments: ast.expr) -> ast.expr:
    return ast.Call(load(function), list(arguments), [])


def compare(left: ast.expr, operator: ast.cmpop, right: ast.expr) -> ast.expr:
    return ast.Compare(left, [operator], [right])


def times(left: ast.expr, right: ast.expr | None) -> ast.expr:
    return left if right is None else ast.BinOp(left, ast.Mult(), right)


def value_of(figure: Figure) -> ast.expr:
    """A figure as one number."""
    over, below = figure
    return over if below is None else call("Fraction", over, below)


def in_order(left: Figure, operator: ast.cmpop, right: Figure) -> ast.expr:
    """Two figures compared, without dividing."""
    return compare(times(left[0], right[1]), operator, times(right[0], left[1]))


def difference(left: Figure, right: Figure) -> ast.expr:
    """What one figure is more than another."""
    over = ast.BinOp(times(left[0], right[1]), ast.Sub(), times(right[0], left[1]))
    below = left[1] if right[1] is None else times(right[1], left[1])
    return value_of((over, below))


def simple(expression: ast.expr) -> bool:
    """Whether an expression costs little enough to be worked out twice."""
    if isinstance(expression, ast.BinOp):
        return simple(expression.left) and isinstance(expression.right, (ast.Name, ast.Constant))
    return isinstance(expression, (ast.Name, ast.Constant, ast.Attribute))


def joined(node: Node, op: str) -> list[Node]:
    """The conditions that a chain of ``and`` (or of ``or``) joins."""
    if node.op != op:
        return [node]
    return [part for arg in node.args for part in joined(arg, op)]


def _const(_: Emitter, node: Node) -> ast.expr:
    return constant(node.value)


def _fact(emitter: Emitter, node: Node) -> ast.expr:
    binding, _fact_id, slot = node.value
    emitter.used.add(binding)
    return ast.Attribute(load(variable(binding)), slot, LOAD)


def _stated(emitter: Emitter, node: Node) -> ast.expr:
    # Exact code only runs where a fact is exactly known, which it is if none is stated.
    return compare(_fact(emitter, node), ast.IsNot(), load("NONE_STATED"))


def _fallback(emitter: Emitter, node: Node) -> ast.expr:
    stated, other = (emitter.expression(arg) for arg in node.args)
    return ast.IfExp(_stated(emitter, node), stated, other)


def _first(emitter: Emitter, node: Node) -> ast.expr:
    return emitter.expression(node.args[0])


def _today(emitter: Emitter, _node: Node) -> ast.expr:
    emitter.used.add("today")
    return load("today")


def _binary(operator: type[ast.operator]) -> Callable[[Emitter, Node], ast.expr]:
    def make(emitter: Emitter, node: Node) -> ast.expr:
        left, right = node.args
        return ast.BinOp(emitter.expression(left), operator(), emitter.expression(right))

    return make


def _negative(emitter: Emitter, node: Node) -> ast.expr:
    return ast.UnaryOp(ast.USub(), _first(emitter, node))


def _rescale(emitter: Emitter, node: Node) -> ast.expr:
    return ast.BinOp(_first(emitter, node), ast.Mult(), ast.Constant(node.value))


def _div(emitter: Emitter, node: Node) -> ast.expr:
    left, right = node.args
    return call("Fraction", emitter.expression(left), emitter.expression(right))


def _builtin(name: str) -> Callable[[Emitter, Node], ast.expr]:
    def make(emitter: Emitter, node: Node) -> ast.expr:
        found = [emitter.expression(arg) for arg in node.args]
        if len(found) == 2 and simple(found[0]) and simple(found[1]):
            first = compare(found[0], ast.LtE() if name == "min" else ast.GtE(), found[1])
            return ast.IfExp(first, *found)
        return call(name, *found)

    return make


def _round(emitter: Emitter, node: Node) -> ast.expr:
    direction, step = node.value
    inner = _first(emitter, node)
    if direction == "round_up":
        inner = ast.UnaryOp(ast.USub(), inner)
    steps = ast.BinOp(inner, ast.FloorDiv(), ast.Constant(step))
    result = ast.BinOp(steps, ast.Mult(), ast.Constant(step))
    return ast.UnaryOp(ast.USub(), result) if direction == "round_up" else result


def _date_plus(emitter: Emitter, node: Node) -> ast.expr:
    return call("add_months", *(emitter.expression(arg) for arg in node.args))


_INVERSE: Final[Mapping[type[ast.cmpop], type[ast.cmpop]]] = {
    ast.LtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.In: ast.NotIn,
    ast.IsNot: ast.Is,
}


def _comparison(operator: type[ast.cmpop]) -> Callable[[Emitter, Node], ast.expr]:
    def make(emitter: Emitter, node: Node) -> ast.expr:
        left, right = node.args
        return compare(emitter.expression(left), operator(), emitter.expression(right))

    return make


def _at_most(emitter: Emitter, node: Node) -> ast.expr:
    left, right = node.args
    for many, one, least in ((right, left, "smallest"), (left, right, "largest")):
        # Below the smallest of some is below each of them.
        if many.op in ("smallest", "largest") and many not in emitter.locals:
            other = emitter.figure(one)
            if simple(other[0]) and not any(map(emitter.fails, many.args)):
                parts = [emitter.figure(arg) for arg in many.args]
                joint = ast.And() if many.op == least else ast.Or()
                pairs = ((other, part) if many is right else (part, other) for part in parts)
                return ast.BoolOp(joint, [in_order(a, ast.LtE(), b) for a, b in pairs])
    return in_order(emitter.figure(left), ast.LtE(), emitter.figure(right))


def _in(emitter: Emitter, node: Node) -> ast.expr:
    name = f"set_{len(emitter.recipes)}"
    emitter.recipes[name] = ("value", node.value)
    return compare(_first(emitter, node), ast.In(), load(name))


def _not(emitter: Emitter, node: Node) -> ast.expr:
    inner = emitter.test(node.args[0])
    if isinstance(inner, ast.Compare):
        inverse = _INVERSE.get(type(inner.ops[0]))
        if inverse is not None:
            return compare(inner.left, inverse(), inner.comparators[0])
    return ast.UnaryOp(ast.Not(), inner)


def _connective(operator: type[ast.boolop]) -> Callable[[Emitter, Node], ast.expr]:
    def make(emitter: Emitter, node: Node) -> ast.expr:
        return ast.BoolOp(operator(), [emitter.expression(arg) for arg in node.args])

    return make


def _if(emitter: Emitter, node: Node) -> ast.expr:
    condition, then, other = node.args
    return ast.IfExp(emitter.test(condition), emitter.expression(then), emitter.expression(other))


def _look_up(emitter: Emitter, node: Node) -> ast.expr:
    table_id, column_id = node.value
    table = emitter.names.tables[table_id]
    factors = tuple(
        arg.scale / key.scale if key.type.kind == "quantity" else None
        for arg, key in zip(node.args, table.keys, strict=True)
    )
    if len(factors) == 1 and factors[0] in (None, 1) and not table.keys[0].up_to:
        name = f"cells_{len(emitter.recipes)}"
        emitter.recipes[name] = ("cells", table_id, column_id)
        return ast.Subscript(load(name), emitter.expression(node.args[0]), LOAD)
    name = f"find_{len(emitter.recipes)}"
    emitter.recipes[name] = ("table", table_id, column_id, factors)
    return call(name, *(emitter.expression(arg) for arg in node.args))


def _call(emitter: Emitter, node: Node) -> ast.expr:
    function = emitter.names.functions[node.value]
    factors = tuple(
        arg.scale / scale if type_.kind == "quantity" else None
        for arg, (type_, scale) in zip(node.args, function.parameters, strict=True)
    )
    name = f"call_{len(emitter.recipes)}"
    emitter.recipes[name] = ("function", node.value, factors)
    return call(name, *(emitter.expression(arg) for arg in node.args))


def records(node: Node) -> ast.expr:
    """The list that a list function runs over, never a loop variable of the same name."""
    return ast.Attribute(load("world"), attribute(node.value[1].removeprefix("each ")), LOAD)


def over_parts(node: Node) -> tuple[Node | None, Node | None, Node | None]:
    """The body of a list function, its condition, and its value for the empty list."""
    _, _, *given = node.value
    pieces = iter(node.args)
    body, where, default = (next(pieces) if each else None for each in given)
    return body, where, default


def _over(emitter: Emitter, node: Node) -> ast.expr:
    function, binding = node.value[:2]
    body, where, default = over_parts(node)
    if body is None and where is None and function in ("any", "count"):
        return call("bool" if function == "any" else "len", records(node))
    if body is None:
        value: ast.expr = ast.Constant(1)
    else:
        value = emitter.test(body) if function in ("any", "all") else emitter.expression(body)
    conditions = [emitter.test(where)] if where is not None else []
    element = ast.Name(variable(binding), STORE)
    loop = ast.comprehension(element, records(node), conditions, 0)
    # Over the few that there are of anything a list is quicker than a generator; but where the
    # rest may have no value, it matters that it is not looked at.
    early = function in ("any", "all") and body is not None and emitter.fails(body)
    made = (ast.GeneratorExp if early else ast.ListComp)(value, [loop])
    python = {"count": "sum", "largest": "max", "smallest": "min"}
    name = python.get(function, function)
    if default is None:
        return call(name, made)
    keyword = ast.keyword("default", emitter.expression(default))
    return ast.Call(load(name), [made], [keyword])


_MAKERS: Final[Mapping[str, Callable[[Emitter, Node], ast.expr]]] = {
    "const": _const,
    "fact": _fact,
    "stated": _stated,
    "fallback": _fallback,
    "today": _today,
    "quantity": _first,
    "neg": _negative,
    "add": _binary(ast.Add),
    "sub": _binary(ast.Sub),
    "mul": _binary(ast.Mult),
    "div": _div,
    "same": _first,
    "rescale": _rescale,
    "smallest": _builtin("min"),
    "largest": _builtin("max"),
    "absolute": _builtin("abs"),
    "round": _round,
    "date_plus": _date_plus,
    "le": _at_most,
    "equal": _comparison(ast.Eq),
    "in": _in,
    "not": _not,
    "and": _connective(ast.And),
    "or": _connective(ast.Or),
    "if": _if,
    "look_up": _look_up,
    "call": _call,
    "over": _over,
}
