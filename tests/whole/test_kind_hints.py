"""A kind that is misspelt, or a word that people use for it, is told the right kind."""

from __future__ import annotations

from pathlib import Path

import pytest

import modrules
from modrules.cli import main


@pytest.mark.parametrize(
    ("written", "hint"),
    [
        ("lift", 'did you mean "suspension"?'),
        ("Lift_Kit", 'did you mean "suspension"?'),
        ("2 inch lift", 'did you mean "suspension"?'),
        ("suspenson", 'did you mean "suspension"?'),
        ("Roof Rack", 'did you mean "roof_rack"?'),
        ("snorkle", 'did you mean "raised_air_intake"?'),
        ("bumper", 'did you mean "front_bar" or "rear_bar"?'),
        ("sausage", "known: body_blocks, brakes,"),
    ],
)
def test_the_hint_names_the_kind(
    written: str, hint: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "plan.yaml"
    path.write_text(f"modifications:\n  - {{id: one, kind: {written}}}\n", encoding="utf-8")
    assert main(["plates", str(path), "--ruleset", "orrinmark"]) == 2
    said = capsys.readouterr().err
    assert f'plan.yaml:2:21: "{written}" is no kind of modification' in said
    assert hint in said


def test_no_word_leads_to_a_kind_that_is_not_there() -> None:
    """Every word that a kind has besides its own is refused, and its hint names that kind."""
    kinds = modrules.load_ruleset("trade", cache=True).flat.kinds
    words = {(str(word), str(kind.id)) for kind in kinds.values() for word in kind.also_called}
    assert len(words) > 40
    for word, kind in sorted(words):
        with pytest.raises(modrules.ModrulesError) as refused:
            modrules.screen(
                {"modifications": [{"id": "one", "kind": word}]},
                modrules.load_ruleset("orrinmark", cache=True),
            )
        (problem,) = refused.value.problems
        assert f'"{kind}"' in problem.hint
