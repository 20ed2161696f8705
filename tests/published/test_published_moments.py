"""Axle masses and centre of mass against an independent solution with numpy.

The reactions on the axles are solved as a system of two equations, equilibrium of forces and
of moments about a point far off the vehicle, in floating point.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import modrules
from modrules.trade.masses import (
    AxleMasses,
    Change,
    Frame,
    Item,
    axle_masses,
    centre_from_axles,
    centre_of_mass,
    on_ball,
)
from modrules.trade.ranges import as_range

_PARTS = st.lists(
    st.tuples(
        st.integers(0, 400), st.integers(-800, 3900), st.integers(-900, 900), st.integers(0, 2000)
    ),
    min_size=1,
    max_size=12,
)


def _solve(loads: np.ndarray, places: np.ndarray, wheelbase: float) -> np.ndarray:
    far = -12_345.0
    system = np.array([[1.0, 1.0], [0.0 - far, wheelbase - far]])
    return np.linalg.solve(system, np.array([loads.sum(), loads @ (places - far)]))


@given(_PARTS, st.integers(2000, 3400), st.integers(900, 1500), st.integers(700, 1600))
def test_axle_masses(
    parts: list[tuple[int, int, int, int]], wheelbase: int, front: int, rear: int
) -> None:
    frame = Frame(wheelbase, 900, 2000, 2000, 2100)
    base = AxleMasses(as_range(front), as_range(rear), "kerb")
    items = tuple(Item(str(n), mass, along) for n, (mass, along, _, _) in enumerate(parts))
    found = axle_masses(base, [Change("all", items)], frame)
    loads = np.array([front, rear, *(part[0] for part in parts)], dtype=float)
    places = np.array([0, wheelbase, *(part[1] for part in parts)], dtype=float)
    expected = _solve(loads, places, wheelbase)
    assert found.front.exact is not None
    assert found.rear.exact is not None
    assert [float(found.front.exact), float(found.rear.exact)] == pytest.approx(
        expected.tolist(), abs=1e-6
    )
    weighed = centre_from_axles(found, wheelbase)
    if weighed.exact is not None:
        assert float(weighed.exact) == pytest.approx(np.average(places, weights=loads), abs=1e-6)


@given(_PARTS)
def test_centre_of_mass(parts: list[tuple[int, int, int, int]]) -> None:
    frame = Frame(2800, 900, 1200, 2000, 2100)
    base = Item("vehicle", 2100, 1300, 10, 700)
    items = tuple(Item(str(n), *part) for n, part in enumerate(parts))
    found = centre_of_mass(base, [Change("all", items)], frame)
    masses = np.array([2100, *(part[0] for part in parts)], dtype=float)
    places = np.array([(1300, 10, 700), *(part[1:] for part in parts)], dtype=float)
    expected = np.average(places, axis=0, weights=masses)
    exact = [found.along.exact, found.across.exact, found.height.exact]
    assert all(value is not None for value in exact)
    assert [float(value) for value in exact if value is not None] == pytest.approx(
        expected.tolist(), abs=1e-6
    )


@given(st.integers(0, 350), st.integers(0, 1600))
def test_a_ball_download(ball: int, overhang: int) -> None:
    frame = Frame(2800, 900, 1200, 2000, 2100)
    base = AxleMasses(as_range(1300), as_range(1200), "laden")
    found = on_ball(ball, overhang, frame, base)
    expected = _solve(
        np.array([1300.0, 1200.0, float(ball)]), np.array([0.0, 2800.0, 2800.0 + overhang]), 2800.0
    )
    assert found.front.exact is not None
    assert found.rear.exact is not None
    assert [float(found.front.exact), float(found.rear.exact)] == pytest.approx(
        expected.tolist(), abs=1e-6
    )


@settings(max_examples=40, deadline=None)
@given(parts=_PARTS)
def test_the_shifts_of_the_ruleset(
    touring: modrules.Ruleset, parts: list[tuple[int, int, int, int]]
) -> None:
    """The three shifts that touring measures; the one upwards about the centre as it is now."""
    masses = np.array([2100, *(part[0] for part in parts)], dtype=float)
    places = np.array([(1300, 0, 700), *(part[1:] for part in parts)], dtype=float)
    now = np.average(places, axis=0, weights=masses)
    height = round(float(now[2]), 3)
    submission = {
        "vehicle": {"wheelbase": "2800 mm", "kerb_mass_as_built": "2100 kg",
                    "centre_of_mass_height": f"{height} mm"},
        "axles": [{"id": "f", "position": "front", "mass_as_built": "1125 kg"},
                  {"id": "r", "position": "rear", "mass_as_built": "975 kg"}],
        "modifications": [
            {"id": f"part-{n}", "kind": "other", "mass": f"{mass} kg", "along": f"{along} mm",
             "across": f"{across} mm", "height": f"{high} mm"}
            for n, (mass, along, across, high) in enumerate(parts)
        ],
    }  # fmt: skip
    found = {f.check: f.measured for f in modrules.screen(submission, touring).findings}
    shift = now - places[0]
    told = [float(found[check]["value"]) for check in
            ("centre-of-mass", "centre-of-mass-across", "centre-of-mass-up")]  # fmt: skip
    assert told == pytest.approx([abs(shift[0]), abs(shift[1]), shift[2]], abs=0.01)


@pytest.fixture(scope="module")
def touring() -> modrules.Ruleset:
    return modrules.load_ruleset("touring")
