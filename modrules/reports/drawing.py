"""What can be drawn of a vehicle: masses against ratings, wheels and heights before and after.

Masses come from the loads in the report, the rest from its measurements. Where one is missing
there is no drawing; where one is known within a tolerance, the worse end is drawn and said.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from modrules.reports import loads
from modrules.reports.blocks import Height, Heights, Stack
from modrules.reports.layout import clean, listed
from modrules.reports.shape import Load, LoadLimit, Quantity, Report
from modrules.reports.wording import number, subject_words

_Parts = tuple[tuple[str, float], ...]
#: Numbers of a report are rounded to nine decimals; by so much may their sum differ.
_ROUNDING = 1e-6


class _Values:
    """The measured numbers of a report by the address of their fact."""

    def __init__(self, report: Report) -> None:
        self.quantities: Mapping[str, Quantity] = {
            one["fact"]: one["quantity"] for one in report["measurements"] if one["quantity"]
        }

    def most(self, address: str) -> float | None:
        """The number, at its upper end where it is known within a tolerance."""
        found = self.quantities.get(address)
        if found is None:
            return None
        return found["value"] if found["value"] is not None else found.get("high")

    def under(self, start: str, end: str) -> dict[str, float]:
        """The numbers whose address has this start and end, by what lies between."""
        found = {}
        for address in self.quantities:
            value = self.most(address)
            if address.startswith(start) and address.endswith(end) and value is not None:
                found[address[len(start) : len(address) - len(end)]] = value
        return found


def stacks(report: Report) -> Iterator[Stack]:
    """Loads in use against their limits, one drawing for each that is known with a limit."""
    for load in loads.in_use(report):
        _, used = loads.ends(load["mass"])
        there = [
            (limit, mass)
            for limit in load["limits"]
            for mass, other in [loads.ends(limit["mass"])]
            if mass is not None and mass == other
        ]
        if not used or used < 0 or not any(_counts(limit) for limit, _ in there):
            continue
        subject = clean(load["subject"])
        title = clean(load["title"])
        if subject != "vehicle":
            title += f", {subject_words(subject)}"
        yield _stack(title, _parts(load, used), there, used)


def _counts(limit: LoadLimit) -> bool:
    return limit["state"] in ("in force", "perhaps in force")


def _parts(load: Load, used: float) -> _Parts:
    """What a load is made up of, where that is known and adds up; else the load alone."""
    parts = [(clean(one["title"]), loads.ends(one["mass"])) for one in load["made_up_of"]]
    exact = tuple((title, low) for title, (low, high) in parts if low is not None and low == high)
    whole = len(exact) == len(parts) and all(value >= 0 for _, value in exact)
    if not exact or not whole or abs(sum(value for _, value in exact) - used) > _ROUNDING:
        return (("load", used),)
    return tuple((title, value) for title, value in exact if value)


def _stack(title: str, parts: _Parts, there: list[tuple[LoadLimit, float]], used: float) -> Stack:
    """One drawing; the limit that counts is the lowest of those in force."""
    lowest = min(mass for limit, mass in there if _counts(limit))
    counting = next(limit for limit, mass in there if _counts(limit) and mass == lowest)
    limits = _merged([(_label(limit), mass) for limit, mass in there])
    counts = next(place for place, (_, mass) in enumerate(limits) if mass == lowest)
    bound = counting["binds"] == "yes"
    label = limits[counts][0]
    which = "binds" if bound else "is the lowest in force"
    pieces = listed(f"{_kg(value)} {name}" for name, value in parts)
    others = [f"{name} {_kg(value)}" for n, (name, value) in enumerate(limits) if n != counts]
    beside = f" Other limits: {listed(others)}." if others else ""
    left = loads.left_of(lowest - used)
    words = f"{pieces}: {_kg(used)} in all. {_kg(lowest)} ({label}) {which}: {left}.{beside}"
    return Stack(title, "kg", parts, tuple(limits), counts, bound, words)


def _label(limit: LoadLimit) -> str:
    """The document that sets it, short enough for a drawing; replaced ones say so."""
    replaced = ", replaced" if limit["state"] == "replaced" else ""
    return f"{clean(limit['set_by'])}{replaced}"


def _merged(limits: list[tuple[str, float]]) -> list[tuple[str, float]]:
    """Limits of one value together, the highest first."""
    labels: dict[float, list[str]] = {}
    for label, value in limits:
        labels.setdefault(value, []).append(label)
    return [(", ".join(labels[value]), value) for value in sorted(labels, reverse=True)]


def _kg(value: float) -> str:
    return f"{number(value)} kg"


def wheels(report: Report) -> Iterator[Heights]:
    """Tyre diameter and ride height before and after, one drawing per axle that is known."""
    values = _Values(report)
    listed_tyres = values.under("listed_tyres.", ".overall_diameter")
    for axle, diameter in values.under("axles.", ".tyre.overall_diameter").items():
        now = _corner(values, axle, "ride_height")
        before = _corner(values, axle, "ride_height_as_built")
        states: list[Height] = []
        said = []
        if listed_tyres:
            size = max(listed_tyres.values())
            arch = size / 2 + before if before is not None else None
            states.append(Height("before", size, arch))
            said.append(f"largest listed tyre {number(size)} mm")
            said.append(f"now {number(diameter)} mm, {_more(diameter - size)}")
        else:
            said.append(f"tyre now {number(diameter)} mm")
        arch = diameter / 2 + now if now is not None else None
        states.append(Height("now", diameter, arch))
        if before is not None and now is not None:
            said.append(
                f"hub to arch {number(before)} mm as built and {number(now)} mm now, "
                f"{_more(now - before)}"
            )
        if len(states) > 1 or now is not None:
            yield Heights(f"Axle {clean(axle)}", tuple(states), f"{'; '.join(said)}.")


def _corner(values: _Values, axle: str, leaf: str) -> float | None:
    """The height at the corners of an axle; the highest of them."""
    found = [v for k, v in values.under("corners.", f".{leaf}").items() if k.startswith(axle)]
    return max(found) if found else None


def _more(change: float) -> str:
    if not change:
        return "the same"
    return f"{number(abs(change))} mm {'more' if change > 0 else 'less'}"
