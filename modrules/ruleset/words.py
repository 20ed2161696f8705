"""The fixed words of the format: outcomes, types of facts, sections; light to import."""

from __future__ import annotations

import re

#: What a check may come to, from harmless to worst.
OUTCOMES = (
    "not applicable",
    "complies",
    "exempt",
    "certified",
    "caution",
    "inspect",
    "certification required",
    "not permitted",
)
#: What a band may come to: "certified" is never written, it follows from a document held.
BAND_OUTCOMES = tuple(outcome for outcome in OUTCOMES if outcome != "certified")
#: What a requirement that is not met may come to.
UNMET_OUTCOMES = ("caution", "inspect", "certification required", "not permitted")

#: Types of facts that are measured, and so have a unit and a range.
MEASURED_TYPES = (
    "length",
    "distance",
    "area",
    "volume",
    "mass",
    "speed",
    "force",
    "torque",
    "pressure",
    "angle",
    "temperature",
    "power",
    "period",
)
#: Types of facts that are numbers, and so have a range.
NUMBER_TYPES = ("count", "number", *MEASURED_TYPES)
#: All types of facts.
FACT_TYPES = ("yes_no", "word", "text", "tyre_marking", "date", *NUMBER_TYPES)

#: When something can first be settled, of work that is planned.
SETTLE = ("before_buying", "before_fitting", "after_fitting")

#: The sections of a ruleset, in the order in which they build on each other.
SECTIONS = (
    "conditions",
    "word_sets",
    "subjects",
    "kinds",
    "facts",
    "quantities",
    "tables",
    "loads",
    "certifications",
    "texts",
    "checks",
)
#: What one item of a section is called in a message.
ITEM_NAMES = {
    "conditions": "condition",
    "word_sets": "word set",
    "subjects": "subject",
    "kinds": "kind",
    "facts": "fact",
    "quantities": "quantity",
    "tables": "table",
    "loads": "load",
    "certifications": "certification",
    "texts": "text",
    "checks": "check",
}

#: The keys of a worked case, in the order in which they are written.
CASE_KEYS = ("case", "of", "source", "given", "subject", "on", "expect")

SNAKE = r"[a-z][a-z0-9]*(?:_[a-z0-9]+)*"
#: Names that stand in expressions: lower_snake_case.
SNAKE_NAME = re.compile(SNAKE)
#: Names of facts and quantities: two or more of these with dots.
DOTTED_NAME = re.compile(rf"{SNAKE}(?:\.{SNAKE})+")
#: A number of things.
COUNT = re.compile(r"[1-9][0-9]{0,2}")
#: Ids that stand outside expressions: lower-case with hyphens.
HYPHEN_NAME = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
