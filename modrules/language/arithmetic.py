"""Typed nodes from typed nodes: comparison, sums, products, and what two of them have in common."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from modrules.language import syntax as s
from modrules.language.tree import DATE, ONE, PERIOD, YES_NO, Node, Tree, Type
from modrules.language.type_problems import a_type, fail, wrong_unit
from modrules.language.units import (
    FORCE,
    FORCE_TO_MASS,
    MASS,
    NUMBER,
    TIME,
    in_words,
    over,
    quantum,
    times,
)
from modrules.problems import nearest


def constant(tree: Tree, si_value: Fraction, type: Type, unit: str) -> Node:
    """A constant counted in quanta, or in a finer scale where it is not whole in those."""
    step = quantum(type.dimension)
    count = si_value / step
    return tree.node("const", type, (), count.numerator, step / count.denominator, unit)


def negative(tree: Tree, node: Node) -> Node:
    """The node with its sign turned."""
    if node.op == "const":
        return tree.node("const", node.type, (), -node.value, node.scale, node.unit)
    return tree.node("neg", node.type, (node,), None, node.scale, node.unit)


def negation(tree: Tree, node: Node) -> Node:
    """The condition turned round; never a double negation."""
    return node.args[0] if node.op == "not" else tree.node("not", YES_NO, (node,))


def equal(tree: Tree, left: Node, right: Node, piece: s.Syntax) -> Node:
    """Whether two words, texts, counts or dates are the same, where they ever can be."""
    kind = left.type.kind
    if kind != right.type.kind:
        fail(
            f"{a_type(left.type)} can't equal {a_type(right.type)}",
            piece.span,
        )
    if kind == "quantity":
        if not (left.type.whole and right.type.whole):
            fail(
                "measured quantities are never exactly equal",
                piece.span,
                "use <= or >=, or both",
            )
        left, right = tree.aligned(left, right)
    if left.type.words and right.type.words and not {*left.type.words} & {*right.type.words}:
        fail("these two never take the same word", piece.span)
    for one, other in ((left, right), (right, left)):
        if kind == "text" and one.type.words and other.op == "const":
            listed(other.value, one.type.words, piece.span)
    return tree.node("equal", YES_NO, (left, right))


def listed(text: str, known: tuple[str, ...], span: s.Span) -> None:
    """Refuses a text that a fact whose values are all listed never takes."""
    if text not in known:
        fail(
            f'"{text}" is none of the values that there are',
            span,
            nearest(text, known) or f"one of: {', '.join(known[:12])}",
        )


def comparison(tree: Tree, operator: str, left: Node, right: Node, span: s.Span) -> Node:
    """Which of two numbers, quantities or dates is the larger, where they have an order."""
    kinds = {left.type.kind: left.type, right.type.kind: right.type}
    if "period" in kinds and "quantity" in kinds and kinds["quantity"].dimension == TIME:
        # Days between two dates are no months: these have 28 to 31 of them.
        fail(
            "a number of days can't be compared with a calendar period",
            span,
            "add the period to the date instead, as in today <= modification.fitted + 12 months",
        )
    if left.type.kind != right.type.kind or left.type.kind not in (
        "quantity",
        "date",
        "period",
    ):
        fail(
            f"{a_type(left.type)} can't be compared with {a_type(right.type)}",
            span,
            "only numbers, quantities and dates have an order",
        )
    if left.type.kind == "quantity":
        same_measure(left, right, span, "compared with")
        left, right = tree.aligned(left, right)
    # One comparison serves all four: a < b is not (b <= a).
    if operator in ("<=", ">"):
        node = tree.node("le", YES_NO, (left, right))
        return node if operator == "<=" else negation(tree, node)
    node = tree.node("le", YES_NO, (right, left))
    return node if operator == ">=" else negation(tree, node)


def same_measure(left: Node, right: Node, span: s.Span, doing: str) -> str:
    """The condition of measurement that two quantities share; TypeProblem where they have two."""
    a, b = left.type, right.type
    if a.dimension != b.dimension:
        hint = wrong_unit(a if a.dimension == NUMBER else b)
        if {a.dimension, b.dimension} == {FORCE, MASS}:
            hint = FORCE_TO_MASS
        fail(f"{in_words(a.dimension)} can't be {doing} {in_words(b.dimension)}", span, hint)
    if a.condition and b.condition and a.condition != b.condition:
        fail(
            f'a value measured "{a.condition}" can\'t be {doing} one measured "{b.condition}"',
            span,
            "convert one of them, or write regardless(…) where the difference does not matter",
        )
    return a.condition or b.condition


def calculation(tree: Tree, operator: str, left: Node, right: Node, piece: s.Binary) -> Node:
    """One of + - * / on two nodes, dates and periods among them."""
    a, b = left.type.kind, right.type.kind
    if operator in "+-" and a == "date" and b == "period":
        if operator == "-":
            right = tree.node("neg", PERIOD, (right,))
        return tree.node("date_plus", DATE, (left, right))
    if operator == "-" and a == "date" and b == "date":
        days = Type("quantity", TIME, whole=False)
        return tree.node("sub", days, (left, right), None, quantum(TIME), "days")
    if operator in "+-" and a == "date" and right.type.dimension == TIME and b == "quantity":
        fail(
            "only calendar periods can be added to a date",
            piece.right.span,
            "write months or years",
        )
    for side, node in ((piece.left, left), (piece.right, right)):
        if node.type.kind != "quantity":
            fail(f"this is {a_type(node.type)}; {operator} needs numbers", side.span)
    if operator in "+-":
        return addition(tree, operator, left, right, piece.span)
    if operator == "*":
        return product(tree, left, right)
    return quotient(tree, left, right, piece.right.span)


def addition(tree: Tree, operator: str, left: Node, right: Node, span: s.Span) -> Node:
    """Sum or difference, of one dimension and one condition of measurement."""
    doing = "added to" if operator == "+" else "taken from"
    pair = (left, right) if operator == "+" else (right, left)
    condition = same_measure(*pair, span, doing)
    is_whole = left.type.whole and right.type.whole
    unit = left.unit or right.unit
    type_ = Type("quantity", left.type.dimension, condition, whole=is_whole)
    left, right = tree.aligned(left, right)
    if left.op == "const" and right.op == "const":
        value = left.value + right.value if operator == "+" else left.value - right.value
        return tree.node("const", type_, (), value, left.scale, unit)
    op = "add" if operator == "+" else "sub"
    return tree.node(op, type_, (left, right), None, left.scale, unit)


def product(tree: Tree, left: Node, right: Node) -> Node:
    """The product; a constant factor goes into the scale."""
    if right.op != "const" and left.op == "const":
        left, right = right, left
    type_ = combined(
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
        return scaled(tree, left, right.value * right.scale, type_, unit)
    return tree.node("mul", type_, (left, right), None, left.scale * right.scale, unit)


def quotient(tree: Tree, left: Node, right: Node, span: s.Span) -> Node:
    """The quotient; a constant divisor goes into the scale."""
    type_ = combined(left.type, right.type, over(left.type.dimension, right.type.dimension), False)
    unit = left.unit if type_.dimension == left.type.dimension else ""
    if right.op == "const":
        if right.value == 0:
            fail("this divides by zero", span)
        return scaled(tree, left, 1 / (right.value * right.scale), type_, unit)
    return tree.node("div", type_, (left, right), None, left.scale / right.scale, unit)


def scaled(tree: Tree, node: Node, factor: Fraction, type: Type, unit: str) -> Node:
    """A constant factor goes into the scale; nothing is left to do at run time."""
    if factor < 0:
        node, factor = negative(tree, node), -factor
    scale = node.scale * factor
    if node.op == "const":
        return tree.node("const", type, (), node.value, scale, unit)
    return tree.node("same", type, (node,), None, scale, unit)


def combined(a: Type, b: Type, dimension: Any, is_whole: bool) -> Type:
    """The type of a product or quotient."""
    condition = a.condition if not b.condition or a.condition == b.condition else ""
    if not a.condition:
        condition = b.condition
    if dimension == NUMBER and a.dimension != NUMBER:
        condition = ""
    return Type("quantity", dimension, condition, whole=is_whole)


def branches(
    tree: Tree, left: Node, right: Node, span: s.Span
) -> tuple[Type, Fraction, tuple[Node, ...]]:
    """Two nodes of which one will be the value: their common type and scale."""
    if left.type.kind != right.type.kind:
        fail(f"one side is {a_type(left.type)}, the other {a_type(right.type)}", span)
    if left.type.kind == "quantity":
        condition = same_measure(left, right, span, "an alternative to")
        pair = tree.aligned(left, right)
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
