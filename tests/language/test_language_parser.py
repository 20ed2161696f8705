"""The parser: its canonical text is read back to the same tree, and errors point at the place."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from language_trees import trees

from modrules.language.parser import DEEPEST, LONGEST, SyntaxProblem, parse
from modrules.language.syntax import Syntax, depth_of, parts_of, text_of
from tests.counting import calls_of

calm = settings(max_examples=400, derandomize=True, deadline=None, database=None)


@calm
@given(trees)
def test_the_canonical_text_is_read_back(tree: Syntax) -> None:
    text = text_of(tree)
    assert parse(text) == tree
    assert text_of(parse(text)) == text


@calm
@given(trees, st.sampled_from(["  ", "\n", " \t", "\r\n"]))
def test_layout_is_nothing(tree: Syntax, blank: str) -> None:
    text = text_of(tree)
    if '"' not in text:
        assert parse(f"{blank}{text.replace(' ', blank)}{blank}") == tree


@calm
@given(trees)
def test_spans_are_the_stretch_of_the_piece(tree: Syntax) -> None:
    text = text_of(tree)
    stack = [parse(text)]
    while stack:
        piece = stack.pop()
        start, end = piece.span
        assert 0 <= start < end <= len(text)
        assert parse(text[start:end]) == piece
        stack += parts_of(piece)


@calm
@given(
    st.text(st.sampled_from('ab.1 5m"()<>=!+-*/,%isifnotdeachforwherelseunthk_±\n'), max_size=40)
)
def test_any_text_is_a_tree_or_a_problem_with_a_place(text: str) -> None:
    problem = problem_of(text)
    if problem is None:
        assert parse(text_of(parse(text))) == parse(text)
        return
    start, end = problem.span
    assert 0 <= start < end <= len(text) + 1
    (told,) = problem.problems
    assert told.place is not None
    assert told.place.line >= 1
    assert told.message
    assert str(problem)


def problem_of(text: str) -> SyntaxProblem | None:
    try:
        parse(text)
    except SyntaxProblem as problem:
        return problem
    return None


@pytest.mark.parametrize(
    ("text", "canonical"),
    [
        ("a.b<=50mm", "a.b <= 50 mm"),
        ("30 in", "30 in"),
        ("axle.bolts * 2 in (4, 6)", "axle.bolts * 2 in (4, 6)"),
        ("2 in (1,2)", "2 in (1, 2)"),
        ("5 in in (1)", "5 in in (1)"),
        ("x.y not in(a)", "x.y not in (a)"),
        ("not a.b and c.d or e.f", "not a.b and c.d or e.f"),
        ("not (a.b and c.d)", "not (a.b and c.d)"),
        ("(a.b - c.d) - e.f", "a.b - c.d - e.f"),
        ("a.b - (c.d - e.f)", "a.b - (c.d - e.f)"),
        ("-(a.b + c.d) * 2", "-(a.b + c.d) * 2"),
        ("- -a.b", "--a.b"),
        ("50 mm/2", "50 mm / 2"),
        ("60 km/h/2", "60 km/h / 2"),
        ("7 %/2", "7 % / 2"),
        ("50 mm/axle.count", "50 mm / axle.count"),
        ("50 m/s", "50 m/s"),
        ("vehicle.built<1973-01-01", "vehicle.built < 1973-01-01"),
        ("(a.b if stated else 5 mm) + 1 mm", "(a.b if stated else 5 mm) + 1 mm"),
        (
            "if a.b then c.d else if e.f then g.h else 1",
            "if a.b then c.d else (if e.f then g.h else 1)",
        ),
        ("sum(axle.x for each axle where axle.y)", "sum(axle.x for each axle where axle.y)"),
        ("largest(a.b for each axle if none 0 mm)", "largest(a.b for each axle if none 0 mm)"),
        ('x.y in ("A b", "C")', 'x.y in ("A b", "C")'),
    ],
)
def test_forms(text: str, canonical: str) -> None:
    tree = parse(text)
    assert parse(canonical) == tree
    assert parse(text_of(tree)) == tree


@pytest.mark.parametrize(
    ("text", "piece", "message", "hint"),
    [
        ("a.b <= 50 mmm", "mmm", '"mmm" stands here', 'did you mean "mm"?'),
        ("a.b <= 50 km/hr", "km", '"km" stands here', 'did you mean "km/h"?'),
        ("a.b <= 50furlongs", "furlongs", "no number with a known unit", ""),
        ("a.b <= 5 fortnights", "fortnights", "fortnights", "known units"),
        ("a.b < c.d < e.f", "<", "can't be chained", "a < b and b < c"),
        ("a.b = c.d = e.f", "=", "can't be chained", ""),
        ("1.5.2", ".2", "no number", ""),
        ("1e5", "e5", "no number", ""),
        ("a.b + ", "", "the expression ends here", ""),
        ("(a.b", "", '")" is expected', ""),
        ("a.b)", ")", "an operator or the end", ""),
        ("a.b ? 1", "?", "means nothing here", ""),
        ("a.b == 1", "=", "stands here", ""),
        ('x.y = "open', '"', "means nothing here", ""),
        ("2021-02-30 < today", "2021-02-30", "no date of the calendar", "2024-07-01"),
        ("if a.b then c.d", "", '"else" is expected', ""),
        ("a.b is known", "known", '"stated" is expected', ""),
        ("and a.b", "and", "a value is expected", ""),
        ("sum(a.b each axle)", "each", '"for" is expected', ""),
        ("sum(a.b for axle)", "axle", '"each" is expected', ""),
        ("any(each)", ")", "the name of a list", ""),
        ("any(each where a.b)", "where", "the name of a list", ""),
        ("f()", ")", "a value is expected", ""),
        ("not(", "", "a value is expected", ""),
        ("x.y in ()", ")", "a value is expected", ""),
        ("x.y in a", "a", '"(" is expected', ""),
        ("9" * 31, "9" * 31, "more than 30 digits", ""),
    ],
)
def test_problems_point_at_the_place(text: str, piece: str, message: str, hint: str) -> None:
    with pytest.raises(SyntaxProblem) as caught:
        parse(text)
    start, end = caught.value.span
    assert text[start:end] == piece
    assert message in caught.value.message
    assert hint in caught.value.hint
    place = caught.value.problems[0].place
    assert place is not None
    assert place.column == start + 1


def test_the_place_is_on_its_own_line() -> None:
    with pytest.raises(SyntaxProblem) as caught:
        parse("a.b\n  and c.d d\n  or e.f")
    place = caught.value.problems[0].place
    assert place is not None
    assert (place.line, place.column, place.source) == (2, 11, "  and c.d d")
    assert str(caught.value).splitlines()[-1].endswith("^")


@pytest.mark.parametrize(
    "text",
    [
        "(" * 10_000 + "a.b" + ")" * 10_000,
        "(" * 1_900 + "a.b" + ")" * 1_900,
        "(" * 10_000,
        "not " * 900 + "a.b",
        "-" * 3_000 + "a.b",
        "f(" * 1_200 + "a.b",
        "if a.b then " * 300 + "c.d",
        "a.b + " * 600 + "a.b",
        "a.b and " * 400 + "a.b",
        "a.b if stated else " * 200 + "a.b",
        "a.b < " * 500 + "a.b",
        "a" * 5_000,
        "- " * 39 + "(" + "- " * 39 + "(" + "- " * 39 + "a.b))",
    ],
    ids=lambda text: f"{text[:12]}x{len(text)}",
)
def test_what_is_too_long_or_too_deep_is_refused_at_once(text: str) -> None:
    def refused() -> None:
        with pytest.raises(SyntaxProblem):
            parse(text)

    assert calls_of(refused) < 100 * len(text)
    with pytest.raises(SyntaxProblem) as caught:
        parse(text)
    assert len(str(caught.value)) < 1_000
    assert caught.value.problems[0].place is not None


def test_what_is_allowed_is_shallow_enough_to_walk() -> None:
    nested = "(" * (DEEPEST - 1) + "a.b" + ")" * (DEEPEST - 1)
    assert depth_of(parse(nested)) == 1
    chained = " + ".join(["a.b"] * 100)
    assert depth_of(parse(chained)) <= 100
    listed = "x.y in (" + ", ".join(["a"] * 1_000) + ")"
    assert len(listed) < LONGEST
    assert depth_of(parse(listed)) == 2
