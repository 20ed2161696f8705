"""Straight-line Python for exact facts, generated through ``ast`` objects.

Each op has one function that makes its Python expression, in a plain mapping. The
code runs on ints (or Fractions where a value is not whole) and raises one of ``NO_VALUE``
where an expression has no value; the caller then asks the interval evaluator.
Text from a ruleset only ever becomes an ``ast.Constant``.
"""

from __future__ import annotations

import ast
from bisect import bisect_left
from collections.abc import Callable, Mapping
from fractions import Fraction
from typing import Any, Final

from modrules.language.intervals import add_months
from modrules.language.records import attribute
from modrules.language.tree import Function, Names, Node, TableName


class NoValue(ArithmeticError):
    """An expression has no value: a function gave none, or a table's cell is empty."""


#: What generated code raises where there is no value.
NO_VALUE: Final = (ZeroDivisionError, KeyError, NoValue, OverflowError)
_FALLIBLE: Final = frozenset(["div", "look_up", "call", "date_plus"])


def can_fail(node: Node) -> bool:
    """Whether the generated code of this node itself, its parts aside, may raise."""
    return node.op in _FALLIBLE


def variable(binding: str) -> str:
    """The Python name of a binding: ``axle`` → axle_, ``each axle`` → each_axle_."""
    return binding.replace(" ", "_").replace(":", "_") + "_"


#: How a constant of generated code is made: a word, then what it needs.
Recipe = tuple[Any, ...]


class Emitter:
    """Makes Python expressions for nodes; ``recipes`` tells what they refer to.

    Recipes are plain data, so that compiled code can be kept; ``constants`` makes the
    things themselves. ``locals`` names the variables that already hold the value of a node.
    """

    def __init__(self, names: Names) -> None:
        self.names = names
        self.recipes: dict[str, Recipe] = {}
        self.locals: dict[Node, str] = {}

    def expression(self, node: Node) -> ast.expr:
        name = self.locals.get(node)
        if name is not None:
            return load(name)
        return _MAKERS[node.op](self, node)


def load(name: str) -> ast.expr:
    return ast.Name(name, ast.Load())


def constant(value: Any) -> ast.expr:
    """A literal; a Fraction is written as a call."""
    if isinstance(value, Fraction):
        return call("Fraction", constant(value.numerator), constant(value.denominator))
    return ast.Constant(value)


def call(function: str, *arguments: ast.expr) -> ast.expr:
    return ast.Call(load(function), list(arguments), [])


def compare(left: ast.expr, operator: ast.cmpop, right: ast.expr) -> ast.expr:
    return ast.Compare(left, [operator], [right])


def _const(_: Emitter, node: Node) -> ast.expr:
    return constant(node.value)


def _fact(_: Emitter, node: Node) -> ast.expr:
    binding, _fact_id, slot = node.value
    return ast.Attribute(load(variable(binding)), slot, ast.Load())


def _stated(_: Emitter, _node: Node) -> ast.expr:
    # Exact code only runs where every fact is exactly known, so the fact is stated.
    return ast.Constant(True)


def _first(emitter: Emitter, node: Node) -> ast.expr:
    return emitter.expression(node.args[0])


def _today(_: Emitter, _node: Node) -> ast.expr:
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
        return call(name, *(emitter.expression(arg) for arg in node.args))

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
}


def _comparison(operator: type[ast.cmpop]) -> Callable[[Emitter, Node], ast.expr]:
    def make(emitter: Emitter, node: Node) -> ast.expr:
        left, right = node.args
        return compare(emitter.expression(left), operator(), emitter.expression(right))

    return make


def _in(emitter: Emitter, node: Node) -> ast.expr:
    name = f"set_{len(emitter.recipes)}"
    emitter.recipes[name] = ("value", node.value)
    return compare(_first(emitter, node), ast.In(), load(name))


def _not(emitter: Emitter, node: Node) -> ast.expr:
    inner = _first(emitter, node)
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
    condition, then, other = (emitter.expression(arg) for arg in node.args)
    return ast.IfExp(condition, then, other)


def _look_up(emitter: Emitter, node: Node) -> ast.expr:
    table_id, column_id = node.value
    table = emitter.names.tables[table_id]
    factors = tuple(
        arg.scale / key.scale if key.type.kind == "quantity" else None
        for arg, key in zip(node.args, table.keys, strict=True)
    )
    name = f"find_{len(emitter.recipes)}"
    emitter.recipes[name] = ("table", table_id, column_id, factors)
    return call(name, *(emitter.expression(arg) for arg in node.args))


def finder(
    table: TableName, column_id: str, factors: tuple[Fraction | None, ...]
) -> Callable[..., Any]:
    """A function from exact keys, in the scales of the node's arguments, to the cell."""
    index = table.columns[column_id][0]

    def cell(values: tuple[Any, ...]) -> Any:
        value = values[index]
        if value is None:
            raise NoValue
        return value

    def key(given: Any, factor: Fraction | None) -> Any:
        return given if factor is None or factor == 1 else given * factor

    if not any(k.up_to for k in table.keys):
        rows = dict(table.rows)
        return lambda *given: cell(rows[tuple(map(key, given, factors))])
    if len(table.keys) == 1:
        ends = [keys[0] for keys, _ in table.rows]

        def step(given: Any) -> Any:
            at = bisect_left(ends, key(given, factors[0]))
            if at == len(ends):
                raise NoValue
            return cell(table.rows[at][1])

        return step

    def scan(*given: Any) -> Any:
        asked = tuple(map(key, given, factors))
        for keys, values in table.rows:
            if all(
                a <= value if k.up_to else a == value
                for k, a, value in zip(table.keys, asked, keys, strict=True)
            ):
                return cell(values)
        raise NoValue

    return scan


def _call(emitter: Emitter, node: Node) -> ast.expr:
    function = emitter.names.functions[node.value]
    factors = tuple(
        arg.scale / scale if type_.kind == "quantity" else None
        for arg, (type_, scale) in zip(node.args, function.parameters, strict=True)
    )
    name = f"call_{len(emitter.recipes)}"
    emitter.recipes[name] = ("function", node.value, factors)
    return call(name, *(emitter.expression(arg) for arg in node.args))


def runner(function: Function, factors: tuple[Fraction | None, ...]) -> Callable[..., Any]:
    """A function from exact values, in the scales of the node's arguments, to the result."""
    plain = function.call

    def run(*given: Any) -> Any:
        value = plain(*(g if f is None else g * f for g, f in zip(given, factors, strict=True)))
        if value is None:
            raise NoValue
        return value

    return run


_ALWAYS: Final[Mapping[str, Any]] = {
    "Fraction": Fraction,
    "add_months": add_months,
    "NO_VALUE": NO_VALUE,
    "abs": abs,
    "all": all,
    "any": any,
    "bool": bool,
    "enumerate": enumerate,
    "len": len,
    "max": max,
    "min": min,
    "sum": sum,
}


def constants(names: Names, recipes: Mapping[str, Recipe]) -> dict[str, Any]:
    """The global names of generated code, made from their recipes."""
    made = dict(_ALWAYS)
    for name, (what, *needs) in recipes.items():
        if what == "value":
            made[name] = needs[0]
        elif what == "table":
            made[name] = finder(names.tables[needs[0]], needs[1], needs[2])
        else:
            made[name] = runner(names.functions[needs[0]], needs[1])
    return made


def _over(emitter: Emitter, node: Node) -> ast.expr:
    function, binding, has_body, has_where, has_default = node.value
    pieces = iter(node.args)
    body = next(pieces) if has_body else None
    where = next(pieces) if has_where else None
    default = next(pieces) if has_default else None
    element = variable(binding)
    subject = attribute(binding.removeprefix("each "))
    # The list is read from the world, never from a loop variable of the same name.
    records = ast.Attribute(load("world"), subject, ast.Load())
    if body is None and where is None and function in ("any", "count"):
        return call("bool" if function == "any" else "len", records)
    if function in ("any", "all") or body is None:
        value: ast.expr = emitter.expression(body) if body is not None else ast.Constant(True)
        if function == "count":
            value = ast.Constant(1)
    else:
        value = emitter.expression(body)
    conditions = [emitter.expression(where)] if where is not None else []
    loop = ast.comprehension(ast.Name(element, ast.Store()), records, conditions, 0)
    generator = ast.GeneratorExp(value, [loop])
    python = {"count": "sum", "largest": "max", "smallest": "min"}
    name = python.get(function, function)
    if default is None:
        return call(name, generator)
    keyword = ast.keyword("default", emitter.expression(default))
    return ast.Call(load(name), [generator], [keyword])


_MAKERS: Final[Mapping[str, Callable[[Emitter, Node], ast.expr]]] = {
    "const": _const,
    "fact": _fact,
    "stated": _stated,
    "fallback": _first,
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
    "le": _comparison(ast.LtE),
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
