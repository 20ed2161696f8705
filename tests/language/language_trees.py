"""Syntax trees made at random: every tree that the parser can return."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import strategies as st

from modrules.language.parser import KEYWORDS
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
    Stated,
    Syntax,
    Text,
    Unary,
)
from modrules.language.units import PERIODS, UNITS

words = st.from_regex(r"[a-z][a-z0-9]{0,4}(_[a-z0-9]{1,3})?", fullmatch=True)
names = words.filter(lambda word: word not in KEYWORDS)
dotted = st.lists(words, min_size=2, max_size=3).map(".".join)
numbers = st.builds(
    Number,
    st.integers(0, 10**9).map(lambda n: Fraction(n, 1000)),
    st.sampled_from(["", *UNITS, *PERIODS]),
)
texts = st.builds(
    Text, st.text(st.characters(exclude_characters='"\\\n', codec="utf-8"), max_size=6)
)
leaves = st.one_of(
    numbers,
    st.builds(Date, st.dates().map(lambda day: day.isoformat())),
    texts,
    st.builds(Name, st.one_of(names, dotted, st.sampled_from(["today", "yes", "no"]))),
)
OPERATORS = ["and", "or", "<", "<=", ">", ">=", "=", "!=", "+", "-", "*", "/"]


def _larger(trees: st.SearchStrategy[Syntax]) -> st.SearchStrategy[Syntax]:
    maybe = st.none() | trees
    return st.one_of(
        st.builds(Unary, st.sampled_from(["not", "-"]), trees),
        st.builds(Binary, st.sampled_from(OPERATORS), trees, trees),
        st.builds(Binary, st.sampled_from(OPERATORS), trees, trees),
        st.builds(Member, trees, st.lists(trees, min_size=1, max_size=3).map(tuple), st.booleans()),
        st.builds(Stated, trees, st.booleans()),
        st.builds(Fallback, trees, trees),
        st.builds(Conditional, trees, trees, trees),
        st.builds(Call, names, st.lists(trees, min_size=1, max_size=3).map(tuple)),
        st.builds(Over, names, maybe, names, maybe, maybe),
    )


trees: st.SearchStrategy[Syntax] = st.recursive(leaves, _larger, max_leaves=12)
