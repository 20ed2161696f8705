"""The digest: the same for the same content in any layout, another for another content."""

from __future__ import annotations

import json
import random
import shutil
from collections.abc import Callable
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import event, given, settings
from hypothesis import strategies as st
from ruleset_files import head, write

from modrules.ruleset.load import FlatRuleset, from_canonical, read_folder

HEAD = {
    "ruleset": "harrow",
    "title": "Rules of Harrow",
    "edition": "4.10",
    "in_force": {"from": "2026-07-01"},
    "cautions": ["Ask first: always.", "A second one"],
}


class Flag:
    """A yes or no, which may never be written in quotes."""

    def __init__(self, value: bool) -> None:
        self.text = "true" if value else "false"


class Dumper(yaml.SafeDumper):
    """Writes flags plain in any style."""

    def ignore_aliases(self, data: Any) -> bool:  # noqa: ARG002
        return True


Dumper.add_representer(
    Flag, lambda dumper, flag: dumper.represent_scalar("tag:yaml.org,2002:bool", flag.text, "")
)

_prose = st.text("abc é°:#'\"-&*!%@", min_size=1, max_size=30).filter(lambda text: text.strip())
_names = st.lists(st.from_regex(r"[a-z]{1,6}", fullmatch=True), min_size=1, max_size=3, unique=True)
_expressions = st.sampled_from(
    ["axle.track <= 1600 mm", "vehicle.kerb_mass + 5 kg > 2 t", 'axle.text = "a  b"', "yes", "4.10"]
)
_citations = st.fixed_dictionaries(
    {"text": st.just("code"), "clause": st.sampled_from(["4.2", "4.20", "5(1)"])},
    optional={"quote": _prose},
)
_bands = st.fixed_dictionaries(
    {"outcome": st.sampled_from(["complies", "caution", "not permitted"])},
    optional={"over": st.just("-5 mm"), "up_to": st.just("50 mm"), "unless": _expressions},
)
_common = {
    "title": _prose,
    "about": _names,
    "per": st.just(["axle"]) | st.just(["axle", "axle"]),
    "cites": st.lists(_citations, min_size=1, max_size=2),
}
_checks = st.fixed_dictionaries(
    {**_common, "requires": _expressions},
    optional={"advice": _prose, "applies_if": _expressions, "otherwise": st.just("caution")},
) | st.fixed_dictionaries(
    {**_common, "measures": _expressions, "bands": st.lists(_bands, min_size=1, max_size=3)},
    optional={"caution": _prose, "in_force": st.just({"from": "2026-07-01"})},
)
_facts = st.fixed_dictionaries(
    {"title": _prose, "type": st.just("yes_no"), "question": _prose},
    optional={"safety": st.booleans().map(Flag), "none_stated": st.booleans().map(Flag)},
)


def _with_ids(prefix: str, items: list[dict[str, Any]]) -> list[dict[str, Any]]:
    return [{"id": f"{prefix}{number}"} | item for number, item in enumerate(items)]


_contents = st.fixed_dictionaries(
    {
        "checks": st.lists(_checks, min_size=1, max_size=4).map(
            lambda items: _with_ids("check-", items)
        ),
        "facts": st.lists(_facts, max_size=3).map(lambda items: _with_ids("axle.fact_", items)),
    }
)


def lay_out(folder: Path, content: dict[str, Any], dice: random.Random) -> FlatRuleset:
    """Write the content in some layout or other, and read it."""
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    files: list[dict[str, Any]] = [{} for _ in range(dice.randint(1, 3))]
    for section, items in content.items():
        cuts = sorted(dice.randint(0, len(items)) for _ in files[1:])
        for file, start, end in zip(files, [0, *cuts], [*cuts, len(items)], strict=True):
            if end > start:
                file[section] = items[start:end]
    names = [f"part{number}.yaml" for number in range(1, len(files))]
    files[0] = HEAD | files[0] | ({"files": names} if names else {})
    for name, file in zip(["ruleset.yaml", *names], files, strict=True):
        text = yaml.dump(
            _shuffled(file, dice),
            Dumper=Dumper,
            sort_keys=False,
            default_flow_style=dice.choice([True, False, None]),
            default_style=dice.choice([None, "'", '"']),
            indent=dice.randint(2, 6),
            # Not less: in a narrow column the writer garbles texts with blanks in quotes.
            width=dice.choice([120, 1_000]),
            allow_unicode=dice.random() < 0.5,
        )
        remarks = "# a remark\n\n" * dice.randint(0, 2)
        (folder / name).write_text(remarks + text, encoding="utf-8")
    return read_folder(folder)


def _shuffled(value: Any, dice: random.Random, key: str = "") -> Any:
    """The keys in another order, one-entry lists perhaps without the list, more blanks."""
    if isinstance(value, dict):
        keys = list(value)
        dice.shuffle(keys)
        return {each: _shuffled(value[each], dice, each) for each in keys}
    if isinstance(value, list):
        entries = [_shuffled(each, dice) for each in value]
        if key in ("about", "per", "cites") and len(entries) == 1 and dice.random() < 0.5:
            return entries[0]
        return entries
    if key in ("requires", "measures", "applies_if", "unless") and '"' not in value:
        return value.replace(" ", dice.choice([" ", "  ", "\n"]))
    return value


@settings(max_examples=60, deadline=None)
@given(content=_contents, seed=st.integers(0, 10_000))
def test_layout_is_no_content(
    tmp_path_factory: pytest.TempPathFactory, content: dict[str, Any], seed: int
) -> None:
    folder = tmp_path_factory.getbasetemp() / "layout"
    dice = random.Random(seed)
    one = lay_out(folder, content, dice)
    other = lay_out(folder, content, dice)
    event(f"{len(list(folder.iterdir()))} files")
    assert one.canonical == other.canonical
    assert one.digest == other.digest
    assert one == other
    assert from_canonical(one.canonical).digest == one.digest


_CHANGES: list[tuple[str, Callable[[dict[str, Any]], object]]] = [
    ("a title", lambda c: c["checks"][0].update(title="Another")),
    ("an id", lambda c: c["checks"][0].update(id="another")),
    ("an expression", lambda c: c["checks"][0].update(requires="axle.track <= 1601 mm")),
    ("a blank in a text of an expression", lambda c: c["checks"][0].update(requires='x = "a b"')),
    ("a clause", lambda c: c["checks"][0]["cites"].update(clause="4.1")),
    ("one key less", lambda c: c["checks"][0].pop("advice")),
    ("a band", lambda c: c["checks"][1]["bands"][0].update(up_to="51 mm")),
    ("a closed end opened", lambda c: c["checks"][1]["bands"][0].update(
        under=c["checks"][1]["bands"][0].pop("up_to"))),
    ("the order of bands", lambda c: c["checks"][1]["bands"].reverse()),
    ("the order of checks", lambda c: c["checks"].reverse()),
    ("a check less", lambda c: c["checks"].pop()),
    ("a flag", lambda c: c["facts"][0].update(safety=Flag(True))),
    ("a cell", lambda c: c["tables"][0]["rows"][0].reverse()),
    ("a word", lambda c: c["word_sets"][0]["words"].append("c")),
    ("a period", lambda c: c["checks"][1].update(in_force={"from": "2026-07-02"})),
    ("the edition of a text", lambda c: c["texts"][0].update(edition="2027")),
    ("the edition", lambda c: c.update(edition="4.1")),
    ("the title of all", lambda c: c.update(title="Other")),
    ("the dates", lambda c: c.update(in_force={"from": "2026-07-01", "up_to": "2027-07-01"})),
    ("a caution", lambda c: c.update(cautions=["Ask first: always."])),
]  # fmt: skip


def _content() -> dict[str, Any]:
    cites = {"text": "code", "clause": "4.10"}
    common = {"title": "T", "about": "tyres", "per": "axle"}
    return HEAD | {
        "checks": [
            {"id": "a", **common, "requires": 'x = "a  b"', "advice": "A", "cites": dict(cites)},
            {"id": "b", **common, "measures": "axle.track", "cites": dict(cites), "bands": [
                {"up_to": "50 mm", "outcome": "complies"}, {"outcome": "not permitted"}]},
        ],
        "facts": [{"id": "axle.flag", "title": "F", "type": "yes_no", "question": "Q"}],
        "word_sets": [{"id": "side", "words": ["a", "b"]}],
        "tables": [{"id": "t", "title": "T", "source": "S", "keys": [{"id": "k", "type": "text"}],
                    "columns": [{"id": "c", "type": "text"}], "rows": [["4.10", "4.1"]]}],
        "texts": [{"id": "code", "title": "C", "edition": "2026", "file": "code.md"}],
    }  # fmt: skip


def _digest(folder: Path, content: dict[str, Any]) -> str:
    folder.mkdir(exist_ok=True)
    (folder / "ruleset.yaml").write_text(yaml.dump(content, Dumper=Dumper))
    return read_folder(folder).digest


@pytest.mark.parametrize(
    "change", [each for _, each in _CHANGES], ids=[each for each, _ in _CHANGES]
)
def test_content_is(tmp_path: Path, change: Callable[[dict[str, Any]], object]) -> None:
    content = _content()
    before = _digest(tmp_path, content)
    change(content)
    assert _digest(tmp_path, content) != before


@pytest.mark.parametrize(
    "change",
    [
        lambda c: c["texts"][0].update(file="texts/code.md"),
        lambda c: c["texts"][0].pop("file"),
        lambda c: c["facts"][0].update(safety=Flag(False)),
        lambda c: c["tables"][0]["keys"][0].update(match="exact"),
        lambda c: c["checks"][0].update(exempt_if=[], replaces=Flag(False)),
    ],
)
def test_where_a_text_lies_and_what_goes_without_saying_is_none(
    tmp_path: Path, change: Callable[[dict[str, Any]], object]
) -> None:
    content = _content()
    before = _digest(tmp_path, content)
    change(content)
    assert _digest(tmp_path, content) == before


def test_the_canonical_bytes_are_json_in_order(tmp_path: Path) -> None:
    _digest(tmp_path, _content())
    flat = read_folder(tmp_path)
    content = json.loads(flat.canonical)
    again = json.dumps(content, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    assert again.encode() == flat.canonical
    assert flat.digest == sha256(flat.canonical).hexdigest()


def test_the_way_in_which_it_was_built_up_is_told_by_the_chain(tmp_path: Path) -> None:
    kind = "kinds: [{{id: tyres, title: {}}}]\n"
    for name, title in (("base", "T"), ("other", "X")):
        write(tmp_path / name, ruleset=head("base", "1") + kind.format(title))
    on = 'builds_on: {ruleset: base, edition: "1"}\n'
    top = write(tmp_path / "top", ruleset=head("top") + on)
    replacing = on + kind.format("T, replaces: true")
    one = read_folder(top, [tmp_path / "base"])
    write(tmp_path / "top", ruleset=head("top") + replacing)
    other = read_folder(top, [tmp_path / "other"])
    assert one.digest == other.digest
    alone = read_folder(write(tmp_path / "alone", ruleset=head("top") + kind.format("T")))
    assert alone.digest != one.digest
