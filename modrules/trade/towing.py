"""Towing limits: braked, unbraked, the ball. A general ceiling and the vehicle's own lower one.

Masses are in kg. A limit that the maker does not state is left out, one that is not known is
``None`` (see :func:`modrules.trade.ranges.least_rating`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from modrules.trade.ranges import (
    Least,
    Measured,
    Range,
    TradeError,
    as_range,
    at_least_nothing,
    least_rating,
    quotient,
)


@dataclass(frozen=True, slots=True)
class Tow:
    """A trailer against the limits on it: the least of them, the room left, whether it is met.

    ``limit`` is ``None`` where no limit is stated at all; ``met`` is then ``None``, for
    silence is no permission.
    """

    limit: Least | None
    room: Range
    met: bool | None


def trailer_limit(ratings: Mapping[str, Measured], trailer: Measured) -> Tow:
    """A trailer's mass against the least of the ratings for its kind of braking.

    ``ratings`` are by name, such as vehicle, tow bar, coupling and general ceiling. The
    vehicle's own unbraked limit can lie far below a general ceiling (common practice, no
    published source).
    """
    mass = at_least_nothing(trailer, "the mass of the trailer")
    limit = least_rating(ratings)
    if limit is None:
        return Tow(None, Range(None, None), None)
    return Tow(limit, limit.value - mass, mass.at_most(limit.value))


def ball_share_percent(ball: Measured, trailer: Measured) -> Range:
    """The download on the ball in per cent of the trailer's mass.

    About 10 is common practice, no published source; towing eye and maker may say otherwise.
    """
    download = at_least_nothing(ball, "the download on the ball")
    mass = at_least_nothing(trailer, "the mass of the trailer")
    if mass.high is not None and download.low is not None and download.low > mass.high:
        raise TradeError("the download on the ball can't be more than the whole trailer")
    share = quotient(download, mass).times(100)
    return Range(share.low, 100 if share.high is None or share.high > 100 else share.high)


def left_in_trailer(
    trailer_rating: Measured, trailer_empty: Measured, tow_limit: Measured
) -> Range:
    """The kg that may go into the trailer: up to its own rating and what may be towed."""
    least = least_rating({"trailer": trailer_rating, "tow": tow_limit})
    assert least is not None
    return least.value - at_least_nothing(trailer_empty, "the mass of the empty trailer")


def combination_room(
    combination_rating: Measured, vehicle: Measured, trailer: Measured
) -> tuple[Range, bool | None]:
    """The kg left in the combination, and whether its rating is met.

    A fully laden vehicle often leaves less for the trailer than its towing limit says (common
    practice, no published source).
    """
    mass = at_least_nothing(vehicle, "the mass of the vehicle") + at_least_nothing(
        trailer, "the mass of the trailer"
    )
    rating = as_range(combination_rating)
    return rating - mass, mass.at_most(rating)


def ball_on_rear_axle(ball: Fraction, overhang: Fraction, wheelbase: Fraction) -> Fraction | None:
    """The kg that a download on the ball puts on the rear axle, more than the download itself:
    download times (wheelbase + overhang) / wheelbase. ``None`` for a wheelbase of zero or less
    and for values below zero."""
    if wheelbase <= 0 or ball < 0 or overhang < 0:
        return None
    return Fraction(ball) * (wheelbase + overhang) / wheelbase


def ball_off_front_axle(ball: Fraction, overhang: Fraction, wheelbase: Fraction) -> Fraction | None:
    """The kg that a download on the ball takes off the front axle: download times overhang /
    wheelbase. ``None`` for a wheelbase of zero or less and for values below zero."""
    if wheelbase <= 0 or ball < 0 or overhang < 0:
        return None
    return Fraction(ball) * overhang / wheelbase
