"""Reading tyre markings: canonical printing, loose writing, and errors that name the part."""

from __future__ import annotations

import copy
import pickle
import re
from dataclasses import FrozenInstanceError, fields
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from modrules.trade.marking_cursor import ASPECTS, INDICES, PLIES, RIMS_IN, WIDTHS_MM
from modrules.trade.markings import (
    SHORTCUT,
    MarkingError,
    TyreMarking,
    parse_marking,
    read_in_full,
)
from modrules.trade.tables import LOAD_RANGE_PLIES, SPEED_SYMBOL_KMH
from modrules.trade.tyre_marking import PARTS

_BUILDS = st.sampled_from(["R", "D", "B", "-"])
_RIMS = st.sampled_from(sorted(RIMS_IN))


@st.composite
def sizes(draw: st.DrawFn) -> str:
    """A size in canonical writing."""
    rim = draw(_RIMS)
    kind = draw(st.sampled_from(["metric", "flotation", "numeric"]))
    if kind == "metric":
        prefix = draw(st.sampled_from(["", "P", "LT"]))
        suffix = draw(st.sampled_from(["", "C"])) if prefix == "" else ""
        aspect = draw(st.none() | st.sampled_from(sorted(ASPECTS)))
        width = draw(st.sampled_from(sorted(WIDTHS_MM))) + (f"/{aspect}" if aspect else "")
        return f"{prefix}{width}{draw(_BUILDS | st.just('ZR'))}{rim}{suffix}"
    if kind == "flotation":
        diameter = draw(st.integers(max(20, int(RIMS_IN[rim]) + 5), 54))
        half = draw(st.sampled_from(["", ".5"])) if diameter < 54 else ""
        inches = draw(st.integers(500, min(100 * diameter - 1, 2500))) / 100
        suffix = draw(st.sampled_from(["", "LT"]))
        return f"{diameter}{half}x{inches:.2f}{draw(_BUILDS)}{rim}{suffix}"
    inches = draw(st.integers(300, 1500)) / 100
    return f"{inches:.2f}{draw(_BUILDS)}{rim}{draw(st.sampled_from(['', 'LT', 'C']))}"


@st.composite
def services(draw: st.DrawFn) -> str:
    """A service description such as ``121/118S``."""
    single = draw(st.sampled_from(sorted(INDICES, key=int)))
    twins = [index for index in INDICES if int(index) <= int(single)]
    twin = draw(st.none() | st.sampled_from(twins))
    symbol = draw(st.sampled_from(sorted(SPEED_SYMBOL_KMH)))
    return f"{single}{f'/{twin}' if twin else ''}{symbol}"


@st.composite
def descriptions(draw: st.DrawFn) -> list[str]:
    """No, one or two service descriptions in canonical writing."""
    found = draw(st.lists(services(), max_size=2))
    if len(found) == 2:
        found[1] = f"({found[1]})"
    if len(found) == 1 and found[0].endswith("Y") and draw(st.booleans()):
        found[0] = f"({found[0]})"
    return found


@st.composite
def extras(draw: st.DrawFn) -> list[str]:
    """Load version, load range and ply rating, each perhaps, in canonical order."""
    load_range = f"LR {draw(st.sampled_from(sorted(LOAD_RANGE_PLIES)))}"
    plies = f"{draw(st.sampled_from(sorted(PLIES)))}PR"
    return [part for part in ("XL", load_range, plies) if draw(st.booleans())]


@st.composite
def canonical(draw: st.DrawFn) -> str:
    """A marking in canonical writing."""
    return " ".join([draw(sizes()), *draw(extras()), *draw(descriptions())])


@st.composite
def loose(draw: st.DrawFn) -> tuple[str, str]:
    """A marking in loose writing (case, spaces, order), and the same in canonical writing."""
    size, extra, described = draw(sizes()), draw(extras()), draw(descriptions())
    gaps = st.sampled_from(["", " ", "  ", "\t"])
    spread = re.sub(
        r"/|x|-|ZR|(?<!Z)[RDB]|(?=LT$|C$)",
        lambda mark: draw(gaps) + mark.group() + draw(gaps),
        size,
    )
    others = draw(st.permutations(extra))
    cut = draw(st.integers(0, len(others)))
    text = "  ".join([spread, *others[:cut], *described, *others[cut:]])
    text = draw(st.sampled_from([text, text.lower(), text.title()]))
    return f" {text} ", " ".join([size, *extra, *described])


@given(canonical())
def test_a_canonical_marking_prints_as_it_was_read(text: str) -> None:
    marking = parse_marking(text)
    assert str(marking) == text
    assert parse_marking(str(marking)) == marking


@given(loose())
def test_case_spaces_and_order_do_not_matter(pair: tuple[str, str]) -> None:
    text, strict = pair
    assert parse_marking(text) == parse_marking(strict)


@given(canonical())
def test_the_shortcut_agrees_with_the_grammar(text: str) -> None:
    assert parse_marking(text) == read_in_full(text)


@given(st.from_regex(SHORTCUT, fullmatch=True))
def test_whatever_the_shortcut_pattern_takes_both_ways_agree(text: str) -> None:
    def outcome(read: object) -> object:
        try:
            return read(text)  # type: ignore[operator]
        except MarkingError as error:
            return str(error)

    assert outcome(parse_marking) == outcome(read_in_full)


_ALPHABET = "0123456789/xX-.RDBZPLTCSTHVWYQ() 5"


@given(st.text(_ALPHABET, max_size=30) | st.text(max_size=30))
def test_any_text_is_read_or_refused_with_a_reason(text: str) -> None:
    marking, error = _read_or_refuse(text)
    if marking is None:
        assert error is not None
        assert error.part in PARTS
        assert error.reason
        assert error.text == text
    else:
        assert parse_marking(str(marking)) == marking


def _read_or_refuse(text: str) -> tuple[TyreMarking | None, MarkingError | None]:
    try:
        return parse_marking(text), None
    except MarkingError as error:
        return None, error


def test_the_fields_of_a_full_marking() -> None:
    marking = parse_marking("lt 235 / 85 r 16 lr e 10pr 120/116 r (118/114 n)")
    assert {field.name: getattr(marking, field.name) for field in fields(TyreMarking)} == {
        "style": "light truck",
        "width_mm": 235,
        "width_in": None,
        "diameter_in": None,
        "aspect": 85,
        "aspect_implied": False,
        "construction": "R",
        "hyphen": False,
        "rim_in": Decimal(16),
        "load_index": 120,
        "load_index_dual": 116,
        "speed_symbol": "R",
        "zr": False,
        "extra_load": False,
        "ply_rating": 10,
        "load_range": "E",
        "second_load_index": 118,
        "second_speed_symbol": "N",
        "second_load_index_dual": 114,
        "above_speed": False,
        "light_truck": True,
        "commercial": False,
    }
    assert str(marking) == "LT235/85R16 LR E 10PR 120/116R (118/114N)"


@pytest.mark.parametrize(
    ("text", "printed"),
    [
        ("7.50R16lt/e", "7.50R16LT LR E"),
        ("235/75R15 105S SL", "235/75R15 105S"),
        ("7.50-16LT 8 ply rating", "7.50-16LT 8PR"),
        ("265/70R17 10ply 121/118S", "265/70R17 10PR 121/118S"),
        ("165-13", "165-13"),
        ("205/65R16C 107/105T(103/101H)", "205/65R16C 107/105T (103/101H)"),
        ("33x12.50R15LT113Q", "33x12.50R15LT 113Q"),
    ],
)
def test_canonical_printing(text: str, printed: str) -> None:
    assert str(parse_marking(text)) == printed


def test_only_a_radial_size_implies_an_aspect_ratio() -> None:
    radial, diagonal = parse_marking("165R13"), parse_marking("165-13")
    assert (radial.aspect, radial.aspect_implied) == (80, True)
    assert (diagonal.aspect, diagonal.aspect_implied) == (None, False)


@pytest.mark.parametrize(
    ("text", "part", "found"),
    [
        ("255/62R18", "aspect", "62"),
        ("257/60R18", "width", "257"),
        ("750R16", "width", "750"),
        ("7.50ZR16", "construction", "ZR"),
        ("255/60R18 (112Y", "extra text", "(112Y"),
        ("255/60R18 112S XL XL", "extra text", "XL"),
        ("LT265/70R17 LR E LR D", "extra text", "LR D"),
        ("255/60R18 112S 7PR", "ply rating", "7"),
        ("LT245/75R16 E", "load index", "E"),
        ("255/60R18 TL 112S", "extra text", "TL"),
        ("255/60R18 099S", "load index", "099"),
        ("22x10.00R19", "rim", "19"),
        ("22x23.00R15", "width", "23.00"),
    ],
)
def test_an_error_names_the_part_and_what_stands_there(text: str, part: str, found: str) -> None:
    with pytest.raises(MarkingError) as caught:
        parse_marking(text)
    assert (caught.value.part, caught.value.found) == (part, found)
    assert found in str(caught.value)


def test_hints_for_common_slips() -> None:
    with pytest.raises(MarkingError, match=r'is written "7\.50"'):
        parse_marking("750R16LT")
    with pytest.raises(MarkingError, match="load range E is written LR E"):
        parse_marking("LT245/75R16 E")


@pytest.mark.parametrize(
    "text",
    ["2" * 10**6, "255/60R18" + " XL" * 10**6, "255/60R18" + " " * 10**6],
    ids=["2", "XL", "space"],
)
def test_a_long_text_is_refused_unread(text: str) -> None:
    with pytest.raises(MarkingError, match=f"has {len(text)} characters"):
        parse_marking(text)


def test_a_marking_is_a_frozen_value() -> None:
    marking = parse_marking("255/60R18 112S")
    with pytest.raises(FrozenInstanceError):
        marking.aspect = 50  # type: ignore[misc]
    assert type(marking) is TyreMarking
    assert pickle.loads(pickle.dumps(marking)) == marking == copy.copy(marking)
    assert hash(marking) == hash(parse_marking("255 / 60 r 18 112 s"))


def test_an_error_survives_pickling() -> None:
    error = MarkingError("255/600R18", "aspect", "600", "too tall")
    copied = pickle.loads(pickle.dumps(error))
    assert (copied.text, copied.part, copied.found) == ("255/600R18", "aspect", "600")
    assert str(copied) == str(error)
