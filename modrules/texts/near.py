"""Near misses: the clauses that may be meant by a citation that leads to none."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

from modrules.texts import outline as ol
from modrules.texts.citations import Wanted, canonical, heading_key, read_citation, tidy
from modrules.texts.lookup import Lookup, signs, without_words
from modrules.texts.spelling import numbered_words, without_silent_words

_FIRST_WORDED = re.compile(r"[A-Za-z]{1,20}\.?\s\(?[A-Z]{0,2}\d")
_FIRST_NUMBER = re.compile(r"(?:\A|(?<=\s)|(?<=[§¶]))\(?[A-Z]{0,2}\d")


def near(lookup: Lookup, clause: str) -> list[int]:
    """The clauses that may be meant by a citation that leads to none, the likeliest first."""
    wanted = read_citation(clause)
    if not wanted.keys and not wanted.term:
        if alike := lookup.by_signs.get(signs(without_silent_words(tidy(clause)))):
            return alike
        # What is counted may have no number: it is told, with what is around it.
        if (counted := numbered_words(clause)) != clause and (
            found := lookup.led_to(read_citation(counted))
        ):
            around = (lookup.outline.parents[index] for index in found)
            return [*found, *(index for index in around if index)]
        for rest, words in without_words(tidy(clause)):
            if found := lookup.led_to(read_citation(rest)):
                known = lookup.called_by(heading_key(words)) or lookup.led_to(read_citation(words))
                return list(dict.fromkeys((*found, *known)))
        for number in (_FIRST_WORDED.search(clause), _FIRST_NUMBER.search(clause)):
            rest = clause[number.start() :] if number is not None else ""
            read = read_citation(rest)
            if found := lookup.led_to(read):
                return found
            if read.keys:
                break
    if wanted.term:
        return lookup.defined(replace(wanted, within=())) or _near_words(
            lookup, wanted.term, terms=True
        )
    if wanted.words:
        return _near_words(lookup, wanted.words)
    key = wanted.keys[0] if wanted.keys else ""
    alike = lookup.by_signs.get(signs(canonical(clause)), [])
    return (
        list(alike)
        or list(lookup.by_signs.get(signs(key), []))
        or list(lookup.by_signs.get(signs(_one(key)), []))
        or _in_group(lookup, key)
        or _inside_schedules(lookup, key)
        or _elsewhere(lookup, wanted)
        or _around(lookup, key)
    )


def _elsewhere(lookup: Lookup, wanted: Wanted) -> list[int]:
    """The clauses with the number that stand in other parts than the one that is named."""
    return [index for key in wanted.keys for index in lookup.having(key)]


def _one(key: str) -> str:
    """Part 1 for Part I and Part I for Part 1, which may be the letter's."""
    return re.sub(r"(?<=[a-z] )(?:1|I)(?=,|\Z)", lambda one: "I1"[one[0] == "I"], key)


def _in_group(lookup: Lookup, key: str) -> list[int]:
    """The clauses that stand under one number with others: 5 in 4-7."""
    count = int(key) if key.isdigit() and len(key) < 6 else -1
    groups = ((re.fullmatch(r"(\d{1,5})-(\d{1,5})", each), index)
              for index, each in enumerate(lookup.outline.keys) if count >= 0)  # fmt: skip
    return [index for group, index in groups
            if group is not None and int(group[1]) <= count <= int(group[2])]  # fmt: skip


def _inside_schedules(lookup: Lookup, key: str) -> list[int]:
    """The clauses with this number inside schedules, annexes and appendices."""
    outer = [k for k, kind in zip(lookup.outline.keys, lookup.outline.kinds, strict=True)
             if kind == ol.ANNEX]  # fmt: skip
    return [index for name in outer for index in lookup.having(f"{name}, {key}")]


def _around(lookup: Lookup, key: str) -> list[int]:
    """The clause that would hold a number, and those that stand before and after it there."""
    for outer in _shorter(key):
        if found := lookup.having(outer):
            return found
    beside = re.fullmatch(r"(.*?)(\d+)([A-Za-z]{0,2})", key, re.S)
    if beside is None:
        return []
    pattern = re.compile(re.escape(beside[1]) + r"(\d+)[A-Za-z]{0,2}", re.S)
    counts = [(int(match[1]), index) for index, key in enumerate(lookup.outline.keys)
              if (match := pattern.fullmatch(key)) is not None]  # fmt: skip
    before = [each for each in counts if each[0] <= int(beside[2])]
    after = [each for each in counts if each[0] > int(beside[2])]
    return [index for _, index in (*sorted(before)[-1:], *sorted(after)[:1])]


def _near_words(lookup: Lookup, words: str, terms: bool = False) -> list[int]:
    """Headings and terms, or terms alone, that begin with some words or are spelt like them."""
    from difflib import get_close_matches

    names: dict[str, list[int]] = {}
    for index, kind in enumerate(lookup.outline.kinds):
        if kind == ol.HEADING and not terms:
            names.setdefault(lookup.outline.keys[index], []).append(index)
    for index, term in lookup.outline.terms.items():
        names.setdefault(heading_key(term), []).append(index)
    for known in (lookup.terms, {} if terms else lookup.headings):
        for name, indices in known.items():
            names.setdefault(name, []).extend(indices)
    if not any(sign.isalpha() for sign in words):
        return []
    begun = [name for name in names if re.match(re.escape(words) + r"(?!\w)", name)]
    # Numbers in the words tell what is meant: no other number is like it.
    figures = _figures(words)
    like = [name for name in list(names)[:5000] if _figures(name) == figures]
    close = begun or get_close_matches(words, like, n=3, cutoff=0.75)
    return list(dict.fromkeys(index for name in close for index in names[name]))


def _shorter(key: str) -> Iterator[str]:
    """The numbers of the clauses that would be around one: 4.2(b)(i), 4.2(b), 4.2, 4."""
    while cut := re.fullmatch(r"(.+?)(?:\([^()]*\)|[.,-]\s?[^.,()-]*|(?<=\d)[A-Za-z]+)", key, re.S):
        key = cut[1]
        yield key


def _figures(words: str) -> list[str]:
    return re.findall(r"\d+|\b[a-z]\b", words)
