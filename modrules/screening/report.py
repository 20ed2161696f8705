"""The report: all findings, the answers drawn from them, and what makes it repeatable."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property
from typing import TYPE_CHECKING, Any, Final

from modrules.language.records import attribute
from modrules.ruleset.words import OUTCOMES
from modrules.screening.binding import bind
from modrules.screening.cited import Cited, LookUp, cited_as_data, look_up_in
from modrules.screening.consequences import look_at
from modrules.screening.evidence import Required, documents_of, evidence_of, holding, note_of
from modrules.screening.findings import Finding
from modrules.screening.loads import loads_of
from modrules.screening.measured import facts_of, identification, measurements_of, unidentified
from modrules.screening.prepared import Ruleset, Run
from modrules.screening.standing import planned, room_of, void_of
from modrules.screening.submission import Submission
from modrules.texts import Text

if TYPE_CHECKING:
    from modrules.ruleset.models import Citation
    from modrules.screening.next_facts import NextFact

AID: Final = (
    "This is a screening aid and no certificate. The local code and the licensed certifier decide."
)
CHECK_FIRST: Final = (
    "Have brakes, steering, suspension, tyres and restraints checked by a competent person before "
    "the vehicle is driven; a desk screening sees only what it was told."
)
_RANK: Final = {outcome: rank for rank, outcome in enumerate(OUTCOMES)}


def combined(findings: Iterable[Finding]) -> dict[str, str]:
    """Both ends of the answer: the worst of the best, and the worst of the worst."""
    best = worst = OUTCOMES[0]
    for finding in findings:
        best = max(best, finding.best, key=_RANK.__getitem__)
        worst = max(worst, finding.worst, key=_RANK.__getitem__)
    return {"best": best, "worst": worst}


class Screening:
    """The findings of one submission against one ruleset."""

    def __init__(
        self, run: Run, texts: Mapping[str, Text], prefix: str, look_up: LookUp | None = None
    ) -> None:
        self.run = run
        self.texts = texts
        #: where citations of the ruleset lead in the texts at hand
        self.look_up = look_up if look_up is not None else look_up_in(texts)
        self.prefix = prefix
        run.screen()

    @property
    def ruleset(self) -> Ruleset:
        return self.run.ruleset

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """In the order of the checks, then of the subjects."""
        raw = sorted(self.run.raw, key=lambda finding: finding[0])
        return tuple(Finding(self.run, each, self.look_up) for each in raw)

    @cached_property
    def states(self) -> list[Required]:
        """Each certification that is or may be required: its id, its state, because of what."""
        causes: dict[str, list[Finding]] = {}
        for finding in self.findings:
            for name in finding.certifications:
                causes.setdefault(name, []).append(finding)
        return [
            (name, _state(self, name, causes[name]), causes[name])
            for name in map(str, self.ruleset.flat.certifications)
            if name in causes
        ]

    def cited(self, citations: Iterable[Citation]) -> list[dict[str, Any]]:
        """Citations as plain data, each with the words that it leads to."""
        return self.told(map(self.look_up, citations))

    def told(self, citations: Iterable[Cited]) -> list[dict[str, Any]]:
        """The same of citations that have been looked up."""
        return [cited_as_data(cited, self.ruleset.flat.texts) for cited in citations]

    def named(self, name: str) -> str:
        """An id as the report spells it: with its ruleset in front where there are several."""
        return f"{self.prefix}{name}"


class Report:
    """The result of a screening. ``findings`` and ``answer`` first; ``to_dict`` for all of it."""

    def __init__(self, screenings: Sequence[Screening], engine: str, on: datetime.date) -> None:
        self._screenings = tuple(screenings)
        self._engine = engine
        self.on = on

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """Every finding, ruleset by ruleset."""
        return tuple(f for screening in self._screenings for f in screening.findings)

    @cached_property
    def answer(self) -> dict[str, str]:
        """Both ends of the whole answer, as ``best`` and ``worst``."""
        return combined(self.findings)

    @cached_property
    def _open_facts(self) -> dict[str, NextFact]:
        """What findings name as missing, by its address, those that settle most first."""
        # These are made from reports.
        from modrules.screening.next_facts import described, next_facts
        from modrules.screening.varying import target_of

        wanted = {address for finding in self.findings for address in finding.missing}
        if not wanted:
            return {}
        found = {fact.address: fact for fact in next_facts(self)}
        for screening in self._screenings:
            for finding in screening.findings:
                for fact in finding._missing:
                    target = target_of(screening.ruleset, fact.record, fact.fact)
                    if target.address not in found:
                        found[target.address] = described(self, target)
        # As in ``next_facts``, with what settles nothing at the end of its part.
        order = sorted(found.values(), key=lambda fact: (fact.given, fact.target is None))
        return {fact.address: fact for fact in order if fact.address in wanted}

    @cached_property
    def _dict(self) -> dict[str, Any]:
        first = self._screenings[0]
        submission = first.run.bound.submission
        findings = [
            _finding(screening, finding)
            for screening in self._screenings
            for finding in screening.findings
        ]
        return {
            "engine": {"name": "modrules", "version": self._engine},
            "on": self.on.isoformat(),
            "rulesets": [_ruleset(screening.ruleset) for screening in self._screenings],
            "texts": [text for screening in self._screenings for text in _texts(screening)],
            "submission": {
                "title": submission.title,
                "digest": submission.digest,
                "vehicle": identification(first.run),
                "unidentified": unidentified(first.run),
                "standard": _standard(self._screenings),
            },
            "answer": dict(self.answer),
            "findings": findings,
            "modifications": _modifications(self),
            "certifications": [
                c for screening in self._screenings for c in _certifications(screening)
            ],
            "documents": _documents(self._screenings),
            "loads": _loads(self._screenings),
            "measurements": _measurements(self._screenings),
            "missing": _missing(self),
            "not_looked_at": _not_looked_at(self._screenings),
            "cautions": _cautions(self._screenings),
        }

    def to_dict(self) -> dict[str, Any]:
        """The JSON report, as schemas/report.schema.json describes it."""
        copied: dict[str, Any] = _copied(self._dict)
        return copied


def _copied(data: Any) -> Any:
    """Plain data anew, so that whoever is given it may change it."""
    if isinstance(data, dict):
        return {key: _copied(value) for key, value in data.items()}
    if isinstance(data, list):
        return [_copied(value) for value in data]
    return data


def again(report: Report, submission: Submission) -> Report:
    """The same screening of another submission: rulesets, day, and texts as they were read.

    Raises ModrulesError where the submission can't be used.
    """
    found = []
    for one in report._screenings:
        beside = [other.ruleset.typed for other in report._screenings if other is not one]
        typed, layout, later = one.ruleset.typed, one.ruleset.layout, one.ruleset.later
        bound = bind(submission, typed, layout, report.on, beside, later)
        found.append(Screening(Run(one.ruleset, bound), one.texts, one.prefix, one.look_up))
    return Report(found, report._engine, report.on)


def _ruleset(ruleset: Ruleset) -> dict[str, Any]:
    period = ruleset.flat.in_force
    return {
        "id": ruleset.id,
        "title": ruleset.title,
        "edition": ruleset.edition,
        "digest": ruleset.digest,
        "in_force": {
            "from": period.first_day.isoformat(),
            "up_to": period.last_day.isoformat() if period.last_day is not None else None,
        },
    }


def _texts(screening: Screening) -> list[dict[str, Any]]:
    found = []
    for item in screening.ruleset.flat.texts.values():
        text = screening.texts.get(str(item.id))
        found.append(
            {
                "id": str(item.id),
                "title": str(item.title),
                "edition": str(item.edition),
                "digest": text.digest if text is not None else "",
                "supplied": text is not None,
            }
        )
    return found


def _standard(screenings: Sequence[Screening]) -> list[str]:
    """The titles of the systems that are declared as standard."""
    found: dict[str, str] = {}
    for screening in screenings:
        for kind in screening.ruleset.flat.kinds.values():
            system = str(kind.system or kind.id)
            if system in screening.run.bound.standard:
                found.setdefault(system, str(kind.title))
    return list(found.values())


def _measurements(screenings: Sequence[Screening]) -> list[dict[str, Any]]:
    """Every measurement once, though several rulesets may read it."""
    found: dict[str, dict[str, Any]] = {}
    for screening in screenings:
        for one in measurements_of(screening.run):
            found.setdefault(one["fact"], one)
    return list(found.values())


def _documents(screenings: Sequence[Screening]) -> list[dict[str, Any]]:
    """Each document, with what would void it where it is a plate or certificate that is held."""
    every = [(screening, screening.states) for screening in screenings]
    found = documents_of([(s.run, s.named, states) for s, states in every])
    for entry in found:
        entry.update({"certification": None, "void": [], "room": []})
        for screening, states in every:
            for document in screening.run.bound.documents:
                if document.id == entry["id"] and document.certification is not None:
                    entry["certification"] = screening.named(document.certification)
                    entry["void"] += void_of(screening.run, document, states)
                    known = {one["fact"] for one in entry["room"]}
                    found_here = room_of(screening.run, document)
                    entry["room"] += [one for one in found_here if one["fact"] not in known]
        entry["void"] = list(dict.fromkeys(entry["void"]))
    return found


def _loads(screenings: Sequence[Screening]) -> list[dict[str, Any]]:
    """Every load once, though several rulesets may build on the one that has it."""
    found: list[dict[str, Any]] = []
    known: list[dict[str, Any]] = []
    for screening in screenings:
        for one in loads_of(screening.run):
            content = {key: value for key, value in one.items() if key != "ruleset"}
            if content not in known:
                known.append(content)
                found.append(one)
    return found


def _finding(screening: Screening, finding: Finding) -> dict[str, Any]:
    return {
        "ruleset": screening.ruleset.id,
        "check": screening.named(finding.check),
        "title": finding.title,
        "about": list(finding.about),
        "subject": finding.subject,
        "modifications": list(finding.modifications),
        "possible": list(finding.possible),
        "message": finding.message,
        "measured": finding.measured,
        "limit": finding.limit,
        "margin": finding.margin,
        "working": list(finding.working),
        "missing": list(finding.missing),
        "precision": finding.precision,
        "assumed": list(finding.assumed),
        "exemption": finding.exemption,
        "reason": finding.reason,
        "citations": screening.told(finding.citations),
        "certification": screening.named(finding.certification) if finding.certification else None,
        "question": finding.question,
        "caution": finding.caution,
        "advice": finding.advice,
    }


# -- answers per modification ------------------------------------------------------------


def _modifications(report: Report) -> list[dict[str, Any]]:
    from modrules.screening.next_facts import for_modification

    screenings, facts = report._screenings, report._open_facts
    known = {
        record.id: (record, screening)
        for screening in reversed(screenings)
        for record in screening.run.bound.world.modification_
    }
    bearing: dict[str, list[Finding]] = {}
    for finding in report.findings:
        for name in finding.modifications:
            bearing.setdefault(name, []).append(finding)
    asking = [
        ({"id": screening.named(name), "state": state}, _concerned(causes))
        for screening in screenings
        for name, state, causes in screening.states
    ]
    entries = []
    for name in _in_order(screenings[0], known):
        record, first = known[name]
        about = bearing.get(record.id, [])
        missing = {address for finding in about for address in finding.missing}
        asked = for_modification(record.id, about, [f for a, f in facts.items() if a in missing])
        kind = first.ruleset.flat.kinds[record.kind]
        entries.append(
            {
                "id": record.id,
                "kind": record.kind,
                "title": _title(first, record.id) or str(kind.title),
                "answer": combined(about) if about else None,
                "covered": bool(about),
                "planned": planned(first.run, record),
                "facts": facts_of(first.run, record),
                "look_at": look_at(first.ruleset.flat, record.kind),
                "certifications": [dict(one) for one, whose in asking if record.id in whose],
                "missing": [fact.address for fact in asked],
            }
        )
    return entries


def _concerned(findings: Iterable[Finding]) -> frozenset[str]:
    """The ids of the modifications on which some findings bear."""
    return frozenset(name for finding in findings for name in finding.modifications)


def _in_order(screening: Screening, known: Mapping[str, Any]) -> list[str]:
    """The ids of the modifications in the order of the submission."""
    entries = screening.run.bound.submission.tree.get("modifications")
    listed = [str(e.get("id")) for e in entries or [] if isinstance(e, dict)]
    return [name for name in listed if name in known]


def _title(screening: Screening, name: str) -> str:
    entries = screening.run.bound.submission.tree.get("modifications")
    for entry in entries if isinstance(entries, list) else []:
        if isinstance(entry, dict) and entry.get("id") == name and "title" in entry:
            return str(entry["title"])
    return ""


# -- certifications ----------------------------------------------------------------------


def _state(screening: Screening, name: str, causes: list[Finding]) -> str:
    """required, held, open, or held but does not cover; the worst of its causes."""
    required = any(f.possible == ("certification required",) for f in causes)
    held = all(f.possible == ("certified",) for f in causes)
    if held:
        return "held"
    documents = holding(screening.run, name)
    if required:
        return "held but does not cover" if documents else "required"
    return "open"


def _certifications(screening: Screening) -> list[dict[str, Any]]:
    return [
        {
            "id": screening.named(name),
            "title": str(item.title),
            "kind": str(item.kind),
            "state": state,
            "because_of": [
                {"check": screening.named(f.check), "subject": f.subject} for f in causes
            ],
            "issued_by": str(item.issued_by or ""),
            "approval_before_work": item.approval_before_work,
            "citations": screening.cited(item.cites),
            "evidence": evidence_of(screening.run, item, causes),
            "note": note_of(screening.run, name, item, state, causes),
        }
        for name, state, causes in screening.states
        for item in [screening.ruleset.flat.certifications[name]]
    ]


# -- what is missing, what was not looked at, what to be careful about --------------------


def _missing(report: Report) -> list[dict[str, Any]]:
    """Missing facts, those that settle most open findings first; then what is imprecise."""
    found: dict[str, dict[str, Any]] = {
        address: {**_asked(fact), "decides": 0, "findings": []}
        for address, fact in report._open_facts.items()
    }
    for screening in report._screenings:
        for finding in screening.findings:
            check = screening.named(finding.check)
            for address in finding.missing:
                entry = found[address]
                entry["decides"] += 1
                if check not in entry["findings"]:
                    entry["findings"].append(check)
    return list(found.values())


def _asked(fact: NextFact) -> dict[str, Any]:
    return {
        "fact": fact.address,
        "title": fact.title,
        "question": fact.question,
        "measure": fact.measure,
        "unit": fact.unit,
        "given": fact.given,
        "now": fact.now,
        "precision": fact.precision,
        "settle": fact.settle,
        "line": fact.line,
        "under": fact.under,
    }


def _not_looked_at(screenings: Sequence[Screening]) -> list[dict[str, str]]:
    """Systems that nobody has declared as standard or as modified."""
    found: dict[str, str] = {}
    for screening in screenings:
        world, standard = screening.run.bound.world, screening.run.bound.standard
        kinds = screening.ruleset.flat.kinds.values()
        modified = {str(k.system or k.id) for k in kinds if getattr(world, attribute(str(k.id)))}
        for kind in kinds:
            system = str(kind.system or kind.id)
            if system not in modified and system not in standard:
                found.setdefault(system, str(kind.title))
    return [{"system": system, "title": title} for system, title in found.items()]


def _cautions(screenings: Sequence[Screening]) -> list[str]:
    said = [AID, CHECK_FIRST]
    for screening in screenings:
        said += [str(caution) for caution in screening.ruleset.flat.cautions]
        said += screening.run.bound.cautions
        said += [finding.caution for finding in screening.findings if finding.caution is not None]
    return list(dict.fromkeys(said))
