"""From text to syntax tree: one function per production, whose docstring is the production.

Time is linear in the length of the text; length and nesting are limited.
"""

from __future__ import annotations

import datetime
import re
from fractions import Fraction
from functools import lru_cache
from typing import Final, NoReturn

from modrules.language.syntax import (
    Binary,
    Call,
    Conditional,
    Date,
    Fallback,
    Member,
    Name,
    Number,
    Over,
    Span,
    Stated,
    Syntax,
    Text,
    Unary,
    depth_of,
)
from modrules.language.units import FORCE_TO_MASS, PERIODS, UNITS
from modrules.problems import ModrulesError, Place, Problem, nearest

LONGEST: Final = 4000
DEEPEST: Final = 40
LONGEST_CHAIN: Final = 100
MOST_DIGITS: Final = 30

#: Words of the language itself; no fact, word or table may be called so.
KEYWORDS: Final = frozenset(
    [
        "and",
        "or",
        "not",
        "in",
        "is",
        "if",
        "then",
        "else",
        "for",
        "each",
        "where",
        "none",
        "stated",
        "today",
        "yes",
        "no",
    ]
)

_UNIT_NAMES: Final = "|".join(
    re.escape(name) for name in sorted([*UNITS, *PERIODS], key=len, reverse=True)
)
# "in" before a parenthesis is never inches: ``axle.bolts + 1 in (4, 5)``. What divides a unit
# may stand close to it, but no letters that may be meant as part of it, as in ``km/hr``.
_TOKENS: Final = re.compile(
    rf"""
    (?P<space>\s+)
  | (?P<date>\d{{4}}-\d\d-\d\d(?![\w]))
  | (?P<number>\d+(?:\.\d+)?)
    (?:\s*(?!in\s*\()(?P<unit>{_UNIT_NAMES})(?![\w%]|/[A-Za-z]\w*(?![\w.(])))?(?P<stray>[\w.%]+)?
  | (?P<name>[A-Za-z_]\w*(?:\.[A-Za-z_]\w*)*)
  | (?P<text>"[^"\\\n]*")
  | (?P<operator><=|>=|!=|[-+*/()<>=,])
    """,
    re.VERBOSE | re.ASCII,
)
_COMPARISONS: Final = frozenset(["<", "<=", ">", ">=", "=", "!="])


class SyntaxProblem(ModrulesError):
    """The text is no expression; ``span`` is the stretch that could not be understood."""

    def __init__(self, message: str, text: str, span: Span, hint: str = "") -> None:
        self.span = span
        self.message = message
        self.hint = hint
        first = text.rfind("\n", 0, span[0]) + 1
        line = text.count("\n", 0, span[0]) + 1
        source = text[first:].split("\n", 1)[0]
        place = Place("expression", line, span[0] - first + 1, span[1] - first + 1, source)
        super().__init__(Problem(message, place, hint))

    def __reduce__(self) -> tuple[type[ModrulesError], tuple[tuple[Problem, ...]]]:
        return ModrulesError, (self.problems,)


@lru_cache(maxsize=1024)
def parse(text: str) -> Syntax:
    """The syntax tree of ``text``; it never changes, and is kept for the next who asks.

    Raises SyntaxProblem with the place of the first thing that is not understood.
    """
    if len(text) > LONGEST:
        raise SyntaxProblem(
            f"this expression has {len(text)} characters; at most {LONGEST} are allowed",
            text[:80],
            (0, 1),
            "give parts of it a name, as quantities",
        )
    tree = _Parser(text).whole()
    if len(text) > 2 * LONGEST_CHAIN and depth_of(tree) > LONGEST_CHAIN:
        raise SyntaxProblem(
            f"this expression chains more than {LONGEST_CHAIN} operators",
            text,
            (0, 1),
            "give parts of it a name, as quantities",
        )
    return tree


_Token = tuple[str, str, int, int]


def _tokens(text: str) -> list[_Token]:
    tokens: list[_Token] = []
    position, end = 0, len(text)
    while position < end:
        match = _TOKENS.match(text, position)
        if match is None:
            raise SyntaxProblem(
                f"the character {text[position]!r} means nothing here",
                text,
                (position, position + 1),
                'expected a number, a name, "text", an operator or a parenthesis',
            )
        kind = match.lastgroup or ""
        start, position = position, match.end()
        if kind == "space":
            continue
        if kind == "stray":
            stray = match["stray"]
            raise SyntaxProblem(
                f'"{text[match.start() : position]}" is no number with a known unit',
                text,
                (match.start("stray"), position),
                nearest(stray, UNITS),
            )
        if kind == "unit":
            tokens.append(("number", match["number"], start, match.end("number")))
            unit = match["unit"]
            tokens.append(("unit", unit, match.start("unit"), position))
        else:
            tokens.append((kind, match[0], start, position))
    tokens.append(("end", "", end, end + 1))
    return tokens


def _divided(written: str) -> str:
    """What to write for one unit by another, of which few are units themselves."""
    over, slash, under = written.partition("/")
    if not (slash and over in UNITS and under in UNITS):
        return ""
    if (over, under) in (("N", "kg"), ("kN", "kg"), ("kN", "t")):
        return FORCE_TO_MASS
    return f'"{written}" is no unit: divide by one and multiply by the other, each as a value'


class _Parser:
    __slots__ = ("at", "depth", "text", "tokens")

    def __init__(self, text: str) -> None:
        self.text = text
        self.tokens = _tokens(text)
        self.at = 0
        self.depth = 0

    def fail(self, message: str, hint: str = "") -> NoReturn:
        token = self.tokens[self.at]
        raise SyntaxProblem(message, self.text, (token[2], token[3]), hint)

    def unexpected(self, expected: str) -> NoReturn:
        token = self.tokens[self.at]
        found = "the expression ends here" if token[0] == "end" else f'"{token[1]}" stands here'
        hint = ""
        if token[0] == "name":
            previous = self.tokens[self.at - 1] if self.at else token
            if previous[0] == "number" and token[1] not in KEYWORDS:
                written = re.match(r"\w+(/\w+)?", self.text[token[2] :])
                assert written is not None
                hint = _divided(written[0]) or nearest(written[0], [*UNITS, *PERIODS])
                if not hint:
                    hint = f"known units: {', '.join(UNITS)}"
        self.fail(f"{found}, but {expected} is expected", hint)

    def peek(self, *words: str) -> bool:
        """Whether the next tokens are these words or operators."""
        for offset, word in enumerate(words):
            index = self.at + offset
            if index >= len(self.tokens) or self.tokens[index][1] != word:
                return False
            if self.tokens[index][0] not in ("name", "operator"):
                return False
        return True

    def take(self, word: str) -> None:
        if not self.peek(word):
            self.unexpected(f'"{word}"')
        self.at += 1

    def span(self, start: int) -> Span:
        return self.tokens[start][2], self.tokens[self.at - 1][3]

    def whole(self) -> Syntax:
        """whole = expression"""
        tree = self.expression()
        if self.tokens[self.at][0] != "end":
            self.unexpected("an operator or the end")
        return tree

    def expression(self) -> Syntax:
        """expression = "if" expression "then" expression "else" expression | disjunction"""
        self.depth += 1
        if self.depth > DEEPEST:
            self.fail(
                f"this expression is nested more than {DEEPEST} deep",
                "give parts of it a name, as quantities",
            )
        start = self.at
        if self.peek("if"):
            self.at += 1
            condition = self.expression()
            self.take("then")
            then = self.expression()
            self.take("else")
            other = self.expression()
            tree: Syntax = Conditional(condition, then, other, span=self.span(start))
        else:
            tree = self.disjunction()
        self.depth -= 1
        return tree

    def disjunction(self) -> Syntax:
        """disjunction = conjunction { "or" conjunction }"""
        start = self.at
        tree = self.conjunction()
        while self.peek("or"):
            self.at += 1
            right = self.conjunction()
            tree = Binary("or", tree, right, span=self.span(start))
        return tree

    def conjunction(self) -> Syntax:
        """conjunction = negation { "and" negation }"""
        start = self.at
        tree = self.negation()
        while self.peek("and"):
            self.at += 1
            right = self.negation()
            tree = Binary("and", tree, right, span=self.span(start))
        return tree

    def negation(self) -> Syntax:
        """negation = { "not" } comparison"""
        start = self.at
        while self.peek("not"):
            self.at += 1
        count = self.at - start
        if count > DEEPEST:
            self.fail(f'more than {DEEPEST} times "not" in a row')
        tree = self.comparison()
        for index in range(start + count - 1, start - 1, -1):
            tree = Unary("not", tree, span=self.span(index))
        return tree

    def comparison(self) -> Syntax:
        """comparison = operand [ ("<" | "<=" | ">" | ">=" | "=" | "!=") operand
        | [ "not" ] "in" "(" operand { "," operand } ")" | "is" [ "not" ] "stated" ]"""
        start = self.at
        tree = self.operand()
        token = self.tokens[self.at]
        if token[0] == "operator" and token[1] in _COMPARISONS:
            self.at += 1
            right = self.operand()
            tree = Binary(token[1], tree, right, span=self.span(start))
            following = self.tokens[self.at]
            if following[0] == "operator" and following[1] in _COMPARISONS:
                self.fail("comparisons can't be chained", 'write "a < b and b < c"')
        elif self.peek("in") or self.peek("not", "in"):
            negated = self.peek("not")
            self.at += 1 + negated
            self.take("(")
            choices = [self.operand()]
            while self.peek(","):
                self.at += 1
                choices.append(self.operand())
            self.take(")")
            tree = Member(tree, tuple(choices), negated, span=self.span(start))
        elif self.peek("is"):
            self.at += 1
            negated = self.peek("not")
            self.at += negated
            self.take("stated")
            tree = Stated(tree, negated, span=self.span(start))
        return tree

    def operand(self) -> Syntax:
        """operand = sum { "if" "stated" "else" sum }"""
        starts = [self.at]
        pieces = [self.sum()]
        while self.peek("if", "stated"):
            self.at += 2
            self.take("else")
            starts.append(self.at)
            pieces.append(self.sum())
            if len(pieces) > DEEPEST:
                self.fail(f"this expression is nested more than {DEEPEST} deep")
        tree = pieces.pop()
        while pieces:
            tree = Fallback(pieces.pop(), tree, span=self.span(starts[len(pieces)]))
        return tree

    def sum(self) -> Syntax:
        """sum = product { ("+" | "-") product }"""
        start = self.at
        tree = self.product()
        while self.peek("+") or self.peek("-"):
            operator = self.tokens[self.at][1]
            self.at += 1
            right = self.product()
            tree = Binary(operator, tree, right, span=self.span(start))
        return tree

    def product(self) -> Syntax:
        """product = signed { ("*" | "/") signed }"""
        start = self.at
        tree = self.signed()
        while self.peek("*") or self.peek("/"):
            operator = self.tokens[self.at][1]
            self.at += 1
            right = self.signed()
            tree = Binary(operator, tree, right, span=self.span(start))
        return tree

    def signed(self) -> Syntax:
        """signed = { "-" } primary"""
        start = self.at
        while self.peek("-"):
            self.at += 1
        count = self.at - start
        if count > DEEPEST:
            self.fail(f'more than {DEEPEST} times "-" in a row')
        tree = self.primary()
        for index in range(start + count - 1, start - 1, -1):
            tree = Unary("-", tree, span=self.span(index))
        return tree

    def primary(self) -> Syntax:
        """primary = number [ unit ] | date | text | name | name "(" arguments ")"
        | "(" expression ")" """
        start = self.at
        kind, text, _, _ = self.tokens[start]
        self.at += 1
        if kind == "number":
            return self.number(start, text)
        if kind == "date":
            return self.date(start, text)
        if kind == "text":
            return Text(text[1:-1], span=self.span(start))
        if kind == "name":
            if self.peek("("):
                return self.call(start, text)
            if text in KEYWORDS and text not in ("today", "yes", "no"):
                self.at = start
                self.unexpected("a value")
            return Name(text, span=self.span(start))
        if kind == "operator" and text == "(":
            tree = self.expression()
            self.take(")")
            return tree
        self.at = start
        self.unexpected("a value")

    def number(self, start: int, digits: str) -> Syntax:
        """number = digit { digit } [ "." digit { digit } ]"""
        if len(digits) > MOST_DIGITS:
            self.at = start
            self.fail(f"this number has more than {MOST_DIGITS} digits")
        unit = ""
        if self.tokens[self.at][0] == "unit":
            unit = self.tokens[self.at][1]
            self.at += 1
        return Number(Fraction(digits), unit, span=self.span(start))

    def date(self, start: int, text: str) -> Syntax:
        """date = year "-" month "-" day"""
        try:
            datetime.date.fromisoformat(text)
        except ValueError:
            self.at = start
            self.fail(f"{text} is no date of the calendar", "write year-month-day, as 2024-07-01")
        return Date(text, span=self.span(start))

    def call(self, start: int, function: str) -> Syntax:
        """arguments = expression { "," expression }
        | [ expression "for" ] "each" name [ "where" expression ] [ "if" "none" expression ]"""
        if function in KEYWORDS:
            self.at = start
            self.unexpected("a value")
        self.take("(")
        if self.peek(")"):
            self.unexpected("a value")
        body: Syntax | None = None
        if not self.peek("each"):
            body = self.expression()
            if self.peek("each"):
                self.unexpected('"for"')
            if self.peek("for"):
                self.at += 1
                if not self.peek("each"):
                    self.unexpected('"each"')
        if self.peek("each"):
            self.at += 1
            kind, subject, _, _ = self.tokens[self.at]
            if kind != "name" or subject in KEYWORDS:
                self.unexpected("the name of a list, such as axle,")
            self.at += 1
            where = default = None
            if self.peek("where"):
                self.at += 1
                where = self.expression()
            if self.peek("if", "none"):
                self.at += 2
                default = self.expression()
            self.take(")")
            return Over(function, body, subject, where, default, span=self.span(start))
        assert body is not None
        arguments = [body]
        while self.peek(","):
            self.at += 1
            arguments.append(self.expression())
        self.take(")")
        return Call(function, tuple(arguments), span=self.span(start))
