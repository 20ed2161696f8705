"""Pages on texts: the index of one, pins held against one, two editions, coverage.

Pure functions from the values of ``modrules.texts`` to text; everything that comes from a
document is cleaned or escaped.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from html import escape
from textwrap import shorten

from modrules.proofs.progress import (
    FINISHED,
    NO_DEMAND,
    NOT_BEGUN,
    SET_ASIDE,
    STATES,
    UNFINISHED,
    Progress,
)
from modrules.reports.layout import (
    bullets,
    clean,
    columns,
    heading,
    labelled,
    listed,
    page,
    paragraph,
)  # fmt: skip
from modrules.reports.wording import STATUS
from modrules.texts import Checked, Clause, Text, as_line
from modrules.texts.coverage import Row, coverage_counts
from modrules.texts.editions import Affected, Comparison, Counterpart
from modrules.texts.resolve import IN_DOUBT


def _about(text: Text) -> list[str]:
    edition = f", edition {text.edition}" if text.edition else ""
    return [
        *labelled("TEXT", f"{clean(text.title or text.id)}{clean(edition)}"),
        *labelled("DIGEST", text.digest),
    ]


def _begun(words: str, most: int) -> str:
    """Words of a clause, the rest of a long one left out at a whole word and marked so."""
    return shorten(words, most, placeholder=" …")


def index_page(text: Text, clauses: Sequence[Clause], *, whole: bool) -> str:
    """The index of a text, or the clauses found in it, with every ground for doubt."""
    lines = _about(text)
    lines += labelled("CLAUSES", str(len(clauses)) + ("" if whole else " found"))
    lines += labelled("DOUBTS", str(len(text.doubts)))
    lines += heading("Index" if whole else "Found")
    rows = []
    for clause in clauses:
        where = f"{clause.first_line}-{clause.last_line}"
        if clause.pages is not None:
            where = "page " + "-".join(map(str, dict.fromkeys(clause.pages)))
        words = clean(clause.heading) or clean(clause.own_words)
        rows.append((clean(clause.number), where, _begun(words, 200) if whole else words))
    lines += columns(rows, (24, 10))
    if text.doubts:
        lines += heading("Doubts")
        for doubt in text.doubts:
            where = f"line {doubt.line}" + (f", {clean(doubt.clause)}" if doubt.clause else "")
            lines += bullets([f"{where}: {clean(doubt.message)}"])
    return page(lines)


def clause_page(text: Text, clause: Clause, note: str) -> str:
    """One clause with its words."""
    lines = _about(text)
    lines += labelled("CLAUSE", f"{clean(clause.number)}  {clean(clause.heading)}".strip())
    if clause.pages is not None:
        lines += labelled("PAGES", " to ".join(map(str, dict.fromkeys(clause.pages))))
    lines += labelled("LINES", f"{clause.first_line} to {clause.last_line}")
    lines += labelled("DIGEST", clause.digest)
    lines += labelled("NOTE", clean(note)) if note else []
    lines += ["", *paragraph(clean(clause.words), 2)]
    return page(lines)


def pins_page(name: str, checked: Sequence[Checked]) -> str:
    """Each pin of a ruleset held against the texts supplied; those that don't hold first."""
    counts: dict[str, int] = {}
    for one in checked:
        counts[one.status] = counts.get(one.status, 0) + 1
    lines = labelled("RULESET", clean(name))
    lines += labelled("PINS", ", ".join(f"{n} {status}" for status, n in sorted(counts.items())))
    doubted = dict.fromkeys(
        f"{one.pin.text} {one.pin.clause}" for one in checked if IN_DOUBT in one.excerpt.note
    )
    lines += labelled("IN DOUBT", f"by the index: {listed(map(clean, doubted))}") if doubted else []
    told = [one for one in checked if one.status != "same"]
    if not told:
        return page([*lines, "", *paragraph("Every pinned clause stands as it was pinned.")])
    lines += heading("To look at again")
    for one in sorted(told, key=lambda each: each.holds):
        lines += ["", *paragraph(f"{one.pin.text} {one.pin.clause}: {one.status.upper()}")]
        lines += paragraph(clean(one.excerpt.note) or STATUS[one.status], 2)
        if one.difference:
            lines += paragraph(clean(as_line(one.difference)), 2)
    return page(lines)


def editions_page(
    name: str,
    comparison: Comparison,
    affected: Iterable[Affected],
    changed: Iterable[tuple[Counterpart, str]],
    uncited: Sequence[str],
) -> str:
    """What another edition of a text means for a ruleset: what needs a second look, what is new.

    ``changed``: the clauses that nothing cites, each with the reason for which it is set aside.
    """
    lines = labelled("RULESET", clean(name))
    counts = comparison.counts()
    lines += labelled(
        "CLAUSES", ", ".join(f"{n} {status}" for status, n in counts.items()) or "none"
    )
    lines += labelled("NEW", f"{len(comparison.added)}, of which {len(uncited)} are not cited")
    told: dict[tuple[str, str, str], list[str]] = {}
    for one in affected:
        if one.status != "same":
            key = (one.status, one.old or one.citation.clause, one.new)
            told.setdefault(key, []).append(one.citation.by)
    lines += heading("Checks that need a second look")
    if not told:
        lines += paragraph("None: every cited clause is the same.")
    for (status, old, new), checks in sorted(told.items()):
        became = f", now {new}" if new and new != old else ""
        named = ", ".join(dict.fromkeys(checks))
        lines += bullets([f"{clean(old)} {status}{clean(became)}: {named}"])
    lines += heading("Changed clauses that nothing cites")
    lines += bullets(
        f"{clean(one.old)} {one.status}{f' [set aside: {clean(reason)}]' if reason else ''}"
        for one, reason in changed
    ) or paragraph("None.")
    lines += heading("New clauses that nothing cites")
    lines += bullets(map(clean, uncited)) or paragraph("None.")
    return page(lines)


def coverage_page(text: Text, rows: Sequence[Row]) -> str:
    """One row per clause: what becomes of it, its number, its words, the checks on it."""
    lines = _about(text)
    counts = coverage_counts(rows)
    lines += labelled("COVERAGE", ", ".join(f"{n} {word}" for word, n in counts.items() if n))
    lines += heading("Clauses")
    listed = []
    for row in rows:
        words = clean(row.heading) or clean(row.words)
        by = f" [{', '.join(row.cited_by)}]" if row.cited_by else ""
        listed.append((row.coverage, clean(row.number), words[:240] + by))
    lines += columns(listed, (14, 16))
    return page(lines)


def progress_page(text: Text, rows: Sequence[Progress]) -> str:
    """How far a ruleset has come with a text: what is still to be done first, then the rest."""
    lines = _about(text)
    counts = Counter(row.state for row in rows)
    said = ", ".join(f"{counts[state]} {state}" for state in STATES)
    lines += labelled("CLAUSES", said)
    for title, states in (
        ("Still to be done", (NOT_BEGUN, UNFINISHED)),
        ("Done", (FINISHED, SET_ASIDE)),
        ("Read like no requirement; look whether it is so", (NO_DEMAND,)),
    ):
        listed = [row for row in rows if row.state in states]
        if listed:
            lines += heading(title)
        cells = []
        for row in listed:
            by = ", ".join(row.checks) or row.reason
            words = _begun(clean(row.words), 160) + (f" [{clean(by)}]" if by else "")
            cells.append((row.state, clean(row.clause), words))
        lines += columns(cells, (10, 12))
    return page(lines)


_STYLE = (
    "body{font:16px/1.4 Georgia,serif;margin:1.5rem;max-width:60rem;color:#000;background:#fff}"
    "table{border-collapse:collapse;width:100%}"
    "th,td{border:1px solid #000;padding:.3rem .5rem;text-align:left;vertical-align:top}"
    "td{overflow-wrap:anywhere}@media print{body{margin:0;font-size:10pt}}"
)


def coverage_html(text: Text, rows: Sequence[Row]) -> str:
    """The same as a page for a browser: one file, no script, everything escaped."""
    title = f"Coverage of {clean(text.title or text.id)} {clean(text.edition)}".strip()
    counts = ", ".join(f"{n} {word}" for word, n in coverage_counts(rows).items() if n)
    body = "\n".join(
        f"<tr><th scope='row'>{escape(clean(row.number))}</th><td>{escape(row.coverage)}</td>"
        f"<td>{escape(clean(row.heading))} {escape(clean(row.words))}</td>"
        f"<td>{escape(', '.join(row.cited_by))}</td></tr>"
        for row in rows
    )
    return (
        "<!DOCTYPE html>\n<html lang='en'><head><meta charset='utf-8'>"
        "<meta name='viewport' content='width=device-width, initial-scale=1'>"
        f"<title>{escape(title)}</title><style>{_STYLE}</style></head><body>\n"
        f"<h1>{escape(title)}</h1>\n<p>{escape(counts)}</p>\n<table>"
        "<thead><tr><th scope='col'>Clause</th><th scope='col'>Coverage</th>"
        "<th scope='col'>Words</th><th scope='col'>Checks</th></tr></thead>\n"
        f"<tbody>\n{body}\n</tbody></table></body></html>\n"
    )
