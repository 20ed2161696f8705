"""Typing calls of functions: those of the language, the trade's, look-ups, and over lists."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any, Final

from modrules.language import arithmetic
from modrules.language import syntax as s
from modrules.language.tree import COUNT, ONE, YES_NO, Node, Type
from modrules.language.type_problems import a_type, fail
from modrules.problems import nearest

if TYPE_CHECKING:
    from modrules.language.typer import Typer


def call(typer: Typer, tree: s.Call, scope: Mapping[str, str], _expected: Any) -> Node:
    """A call: of the language, or of the trade's table of functions."""
    builtin = BUILTINS.get(tree.function)
    if builtin is not None:
        return builtin(typer, tree, scope)
    function = typer.names.functions.get(tree.function)
    if function is None:
        known = [*BUILTINS, *typer.names.functions, *_OVER]
        hint = nearest(tree.function, known)
        if tree.function in _OVER:
            hint = f"write {tree.function}(… for each LIST)"
        fail(f'there is no function "{tree.function}"', tree.span, hint)
    arguments(tree, len(function.parameters), len(function.parameters))
    args = []
    for piece, (type_, _) in zip(tree.arguments, function.parameters, strict=True):
        node = typer.type(piece, scope, type_)
        typer.require(node, type_, piece.span)
        args.append(node)
    return typer.tree.node(
        "call", function.result, tuple(args), function.name, function.scale, function.unit
    )


def arguments(tree: s.Call, least: int, most: int) -> None:
    """Refuses a call with too few or too many values."""
    count = len(tree.arguments)
    if not least <= count <= most:
        wanted = f"{least}" if least == most else f"{least} or more"
        fail(f"{tree.function} takes {wanted} values, not {count}", tree.span)


def extreme(typer: Typer, tree: s.Call, scope: Mapping[str, str]) -> Node:
    """The largest or smallest of several values."""
    arguments(tree, 2, 20)
    nodes = [typer.type(piece, scope) for piece in tree.arguments]
    node = nodes[0]
    for other, piece in zip(nodes[1:], tree.arguments[1:], strict=True):
        if node.type.kind not in ("quantity", "date"):
            fail(f"{a_type(node.type)} has no order", tree.arguments[0].span)
        type_, scale, pair = arithmetic.branches(typer.tree, node, other, piece.span)
        node = typer.tree.node(tree.function, type_, pair, None, scale, node.unit or other.unit)
    return node


def absolute(typer: Typer, tree: s.Call, scope: Mapping[str, str]) -> Node:
    """The size of a quantity without its sign."""
    arguments(tree, 1, 1)
    node = measured(typer, tree.arguments[0], scope)
    return typer.tree.node("absolute", node.type, (node,), None, node.scale, node.unit)


def regardless(typer: Typer, tree: s.Call, scope: Mapping[str, str]) -> Node:
    """A quantity without its condition of measurement."""
    arguments(tree, 1, 1)
    node = measured(typer, tree.arguments[0], scope)
    type_ = Type("quantity", node.type.dimension, whole=node.type.whole)
    return typer.tree.node("same", type_, (node,), None, node.scale, node.unit)


def round(typer: Typer, tree: s.Call, scope: Mapping[str, str]) -> Node:
    """A quantity rounded up or down to whole steps."""
    arguments(tree, 2, 2)
    node = measured(typer, tree.arguments[0], scope)
    step = measured(typer, tree.arguments[1], scope)
    arithmetic.same_measure(node, step, tree.span, "rounded to")
    if step.op != "const" or step.value <= 0:
        fail("the step of rounding is a plain value over zero", tree.arguments[1].span)
    node, step = typer.tree.aligned(node, step)
    return typer.tree.node(
        "round", node.type, (node,), (tree.function, step.value), node.scale, node.unit
    )


def measured(typer: Typer, tree: s.Syntax, scope: Mapping[str, str]) -> Node:
    """An expression that must be a quantity."""
    node = typer.type(tree, scope)
    if node.type.kind != "quantity":
        fail(f"this is {a_type(node.type)}, but a quantity is expected", tree.span)
    return node


def look_up(typer: Typer, tree: s.Call, scope: Mapping[str, str]) -> Node:
    """A value of a table."""
    arguments(tree, 3, 8)
    table_piece, column_piece, *key_pieces = tree.arguments
    table_id = table_piece.name if isinstance(table_piece, s.Name) else ""
    table = typer.names.tables.get(table_id)
    if table is None:
        fail("there is no such table", table_piece.span, nearest(table_id, typer.names.tables))
    column_id = column_piece.name if isinstance(column_piece, s.Name) else ""
    column = table.columns.get(column_id)
    if column is None:
        fail(
            f'the table "{table.id}" has no such column',
            column_piece.span,
            nearest(column_id, table.columns) or f"its columns: {', '.join(table.columns)}",
        )
    if len(key_pieces) != len(table.keys):
        fail(
            f'the table "{table.id}" has {len(table.keys)} keys, not {len(key_pieces)}',
            tree.span,
            f"its keys: {', '.join(key.id for key in table.keys)}",
        )
    nodes = []
    for key, piece in zip(table.keys, key_pieces, strict=True):
        node = typer.type(piece, scope, key.type)
        typer.require(node, key.type, piece.span)
        nodes.append(node)
    _, type_, scale, unit = column
    return typer.tree.node("look_up", type_, tuple(nodes), (table.id, column_id), scale, unit)


def over(typer: Typer, tree: s.Over, scope: Mapping[str, str], _expected: Any) -> Node:
    """sum, count, largest, smallest, all, any over a list."""
    if tree.function not in _OVER:
        fail(
            f'"{tree.function}" does not work over a list',
            tree.span,
            nearest(tree.function, _OVER) or f"known: {', '.join(_OVER)}",
        )
    subject = typer.names.subjects.get(tree.subject)
    if subject is None or not subject.many:
        lists = [name for name, known in typer.names.subjects.items() if known.many]
        fail(f'there is no list "{tree.subject}"', tree.span, nearest(tree.subject, lists))
    binding = f"each {tree.subject}"
    if binding in scope.values():
        fail(f"each {tree.subject} is already open here", tree.span)
    inner = {**scope, tree.subject: binding}
    if subject.is_kind:
        inner["modification"] = binding
    where = typer.condition(tree.where, inner) if tree.where is not None else None
    body = typer.type(tree.body, inner) if tree.body is not None else None
    return fold(typer, tree, body, where, binding, scope)


def fold(
    typer: Typer,
    tree: s.Over,
    body: Node | None,
    where: Node | None,
    binding: str,
    scope: Mapping[str, str],
) -> Node:
    """The node of a function over a list, from the nodes of its parts."""
    function = tree.function
    default: Node | None = None
    if function in ("largest", "smallest"):
        if tree.default is None:
            fail(
                f"{function} over a list needs a value for the empty list",
                tree.span,
                'add "if none" and a value',
            )
    elif tree.default is not None:
        fail(f"{function} needs no value for the empty list", tree.default.span)
    type_, scale, unit = YES_NO, ONE, ""
    if function == "count":
        type_ = COUNT
        if body is not None:
            fail("count takes no value", tree.span, "write count(each … where …)")
    elif function in ("any", "all"):
        if body is not None and tree.body is not None:
            typer.require(body, YES_NO, tree.body.span)
        elif function == "all":
            fail("all needs a condition", tree.span, "write all(… for each …)")
    else:
        if body is None or tree.body is None:
            fail(f"{function} needs a value", tree.span, f"write {function}(… for each …)")
        if body.type.kind != "quantity" and not (function != "sum" and body.type.kind == "date"):
            fail(f"{function} needs numbers, not {a_type(body.type)}", tree.body.span)
        type_, scale, unit = body.type, body.scale, body.unit
        if tree.default is not None:
            default = typer.type(tree.default, scope)
            type_, scale, (body, default) = arithmetic.branches(
                typer.tree, body, default, tree.default.span
            )
    args = tuple(node for node in (body, where, default) if node is not None)
    shape = (function, binding, body is not None, where is not None, default is not None)
    return typer.tree.node("over", type_, args, shape, scale, unit)


BUILTINS: Final[Mapping[str, Callable[[Any, s.Call, Mapping[str, str]], Node]]] = {
    "largest": extreme,
    "smallest": extreme,
    "absolute": absolute,
    "regardless": regardless,
    "round_up": round,
    "round_down": round,
    "look_up": look_up,
}
_OVER: Final = ("sum", "count", "largest", "smallest", "all", "any")
