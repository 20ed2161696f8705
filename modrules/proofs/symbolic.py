"""The typed tree as z3 terms: the same meaning as evaluation has, over all vehicles at once.

    Symbolic(space).value(node)      the Value of a node outside lists

Exact but for what ``space.free`` lists: there a fresh symbol stands for the result, which allows
more than there is. What is shown to be impossible is so; an example is confirmed by the engine.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction
from typing import Any, Final

import z3

from modrules.language import domains as d
from modrules.language.codegen import NO_VALUE
from modrules.language.dates import add_months
from modrules.language.tree import Names, Node
from modrules.proofs.logic import FOLDS, conjunction, disjunction, truth
from modrules.proofs.space import Record, Space, Value, both, choose, either, opposite

Bindings = Mapping[str, Record]
#: A calendar period is so many days longer or shorter at most than its months on average.
_CALENDAR_SLACK: Final = 5
#: Functions that are, where they have a value, the first argument over the second.
_RATIOS: Final = frozenset(["engine_speed_factor"])
_MONTH: Final = Fraction(3652425, 120000)


class Symbolic:
    """Translates nodes of one space; each meaning once."""

    def __init__(self, space: Space, names: Names | None = None, loose: str | None = None) -> None:
        self.space = space
        #: a quantity or table that is taken to have a value wherever it is asked
        self.loose = loose
        #: what tables and functions are called; of another edition than that of the space
        self.names = names or space.typed.names
        self._made: dict[tuple[Node, tuple[tuple[str, Record], ...]], Value] = {}

    def value(self, node: Node, inner: Bindings | None = None) -> Value:
        """The value of a node; ``inner`` tells which members of lists are at hand."""
        bindings = inner or {}
        key = (node, tuple(sorted(bindings.items())))
        found = self._made.get(key)
        if found is None:
            maker = _MAKERS.get(node.op, _unknown)
            found = self._made[key] = maker(self, node, bindings)
        return found

    def holds(self, node: Node, mask: int) -> Any:
        """The condition that a yes/no node comes to one of the truths of ``mask``."""
        value = self.value(node)
        parts = []
        if mask & d.TRUE:
            parts.append(value.term)
        if mask & d.FALSE:
            parts.append(both(opposite(value.term), opposite(value.gap)))
        if mask & d.GAP:
            parts.append(value.gap)
        return either(*parts)

    def fresh(self, node: Node, arguments: tuple[Value, ...]) -> Value:
        """A symbol for the result of ``node``, about which nothing is known yet."""
        name, kind = f"free {next(self.space.numbers)}", node.type.kind
        gap: Any = z3.Bool(f"{name} has no value", self.space.ctx)
        if kind == "yes_no":
            term: Any = both(opposite(gap), z3.Bool(name, self.space.ctx))
        elif kind == "quantity" and not node.type.whole:
            term = z3.Real(name, self.space.ctx)
        else:
            term = z3.Int(name, self.space.ctx)
            if kind == "quantity":
                term = z3.ToReal(term)
        self.space.free.append((node, arguments, term, gap))
        return Value(term, gap)

    def once(self, key: tuple[object, ...], make: Callable[[], Value]) -> Value:
        """What the same operation on the same terms has come to before, wherever it stands."""
        found = self.space.results.get(key)
        if found is None:
            found = self.space.results[key] = make()
        return found

    def args(self, node: Node, bindings: Bindings) -> list[Value]:
        return [self.value(arg, bindings) for arg in node.args]


def _unknown(made: Symbolic, node: Node, _: Bindings) -> Value:
    """An operation that has no translation may come to anything."""
    return made.fresh(node, ())


# -- facts and constants ---------------------------------------------------------------


def _const(made: Symbolic, node: Node, _: Bindings) -> Value:
    kind = node.type.kind
    if kind == "yes_no":
        return Value(bool(node.value))
    if kind in ("word", "text"):
        return Value(made.space.whole(made.space.code(node.value)))
    constant = made.space.real if kind == "quantity" else made.space.whole
    return Value(constant(node.value))


def _record(made: Symbolic, binding: str, bindings: Bindings) -> Record:
    return bindings.get(binding) or made.space.record(binding)


def _fact(made: Symbolic, node: Node, bindings: Bindings) -> Value:
    binding, fact, _ = node.value
    return made.space.fact(_record(made, binding, bindings), fact)


def _stated(made: Symbolic, node: Node, bindings: Bindings) -> Value:
    binding, fact, _ = node.value
    return Value(opposite(made.space.fact(_record(made, binding, bindings), fact).gap))


def _fallback(made: Symbolic, node: Node, bindings: Bindings) -> Value:
    own, other = made.args(node, bindings)
    binding, fact, _ = node.value
    none = made.space.fact(_record(made, binding, bindings), fact).gap
    return Value(choose(none, other.term, own.term), both(none, other.gap))


def _today(made: Symbolic, _node: Node, _: Bindings) -> Value:
    return Value(made.space.today)


def _first(made: Symbolic, node: Node, bindings: Bindings) -> Value:
    return made.value(node.args[0], bindings)


# -- arithmetic -------------------------------------------------------------------------


def _two(operation: Callable[[Any, Any], Any]) -> Callable[[Symbolic, Node, Bindings], Value]:
    def make(made: Symbolic, node: Node, bindings: Bindings) -> Value:
        a, b = made.args(node, bindings)
        return Value(operation(a.term, b.term), either(a.gap, b.gap))

    return make


def _neg(made: Symbolic, node: Node, bindings: Bindings) -> Value:
    inner = made.value(node.args[0], bindings)
    return Value(-inner.term, inner.gap)


def _sub(made: Symbolic, node: Node, bindings: Bindings) -> Value:
    a, b = made.args(node, bindings)
    difference = a.term - b.term
    if node.args[0].type.kind == "date":
        difference = z3.ToReal(difference)
    return Value(difference, either(a.gap, b.gap))


def _rescale(made: Symbolic, node: Node, bindings: Bindings) -> Value:
    inner = made.value(node.args[0], bindings)
    return Value(inner.term * made.space.real(node.value), inner.gap)


def _div(made: Symbolic, node: Node, bindings: Bindings) -> Value:
    a, b = made.args(node, bindings)
    gap = either(a.gap, b.gap, b.term == 0)
    quotient = made.once(("div", _id(a.term), _id(b.term)), lambda: _quotient(made, a, b))
    return Value(quotient.term, gap)


def _quotient(made: Symbolic, a: Value, b: Value) -> Value:
    """What times the divisor gives the dividend: polynomials, which z3 does well."""
    quotient = z3.Real(f"quotient {next(made.space.numbers)}", made.space.ctx)
    made.space.rules.append(either(b.term == 0, quotient * b.term == a.term))
    return Value(quotient)


def _id(term: Any) -> object:
    """What equal terms have in common."""
    return term if isinstance(term, bool) else term.get_id()


def _absolute(made: Symbolic, node: Node, bindings: Bindings) -> Value:
    inner = made.value(node.args[0], bindings)
    return Value(z3.If(inner.term >= 0, inner.term, -inner.term), inner.gap)


def _round(made: Symbolic, node: Node, bindings: Bindings) -> Value:
    inner = made.value(node.args[0], bindings)
    direction, step = node.value
    steps = inner.term / made.space.real(step)
    down = z3.ToInt(steps) if direction == "round_down" else -z3.ToInt(-steps)
    return Value(z3.ToReal(down) * made.space.real(step), inner.gap)


def _date_plus(made: Symbolic, node: Node, bindings: Bindings) -> Value:
    date, period = made.args(node, bindings)
    months = node.args[1]
    sign = -1 if months.op == "neg" else 1
    months = months.args[0] if months.op == "neg" else months
    if months.op != "const":
        return made.fresh(node, (date, period))
    days = _MONTH * months.value * sign

    def shift() -> Value:
        shifted = made.fresh(node, (date,))
        made.space.rules += [
            shifted.term - date.term >= made.space.real(days - _CALENDAR_SLACK),
            shifted.term - date.term <= made.space.real(days + _CALENDAR_SLACK),
            opposite(shifted.gap),
        ]
        return shifted

    shifted = made.once(("date_plus", months.value * sign, _id(date.term)), shift)
    return Value(shifted.term, either(date.gap, shifted.gap))


# -- conditions -------------------------------------------------------------------------


def _le(made: Symbolic, node: Node, bindings: Bindings) -> Value:
    a, b = made.args(node, bindings)
    return truth(a.term <= b.term, either(a.gap, b.gap))


def _equal(made: Symbolic, node: Node, bindings: Bindings) -> Value:
    a, b = made.args(node, bindings)
    if node.args[0].type.kind == "yes_no":
        same = choose(a.term, b.term, opposite(b.term))
        return truth(same, either(a.gap, b.gap))
    return truth(a.term == b.term, either(a.gap, b.gap))


def _in(made: Symbolic, node: Node, bindings: Bindings) -> Value:
    inner = made.value(node.args[0], bindings)
    if node.args[0].type.kind in ("word", "text"):
        wanted = [inner.term == made.space.code(each) for each in sorted(node.value)]
    else:
        wanted = [inner.term == made.space.real(each) for each in sorted(node.value)]
    return truth(either(*wanted), inner.gap)


def _not(made: Symbolic, node: Node, bindings: Bindings) -> Value:
    inner = made.value(node.args[0], bindings)
    return truth(opposite(inner.term), inner.gap)


def _and(made: Symbolic, node: Node, bindings: Bindings) -> Value:
    return conjunction(*made.args(node, bindings))


def _or(made: Symbolic, node: Node, bindings: Bindings) -> Value:
    return disjunction(*made.args(node, bindings))


def _if(made: Symbolic, node: Node, bindings: Bindings) -> Value:
    if node.value is not None and node.value == made.loose:
        return made.value(node.args[1], bindings)
    condition, then, other = made.args(node, bindings)
    term = choose(condition.term, then.term, other.term)
    gap = either(condition.gap, choose(condition.term, then.gap, other.gap))
    return truth(term, gap) if node.type.kind == "yes_no" else Value(term, gap)


# -- tables and functions -----------------------------------------------------------------


def _look_up(made: Symbolic, node: Node, bindings: Bindings) -> Value:
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
    gap = either(*(value.gap for value in asked), table_id != made.loose and gap)
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


def _call(made: Symbolic, node: Node, bindings: Bindings) -> Value:
    arguments = made.args(node, bindings)
    scales = (node.scale, *(arg.scale for arg in node.args))
    terms = (_id(value.term) for value in arguments)
    result = made.once((node.value, *scales, *terms), lambda: _result(made, node, arguments))
    gap = either(*(value.gap for value in arguments), result.gap)
    return truth(result.term, gap) if node.type.kind == "yes_no" else Value(result.term, gap)


def _result(made: Symbolic, node: Node, arguments: list[Value]) -> Value:
    plain = [_plain(arg) for arg in node.args]
    if None not in plain:
        value = actual(made, node, plain)
        return Value(_constant(made, node.type.kind, value), value is None)
    result = made.fresh(node, tuple(arguments))
    if node.value in _RATIOS:
        first, second = arguments
        ratio = made.once(
            ("div", _id(first.term), _id(second.term)), lambda: _quotient(made, first, second)
        )
        factor = made.space.real(node.args[0].scale / node.args[1].scale / node.scale)
        made.space.rules.append(either(result.gap, result.term == ratio.term * factor))
    if len(arguments) == 1 and node.args[0].type.kind in ("word", "text"):
        for marking in made.space.markings():
            asked = arguments[0].term == made.space.code(marking)
            made.space.rules.append(z3.Implies(asked, same_result(made, node, [marking], result)))
    return result


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


def _period(node: Node) -> int:
    months = node.args[1]
    return -months.args[0].value if months.op == "neg" else int(months.value)


# -- over lists ---------------------------------------------------------------------------


def _over(made: Symbolic, node: Node, bindings: Bindings) -> Value:
    function, binding, has_body, has_where, has_default = node.value
    pieces = iter(node.args)
    body = next(pieces) if has_body else None
    where = next(pieces) if has_where else None
    default = made.value(next(pieces), bindings) if has_default else None
    members: list[tuple[Value, Value | None]] = []
    for record, there in made.space.members(binding.removeprefix("each ")):
        inner = {**bindings, binding: record}
        member = Value(there)
        if where is not None:
            member = conjunction(member, made.value(where, inner))
        members.append((member, made.value(body, inner) if body is not None else None))
    return FOLDS[function](made.space, members, default)


_MAKERS: Final[Mapping[str, Callable[[Symbolic, Node, Bindings], Value]]] = {
    "const": _const,
    "fact": _fact,
    "stated": _stated,
    "fallback": _fallback,
    "today": _today,
    "quantity": _first,
    "neg": _neg,
    "add": _two(lambda a, b: a + b),
    "sub": _sub,
    "mul": _two(lambda a, b: a * b),
    "div": _div,
    "same": _first,
    "rescale": _rescale,
    "smallest": _two(lambda a, b: z3.If(a <= b, a, b)),
    "largest": _two(lambda a, b: z3.If(a >= b, a, b)),
    "absolute": _absolute,
    "round": _round,
    "date_plus": _date_plus,
    "le": _le,
    "equal": _equal,
    "in": _in,
    "not": _not,
    "and": _and,
    "or": _or,
    "if": _if,
    "look_up": _look_up,
    "call": _call,
    "over": _over,
}
