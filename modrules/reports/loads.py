"""Loads against their limits in words: what binds, by which document, and what is left."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from modrules.reports.layout import clean, listed
from modrules.reports.shape import Binds, LeftFor, Load, LoadLimit, Quantity, Report
from modrules.reports.wording import UNKNOWN, number, plural, quantity, subject_words

#: Said beside what was not weighed.
BY_LEDGER = "by the list of parts, not weighed"
#: Said above what is left.
EACH_ALONE = (
    "Each is left by its own limits alone. An axle, its tyres or its wheels may bind before: see "
    "the loads and their limits, and weigh each axle."
)
#: So many numbers of people are told one by one, each with what is then left.
_MOST_COUNTED = 5


class Placed(NamedTuple):
    """A limit with the load that it is on."""

    load: Load
    limit: LoadLimit


def in_use(report: Report) -> list[Load]:
    """The loads that are carried or drawn now, but those of which no limit is known."""
    return [one for one in report["loads"] if one["left_for"] is None and not blank(one)]


def planned(report: Report) -> list[tuple[str, Load]]:
    """What something is left for, and the load that tells; but those of which no limit is known."""
    return [
        (clean(one["left_for"]["title"]), one)
        for one in report["loads"]
        if one["left_for"] is not None and not blank(one)
    ]


def blank(load: Load) -> bool:
    """Whether no limit on it is known, nor known not to be stated: it has nothing to show."""
    return not any(_settled(one) or one["state"] == "none stated" for one in load["limits"])


def _settled(limit: LoadLimit) -> bool:
    """Whether a limit has a figure of its own, and not only what any such limit could be."""
    low, high = ends(limit["mass"])
    return low is not None and (low == high or not limit["missing"])


def blanks(report: Report) -> str:
    """The loads of which no limit is known, as a list; nothing where there are none."""
    names = [
        clean(one["left_for"]["title"]) if one["left_for"] else name_of(one)
        for one in report["loads"]
        if blank(one)
    ]
    return listed(names, "or")


def known(found: Quantity | None) -> bool:
    """Whether anything is known of a number."""
    return found is not None and quantity(found) != UNKNOWN


def ends(found: Quantity | None) -> tuple[float | None, float | None]:
    """The lowest and the highest that a number may be; None: no end is known."""
    if found is None:
        return None, None
    if found["value"] is not None:
        return found["value"], found["value"]
    return found.get("low"), found.get("high")


def room(found: Quantity | None) -> str:
    """``40 kg left``, ``15 kg OVER``, both ends where it is open, or ``not known``."""
    low, high = ends(found)
    if low is None and high is None:
        return UNKNOWN
    if low == high and low is not None:
        return left_of(low)
    if low is None and high is not None:
        return f"{left_of(high)} at best" if high >= 0 else f"{_kg(-high)} OVER or more"
    if high is None and low is not None:
        return f"{_kg(low)} left or more" if low >= 0 else f"{_kg(-low)} OVER at worst"
    assert low is not None
    assert high is not None
    if low >= 0:
        return f"{_kg_of(found)} left"
    if high <= 0:
        return f"{_kg(-high).removesuffix(' kg')} to {_kg(-low)} OVER"
    return f"from {_kg(-low)} OVER to {_kg(high)} left"


def left_of(value: float) -> str:
    """What is left, or by how much it is over, in words."""
    if not value:
        return "nothing left"
    return f"{_kg(value)} left" if value > 0 else f"{_kg(-value)} OVER"


def _kg(value: float) -> str:
    """A mass to a tenth of a kg: no scale tells more, and a hair's breadth stays visible."""
    rounded = round(value, 1)
    whole = number(value) if rounded == value or not rounded else f"about {number(rounded)}"
    return f"{whole} kg"


def _kg_of(found: Quantity | None) -> str:
    low, high = ends(found)
    if low is None or high is None:
        return quantity(found) if found is not None else UNKNOWN
    return _kg(low) if low == high else f"{_kg(low).removesuffix(' kg')} to {_kg(high)}"


# -- limits ------------------------------------------------------------------------


def document(limit: LoadLimit) -> str:
    """The document that sets a limit: ``maker's plate (plate build: build, vehicle maker)``."""
    told = clean(limit["document"])
    return f"{clean(limit['set_by'])} ({told})" if told else clean(limit["set_by"])


def figure(limit: LoadLimit) -> str:
    """The limit itself; nothing that is not known passes for a figure."""
    if limit["state"] == "none stated":
        return "none stated"
    return _kg_of(limit["mass"]) if _settled(limit) else UNKNOWN


def mark(limit: LoadLimit) -> str:
    """A word or two on what a limit is now."""
    words = {"yes": "BINDS", "perhaps": "may bind", "no": ""}[limit["binds"]]
    if words:
        return words
    return {"replaced": "replaced", "perhaps in force": "perhaps"}.get(limit["state"], "")


def told(load: Load) -> str:
    """The load in words: as weighed, and by the list of parts."""
    parts = [_kg_of(load["mass"])]
    if load["by_ledger"]:
        parts = [f"{_kg_of(load['ledger'])} {BY_LEDGER}"]
    elif differs := _residual(load["residual"]):
        parts.append(f"by the list of parts {_kg_of(load['ledger'])}, {differs}")
    if not load["certain"]:
        parts.append("open whether it is there at all")
    return "; ".join(parts)


def _residual(found: Quantity | None) -> str:
    """What the scale shows beyond the list of parts; nothing where the list leaves it open."""
    low, high = ends(found)
    if low is None or high is None or low < 0 < high:
        return ""
    if low == high == 0:
        return "as the scale shows"
    less, more = sorted((abs(low), abs(high)))
    by = _kg(less) if low == high else f"{_kg(less).removesuffix(' kg')} to {_kg(more)}"
    return f"the scale shows {by} {'more' if high > 0 else 'less'}"


def to_find_out(load: Load) -> list[str]:
    """The addresses of what is still open of a load and its limits."""
    every = [*load["missing"], *(a for limit in load["limits"] for a in limit["missing"])]
    return list(dict.fromkeys(map(clean, every)))


# -- what binds --------------------------------------------------------------------


def binding(report: Report) -> list[tuple[str, str]]:
    """What binds now, and what bound before an upgrade if that differs; each after a label."""
    now = _named(report, lambda limit: limit["binds"])
    before = _named(report, lambda limit: limit["bound_before"])
    lines = _binding("BINDS", now)
    then = _binding("BEFORE UPGRADE", before)
    if [text for _, text in then] != [text for _, text in lines]:
        lines += then
    silent = [
        f"{clean(limit['title'])} ({subject_words(load['subject'])})"
        for load in report["loads"]
        if load["left_for"] is None
        for limit in load["limits"]
        if limit["state"] == "none stated" and limit["in_place_of"] is None
    ]
    if silent:
        lines.append(("NONE STATED", f"{listed(silent)}. That is no permission: ask the maker."))
    return lines


def _named(report: Report, binds: Callable[[LoadLimit], Binds]) -> list[tuple[Placed, Binds]]:
    return [
        (Placed(load, limit), binds(limit))
        for load in report["loads"]
        if load["left_for"] is None
        for limit in load["limits"]
        if binds(limit) != "no"
    ]


def _binding(label: str, named: list[tuple[Placed, Binds]]) -> list[tuple[str, str]]:
    """The sentences on the limits that bind, or of which one does."""
    sure = [placed for placed, binds in named if binds == "yes"]
    if sure:
        return [(label, "; ".join(map(_whole, sure)) + ".")]
    shown = [p for p, _ in named if _judged(p)]
    unknown = [p for p, _ in named if not _judged(p)]
    lines = []
    if shown:
        least = min(shown, key=lambda placed: ends(placed.limit["room"])[1] or 0)
        lines.append((label, f"Not settled. Of what is known, the least room: {_whole(least)}."))
        others = [placed for placed in shown if placed is not least]
        if others:
            lines.append(("", f"As little may be left by: {'; '.join(map(_whole, others))}."))
    if unknown:
        start = "May bind before it, and is not known yet" if shown else "Not known yet"
        names = dict.fromkeys(name_of(placed.load) for placed in unknown)
        lines.append(("" if shown else label, f"{start}: a limit on {listed(names, 'or')}."))
    return lines


def name_of(load: Load) -> str:
    """A load by its title, with its subject unless that is the vehicle."""
    title, subject = clean(load["title"]), clean(load["subject"])
    return title if subject == "vehicle" else f"{title} ({subject_words(subject)})"


def _judged(placed: Placed) -> bool:
    """Whether both ends of the room are known, as weighed."""
    weighed = not placed.load["by_ledger"]
    return weighed and None not in ends(placed.limit["room"])


def _short(placed: Placed) -> str:
    return f"{clean(placed.limit['title'])} ({subject_words(placed.load['subject'])})"


def _whole(placed: Placed) -> str:
    load, limit = placed
    return (
        f"{_short(placed)}, {figure(limit)} by {document(limit)}: "
        f"{room(limit['room'])}, at {_kg_of(load['mass'])}"
    )


# -- what is left ------------------------------------------------------------------


def left(load: Load) -> list[str]:
    """What a planned load leaves, line by line: the amount, what sets it, what it comes to."""
    left_for = load["left_for"]
    assert left_for is not None
    by = f", {BY_LEDGER}" if load["by_ledger"] else ""
    lines = [f"{room(load['room'])}{by}"]
    _, most = ends(load["room"])
    there = [one for one in load["limits"] if one["state"] in ("in force", "perhaps in force")]
    for limit in there:
        low, _ = ends(limit["room"])
        if known(limit["room"]) and (most is None or low is None or low <= most):
            perhaps = "perhaps " if limit["state"] != "in force" else ""
            words = f"{clean(limit['title'])}, {figure(limit)}, {document(limit)}"
            lines.append(f"{perhaps}by: {words}")
    unknown = [
        clean(one["title"]) + (f" ({figure(one)})" if _settled(one) else "")
        for one in there
        if not known(one["room"])
    ]
    if unknown:
        lines.append(f"may count, and what it leaves is not known: {listed(unknown)}")
    if silent := [clean(one["title"]) for one in load["limits"] if one["state"] == "none stated"]:
        lines.append(f"none stated, which is no permission: {listed(silent)}")
    lines += _counted(left_for, load["room"])
    asked = to_find_out(load)
    return [*lines, f"find out: {', '.join(asked)}"] if asked else lines


def _counted(left_for: LeftFor, found: Quantity | None) -> list[str]:
    """How many come along, and what each number of them leaves; by the lower end."""
    low, _ = ends(found)
    _, each = ends(left_for["each"])
    most = left_for["at_least"]
    if low is None or not each or most is None:
        return []
    if most == 0:
        start = "not one" if left_for["at_most"] == 0 else "not settled whether for even one"
        return [f"{start} {clean(left_for['one'])} of {_kg(each)} ({clean(left_for['source'])})"]
    told_off = [
        f"{plural(n, clean(left_for['one']), clean(left_for['many']))} and {_kg(low - n * each)}"
        for n in range(1, most + 1)
    ]
    told_off[_MOST_COUNTED:-1] = ["so on"] if len(told_off) > _MOST_COUNTED + 1 else []
    by = f"{_kg(each)} each: {clean(left_for['source'])}"
    return [f"{listed(told_off, 'or')} besides ({by})"]
