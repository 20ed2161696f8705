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
    name: Annotated[str, "name of the program"]
    version: Annotated[str, "its version"]


#: Written as a call because ``from`` is a keyword.
InForce = TypedDict(
    "InForce",
    {
        "from": Annotated[Date | None, "the first day; null where none is stated"],
        "up_to": Annotated[Date | None, "the last day; null where no end is known"],
    },
)


class RulesetUsed(TypedDict):
    id: Annotated[str, "id of the ruleset"]
    title: Annotated[str, "what a person calls it"]
    edition: Annotated[str, "its edition"]
    digest: Annotated[str, "sha256 over its content, however it is laid out"]
    in_force: Annotated[InForce, "between which days it is in force"]


class TextUsed(TypedDict):
    id: Annotated[str, "id of the text"]
    title: Annotated[str, "what a person calls it"]
    edition: Annotated[str, "its edition"]
    digest: Annotated[str, "empty where the text was not supplied"]
    supplied: Annotated[bool, "whether a copy of it was at hand, so that citations were looked up"]


class SubmissionUsed(TypedDict):
    title: Annotated[str, "as the submission calls itself; empty where it does not"]
    digest: Annotated[str, "sha256 over its content, however it is laid out"]
    vehicle: Annotated[dict[str, str], "what identifies the vehicle: label to text"]
    unidentified: Annotated[list[str], "labels of what would identify it and was not given"]
    standard: Annotated[list[str], "titles of the systems declared as standard"]


class Answer(TypedDict):
    best: Annotated[Outcome, "the answer if everything still open turns out well"]
    worst: Annotated[Outcome, "the answer if everything still open turns out badly"]


class Quantity(TypedDict):
    value: Annotated[Number | None, "null where it is not known exactly"]
    unit: Annotated[str, "empty for a plain number"]
    low: NotRequired[Annotated[Number | None, "the least that it may be; null: no end is known"]]
    high: NotRequired[Annotated[Number | None, "the most that it may be; null: no end is known"]]


class Citation(TypedDict):
    text: Annotated[str, "id of the text"]
    title: Annotated[str, "what a person calls the text"]
    edition: Annotated[str, "edition of the text"]
    clause: Annotated[str, "number of the clause, as the check cites it"]
    quote: Annotated[str, "words that the check says stand there; empty where it quotes none"]
    status: Annotated[
        Status,
        "whether those words stand in the supplied text, against what the check was written on",
    ]
    excerpt: Annotated[str, "the clause's own words, where the text was supplied"]
    lines: Annotated[
        list[int] | None,
        (("minItems", 2), ("maxItems", 2)),
        "first and last line of the excerpt in the supplied text; null without one",
    ]
    digest: Annotated[str, "digest of the words that it rests on; empty where it was not found"]
    pages: NotRequired[
        Annotated[
            list[int] | None,
            (("minItems", 2), ("maxItems", 2)),
            "first and last page of the clause, in texts with pages; null in others",
        ]
    ]
    note: NotRequired[Annotated[str, "more on the status: where it moved, how the words changed"]]


class Finding(TypedDict):
    ruleset: Annotated[str, "id of the ruleset of the check"]
    check: Annotated[str, "id of the check; with its ruleset in front where there are several"]
    title: Annotated[str, "what a person calls the check"]
    about: Annotated[list[str], "kinds of modification, or vehicle"]
    subject: Annotated[str, "what it is about, such as axle front or vehicle"]
    modifications: Annotated[list[str], "ids of the modifications that it bears on"]
    possible: Annotated[
        list[Outcome],
        (("minItems", 1), ("uniqueItems", True)),
        "the outcomes still possible, from harmless to worst; one where it is decided",
    ]
    message: Annotated[str, "the finding in one sentence"]
    measured: Annotated[
        Quantity | None, "what was measured; null where nothing is, or nothing is known of it"
    ]
    limit: Annotated[Quantity | None, "what it was compared with; null where there is no one limit"]
    margin: Annotated[
        Quantity | None,
        "positive: room left, up to the nearest limit; negative: over; of a range, at worst",
    ]
    working: Annotated[list[str], "formulas with the numbers put in, line by line"]
    missing: Annotated[
        list[Address], "what could still change it: facts, and lists that are not given in whole"
    ]
    precision: Annotated[str | None, "how precisely a fact must be known to settle this"]
    assumed: Annotated[list[Address], "facts whose declared range alone decided this"]
    exemption: Annotated[str | None, "which exemption fired, and why"]
    reason: Annotated[str | None, "why it is open, where no missing fact alone is to blame"]
    citations: Annotated[list[Citation], "the clauses that it rests on"]
    certification: Annotated[str | None, "id of the first certification that it requires, or may"]
    question: Annotated[str | None, "what a certifier must judge"]
    caution: Annotated[str | None, "what to be careful about"]
    advice: Annotated[str | None, "what is advised"]


class ModificationCertification(TypedDict):
    id: Annotated[str, "id of the certification"]
    state: Annotated[State, "how it stands with it"]


class GivenFact(TypedDict):
    fact: Annotated[str, "id of the fact, such as modification.part_maker"]
    title: Annotated[str, "what a person calls the fact"]
    value: Annotated[str, "as it was written"]


class LookAt(TypedDict):
    look_at: Annotated[str, "what is to be looked at, in words"]
    done: Annotated[str, "inspection or road_test"]


class Modification(TypedDict):
    id: Annotated[str, "id in the submission"]
    kind: Annotated[str, "its kind"]
    title: Annotated[str, "as the submission calls it, else the title of its kind"]
    answer: Annotated[Answer | None, "null where the ruleset says nothing about it"]
    covered: Annotated[bool, "whether any check applies to it; if none does, that is no permission"]
    planned: Annotated[bool, "no date of fitting in the past is given"]
    facts: Annotated[list[GivenFact], "what was said of it"]
    look_at: Annotated[list[LookAt], "what it bears on, to be looked at on the vehicle"]
    certifications: Annotated[list[ModificationCertification], "those that it requires, or may"]
    missing: Annotated[list[Address], "what settles most of it first, its own facts before others"]


class Cause(TypedDict):
    check: Annotated[str, "id of the check that asks for it"]
    subject: Annotated[str, "what that finding is about"]


class Evidence(TypedDict):
    document: Annotated[str, "id of the item of evidence"]
    title: Annotated[str, "what a person calls it"]
    supplied: Annotated[bool, "whether a document surely supplies it for all that it is needed for"]
    by: Annotated[str | None, "id of the document in the submission"]
    given_by: Annotated[str, "who gives it; empty where the ruleset does not say"]
    settle: Annotated[Settle, "when it must be at hand, of work that is planned"]


class Certification(TypedDict):
    id: Annotated[str, "id of the certification"]
    title: Annotated[str, "what a person calls it"]
    kind: Annotated[
        Literal["plate", "certificate"], "whether it is a plate on the vehicle or a paper"
    ]
    state: Annotated[State, "how it stands with it"]
    because_of: Annotated[list[Cause], "the findings that ask for it"]
    issued_by: Annotated[str, "who grants it; empty where the ruleset does not say"]
    approval_before_work: Annotated[bool, "whether it must be dated on or before the fitting"]
    citations: Annotated[list[Citation], "who grants it, or what it takes"]
    evidence: Annotated[list[Evidence], "what it takes, and what of it is at hand"]
    note: Annotated[str, "what is to be added to its state; empty where nothing is"]


class Room(TypedDict):
    fact: Address
    title: Annotated[str, "what a person calls the fact"]
    covered: Annotated[Quantity, "up to this value"]
    now: Annotated[Quantity | None, "null where it is not known"]
    room: Annotated[Quantity | None, "how far it may still go; less than 0: by how much it is past"]
    within: Annotated[bool, "whether what was done surely stays within it"]


class Document(TypedDict):
    id: Annotated[str, "id in the submission"]
    title: Annotated[str, "as the submission calls it, else its id"]
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
    title: Annotated[str, "what a person calls the limit"]
    set_by: Annotated[str, "what document sets it, by the ruleset"]
    document: Annotated[str, "that document, by the submission; empty where it is not told"]
    mass: Annotated[Quantity | None, "null where none is stated"]
    state: Annotated[
        Literal["in force", "perhaps in force", "replaced", "none stated"], "whether it counts now"
    ]
    in_place_of: Annotated[str | None, "id of the limit that it replaces"]
    room: Annotated[Quantity | None, "positive: room left; negative: over"]
    binds: Binds
    bound_before: Annotated[Binds, "the same by the limits that nothing has replaced yet"]
    missing: Annotated[list[Address], "what could still change it"]


class LoadPart(TypedDict):
    title: Annotated[str, "what a person calls the part"]
    mass: Annotated[Quantity | None, "its mass; null where it is not known"]


class LeftFor(TypedDict):
    title: Annotated[str, "what the room is left for"]
    one: Annotated[str, "what is counted, such as person; empty where nothing is"]
    many: Annotated[str, "what several of them are called"]
    each: Annotated[Quantity | None, "the mass of one of them"]
    source: Annotated[str, "where the mass of one comes from; empty where it is not told"]
    at_least: Annotated[int | None, "so many of them surely; null where it is not known"]
    at_most: Annotated[int | None, "so many of them at best; null where it is not known"]


class Load(TypedDict):
    ruleset: Annotated[str, "id of the ruleset that has it"]
    load: Annotated[str, "id of the load"]
    title: Annotated[str, "what a person calls it"]
    subject: Annotated[str, "what carries or draws it, such as axle front or vehicle"]
    certain: Annotated[bool, "false where it is open whether there is such a load at all"]
    mass: Annotated[Quantity | None, "as weighed"]
    made_up_of: Annotated[list[LoadPart], "what goes into it, one by one"]
    ledger: Annotated[Quantity | None, "by the list of parts"]
    residual: Annotated[Quantity | None, "as weighed, less what the list of parts comes to"]
    by_ledger: Annotated[bool, "rooms are by the list of parts, since it was not weighed"]
    room: Annotated[Quantity | None, "under whichever limit leaves least"]
    left_for: Annotated[LeftFor | None, "for a planned load; null for one in use"]
    limits: Annotated[list[LoadLimit], "every limit on it, in the order of the ruleset"]
    missing: Annotated[list[Address], "what could still change its mass"]


#: Written as a call because ``with`` is a keyword.
Measurement = TypedDict(
    "Measurement",
    {
        "fact": Address,
        "title": Annotated[str, "what a person calls the fact"],
        "value": Annotated[str, "as it was written"],
        "quantity": Annotated[Quantity | None, "null where it is no number, or none is stated"],
        "by": Annotated[str, "who measured it; empty where it is not told, so with the rest"],
        "on": Annotated[str, "on which day"],
        "with": Annotated[str, "with what"],
        "condition": Annotated[str, "in which condition it was measured"],
        "source": Annotated[str, "where it is written"],
        "note": Annotated[str, "what was said of it besides"],
        "wanted": Annotated[str, "the condition in which it is to be measured"],
    },
)


class Missing(TypedDict):
    fact: Address
    title: Annotated[str, "what a person calls the fact or list"]
    question: Annotated[str, "the question to ask for it"]
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
    system: Annotated[str, "the word by which a submission declares it standard"]
    title: Annotated[str, "what a person calls it"]


class Report(TypedDict):
    engine: Annotated[Engine, "what made the report"]
    on: Annotated[Date, "the day of which the rules were taken"]
    rulesets: Annotated[
        list[RulesetUsed],
        (("minItems", 1),),
        "the rulesets that were screened against, in the order asked for",
    ]
    texts: Annotated[list[TextUsed], "the texts that their citations lead to"]
    submission: Annotated[SubmissionUsed, "what was screened"]
    answer: Annotated[Answer, "both ends of the whole answer: the worst of all findings"]
    findings: Annotated[list[Finding], "what each check came to, ruleset by ruleset"]
    modifications: Annotated[
        list[Modification], "the answer of each modification, in the order of the submission"
    ]
    certifications: Annotated[
        list[Certification], "every plate or certificate that is or may be required"
    ]
    documents: Annotated[list[Document], "as supplied, in the order of the submission"]
    loads: Annotated[list[Load], "every load with its limits"]
    measurements: Annotated[list[Measurement], "every measured value given"]
    missing: Annotated[list[Missing], "most decisive first"]
    not_looked_at: Annotated[
        list[NotLookedAt],
        "systems neither declared standard nor modified; nothing is said about them",
    ]
    cautions: Annotated[list[str], "whole sentences to be heeded whatever the answer"]
