"""The grammar: parse and print are each other's inverse, and errors point at the place."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from modrules.language import syntax as s
from modrules.language.parser import KEYWORDS, SyntaxProblem, parse
from modrules.language.syntax import text_of
from modrules.language.units import PERIODS, UNITS

_words = st.from_regex(r"[a-z][a-z0-9_]{0,6}", fullmatch=True).filter(lambda w: w not in KEYWORDS)
_paths = st.lists(_words, min_size=2, max_size=3).map(lambda parts: s.Name(".".join(parts)))
_atoms = st.one_of(
    st.builds(
        s.Number,
        st.decimals(min_value=0, max_value=10**6, places=2).map(lambda d: Fraction(str(d))),
        st.sampled_from(["", *UNITS, *PERIODS]),
    ),
    st.dates().map(lambda d: s.Date(d.isoformat())),
    st.from_regex(r"[A-Za-z 0-9/.-]{0,8}", fullmatch=True).map(s.Text),
    _paths,
    st.sampled_from(["today", "yes", "no"]).map(s.Name),
)


def _larger(inner: st.SearchStrategy[s.Syntax]) -> st.SearchStrategy[s.Syntax]:
    some = st.lists(inner, min_size=1, max_size=3).map(tuple)
    optional = st.none() | inner
    return st.one_of(
        st.builds(s.Unary, st.sampled_from(["not", "-"]), inner),
        st.builds(
            s.Binary,
            st.sampled_from(["+", "-", "*", "/", "<", "<=", ">", ">=", "=", "!=", "and", "or"]),
            inner,
            inner,
        ),
        st.builds(s.Member, inner, some, st.booleans()),
        st.builds(s.Stated, inner, st.booleans()),
        st.builds(s.Fallback, inner, inner),
        st.builds(s.Conditional, inner, inner, inner),
        st.builds(s.Call, _words, some),
        st.builds(s.Over, _words, optional, _words, optional, optional),
    )


@settings(max_examples=600)
@given(st.recursive(_atoms, _larger, max_leaves=12))
def test_parse_undoes_print(tree: s.Syntax) -> None:
    text = text_of(tree)
    assert parse(text) == tree
    assert text_of(parse(text)) == text


@given(st.text(max_size=60))
def test_any_text_is_an_expression_or_one_problem_with_a_place(text: str) -> None:
    found: SyntaxProblem | None = None
    try:
        parse(text)
    except SyntaxProblem as problem:
        found = problem
    if found is not None:
        assert len(found.problems) == 1
        assert 0 <= found.span[0] <= len(text)
        assert found.message


@pytest.mark.parametrize(
    ("text", "span", "said"),
    [
        ("a.b <", (5, 6), "a value is expected"),
        ("50 mmm < 3", (3, 6), "operator or the end"),
        ("1 < 2 < 3", (6, 7), "chained"),
        ("(a.b", (4, 5), '")"'),
        ("a.b $ c.d", (4, 5), "means nothing"),
        ("2024-13-01", (0, 10), "no date"),
        ("sum(a.b for axle)", (12, 16), "each"),
        ("if a.b then 1", (13, 14), '"else"'),
        ("f()", (2, 3), "a value"),
        ("a.b in 3", (7, 8), '"("'),
        ("a.b is missing", (7, 14), "stated"),
        ("", (0, 1), "a value"),
        ("and", (0, 3), "a value"),
        ("1.2.3", (3, 5), "no number"),
    ],
)
def test_a_problem_points_at_its_place(text: str, span: tuple[int, int], said: str) -> None:
    with pytest.raises(SyntaxProblem) as caught:
        parse(text)
    assert caught.value.span == span
    assert said in caught.value.message


@pytest.mark.parametrize(
    "text",
    [
        "(" * 10_000,
        "(" * 500 + "1" + ")" * 500,
        "not " * 900 + "a.b",
        "- " * 1900 + "1",
        "a.b" + " + a.b" * 600,
        "a.b" + " if stated else a.b" * 200,
        "if a.b then " * 300,
        "9" * 3000,
    ],
)
def test_what_is_too_much_is_refused(text: str) -> None:
    with pytest.raises(SyntaxProblem):
        parse(text)


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("a.b + c.d * e.f", "a.b + (c.d * e.f)"),
        ("a.b - c.d - e.f", "(a.b - c.d) - e.f"),
        ("a.b or c.d and e.f", "a.b or (c.d and e.f)"),
        ("not a.b and c.d", "(not a.b) and c.d"),
        ("not a.b < c.d", "not (a.b < c.d)"),
        ("-a.b * c.d", "(-a.b) * c.d"),
        ("a.b if stated else c.d + e.f", "a.b if stated else (c.d + e.f)"),
        ("a.b if stated else c.d if stated else 3", "a.b if stated else (c.d if stated else 3)"),
        ("a.b if stated else 3 < c.d", "(a.b if stated else 3) < c.d"),
        ("30 in", "30in"),
    ],
)
def test_what_binds_tighter(text: str, meant: str) -> None:
    assert parse(text) == parse(meant)
