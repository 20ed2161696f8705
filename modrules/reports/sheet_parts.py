"""Parts of the sheet that tell of the vehicle itself: what it is, what was done, what was measured.

Findings are told in ``sheet``; here is what they rest on, and what is taken to the vehicle.
"""

from __future__ import annotations

from collections.abc import Iterator

from modrules.reports import documents, drawing, loads, owner, reading
from modrules.reports.blocks import Block, Heading, Items, Pairs, Table, Task, Text
from modrules.reports.head import named
from modrules.reports.layout import clean, listed
from modrules.reports.reading import Numbered
from modrules.reports.shape import Measurement, Modification, Report
from modrules.reports.wording import STATE, answer_line, outcome_line, subject_of, subject_words

_ROOM = "______________________________"
#: Where a rating stands in a submission: the beginning or the end of its address.
_RATINGS = ("ratings.", "plates.", "roof.limit")
_RATING_ENDS = (".rating", ".load_rating", ".coupling_rating", "_rating")


def identification(report: Report) -> Iterator[Block]:
    """What tells this vehicle from others; what was not given has room to be filled in."""
    submission = report["submission"]
    yield Heading(2, "Vehicle")
    rows = [(clean(label), clean(value)) for label, value in submission["vehicle"].items()]
    rows += [(clean(label), _ROOM) for label in submission["unidentified"]]
    yield Pairs((*rows, ("Rules of the day", report["on"])))


def scope(report: Report) -> Iterator[Block]:
    """What was looked at and what was not, and the answer for each modification."""
    yield Heading(2, "What was looked at")
    rows = tuple((owner.name(one), _fitted(one), _answer(one)) for one in report["modifications"])
    if rows:
        yield Table("Answer per modification", ("Modification", "Fitted", "Answer"), rows)
    standard = [clean(title) for title in report["submission"]["standard"]]
    if standard:
        yield Text(f"Declared standard by the applicant, and taken as that: {listed(standard)}.")
    silent = [owner.name(one) for one in report["modifications"] if not one["covered"]]
    if silent:
        words = owner.silent(len(report["rulesets"]))
        yield Text(f"About {listed(silent)} {words}. That is no permission.", strong=True)
    for one, checks in reading.none_applies(report):
        words = f"There are checks for {owner.name(one)}, and none applies as described"
        yield Text(f"{words}: {owner.looked(checks)}. That is no permission.", strong=True)
    systems = [clean(one["title"] or one["system"]) for one in report["not_looked_at"]]
    if systems:
        yield Text(
            f"Not looked at, because neither modified nor declared standard: {listed(systems)}.",
            strong=True,
        )


def _fitted(one: Modification) -> str:
    dates = [fact["value"] for fact in one["facts"] if fact["fact"] == "modification.fitted"]
    return clean(dates[0]) if dates else "not known"


def _answer(one: Modification) -> str:
    if not one["covered"] or one["answer"] is None:
        return "not covered"
    return answer_line(one["answer"])


def papers(report: Report) -> Iterator[Block]:
    """The documents supplied, those that don't do first."""
    if not report["documents"]:
        return
    yield Heading(2, "Documents supplied")
    for one in documents.doubtful_first(report):
        yield Heading(3, clean(one["title"]))
        yield Pairs(tuple((label.capitalize(), text) for label, text in documents.rows(one)))


def modifications(report: Report, findings: list[Numbered]) -> Iterator[Block]:
    """Per modification what was fitted, by whom, and the findings that bear on it."""
    if not report["modifications"]:
        return
    yield Heading(2, "The modifications one by one")
    titles = {one["id"]: one for one in report["certifications"]}
    for one in report["modifications"]:
        yield Heading(3, owner.name(one))
        rows = [("Kind", clean(one["kind"]).replace("_", " ")), ("Answer", _answer(one))]
        for certification in one["certifications"]:
            item = titles.get(certification["id"])
            name = named(item) if item else clean(certification["id"])
            rows.append((STATE[certification["state"]].capitalize(), name))
        rows += [(clean(fact["title"]), clean(fact["value"])) for fact in one["facts"]]
        yield Pairs(tuple(rows))
        bearing = [each for each in findings if one["id"] in each.finding["modifications"]]
        if bearing:
            yield Items(*_bearing(bearing))


def _bearing(findings: list[Numbered]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Findings in a line each, those of one check that came out alike together."""
    alike: dict[tuple[str, str], list[Numbered]] = {}
    for one in findings:
        key = (outcome_line(one.finding), clean(one.finding["title"]))
        alike.setdefault(key, []).append(one)
    lines = [
        f"{' '.join(f'[{one.number}]' for one in ones)} {outcome}: {title}, "
        + listed(subject_of(one.finding) for one in ones)
        for (outcome, title), ones in alike.items()
    ]
    return tuple(lines), tuple(f"finding-{ones[0].number}" for ones in alike.values())


def masses(report: Report) -> Iterator[Block]:
    """What is left and by which document, what binds, and each load against all of its limits."""
    in_use, stacks = loads.in_use(report), list(drawing.stacks(report))
    planned = [(title, "; ".join(loads.left(load))) for title, load in loads.planned(report)]
    if not in_use and not planned:
        return
    yield Heading(2, "Masses and what they may be")
    rows = [(label.capitalize() or "Also", text) for label, text in loads.binding(report)]
    yield Pairs(tuple(rows))
    lines = tuple(
        (
            f"{clean(load['title'])}, {subject_words(load['subject'])}",
            loads.told(load),
            f"{clean(limit['title'])}: {loads.document(limit)}",
            loads.figure(limit),
            loads.room(limit["room"]),
            loads.mark(limit),
        )
        for load in in_use
        for limit in load["limits"]
    )
    if lines:
        head = ("On", "Load", "Limit and what sets it", "It is", "Left", "Now")
        yield Table("Loads and their limits", head, lines)
    if planned:
        yield Heading(3, "What is left")
        yield Text(loads.EACH_ALONE)
        yield Pairs(tuple((title.capitalize(), text) for title, text in planned))
    if blank := loads.blanks(report):
        yield Text(f"No limit is known yet for {blank}.")
    yield from stacks


def heights(report: Report) -> Iterator[Block]:
    """Wheels and ride heights before and after."""
    wheels = list(drawing.wheels(report))
    if wheels:
        yield Heading(2, "Wheels and heights before and after, to scale")
        yield from wheels


def ratings(report: Report) -> Iterator[Block]:
    """Every rating that was given, with where it stands."""
    rows = tuple(
        (
            f"{clean(one['title'])} ({clean(one['fact'])})",
            clean(one["value"]),
            clean(one["source"]) or "NOT STATED",
        )
        for one in report["measurements"]
        if is_rating(one)
    )
    if rows:
        yield Heading(2, "Ratings and where they come from")
        yield Table("Ratings", ("Rating", "Value", "Source"), rows)


def is_rating(one: Measurement) -> bool:
    """Whether it is a rating or limit that somebody states, and no measurement."""
    return one["fact"].startswith(_RATINGS) or one["fact"].endswith(_RATING_ENDS)


def measurements(report: Report) -> Iterator[Block]:
    """Each measurement with who, when, with what and in which condition; the bare ones last."""
    every = [one for one in report["measurements"] if not is_rating(one)]
    if not every:
        return
    yield Heading(2, "Measurements")
    told = [one for one in every if any(one[key] for key in ("by", "on", "with", "condition"))]
    if told:
        head = ("Measurement", "Value", "By, on, with", "Condition")
        yield Table("Who, when, with what", head, tuple(map(_measured, told)))
    bare = [one for one in every if one not in told]
    if bare:
        yield Text(
            f"Of {'these' if not told else 'the following'} the submission does not say who "
            "measured them, when, with what or in which condition:",
            strong=True,
        )
        values: dict[str, list[str]] = {}
        for one in bare:
            record = ".".join(clean(one["fact"]).split(".")[:-1][:2])
            source = f", {clean(one['source'])}" if one["source"] else ""
            values.setdefault(record, []).append(
                f"{clean(one['title'])} {clean(one['value'])}{source}"
            )
        yield Pairs(tuple((record, "; ".join(told)) for record, told in values.items()))


def _measured(one: Measurement) -> tuple[str, str, str, str]:
    how = [one["by"] or "by whom: NOT STATED", one["on"] or "day: NOT STATED"]
    how.append(one["with"] or "with what: NOT STATED")
    condition = clean(one["condition"]) or "NOT STATED"
    if one["wanted"]:
        condition += f" (to be: {clean(one['wanted'])})"
    note = [clean(one[key]) for key in ("source", "note") if one[key]]
    title = f"{clean(one['title'])} ({clean(one['fact'])})"
    return title, ", ".join([clean(one["value"]), *note]), ", ".join(map(clean, how)), condition


def inspection(report: Report, findings: list[Numbered]) -> Iterator[Block]:
    """What only a person at the vehicle can settle: questions, and what a change bears on."""
    asking = [one for one in findings if one.finding["question"]]
    looks = [
        (one, row["look_at"], row["done"])
        for one in report["modifications"]
        for row in one["look_at"]
    ]
    if not asking and not looks:
        return
    yield Heading(2, "For the inspection and the road test")
    if asking:
        yield Heading(3, "To be judged")
    for number, finding in asking:
        about = f"[{number}] {clean(finding['title'])}, {subject_of(finding)}"
        yield Task(clean(finding["question"]), about, ("yes", "no"))
    for done, title in (("inspection", "On the vehicle"), ("road_test", "On the road")):
        # What several modifications bear on is looked at once.
        rows: dict[str, list[str]] = {}
        for one, look, when in looks:
            if when == done:
                rows.setdefault(clean(look), []).append(clean(one["id"]))
        if rows:
            yield Heading(3, title)
            yield Table(
                "Because of what was changed",
                ("Look at", "Because of", "In order", "Found"),
                tuple(
                    (look, listed(dict.fromkeys(ids)), "☐ yes ☐ no", "")
                    for look, ids in rows.items()
                ),
                to_fill=True,
            )
