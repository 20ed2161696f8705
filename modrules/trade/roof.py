"""What may go on the roof: the least of roof, rack and bars, with the rack counted in.

Masses are in kg. A rating that is not known, or that its maker does not state, is ``None``: it
leaves the answer open downwards, for silence is no permission.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from modrules.trade.ranges import (
    Least,
    Measured,
    Number,
    Range,
    TradeError,
    at_least_nothing,
    least_rating,
)


@dataclass(frozen=True, slots=True)
class Layer:
    """The roof, or something that stands on it, with its own mass and its rating.

    The rating is for all that stands on the layer; ``off_road`` is the part of it that the
    maker leaves off the road (1: no reduction stated). The roof's own mass does not matter.
    """

    name: str
    rating: Measured
    mass: Measured = 0
    off_road: Number = 1


def roof_load(layers: tuple[Layer, ...], *, off_road: bool = False) -> Least:
    """The kg of load that may go on top of the layers, and what sets it.

    ``layers`` stand on one another: roof, bars, rack. Each carries all above it: the roof
    limit includes the rack (common practice, no published source). Raises
    :class:`TradeError` where the layers above one are already heavier than it may carry.
    """
    names = [layer.name for layer in layers]
    if not names or len(set(names)) != len(names):
        raise TradeError(
            "a roof load takes the roof at least, and a name of its own for each layer"
        )
    room: dict[str, Measured] = {}
    carried = Range(0, 0)
    for layer in reversed(layers):
        if not 0 < layer.off_road <= 1:
            raise TradeError(f"the off-road part of a rating is above 0, at most 1: {layer.name}")
        allowed = at_least_nothing(layer.rating, f"the rating of the {layer.name}")
        allowed = allowed.times(layer.off_road) if off_road else allowed
        left = allowed - carried
        if left.high is not None and left.high < 0:
            raise TradeError(
                f"the {layer.name} may carry {allowed} kg, and what stands on it already weighs "
                f"{carried} kg"
            )
        room[layer.name] = Range(0 if left.low is None else max(left.low, 0), left.high)
        carried = carried + at_least_nothing(layer.mass, f"the mass of the {layer.name}")
    least = least_rating({name: room[name] for name in names})
    assert least is not None
    return least


def roof_load_left(
    roof_rating: Fraction, rack_rating: Fraction, rack_mass: Fraction
) -> Fraction | None:
    """The kg that may go on a rack: the least of its own rating and what the roof may carry
    less the rack. ``None`` for values below zero and for a rack heavier than the roof may carry."""
    if min(roof_rating, rack_rating, rack_mass) < 0 or rack_mass > roof_rating:
        return None
    return min(Fraction(rack_rating), Fraction(roof_rating) - rack_mass)
