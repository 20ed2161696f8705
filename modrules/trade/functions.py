"""The functions that a ruleset may call, in one typed table.

Each takes plain exact values (a text, or a number in the unit that the table names) and gives
a plain exact value or ``None``: no value, so every outcome stays possible. None of them raises.

A parameter that is marked ``up`` or ``down`` moves the result that way only, and where the
result has a value at both ends of a stretch of it, it has one everywhere between; so such a
function can be evaluated over a stretch by its ends. Any other numeric parameter is marked
``None`` and must be exact.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache, wraps
from types import MappingProxyType
from typing import Literal

from modrules.trade import defined, fuel, gearing, pressures, recovery, roof, towing, tyres
from modrules.trade.markings import MarkingError, TyreMarking, parse_marking
from modrules.trade.ranges import TradeError
from modrules.trade.tables import LOAD_INDEX_SOURCE, SPEED_SYMBOL_SOURCE

Value = str | int | Fraction
Direction = Literal["up", "down"] | None
Domain = Callable[..., tuple[bool, ...]]

#: The unit in which a plain number of each type is given and taken; no unit for the others.
UNITS: Mapping[str, str | None] = MappingProxyType(
    {
        "text": None,
        "number": None,
        "count": None,
        "length": "mm",
        "mass": "kg",
        "pressure": "kPa",
        "speed": "km/h",
        "volume": "L",
        "force": "N",
        "angle": "deg",
        "temperature": "degC",
        "distance": "km",
    }
)


@dataclass(frozen=True, slots=True)
class TradeFunction:
    """A function that a ruleset may call.

    ``parameters`` and ``result`` are type words of the ruleset format, ``units`` and
    ``result_unit`` the units of the plain numbers, ``monotone`` the direction in which each
    parameter moves the result. ``tolerance`` is the part of the result by which the real
    thing may differ from it (0: not an estimate). ``domain`` gives, for plain values, the
    conditions of which all are met where there is a result, and nowhere else; None: not known.
    It only compares and adds, so that it takes symbols for numbers too.
    """

    name: str
    parameters: tuple[str, ...]
    result: str
    units: tuple[str | None, ...]
    result_unit: str | None
    parameter_names: tuple[str, ...]
    monotone: tuple[Direction, ...]
    call: Callable[..., Value | None]
    doc: str
    source: str
    tolerance: Fraction = Fraction(0)
    domain: Domain | None = None


@lru_cache(maxsize=1024)
def _read(text: str) -> TyreMarking | None:
    try:
        return parse_marking(text)
    except MarkingError:
        return None


def _tyre_diameter(marking: str) -> Fraction | None:
    """The nominal overall diameter of the tyre. No value for numeric sizes such as 7.50R16,
    which do not state their height."""
    read = _read(marking)
    return None if read is None else tyres.overall_diameter(read)


def _tyre_section_width(marking: str) -> Fraction | None:
    """The nominal section width of the tyre. No value for numeric sizes."""
    read = _read(marking)
    return None if read is None else tyres.section_width(read)


def _tyre_section_height(marking: str) -> Fraction | None:
    """The nominal section height of the tyre. No value for numeric sizes."""
    read = _read(marking)
    return None if read is None else tyres.section_height(read)


def _tyre_rim_diameter(marking: str) -> Fraction | None:
    """The nominal rim diameter of the tyre."""
    read = _read(marking)
    return None if read is None else tyres.rim_diameter(read)


def _tyre_load_index(marking: str) -> int | None:
    """The load index for single wheels, the first of two."""
    read = _read(marking)
    return None if read is None else read.load_index


def _tyre_load_index_dual(marking: str) -> int | None:
    """The load index for twin wheels, the second of two."""
    read = _read(marking)
    return None if read is None else read.load_index_dual


def _tyre_speed_symbol(marking: str) -> str | None:
    """The speed symbol, a letter."""
    read = _read(marking)
    return None if read is None else read.speed_symbol


def _tyre_ply_rating(marking: str) -> int | None:
    """The ply rating, where it is marked."""
    read = _read(marking)
    return None if read is None else read.ply_rating


def _tyre_class(marking: str) -> str | None:
    """ "passenger", "light truck" or "commercial", where the marking tells."""
    read = _read(marking)
    return None if read is None else tyres.tyre_class(read)


def _tyre_construction(marking: str) -> str | None:
    """ "radial", "diagonal" or "bias-belted"."""
    read = _read(marking)
    return None if read is None else tyres.construction(read)


# --- gearing and axles: plain ratios where the modules give per cent ---


def _diameter_change_ratio(old_diameter: Fraction, new_diameter: Fraction) -> Fraction:
    """The change of diameter as a part of the old one: 0.05 for a tyre 5 per cent taller."""
    return gearing.diameter_change_percent(old_diameter, new_diameter) / 100


def _tyre_mismatch(first_diameter: Fraction, second_diameter: Fraction) -> Fraction:
    """By what part of the smaller one the larger of two tyres is larger."""
    return gearing.mismatch_percent(first_diameter, second_diameter) / 100


def _least_reading(speed: Fraction, old_diameter: Fraction, new_diameter: Fraction) -> Value | None:
    """The least that the speedometer may show at a true speed on new tyres, where all that is
    known is that its reading on the old ones was allowed by UN R39."""
    return gearing.speedometer_reading(speed, old_diameter, new_diameter).indicated.low


def _most_reading(speed: Fraction, old_diameter: Fraction, new_diameter: Fraction) -> Value | None:
    """The most that the speedometer may show at a true speed on new tyres, where all that is
    known is that its reading on the old ones was allowed by UN R39."""
    return gearing.speedometer_reading(speed, old_diameter, new_diameter).indicated.high


def _on_rear_axle(mass: Fraction, along: Fraction, wheelbase: Fraction) -> Fraction | None:
    """What a mass fitted ``along`` behind the front axle adds to the rear axle (below zero where
    it stands ahead of the front axle)."""
    if mass < 0 or wheelbase <= 0:
        return None
    return Fraction(mass) * along / wheelbase


def _on_front_axle(mass: Fraction, along: Fraction, wheelbase: Fraction) -> Fraction | None:
    """What a mass fitted ``along`` behind the front axle adds to the front axle (below zero where
    it stands behind the rear axle)."""
    if mass < 0 or wheelbase <= 0:
        return None
    return Fraction(mass) * (wheelbase - along) / wheelbase


def _total(call: Callable[..., Value | None]) -> Callable[..., Value | None]:
    """The function with no value where it would raise :class:`TradeError`."""

    @wraps(call)
    def run(*values: Value) -> Value | None:
        try:
            return call(*values)
        except TradeError:
            return None

    return run


def _entry(
    name: str,
    signature: str,
    call: Callable[..., Value | None],
    source: str,
    *,
    monotone: tuple[Direction, ...] = (),
    tolerance: Fraction = Fraction(0),
    domain: Domain | None = None,
) -> TradeFunction:
    """A row of the table from a signature such as ``"length, count -> mass"``."""
    left, result = signature.split(" -> ")
    parameters = tuple(left.split(", "))
    names = tuple(inspect.signature(call).parameters)
    directions: tuple[Direction, ...] = monotone or (None,) * len(parameters)
    return TradeFunction(
        name=name,
        parameters=parameters,
        result=result,
        units=tuple(UNITS[word] for word in parameters),
        result_unit=UNITS[result],
        parameter_names=names,
        monotone=directions,
        call=_total(call),
        doc=" ".join((inspect.getdoc(call) or "").split()),
        source=source,
        tolerance=tolerance,
        domain=domain,
    )


_SIZE = "UN Regulation No. 30, paragraphs 2 and 6.1; flotation sizes by their code in inches"
_MARKED = "the marking itself, as laid down in UN Regulations No. 30 and No. 54"

_GEOMETRY = "geometry of the rolling tyre and of the rim"
_R39 = "UN Regulation No. 39, paragraph 5"
_MOMENTS = "moments about the axles"
_FORCES = "balance of forces"
_PRACTICE = "common practice, no published source"
_LOAD_AND_PRESSURE = (
    "light truck: fitted to a published load and inflation table, within 2 per cent; passenger "
    "and commercial: the European tyre association's manual, from memory"
)

_TABLE = (
    _entry("tyre_diameter", "text -> length", _tyre_diameter, _SIZE,
           tolerance=tyres.DIAMETER_TOLERANCE),
    _entry("tyre_section_width", "text -> length", _tyre_section_width, _SIZE,
           tolerance=tyres.WIDTH_TOLERANCE),
    _entry("tyre_section_height", "text -> length", _tyre_section_height, _SIZE,
           tolerance=tyres.WIDTH_TOLERANCE),
    _entry("tyre_rim_diameter", "text -> length", _tyre_rim_diameter, _SIZE),
    _entry("tyre_load_index", "text -> count", _tyre_load_index, _MARKED),
    _entry("tyre_load_index_dual", "text -> count", _tyre_load_index_dual, _MARKED),
    _entry("tyre_speed_symbol", "text -> text", _tyre_speed_symbol, _MARKED),
    _entry("tyre_ply_rating", "text -> count", _tyre_ply_rating, _MARKED),
    _entry("tyre_class", "text -> text", _tyre_class, _MARKED),
    _entry("tyre_construction", "text -> text", _tyre_construction, _MARKED),
    _entry("load_capacity", "count -> mass", tyres.load_capacity, LOAD_INDEX_SOURCE,
           monotone=("up",), domain=defined.index),
    _entry("speed_of_symbol", "text -> speed", tyres.speed_of_symbol, SPEED_SYMBOL_SOURCE),
    _entry("section_width_on_rim", "length, length, length -> length",
           tyres.section_width_on_rim, "UN Regulation No. 30, paragraph 6.1",
           monotone=("up", "up", "down"), domain=defined.rim),
    _entry("clearance_gained", "length, length -> length", gearing.clearance_gained, _GEOMETRY,
           monotone=("down", "up"), domain=defined.above_zero),
    _entry("diameter_change_ratio", "length, length -> number", _diameter_change_ratio, _GEOMETRY,
           monotone=("down", "up"), domain=defined.above_zero),
    _entry("tyre_mismatch", "length, length -> number", _tyre_mismatch, _GEOMETRY,
           domain=defined.above_zero),
    _entry("true_speed", "speed, length, length -> speed", gearing.true_speed, _GEOMETRY,
           monotone=("up", "down", "up"), domain=defined.reading),
    _entry("highest_reading", "speed -> speed", gearing.highest_reading, _R39, monotone=("up",),
           domain=defined.speed),
    _entry("least_reading", "speed, length, length -> speed", _least_reading, _R39,
           monotone=("up", "up", "down"), domain=defined.reading),
    _entry("most_reading", "speed, length, length -> speed", _most_reading, _R39,
           monotone=("up", "up", "down"), domain=defined.reading),
    _entry("engine_speed_factor", "length, length -> number", gearing.engine_speed_factor,
           _GEOMETRY, monotone=("up", "down"), domain=defined.above_zero),
    _entry("track_change", "length, length -> length", gearing.track_change, _GEOMETRY,
           monotone=("up", "down"), domain=defined.everywhere),
    _entry("outer_edge_movement", "length, length, length, length -> length",
           gearing.outer_edge_movement, _GEOMETRY, monotone=("up", "down", "down", "up"),
           domain=defined.edge),
    _entry("inner_edge_movement", "length, length, length, length -> length",
           gearing.inner_edge_movement, _GEOMETRY, monotone=("down", "up", "down", "up"),
           domain=defined.edge),
    _entry("on_rear_axle", "mass, length, length -> mass", _on_rear_axle, _MOMENTS,
           monotone=(None, "up", None), domain=defined.lever),
    _entry("on_front_axle", "mass, length, length -> mass", _on_front_axle, _MOMENTS,
           monotone=(None, "down", None), domain=defined.lever),
    _entry("ball_on_rear_axle", "mass, length, length -> mass", towing.ball_on_rear_axle,
           _MOMENTS, monotone=("up", "up", "down"), domain=defined.ball),
    _entry("ball_off_front_axle", "mass, length, length -> mass", towing.ball_off_front_axle,
           _MOMENTS, monotone=("up", "up", "down"), domain=defined.ball),
    _entry("roof_load_left", "mass, mass, mass -> mass", roof.roof_load_left, _PRACTICE,
           monotone=("up", "up", "down"), domain=defined.rack),
    _entry("working_load_wanted", "mass -> mass", recovery.working_load_wanted, _PRACTICE,
           monotone=("up",), domain=defined.above_zero),
    _entry("bridle_leg_force", "force, angle -> force", recovery.bridle_leg_force, _FORCES,
           monotone=("up", "up"), domain=defined.bridle),
    _entry("fuel_range", "volume, number, volume -> distance", fuel.fuel_range, _PRACTICE,
           monotone=("up", "down", "down"), domain=defined.range),
    _entry("indicator_error", "text, number, volume, volume -> volume", fuel.indicator_error,
           _PRACTICE, monotone=(None, None, "down", "up"), domain=defined.indicator),
    _entry("pressure_for_load", "text, mass, mass, pressure -> pressure",
           pressures.pressure_for_load, _LOAD_AND_PRESSURE, monotone=(None, "up", "down", "up"),
           domain=defined.pressure),
    _entry("load_at_pressure", "text, pressure, mass, pressure -> mass",
           pressures.load_at_pressure, _LOAD_AND_PRESSURE, monotone=(None, "up", "up", "down"),
           domain=defined.load),
    _entry("hot_pressure", "pressure, temperature, temperature -> pressure",
           pressures.hot_pressure, "the gas law at constant volume",
           monotone=("up", "down", "up"), domain=defined.air),
)  # fmt: skip

#: Every function that a ruleset may call, by name.
FUNCTIONS: Mapping[str, TradeFunction] = MappingProxyType({entry.name: entry for entry in _TABLE})
