"""Proofreading a ruleset: every problem in it, its citations, and its worked cases."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from modrules.problems import ModrulesError, Problem, in_order
from modrules.proofs.cases import TO_CONFIRM, CaseResult, read_cases, run_case, uncovered
from modrules.proofs.edges import touched
from modrules.proofs.found import MOST_MEMBERS, Proofs, example_lines
from modrules.proofs.proving import available, prove
from modrules.proofs.submissions import submission_problems
from modrules.ruleset.checking import type_ruleset
from modrules.ruleset.find import data_files
from modrules.ruleset.flat import FlatRuleset
from modrules.ruleset.load import collect
from modrules.ruleset.models import Citation
from modrules.screening.prepared import Ruleset
from modrules.texts import Text, resolve
from modrules.texts.resolve import IN_DOUBT, Excerpt
from modrules.texts.words import clean, plain


@dataclass(frozen=True, slots=True)
class Proofreading:
    """What proofreading found.

    ``problems``: in file order; ``level`` tells errors (the ruleset can't be used) from
    warnings. ``cases_failed``: the cases that came out otherwise. ``summary``: in words.
    Problems that ``proofs`` found are among the ``problems``, and those of ``citations`` too.
    """

    problems: tuple[Problem, ...]
    cases_run: int
    cases_failed: tuple[Problem, ...]
    summary: tuple[str, ...]
    #: What was proved over all vehicles; None where proofs were not run.
    proofs: Proofs | None = None
    citations: tuple[Problem, ...] = ()

    @property
    def clean(self) -> bool:
        return not self.problems and not self.cases_failed

    @property
    def notes(self) -> Sequence[Problem]:
        """What an author should know, and is no problem; each stands in the summary too."""
        return self.proofs.notes if self.proofs is not None else ()

    @property
    def examples(self) -> Mapping[Problem, Sequence[str]]:
        """A vehicle that shows it, for each problem that proofs found, as lines of YAML."""
        found = self.proofs.found if self.proofs is not None else ()
        return {each.problem: example_lines(each) for each in found if each.example is not None}

    @property
    def kinds(self) -> Mapping[Problem, str]:
        """What found each problem: ``ruleset``, ``citation``, ``worked-case`` or ``proof``."""
        found = self.proofs.found if self.proofs is not None else ()
        return (
            dict.fromkeys(self.problems, "ruleset")
            | dict.fromkeys(self.notes, "proof")
            | dict.fromkeys(self.citations, "citation")
            | {each.problem: "proof" for each in found}
            | dict.fromkeys(self.cases_failed, "worked-case")
        )


def proofread_folder(
    folder: Path, texts: Mapping[str, Text], *, proofs: bool = True, complete: bool = False
) -> Proofreading:
    """Reads a ruleset folder closely. ``texts`` are those at hand, by id.

    With ``proofs``, asks what holds over all vehicles, if the solver for it is installed. With
    ``complete``, outcomes and limits that no worked case shows are problems too (with ``proofs``,
    but for sides of a limit that no vehicle can reach).
    Raises ModrulesError only where the folder holds no ruleset at all.
    """
    collected = collect(folder)
    typed, found = type_ruleset(collected.ruleset)
    # Where a part can't be read, a name that is not found proves nothing.
    problems = [*collected.problems, *(found if collected.whole else ())]
    led = _led(collected.ruleset, texts)
    citations = citation_problems(collected.ruleset, texts, led)
    problems += citations
    cases, wrong = read_cases(folder)
    problems += wrong
    results: list[CaseResult] = []
    proved: Proofs | None = None
    counted: list[str] = _counts(collected.ruleset, folder)
    counted += _in_doubt(led)
    if not any(problem.level == "error" for problem in problems):
        ruleset = Ruleset(typed)
        problems += submission_problems(ruleset, folder)
        results = [run_case(ruleset, case) for case in cases]
        if cases:
            counted.append(f"worked cases: {len(results)}")
            made = sum(case.source == TO_CONFIRM for case in cases)
            if made:
                counted.append(f"  still to be confirmed by hand: {made}")
            shown, lacking = _covered(ruleset, results, proofs=proofs and available())
            counted += shown
            problems += lacking if complete else []
        if proofs and available():
            proved = prove(ruleset)
            problems += [found.problem for found in proved.found]
        counted += _proved(proved, wanted=proofs)
    else:
        if not collected.whole:
            counted.append("names and expressions were not looked at: a part could not be read")
        if cases:
            counted.append(f"worked cases not run because of the problems above: {len(cases)}")
        counted.append("proofs were not run because of the problems above")
    failed = [result.problem for result in results if result.problem is not None]
    return Proofreading(
        tuple(in_order(problems)),
        len(results),
        tuple(in_order(failed)),
        tuple(counted),
        proved,
        tuple(citations),
    )


def _covered(
    ruleset: Ruleset, results: list[CaseResult], *, proofs: bool
) -> tuple[list[str], list[Problem]]:
    """What the cases show of outcomes and limits, in words, and what they lack as problems.

    With ``proofs``, no case is asked for where no vehicle can be.
    """
    checks, problems = ruleset.typed.checks, []

    def lacks(check: str, what: str, hint: str) -> str:
        place = ruleset.flat.checks[check].place
        problems.append(Problem(f'of "{check}", {what}', place, hint, "warning"))
        return f"  {check}: {what}"

    lacking = uncovered(ruleset, results)
    lines = [
        f"checks whose every outcome has a case: {len(checks) - len(lacking)} of {len(checks)}"
    ]
    for check, outcomes in lacking.items():
        said = lacks(check, f"no case comes to {', '.join(outcomes)}", "add a case of it")
        # Unfinished ones are counted in a line of their own, and the list is for what to do next.
        lines += [] if ruleset.flat.checks[check].unfinished else [said]
    edges = touched(ruleset, results)
    if proofs:
        from modrules.proofs.reach import out_of_reach

        edges = out_of_reach(ruleset, edges)
    unseen = [edge for edge in edges if edge.turns_unseen]
    around = sum(not edge.lacking for edge in edges)
    turning = sum(not set(edge.limit.turning) & set(edge.lacking) for edge in edges)
    lines.append(
        f"limits with a case on each and one just where it turns: "
        f"{turning} of {len(edges)}; just on both sides: {around}"
    )
    hint = "modrules cases makes them, for you to confirm"
    lines += [lacks(edge.check, edge.words, hint) for edge in unseen]
    beyond = [edge for edge in edges if edge.unreachable]
    if beyond:
        lines.append(f"limits of which a side is proved out of reach of any vehicle: {len(beyond)}")
        lines += [f"  {edge.check}: {edge.unreachable_words}" for edge in beyond]
    return lines, problems


def _proved(proofs: Proofs | None, *, wanted: bool) -> list[str]:
    """What the proofs came to, in words."""
    if not wanted:
        return ["proofs were not run: left out as asked"]
    if proofs is None:
        return ["proofs were not run: install modrules[proofs]"]
    counts = f"{proofs.asked} asked, {len(proofs.not_proved)} not proved"
    lines = [f"proofs over all vehicles: {counts}, problems found: {len(proofs.found)}"]
    if proofs.asked:
        lines.append(
            f"  lists were taken with up to {MOST_MEMBERS} entries (more where counted), as whole"
        )
    lines += [f"  not proved: {each}" for each in proofs.not_proved]
    remarks: dict[str, dict[str, None]] = {}
    for remark in proofs.remarks:
        remarks.setdefault(remark.said, {})[remark.check] = None
    lines += [f"  {said} ({', '.join(checks)})" for said, checks in sorted(remarks.items())]
    for note in proofs.notes:
        lines.append(f"{note.place}: {note.message}" if note.place else note.message)
    return lines


def _counts(flat: FlatRuleset, folder: Path) -> list[str]:
    chain = " on ".join(f"{name} {edition}" for name, edition in reversed(flat.chain))
    lines = [
        f"ruleset: {chain}",
        f"facts: {len(flat.facts)}, quantities: {len(flat.quantities)}, tables: "
        f"{len(flat.tables)}, certifications: {len(flat.certifications)}, checks: "
        f"{len(flat.checks)}",
    ]
    unfinished = sum(check.unfinished for check in flat.checks.values())
    if unfinished:
        lines.append(f"checks not finished: {unfinished}, see modrules progress {folder}")
    return lines + _passed_over(folder)


def _passed_over(folder: Path) -> list[str]:
    """What lies among the worked cases and submissions and is none, in words."""
    lines = []
    for name in ("cases", "submissions"):
        with suppress(ModrulesError):  # told where the files themselves are read
            others = data_files(folder, name).passed_over
            if others:
                listed = ", ".join(f"{p.name}/" if p.is_dir() else p.name for p in others)
                lines.append(f"passed over in {name}/, being no YAML or JSON file: {listed}")
    return lines


def _led(flat: FlatRuleset, texts: Mapping[str, Text]) -> list[tuple[Citation, Excerpt]]:
    """Each citation of a text at hand, with where it leads there."""
    return [
        (citation, resolve(text, str(citation.clause), str(citation.quote or "")))
        for _, citation in flat.citing()
        if (text := texts.get(str(citation.text))) is not None
    ]


def _in_doubt(led: Iterable[tuple[Citation, Excerpt]]) -> list[str]:
    """The clauses cited about which the index of their text is in doubt, each with the doubt."""
    found: dict[str, str] = {}
    for citation, excerpt in led:
        if IN_DOUBT in excerpt.note:
            note = excerpt.note[excerpt.note.index(IN_DOUBT) :]
            found[f"{citation.text} {citation.clause}"] = note
    if not found:
        return []
    lines = [f"  {clause}: {note}" for clause, note in found.items()]
    return [f"clauses cited about which the index is in doubt: {len(found)}", *lines]


def citation_problems(
    flat: FlatRuleset, texts: Mapping[str, Text], led: Iterable[tuple[Citation, Excerpt]]
) -> list[Problem]:
    """Citations that do not stand in the texts at hand, as warnings; ``led``: where each leads."""
    found = (_citation_problem(citation, excerpt) for citation, excerpt in led)
    problems = [problem for problem in found if problem is not None]
    for source in flat.texts.values():
        text = texts.get(str(source.id))
        for aside in source.set_aside:
            if text is not None and not text.find(str(aside.clause)):
                message = f'there is no clause {aside.clause} of text "{source.id}" to set aside'
                problems.append(Problem(message, aside.clause.place, "", "warning"))
    return problems


def _citation_problem(citation: Citation, excerpt: Excerpt) -> Problem | None:
    if citation.quote is not None and not plain(clean(str(citation.quote))):
        hint = "quote words of the clause, or leave quote out"
        return Problem("this quotation holds no words", citation.quote.place, hint, "warning")
    if excerpt.status in ("found", "same", "moved"):
        return None
    name = f'clause {citation.clause} of text "{citation.text}"'
    said = {
        "gone": f"there is no {name}",
        "changed": f"the quotation does not stand in {name}",
        "ambiguous": f"{name} may be any of several",
    }
    place = (
        citation.quote if citation.quote and excerpt.status == "changed" else citation.clause
    ).place
    hint = "" if excerpt.status == "changed" else excerpt.note
    if excerpt.candidates:
        hint = "it may be " + ", ".join(excerpt.candidates[:5])
    return Problem(said.get(excerpt.status, f"{name}: {excerpt.status}"), place, hint, "warning")
