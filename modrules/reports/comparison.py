"""Two editions of a ruleset compared: as plain data, and as text from that data."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Protocol

from modrules.problems import Problem
from modrules.proofs.found import Example, given_lines
from modrules.reports.layout import bullets, clean, heading, labelled, page, wrap
from modrules.reports.wording import plural

Data = dict[str, Any]


class Difference(Protocol):
    """One difference between editions; see ``modrules.proofs.editions``."""

    @property
    def section(self) -> str: ...
    @property
    def id(self) -> str: ...
    @property
    def title(self) -> str: ...
    @property
    def change(self) -> str: ...


class Effect(Protocol):
    """What changes for one submission; see ``modrules.proofs.effects``."""

    @property
    def name(self) -> str: ...
    @property
    def before(self) -> Mapping[str, str]: ...
    @property
    def after(self) -> Mapping[str, str]: ...
    @property
    def answer_changes(self) -> bool: ...
    @property
    def findings(self) -> Sequence[tuple[str, str, tuple[str, ...], tuple[str, ...]]]: ...


class Effects(Protocol):
    """What changes for a folder of submissions."""

    @property
    def screened(self) -> Sequence[Effect]: ...
    @property
    def left_out(self) -> Sequence[tuple[str, Problem]]: ...


class Change(Protocol):
    """From one outcome to another; see ``modrules.proofs.changed``."""

    @property
    def before(self) -> str: ...
    @property
    def after(self) -> str: ...
    @property
    def example(self) -> Example: ...


class CheckChange(Protocol):
    """What changes in one check."""

    @property
    def check(self) -> str: ...
    @property
    def title(self) -> str: ...
    @property
    def changes(self) -> Sequence[Change]: ...
    @property
    def not_proved(self) -> Sequence[str]: ...


class Changed(Protocol):
    """What changes over all vehicles."""

    @property
    def checks(self) -> Sequence[CheckChange]: ...
    @property
    def facts(self) -> Sequence[str]: ...


def differences_data(
    differences: Sequence[Difference], quantities: Mapping[str, Sequence[str]]
) -> list[Data]:
    """The differences in words, item by item; ``quantities``: the checks that rest on each."""
    found: dict[tuple[str, str], Data] = {}
    for each in differences:
        new = {"section": each.section, "id": each.id, "title": each.title, "changes": []}
        item = found.setdefault((each.section, each.id), new)
        item["changes"].append(each.change)
        if each.section == "quantities":
            item["checks"] = list(quantities.get(each.id, ()))
    return list(found.values())


def submissions_data(effects: Effects, on: str) -> Data:
    """Whose answer changes among some submissions."""
    screened = [
        {
            "name": each.name,
            "before": dict(each.before),
            "now": dict(each.after),
            "answer_changes": each.answer_changes,
            "findings": [
                {"check": check, "subject": subject, "before": list(was), "now": list(now)}
                for check, subject, was, now in each.findings
            ],
        }
        for each in effects.screened
    ]
    left_out = [{"name": name, "reason": problem.message} for name, problem in effects.left_out]
    return {"on": on, "screened": screened, "left_out": left_out}


def vehicles_data(changed: Changed, reworded: Sequence[str]) -> Data:
    """For which vehicles each check differs; ``reworded``: the checks that differ in words."""
    checks = []
    for each in changed.checks:
        result = "differs" if each.changes else "not proved" if each.not_proved else "same"
        changes = [
            {
                "before": change.before,
                "now": change.after,
                "example": {"on": change.example.on.isoformat(), "given": change.example.given},
            }
            for change in each.changes
        ]
        checks.append(
            {
                "check": each.check,
                "title": each.title,
                "result": result,
                "reworded": each.check in reworded,
                "changes": changes,
                "not_proved": list(each.not_proved),
            }
        )
    return {"facts_declared_otherwise": list(changed.facts), "checks": checks}


def render(data: Data) -> str:
    """What differs between two editions, in words and by effect."""
    lines = labelled("BEFORE", data["before"]) + labelled("NOW", data["now"])
    count = sum(len(item["changes"]) for item in data["differences"])
    lines += labelled("RESULT", plural(count, "difference"))
    if data["differences"]:
        lines += heading("in words")
    for item in data["differences"]:
        title, id = item["title"], item["id"]
        lines += ["", *wrap(title if title == id else f"{title} [{id}]")]
        lines += bullets(item["changes"])
        if item.get("checks"):
            lines += bullets([f"checks that rest on it: {', '.join(item['checks'])}"])
    if data["submissions"] is not None:
        lines += heading(f"by effect, screened on {data['submissions']['on']}")
        lines += _submissions(data["submissions"])
    lines += heading("by effect, over all vehicles")
    vehicles = data["vehicles"]
    lines += wrap(f"not looked for: {vehicles}") if isinstance(vehicles, str) else _all(vehicles)
    return page(lines)


def _all(vehicles: Data) -> list[str]:
    by_result: dict[str, list[Data]] = {"same": [], "differs": [], "not proved": []}
    for each in vehicles["checks"]:
        by_result[each["result"]].append(each)
    unproved = sum(1 for each in vehicles["checks"] if each["not_proved"])
    lines = wrap(
        f"of {plural(len(vehicles['checks']), 'check')}, {len(by_result['same'])} come to the same "
        f"for every vehicle; {len(by_result['differs'])} differ for some; "
        f"{unproved} not proved in whole or in part"
    )
    lines += wrap("A vehicle with all its facts known, and no document held.")
    if vehicles["facts_declared_otherwise"]:
        names = ", ".join(vehicles["facts_declared_otherwise"])
        lines += wrap(f"Declared otherwise, and looked at only as far as both take them: {names}")
    reworded = [each for each in by_result["same"] if each["reworded"]]
    if reworded:
        lines += ["", *wrap("no vehicle's answer changes (reworded only):")]
        lines += bullets(f"{each['title']} [{each['check']}]" for each in reworded)
    for each in by_result["differs"] + by_result["not proved"]:
        lines += ["", *wrap(f"{each['title']} [{each['check']}]")]
        for change in each["changes"]:
            lines += bullets([f"from {change['before']} to {change['now']}, as:"])
            for line in given_lines(change["example"]["on"], change["example"]["given"]):
                lines += wrap(clean(line), "      ", "        ")
        lines += bullets(f"not proved: {reason}" for reason in each["not_proved"])
    return lines


def _submissions(effects: Data) -> list[str]:
    changed = [each for each in effects["screened"] if each["answer_changes"]]
    total = plural(len(effects["screened"]), "submission")
    lines = [*wrap(f"{total}; the answer changes for {len(changed)}")]
    for each in effects["screened"]:
        before, after = (_ends(side) for side in (each["before"], each["now"]))
        said = f"from {before} to {after}" if each["answer_changes"] else f"still {after}"
        lines += ["", *wrap(f"{each['name']}: {said}")]
        lines += bullets(_finding(finding) for finding in each["findings"])
    for left in effects["left_out"]:
        lines += ["", *wrap(f"{left['name']}: not screened by both: {left['reason']}")]
    return lines


def _finding(finding: Data) -> str:
    about = ", ".join(filter(None, (finding["check"], finding["subject"])))
    return f"{about}: from {_possible(finding['before'])} to {_possible(finding['now'])}"


def _ends(answer: Mapping[str, str]) -> str:
    best, worst = answer["best"], answer["worst"]
    return best if best == worst else f"between {best} and {worst}"


def _possible(outcomes: Sequence[str]) -> str:
    if len(outcomes) > 4:
        return f"open up to {outcomes[-1]}"
    return " or ".join(outcomes) if outcomes else "no such finding"
