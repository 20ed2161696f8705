"""The models of everything that a ruleset holds: frozen, with exactly the keys of the format.

    Head       ruleset.yaml: what the ruleset is, and its sections
    Sections   a listed file: sections alone
    Condition WordSet Subject Kind Fact Quantity Table Certification TextSource Check
               the items of the sections, each with ``.id`` and ``.place``
    Band Exemption Citation SetAside Range Period Key Column Evidence BuildsOn Removal
               their parts, each with ``.place``

Texts, names and expressions are ``Scalar``: a str that knows its place. An expression stays
text here. Where YAML has a key that Python reserves, the attribute has another name: ``from``
is ``low`` in a range, ``over_or_at`` in a band, ``first_day`` in a period, ``estimate`` in a
fact; the opposite ends are ``high``, ``up_to``, ``last_day``.

Importing this module imports pydantic and builds the models; do so when a ruleset is loaded.
"""

from __future__ import annotations

from datetime import date
from typing import Annotated, Any, Self

from pydantic import (
    BaseModel,
    ConfigDict,
    Field,
    model_validator,
)

from modrules.problems import Place
from modrules.ruleset.model_types import (
    Cell,
    Count,
    Day,
    DottedName,
    Expression,
    Flag,
    HyphenName,
    Label,
    OneOrList,
    Prose,
    SnakeName,
    choice,
    many,
    maybe,
    needed,
)
from modrules.ruleset.tree import Scalar
from modrules.ruleset.words import (
    BAND_OUTCOMES,
    FACT_TYPES,
    SECTIONS,
    SETTLE,
    UNMET_OUTCOMES,
)


class Model(BaseModel):
    """What all models share: immutable, and no key that the format does not have."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    @property
    def place(self) -> Place:
        """Where it stands: the place of the first of its texts."""
        for name in type(self).model_fields:
            value = getattr(self, name)
            if isinstance(value, Scalar):
                return value.place
        return Place("")


class Item(Model):
    """An item of a section."""

    id: Any
    replaces: Flag = Field(
        default=False,
        description="Replaces the item with this id of the ruleset that this one builds on.",
    )

    @property
    def place(self) -> Place:
        """Where its id stands."""
        place: Place = self.id.place
        return place


class Range(Model):
    """The stretch in which a value lies, both ends included."""

    low: Expression = needed("Smallest value, with its unit.", alias="from")
    high: Expression = needed("Largest value, with its unit.", alias="to")


class Period(Model):
    """Dates between which something is in force, both included."""

    first_day: Day = needed("First day, YYYY-MM-DD.", alias="from")
    last_day: Day | None = maybe("Last day, YYYY-MM-DD; left out: no end is known.", alias="up_to")

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if self.last_day is not None and self.last_day < self.first_day:
            raise ValueError(f"this ends on {self.last_day}, before it begins on {self.first_day}")
        return self

    def holds(self, on: date) -> bool:
        """Whether it is in force ``on`` that date."""
        return self.first_day <= on and (self.last_day is None or on <= self.last_day)


class Citation(Model):
    """A clause of a text, and words that must stand in it."""

    text: HyphenName = needed("Id of the text.")
    clause: Label = needed("Number of the clause, in quotes.")
    quote: Prose | None = maybe("Words that stand in the clause, exactly.")


Citations = Annotated[tuple[Citation, ...], Field(min_length=1), OneOrList()]
Names = Annotated[tuple[SnakeName, ...], Field(min_length=1), OneOrList()]


class Condition(Item):
    """A condition of measurement, such as unladen."""

    id: SnakeName = needed("Name of the condition, lower_snake_case.")
    title: Prose = needed("What the condition is, in words.")


class WordSet(Item, title="Word set"):
    """A set of words that a fact may take."""

    id: SnakeName = needed("Name of the word set, lower_snake_case.")
    words: tuple[SnakeName, ...] = needed("The words, lower_snake_case.", min_length=1)


class Subject(Item):
    """Something that facts are about: the vehicle, an axle, a seat."""

    id: SnakeName = needed("Name of the subject, lower_snake_case.")
    title: Prose = needed("What a person calls it.")
    list: SnakeName | None = maybe(
        "Key of the list in a submission, where there may be several; left out: exactly one."
    )
    most: Count | None = maybe(
        "How many of a list a submission may name, as many as a vehicle can have; left out: 100."
    )
    as_built: Flag = Field(
        default=False, description="Whether all of it comes from the maker and no work changes it."
    )
    whole_if: Expression | None = maybe(
        "Condition, over the entries given, without which more of them are taken to be on the "
        "vehicle than the list names; left out: a list that is given names all of them."
    )


class Kind(Item):
    """A kind of modification, and a subject of that name."""

    id: SnakeName = needed("Name of the kind, lower_snake_case.")
    title: Prose = needed("What a person calls it.")
    system: SnakeName | None = maybe(
        "Word by which a submission declares this system standard; left out: the id."
    )
    also_called: tuple[Prose, ...] = many(
        "Other words that people use for it; who writes one as the kind is told the right one."
    )


class Fact(Item):
    """A named, typed input."""

    id: DottedName = needed("Name: the subject, a dot, and the fact (further dots nest).")
    title: Prose = needed("What a person calls it.")
    type: choice(FACT_TYPES) = needed("Type of its values.")  # type: ignore[valid-type]
    words: SnakeName | None = maybe("Word set, for the type word.")
    listed_in: SnakeName | None = maybe(
        "Table with one key that lists every value there is, for the type text."
    )
    unit: Prose | None = maybe("Unit, for measured types.")
    condition: SnakeName | None = maybe("Condition of measurement.")
    range: Range | None = maybe("Range in which every value lies; needed for numbers.")
    usual: Range | None = maybe("Range outside which a value draws a caution.")
    none_stated: Flag = Field(default=False, description="Whether the maker may state none.")
    safety: Flag = Field(
        default=False,
        description="On ratings, brakes, steering, restraints: never decided by its range alone.",
    )
    identifies: Flag = Field(
        default=False, description="Whether it tells this vehicle from others; sheets show it."
    )
    as_built: Flag = Field(
        default=False,
        description="Whether the vehicle has it from its maker and no work changes it: no way out.",
    )
    past: Flag = Field(
        default=False,
        description="Whether a date has come when it is given; one after the day of the screening "
        "draws a caution.",
    )
    estimate: Expression | None = maybe("Estimate from other facts.", alias="from")
    estimate_tolerance: Expression | None = maybe(
        "How far the estimate may be off: a share (1.5 %) or a quantity."
    )
    settle: choice(SETTLE) | None = maybe(  # type: ignore[valid-type]
        "When it can first be settled for planned work: before_buying, where the part that is "
        "chosen decides it; before_fitting, where the vehicle shows it only until then."
    )
    question: Prose = needed("Plain question that asks an owner for it.")
    measure: Prose | None = maybe("How it is measured or where it is found.")


class Quantity(Item):
    """A value derived from facts."""

    id: DottedName = needed("Name: the subject, a dot, and the quantity.")
    title: Prose = needed("What a person calls it.")
    unit: Prose | None = maybe("Unit in which it is shown.")
    formula: Expression = needed("Expression that gives it.")
    holds: Expression | None = maybe(
        "Condition under which its source holds; elsewhere the quantity has no value."
    )
    source: Prose = needed("Where the formula comes from.")


class Key(Model):
    """A key column of a table."""

    id: SnakeName = needed("Name of the key, lower_snake_case.")
    type: choice(FACT_TYPES) = needed("Type of its values.")  # type: ignore[valid-type]
    words: SnakeName | None = maybe("Word set, for the type word.")
    unit: Prose | None = maybe("Unit, for measured types.")
    match: choice(("exact", "up_to")) = Field(  # type: ignore[valid-type]
        default_factory=lambda: Scalar("exact"),
        description="exact, or up_to: the first row whose key is at least the value asked for.",
    )


class Column(Model):
    """A value column of a table."""

    id: SnakeName = needed("Name of the column, lower_snake_case.")
    type: choice(FACT_TYPES) = needed("Type of its values.")  # type: ignore[valid-type]
    words: SnakeName | None = maybe("Word set, for the type word.")
    unit: Prose | None = maybe("Unit, for measured types.")


class Table(Item):
    """Values to look up."""

    id: SnakeName = needed("Name of the table, lower_snake_case.")
    title: Prose = needed("What the table gives.")
    source: Prose = needed("Where its values come from.")
    keys: tuple[Key, ...] = needed("Key columns.", min_length=1)
    columns: tuple[Column, ...] = needed("Value columns.", min_length=1)
    rows: tuple[tuple[Cell, ...], ...] = needed("Rows: the keys, then the values.", min_length=1)


class LoadPart(Model):
    """A piece of what a load is made up of."""

    title: Prose = needed("What a person calls the piece.")
    mass: Expression = needed("Expression that gives it.")


class LeftFor(Model):
    """What the room under the limits of a load is left for."""

    title: Prose = needed("What it is left for, such as people and gear.")
    each: Expression | None = maybe("Mass of one of those that are counted, such as 80 kg.")
    one: Prose | None = maybe("What one of those is called, such as person.")
    many: Prose | None = maybe("What several of them are called, such as people.")
    source: Prose | None = maybe("Where that mass comes from.")


class LoadLimit(Model):
    """A limit on a load, and the document that sets it."""

    id: HyphenName = needed("Id among the limits of this load.")
    title: Prose = needed("What a person calls the limit.")
    set_by: Prose = needed("Document that sets it: maker's plate, tyre marking, certificate.")
    limit: Expression = needed("Expression that gives it; no value: none is stated.")
    applies_if: Expression | None = maybe("Condition without which there is no such limit.")
    in_place_of: HyphenName | None = maybe("Id of the limit that it replaces where it applies.")


class Load(Item):
    """A mass that something carries or draws, and every limit on it."""

    id: HyphenName = needed("Id, lower-case with hyphens.")
    title: Prose = needed("What carries how much, in a few words.")
    per: SnakeName = needed("Subject of which each has such a load.")
    applies_if: Expression | None = maybe("Condition without which there is no such load.")
    load: Expression = needed("Expression that gives the mass, as weighed.")
    ledger: Expression | None = maybe("The same mass by the list of parts.")
    made_up_of: tuple[LoadPart, ...] = many("Its pieces, which add up to it.")
    left_for: LeftFor | None = maybe(
        "What the room is left for; such a load is planned and competes with none in use."
    )
    limits: tuple[LoadLimit, ...] = needed("Every limit on it.", min_length=1)


class Evidence(Model):
    """One item of evidence that a certification takes."""

    id: HyphenName = needed("Id, by which a submission names the document.")
    title: Prose = needed("What the document is.")
    given_by: Prose | None = maybe("Who gives it, as: the maker of the springs.")
    settle: choice(SETTLE) | None = maybe(  # type: ignore[valid-type]
        "When it must be at hand for planned work; left out: before_fitting where the approval "
        "comes before the work, else after_fitting."
    )


class Certification(Item):
    """A kind of plate or certificate."""

    id: HyphenName = needed("Id, lower-case with hyphens.")
    title: Prose = needed("What it is called.")
    kind: choice(("plate", "certificate")) = needed("plate or certificate.")  # type: ignore[valid-type]
    covered_by: tuple[HyphenName, ...] = many("Ids of higher certifications that also do.")
    approval_before_work: Flag = Field(
        default=False, description="Whether it must be dated on or before the fitting date."
    )
    issued_by: Prose | None = maybe("Who grants it, and so whom to ask.")
    cites: Citations = Field(
        default=(), description="Clauses that say who grants it or what it takes."
    )
    evidence: tuple[Evidence, ...] = many("What it takes.")


class SetAside(Model, title="Clause set aside"):
    """A clause of which no check is to be made."""

    clause: Label = needed("Number of the clause, in quotes.")
    reason: Prose = needed("Why no check is made of it.")


class TextSource(Item, title="Text"):
    """A text that citations name."""

    id: HyphenName = needed("Id, lower-case with hyphens.")
    title: Prose = needed("What the text is called.")
    edition: Label = needed("Which edition is cited.")
    file: Prose | None = maybe("File of the shipped copy, in this folder.")
    set_aside: tuple[SetAside, ...] = many("Clauses of which no check is to be made.")


class Exemption(Model):
    """A condition under which a requirement that is not met is excused."""

    condition: Expression = needed("Condition of the exemption.")
    cites: Citations = needed("Clause that grants it, or a list of them.")


class Band(Model):
    """A stretch of the measured quantity with one outcome."""

    over: Expression | None = maybe("Lower end, not included.")
    over_or_at: Expression | None = maybe("Lower end, included.", alias="from")
    up_to: Expression | None = maybe("Upper end, included.")
    under: Expression | None = maybe("Upper end, not included.")
    outcome: choice(BAND_OUTCOMES) = needed("What a value in this band comes to.")  # type: ignore[valid-type]
    certification: HyphenName | None = maybe("Which one, where the outcome requires one.")
    only_if: Expression | None = maybe("Condition under which the band counts.")
    unless: Expression | None = maybe("Condition under which the band does not count.")


class Check(Item):
    """One question about one subject."""

    id: HyphenName = needed("Id, lower-case with hyphens.")
    title: Prose = needed("What the check is about, in a few words.")
    about: Names = needed("Kind of modification it is filed under, a list of them, or vehicle.")
    per: Annotated[tuple[SnakeName, ...], Field(min_length=1, max_length=2), OneOrList()] = needed(
        "Subject that each finding is about, or a pair of subjects."
    )
    applies_if: Expression | None = maybe("Condition without which it is not applicable.")
    requires: Expression | None = maybe("What must be so.")
    exempt_if: tuple[Exemption, ...] = many("Conditions that excuse it.")
    otherwise: choice(UNMET_OUTCOMES) | None = maybe(  # type: ignore[valid-type]
        "What it comes to if the requirement is not met; left out: not permitted."
    )
    measures: Expression | None = maybe("What the bands divide.")
    bands: tuple[Band, ...] = many("Bands; the first that matches counts.")
    unfinished: Flag = Field(
        default=False,
        description="Still being written: where it applies, every outcome stays possible, whatever "
        "rule stands beside this.",
    )
    certification: HyphenName | None = maybe("Which one, where `otherwise` requires one.")
    question: Prose | None = maybe("What the certifier judges; needed where one inspects.")
    caution: Prose | None = maybe("Said wherever this check may bite.")
    advice: Prose | None = maybe("What a person can do about it.")
    in_force: Period | None = maybe("Screening dates on which it counts.")
    cites: Citations = needed("Clause it rests on, or a list of them.")


class BuildsOn(Model, title="Reference to the ruleset underneath"):
    """The ruleset underneath."""

    ruleset: HyphenName | None = maybe("Id of a shipped ruleset; give its edition too.")
    folder: Prose | None = maybe("Folder of the ruleset, inside this one.")
    edition: Label | None = maybe("Edition that this ruleset builds on.")


class Removal(Model):
    """An item of the ruleset underneath that is withdrawn."""

    section: choice(SECTIONS) = needed("Section of the item.")  # type: ignore[valid-type]
    id: Label = needed("Id of the item.")
    reason: Prose = needed("Why it is withdrawn.")


class Sections(Model, title="Listed file"):
    """A listed file: any of the sections."""

    conditions: tuple[Condition, ...] = many("Conditions of measurement.")
    word_sets: tuple[WordSet, ...] = many("Sets of words.")
    subjects: tuple[Subject, ...] = many("What facts are about.")
    kinds: tuple[Kind, ...] = many("Kinds of modification.")
    facts: tuple[Fact, ...] = many("Inputs.")
    quantities: tuple[Quantity, ...] = many("Derived values.")
    tables: tuple[Table, ...] = many("Tables.")
    loads: tuple[Load, ...] = many("Loads and their limits.")
    certifications: tuple[Certification, ...] = many("Plates and certificates.")
    texts: tuple[TextSource, ...] = many("Texts that citations name.")
    checks: tuple[Check, ...] = many("Checks.")


class Head(Sections, title="Ruleset"):
    """The file ruleset.yaml: what the ruleset is, and any of the sections."""

    ruleset: HyphenName = needed("Id of the ruleset, lower-case with hyphens.")
    title: Prose = needed("What the ruleset is called.")
    edition: Label = needed("Edition, in quotes.")
    in_force: Period = needed("Dates on which this edition is in force.")
    builds_on: BuildsOn | None = maybe("The ruleset underneath.")
    files: tuple[Prose, ...] = many("Further files of this ruleset, in this folder.")
    editions: tuple[Label, ...] = many("Subfolders that hold other editions.")
    cautions: tuple[Prose, ...] = many("Said on every report that uses this ruleset.")
    removes: tuple[Removal, ...] = many("Items of the ruleset underneath that are withdrawn.")
