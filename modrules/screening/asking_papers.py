"""What a questionnaire asks besides facts: papers at hand, and the systems that stay as built.

Papers are asked for once facts alone decide no more: first which there are, of those that
can still change the answer, then of each what it takes to tell whether it counts, for as
long as it still may.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import chain, count
from typing import Any, Final

from modrules.language import domains as d
from modrules.language.records import Open
from modrules.language.tree import FactName
from modrules.problems import ModrulesError, Problem, nearest
from modrules.screening.covering import says_no_vehicle, sufficient
from modrules.screening.documents import Document
from modrules.screening.evidence import Required, wanted_by
from modrules.screening.papers import Papers
from modrules.screening.question import Question
from modrules.screening.report import Report, Screening
from modrules.screening.varying import Reads

EVIDENCE: Final = "evidence"
STANDARD: Final = "standard"
#: In front of an item of evidence that has the id of a certification.
_PAPER: Final = "paper:"
#: A day before all others, for a document of which the date is still to be asked.
_EARLY: Final = (1, 1)


def paper_questions(data: Mapping[str, Any], report: Report) -> Iterator[Question]:
    """What to ask about papers, the first first; what was left unanswered is passed over."""
    if EVIDENCE not in data:
        offered = _offered(report)
        if offered:
            yield Question(
                EVIDENCE,
                "papers",
                "Plates, certificates and papers",
                "Which of these plates, certificates and papers are there already?",
                "Write their words with commas between, or none.",
                words=tuple(offered),
                meanings=tuple(offered.values()),
            )
        return
    entries = data[EVIDENCE]
    for entry in entries if isinstance(entries, list) else []:
        if isinstance(entry, dict):
            yield from _details(entry, report)


def system_questions(data: Mapping[str, Any], report: Report) -> Iterator[Question]:
    """The systems of which nothing is said, once; none where it was said what stays standard."""
    systems = {one["system"]: one["title"] for one in report.to_dict()["not_looked_at"]}
    if STANDARD not in data and systems:
        yield Question(
            STANDARD,
            "systems",
            "Systems that stay standard",
            "Which of these systems are, and will stay, as the vehicle was built?",
            "Write them with commas between, all, or none.",
            words=tuple(systems),
            meanings=tuple(systems.values()),
        )


# -- which papers there are --------------------------------------------------------------


def _offered(report: Report) -> dict[str, str]:
    """The papers that may change the answer: the word for each, and what it is."""
    found: dict[str, str] = {}
    for screening in report._screenings:
        certifications = screening.ruleset.flat.certifications
        names = [name for name, _, _ in screening.states]
        enough = {other for name in names for other in sufficient(screening.ruleset.typed, name)}
        for name, item in certifications.items():
            if name in enough:
                found.setdefault(str(name), str(item.title))
        for name in names:
            for evidence in certifications[name].evidence:
                word = _word(str(evidence.id), certifications)
                found.setdefault(word, f"{evidence.title} (for {certifications[name].title})")
    return found


def _word(evidence: str, certifications: Mapping[str, Any]) -> str:
    return f"{_PAPER}{evidence}" if evidence in certifications else evidence


def papers(screenings: Sequence[Screening], words: Sequence[str]) -> list[dict[str, str]]:
    """Entries for the papers named; the second of a sort gets a number. Raises ModrulesError."""
    kinds: dict[str, tuple[str, str]] = {}
    for screening in screenings:
        certifications = screening.ruleset.flat.certifications
        for name, item in certifications.items():
            kinds.setdefault(str(name), ("certification", str(name)))
            for evidence in item.evidence:
                word = _word(str(evidence.id), certifications)
                kinds.setdefault(word, ("document", str(evidence.id)))
    made: list[dict[str, str]] = []
    for word in words:
        if word not in kinds:
            hint = nearest(word, kinds) or "write one of the words that are offered"
            raise ModrulesError(Problem(f'"{word[:40]}" is no paper that counts', None, hint))
        key, name = kinds[word]
        taken = {entry["id"] for entry in made}
        numbered = (f"{name}-{number}" for number in count(2))
        made.append({"id": next(i for i in chain([name], numbered) if i not in taken), key: name})
    return made


def systems(report: Report, words: Sequence[str]) -> list[str]:
    """The systems named, or all of which nothing is said. Raises ModrulesError."""
    known = [one["system"] for one in report.to_dict()["not_looked_at"]]
    if list(words) == ["all"]:
        return known
    for word in words:
        if word not in known:
            hint = nearest(word, known) or f"known: {', '.join(known)}"
            raise ModrulesError(Problem(f'"{word[:40]}" is none of the systems', None, hint))
    return list(dict.fromkeys(words))


# -- what each of them says --------------------------------------------------------------


def _details(entry: dict[str, Any], report: Report) -> Iterator[Question]:
    """What is not told yet of one paper, while it may still count."""
    for screening in report._screenings:
        for document in screening.run.bound.documents:
            if document.id == str(entry.get("id")):
                asked = _detail(entry, document, screening)
                yield from asked


def _detail(entry: dict[str, Any], document: Document, screening: Screening) -> Iterator[Question]:
    told = entry.get("covers")
    told = told if isinstance(told, dict) else {}
    required = _asking_for(document, screening)
    hopeful = replace(
        document,
        issued=document.issued if "issued" in entry else _EARLY,
        modifications=document.modifications
        if "modifications" in told
        else frozenset(m.id for m in screening.run.bound.world.modification_),
    )
    if not _may_count(hopeful, required, screening):
        return

    def ask(key: str, kind: str, question: str, **more: Any) -> Question:
        address = f"{EVIDENCE}.{document.id}.{key}"
        return Question(address, kind, document.title, f"{document.title}: {question}", **more)

    if "issued" not in entry:
        how = "The date on the paper itself."
        yield ask("issued", "paper", "when was it issued?", measure=how)
    if "expires" not in entry:
        how = "The last day on the paper; none stated where it bears none."
        yield ask("expires", "paper", "until when is it valid?", measure=how, none_stated=True)
    if "modifications" not in told:
        wanted = list({m.id: m for _, _, f in required for m in wanted_by(screening.run, f)})
        how = "Write their ids with commas between, or none."
        question = "which of the modifications does it name?"
        words = tuple(wanted)
        yield ask("covers.modifications", "covered", question, measure=how, words=words)
    if "vehicle" not in told and says_no_vehicle(document, screening.ruleset.typed):
        how = "Copy the number as it stands on the paper; an empty line where it names none."
        yield ask("covers.vehicle", "paper", "for which vehicle is it?", measure=how)
    if document.certification is not None:
        up_to = told.get("up_to")
        for fact, title in _limited(hopeful, required, screening):
            if fact.id not in (up_to if isinstance(up_to, dict) else {}):
                yield ask(
                    f"covers.up_to.{fact.id}",
                    "paper",
                    f"up to which value of this does it cover: {title}?",
                    measure="The limit on the paper; none stated where it bears none.",
                    unit=fact.unit or None,
                    none_stated=True,
                )


def _asking_for(document: Document, screening: Screening) -> list[Required]:
    """The certifications that may be required and that ask for a document."""
    typed = screening.ruleset.typed
    found = []
    for name, state, causes in screening.states:
        taken = {str(e.id) for e in typed.flat.certifications[name].evidence}
        if document.certification in sufficient(typed, name) or document.document in taken:
            found.append((name, state, causes))
    return found


def _may_count(document: Document, required: Sequence[Required], screening: Screening) -> bool:
    """Whether a document may count for any finding that asks for it."""
    run = screening.run
    papers = Papers((document,), (), run.bound.world, screening.ruleset.typed)
    for name, _, causes in required:
        for needed in {tuple(wanted_by(run, [finding])) for finding in causes}:
            if document.certification is not None:
                mask = papers.mask(document, papers.covering(name, needed))
            else:
                mask = papers.mask(document, papers.supplying(needed))
            if mask & d.TRUE:
                return True
    return False


def _limited(
    document: Document, required: Sequence[Required], screening: Screening
) -> list[tuple[FactName, str]]:
    """The measured facts, known and read by what requires a plate, that it may limit.

    They are those of the modifications that it covers, and those that a part decides.
    """
    reads, kinds = Reads(screening.ruleset), screening.ruleset.flat.kinds
    found: dict[str, tuple[FactName, str]] = {}
    for _, _, causes in required:
        for finding in causes:
            for target in reads.targets(finding):
                item, value = target.item, target.value
                if item is None or target.fact.type.kind != "quantity":
                    continue
                if isinstance(value, Open) and (value.missing or value.low > value.high):
                    continue
                own = target.record.kind in kinds and target.record.id in document.modifications
                if own or item.settle == "before_buying":
                    found.setdefault(target.fact.id, (target.fact, str(item.title)))
    return list(found.values())
