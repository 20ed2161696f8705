"""Typed checks: every expression of a ruleset resolved, with all problems found.

``type_ruleset`` goes from the flattened ruleset to a value that screening runs from.
It is the full static check: names, types, dimensions, conditions of measurement,
circular quantities, certifications, texts, questions.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import TYPE_CHECKING, Any, Final

from modrules.language import syntax
from modrules.language.arithmetic import addition, negation, same_measure
from modrules.language.parser import SyntaxProblem, parse
from modrules.language.tree import (
    YES_NO,
    FactName,
    Names,
    Node,
    QuantityName,
    Tree,
    Type,
    common_scale,
)
from modrules.language.type_problems import TypeProblem
from modrules.language.typer import MOST_NODES, Typer
from modrules.language.units import MASS
from modrules.problems import Problem, in_order, nearest
from modrules.ruleset.flat import FlatRuleset
from modrules.ruleset.names import Vocabulary, build_names
from modrules.ruleset.tree import Scalar
from modrules.ruleset.words import OUTCOMES

if TYPE_CHECKING:
    from modrules.ruleset.models import Band, Check, Load, LoadLimit, Quantity

#: The bit of each outcome in a set of possible outcomes.
BIT: Final[Mapping[str, int]] = {outcome: 1 << i for i, outcome in enumerate(OUTCOMES)}
EVERY_OUTCOME: Final = (1 << len(OUTCOMES)) - 1
CERTIFICATION_REQUIRED: Final = BIT["certification required"]


@dataclass(frozen=True, slots=True)
class TypedBand:
    """A band: its condition as a whole, and apart from constant ends of the measure.

    ``low``/``high`` are ends in the measure's scale where they are constants (else None, and
    the end is part of ``extra``). ``low_end``/``high_end`` are the ends as expressions, constant
    or not; ``condition`` is what only_if and unless ask, without the ends.
    """

    outcome: int
    certification: str | None
    low: int | None
    low_closed: bool
    high: int | None
    high_closed: bool
    ends: tuple[Node, ...]
    extra: Node | None
    low_end: Node | None
    high_end: Node | None
    condition: Node | None


@dataclass(frozen=True, slots=True)
class TypedCheck:
    """A check ready to run. Nodes are None where the check does not have that part."""

    index: int
    id: str
    per: tuple[str, ...]
    bindings: tuple[str, ...]
    #: what the prefixes of names stand for
    scope: Mapping[str, str]
    about: tuple[str, ...]
    unfinished: bool
    applies: Node | None
    requires: Node | None
    exemptions: tuple[Node, ...]
    failure: int
    certification: str | None
    measure: Node | None
    limit: Node | None
    #: +1: room is limit - measure; -1: room is measure - limit
    direction: int
    bands: tuple[TypedBand, ...]

    def nodes(self) -> list[Node]:
        """Every node at the top of an expression of this check."""
        found = [self.applies, self.requires, *self.exemptions, self.measure]
        for band in self.bands:
            found += [*band.ends, band.extra]
        return [node for node in found if node is not None]

    @property
    def outcomes(self) -> int:
        """Every outcome that the check states, certified with what it replaces."""
        mask = BIT["not applicable"] if self.applies is not None else 0
        if self.unfinished:
            return EVERY_OUTCOME
        if self.requires is not None:
            mask |= BIT["complies"] | self.failure | (BIT["exempt"] if self.exemptions else 0)
        for band in self.bands:
            mask |= band.outcome
        return mask | (BIT["certified"] if mask & CERTIFICATION_REQUIRED else 0)


@dataclass(frozen=True, slots=True)
class TypedLimit:
    """A limit on a load: its condition, the limit, and what it leaves of it."""

    id: str
    in_place_of: str | None
    applies: Node | None
    limit: Node
    room: Node
    #: the room above the load by the list of parts
    ledger_room: Node | None


@dataclass(frozen=True, slots=True)
class TypedLoad:
    """A load with its limits, ready to evaluate. All its masses are in one dimension."""

    id: str
    per: str
    applies: Node | None
    load: Node
    ledger: Node | None
    #: the load as weighed less that by the list of parts
    residual: Node | None
    parts: tuple[Node, ...]
    each: Node | None
    limits: tuple[TypedLimit, ...]

    def nodes(self) -> list[Node]:
        """Every node at the top of an expression of this load."""
        found = [self.applies, self.load, self.ledger, *self.parts, self.each]
        for limit in self.limits:
            found += [limit.applies, limit.limit]
        return [node for node in found if node is not None]


@dataclass(frozen=True, slots=True)
class TypedRuleset:
    """All that screening needs of a ruleset, fully checked."""

    flat: FlatRuleset
    vocabulary: Vocabulary
    checks: tuple[TypedCheck, ...]
    #: the estimate of a fact from other facts, and the node of its tolerance
    estimates: Mapping[str, tuple[Node, Node | None]]
    quantities: Mapping[str, Node]
    loads: tuple[TypedLoad, ...]

    @property
    def names(self) -> Names:
        return self.vocabulary.names


def type_ruleset(flat: FlatRuleset) -> tuple[TypedRuleset, list[Problem]]:
    """The typed ruleset, with every problem in file order; use it only if none is an error."""
    vocabulary = build_names(flat)
    work = _Work(flat, vocabulary)
    typed = work.run()
    return typed, in_order([*vocabulary.problems, *work.problems])


def type_check(typed: TypedRuleset, item: Check, index: int) -> tuple[TypedCheck, list[Problem]]:
    """Another version of a check, typed in a ruleset, and what is wrong with it."""
    work = _Work(typed.flat, typed.vocabulary)
    return work.check(index, item), work.problems


def type_checks_with(
    typed: TypedRuleset, quantity: Quantity, checks: Iterable[TypedCheck]
) -> tuple[list[TypedCheck], list[Problem]]:
    """Some checks with another version of a quantity under them, and what is wrong with them."""
    names, id = typed.names, str(quantity.id)
    holds = parse(quantity.holds) if quantity.holds is not None else None
    other = replace(
        names.quantities[id],
        formula=parse(quantity.formula),
        text=str(quantity.formula),
        holds=holds,
    )
    names = replace(names, quantities={**names.quantities, id: other})
    work = _Work(typed.flat, replace(typed.vocabulary, names=names))
    items = typed.flat.checks
    return [work.check(check.index, items[check.id]) for check in checks], work.problems


@dataclass(slots=True)
class _Work:
    flat: FlatRuleset
    vocabulary: Vocabulary
    problems: list[Problem] = field(default_factory=list)
    typer: Typer = field(init=False)
    tree: Tree = field(init=False)
    _parsed: dict[str, syntax.Syntax] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.tree = Tree()
        self.typer = Typer(self.vocabulary.names, self.tree)

    def run(self) -> TypedRuleset:
        quantities = self.quantities()
        estimates = self.estimates()
        self.certifications()
        checks = tuple(self.check(i, check) for i, check in enumerate(self.flat.checks.values()))
        found = [self.load(item) for item in self.flat.loads.values()]
        loads = tuple(load for load in found if load is not None)
        return TypedRuleset(self.flat, self.vocabulary, checks, estimates, quantities, loads)

    def report(self, message: str, at: Scalar | None, hint: str = "") -> None:
        self.problems.append(Problem(message, at.place if at is not None else None, hint))

    # -- expressions -----------------------------------------------------------------

    def expression(
        self, text: Scalar | None, scope: Mapping[str, str], expected: Type | None = None
    ) -> Node | None:
        """The typed node of an expression, or None with its problems reported."""
        if text is None:
            return None
        tree = self._parsed.get(text)
        if tree is None:
            try:
                tree = self._parsed[text] = parse(text)
            except SyntaxProblem as problem:
                self.problems.append(
                    Problem(problem.message, text.place_at(*problem.span), problem.hint)
                )
                return None
        node = self.typer.expression(tree, scope, expected)
        self.take_problems(text)
        if node is not None and node.size > MOST_NODES:
            self.report(
                f"this expression is too large: {node.size} parts with the quantities in it",
                text,
                f"at most {MOST_NODES} are allowed",
            )
            return None
        return node

    def take_problems(self, text: Scalar) -> None:
        for problem in self.typer.problems:
            self.problems.append(
                Problem(problem.message, text.place_at(*problem.span), problem.hint)
            )
        self.typer.problems.clear()

    def quantities(self) -> dict[str, Node]:
        nodes: dict[str, Node] = {}
        for quantity in self.vocabulary.names.quantities.values():
            item = self.flat.quantities[quantity.id]
            subject = self.vocabulary.names.subjects.get(quantity.subject)
            if subject is None:
                continue
            scope = self.typer.scope(**self.typer.own_scope(quantity, quantity.subject))
            # First alone, so that its own problems stand at their own place.
            body = self.typer.expression(quantity.formula, scope)
            failed = bool(self.typer.problems)
            if not _unreadable(quantity.formula):
                self.take_problems(item.formula)
            self.typer.problems.clear()
            if failed or body is None or not self.held(quantity, item, scope):
                continue
            try:
                nodes[quantity.id] = self.typer.quantity(quantity, quantity.subject, (0, 0))
            except TypeProblem as problem:
                self.report(problem.message, item.formula, problem.hint)
                continue
            if body.type.kind != "quantity":
                if item.unit is not None:
                    self.report(f"this quantity is a {body.type}, which has no unit", item.unit)
            elif body.size > MOST_NODES:
                self.report(f"this quantity is too large: {body.size} parts", item.formula)
        return nodes

    def held(self, quantity: QuantityName, item: Quantity, scope: Mapping[str, str]) -> bool:
        """Whether the condition under which a quantity holds, if any, is in order."""
        if item.holds is None:
            return True
        # What can't be read has been reported.
        readable = quantity.holds is not None and not _unreadable(quantity.holds)
        return readable and self.expression(item.holds, scope, YES_NO) is not None

    def estimates(self) -> dict[str, tuple[Node, Node | None]]:
        found: dict[str, tuple[Node, Node | None]] = {}
        for fact in self.flat.facts.values():
            name = self.vocabulary.names.facts.get(str(fact.id))
            if fact.estimate is None or name is None:
                continue
            scope = self.own_scope(name.subject)
            expected = name.type
            node = self.expression(fact.estimate, scope, expected)
            tolerance = None
            if fact.estimate_tolerance is not None:
                tolerance = self.expression(fact.estimate_tolerance, {})
                if tolerance is not None and tolerance.op != "const":
                    self.report("a tolerance is a plain value", fact.estimate_tolerance)
                    continue
            if node is None:
                continue
            wrong = self.not_simple(node, name)
            if wrong:
                self.report(wrong, fact.estimate, "an estimate is made from other facts alone")
                continue
            found[name.id] = (node, tolerance)
        return found

    def not_simple(self, node: Node, own: FactName) -> str:
        """Why a node can't serve as an estimate; empty where it can."""
        stack = [node]
        while stack:
            piece = stack.pop()
            if piece.op in ("quantity", "over"):
                return "an estimate uses neither quantities nor lists"
            if piece.op == "fact":
                _, fact, _ = piece.value
                if self.flat.facts[fact].estimate is not None if fact in self.flat.facts else False:
                    return f'"{fact}" is itself an estimate'
                if fact == own.id:
                    return "this estimate is made from the fact itself"
            stack += piece.args
        return ""

    def own_scope(self, subject: str) -> dict[str, str]:
        known = self.vocabulary.names.subjects[subject]
        if not known.many:
            return self.typer.scope()
        own = {subject: subject}
        if known.is_kind:
            own["modification"] = subject
        return self.typer.scope(**own)

    # -- certifications and checks ---------------------------------------------------

    def certifications(self) -> None:
        for _, citation in self.flat.citing():
            if citation.text not in self.flat.texts:
                self.unknown("text", citation.text, self.flat.texts)
        for item in self.flat.certifications.values():
            for other in item.covered_by:
                if other not in self.flat.certifications:
                    self.unknown("certification", other, self.flat.certifications)
                elif other == item.id:
                    self.report("a certification can't be covered by itself", other)

    def unknown(self, what: str, name: Scalar, known: Mapping[str, Any]) -> None:
        self.report(f'there is no {what} "{name}"', name, nearest(name, known))

    def check(self, index: int, item: Check) -> TypedCheck:
        per, bindings, scope = self.scope(item)
        self.filing(item)
        applies = self.expression(item.applies_if, scope, YES_NO)
        if item.in_force is not None:
            applies = self.dated(item, applies)
        requires = self.expression(item.requires, scope, YES_NO)
        exemptions = []
        for exemption in item.exempt_if:
            node = self.expression(exemption.condition, scope, YES_NO)
            if node is not None:
                exemptions.append(node)
        measure = self.expression(item.measures, scope)
        limit: Node | None = None
        direction = 1
        if measure is not None and measure.type.kind != "quantity":
            self.report(f"only a quantity can be measured; this is a {measure.type}", item.measures)
            measure = None
        if item.requires is not None and measure is None and requires is not None:
            measure, limit, direction = compared(self._parsed[item.requires], requires)
        self.shape(item)
        ends = [self.ends(band, scope, measure) for band in item.bands]
        if item.bands and measure is not None:
            measure = self.tree.rescale(
                measure,
                common_scale(
                    measure.scale,
                    *(end.scale for pair in ends for end in pair if end and end.op == "const"),
                ),
            )
        bands = tuple(
            self.band(band, pair, scope, measure)
            for band, pair in zip(item.bands, ends, strict=True)
        )
        if item.unfinished:
            # What stands there is looked at with its author, and decides nothing yet.
            requires = measure = limit = None
            exemptions, bands = [], ()
        return TypedCheck(
            index=index,
            id=str(item.id),
            per=per,
            bindings=bindings,
            scope=scope,
            about=tuple(str(kind) for kind in item.about),
            unfinished=item.unfinished,
            applies=applies,
            requires=requires,
            exemptions=tuple(exemptions),
            failure=BIT[item.otherwise or "not permitted"],
            certification=str(item.certification) if item.certification else None,
            measure=measure,
            limit=limit,
            direction=direction,
            bands=bands,
        )

    def scope(self, item: Check) -> tuple[tuple[str, ...], tuple[str, ...], dict[str, str]]:
        subjects = self.vocabulary.names.subjects
        per = tuple(str(name) for name in item.per)
        for name in item.per:
            if name not in subjects:
                self.unknown("subject", name, subjects)
            elif len(per) == 2 and not subjects[str(name)].many:
                self.report(f"a pair needs lists; there is only one {name}", name)
        own: dict[str, str] = {}
        if len(per) == 2 and per[0] == per[1]:
            own = {"first": f"first:{per[0]}", "second": f"second:{per[0]}"}
            return per, tuple(own.values()), self.typer.scope(**own)
        for subject in per:
            known = subjects.get(subject)
            if known is not None and known.many:
                own[subject] = subject
                if known.is_kind and len(per) == 1:
                    own["modification"] = subject
        return per, per, self.typer.scope(**own)

    def filing(self, item: Check) -> None:
        for kind in item.about:
            if kind != "vehicle" and kind not in self.flat.kinds:
                self.unknown("kind of modification", kind, {**self.flat.kinds, "vehicle": None})
        for kind in item.per:
            if kind in self.flat.kinds and kind not in item.about:
                self.report(f"a check per {kind} is filed under it", kind, f"add {kind} to about")

    def shape(self, item: Check) -> None:
        """A check has a requirement or bands, and what its outcomes need."""
        ways = (item.requires is not None) + bool(item.bands)
        if ways != 1 and not (ways == 0 and item.unfinished):
            self.report("a check has either requires, or bands, or unfinished: true", item.id)
        if item.requires is None:
            if item.exempt_if:
                self.report("exempt_if goes with requires", item.exempt_if[0].condition)
            if item.otherwise is not None:
                self.report("otherwise goes with requires", item.otherwise)
        if item.measures is not None and not item.bands and item.requires is None:
            self.report("measures goes with bands or requires", item.measures)
        outcomes = [str(band.outcome) for band in item.bands]
        if item.requires is not None:
            outcomes.append(str(item.otherwise or "not permitted"))
        if "inspect" in outcomes and item.question is None:
            self.report(
                "this check may come to inspect, but has no question for the certifier",
                item.id,
                "add question: …",
            )
        if item.question is not None and "inspect" not in outcomes and not item.unfinished:
            self.report(
                "this check never comes to inspect, so its question is never asked", item.question
            )
        named = [(str(item.otherwise or ""), item.certification, item.id)] if item.requires else []
        named += [(str(band.outcome), band.certification, band.outcome) for band in item.bands]
        for outcome, certification, at in named:
            if outcome == "certification required":
                if certification is None:
                    self.report(
                        "a certification that is required has a name", at, "add certification: …"
                    )
            elif certification is not None:
                self.report(
                    f'the outcome "{outcome or "not permitted"}" takes no certification',
                    certification,
                )
            if certification is not None and certification not in self.flat.certifications:
                self.unknown("certification", certification, self.flat.certifications)
        if item.bands and item.certification is not None:
            self.report("each band names its own certification", item.certification)

    def dated(self, item: Check, applies: Node | None) -> Node:
        """In force on the screening date, as part of the condition."""
        assert item.in_force is not None
        from modrules.language.tree import DATE

        today = self.tree.node("today", DATE)
        first = self.tree.node("const", DATE, (), item.in_force.first_day.toordinal())
        node = self.tree.node("le", YES_NO, (first, today))
        if item.in_force.last_day is not None:
            last = self.tree.node("const", DATE, (), item.in_force.last_day.toordinal())
            node = self.tree.node(
                "and", YES_NO, (node, self.tree.node("le", YES_NO, (today, last)))
            )
        return node if applies is None else self.tree.node("and", YES_NO, (node, applies))

    # -- loads ---------------------------------------------------------------------------

    def load(self, item: Load) -> TypedLoad | None:
        """A load with its limits; None with its problems reported."""
        per = str(item.per)
        if per not in self.vocabulary.names.subjects:
            self.unknown("subject", item.per, self.vocabulary.names.subjects)
            return None
        scope = self.own_scope(per)
        load = self.mass(item.load, scope)
        if load is None:
            return None
        ledger = self.mass(item.ledger, scope)
        parts = [self.mass(part.mass, scope) for part in item.made_up_of]
        limits = [self.load_limit(limit, scope, load, ledger, item) for limit in item.limits]
        return TypedLoad(
            id=str(item.id),
            per=per,
            applies=self.expression(item.applies_if, scope, YES_NO),
            load=load,
            ledger=ledger,
            residual=self.less(load, ledger, item.ledger),
            parts=tuple(part for part in parts if part is not None),
            each=self.mass(item.left_for.each if item.left_for is not None else None, {}),
            limits=tuple(limit for limit in limits if limit is not None),
        )

    def load_limit(
        self,
        item: LoadLimit,
        scope: Mapping[str, str],
        load: Node,
        ledger: Node | None,
        of: Load,
    ) -> TypedLimit | None:
        limit = self.mass(item.limit, scope)
        room = self.less(limit, load, item.limit)
        if limit is None or room is None:
            return None
        return TypedLimit(
            id=str(item.id),
            in_place_of=str(item.in_place_of) if item.in_place_of is not None else None,
            applies=self.expression(item.applies_if, scope, YES_NO),
            limit=limit,
            room=room,
            ledger_room=self.less(limit, ledger, of.ledger),
        )

    def mass(self, text: Scalar | None, scope: Mapping[str, str]) -> Node | None:
        """The node of an expression that gives a mass, so that all rooms can be compared."""
        node = self.expression(text, scope)
        if node is not None and (node.type.kind != "quantity" or node.type.dimension != MASS):
            self.report("a load and its limits are masses", text, "give it in kg, t or lb")
            return None
        return node

    def less(self, whole: Node | None, taken: Node | None, at: Scalar | None) -> Node | None:
        """What is left of a mass when another, in the same condition, is taken off it."""
        if whole is None or taken is None or at is None:
            return None
        try:
            return addition(self.tree, "-", whole, taken, (0, 0))
        except TypeProblem as problem:
            self.report(problem.message, at, problem.hint)
            return None

    # -- bands -------------------------------------------------------------------------

    def ends(
        self, band: Band, scope: Mapping[str, str], measure: Node | None
    ) -> tuple[Node | None, Node | None]:
        given = [text for text in (band.over, band.over_or_at, band.up_to, band.under) if text]
        if given and measure is None:
            self.report("an end needs something that is measured", given[0], "add measures: …")
            return None, None
        if band.over is not None and band.over_or_at is not None:
            self.report("a band has one lower end: over, or from", band.over_or_at)
        if band.up_to is not None and band.under is not None:
            self.report("a band has one upper end: up_to, or under", band.under)
        low = self.end(band.over or band.over_or_at, scope, measure)
        high = self.end(band.up_to or band.under, scope, measure)
        if low is not None and high is not None and low.op == high.op == "const":
            a, b = self.tree.aligned(low, high)
            closed = band.over_or_at is not None and band.up_to is not None
            if a.value > b.value or (a.value == b.value and not closed):
                self.report("this band ends before it begins", band.up_to or band.under)
        return low, high

    def end(
        self, text: Scalar | None, scope: Mapping[str, str], measure: Node | None
    ) -> Node | None:
        node = self.expression(
            text, scope, Type("quantity", measure.type.dimension) if measure is not None else None
        )
        if node is None or measure is None or text is None:
            return None
        try:
            same_measure(measure, node, (0, len(text)), "compared with")
        except TypeProblem as problem:
            self.problems.append(
                Problem(problem.message, text.place_at(*problem.span), problem.hint)
            )
            return None
        return node

    def band(
        self,
        band: Band,
        ends: tuple[Node | None, Node | None],
        scope: Mapping[str, str],
        measure: Node | None,
    ) -> TypedBand:
        low_node, high_node = ends
        computed: list[Node] = []
        end_nodes: list[Node] = []
        constants: list[int | None] = []
        for end, is_low in ((low_node, True), (high_node, False)):
            constant = None
            if end is not None and measure is not None:
                open_end = band.over is not None if is_low else band.under is not None
                node = self.end_condition(measure, end, is_low, open_end)
                if end.op == "const":
                    constant = self.tree.rescale(end, measure.scale).value
                    end_nodes.append(node)
                else:
                    computed.append(node)
            constants.append(constant)
        conditions: list[Node] = []
        only_if = self.expression(band.only_if, scope, YES_NO)
        unless = self.expression(band.unless, scope, YES_NO)
        if only_if is not None:
            conditions.append(only_if)
        if unless is not None:
            conditions.append(negation(self.tree, unless))
        return TypedBand(
            outcome=BIT[str(band.outcome)],
            certification=str(band.certification) if band.certification else None,
            low=constants[0],
            low_closed=band.over_or_at is not None,
            high=constants[1],
            high_closed=band.up_to is not None,
            ends=tuple(end_nodes),
            extra=self.all_of([*computed, *conditions]),
            low_end=low_node,
            high_end=high_node,
            condition=self.all_of(conditions),
        )

    def all_of(self, conditions: list[Node]) -> Node | None:
        met: Node | None = None
        for condition in conditions:
            met = condition if met is None else self.tree.node("and", YES_NO, (met, condition))
        return met

    def end_condition(self, measure: Node, end: Node, is_low: bool, is_open: bool) -> Node:
        m, e = self.tree.aligned(measure, end)
        if is_low:
            # over e: not (m <= e); from e: e <= m
            node = self.tree.node("le", YES_NO, (m, e) if is_open else (e, m))
        else:
            # under e: not (e <= m); up to e: m <= e
            node = self.tree.node("le", YES_NO, (e, m) if is_open else (m, e))
        return negation(self.tree, node) if is_open else node


def compared(tree: syntax.Syntax, node: Node) -> tuple[Node | None, Node | None, int]:
    """What a plain comparison measures, its limit, and where the room lies."""
    if not isinstance(tree, syntax.Binary) or tree.operator not in ("<", "<=", ">", ">="):
        return None, None, 1
    inner = node.args[0] if node.op == "not" else node
    if inner.op != "le" or inner.args[0].type.kind != "quantity":
        return None, None, 1
    a, b = inner.args
    left, right = (a, b) if tree.operator in ("<=", ">") else (b, a)
    return left, right, 1 if tree.operator in ("<", "<=") else -1


def _unreadable(formula: syntax.Syntax) -> bool:
    return isinstance(formula, syntax.Name) and formula.name == "unreadable.formula"


def fraction(node: Node) -> Fraction:
    """The SI value of a constant node."""
    return Fraction(node.value) * node.scale
