"""Words as they are shown and compared: signs of the law are told from marks around them."""

from __future__ import annotations

import pytest

from modrules.texts import text_from


def item(words: str) -> str:
    return text_from(f"1 Lift\n\n(a) {words};\n", id="t").clauses["1(a)"].words


@pytest.mark.parametrize(
    "words",
    ["> 50 mm at the front", "+ 5 mm", "+5 mm", "2*25 mm", "2 * 25 mm", "no less than 50--60 mm",
     "a width <b and a height> c"],
)  # fmt: skip
def test_signs_of_a_limit_are_words(words: str) -> None:
    assert item(words) == f"{words};"


@pytest.mark.parametrize("limit", ["> 50 mm", "+ 50 mm", "2 * 25 mm"])
def test_signs_at_the_start_of_a_line_are_words_wherever_it_breaks(limit: str) -> None:
    wide, narrow = (
        text_from(f"1 Lift\n\nThe lift must be{gap}{limit}.\n", id="t") for gap in (" ", "\n")
    )
    assert wide.clauses["1"].words == f"Lift — The lift must be {limit}."
    assert narrow.digests == wide.digests


@pytest.mark.parametrize(("before", "after"), [("> 50 mm", "50 mm"), ("2*5 mm", "25 mm")])
def test_sign_that_is_put_in_changes_the_digest(before: str, after: str) -> None:
    one, other = (text_from(f"1 Lift\n\n(a) {w};\n", id="t") for w in (before, after))
    assert one.clauses["1(a)"].digest != other.clauses["1(a)"].digest


def test_marks_are_no_words() -> None:
    source = "1 Lift\n\n> The **lift** is\n> 50 *mm*.\n\n---\n\n| a | b |\n|---|:-:|\n| c | d |\n"
    assert text_from(source, id="t").clauses["1"].words == "Lift — The lift is 50 mm. a b c d"


def test_typed_dash_is_compared_as_one_that_is_set() -> None:
    typed, printed = (
        text_from(
            f"1 Lift\n\nAn owner must{dash}\n\n(a) stop{dash}now;\n(b) go 5{dash}6 m.\n", id="t"
        )
        for dash in ("--", "–")
    )
    assert typed.digests == printed.digests
