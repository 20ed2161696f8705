"""The ledger of a vehicle with 20 modifications, by the engine and by hand.

    python tests/benchmarks/ledger.py

prints one ratio. Both sides are exact and bound every place by the vehicle's outline.
"""

from __future__ import annotations

from fractions import Fraction
from time import perf_counter

from modrules.trade.masses import AxleMasses, Change, Frame, Item, axle_masses
from modrules.trade.ranges import Range

FRAME = Frame(2850, 900, 1200, 1930, 1950)
PARTS = [(Fraction(35 + 7 * n, 2), -600 + 190 * n) for n in range(20)]
CHANGES = [Change(f"part {n}", (Item("part", kg, at),)) for n, (kg, at) in enumerate(PARTS)]
BASE = AxleMasses(Range(1200, 1200), Range(1000, 1000), "kerb")


def by_engine() -> tuple[object, object]:
    """Front and rear axle after all changes."""
    after = axle_masses(BASE, CHANGES, FRAME)
    return after.front.low, after.rear.low


def by_hand() -> tuple[object, object]:
    """The same sums written out."""
    front, rear = Fraction(1200), Fraction(1000)
    for kg, at in PARTS:
        if kg < 0 or not -900 <= at <= 2850 + 1200:
            raise ValueError("outside the vehicle")
        on_rear = kg * at / 2850
        rear += on_rear
        front += kg - on_rear
    return front, rear


if __name__ == "__main__":
    assert by_engine() == by_hand()
    times = {by_engine: float("inf"), by_hand: float("inf")}
    for _ in range(2000):
        for side in times:
            start = perf_counter()
            side()
            times[side] = min(times[side], perf_counter() - start)
    ratio = times[by_engine] / times[by_hand]
    print(f"{ratio:7.2f} times (target: 3)  the ledger of 20 modifications, against by hand")
