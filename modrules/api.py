"""What an embedder needs: load a ruleset, screen a submission, read the findings."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from modrules.problems import ModrulesError, Problem

if TYPE_CHECKING:
    from modrules.proofs.proofread import Proofreading
    from modrules.reports.verifying import Difference
    from modrules.ruleset.flat import FlatRuleset
    from modrules.screening.beside import Beside
    from modrules.screening.limits import Limits
    from modrules.screening.next_facts import NextFact
    from modrules.screening.prepared import Ruleset
    from modrules.screening.report import Report
    from modrules.screening.stages import Stages
    from modrules.screening.submission import Submission
    from modrules.screening.turning import Turns
    from modrules.texts import Excerpt, Text


def load_ruleset(
    name_or_folder: str | Path,
    *,
    on: datetime.date | None = None,
    library: Sequence[Path] = (),
    cache: bool = False,
) -> Ruleset:
    """A ruleset, checked and compiled: a folder, or the id of a shipped one.

    Where there are several editions, the one in force ``on`` that date (today if left
    out) is taken. ``library`` holds further folders in which rulesets that it builds on
    are looked for. With ``cache``, the compiled ruleset, and the index of each text that is
    read for it, is kept in the user's folder for caches and found there as long as no file
    that it was made from has changed. Raises ModrulesError with every problem found.
    """
    from modrules.ruleset.find import find_ruleset

    base, day = find_ruleset(name_or_folder), on or datetime.date.today()
    cache = cache and not library
    if cache:
        from modrules.screening.cache import find

        found = find(base, day)
        if found is not None:
            return found
    from modrules.ruleset.load import collect, later_facts, pick_edition
    from modrules.screening.prepared import prepare

    picked = pick_edition(base, day)
    collected = collect(picked, library)
    if collected.errors:
        raise ModrulesError(collected.errors)
    later, read = later_facts(base, picked, library)
    later = {
        fact: edition for fact, edition in later.items() if fact not in collected.ruleset.facts
    }
    ruleset = prepare(collected.ruleset, cache=cache, later=later)
    if cache:
        from modrules.screening.cache import keep

        editions = (base / "ruleset.yaml", *base.glob("*/ruleset.yaml"))
        keep(ruleset, (*collected.files, *read, *editions), base, day)
    return ruleset


def read_submission(source: str | Path | Mapping[str, Any]) -> Submission:
    """A submission from a YAML or JSON file, or from a mapping of the same shape."""
    from modrules.screening.submission import read_submission as read

    return read(source)


def read_text(
    source: str | Path, *, id: str, title: str = "", edition: str = "", cache: bool = False
) -> Text:
    """A text of a jurisdiction, with the index of its clauses. Raises ModrulesError.

    With ``cache``, the index is kept in the user's folder for caches.
    """
    from modrules.texts.reading import read_text as read

    return read(Path(source), id=id, title=title, edition=edition, cache=cache)


def resolve(text: Text, clause: str, quote: str = "") -> Excerpt:
    """What a citation leads to in a text: its status, and the words of the clause.

    ``clause`` may be typed in the usual ways, or be "" to cite by quotation alone. Never
    raises: what cannot be resolved says so in its status.
    """
    from modrules.texts import resolve as look_up

    return look_up(text, clause, quote)


def screen(
    submission: str | Path | Mapping[str, Any] | Submission,
    rulesets: Ruleset | Sequence[Ruleset],
    *,
    texts: Mapping[str, str | Path | Text] | None = None,
    on: datetime.date | None = None,
) -> Report:
    """Screens a submission against one or more rulesets, on a date (today if left out).

    ``texts`` maps the id of a text to its file; texts that ship with a ruleset are used
    where none is given. Raises ModrulesError where the submission or a text can't be used.
    """
    from modrules import __version__
    from modrules.ruleset.citing import pins_of
    from modrules.screening.binding import bind
    from modrules.screening.cited import look_up_in
    from modrules.screening.prepared import Ruleset, Run
    from modrules.screening.report import Report, Screening
    from modrules.screening.submission import Submission, read_submission

    if not isinstance(submission, Submission):
        submission = read_submission(submission)
    chosen = [rulesets] if isinstance(rulesets, Ruleset) else _rulesets(rulesets)
    day = on or datetime.date.today()
    screenings = []
    for ruleset in chosen:
        prefix = f"{ruleset.id}/" if len(chosen) > 1 else ""
        beside = [other.typed for other in chosen if other is not ruleset]
        bound = bind(submission, ruleset.typed, ruleset.layout, day, beside, ruleset.later)
        found = supplied(ruleset, texts or {})
        look_up = look_up_in(found, pins_of(ruleset.flat.folder))
        screenings.append(Screening(Run(ruleset, bound), found, prefix, look_up))
    unknown = set(texts or {}) - {str(t) for ruleset in chosen for t in ruleset.flat.texts}
    if unknown:
        raise ModrulesError(
            [Problem(f'no ruleset cites a text "{name}"') for name in sorted(unknown)]
        )
    return Report(screenings, __version__, day)


def _rulesets(given: Any) -> list[Ruleset]:
    """Several rulesets as a list; ModrulesError where they are none."""
    from modrules.screening.prepared import Ruleset

    chosen = list(given) if isinstance(given, (list, tuple)) else [given]
    if not chosen:
        raise ModrulesError(Problem("there is no ruleset to screen against"))
    for one in chosen:
        if not isinstance(one, Ruleset):
            message = f"a value of the Python type {type(one).__name__} is no ruleset"
            raise ModrulesError(Problem(message, None, "load it first: modrules.load_ruleset(...)"))
    return chosen


def limits(
    submission: str | Path | Mapping[str, Any] | Submission,
    rulesets: Ruleset | Sequence[Ruleset],
    fact: str,
    *,
    texts: Mapping[str, str | Path | Text] | None = None,
    on: datetime.date | None = None,
) -> Limits:
    """How far one fact of a submission may go, everything else as it is.

    ``fact`` is an address as in the report: ``modifications.lift.ride_height_change``. A
    number is told in stretches over its declared range, exactly where the checks follow it in
    straight pieces and enclosed elsewhere; a word or tyre size value by value. What is said
    of the fact itself, its estimate included, gives way to the value tried.
    """
    from modrules.screening.limits import limits as found

    return found(screen(submission, rulesets, texts=texts, on=on), fact)


def next_facts(
    submission: str | Path | Mapping[str, Any] | Submission,
    rulesets: Ruleset | Sequence[Ruleset],
    *,
    texts: Mapping[str, str | Path | Text] | None = None,
    on: datetime.date | None = None,
) -> list[NextFact]:
    """What to find out next: missing and imprecise facts, the most telling first.

    Each says how many open findings are decided once it is known: at least, whatever it
    turns out to be, and at most.
    """
    from modrules.screening.next_facts import next_facts as found

    return found(screen(submission, rulesets, texts=texts, on=on))


def turns(
    submission: str | Path | Mapping[str, Any] | Submission,
    rulesets: Ruleset | Sequence[Ruleset],
    *,
    texts: Mapping[str, str | Path | Text] | None = None,
    on: datetime.date | None = None,
) -> Turns:
    """What would make each finding that is worse than *complies* milder.

    Per fact the smallest change, everything else as it is, what it makes worse, and the
    findings that need opposite changes of one fact.
    """
    from modrules.screening.turning import turns as found

    return found(screen(submission, rulesets, texts=texts, on=on))


def beside(
    submission: str | Path | Mapping[str, Any] | Submission,
    rulesets: Ruleset | Sequence[Ruleset],
    other: Ruleset | str | Path | Mapping[str, Any] | Submission,
    *,
    texts: Mapping[str, str | Path | Text] | None = None,
    on: datetime.date | None = None,
) -> Beside:
    """Two screenings side by side: of one submission against another ruleset, or of another
    submission against the same rulesets.
    """
    from modrules.screening.beside import apart
    from modrules.screening.beside import beside as found
    from modrules.screening.prepared import Ruleset
    from modrules.screening.report import Report

    day = on or datetime.date.today()
    if not isinstance(other, Ruleset):
        left = screen(submission, rulesets, texts=texts, on=day)
        return found(left, screen(other, rulesets, texts=texts, on=day), "submission")
    chosen = [rulesets] if isinstance(rulesets, Ruleset) else _rulesets(rulesets)
    both = screen(submission, [*chosen, other], texts=texts, on=day)
    *first, last = apart(both)
    left = Report([s for one in first for s in one._screenings], both._engine, day)
    return found(left, last, "ruleset")


def stages(
    submission: str | Path | Mapping[str, Any] | Submission,
    rulesets: Ruleset | Sequence[Ruleset],
    *,
    order: Sequence[str] | None = None,
    texts: Mapping[str, str | Path | Text] | None = None,
    on: datetime.date | None = None,
) -> Stages:
    """A plan in stages: the answer after each modification, and which first needs a plate.

    ``order`` names modifications by their ids; left out, they follow their dates of fitting.
    """
    from modrules.screening.stages import stages as found
    from modrules.screening.submission import Submission

    if not isinstance(submission, Submission):
        submission = read_submission(submission)
    return found(submission, rulesets, order=order, texts=texts, on=on)


def render(report: Report, form: str = "terminal") -> str | bytes:
    """A report as people or programs read it.

    ``form``: ``terminal`` (all findings), ``plates`` (the owner's page) or ``plates in full``,
    ``html``, ``markdown`` or ``pdf`` (the certifier's sheet; pdf is bytes, and printed by an
    installed browser), ``letter`` (asks the applicant for what is outstanding), ``json``,
    ``sarif``. Raises ModrulesError for another form, or where there is no browser.
    """
    from importlib import import_module

    from modrules.reports import FORMS

    if form not in FORMS:
        raise ModrulesError(
            Problem(f'there is no form "{form}"', None, f"one of: {', '.join(FORMS)}")
        )
    made: str | bytes = import_module(f"modrules.reports.{FORMS[form]}").render(report.to_dict())
    return made


def verify(
    report: str | Path,
    submission: str | Path | Mapping[str, Any] | Submission,
    rulesets: Ruleset | Sequence[Ruleset],
    *,
    texts: Mapping[str, str | Path | Text] | None = None,
) -> list[Difference]:
    """What differs between a filed JSON report and the one made now; nothing: equal bytes.

    The rules of the report's own date are asked for; load the rulesets for that date.
    """
    from modrules.reports.verifying import differences, read_filed

    raw, filed = read_filed(Path(report))
    try:
        day = datetime.date.fromisoformat(filed["on"])
    except ValueError:
        raise ModrulesError(Problem("the report has no date")) from None
    return differences(raw, filed, screen(submission, rulesets, texts=texts, on=day).to_dict())


def proofread(
    name_or_folder: str | Path,
    *,
    texts: Mapping[str, str | Path | Text] | None = None,
    proofs: bool = True,
    complete: bool = False,
) -> Proofreading:
    """Everything that is wrong with a ruleset, its citations and its worked cases.

    With ``proofs`` it is also asked what holds over all vehicles, if z3 is installed (the
    extra ``proofs``); the summary says whether it was. With ``complete``, outcomes and limits that
    no worked case shows count as problems; else the summary lists them. With ``proofs`` too, a side
    of a limit that no vehicle can reach is told apart. Raises ModrulesError where there is no
    ruleset, or where a text can't be read.
    """
    from modrules.proofs.proofread import proofread_folder
    from modrules.ruleset.load import collect, find_ruleset

    folder = find_ruleset(name_or_folder)
    at_hand = supplied(collect(folder).ruleset, texts or {})
    return proofread_folder(folder, at_hand, proofs=proofs, complete=complete)


def supplied(
    ruleset: Ruleset | FlatRuleset,
    given: Mapping[str, str | Path | Text],
    *,
    cache: bool = False,
) -> dict[str, Text]:
    """The texts at hand for a ruleset: those given, else those that come with it.

    With ``cache``, or of a ruleset that was loaded with it, their indexes are kept.
    """
    from modrules.ruleset.flat import FlatRuleset

    found: dict[str, Text] = {}
    if isinstance(ruleset, FlatRuleset):
        flat = ruleset
    else:
        flat, cache = ruleset.flat, cache or ruleset.cache
    for name, item in flat.texts.items():
        source = given.get(name) or flat.text_files.get(name)
        if source is None:
            continue
        if isinstance(source, (str, Path)):
            title, edition = str(item.title), str(item.edition)
            found[str(name)] = read_text(
                source, id=str(name), title=title, edition=edition, cache=cache
            )
        else:
            found[str(name)] = source
    return found
