"""Files that are not as the format asks: every problem, in words, with place and hint."""

from __future__ import annotations

from pathlib import Path

import pytest
from ruleset_files import check, head, told, write

from modrules.problems import ModrulesError
from modrules.ruleset.load import collect, read_folder


def problems(folder: Path) -> list[tuple[str, int, int, str]]:
    with pytest.raises(ModrulesError) as caught:
        read_folder(folder)
    return told(caught.value)


def hints(folder: Path) -> list[str]:
    with pytest.raises(ModrulesError) as caught:
        read_folder(folder)
    return [problem.hint for problem in caught.value.problems]


#: Keys of one check, in place of the usual ones; line, column, message, hint.
IN_A_CHECK = [
    ("titel: x", (1, 5), "the check `c` has no key `titel`", 'did you mean "title"?'),
    ("colour: x", (1, 5), "the check `c` has no key `colour`", "its keys are: id, replaces"),
    ("applies_if:", (1, 5), "`applies_if` has no value", "write a value"),
    ("applies_if: ~", (1, 5), "`applies_if` has no value", "write a value"),
    ('applies_if: ""', (1, 5), "`applies_if` has no value", "write a value"),
    ("applies_if: [a]", (1, 5), "`applies_if` must be a text, and a list is here", ""),
    ("applies_if: {a: b}", (1, 5), "`applies_if` must be a text, and keys with values are", ""),
    ("otherwise: not permited", (1, 16), "`otherwise` cannot be `not permited`",
     'did you mean "not permitted"? it is one of: caution, inspect, certification'),
    ("otherwise: complies", (1, 16), "`otherwise` cannot be `complies`", "it is one of"),
    ("certification: Running Gear", (1, 20), "`certification` cannot be `Running Gear`",
     "lower case with hyphens"),
    ("replaces: maybe", (1, 15), "`replaces` must be true or false, and `maybe` is here", ""),
    ('replaces: "true"', (1, 15), "`replaces` must be true or false, and `true` is here", ""),
    ("in_force: {from: 2026-02-30}", (1, 22), "there is no date 2026-02-30", ""),
    ("in_force: {from: July}", (1, 22), "`from` must be a date, and `July` is here",
     "year-month-day"),
    ("in_force: {up_to: 2026-02-03}", (1, 5), "this period has no `from`", "add `from`"),
    ("in_force: {from: 2026-02-03, up_to: 2026-02-02}", (1, 5),
     "this ends on 2026-02-02, before it begins on 2026-02-03", ""),
    ("exempt_if: {condition: yes}", (1, 5), "`exempt_if` must be a list, and keys", ""),
    ("exempt_if: [{condition: yes}]", (1, 17), "this exemption has no `cites`", "add `cites`"),
    ("exempt_if: [word]", (1, 17), "an entry of `exempt_if` must be keys with values, and `word`",
     ""),
]  # fmt: skip


@pytest.mark.parametrize(("keys", "place", "says", "hint"), IN_A_CHECK)
def test_in_a_check(
    tmp_path: Path, keys: str, place: tuple[int, int], says: str, hint: str
) -> None:
    write(tmp_path, ruleset=head() + "files: [more.yaml]\n", more="checks:\n" + check("c", keys))
    found = problems(tmp_path)
    assert len(found) == 1
    name, line, column, message = found[0]
    assert (name, line - 7, column) == ("more.yaml", *place)
    assert message.startswith(says)
    assert hint in hints(tmp_path)[0]


#: Whole sections; messages with line and column.
IN_A_FILE = [
    ("colour: x", [(1, 1, "this listed file has no key `colour`")]),
    ("title: x", [(1, 1, "this listed file has no key `title`")]),
    ("check: []", [(1, 1, "this listed file has no key `check`")]),
    ("checks: x", [(1, 9, "`checks` must be a list, and `x` is here")]),
    ("checks:", [(1, 1, "`checks` has no value")]),
    ("checks: [x]", [(1, 10, "an entry of `checks` must be keys with values, and `x` is here")]),
    ("checks: [{title: x}]", [(1, 10, "this check has no `id` and `about` and `per` and `cites`")]),
    ("kinds: [{id: Two Words, title: x}]", [(1, 14, "`id` cannot be `Two Words`")]),
    ("facts: [{id: mass, title: x, type: mass, question: q}]", [(1, 14, "`id` cannot be `mass`")]),
    ("word_sets: [{id: side, words: []}]", [(1, 24, "`words` is empty")]),
    ("word_sets: [{id: side, words: [a, B]}]", [(1, 35, "an entry of `words` cannot be `B`")]),
    (
        "tables:\n- {id: t, title: T, source: s, keys: [{id: k, type: lenght, match: near}], "
        "columns: [{id: c}], rows: [[1, ~], 2]}",
        [
            (2, 53, "`type` cannot be `lenght`"),
            (2, 68, "`match` cannot be `near`"),
            (2, 91, "the column `c` has no `type`"),
            (2, 107, "an entry of `rows` has no value"),
            (2, 111, "an entry of `rows` must be a list, and `2` is here"),
        ],
    ),
    (
        "checks:\n- {id: a, title: A, about: [], per: [a, b, c], unfinished: true, cites: []}",
        [
            (2, 21, "`about` is empty"),
            (2, 32, "`per` has 3 entries, and may have 2"),
            (2, 66, "`cites` is empty"),
        ],
    ),
    (
        "checks:\n- {id: a, title: A, about: {}, per: [b], unfinished: true, cites: word}",
        [
            (2, 21, "`about` must be a text or a list, and keys with values are here"),
            (2, 67, "`cites` must be keys with values or a list, and `word` is here"),
        ],
    ),
    (
        "checks:\n- {id: a, title: A, about: b, per: b, unfinished: true, cites: [{text: t}, {}]}",
        [
            (2, 65, "this citation has no `clause`"),
            (2, 76, "this citation has no `text` and `clause`"),
        ],
    ),
]


@pytest.mark.parametrize(("text", "expected"), IN_A_FILE)
def test_in_a_file(tmp_path: Path, text: str, expected: list[tuple[int, int, str]]) -> None:
    write(tmp_path, ruleset=head() + "files: [more.yaml]\n", more=text + "\n")
    assert problems(tmp_path) == [("more.yaml", *each) for each in expected]


def test_a_key_of_the_head_belongs_in_ruleset_yaml(tmp_path: Path) -> None:
    write(tmp_path, ruleset=head() + "files: [more.yaml]\n", more="cautions: [x]\n")
    assert hints(tmp_path) == ["it belongs in ruleset.yaml"]


def test_in_the_head(tmp_path: Path) -> None:
    write(
        tmp_path,
        ruleset="""\
        ruleset: Harrow
        edition: [1]
        in_force: {from: 2026-13-01}
        builds_on: {rulset: trade}
        removes: [{section: check, id: a}]
        """,
    )
    assert problems(tmp_path) == [
        ("ruleset.yaml", 1, 1, "this ruleset has no `title`"),
        ("ruleset.yaml", 1, 10, "`ruleset` cannot be `Harrow`"),
        ("ruleset.yaml", 2, 1, "`edition` must be a text, and a list is here"),
        ("ruleset.yaml", 3, 18, "there is no date 2026-13-01"),
        (
            "ruleset.yaml",
            4,
            13,
            "this reference to the ruleset underneath has no key `rulset`",
        ),
        ("ruleset.yaml", 5, 21, "`section` cannot be `check`"),
        ("ruleset.yaml", 5, 32, "the removal `a` has no `reason`"),
    ]


def test_all_problems_of_all_files_are_told_in_order(tmp_path: Path) -> None:
    write(
        tmp_path,
        ruleset=head() + "files: [b.yaml, a.yaml, none.yaml]\ncautions: x\n",
        a="checks:\n" + check("one", "colour: red") + check("two", "colour: blue"),
        b="kinds: [{id: tyres}]\nfacts: [\n",
    )
    found = [(name, line) for name, line, _, _ in problems(tmp_path)]
    assert found == [
        ("a.yaml", 8),
        ("a.yaml", 15),
        ("b.yaml", 3),
        ("ruleset.yaml", 5),
        ("ruleset.yaml", 6),
    ]


def test_what_is_right_is_used_all_the_same(tmp_path: Path) -> None:
    write(
        tmp_path,
        ruleset=head() + "files: [more.yaml]\n",
        more="checks:\n" + check("good") + check("bad", "colour: red") + "kinds: [{id: tyres}]\n",
    )
    collected = collect(tmp_path)
    assert list(collected.ruleset.checks) == ["good"]
    assert collected.left_out == {("checks", "bad"), ("kinds", "tyres")}
    assert collected.whole
    assert len(collected.errors) == 2


@pytest.mark.parametrize("more", ["colour: x", "checks: x", "checks: [x]", "checks: [", "checks:"])
def test_what_may_hide_names_is_said_not_to_be_whole(tmp_path: Path, more: str) -> None:
    write(tmp_path, ruleset=head() + "files: [more.yaml]\n", more=more + "\n")
    assert not collect(tmp_path).whole


def test_a_head_that_is_wrong_does_not_hide_the_rest(tmp_path: Path) -> None:
    write(
        tmp_path,
        ruleset="ruleset: harrow\ntitel: x\nedition: 1\nin_force: {from: 2026-07-01}\n"
        "files: [more.yaml]\n",
        more="checks:\n" + check("one") + check("two", "colour: blue"),
    )
    collected = collect(tmp_path)
    assert [problem.message for problem in collected.errors] == [
        "the check `two` has no key `colour`",
        "this ruleset has no `title`",
        "this ruleset has no key `titel`",
    ]
    assert list(collected.ruleset.checks) == ["one"]
    assert collected.ruleset.id == "harrow"
