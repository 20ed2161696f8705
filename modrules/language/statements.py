"""Small pieces of generated code that are statements, and list functions written as loops."""

from __future__ import annotations

import ast
from typing import Final

from modrules.language.codegen import (
    LOAD,
    STORE,
    Emitter,
    compare,
    load,
    over_parts,
    records,
    simple,
    variable,
)
from modrules.language.tree import Node


def attr(name: str, attribute_name: str) -> ast.expr:
    return ast.Attribute(load(name), attribute_name, LOAD)


def store(name: str) -> ast.Name:
    return ast.Name(name, STORE)


def assign(name: str, value: ast.expr) -> ast.stmt:
    return ast.Assign([store(name)], value)


def when(test: ast.expr, *body: ast.stmt) -> ast.stmt:
    return ast.If(test, list(body), [])


def negated(test: ast.expr) -> ast.expr:
    return ast.UnaryOp(ast.Not(), test)


def both(*tests: ast.expr) -> ast.expr:
    return tests[0] if len(tests) == 1 else ast.BoolOp(ast.And(), list(tests))


def union(*masks: ast.expr) -> ast.expr:
    result = masks[0]
    for mask in masks[1:]:
        result = ast.BinOp(result, ast.BitOr(), mask)
    return result


def touched(mask: str, bits: int) -> ast.expr:
    """Whether some of the bits are set. Mostly none at all is, which is told at once."""
    return both(load(mask), ast.BinOp(load(mask), ast.BitAnd(), ast.Constant(bits)))


def attempt(body: list[ast.stmt], otherwise: list[ast.stmt]) -> ast.stmt:
    """A body, and what is done where something in it has no value."""
    handler = ast.ExceptHandler(load("NO_VALUE"), None, otherwise)
    return ast.Try(body, [handler], [], [])


def settled(emitter: Emitter, node: Node, name: str) -> list[ast.stmt]:
    """Statements that leave the value of a node under a name.

    List functions become loops, and the least or greatest of several is found step by step.
    """
    if node in emitter.locals or emitter.fails(node):
        return [assign(name, emitter.expression(node))]
    if node.op == "over" and node.args:
        return gathered(emitter, node, name)
    if node.op not in ("smallest", "largest"):
        return [assign(name, emitter.expression(node))]
    first, *others = node.args
    done = settled(emitter, first, name)
    for place, other in enumerate(others):
        value = emitter.expression(other)
        if not simple(value):
            done += settled(emitter, other, f"{name}_{place}")
            value = load(f"{name}_{place}")
        done.append(when(_beyond(node.op, value, name), assign(name, value)))
    return done


def gathered(emitter: Emitter, node: Node, name: str) -> list[ast.stmt]:
    """A list function as a loop that leaves its value under a name."""
    function, binding = node.value[:2]
    body, where, default = over_parts(node)
    tests = [emitter.test(where)] if where is not None else []
    first: bool | int | None
    if function in ("any", "all"):
        if body is not None:
            test = emitter.test(body)
            tests.append(test if function == "any" else negated(test))
        first = function == "all"
        inner = [assign(name, ast.Constant(not first)), ast.Break()]
    elif function in ("sum", "count"):
        first = 0
        value = emitter.expression(body) if body is not None else ast.Constant(1)
        inner = [ast.AugAssign(store(name), ast.Add(), value)]
    else:
        assert body is not None
        first = None
        inner = _further(function, emitter.expression(body), name)
    if tests:
        inner = [when(both(*tests), *inner)]
    loop = ast.For(store(variable(binding)), records(node), inner, [])
    done = [assign(name, ast.Constant(first)), loop]
    if default is not None:
        done.append(when(_is_none(name), assign(name, emitter.expression(default))))
    return done


def _further(function: str, value: ast.expr, name: str) -> list[ast.stmt]:
    """Keeps a value under a name if it is the largest (or smallest) so far."""
    steps = []
    if not simple(value):
        steps.append(assign(f"{name}_each", value))
        value = load(f"{name}_each")
    test = ast.BoolOp(ast.Or(), [_is_none(name), _beyond(function, value, name)])
    return [*steps, when(test, assign(name, value))]


def _beyond(function: str, value: ast.expr, name: str) -> ast.expr:
    return compare(value, ast.Gt() if function == "largest" else ast.Lt(), load(name))


def _is_none(name: str) -> ast.expr:
    return compare(load(name), ast.Is(), ast.Constant(None))


def locate(node: ast.AST, line: int) -> None:
    """Gives a node and all under it a line: its own where it has one, else that of its parent.

    A traceback through generated code then shows the ruleset's own line.
    """
    _locate(node, _position(line))


def _position(line: int) -> dict[str, int]:
    return {"lineno": line, "end_lineno": line, "col_offset": 0, "end_col_offset": 0}


def _locate(node: ast.AST, position: dict[str, int]) -> None:
    parts = node.__dict__
    own = parts.get("lineno")
    if own is not None and own != position["lineno"]:
        position = _position(own)
    children = [*parts.values()]
    parts.update(position)
    for child in children:
        kind = child.__class__
        if kind is ast.Name or kind is ast.Constant:
            child.__dict__.update(position)
        elif kind is list:
            for each in child:
                if isinstance(each, ast.AST):
                    _locate(each, position)
        elif kind not in _UNPLACED and isinstance(child, ast.AST):
            _locate(child, position)


#: What has no place of its own, of all that stands in single fields.
_UNPLACED: Final = frozenset(
    [ast.Load, ast.Store, ast.And, ast.Or, ast.Not, ast.USub, ast.Add, ast.Sub, ast.Mult]
)
