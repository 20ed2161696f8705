"""The syntax tree of an expression, and its canonical text.

Each class is one production of the grammar (see ``parser``). ``span`` is the
stretch of the source, start and end offset, and takes no part in comparison.
``parse(text_of(tree)) == tree`` for every tree that the parser can return.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, fields
from fractions import Fraction
from typing import Final

from modrules.language.units import decimal_text

Span = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Syntax:
    """A piece of an expression."""

    span: Span = field(compare=False, kw_only=True, default=(0, 0))


@dataclass(frozen=True, slots=True)
class Number(Syntax):
    """``50 mm``, ``7 %``, ``15 years`` or a plain ``0.35``."""

    value: Fraction
    unit: str


@dataclass(frozen=True, slots=True)
class Date(Syntax):
    """``2024-07-01``; the value is the ordinal of the day."""

    value: str


@dataclass(frozen=True, slots=True)
class Text(Syntax):
    """``"Q"``."""

    value: str


@dataclass(frozen=True, slots=True)
class Name(Syntax):
    """A fact or quantity (dotted), a word, ``today``, ``yes`` or ``no``."""

    name: str


#: Stands for what can't be read and has been reported, so that all else can still be looked at.
UNREADABLE: Final = Name("unreadable.formula")


@dataclass(frozen=True, slots=True)
class Unary(Syntax):
    """``not x`` or ``-x``."""

    operator: str
    operand: Syntax


@dataclass(frozen=True, slots=True)
class Binary(Syntax):
    """Arithmetic, comparison, ``and``, ``or``."""

    operator: str
    left: Syntax
    right: Syntax


@dataclass(frozen=True, slots=True)
class Member(Syntax):
    """``x in (a, b)`` or ``x not in (a, b)``."""

    operand: Syntax
    choices: tuple[Syntax, ...]
    negated: bool


@dataclass(frozen=True, slots=True)
class Stated(Syntax):
    """``fact is stated`` or ``fact is not stated``."""

    operand: Syntax
    negated: bool


@dataclass(frozen=True, slots=True)
class Fallback(Syntax):
    """``fact if stated else other``."""

    operand: Syntax
    other: Syntax


@dataclass(frozen=True, slots=True)
class Conditional(Syntax):
    """``if c then a else b``."""

    condition: Syntax
    then: Syntax
    other: Syntax


@dataclass(frozen=True, slots=True)
class Call(Syntax):
    """``look_up(table, column, key)``, ``largest(a, b)`` and the other functions."""

    function: str
    arguments: tuple[Syntax, ...]


@dataclass(frozen=True, slots=True)
class Over(Syntax):
    """``sum(x for each axle where c if none d)``: a function over a list."""

    function: str
    body: Syntax | None
    subject: str
    where: Syntax | None
    default: Syntax | None


def parts_of(tree: Syntax) -> list[Syntax]:
    """The pieces directly under a piece of syntax."""
    parts: list[Syntax] = []
    for each in fields(tree):
        value = getattr(tree, each.name)
        if isinstance(value, Syntax):
            parts.append(value)
        elif isinstance(value, tuple):
            parts += [item for item in value if isinstance(item, Syntax)]
    return parts


def depth_of(tree: Syntax) -> int:
    """How deep the tree goes, found without recursion."""
    deepest = 0
    stack = [(tree, 1)]
    while stack:
        piece, depth = stack.pop()
        deepest = max(deepest, depth)
        stack += [(part, depth + 1) for part in parts_of(piece)]
    return deepest


_LEVELS: Final[Mapping[str, int]] = {
    "or": 1,
    "and": 2,
    "not": 3,
    "<": 4,
    "<=": 4,
    ">": 4,
    ">=": 4,
    "=": 4,
    "!=": 4,
    "+": 5,
    "-": 5,
    "*": 6,
    "/": 6,
}
_COMPARISON, _FALLBACK, _MINUS, _PRIMARY = 4, 4, 7, 9


def text_of(tree: Syntax) -> str:
    """The canonical text of an expression."""
    return render(tree, lambda _: None)


def render(tree: Syntax, instead: Callable[[Syntax], str | None]) -> str:
    """The text of an expression in which ``instead`` may put other words for a piece of it."""

    def put(piece: Syntax, least: int = 0) -> str:
        replaced = instead(piece)
        if replaced is not None:
            return replaced
        words, level = _WRITERS[type(piece)](piece, put)
        return f"({words})" if level < least else words

    return put(tree)


_Put = Callable[..., str]


def _number(tree: Number, _put: _Put) -> tuple[str, int]:
    digits = decimal_text(tree.value, 30)
    return f"{digits} {tree.unit}" if tree.unit else digits, _PRIMARY


def _date(tree: Date, _put: _Put) -> tuple[str, int]:
    return tree.value, _PRIMARY


def _text(tree: Text, _put: _Put) -> tuple[str, int]:
    return f'"{tree.value}"', _PRIMARY


def _name(tree: Name, _put: _Put) -> tuple[str, int]:
    return tree.name, _PRIMARY


def _unary(tree: Unary, put: _Put) -> tuple[str, int]:
    if tree.operator == "not":
        return f"not {put(tree.operand, 3)}", 3
    return f"-{put(tree.operand, _MINUS)}", _MINUS


def _binary(tree: Binary, put: _Put) -> tuple[str, int]:
    level = _LEVELS[tree.operator]
    # Comparisons do not chain, so both sides must bind tighter.
    left = put(tree.left, level + (level == _COMPARISON))
    return f"{left} {tree.operator} {put(tree.right, level + 1)}", level


def _member(tree: Member, put: _Put) -> tuple[str, int]:
    choices = ", ".join(put(choice, 5) for choice in tree.choices)
    word = "not in" if tree.negated else "in"
    return f"{put(tree.operand, 5)} {word} ({choices})", _COMPARISON


def _stated(tree: Stated, put: _Put) -> tuple[str, int]:
    return f"{put(tree.operand, 5)} is {'not ' if tree.negated else ''}stated", _COMPARISON


def _fallback(tree: Fallback, put: _Put) -> tuple[str, int]:
    other = put(tree.other, _FALLBACK if isinstance(tree.other, Fallback) else 5)
    return f"{put(tree.operand, 5)} if stated else {other}", _FALLBACK


def _conditional(tree: Conditional, put: _Put) -> tuple[str, int]:
    return f"if {put(tree.condition)} then {put(tree.then)} else {put(tree.other)}", 0


def _call(tree: Call, put: _Put) -> tuple[str, int]:
    return f"{tree.function}({', '.join(put(a) for a in tree.arguments)})", _PRIMARY


def _over(tree: Over, put: _Put) -> tuple[str, int]:
    parts = [f"{put(tree.body, 1)} for" if tree.body is not None else "", f"each {tree.subject}"]
    if tree.where is not None:
        parts.append(f"where {put(tree.where, 1)}")
    if tree.default is not None:
        parts.append(f"if none {put(tree.default, 1)}")
    return f"{tree.function}({' '.join(part for part in parts if part)})", _PRIMARY


_WRITERS: Final[Mapping[type, Callable[..., tuple[str, int]]]] = {
    Number: _number,
    Date: _date,
    Text: _text,
    Name: _name,
    Unary: _unary,
    Binary: _binary,
    Member: _member,
    Stated: _stated,
    Fallback: _fallback,
    Conditional: _conditional,
    Call: _call,
    Over: _over,
}
