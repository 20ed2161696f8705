"""Evaluation over what is possible: the typed tree as closures over ranges and masks.

Used for the checks in which some fact is open. Each op has one function that makes
its closure, in a plain mapping. A closure takes an ``Env`` and gives a mask (yes/no),
a Range (quantities, dates, periods) or a Choice (words, texts).

Sound: whatever the open facts turn out to be, the exact value is among the possible
ones. Monotone: narrower facts never give a wider result.
"""

from __future__ import annotations

import calendar
import datetime
from collections.abc import Callable, Mapping
from fractions import Fraction
from functools import lru_cache
from itertools import product
from math import lcm
from typing import Any, Final

from modrules.language import domains as d
from modrules.language.domains import Choice, Range
from modrules.language.records import Layout, Open, attribute
from modrules.language.tree import Names, Node

Evaluate = Callable[["Env"], Any]

#: so many combinations of possible words are tried in a look-up or call before "any" is said
MOST_COMBINATIONS: Final = 64


class Env:
    """What an evaluation sees: the world, the records that names are bound to, and assumptions.

    ``facts`` and ``nodes`` hold the values assumed in the case at hand.
    """

    __slots__ = ("facts", "nodes", "records", "world")

    def __init__(self, world: Any, records: dict[str, Any]) -> None:
        self.world = world
        self.records = records
        self.facts: dict[tuple[str, str], Any] = {}
        self.nodes: dict[Node, Any] = {}


class Intervals:
    """Makes and keeps the closures of one vocabulary's trees."""

    __slots__ = ("_made", "layout", "names")

    def __init__(self, names: Names, layout: Layout) -> None:
        self.names = names
        self.layout = layout
        self._made: dict[Node, Evaluate] = {}

    def closure(self, node: Node) -> Evaluate:
        found = self._made.get(node)
        if found is None:
            found = self._made[node] = _assumable(node, _MAKERS[node.op](self, node))
        return found


def _assumable(node: Node, evaluate: Evaluate) -> Evaluate:
    if node.type.kind != "yes_no" or node.op in ("const", "and", "or", "not", "fact", "stated"):
        return evaluate

    def assumed(env: Env) -> Any:
        value = env.nodes.get(node) if env.nodes else None
        return evaluate(env) if value is None else value

    return assumed


# -- facts and constants ---------------------------------------------------------


def read(env: Env, binding: str, fact: str, slot: str) -> Any:
    """The exact value or Open value of a fact, as assumed in the case at hand."""
    if env.facts:
        assumed = env.facts.get((binding, fact))
        if assumed is not None:
            return assumed
    record = env.records.get(binding)
    if record is None:
        record = getattr(env.world, attribute(binding))
    return getattr(record, slot)


def _possible(kind: str, value: Any) -> Any:
    """A fact's value as a mask, Range or Choice."""
    if isinstance(value, Open):
        if kind == "yes_no":
            values = value.values if value.values is not None else (True, False)
            mask = d.GAP if value.none else 0
            for known in values:
                mask |= d.truth(known)
            return mask
        return value.choice if kind in ("word", "text") else value.range
    if kind == "yes_no":
        return d.truth(value)
    if kind in ("word", "text"):
        return frozenset((value,)), False
    return value, value, False


def _const(_: Intervals, node: Node) -> Evaluate:
    value = _possible(node.type.kind, node.value)
    return lambda _env: value


def _fact(_: Intervals, node: Node) -> Evaluate:
    kind = node.type.kind
    binding, fact, slot = node.value
    return lambda env: _possible(kind, read(env, binding, fact, slot))


def _stated(_: Intervals, node: Node) -> Evaluate:
    binding, fact, slot = node.value

    def evaluate(env: Env) -> int:
        value = read(env, binding, fact, slot)
        if not isinstance(value, Open) or not value.none:
            return d.TRUE
        return d.FALSE if _is_none(value) else d.UNDECIDED

    return evaluate


def _is_none(value: Open) -> bool:
    return value.none and value.low > value.high and not value.values


def _fallback(made: Intervals, node: Node) -> Evaluate:
    fact, other = (made.closure(arg) for arg in node.args)
    binding, name, slot = node.value
    kind = node.type.kind

    def evaluate(env: Env) -> Any:
        value = read(env, binding, name, slot)
        if not isinstance(value, Open) or not value.none:
            return fact(env)
        if _is_none(value):
            return other(env)
        return _either(kind, _without_gap(kind, fact(env)), other(env))

    return evaluate


def _without_gap(kind: str, value: Any) -> Any:
    if kind == "yes_no":
        return value & ~d.GAP
    return (value[0], False) if kind in ("word", "text") else (value[0], value[1], False)


def _either(kind: str, a: Any, b: Any) -> Any:
    if kind == "yes_no":
        return a | b
    return d.choice_union((a, b)) if kind in ("word", "text") else d.hull((a, b))


def _today(_: Intervals, _node: Node) -> Evaluate:
    return lambda env: (env.world.today, env.world.today, False)


def _quantity(made: Intervals, node: Node) -> Evaluate:
    return made.closure(node.args[0])


# -- arithmetic ------------------------------------------------------------------


def _linear(made: Intervals, node: Node) -> Evaluate:
    """Sums and differences, in affine form where a term occurs more than once."""
    terms, constant, repeated = affine(node)
    if not repeated:
        return _plain_sum(made, node)
    divisor = lcm(*(c.denominator for c in terms.values()), constant.denominator)
    parts = [(made.closure(term), int(c * divisor)) for term, c in terms.items() if c]
    gaps = [made.closure(term) for term, c in terms.items() if not c]
    start = int(constant * divisor)

    def evaluate(env: Env) -> Range:
        total: Range = (start, start, False)
        for closure, factor in parts:
            total = d.range_add(total, d.range_times(closure(env), (factor, factor, False)))
        for closure in gaps:
            low, high, gap = closure(env)
            total = d.NOTHING if low > high else (total[0], total[1], total[2] or gap)
        if divisor != 1:
            total = d.range_times(total, (Fraction(1, divisor), Fraction(1, divisor), False))
        return total

    return evaluate


def _plain_sum(made: Intervals, node: Node) -> Evaluate:
    left, right = (made.closure(arg) for arg in node.args)
    if node.op == "add":
        return lambda env: d.range_add(left(env), right(env))
    return lambda env: d.range_add(left(env), d.range_negative(right(env)))


def affine(node: Node) -> tuple[dict[Node, Fraction], Fraction, bool]:
    """A numeric node as a sum of terms: run-time number = constant + sum(factor * term).

    Also whether some term was met more than once.
    """
    terms: dict[Node, Fraction] = {}
    constant = Fraction(0)
    repeated = False
    stack = [(node, Fraction(1))]
    while stack:
        piece, factor = stack.pop()
        if piece.op == "const":
            constant += factor * piece.value
        elif piece.op in ("add", "sub"):
            left, right = piece.args
            stack += [(left, factor), (right, factor if piece.op == "add" else -factor)]
        elif piece.op == "neg":
            stack.append((piece.args[0], -factor))
        elif piece.op == "rescale":
            stack.append((piece.args[0], factor * piece.value))
        elif piece.op in ("same", "quantity"):
            stack.append((piece.args[0], factor))
        else:
            repeated = repeated or piece in terms
            terms[piece] = terms.get(piece, Fraction(0)) + factor
    return terms, constant, repeated


def _negative(made: Intervals, node: Node) -> Evaluate:
    inner = made.closure(node.args[0])
    return lambda env: d.range_negative(inner(env))


def _same(made: Intervals, node: Node) -> Evaluate:
    return made.closure(node.args[0])


def _rescale(made: Intervals, node: Node) -> Evaluate:
    inner = made.closure(node.args[0])
    factor = (node.value, node.value, False)
    return lambda env: d.range_times(inner(env), factor)


def _two(operation: Callable[[Any, Any], Any]) -> Callable[[Intervals, Node], Evaluate]:
    def make(made: Intervals, node: Node) -> Evaluate:
        left, right = (made.closure(arg) for arg in node.args)
        return lambda env: operation(left(env), right(env))

    return make


def _mul(made: Intervals, node: Node) -> Evaluate:
    left, right = (made.closure(arg) for arg in node.args)
    if node.args[0] is node.args[1]:
        # A square is never negative, which a product of two ranges would not know.
        def square(env: Env) -> Range:
            size = d.range_absolute(left(env))
            return d.range_times(size, size)

        return square
    return lambda env: d.range_times(left(env), right(env))


def _absolute(made: Intervals, node: Node) -> Evaluate:
    inner = made.closure(node.args[0])
    return lambda env: d.range_absolute(inner(env))


def _round(made: Intervals, node: Node) -> Evaluate:
    inner = made.closure(node.args[0])
    direction, step = node.value
    operation = d.range_ceiling if direction == "round_up" else d.range_floor
    return lambda env: operation(inner(env), step)


@lru_cache(maxsize=4096)
def add_months(ordinal: int, months: int) -> int:
    """The day so many calendar months later; the last day of the month where there is no such day.

    Outside the years 1 to 9999 the first or last day of these stands for all others, so that
    a date that is not known still has a value when a period is added to it.
    """
    day = datetime.date.fromordinal(ordinal)
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    if not 1 <= year <= 9999:
        return (datetime.date.min if year < 1 else datetime.date.max).toordinal()
    last = calendar.monthrange(year, month + 1)[1]
    return datetime.date(year, month + 1, min(day.day, last)).toordinal()


def _date_plus(made: Intervals, node: Node) -> Evaluate:
    date, period = (made.closure(arg) for arg in node.args)

    def shifted(day: d.Number, months: d.Number) -> d.Number:
        if isinstance(day, float) or isinstance(months, float):
            return d.add(day, months)
        return add_months(int(day), int(months))

    def evaluate(env: Env) -> Range:
        a, b = date(env), period(env)
        if a[0] > a[1] or b[0] > b[1]:
            return d.NOTHING
        return shifted(a[0], b[0]), shifted(a[1], b[1]), a[2] or b[2]

    return evaluate


# -- conditions ------------------------------------------------------------------


def _le(made: Intervals, node: Node) -> Evaluate:
    left_node, right_node = node.args
    left, right = made.closure(left_node), made.closure(right_node)
    if node.args[0].type.kind == "quantity":
        difference = Node("sub", left_node.type, node.args, None, left_node.scale, "")
        if affine(difference)[2]:
            closure = _linear(made, difference)
            return lambda env: d.at_most(closure(env), (0, 0, False))
    return lambda env: d.at_most(left(env), right(env))


def _equal(made: Intervals, node: Node) -> Evaluate:
    left, right = (made.closure(arg) for arg in node.args)
    kind = node.args[0].type.kind
    if kind == "yes_no":

        def same_truth(env: Env) -> int:
            a, b = left(env), right(env)
            both = d.OR[d.AND[a][b]][d.AND[d.NOT[a]][d.NOT[b]]]
            # Without a value on one side there is none for the whole.
            return (both & ~d.GAP) | ((a | b) & d.GAP) if not (a == d.GAP or b == d.GAP) else d.GAP

        return same_truth
    if kind in ("word", "text"):
        return lambda env: _same_choice(left(env), right(env))

    def same_number(env: Env) -> int:
        a, b = left(env), right(env)
        if a[0] > a[1] or b[0] > b[1]:
            return d.GAP
        mask = d.GAP if a[2] or b[2] else 0
        if a[0] == a[1] == b[0] == b[1]:
            return mask | d.TRUE
        return mask | (d.FALSE if a[1] < b[0] or b[1] < a[0] else d.UNDECIDED)

    return same_number


def _same_choice(a: Choice, b: Choice) -> int:
    mask = d.GAP if a[1] or b[1] else 0
    if a[0] is None or b[0] is None:
        empty = frozenset() in (a[0], b[0])
        return mask if empty else mask | d.UNDECIDED
    if not a[0] or not b[0]:
        return mask
    if a[0] & b[0]:
        mask |= d.TRUE
    if len(a[0]) > 1 or len(b[0]) > 1 or a[0] != b[0]:
        mask |= d.FALSE
    return mask


def _in(made: Intervals, node: Node) -> Evaluate:
    inner = made.closure(node.args[0])
    wanted = node.value
    if node.args[0].type.kind == "quantity":

        def number_in(env: Env) -> int:
            low, high, gap = inner(env)
            if low > high:
                return d.GAP
            mask = d.GAP if gap else 0
            inside = [value for value in wanted if low <= value <= high]
            if inside:
                mask |= d.TRUE
            if isinstance(low, float) or isinstance(high, float) or high - low >= len(inside):
                mask |= d.FALSE
            return mask

        return number_in

    def word_in(env: Env) -> int:
        values, gap = inner(env)
        mask = d.GAP if gap else 0
        if values is None:
            return mask | d.UNDECIDED
        if values & wanted:
            mask |= d.TRUE
        if values - wanted:
            mask |= d.FALSE
        return mask

    return word_in


def _not(made: Intervals, node: Node) -> Evaluate:
    inner = made.closure(node.args[0])
    return lambda env: d.NOT[inner(env)]


def _and(made: Intervals, node: Node) -> Evaluate:
    left, right = (made.closure(arg) for arg in node.args)

    def evaluate(env: Env) -> int:
        first = left(env)
        return first if first == d.FALSE else d.AND[first][right(env)]

    return evaluate


def _or(made: Intervals, node: Node) -> Evaluate:
    left, right = (made.closure(arg) for arg in node.args)

    def evaluate(env: Env) -> int:
        first = left(env)
        return first if first == d.TRUE else d.OR[first][right(env)]

    return evaluate


def _if(made: Intervals, node: Node) -> Evaluate:
    condition, then, other = (made.closure(arg) for arg in node.args)
    kind = node.type.kind

    def evaluate(env: Env) -> Any:
        mask = condition(env)
        if mask == d.TRUE:
            return then(env)
        if mask == d.FALSE:
            return other(env)
        result = _nothing(kind) if mask & d.GAP else None
        for bit, branch in ((d.TRUE, then), (d.FALSE, other)):
            if mask & bit:
                value = branch(env)
                result = value if result is None else _either(kind, result, value)
        return result

    return evaluate


def _nothing(kind: str) -> Any:
    if kind == "yes_no":
        return d.GAP
    return (frozenset(), True) if kind in ("word", "text") else d.NOTHING


def _anything(kind: str) -> Any:
    if kind == "yes_no":
        return d.UNDECIDED | d.GAP
    return (None, True) if kind in ("word", "text") else d.ANYTHING


# -- tables and functions ----------------------------------------------------------


def _look_up(made: Intervals, node: Node) -> Evaluate:
    table_id, column_id = node.value
    table = made.names.tables[table_id]
    index = table.columns[column_id][0]
    keys = [made.closure(arg) for arg in node.args]
    scales = [
        (arg.scale.numerator * key.scale.denominator, arg.scale.denominator * key.scale.numerator)
        for arg, key in zip(node.args, table.keys, strict=True)
    ]
    kind = node.type.kind
    whole = node.args[0].type.whole

    def evaluate(env: Env) -> Any:
        asked = [
            _asked(closure(env), key.type.kind, scale)
            for closure, key, scale in zip(keys, table.keys, scales, strict=True)
        ]
        rows, certain = touched(table, asked, whole=whole)
        results = [
            _nothing(kind) if values[index] is None else _possible(kind, values[index])
            for values in rows
        ]
        if not certain or not results:
            results.append(_nothing(kind))
        result = results[0]
        for value in results[1:]:
            result = _either(kind, result, value)
        return result

    return evaluate


def _asked(value: Any, kind: str, scale: tuple[int, int]) -> Range | Choice:
    """What is asked of a key: a Range in the key's scale, or a Choice."""
    if kind == "yes_no":
        answers = frozenset(answer for answer in (True, False) if value & d.truth(answer))
        return answers, bool(value & d.GAP)
    if kind != "quantity" or scale[0] == scale[1]:
        found: Range | Choice = value
        return found
    factor = Fraction(*scale)
    return d.range_times(value, (factor, factor, False))


def touched(table: Any, asked: list[Any], *, whole: bool) -> tuple[list[tuple[Any, ...]], bool]:
    """The values of the rows that the asked keys may touch; whether one of them must match.

    ``whole``: what is asked of the first key is a whole number.
    """
    rows = []
    certain = all(not possible[-1] for possible in asked)
    left: list[Any] = list(asked)
    single = len(asked) == 1
    for keys, values in table.rows:
        fits = True
        for key, possible, value in zip(table.keys, left, keys, strict=True):
            if key.up_to:
                fits = fits and possible[0] <= value and possible[0] <= possible[1]
            elif key.type.kind in ("quantity", "date"):
                fits = fits and possible[0] <= value <= possible[1]
            else:
                fits = fits and (possible[0] is None or value in possible[0])
        if not fits:
            continue
        rows.append(values)
        if single and table.keys[0].up_to:
            # What this row takes is gone: later rows see only what lies above it.
            low, high, gap = left[0]
            if high <= keys[0]:
                return rows, certain
            left = [(max(low, keys[0]), high, gap)]
    if single and not table.keys[0].up_to:
        certain = certain and _covered(table, asked[0], whole=whole)
    elif single:
        certain = False
    elif _exact(asked):
        rows = rows[:1]
    else:
        certain = False
    return rows, certain


def _covered(table: Any, possible: Any, *, whole: bool) -> bool:
    key = table.keys[0]
    known = {keys[0] for keys, _ in table.rows}
    if key.type.kind in ("quantity", "date"):
        low, high, _ = possible
        if isinstance(low, float) or isinstance(high, float):
            return False
        if low == high:
            return low in known
        if key.type.kind == "quantity" and not whole:
            return False
        return high - low < 1000 and all(value in known for value in range(int(low), int(high) + 1))
    return possible[0] is not None and possible[0] <= known


def _exact(asked: list[Any]) -> bool:
    return all(
        (len(possible) == 3 and possible[0] == possible[1])
        or (len(possible) == 2 and possible[0] is not None and len(possible[0]) == 1)
        for possible in asked
    )


def _call(made: Intervals, node: Node) -> Evaluate:
    function = made.names.functions[node.value]
    arguments = [made.closure(arg) for arg in node.args]
    into = [
        arg.scale / scale for arg, (_, scale) in zip(node.args, function.parameters, strict=True)
    ]
    kind = node.type.kind

    def result(*values: Any) -> Any:
        value = function.call(*values)
        return _nothing(kind) if value is None else _possible(kind, value)

    def evaluate(env: Env) -> Any:
        options: list[tuple[Any, ...]] = []
        gap = False
        for closure, factor, (type_, _), direction in zip(
            arguments, into, function.parameters, function.monotone, strict=True
        ):
            value = closure(env)
            if type_.kind in ("word", "text"):
                if value[0] is None:
                    return _anything(kind)
                options.append(tuple(sorted(value[0])))
                gap = gap or value[1]
                continue
            low, high, lacking = value
            gap = gap or lacking
            if low > high:
                return _nothing(kind)
            if low == high:
                options.append((low * factor,))
            elif direction is None or isinstance(low, float) or isinstance(high, float):
                return _anything(kind)
            else:
                options.append((low * factor, high * factor))
        combinations = list(product(*options))
        if len(combinations) > MOST_COMBINATIONS:
            return _anything(kind)
        outcome = _nothing(kind) if gap or not combinations else None
        for values in combinations:
            value = result(*values)
            outcome = value if outcome is None else _either(kind, outcome, value)
        return outcome

    return evaluate


# -- over lists --------------------------------------------------------------------


def _over(made: Intervals, node: Node) -> Evaluate:
    function, binding, has_body, has_where, has_default = node.value
    pieces = iter([made.closure(arg) for arg in node.args])
    body = next(pieces) if has_body else None
    where = next(pieces) if has_where else None
    default = next(pieces) if has_default else None
    name = attribute(binding.removeprefix("each "))
    fold = _FOLDS[function]
    yes_no = function in ("any", "all")

    def evaluate(env: Env) -> Any:
        records = getattr(env.world, name)
        fallback = default(env) if default is not None else None
        if records is None:
            return d.UNDECIDED | d.GAP if yes_no else _not_given(function)
        outer = env.records.get(binding)
        members = []
        try:
            for record in records:
                env.records[binding] = record
                member = where(env) if where is not None else d.TRUE
                value = None
                if body is not None and member != d.FALSE:
                    value = body(env)
                members.append((member, value))
        finally:
            if outer is None:
                env.records.pop(binding, None)
            else:
                env.records[binding] = outer
        return fold(members, fallback)

    return evaluate


def _not_given(function: str) -> Range:
    return (0, d.INFINITE, True) if function == "count" else d.ANYTHING


Members = list[tuple[int, Any]]


def _any_of(members: Members, _default: Any) -> int:
    mask = d.FALSE
    for member, value in members:
        mask = d.OR[mask][member if value is None else d.AND[member][value]]
    return mask


def _all_of(members: Members, _default: Any) -> int:
    mask = d.TRUE
    for member, value in members:
        mask = d.AND[mask][d.NOT[member] if value is None else d.OR[d.NOT[member]][value]]
    return mask


def _count_of(members: Members, _default: Any) -> Range:
    low = high = 0
    gap = False
    for member, _ in members:
        if member == d.GAP:
            return d.NOTHING
        gap = gap or bool(member & d.GAP)
        low += not member & d.FALSE
        high += bool(member & d.TRUE)
    return low, high, gap


def _sum_of(members: Members, _default: Any) -> Range:
    total: Range = (0, 0, False)
    for member, value in members:
        if member == d.GAP:
            return d.NOTHING
        if member & d.TRUE:
            part = (
                value
                if member & d.TRUE and not member & d.FALSE
                else d.hull((value, (0, 0, False)))
            )
            total = d.range_add(total, part)
        if member & d.GAP:
            total = (total[0], total[1], True)
    return total


def _extreme_of(operation: Callable[[Range, Range], Range]) -> Callable[[Members, Any], Range]:
    def fold(members: Members, default: Any) -> Range:
        certain: Range | None = None
        possible: list[Range] = []
        gap = False
        for member, value in members:
            if member == d.GAP:
                return d.NOTHING
            gap = gap or bool(member & d.GAP)
            if not member & d.TRUE:
                continue
            if member & d.FALSE:
                possible.append(value)
            else:
                certain = value if certain is None else operation(certain, value)
        # Some or none of the uncertain members take part.
        base = [certain] if certain is not None else [default, *possible]
        result = d.hull(base)
        for value in possible:
            # A member that lacks a value would take the whole result with it.
            result = d.hull((result, operation(result, value)))
        return result[0], result[1], result[2] or gap

    return fold


_FOLDS: Final[Mapping[str, Callable[[Members, Any], Any]]] = {
    "any": _any_of,
    "all": _all_of,
    "count": _count_of,
    "sum": _sum_of,
    "largest": _extreme_of(d.range_largest),
    "smallest": _extreme_of(d.range_smallest),
}

_MAKERS: Final[Mapping[str, Callable[[Intervals, Node], Evaluate]]] = {
    "const": _const,
    "fact": _fact,
    "stated": _stated,
    "fallback": _fallback,
    "today": _today,
    "quantity": _quantity,
    "neg": _negative,
    "add": _linear,
    "sub": _linear,
    "same": _same,
    "rescale": _rescale,
    "mul": _mul,
    "div": _two(d.range_over),
    "smallest": _two(d.range_smallest),
    "largest": _two(d.range_largest),
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
