"""The typed tree as z3 terms: the same meaning as evaluation has, over all vehicles at once.

    Symbolic(space).value(node)      the Value of a node outside lists

Exact but for what ``space.free`` lists: there a fresh symbol stands for the result, which allows
more than there is. What is shown to be impossible is so; an example is confirmed by the engine.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final

import z3

from modrules.language import domains as d
from modrules.language.tree import Names, Node
from modrules.proofs.called import call_term, date_plus, look_up, quotient
from modrules.proofs.logic import FOLDS, conjunction, disjunction, truth
from modrules.proofs.space import Record, Space, Value, both, choose, either, opposite

Bindings = Mapping[str, Record]
#: What may have no value of its own: ("quantity", id), ("table", id), a call or a division.
Source = tuple[str, str] | Node


class Symbolic:
    """Translates nodes of one space; each meaning once."""

    def __init__(
        self, space: Space, names: Names | None = None, loose: frozenset[Source] = frozenset()
    ) -> None:
        self.space = space
        #: what is taken to have a value wherever it is asked
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
    gap = either(a.gap, b.gap, node not in made.loose and b.term == 0)
    return Value(quotient(made, a, b).term, gap)


def _absolute(made: Symbolic, node: Node, bindings: Bindings) -> Value:
    inner = made.value(node.args[0], bindings)
    return Value(z3.If(inner.term >= 0, inner.term, -inner.term), inner.gap)


def _round(made: Symbolic, node: Node, bindings: Bindings) -> Value:
    inner = made.value(node.args[0], bindings)
    direction, step = node.value
    steps = inner.term / made.space.real(step)
    down = z3.ToInt(steps) if direction == "round_down" else -z3.ToInt(-steps)
    return Value(z3.ToReal(down) * made.space.real(step), inner.gap)


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
    if ("quantity", node.value) in made.loose:
        return made.value(node.args[1], bindings)
    condition, then, other = made.args(node, bindings)
    term = choose(condition.term, then.term, other.term)
    gap = either(condition.gap, choose(condition.term, then.gap, other.gap))
    return truth(term, gap) if node.type.kind == "yes_no" else Value(term, gap)


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
    "date_plus": date_plus,
    "le": _le,
    "equal": _equal,
    "in": _in,
    "not": _not,
    "and": _and,
    "or": _or,
    "if": _if,
    "look_up": look_up,
    "call": call_term,
    "over": _over,
}
