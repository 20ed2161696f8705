"""Side by side, in stages, and filed and made again."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from loaded import load_ruleset
from small_rulesets import ON, check, ruleset

import modrules
from modrules.reports import as_json, beside, verifying

ROOT = Path(__file__).parents[2]
SUBMISSIONS = ROOT / "rulesets" / "orrinmark" / "submissions"
NEEDS_PLATES = SUBMISSIONS / "needs-plates.yaml"

LIFT = check(
    "lifted",
    "requires: lift.height <= 20 mm",
    "otherwise: certification required",
    "certification: plate",
    per="lift",
    about="lift",
)
MASS = check("laden", "requires: sum(rack.mass for each rack) <= 60 kg", about="rack")
LOW = check("low", "requires: vehicle.a <= 30 mm", "otherwise: caution")


def vehicle(a: str = "10 mm", **more: Any) -> dict[str, Any]:
    return {
        "submission": f"With {a}",
        "vehicle": {"a": a},
        "modifications": [
            {"id": "r1", "kind": "rack", "mass": "40 kg", "fitted": "2026-03-01"},
            {"id": "l", "kind": "lift", "height": "30 mm", "fitted": "2026-02"},
            {"id": "r2", "kind": "rack", "mass": "40 kg"},
        ],
        **more,
    }


@pytest.fixture(scope="module")
def rules() -> Any:
    return ruleset(LIFT, MASS, LOW)


@pytest.fixture(scope="module")
def orrinmark() -> Any:
    return load_ruleset("orrinmark", on=ON, cache=True)


# -- side by side --------------------------------------------------------------------------


def test_before_and_after(rules: Any) -> None:
    after = vehicle("50 mm", modifications=[{"id": "l", "kind": "lift", "height": "10 mm"}])
    found = modrules.beside(vehicle(), rules, after, on=ON)
    changes = {(pair.left or pair.right).check: pair.change for pair in found.pairs}  # type: ignore[union-attr]
    assert changes == {"lifted": "milder", "laden": "milder", "low": "worse"}
    data = found.to_dict()
    assert data["left"]["answer"]["worst"] == "not permitted"
    assert data["right"]["answer"]["worst"] == "caution"
    assert [(m["id"], m["right"]) for m in data["modifications"]] == [
        ("r1", "absent"),
        ("l", {"best": "complies", "worst": "complies"}),
        ("r2", "absent"),
    ]
    assert data["certifications"] == [
        {"id": "plate", "title": "Plate", "left": "required", "right": "absent"}
    ]


def test_what_stands_beside_itself_is_the_same(rules: Any) -> None:
    found = modrules.beside(vehicle(), rules, vehicle(), on=ON)
    assert {pair.change for pair in found.pairs} == {"same"}


def test_another_place(orrinmark: Any) -> None:
    other = load_ruleset("quillander", on=ON, cache=True)
    found = modrules.beside(NEEDS_PLATES, orrinmark, other, on=ON)
    alone = modrules.screen(NEEDS_PLATES, orrinmark, on=ON)
    assert found.left.answer == alone.answer
    assert [r["id"] for r in found.to_dict()["right"]["rulesets"]] == ["quillander"]
    left = {(p.left.check, p.left.subject): p.left.possible for p in found.pairs if p.left}
    assert left == {(f.check, f.subject): f.possible for f in alone.findings}
    text = beside.render(found.to_dict())
    assert "RIGHT          Quillander" in text
    assert max(map(len, text.splitlines())) <= 79


def test_side_by_side_does_no_harm(rules: Any) -> None:
    data = modrules.beside(vehicle(), rules, vehicle("50 mm"), on=ON).to_dict()
    evil = "\x1b[2J\u202e" + "k" * 120
    data["left"]["submission"]["title"] = evil
    for one in (*data["modifications"], *data["certifications"], *data["findings"]):
        one["title"] = evil
    text = beside.render(data)
    assert not {"\x1b", "\u202e"} & set(text)
    assert max(map(len, text.splitlines())) <= 79


# -- stages --------------------------------------------------------------------------------


def test_stages_follow_the_dates(rules: Any) -> None:
    found = modrules.stages(vehicle(), rules, on=ON)
    assert [stage.modification for stage in found.stages] == [None, "l", "r1", "r2"]
    assert [stage.report.answer["worst"] for stage in found.stages] == [
        "complies",
        "certification required",
        "certification required",
        "not permitted",
    ]
    assert found.first_plate == "l"
    assert [[f.check for f in stage.worse] for stage in found.stages] == [
        [],
        ["lifted"],
        [],
        ["laden"],
    ]
    assert found.stages[1].needs == (("plate", "Plate", "required"),)
    assert all(stage.needs == () for stage in found.stages if stage.modification != "l")


def test_stages_in_a_given_order(rules: Any) -> None:
    found = modrules.stages(vehicle(), rules, order=["r2", "r1"], on=ON)
    assert [stage.modification for stage in found.stages] == [None, "r2", "r1", "l"]
    assert [f.check for f in found.stages[2].worse] == ["laden"]
    text = beside.render_stages(found.to_dict())
    assert "The first that needs a plate or certificate, or may: l\n" in text


def test_a_document_counts_from_the_stage_of_its_modification(rules: Any) -> None:
    plate = {
        "id": "p",
        "certification": "plate",
        "issued": "2026-01-01",
        "covers": {"modifications": ["l"]},
    }
    found = modrules.stages(vehicle(evidence=[plate]), rules, on=ON)
    assert found.first_plate is None
    assert [stage.report.answer["worst"] for stage in found.stages] == [
        "complies",
        "certified",
        "certified",
        "not permitted",
    ]


@pytest.mark.parametrize(("order", "said"), [(["r3"], "no modification"), (["l", "l"], "once")])
def test_an_order_that_cannot_be(rules: Any, order: list[str], said: str) -> None:
    with pytest.raises(modrules.ModrulesError, match=said):
        modrules.stages(vehicle(), rules, order=order, on=ON)


def test_the_last_stage_is_the_whole_submission(orrinmark: Any) -> None:
    found = modrules.stages(NEEDS_PLATES, orrinmark, on=ON)
    whole = modrules.screen(NEEDS_PLATES, orrinmark, on=ON)
    last = {(f.check, f.subject): f.possible for f in found.stages[-1].report.findings}
    assert last == {(f.check, f.subject): f.possible for f in whole.findings}


def test_stages_read_each_text_once_whatever_their_number(
    orrinmark: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    from modrules.texts import reading

    read, real = [], reading.read_text

    def counted(path: Path, **more: Any) -> Any:
        read.append(path)
        return real(path, **more)

    monkeypatch.setattr(reading, "read_text", counted)
    found = modrules.stages(NEEDS_PLATES, orrinmark, on=ON)
    assert len(found.stages) > 5
    assert len(read) == len(set(read)) > 0


def test_a_check_is_cited_at_its_first_stage_alone(orrinmark: Any) -> None:
    corners = [{"id": name, "position": name} for name in ("front", "rear")]
    plan = {
        "modifications": [
            {"id": "lift", "kind": "suspension", "ride_height_change": "90 mm"},
            {"id": "blocks", "kind": "body_blocks", "height": "150 mm"},
        ],
        "axles": corners,
    }
    found = modrules.stages(plan, orrinmark, on=ON).to_dict()
    first: dict[str, int] = {}
    again = 0
    for number, stage in enumerate(found["stages"]):
        for one in stage["worse"]:
            if one["check"] in first:
                assert one["citations"] == []
                assert one["cited_at"] == first[one["check"]]
                again += 1
            else:
                first[one["check"]] = number
                assert one["citations"]
                assert one["cited_at"] is None
    assert again > 0
    text = " ".join(beside.render_stages(found).split())
    assert text.count("clauses as above") + text.count("clauses as under ") == again


def test_what_rests_on_changed_text_is_cited_every_time(orrinmark: Any, tmp_path: Path) -> None:
    text = (ROOT / "rulesets" / "orrinmark" / "texts" / "code.md").read_text(encoding="utf-8")
    changed = tmp_path / "code.md"
    changed.write_text(text.replace("up to 36 mm wider", "up to 37 mm wider"), encoding="utf-8")
    plan = {
        "modifications": [{"id": "rims", "kind": "wheels"}],
        "axles": [{"id": name, "position": name} for name in ("front", "rear")],
    }
    found = modrules.stages(plan, orrinmark, on=ON, texts={"code": changed}).to_dict()
    doubtful = {(one["check"], one["subject"]) for one in found["changed_text"]}
    worse = [one for stage in found["stages"] for one in stage["worse"]]
    told = [one for one in worse if (one["check"], one["subject"]) in doubtful]
    assert len(told) > len({one["check"] for one in told}) > 0
    assert all(one["citations"] and one["cited_at"] is None for one in told)


# -- filed and made again ------------------------------------------------------------------


@pytest.fixture
def filed(orrinmark: Any, tmp_path: Path) -> Path:
    path = tmp_path / "report.json"
    report: Any = modrules.screen(NEEDS_PLATES, orrinmark, on=ON).to_dict()
    path.write_text(as_json.render(report), encoding="utf-8")
    return path


def test_the_same_input_gives_the_same_bytes(orrinmark: Any, filed: Path) -> None:
    assert modrules.verify(filed, NEEDS_PLATES, orrinmark) == []


def test_what_differs_is_said(orrinmark: Any, filed: Path) -> None:
    other = SUBMISSIONS / "not-permitted.yaml"
    found = modrules.verify(filed, other, orrinmark)
    assert found[0].what == "submission"
    assert found[0].filed == modrules.read_submission(NEEDS_PLATES).digest
    assert found[0].now == modrules.read_submission(other).digest
    assert any(one.what == "answer.worst" for one in found)


def _changed(path: Path, change: Any) -> Path:
    data = json.loads(path.read_text())
    change(data)
    path.write_text(as_json.render(data), encoding="utf-8")
    return path


def test_a_report_that_was_changed_by_hand_is_found(orrinmark: Any, filed: Path) -> None:
    def milder(data: Any) -> None:
        (finding,) = [f for f in data["findings"] if f["check"] == "total-lift"]
        finding["possible"] = ["complies"]

    (difference,) = modrules.verify(_changed(filed, milder), NEEDS_PLATES, orrinmark)
    assert difference.what == "findings[total-lift, vehicle].possible[0]"
    assert (difference.filed, difference.now) == ('"complies"', '"certification required"')


def test_engine_ruleset_and_text_are_named(orrinmark: Any, filed: Path) -> None:
    def other(data: Any) -> None:
        data["engine"]["version"] = "0.0.9"
        data["rulesets"][0]["digest"] = "00"
        data["texts"][0]["digest"] = "11"

    found = modrules.verify(_changed(filed, other), NEEDS_PLATES, orrinmark)
    assert [one.what for one in found] == [
        "version of the engine",
        "ruleset orrinmark",
        f"text {orrinmark.flat.texts and next(iter(orrinmark.flat.texts))}",
    ]
    text = verifying.render_differences(found, json.loads(filed.read_text()))
    assert "0.0.9" in text
    assert max(map(len, text.splitlines())) <= 79


def test_another_layout_of_the_same_data_is_said(orrinmark: Any, filed: Path) -> None:
    filed.write_text(json.dumps(json.loads(filed.read_text())), encoding="utf-8")
    (difference,) = modrules.verify(filed, NEEDS_PLATES, orrinmark)
    assert "layout" in difference.what


@pytest.mark.parametrize("content", ["", "[]", "{}", '{"on": 3, "engine": {}}', "[" * 9000])
def test_what_is_no_report_is_refused(orrinmark: Any, tmp_path: Path, content: str) -> None:
    path = tmp_path / "no.json"
    path.write_text(content, encoding="utf-8")
    with pytest.raises(modrules.ModrulesError, match="this is no report"):
        modrules.verify(path, NEEDS_PLATES, orrinmark)


def test_hostile_values_in_a_filed_report_do_no_harm(orrinmark: Any, filed: Path) -> None:
    def evil(data: Any) -> None:
        data["answer"]["\x1b[2J" + "v" * 99] = "\u202e" * 3
        data["engine"]["version"] = "\x1b]0;x\x07"

    found = modrules.verify(_changed(filed, evil), NEEDS_PLATES, orrinmark)
    text = verifying.render_differences(found, json.loads(filed.read_text()))
    assert not {"\x1b", "\x07", "\u202e"} & set(text)
    assert max(map(len, text.splitlines())) <= 79
