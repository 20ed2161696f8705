"""What is said of a piece of an expression that means nothing."""

from __future__ import annotations

from typing import NoReturn

from modrules.language import syntax as s
from modrules.language.tree import Type
from modrules.language.units import NUMBER


class TypeProblem(Exception):
    """A piece of an expression that means nothing; ``span`` is its stretch of the source."""

    def __init__(self, message: str, span: s.Span, hint: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.span = span
        self.hint = hint


def fail(message: str, span: s.Span, hint: str = "") -> NoReturn:
    raise TypeProblem(message, span, hint)


def a_type(type: Type) -> str:
    """The type in words, with its article."""
    words = str(type)
    return words if words[0] in "0123456789" else f"{'an' if words[0] in 'aeiou' else 'a'} {words}"


def wrong_unit(type: Type) -> str:
    """A hint for a plain number where a quantity belongs."""
    if type.kind == "quantity" and type.dimension == NUMBER:
        return "does the number lack its unit?"
    return ""
