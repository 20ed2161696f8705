"""The shape of the JSON report: every renderer reads this and nothing else.

These types are the one declaration of the report. The JSON Schema is made from them
(``schema.py``), and so is the order of the keys in the file (``as_json.py``). Text
that does not apply is ``""`` or ``None`` as declared; a list that does not apply is empty.
A note on a type is a description, or further keywords of the schema as pairs.
"""

# No ``from __future__ import annotations`` here: the schema is read off the live types.

from typing import Annotated, Literal, NotRequired, TypedDict, get_args

#: From harmless to worst; the order is the meaning.
Outcome = Literal[
    "not applicable",
    "complies",
    "exempt",
    "certified",
    "caution",
    "inspect",
    "certification required",
    "not permitted",
]
OUTCOMES: tuple[Outcome, ...] = get_args(Outcome)
#: How bad an outcome is: its place in the order, from 0.
RANK: dict[str, int] = {outcome: rank for rank, outcome in enumerate(OUTCOMES)}

State = Literal["required", "held", "open", "held but does not cover"]
Status = Literal["found", "same", "moved", "changed", "gone", "ambiguous", "not supplied"]
#: When something can first be settled, or must be, of work that is planned.
Settle = Literal["before_buying", "before_fitting", "after_fitting"]
Number = int | float
Date = Annotated[str, (("pattern", r"^\d{4}-\d{2}-\d{2}$"),)]
Address = Annotated[str, "address of a fact, such as axles.front.tyre.marking"]


class Engine(TypedDict):
    name: str
    version: str


#: Written as a call because ``from`` is a keyword.
InForce = TypedDict("InForce", {"from": Date | None, "up_to": Date | None})


class RulesetUsed(TypedDict):
    id: str
    title: str
    edition: str
    digest: str
    in_force: InForce


class TextUsed(TypedDict):
    id: str
    title: str
    edition: str
    digest: Annotated[str, "empty where the text was not supplied"]
    supplied: bool


class SubmissionUsed(TypedDict):
    title: str
    digest: str
    vehicle: Annotated[dict[str, str], "what identifies the vehicle: label to text"]
    unidentified: Annotated[list[str], "labels of what would identify it and was not given"]
    standard: Annotated[list[str], "titles of the systems declared as standard"]


class Answer(TypedDict):
    best: Annotated[Outcome, "the answer if everything still open turns out well"]
    worst: Annotated[Outcome, "the answer if everything still open turns out badly"]


class Quantity(TypedDict):
    value: Annotated[Number | None, "null where it is not known exactly"]
    unit: Annotated[str, "empty for a plain number"]
    low: NotRequired[Number | None]
    high: NotRequired[Number | None]


class Citation(TypedDict):
    text: Annotated[str, "id of the text"]
    title: str
    edition: str
    clause: str
    quote: str
    status: Status
    excerpt: Annotated[str, "the clause's own words, where the text was supplied"]
    lines: Annotated[list[int] | None, (("minItems", 2), ("maxItems", 2))]
    digest: str
    pages: NotRequired[
        Annotated[list[int] | None, "where the clause starts and ends, in texts with pages",
                  (("minItems", 2), ("maxItems", 2))]
    ]  # fmt: skip
    note: NotRequired[Annotated[str, "more on the status: where it moved, how the words changed"]]


class Finding(TypedDict):
    ruleset: str
    check: str
    title: str
    about: Annotated[list[str], "kinds of modification, or vehicle"]
    subject: str
    modifications: list[str]
    possible: Annotated[list[Outcome], (("minItems", 1), ("uniqueItems", True))]
    message: str
    measured: Quantity | None
    limit: Quantity | None
    margin: Annotated[Quantity | None, "positive: room left; negative: over"]
    working: list[str]
    missing: list[Address]
    precision: Annotated[str | None, "how precisely a fact must be known to settle this"]
    assumed: Annotated[list[Address], "facts whose declared range alone decided this"]
    exemption: Annotated[str | None, "which exemption fired, and why"]
    reason: Annotated[str | None, "why it is open, where no missing fact alone is to blame"]
    citations: list[Citation]
    certification: str | None
    question: Annotated[str | None, "what a certifier must judge"]
    caution: str | None
    advice: str | None


class ModificationCertification(TypedDict):
    id: str
    state: State


class GivenFact(TypedDict):
    fact: Annotated[str, "id of the fact, such as modification.part_maker"]
    title: str
    value: Annotated[str, "as it was written"]


class LookAt(TypedDict):
    look_at: str
    done: Annotated[str, "inspection or road_test"]


class Modification(TypedDict):
    id: str
    kind: str
    title: str
    answer: Annotated[Answer | None, "null where the ruleset says nothing about it"]
    covered: bool
    planned: Annotated[bool, "no date of fitting in the past is given"]
    facts: Annotated[list[GivenFact], "what was said of it"]
    look_at: Annotated[list[LookAt], "what it bears on, to be looked at on the vehicle"]
    certifications: list[ModificationCertification]
    missing: Annotated[list[Address], "what settles most of it first, its own facts before others"]


class Cause(TypedDict):
    check: str
    subject: str


class Evidence(TypedDict):
    document: str
    title: str
    supplied: bool
    by: Annotated[str | None, "id of the document in the submission"]
    given_by: Annotated[str, "who gives it; empty where the ruleset does not say"]
    settle: Annotated[Settle, "when it must be at hand, of work that is planned"]


class Certification(TypedDict):
    id: str
    title: str
    kind: Literal["plate", "certificate"]
    state: State
    because_of: list[Cause]
    issued_by: Annotated[str, "who grants it; empty where the ruleset does not say"]
    approval_before_work: bool
    citations: Annotated[list[Citation], "who grants it, or what it takes"]
    evidence: list[Evidence]
    note: str


class Room(TypedDict):
    fact: Address
    title: str
    covered: Annotated[Quantity, "up to this value"]
    now: Annotated[Quantity | None, "null where it is not known"]
    room: Annotated[Quantity | None, "how far it may still go; less than 0: by how much it is past"]
    within: Annotated[bool, "whether what was done surely stays within it"]


class Document(TypedDict):
    id: str
    title: str
    what: Annotated[str, "its kind, and what it is put forward as"]
    issuer: Annotated[str, "empty where it is not stated"]
    number: Annotated[str, "empty where it is not stated"]
    issued: Annotated[str | None, "a day, or the first and last that it may be"]
    expires: Annotated[str | None, "a day, or the first and last that it may be"]
    covers: Annotated[list[str], "what it says that it covers"]
    used_for: Annotated[list[str], "what it is accepted for"]
    problems: Annotated[list[str], "whole sentences"]
    certification: Annotated[str | None, "the certification that it is put forward as"]
    void: Annotated[list[str], "what voids it as things stand, or may: whole sentences"]
    room: Annotated[list[Room], "each value up to which it covers"]


Binds = Annotated[
    Literal["yes", "perhaps", "no"], "whether it leaves the least room of all loads in use"
]


class LoadLimit(TypedDict):
    limit: Annotated[str, "id among the limits of the load"]
    title: str
    set_by: Annotated[str, "what document sets it, by the ruleset"]
    document: Annotated[str, "that document, by the submission; empty where it is not told"]
    mass: Annotated[Quantity | None, "null where none is stated"]
    state: Literal["in force", "perhaps in force", "replaced", "none stated"]
    in_place_of: Annotated[str | None, "id of the limit that it replaces"]
    room: Annotated[Quantity | None, "positive: room left; negative: over"]
    binds: Binds
    bound_before: Annotated[Binds, "the same by the limits that nothing has replaced yet"]
    missing: list[Address]


class LoadPart(TypedDict):
    title: str
    mass: Quantity | None


class LeftFor(TypedDict):
    title: str
    one: Annotated[str, "what is counted, such as person; empty where nothing is"]
    many: Annotated[str, "what several of them are called"]
    each: Annotated[Quantity | None, "the mass of one of them"]
    source: str
    at_least: Annotated[int | None, "so many of them surely; null where it is not known"]
    at_most: Annotated[int | None, "so many of them at best; null where it is not known"]


class Load(TypedDict):
    ruleset: str
    load: str
    title: str
    subject: str
    certain: Annotated[bool, "false where it is open whether there is such a load at all"]
    mass: Annotated[Quantity | None, "as weighed"]
    made_up_of: list[LoadPart]
    ledger: Annotated[Quantity | None, "by the list of parts"]
    residual: Annotated[Quantity | None, "as weighed, less what the list of parts comes to"]
    by_ledger: Annotated[bool, "rooms are by the list of parts, since it was not weighed"]
    room: Annotated[Quantity | None, "under whichever limit leaves least"]
    left_for: Annotated[LeftFor | None, "for a planned load; null for one in use"]
    limits: list[LoadLimit]
    missing: list[Address]


#: Written as a call because ``with`` is a keyword.
Measurement = TypedDict(
    "Measurement",
    {
        "fact": Address,
        "title": str,
        "value": Annotated[str, "as it was written"],
        "quantity": Annotated[Quantity | None, "null where it is no number, or none is stated"],
        "by": Annotated[str, "empty where it is not told; so with the rest"],
        "on": str,
        "with": str,
        "condition": str,
        "source": str,
        "note": str,
        "wanted": Annotated[str, "the condition in which it is to be measured"],
    },
)


class Missing(TypedDict):
    fact: Address
    title: str
    question: str
    measure: Annotated[str, "how to measure it, or where to find it"]
    unit: Annotated[str | None, "null where it is no number"]
    given: Annotated[bool, "it is given, but not exactly enough"]
    now: Annotated[str, "what is known of it"]
    precision: Annotated[str, "how precisely to measure it again; empty where that is not known"]
    settle: Annotated[Settle | None, "when it can first be settled, of work that is planned"]
    line: Annotated[str, "how it is written in a submission; the figures are an example"]
    under: Annotated[str, "where that line goes; empty for a list, which stands by itself"]
    decides: Annotated[int, (("minimum", 0),), "number of open findings that it bears on"]
    findings: Annotated[list[str], "the checks of these findings"]


class NotLookedAt(TypedDict):
    system: str
    title: str


class Report(TypedDict):
    engine: Engine
    on: Date
    rulesets: Annotated[list[RulesetUsed], (("minItems", 1),)]
    texts: list[TextUsed]
    submission: SubmissionUsed
    answer: Answer
    findings: list[Finding]
    modifications: list[Modification]
    certifications: list[Certification]
    documents: Annotated[list[Document], "as supplied, in the order of the submission"]
    loads: Annotated[list[Load], "every load with its limits"]
    measurements: Annotated[list[Measurement], "every measured value given"]
    missing: Annotated[list[Missing], "most decisive first"]
    not_looked_at: list[NotLookedAt]
    cautions: list[str]
