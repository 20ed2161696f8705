"""Look-ups in tables and calls of functions over what is possible."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from itertools import product
from typing import Any, Final

from modrules.language import domains as d
from modrules.language.domains import Choice, Range
from modrules.language.possible import (
    Env,
    Evaluate,
    Made,
    Maker,
    anything,
    either,
    nothing,
    possible_value,
)
from modrules.language.tree import Node

#: so many combinations of possible words are tried in a look-up or call before "any" is said
MOST_COMBINATIONS: Final = 64


def _look_up(made: Made, node: Node) -> Evaluate:
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
            nothing(kind) if values[index] is None else possible_value(kind, values[index])
            for values in rows
        ]
        if not certain or not results:
            results.append(nothing(kind))
        result = results[0]
        for value in results[1:]:
            result = either(kind, result, value)
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


def _call(made: Made, node: Node) -> Evaluate:
    function = made.names.functions[node.value]
    arguments = [made.closure(arg) for arg in node.args]
    into = [
        arg.scale / scale for arg, (_, scale) in zip(node.args, function.parameters, strict=True)
    ]
    kind = node.type.kind

    def result(*values: Any) -> Any:
        value = function.call(*values)
        return nothing(kind) if value is None else possible_value(kind, value)

    def evaluate(env: Env) -> Any:
        options: list[tuple[Any, ...]] = []
        gap = False
        for closure, factor, (type_, _), direction in zip(
            arguments, into, function.parameters, function.monotone, strict=True
        ):
            value = closure(env)
            if type_.kind in ("word", "text"):
                if value[0] is None:
                    return anything(kind)
                options.append(tuple(sorted(value[0])))
                gap = gap or value[1]
                continue
            low, high, lacking = value
            gap = gap or lacking
            if low > high:
                return nothing(kind)
            if low == high:
                options.append((low * factor,))
            elif direction is None or isinstance(low, float) or isinstance(high, float):
                return anything(kind)
            else:
                options.append((low * factor, high * factor))
        combinations = list(product(*options))
        if len(combinations) > MOST_COMBINATIONS:
            return anything(kind)
        outcome = nothing(kind) if gap or not combinations else None
        for values in combinations:
            value = result(*values)
            outcome = value if outcome is None else either(kind, outcome, value)
        return outcome

    return evaluate


TABLES: Final[Mapping[str, Maker]] = {"look_up": _look_up, "call": _call}
