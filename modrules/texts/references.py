"""References in running text: what must not be taken for the number of a clause."""

from __future__ import annotations

import re

_NOUNS = """
article articles item items point points clause clauses section sections paragraph paragraphs
subsection subsections subclause subclauses subparagraph subparagraphs regulation regulations
rule rules part parts schedule schedules annex annexes appendix appendices table tables figure
figures note notes column columns row rows step steps option options limb limbs standard
standards condition conditions requirement requirements chapter chapters division divisions
"""
_SHORT = "cl cls s ss reg regs r rr para paras art arts sec no nos fig cf sch pt e.g i.e"
_SMALL_WORDS = """
in of to by with under at see from both than per for the a an is are was be not on into about
least most exceed exceeds exceeding over only between within through
"""
# Words after which a number is a reference, or at least no clause that begins there.
_ABBREVIATIONS = frozenset(_SHORT.split())
_WORDS = frozenset(_NOUNS.split()) | frozenset(_SMALL_WORDS.split()) | _ABBREVIATIONS
_AND_OR = re.compile(r"(?:\A|[^\w])(?:and|or|and/or|but|then)\Z", re.I)
# "(a) and" or "4.2 or" at a line's end: the next number is one more reference.
_NUMBER_AND = re.compile(r"(?:\d|\([0-9A-Za-z]{1,4}\)),?\s(?:and|or|to)\Z")


def ends_in_reference(words: str) -> bool:
    """Whether the words that end a line make a number on the next one a reference."""
    last = words.rpartition(" ")[2]
    if not last:
        return False
    if last[-1] == ".":
        return last[:-1].lower() in _ABBREVIATIONS  # any other full stop ends a sentence
    return last[-1] in "(/§" or last.lower() in _WORDS or _NUMBER_AND.search(words) is not None


def joins(words: str) -> bool:
    """Whether words end in ``and`` or ``or``."""
    return _AND_OR.search(words) is not None
