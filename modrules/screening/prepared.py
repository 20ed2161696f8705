"""A ruleset made ready to screen: typed, laid out and compiled.

``Ruleset`` is immutable and may be shared between threads. A pickle holds the
ruleset's content only; it is typed and compiled anew when it is read back.
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import product
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Final

from modrules.language.intervals import Intervals
from modrules.language.possible import Env
from modrules.language.records import Layout, records_of
from modrules.language.typer import Typer
from modrules.problems import ModrulesError
from modrules.ruleset.checking import type_ruleset
from modrules.ruleset.flat import FlatRuleset
from modrules.ruleset.source import collector_paused
from modrules.ruleset.typed import BIT, EVERY_OUTCOME, TypedCheck, TypedRuleset
from modrules.screening.binding import Bound
from modrules.screening.compile import Chunk, Raw, Screen, compile_ruleset
from modrules.screening.covering import REQUIRED, sufficient
from modrules.screening.evaluate import Evaluator, Held
from modrules.screening.papers import Row, both

if TYPE_CHECKING:
    from modrules.screening.varying import Varying

NOT_APPLICABLE: Final = BIT["not applicable"]


class NotGiven:
    """Stands for what a finding would be about of a list that is not given, or not whole."""

    __slots__ = ("per",)

    def __init__(self, per: tuple[str, ...]) -> None:
        self.per = per


class Ruleset:
    """A ruleset ready to screen.

    ``id``, ``title``, ``edition`` and ``digest`` identify it; ``flat`` is its content;
    ``cache``: the indexes of the texts read for it are kept on disk. ``later``: the facts that
    only a later edition knows, each with the first that does.
    """

    __slots__ = (
        "_evaluators",
        "_intervals",
        "_screens",
        "_sufficient",
        "cache",
        "chunks",
        "flat",
        "later",
        "layout",
        "typed",
    )

    def __init__(
        self,
        typed: TypedRuleset,
        chunks: list[Chunk] | None = None,
        *,
        cache: bool = False,
        later: Mapping[str, str] | None = None,
    ) -> None:
        self.cache = cache
        self.later = MappingProxyType(dict(later or {}))
        self.typed = typed
        self.flat = typed.flat
        self.layout = Layout(typed.names)
        self.chunks = tuple(chunks if chunks is not None else compile_ruleset(typed, self.layout))
        self._intervals = Intervals(typed.names, self.layout)
        self._evaluators: dict[int, Evaluator] = {}
        self._sufficient: dict[str, frozenset[str]] = {}
        self._screens: tuple[tuple[Chunk, Screen, tuple[Raw, ...]], ...] = tuple(
            (
                chunk,
                chunk.function(typed),
                tuple((index, None, NOT_APPLICABLE, None, None, None) for index in chunk.checks),
            )
            for chunk in self.chunks
        )

    @property
    def id(self) -> str:
        return str(self.flat.id)

    @property
    def title(self) -> str:
        return str(self.flat.title)

    @property
    def edition(self) -> str:
        return str(self.flat.edition)

    @property
    def digest(self) -> str:
        """sha256 of the content, whatever its layout."""
        return self.flat.digest

    @property
    def text_files(self) -> Mapping[str, Path]:
        """The files of the texts that come with the ruleset."""
        return MappingProxyType(dict(self.flat.text_files))

    @property
    def intervals(self) -> Intervals:
        return self._intervals

    def __repr__(self) -> str:
        return f"Ruleset({self.id!r}, edition={self.edition!r}, checks={len(self.typed.checks)})"

    def __reduce__(self) -> tuple[Any, ...]:
        return prepare, (self.flat, self.cache, dict(self.later))

    def evaluator(self, check: TypedCheck) -> Evaluator:
        """The check made ready for evaluation over what is possible."""
        found = self._evaluators.get(check.index)
        if found is None:
            found = self._evaluators[check.index] = Evaluator(check, self._intervals)
        return found

    def sufficient(self, certification: str) -> frozenset[str]:
        """A certification and those that do in its place."""
        found = self._sufficient.get(certification)
        if found is None:
            found = self._sufficient[certification] = sufficient(self.typed, certification)
        return found


def prepare(
    flat: FlatRuleset, cache: bool = False, later: Mapping[str, str] | None = None
) -> Ruleset:
    """A flattened ruleset, checked and compiled. Raises ModrulesError with every problem."""
    with collector_paused():
        typed, problems = type_ruleset(flat)
        errors = [problem for problem in problems if problem.level == "error"]
        if errors:
            raise ModrulesError(errors)
        return Ruleset(typed, cache=cache, later=later)


def bindings(check: TypedCheck, subject: Any) -> dict[str, Any]:
    """The records that the names of a check are bound to."""
    if subject is None or isinstance(subject, NotGiven):
        return {}
    records = subject if isinstance(subject, tuple) else (subject,)
    return dict(zip(check.bindings, records, strict=True))


def subject_words(subject: Any, per: tuple[str, ...]) -> str:
    """What a finding or a load is about, such as ``axle front``."""
    if isinstance(subject, NotGiven):
        return f"{' and '.join(dict.fromkeys(subject.per))} (not given)"
    if subject is None:
        return " and ".join(per)
    records = subject if isinstance(subject, tuple) else (subject,)
    kinds = dict.fromkeys(r.kind for r in records)
    if len(kinds) == 1:
        return f"{next(iter(kinds))} {' and '.join(r.id for r in records)}"
    return " and ".join(f"{r.kind} {r.id}" for r in records)


def concerned(check: TypedCheck, subject: Any, world: Any, kinds: Any) -> tuple[Any, ...]:
    """The modifications that a finding bears on: its own, or those that it is filed under."""
    if subject is not None:
        records = subject if isinstance(subject, tuple) else (subject,)
        own = tuple([r for r in records if getattr(r, "kind", None) in kinds])
        if own:
            return own
    about = check.about
    return tuple([m for m in world.modification_ if m.kind in about])


def _unlisted(check: TypedCheck, world: Any) -> list[Any]:
    """What a check would be about that has an entry which is not listed, each list in its turn."""
    listed = [
        (*records_of(world, name), *filter(None, [world.unlisted.get(name)])) for name in check.per
    ]
    others = {id(record) for record in world.unlisted.values()}
    found = [pair for pair in product(*listed) if any(id(one) in others for one in pair)]
    return found if len(check.per) > 1 else [one for (one,) in found]


class Run:
    """One screening of one submission against one ruleset."""

    __slots__ = ("_asked", "_held", "_typer", "_with", "bound", "raw", "ruleset")

    def __init__(self, ruleset: Ruleset, bound: Bound) -> None:
        self.ruleset = ruleset
        self.bound = bound
        self._held: dict[tuple[str, tuple[Any, ...]], int] = {}
        self._asked: dict[tuple[int, tuple[Any, ...]], tuple[Row, ...]] = {}
        self._with: dict[tuple[int, Any, tuple[int, ...], tuple[int, ...]], int] = {}
        self.raw: list[Raw] = []
        self._typer: Typer | None = None

    @property
    def typer(self) -> Typer:
        """Types expressions anew, for explaining what they came to."""
        if self._typer is None:
            self._typer = Typer(self.ruleset.typed.names)
        return self._typer

    def held(self, check: TypedCheck, certification: str, subject: Any) -> int:
        """The outcomes that a required certification may have turned into."""
        world = self.bound.world
        modifications = concerned(check, subject, world, self.ruleset.flat.kinds)
        key = (certification, modifications)
        found = self._held.get(key)
        if found is None:
            found = self._held[key] = self._covered(certification, modifications, world)
        return found

    def _covered(self, certification: str, modifications: tuple[Any, ...], world: Any) -> int:
        if not self.bound.documents:
            return REQUIRED
        # What bears on no modification in particular must be covered for all of them.
        needed = modifications or world.modification_
        return self.bound.papers.held(certification, needed, world)

    def _held_in(self, world: Any) -> Held:
        """The same as ``held``, for another world."""

        def held(check: TypedCheck, certification: str, subject: Any) -> int:
            kinds = self.ruleset.flat.kinds
            modifications = concerned(check, subject, world, kinds)
            return self._covered(certification, modifications, world)

        return held

    def evaluate(
        self, check: TypedCheck, subject: Any, world: Any = None, *, enough: int = EVERY_OUTCOME
    ) -> int:
        """What a check may still come to, by the interval evaluator.

        ``enough``: outcomes beyond which there can be none, so that no more need be looked for
        once these are found: more information only removes outcomes.
        """
        held = self.held if world is None else self._held_in(world)
        world = self.bound.world if world is None else world
        subjects = _unlisted(check, world) if isinstance(subject, NotGiven) else (subject,)
        mask = NOT_APPLICABLE if isinstance(subject, NotGiven) else 0
        for one in subjects:
            env = Env(world, bindings(check, one))
            mask |= self.ruleset.evaluator(check).possible(env, held, one, enough)
        return mask

    def asked(self, check: TypedCheck, subject: Any) -> tuple[Row, ...]:
        """Of each certification that a check may require, ``Papers.asked``."""
        world, papers = self.bound.world, self.bound.papers
        needed = concerned(check, subject, world, self.ruleset.flat.kinds) or world.modification_
        key = (check.index, needed)
        found = self._asked.get(key)
        if found is None:
            found = tuple([papers.asked(name, needed) for name in check.certifications])
            self._asked[key] = found
        return found

    def evaluate_by(self, check: TypedCheck, subject: Any, here: Row, *, enough: int) -> int:
        """What a check may come to where nothing is otherwise but what documents come to."""
        outcomes = self.bound.papers.outcomes
        answers = tuple([outcomes(both(row, here)) for row in self.asked(check, subject)])
        return self.evaluate_with(check, subject, answers, enough=enough)

    def evaluate_with(
        self,
        check: TypedCheck,
        subject: Any,
        answers: tuple[int, ...],
        *,
        enough: int,
        plates: tuple[int, ...] = (),
        varying: Varying | None = None,
    ) -> int:
        """What a check may come to by what the certifications that it may require turned into.

        ``plates``: whether the papers of the plates that vary are in force, where it reads that.
        """
        key = (check.index, subject, answers, plates)
        found = self._with.get(key)
        if found is None:
            told = dict(zip(check.certifications, answers, strict=True))
            world = self.bound.world
            if plates and varying is not None:
                varying.set_papers(plates)
                world, subject = varying.world, varying.moved(subject)
            env = Env(world, bindings(check, subject))
            evaluator = self.ruleset.evaluator(check)
            found = evaluator.possible(env, lambda _, name, __: told[name], subject, enough)
            self._with[key] = found
        return found

    def screen(self) -> list[Raw]:
        """Every finding as a plain tuple, in no particular order."""
        world, raw, checks = self.bound.world, self.raw, self.ruleset.typed.checks
        append, held = raw.append, self.held

        def leave(index: int, subject: Any) -> None:
            append((index, subject, self.evaluate(checks[index], subject), None, None, None))

        for chunk, screen, nothing in self.ruleset._screens:
            there = screen(world, append, held, leave)
            if not world.unlisted.keys().isdisjoint(chunk.per):
                subject = NotGiven(chunk.per)
                for index in chunk.checks:
                    leave(index, subject)
            elif not there:
                raw += nothing
        return raw
