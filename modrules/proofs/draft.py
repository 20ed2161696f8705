"""From a text to the beginning of a ruleset: unfinished checks of what it demands and exempts.

    draft(text_file, id=..., folder=..., ...) -> Draft

A clause reads like a requirement where it says must, shall, not exceed, at least, minimum and
the like, or names a quantity with its unit; an item also where the words that lead to it do. One
that exempts (``exempting``) gets a check as well, which cites the clauses from which it exempts
besides: they are not finished before it is. Each check quotes its clause and lists the numbers in
it; nobody has understood the clause yet, so the check leaves every outcome possible.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from modrules.files import read_bytes
from modrules.problems import ModrulesError, Place, Problem
from modrules.proofs.exempting import Exempting, exempting
from modrules.ruleset.find import find_ruleset
from modrules.ruleset.formatting import formatted
from modrules.ruleset.source import read_mapping
from modrules.texts import Clause, Text, read_text, resolve
from modrules.texts.reading import MOST_BYTES

_ID: Final = re.compile(r"[a-z][a-z0-9]*(-[a-z0-9]+)*")
_DEMANDS: Final = re.compile(
    r"\b(must|shall|may only|required|requires|exceeds?|exceeding|at least|at most"
    r"|(?:no|not) (?:more|less|fewer|greater|higher|lower|larger|smaller) than|up to"
    r"|minimum|maximum|prohibited|forbidden|(?:not|never) (?:be )?(?:permitted|allowed))\b",
    re.IGNORECASE,
)
_QUANTITY: Final = re.compile(
    r"(?<![\w.,])\d[\d ,]*(?:\.\d+)?\s?"
    r"(?:mm|cm|km/h|km|m2|m|mph|kg|t|tonnes?|lb|kPa|psi|bar|mL|L|litres?|kN|Nm|N|kW|%|percent|"
    r"per cent|degrees?|years?|months?|days?|inches|inch|in|feet|ft)(?![\w/])"
)
#: Kinds of clauses that say nothing of their own, or say what words mean.
_PASSED_OVER: Final = ("heading", "part", "definition", "note")
_LONGEST_QUOTE: Final = 200
_TITLE_WORDS: Final = 9


@dataclass(frozen=True, slots=True)
class Drafted:
    """One clause that reads like a requirement, or like an exemption, or both."""

    check: str
    clause: str
    title: str
    quote: str
    numbers: tuple[str, ...]
    line: int
    demands: bool
    exempting: Exempting | None


@dataclass(frozen=True, slots=True)
class Draft:
    """What was written: the folder, its checks, and how many clauses there are."""

    folder: Path
    drafted: tuple[Drafted, ...]
    clauses: int


def draft(
    text_file: Path,
    *,
    id: str,
    folder: Path,
    title: str = "",
    edition: str = "1",
    first_day: datetime.date | None = None,
) -> Draft:
    """Writes a new folder with a ruleset that builds on trade, from a text.

    ``first_day``: when it comes into force (today if left out). Raises ModrulesError where the
    text can't be read or the folder is not empty.
    """
    if not _ID.fullmatch(id):
        hint = "lower-case letters and digits, with hyphens between words"
        raise ModrulesError(Problem(f'"{id}" can\'t be the id of a ruleset', None, hint))
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        place = Place(str(folder))
        raise ModrulesError(Problem("there is something here already", place, "name a new folder"))
    text = read_text(text_file, id="text", title=title, edition=edition)
    source = read_bytes(text_file, MOST_BYTES)
    drafted = tuple(requirements(text))
    if not drafted:
        message = "no clause of this text reads like a requirement"
        hint = "clauses are found by their numbers; see what the text looks like as plain text"
        raise ModrulesError(Problem(message, Place(str(text_file)), hint))
    day = first_day or datetime.date.today()
    files = {
        "ruleset.yaml": _head(id, title or id, edition, day, text_file.name),
        "checks.yaml": checks_text(drafted),
    }
    try:
        for name in ("texts", "cases"):
            (folder / name).mkdir(parents=True)
        for name, content in files.items():
            (folder / name).write_text(formatted(content, name), encoding="utf-8", newline="\n")
        (folder / "texts" / text_file.name).write_bytes(source)
    except OSError as error:
        message = f"the folder could not be written: {error.strerror or error}"
        raise ModrulesError(Problem(message, Place(str(folder)))) from error
    return Draft(folder, drafted, len(text.clauses))


def requirements(text: Text) -> Iterator[Drafted]:
    """The clauses that read like requirements or exemptions, in the order of the text."""
    seen: set[str] = set()
    for number, clause in text.clauses.items():
        words = clause.own_words
        if clause.kind in _PASSED_OVER or not words:
            continue
        numbers = tuple(dict.fromkeys(" ".join(n.split()) for n in _QUANTITY.findall(words)))
        exempts = exempting(text, clause)
        demands = bool(numbers or _DEMANDS.search(words)) or _demanding_lead(text, clause)
        if not demands and exempts is None:
            continue
        slug = "clause-" + "-".join(re.findall(r"[a-z0-9]+", number.lower()))
        check = slug
        for again in range(2, 1000):
            if check not in seen:
                break
            check = f"{slug}-{again}"
        seen.add(check)
        found = _DEMANDS.search(words) or _QUANTITY.search(words)
        at = found.start() if found is not None else 0
        if exempts is not None and (exempts.clauses or found is None):
            at = exempts.at
        yield Drafted(
            check,
            number,
            _title(text, clause),
            _quote(text, number, words, at),
            numbers,
            clause.first_line,
            demands,
            exempts,
        )


def _demanding_lead(text: Text, clause: Clause) -> bool:
    """Whether an item goes on from words that demand something and are no clause by themselves.

    "Each tyre must" above (a) and (b) is read as their heading, and the word that demands with it.
    """
    lead = text.clauses.get(clause.parent) if clause.kind == "item" else None
    return lead is not None and not lead.own_words and bool(_DEMANDS.search(lead.heading))


def _quote(text: Text, number: str, words: str, at: int) -> str:
    """The sentence around a place in the words, as far as it stands in the clause; or nothing."""
    start = max(words.rfind(mark, 0, at) + 2 for mark in (". ", "; ", ": "))
    start = 0 if start == 1 else start
    end = min(
        (i for i in (words.find(". ", at), words.find("; ", at)) if i >= 0), default=len(words)
    )
    sentence = words[start:end].strip().rstrip(".;,")
    if len(sentence) > _LONGEST_QUOTE:
        sentence = sentence[:_LONGEST_QUOTE].rpartition(" ")[0]
    for tried in (sentence, sentence.partition('"')[0].strip()):
        if tried and resolve(text, number, tried).status == "found":
            return tried
    return ""


def _title(text: Text, clause: Clause) -> str:
    """The nearest heading, or the first words of the clause."""
    above: Clause | None = clause
    while above is not None:
        if above.heading:
            return above.heading
        above = text.clauses.get(above.parent) if above.parent else None
    words = clause.own_words.split()
    return " ".join(words[:_TITLE_WORDS]) + (" …" if len(words) > _TITLE_WORDS else "")


def quoted(text: str) -> str:
    """A text in double quotes, as YAML has it."""
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def _head(id: str, title: str, edition: str, day: datetime.date, file: str) -> str:
    trade = read_mapping(find_ruleset("trade") / "ruleset.yaml")["edition"]
    return (
        "# Begun from a text. See checks.yaml for what is to be written.\n"
        f"ruleset: {id}\n"
        f"title: {quoted(title)}\n"
        f"edition: {quoted(edition)}\n"
        f"in_force: {{from: {day.isoformat()}}}   # the day on which the text comes into force\n"
        f'builds_on: {{ruleset: trade, edition: "{trade}"}}\n'
        "files: [checks.yaml]\n"
        "texts:\n"
        f"  - {{id: text, title: {quoted(title)}, edition: {quoted(edition)}, "
        f"file: {quoted(f'texts/{file}')}}}\n"
    )


def checks_text(drafted: tuple[Drafted, ...]) -> str:
    """The file of unfinished checks."""
    lines = [
        "# One check for each clause that reads like a requirement or an exemption. Nobody has",
        "# worked on them yet: each leaves every outcome possible. Take out what is no rule, and",
        "# name its clause under set_aside of the text, with the reason. For others say what they",
        "# are about and per what they count, write requires or bands, and give them worked cases.",
        "# Then take the line with unfinished out: from that moment on the check decides.",
        "checks:",
    ]
    made = {each.clause: each.check for each in drafted}
    for each in drafted:
        quote = f", quote: {quoted(each.quote)}" if each.quote else ""
        found = f", where these stand: {'; '.join(each.numbers)}" if each.numbers else ""
        lines += [
            f"  # line {each.line} of the text{found}",
            *(f"  # {line}" for line in _exemption(each, made)),
            f"  - id: {each.check}",
            f"    title: {quoted(each.title)}",
            "    about: vehicle",
            "    per: vehicle",
            "    unfinished: true",
        ]
        others = each.exempting.clauses if each.exempting is not None else ()
        cited = [f"{{text: text, clause: {quoted(each.clause)}{quote}}}"]
        cited += [f"{{text: text, clause: {quoted(other)}}}" for other in others]
        listed = [f"    cites: {cited[0]}"]
        if others:
            listed = ["    cites:", *(f"      - {citation}" for citation in cited)]
        lines += [*listed, ""]
    return "\n".join(lines)


def _exemption(each: Drafted, made: Mapping[str, str]) -> Iterator[str]:
    """What is to be done about an exemption, in words; nothing where there is none."""
    if each.exempting is None:
        return
    named = each.exempting
    for clause in named.clauses:
        where = f"of {made[clause]}" if clause in made else "of the checks that cite it"
        yield f"exempts from clause {clause}: write that under exempt_if {where}"
    for name in named.unknown:
        yield f'exempts from "{name}", which is no one clause of this text: look which is meant'
    if not named.clauses and not named.unknown:
        yield "exempts, and names no other clause: write that under exempt_if of what it excuses"
    if not each.demands:
        yield "and cite this clause there; then take this check out"
