"""The documents supplied: what each covers, what it is accepted for, and what is wrong with it."""

from __future__ import annotations

from modrules.reports.layout import clean, heading, labelled, listed, wrap
from modrules.reports.shape import Document, Report


def documents(report: Report) -> list[str]:
    """The part of the page on documents; nothing where none was supplied."""
    if not report["documents"]:
        return []
    lines = heading("Documents supplied")
    for one in doubtful_first(report):
        lines += wrap(f"{clean(one['title'])} [{one['id']}]")
        for label, text in rows(one):
            lines += labelled(label, text, 12, "    ")
        lines.append("")
    return lines


def doubtful_first(report: Report) -> list[Document]:
    """Those that count for nothing first, then those with something wrong, then the rest."""
    return sorted(report["documents"], key=lambda one: (bool(one["used_for"]), not one["problems"]))


def rows(one: Document) -> list[tuple[str, str]]:
    """What is to be said of a document, each with its label."""
    found = [("what", clean(one["what"]))]
    dates = [f"issued {one['issued']}" if one["issued"] else "no date of issue"]
    dates += [f"expires {one['expires']}"] if one["expires"] else []
    by = [f"by {clean(one['issuer'])}"] if one["issuer"] else []
    number = [f"number {clean(one['number'])}"] if one["number"] else []
    found.append(("paper", ", ".join([*dates, *by, *number])))
    found.append(("covers", "; ".join(map(clean, one["covers"])) or "nothing stated"))
    accepted = listed(map(clean, one["used_for"]))
    found.append(("accepted", f"for {accepted}" if accepted else "FOR NOTHING"))
    found += [("ATTENTION", clean(problem)) for problem in one["problems"]]
    return found
