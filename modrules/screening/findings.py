"""A finding: the outcome of one check on one subject, as a read-only view.

The screening itself leaves plain tuples; everything that people read is worked out
here when it is asked for.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cached_property
from typing import TYPE_CHECKING, Any

from modrules.language import domains as d
from modrules.language.possible import Env
from modrules.language.tree import Node
from modrules.language.units import decimal_text
from modrules.ruleset.typed import BIT, CERTIFICATION_REQUIRED, TypedCheck
from modrules.ruleset.words import OUTCOMES
from modrules.screening import explain, working
from modrules.screening.assumed import assumed, cut_off
from modrules.screening.cited import Cited, LookUp, cited_as_data, look_up_in
from modrules.screening.compile import Raw
from modrules.screening.lists import lacks
from modrules.screening.margins import Room, rooms
from modrules.screening.prepared import NotGiven, Run, bindings, concerned, subject_words
from modrules.screening.show import in_unit, number_words, quantity_data, range_words, unit_of

if TYPE_CHECKING:
    from modrules.ruleset.models import Check, Citation

#: the outcomes of which a certification is a part
_CERTIFYING = CERTIFICATION_REQUIRED | BIT["certified"]


def outcomes_of(mask: int) -> tuple[str, ...]:
    """The outcomes in a mask, from harmless to worst."""
    return tuple(outcome for outcome in OUTCOMES if mask & BIT[outcome])


class Finding:
    """One finding. ``possible`` are the outcomes that it may still come to."""

    def __init__(self, run: Run, raw: Raw, look_up: LookUp | None = None) -> None:
        self._run = run
        self._raw = raw
        self._look_up = look_up if look_up is not None else look_up_in({})

    def __repr__(self) -> str:
        return f"Finding({self.check!r}, {self.subject!r}, {' or '.join(self.possible)})"

    # -- what it is about ----------------------------------------------------------

    @property
    def _check(self) -> TypedCheck:
        return self._run.ruleset.typed.checks[self._raw[0]]

    @property
    def _item(self) -> Check:
        return self._run.ruleset.flat.checks[self._check.id]

    @property
    def _mask(self) -> int:
        return self._raw[2]

    @property
    def check(self) -> str:
        """The id of the check."""
        return self._check.id

    @property
    def title(self) -> str:
        return str(self._item.title)

    @property
    def about(self) -> tuple[str, ...]:
        """The kinds of modification that the check is filed under, or vehicle."""
        return self._check.about

    @cached_property
    def subject(self) -> str:
        """What the finding is about, such as ``axle front``."""
        return subject_words(self._raw[1], self._check.per)

    @cached_property
    def modifications(self) -> tuple[str, ...]:
        """The ids of the modifications that the finding bears on."""
        world = self._run.bound.world
        kinds = self._run.ruleset.flat.kinds
        return tuple(m.id for m in concerned(self._check, self._raw[1], world, kinds))

    # -- what it came to -------------------------------------------------------------

    @cached_property
    def possible(self) -> tuple[str, ...]:
        """The outcomes still possible, from harmless to worst."""
        return outcomes_of(self._mask)

    @property
    def decided(self) -> bool:
        """Whether there is one outcome left."""
        return len(self.possible) == 1

    @property
    def best(self) -> str:
        return self.possible[0]

    @property
    def worst(self) -> str:
        return self.possible[-1]

    @cached_property
    def _env(self) -> Env:
        return Env(self._run.bound.world, bindings(self._check, self._raw[1]))

    def _range(self, node: Node | None) -> d.Range | None:
        if node is None or isinstance(self._raw[1], NotGiven) or self._nothing_there:
            return None
        if self._mask == BIT["not applicable"]:
            return None
        found: d.Range = self._run.ruleset.intervals.closure(node)(self._env)
        return found

    @property
    def _nothing_there(self) -> bool:
        """Whether the check is about a list that has nothing in it."""
        names = self._run.ruleset.typed.names.subjects
        return self._raw[1] is None and any(names[name].many for name in self._check.per)

    @cached_property
    def _numbers(self) -> tuple[d.Range | None, d.Range | None, Any]:
        """Measured, limit and margin in the scale of the measure."""
        _, _, _, measured, limit, margin = self._raw
        if limit is not None:
            return (measured, measured, False), (limit, limit, False), margin
        found = self._range(self._check.measure)
        if found is None or found[0] > found[1]:
            return None, None, None
        if not self._rooms:
            return found, None, None
        end, margin = self._rooms[0]
        exact = found[0] == found[1] and not found[2]
        sure = end[0] == end[1] and (exact or self.decided)
        return found, end, margin if sure else None

    @cached_property
    def _rooms(self) -> list[Room]:
        """The ends that matter with the room that there is at least, the nearest first."""
        found = self._range(self._check.measure)
        if found is None or found[0] > found[1]:
            return []
        return rooms(
            self._check, self._run.ruleset.intervals, self._env, found, decided=self.decided
        )

    def _data(self, found: d.Range | None) -> dict[str, Any] | None:
        node = self._check.measure
        if found is None or node is None or found[0] > found[1]:
            return None
        return quantity_data(found[0], found[1], node)

    @cached_property
    def measured(self) -> dict[str, Any] | None:
        """What was measured, as {value, unit}, with low and high where it is not exact."""
        return self._data(self._numbers[0])

    @cached_property
    def limit(self) -> dict[str, Any] | None:
        """The limit that it was compared with."""
        return self._data(self._numbers[1])

    @cached_property
    def margin(self) -> dict[str, Any] | None:
        """The room that is left; negative: by how much it is over."""
        margin = self._numbers[2]
        return None if margin is None else self._data((margin, margin, False))

    @cached_property
    def message(self) -> str:
        """The finding in one sentence."""
        if isinstance(self._raw[1], NotGiven):
            per, world = self._raw[1].per, self._run.bound.world
            names = " and ".join(dict.fromkeys(per))
            given = any(name in world.whole_if for name in per if lacks(world, name))
            why = "the list does not name all there are" if given else "the list is not given"
            if self.decided:
                return f"{names}: {why}, but {self.best} whatever it holds"
            return f"{names}: {why}, so this is open"
        if self._nothing_there:
            return "there is none of this on the vehicle"
        words = []
        node = self._check.measure
        measured, limit, margin = self._numbers
        if node is not None and measured is not None:
            words.append(range_words(measured, node))
            if limit is not None:
                words.append(f"the limit is {range_words(limit, node)}")
            if margin is not None and limit is not None:
                words.append(self._margin_words(margin, node, exact=measured[0] == measured[1]))
                others = [end for end, _ in self._rooms[1:]]
                words += [f"the other limit is {range_words(end, node)}" for end in others]
        told = " or ".join(self.possible)
        if not self.decided:
            told = f"open: {told}"
        return f"{'; '.join(words)}: {told}" if words else told

    def _margin_words(self, margin: Any, node: Node, *, exact: bool) -> str:
        if margin == 0:
            return "right on the limit" if exact else "perhaps right on the limit"
        if margin > 0:
            return f"{'' if exact else 'at least '}{number_words(margin, node)} to spare"
        unit = unit_of(node.type, node.unit)
        amount = f"{decimal_text(in_unit(-margin, node), 3)} {unit}".strip()
        return f"past it by {'' if exact else 'up to '}{amount}"

    # -- why ---------------------------------------------------------------------------

    @cached_property
    def working(self) -> tuple[str, ...]:
        """Formula, the numbers put in, result and limit, line by line."""
        if isinstance(self._raw[1], NotGiven) or self._nothing_there:
            return ()
        applicable = self._mask != BIT["not applicable"]
        made = working.Working(self._run, self._check, self._raw[1])
        lines = made.write(applicable=applicable)
        return (*lines, *cut_off(self._run, self._check, self._raw[1]))

    @cached_property
    def _missing(self) -> list[explain.OpenFact]:
        if self.decided:
            return []
        return explain.missing(self._run, self._check, self._raw[1], self._mask)

    @cached_property
    def missing(self) -> tuple[str, ...]:
        """The addresses of the facts that could still change the outcome."""
        found = [fact.address for fact in self._missing]
        if not self.decided:
            found += explain.lists_missing(self._run, self._check, self._raw[1])
        return tuple(found)

    @cached_property
    def precision(self) -> str | None:
        """How precisely the measure must be known to settle the finding."""
        if self.decided:
            return None
        return explain.precision(self._run, self._check, self._raw[1])

    @cached_property
    def assumed(self) -> tuple[str, ...]:
        """Missing facts whose declared range alone decided the finding."""
        if not self.decided or self._nothing_there:
            return ()
        found = assumed(self._run, self._check, self._raw[1], self._mask)
        return tuple(fact.address for fact in found)

    @cached_property
    def _fired(self) -> int | None:
        """The index of the exemption that excuses it, where it is exempt."""
        if self._mask != BIT["exempt"]:
            return None
        evaluator = self._run.ruleset.evaluator(self._check)
        for index, condition in enumerate(evaluator.exemptions):
            if condition(self._env) == d.TRUE:
                return index
        return None

    @cached_property
    def exemption(self) -> str | None:
        """Which exemption fired, and its condition."""
        if self._fired is None:
            return None
        exemption = self._item.exempt_if[self._fired]
        places = ", ".join(f"{c.text} {c.clause}" for c in exemption.cites)
        return f"{exemption.condition} ({places})"

    @cached_property
    def reason(self) -> str | None:
        """Why several outcomes are possible, where no missing fact alone is to blame."""
        found = working.why_no_value(self._run, self._check, self._raw[1], self._mask)
        if found is not None or self._mask & explain.HELD != explain.HELD:
            return found
        return working.why_doubted(self._run, self._check, self._raw[1], self.certifications)

    @cached_property
    def cites(self) -> tuple[Citation, ...]:
        """The citations that the finding rests on, those of its exemptions with them."""
        item = self._item
        exemptions = item.exempt_if
        if self._fired is not None:
            exemptions = (item.exempt_if[self._fired],)
        elif not self._mask & BIT["exempt"]:
            exemptions = ()
        return (*item.cites, *(c for exemption in exemptions for c in exemption.cites))

    @cached_property
    def citations(self) -> tuple[Cited, ...]:
        """The same citations with where each leads in the texts at hand.

        With them those of the certifications that it requires or that are held for it, where
        they are doubtful: the finding then rests on changed text too.
        """
        own = tuple(map(self._look_up, self.cites))
        beneath = [cited for cited in map(self._look_up, self._granted_by) if cited.doubtful]
        return (*own, *(cited for cited in dict.fromkeys(beneath) if cited not in own))

    @property
    def _granted_by(self) -> Iterator[Citation]:
        """The citations of the certifications that it requires, or that do in their place."""
        run = self._run
        held = {document.certification for document in run.bound.documents}
        for name in self.certifications:
            others = sorted(run.ruleset.sufficient(name) & held - {name, None})
            for each in (name, *others):
                yield from run.ruleset.flat.certifications[each].cites

    @property
    def rests_on_changed_text(self) -> bool:
        """Whether words that it cites do not stand in the text at hand as the check has them."""
        return any(cited.doubtful for cited in self.citations)

    @cached_property
    def certifications(self) -> tuple[str, ...]:
        """The certifications that the finding requires, or may."""
        if not self._mask & _CERTIFYING:
            return ()
        check = self._check
        if check.requires is not None or isinstance(self._raw[1], NotGiven):
            return check.certifications
        reached: list[str] = []

        def held(of: TypedCheck, name: str, subject: Any) -> int:
            reached.append(name)
            return self._run.held(of, name, subject)

        self._run.ruleset.evaluator(check).possible(self._env, held, self._raw[1])
        return tuple(dict.fromkeys(reached))

    @property
    def certification(self) -> str | None:
        """The first certification that the finding requires, or may."""
        return self.certifications[0] if self.certifications else None

    @property
    def question(self) -> str | None:
        """What the certifier judges, where the finding may come to inspect."""
        asked = self._item.question if "inspect" in self.possible else None
        return str(asked) if asked is not None else None

    @property
    def caution(self) -> str | None:
        """The caution of the check, unless it does not apply."""
        said = self._item.caution if self.possible != ("not applicable",) else None
        return str(said) if said is not None else None

    @property
    def advice(self) -> str | None:
        said = self._item.advice if self.possible != ("not applicable",) else None
        return str(said) if said is not None else None


# -- as plain data -----------------------------------------------------------------------


def said_of(finding: Finding) -> dict[str, Any]:
    """What identifies a finding, with the clauses that it rests on."""
    texts = finding._run.ruleset.flat.texts
    told = ("text", "title", "edition", "clause", "status", "pages", "note")
    return {
        "ruleset": finding._run.ruleset.id,
        "check": finding.check,
        "title": finding.title,
        "subject": finding.subject,
        "citations": [
            {key: value for key, value in cited_as_data(cited, texts).items() if key in told}
            for cited in finding.citations
        ],
    }


def changed_text(findings: Iterable[Finding]) -> list[dict[str, Any]]:
    """The findings that rest on changed text, each once by check and subject."""
    found = {
        (finding._run.ruleset.id, finding.check, finding.subject): finding
        for finding in findings
        if finding.rests_on_changed_text
    }
    return [said_of(finding) for finding in found.values()]
