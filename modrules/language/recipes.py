"""What generated code refers to by name, made from recipes: tables, functions, constants."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Mapping
from fractions import Fraction
from typing import Any, Final

from modrules.language.codegen import NO_VALUE, NoValue, Recipe
from modrules.language.dates import add_months
from modrules.language.records import NONE_STATED
from modrules.language.tree import Function, Names, TableName


def cells(table: TableName, column_id: str) -> Mapping[Any, Any]:
    """The cells of a column by the one key of a table; those left empty are not there."""
    index = table.columns[column_id][0]
    found = {keys[0]: values[index] for keys, values in table.rows}
    return {key: value for key, value in found.items() if value is not None}


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
    "NONE_STATED": NONE_STATED,
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
        elif what == "cells":
            made[name] = cells(names.tables[needs[0]], needs[1])
        elif what == "table":
            made[name] = finder(names.tables[needs[0]], needs[1], needs[2])
        else:
            made[name] = runner(names.functions[needs[0]], needs[1])
    return made
