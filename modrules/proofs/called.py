"""Tables, functions and shifted dates as z3 terms, for ``symbolic``.

    look_up, call_term, date_plus       makers of their nodes
    has_domain(names, node)             whether it is known where a call has a value
    actual(made, node, arguments)       what a call comes to for exact arguments

A call is a symbol of its own: known are the domain of most functions, and what a function gives
at the points that were tried.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import TYPE_CHECKING, Any, Final

import z3

from modrules.language.codegen import NO_VALUE
from modrules.language.dates import add_months
from modrules.language.tree import Names, Node
from modrules.proofs.logic import truth
from modrules.proofs.space import Record, Value, both, choose, either, opposite, same_term

if TYPE_CHECKING:
    from modrules.proofs.symbolic import Symbolic

Bindings = Mapping[str, Record]
#: A calendar period is so many days longer or shorter at most than its months on average.
_CALENDAR_SLACK: Final = 5
#: Functions that are, where they have a value, the first argument over the second.
_RATIOS: Final = frozenset(["engine_speed_factor"])
_MONTH: Final = Fraction(3652425, 120000)


def look_up(made: Symbolic, node: Node, bindings: Bindings) -> Value:
    table_id, column_id = node.value
    table = made.names.tables[table_id]
    index = table.columns[column_id][0]
    asked = made.args(node, bindings)
    kind = node.type.kind
    term: Any = _constant(made, kind, None)
    gap: Any = True
    for keys, values in reversed(table.rows):
        fits = []
        for arg, key, value, wanted in zip(node.args, table.keys, asked, keys, strict=True):
            fits.append(_fits(made, arg, key, value.term, wanted))
        match = both(*fits)
        cell = values[index]
        term = choose(match, _constant(made, kind, cell), term)
        gap = choose(match, cell is None, gap)
    missing = ("table", table_id) not in made.loose and gap
    gap = either(*(value.gap for value in asked), missing)
    return truth(term, gap) if kind == "yes_no" else Value(term, gap)


def _fits(made: Symbolic, arg: Node, key: Any, term: Any, wanted: Any) -> Any:
    kind = key.type.kind
    if kind == "yes_no":
        return term if wanted else opposite(term)
    if kind in ("word", "text"):
        return term == made.space.code(wanted)
    if kind != "quantity":
        return term <= wanted if key.up_to else term == wanted
    bound = made.space.real(Fraction(wanted) * key.scale / arg.scale)
    return term <= bound if key.up_to else term == bound


def _constant(made: Symbolic, kind: str, value: Any) -> Any:
    if kind == "yes_no":
        return bool(value)
    if kind in ("word", "text"):
        return made.space.whole(made.space.code(value) if value is not None else 0)
    return made.space.real(value or 0) if kind == "quantity" else made.space.whole(value or 0)


def quotient(made: Symbolic, a: Value, b: Value) -> Value:
    """What times the divisor gives the dividend: polynomials, which z3 does well.

    Any number where the divisor is zero.
    """

    def make() -> Value:
        result = z3.Real(f"quotient {next(made.space.numbers)}", made.space.ctx)
        made.space.rules.append(either(b.term == 0, result * b.term == a.term))
        return Value(result)

    return made.once(("div", same_term(a.term), same_term(b.term)), make)


def call_term(made: Symbolic, node: Node, bindings: Bindings) -> Value:
    arguments = made.args(node, bindings)
    scales = (node.scale, *(arg.scale for arg in node.args))
    terms = (same_term(value.term) for value in arguments)
    result = made.once((node.value, *scales, *terms), lambda: _result(made, node, arguments))
    gap = either(*(value.gap for value in arguments), node not in made.loose and result.gap)
    return truth(result.term, gap) if node.type.kind == "yes_no" else Value(result.term, gap)


def _result(made: Symbolic, node: Node, arguments: list[Value]) -> Value:
    plain = [_plain(arg) for arg in node.args]
    if None not in plain:
        value = actual(made, node, plain)
        return Value(_constant(made, node.type.kind, value), value is None)
    result = made.fresh(node, tuple(arguments))
    inside = domain(made, node, arguments)
    if inside is not None:
        made.space.rules.append(result.gap == opposite(inside))
    if node.value in _RATIOS:
        first, second = arguments
        ratio = quotient(made, first, second)
        factor = made.space.real(node.args[0].scale / node.args[1].scale / node.scale)
        made.space.rules.append(either(result.gap, result.term == ratio.term * factor))
    if len(arguments) == 1 and node.args[0].type.kind in ("word", "text"):
        for marking in made.space.markings():
            asked = arguments[0].term == made.space.code(marking)
            made.space.rules.append(z3.Implies(asked, same_result(made, node, [marking], result)))
    return result


def has_domain(names: Names, node: Node) -> bool:
    """Whether it is known of a call where it has a value: that of no text but constants."""
    plain = [_plain(arg) is not None for arg in node.args]
    texts = [arg.type.kind in ("word", "text") for arg in node.args]
    known = names.functions[node.value].domain is not None
    return all(plain) or (known and all(p or not t for p, t in zip(plain, texts, strict=True)))


def domain(made: Symbolic, node: Node, arguments: list[Value]) -> Any:
    """The condition that a call has a value, where its arguments have one; None: not known."""
    function = made.names.functions[node.value]
    if function.domain is None or not has_domain(made.names, node):
        return None
    given = [
        value.term * made.space.real(arg.scale / scale) if type_.kind == "quantity" else _plain(arg)
        for arg, value, (type_, scale) in zip(
            node.args, arguments, function.parameters, strict=True
        )
    ]
    return both(*function.domain(*given))


def _plain(node: Node) -> Any:
    """The run-time value of a constant, whatever it is counted in; None for anything else."""
    factor = Fraction(1)
    while node.op in ("same", "rescale"):
        factor *= node.value if node.op == "rescale" else 1
        node = node.args[0]
    if node.op != "const":
        return None
    return node.value * factor if node.type.kind == "quantity" else node.value


def same_result(made: Symbolic, node: Node, arguments: list[Any], result: Value) -> Any:
    """The condition that a free symbol is what the function gives for these exact arguments."""
    value = actual(made, node, arguments)
    if value is None:
        return result.gap
    if node.type.kind == "yes_no":
        return both(opposite(result.gap), result.term if value else opposite(result.term))
    return both(opposite(result.gap), result.term == _constant(made, node.type.kind, value))


def actual(made: Symbolic, node: Node, arguments: list[Any]) -> Any:
    """What a call or a shifted date comes to for exact run-time arguments; None: no value."""
    try:
        if node.op == "date_plus":
            period = arguments[1] if len(arguments) > 1 else _period(node)
            return add_months(int(arguments[0]), int(period))
        function = made.names.functions[node.value]
        given = [
            value * (arg.scale / scale) if type_.kind == "quantity" else value
            for value, arg, (type_, scale) in zip(
                arguments, node.args, function.parameters, strict=True
            )
        ]
        return function.call(*given)
    except NO_VALUE:
        return None


def period_is_plain(node: Node) -> bool:
    """Whether a date is shifted by a constant period."""
    months = node.args[1]
    return (months.args[0] if months.op == "neg" else months).op == "const"


def _period(node: Node) -> int:
    months = node.args[1]
    return -months.args[0].value if months.op == "neg" else int(months.value)


# -- dates -------------------------------------------------------------------------------


def date_plus(made: Symbolic, node: Node, bindings: Bindings) -> Value:
    date, period = made.args(node, bindings)
    if not period_is_plain(node):
        return made.fresh(node, (date, period))
    months = _period(node)
    days = _MONTH * months

    def shift() -> Value:
        shifted = made.fresh(node, (date,))
        made.space.rules += [
            shifted.term - date.term >= made.space.real(days - _CALENDAR_SLACK),
            shifted.term - date.term <= made.space.real(days + _CALENDAR_SLACK),
            opposite(shifted.gap),
        ]
        return shifted

    shifted = made.once(("date_plus", months, same_term(date.term)), shift)
    return Value(shifted.term, either(date.gap, shifted.gap))
