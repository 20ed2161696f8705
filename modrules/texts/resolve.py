"""Resolving citations: from a clause's number and a quotation to the words themselves."""

from __future__ import annotations

from dataclasses import dataclass

from modrules.texts import outline as ol
from modrules.texts.near import near
from modrules.texts.several import Listed, listed
from modrules.texts.text import Text
from modrules.texts.words import clean, digest_of, places_of, plain, shown

FOUND, SAME, MOVED, CHANGED, GONE, AMBIGUOUS, NOT_SUPPLIED = (
    "found", "same", "moved", "changed", "gone", "ambiguous", "not supplied",
)  # fmt: skip
#: Every word that the status of a citation may be.
STATUS_WORDS = (FOUND, SAME, MOVED, CHANGED, GONE, AMBIGUOUS, NOT_SUPPLIED)
#: With one of these a citation rests on words that do not stand as it has them.
DOUBTFUL = (CHANGED, GONE, AMBIGUOUS)

#: With these words a note begins to name what the index doubts.
IN_DOUBT = "the index is in doubt here"

MOST_EXCERPT = 2000  # characters of an excerpt; a longer clause is cut, and shows that it is
MOST_CANDIDATES = 20
MOST_DOUBTS = 3  # told of one clause


@dataclass(frozen=True, slots=True)
class Excerpt:
    """What a citation leads to.

    ``status``: found (the clause and the quotation stand), changed (the clause is
    there, the quotation does not stand in it), gone (no such clause), ambiguous
    (``candidates`` lists what may be meant), not supplied (there is no text); pins add
    same and moved. ``excerpt`` holds the words, for an item with those that introduce
    and close its list. ``lines``: first and last line in the file. ``digest``: of the
    words that the citation rests on, "" without a clause. ``note`` says more, such as
    what the index doubts of the clause or of what it stands in.
    """

    text: str
    clause: str
    quote: str
    status: str
    excerpt: str = ""
    lines: tuple[int, int] | None = None
    digest: str = ""
    candidates: tuple[str, ...] = ()
    note: str = ""
    pages: tuple[int, int] | None = None


def resolve(text: Text | None, clause: str, quote: str = "") -> Excerpt:
    """Look a citation up in a text; ``clause`` may be "" to cite by quotation alone.

    Never raises: what cannot be resolved says so in its status.
    """
    if text is None:
        return Excerpt("", clause, quote, NOT_SUPPLIED, note="the text was not supplied")
    wanted = plain(clean(quote))
    if quote and not wanted:
        return Excerpt(text.id, clause, quote, GONE, note="the quotation holds no words")
    if not clause.strip():
        return _by_quotation(text, clause, quote, wanted)
    indices, said = text.lookup.find(clause)
    if not indices:
        in_list = listed(text.lookup, clause)
        return _several(text, clause, quote, in_list) if in_list is not None else _gone(
            text, clause, quote, wanted
        )  # fmt: skip
    holding = [i for i in indices if not wanted or stands_in(text, i, wanted)]
    if len(holding) == 1 and (len(indices) == 1 or wanted):
        several = f"{len(indices)} clauses have this number; the quotation stands in one of them"
        note = _joined(said, several if len(indices) > 1 else "")
        return excerpt_of(text, holding[0], clause, quote, FOUND, note)
    if len(indices) > 1:
        return _ambiguous(text, clause, quote, holding or indices, "this number")
    return _changed(text, indices[0], clause, quote, wanted)


def index_of(text: Text, clause: str, quote: str = "") -> int | None:
    """The position of the one clause that a citation leads to; None where there is not one.

    A quotation that does not stand in the clause does not matter here; 0 is the front
    matter, which only a quotation can lead to.
    """
    wanted = plain(clean(quote))
    if not clause.strip():
        found = text.wording.clauses_with(wanted, 2) if wanted else []
        return found[0] if len(found) == 1 else None
    indices = text.find(clause)
    if len(indices) > 1 and wanted:
        indices = [index for index in indices if stands_in(text, index, wanted)]
    return indices[0] if len(indices) == 1 else None


def excerpt_of(text: Text, index: int, clause: str, quote: str, status: str,
               note: str = "") -> Excerpt:  # fmt: skip
    """The excerpt of the clause at a position of the outline, with a given status."""
    words = _excerpt_words(text, index)
    if len(words) > MOST_EXCERPT:
        inner = _innermost(text, index, plain(clean(quote))) if quote else index
        words = _excerpt_words(text, inner) if inner != index else words
        words = _cut(words)
    return Excerpt(
        text.id, clause, quote, status, words, text.lines_of(index),
        digest_of(text.wording.rests_on(index)), (), _joined(note, doubt_of(text, index)),
        text.pages_of(index),
    )  # fmt: skip


def doubt_of(text: Text, index: int) -> str:
    """What the index doubts of a clause, what is in it and what it stands in; "" for nothing.

    For the front matter it is what the index doubts there.
    """
    doubts = text.doubts_at(index)
    if not doubts:
        return ""
    own = text.name_of(index)
    around = {text.name_of(outer) for outer in text.lookup.outwards(text.outline.parents[index])}
    doubts.sort(key=lambda doubt: 0 if doubt.clause == own else 2 if doubt.clause in around else 1)
    listed = "; ".join(
        f"{doubt.message} ({doubt.clause or 'outside any clause'}, line {doubt.line})"
        for doubt in doubts[:MOST_DOUBTS]
    )
    more = f"; and {len(doubts) - MOST_DOUBTS} more" if len(doubts) > MOST_DOUBTS else ""
    return f"{IN_DOUBT}: {listed}{more}"


def _joined(*notes: str) -> str:
    return "; ".join(note for note in notes if note)


def stands_in(text: Text, index: int, quote: str) -> bool:
    """Whether a plain quotation stands in a clause, its lead-in and closing words included."""
    if places_of(quote, text.wording.plain_words_of(index), 1):
        return True
    label = plain(text.wording.label_of(index))
    around = text.wording.rests_on(index)
    with_label = f"{label} {text.wording.plain_words_of(index)}"
    return bool(places_of(quote, around, 1) or places_of(quote, with_label, 1))


def _excerpt_words(text: Text, index: int) -> str:
    out = text.outline
    _, owners, firsts = text.wording.stretches
    before, after = text.wording.frame_of(index)
    parts: list[str] = []
    last = before[0] - 1 if before else 0
    for number in before:
        if number != last + 1:
            parts.append("…")
        last = number
        owner = owners[number]
        if out.kinds[owner] == ol.ITEM and firsts[owner] == number:
            parts.append(text.wording.label_of(owner))
        parts.append(text.wording.words_in(number) or shown(text.wording.source(number)))
    if before and before[-1] + 1 != firsts[index]:
        parts.append("…")
    label = text.wording.label_of(index)
    if out.kinds[index] == ol.ITEM and (before or after):
        parts.append(label)
    parts.append(text.wording.words_of(index))
    last = text.wording.stretches_of(index)[-1]
    for number in after:
        if number != last + 1:
            parts.append("…")
        last = number
        parts.append(text.wording.words_in(number))
    return " ".join(part for part in parts if part)


def _cut(words: str) -> str:
    if len(words) <= MOST_EXCERPT:
        return words
    return words[: words.rfind(" ", 0, MOST_EXCERPT)] + " …"


def _innermost(text: Text, index: int, quote: str) -> int:
    for inner in text.wording.clauses_with(quote, 200):
        if text.outline.starts[index] <= text.outline.starts[inner] < text.outline.ends[index]:
            return inner
    return index


def _by_quotation(text: Text, clause: str, quote: str, wanted: str) -> Excerpt:
    if not wanted:
        return Excerpt(
            text.id, clause, quote, GONE, note="neither a clause nor a quotation is cited"
        )
    found = text.wording.clauses_with(wanted, 1000)
    if not found:
        return Excerpt(
            text.id, clause, quote, GONE, note="the quotation stands nowhere in the text"
        )
    if len(found) > 1:
        return _ambiguous(text, clause, quote, found, "this quotation")
    if found[0] == 0:
        note = _joined("the quotation stands outside any clause", doubt_of(text, 0))
        return Excerpt(
            text.id, clause, quote, FOUND, shown(quote), None, digest_of(wanted), (), note
        )
    name = text.name_of(found[0])
    return excerpt_of(text, found[0], clause, quote, FOUND, f"stands in {name}")


def _ambiguous(text: Text, clause: str, quote: str, indices: list[int], what: str) -> Excerpt:
    names = tuple(text.name_of(index) or "(front matter)" for index in indices[:MOST_CANDIDATES])
    lines = ", ".join(str(text.lines_of(index)[0]) for index in indices[:MOST_CANDIDATES])
    note = f"{what} stands in {len(indices)} places, on lines {lines}"
    if len(indices) > MOST_CANDIDATES:
        note += f" and {len(indices) - MOST_CANDIDATES} more"
    return Excerpt(text.id, clause, quote, AMBIGUOUS, candidates=names, note=note)


def _several(text: Text, clause: str, quote: str, several: Listed) -> Excerpt:
    names = tuple(text.name_of(index) for index in several.indices)
    count = len(names)
    note = (
        f"a citation is to one clause, and this names {count} of them: {_few(list(names))}"
        if several.whole and count > 1
        else f"a citation is to one clause, and this names several, of which only "
        f"{_few(list(names))} can be found"
    )
    return Excerpt(text.id, clause, quote, AMBIGUOUS, candidates=names[:MOST_CANDIDATES], note=note)


def _changed(text: Text, index: int, clause: str, quote: str, wanted: str) -> Excerpt:
    elsewhere = [text.name_of(i) for i in text.wording.clauses_with(wanted, 50) if i]
    note = "the quotation does not stand in the clause"
    if elsewhere:
        note += f"; it stands in {_few(elsewhere)}"
    plainly = excerpt_of(text, index, clause, "", CHANGED, note)
    return Excerpt(text.id, clause, quote, CHANGED, plainly.excerpt, plainly.lines, plainly.digest,
                   tuple(elsewhere[:MOST_CANDIDATES]), plainly.note, plainly.pages)  # fmt: skip


def _gone(text: Text, clause: str, quote: str, wanted: str) -> Excerpt:
    quoted = text.wording.clauses_with(wanted, 50) if wanted else []
    candidates = [text.name_of(i) for i in quoted if i]
    note = "there is no such clause"
    if candidates:
        note += f"; the quotation stands in {_few(candidates)}"
    else:
        candidates = [text.name_of(i) for i in near(text.lookup, clause)[:MOST_CANDIDATES]]
        note += f"; near it there is {_few(candidates)}" if candidates else ""
    return Excerpt(text.id, clause, quote, GONE, candidates=tuple(candidates[:MOST_CANDIDATES]),
                   note=note)  # fmt: skip


def _few(names: list[str]) -> str:
    """The first few of some clauses, and how many more there are."""
    more = f" and {len(names) - 3} more" if len(names) > 3 else ""
    return ", ".join(names[:3]) + more
