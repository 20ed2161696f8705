"""What can be drawn of a vehicle: masses against ratings, wheels and heights before and after.

Everything comes from the measurements in the report. Where one is missing there is no drawing;
where one is known within a tolerance, the worse end is drawn and said.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from modrules.reports.blocks import Height, Heights, Stack
from modrules.reports.layout import clean, listed
from modrules.reports.reading import Numbered
from modrules.reports.shape import Quantity, Report
from modrules.reports.wording import number

_Parts = tuple[tuple[str, float], ...]


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


def stacks(report: Report, findings: list[Numbered]) -> Iterator[Stack]:
    """Masses against their limits, one drawing per limit that is known."""
    values = _Values(report)
    yield from _gross(values, findings)
    for axle, load in values.under("axles.", ".load").items():
        yield from _axle(values, findings, axle, load)
    yield from _roof(values, findings)
    yield from _simple(
        values,
        findings,
        "Trailer",
        "trailer.mass",
        {
            "ratings.trailer_braked": "maker, trailer with brakes",
            "ratings.trailer_unbraked": "maker, trailer without brakes",
        },
    )
    yield from _simple(
        values,
        findings,
        "Load on the coupling",
        "trailer.coupling_load",
        {"ratings.coupling_load": "maker"},
    )


def _gross(values: _Values, findings: list[Numbered]) -> Iterator[Stack]:
    used = values.most("vehicle.mass_in_use")
    kerb, before = values.most("vehicle.kerb_mass"), values.most("vehicle.kerb_mass_as_built")
    if used is None:
        return
    parts: list[tuple[str, float]] = []
    if kerb is not None and used >= kerb:
        if before is not None and 0 < before < kerb:
            parts += [("kerb mass as built", before), ("added to the vehicle", kerb - before)]
        else:
            parts.append(("kerb mass now", kerb))
        parts.append(("people, load and coupling", used - kerb))
    else:
        parts.append(("mass in use", used))
    limits = _plated(values, "gross_mass")
    maker = values.most("ratings.gross_mass")
    if maker is not None:
        limits.insert(0, ("maker", maker))
    yield from _stack("Gross mass", tuple(parts), limits, findings, "vehicle")


def _plated(values: _Values, leaf: str) -> list[tuple[str, float]]:
    return [(f"plate {clean(k)}", v) for k, v in values.under("plates.", f".{leaf}").items()]


def _axle(values: _Values, findings: list[Numbered], axle: str, load: float) -> Iterator[Stack]:
    limits = []
    for leaf, label, count in (("rating", "maker", 1), ("wheel.load_rating", "two wheels", 2)):
        value = values.most(f"axles.{axle}.{leaf}")
        if value is not None:
            limits.append((label, value * count))
    if axle in ("front", "rear"):
        limits += _plated(values, f"{axle}_axle_rating")
    name = clean(axle)
    yield from _stack(f"Axle {name}", (("load in use", load),), limits, findings, f"axle {axle}")


def _roof(values: _Values, findings: list[Numbered]) -> Iterator[Stack]:
    load = values.most("roof.load")
    if load is None:
        return
    racks = sum(values.under("modifications.", ".rack_mass").values())
    parts = [("racks", racks)] if racks else []
    limits = [("maker", limit) for limit in [values.most("roof.limit")] if limit is not None]
    yield from _stack("Roof", (*parts, ("load on the roof", load)), limits, findings, "vehicle")


def _simple(
    values: _Values, findings: list[Numbered], title: str, address: str, ratings: dict[str, str]
) -> Iterator[Stack]:
    used = values.most(address)
    if used is None:
        return
    limits = [
        (label, value)
        for rating, label in ratings.items()
        for value in [values.most(rating)]
        if value is not None
    ]
    yield from _stack(title, ((title.lower(), used),), limits, findings, "vehicle")


def _stack(
    title: str,
    parts: _Parts,
    limits: list[tuple[str, float]],
    findings: list[Numbered],
    subject: str,
) -> Iterator[Stack]:
    """One drawing; none where there is no limit, or nothing to set against it."""
    used = sum(value for _, value in parts)
    if not limits or used <= 0 or any(value < 0 for _, value in parts):
        return
    limits = _merged(limits)
    # What binds is what a check has found to bind; the lowest is only the lowest.
    judged = [
        (one.number, one.finding["limit"]["value"])
        for one in findings
        if one.finding["subject"] == subject
        and one.finding["measured"]
        and one.finding["limit"]
        and one.finding["measured"]["unit"] == "kg"
        and one.finding["measured"]["value"] == used
        and one.finding["limit"]["value"] is not None
    ]
    found, binding = judged[0] if judged else (None, min(value for _, value in limits))
    binds = next((place for place, (_, value) in enumerate(limits) if value == binding), None)
    if binds is None:
        limits = _merged([*limits, ("the rule's", float(binding or 0))])
        binds = next(place for place, (_, value) in enumerate(limits) if value == binding)
    label, limit = limits[binds]
    which = f"binds by [{found}]" if found else "is the lowest stated"
    lead = f"{_kg(limit)} ({label}) {which}"
    lead = lead[0].upper() + lead[1:]
    room = limit - used
    left = f"{_kg(room)} left" if room > 0 else "nothing left" if not room else f"{_kg(-room)} OVER"
    pieces = listed(f"{_kg(value)} {name}" for name, value in parts)
    others = [f"{name} {_kg(value)}" for n, (name, value) in enumerate(limits) if n != binds]
    beside = f" Other limits: {listed(others)}." if others else ""
    words = f"{pieces}: {_kg(used)} in all. {lead}: {left}.{beside}"
    yield Stack(title, "kg", parts, tuple(limits), binds, found is not None, words)


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
