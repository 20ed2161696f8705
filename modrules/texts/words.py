"""Words: the forms in which texts are compared, shown and digested.

Three forms of the same stretch of text are told apart. The *source* is what the
file holds. *Shown* words are for people: one line, no marks of emphasis, words that
were broken at a line end put together. *Plain* words are for comparing alone: they
also drop what typesetting may change without changing the law (the kind of quotation
mark, the kind of dash, the hyphen in a compound word).
"""

from __future__ import annotations

import hashlib
import re

# One character for one character, so that positions in the text stay what they were.
_QUOTES_AND_DASHES = {
    "‘": "'", "’": "'", "‚": "'", "‛": "'", "′": "'", "“": '"', "”": '"', "„": '"', "‟": '"',
    "″": '"', "«": '"', "»": '"', "‹": "'", "›": "'", "‐": "-", "‑": "-", "‒": "–", "−": "-",
    "―": "—", "…": " ", "•": " ", "·": " ",
}  # fmt: skip
_SPACES = "\u00a0\u1680\u202f\u205f\u3000" + "".join(map(chr, range(0x2000, 0x200B)))
_LIGATURES = {
    "ﬀ": "ff", "ﬁ": "fi", "ﬂ": "fl", "ﬃ": "ffi", "ﬄ": "ffl", "ﬅ": "st", "ﬆ": "st",
}  # fmt: skip
#: The lines of a box around words.
_BOX = "".join(map(chr, range(0x2500, 0x2580)))
_INVISIBLE = "\u200b\u200c\u200d\u2060\ufeff"

_REPLACED = {
    **dict.fromkeys(_SPACES + _BOX, " "), **dict.fromkeys(_INVISIBLE, ""), **_LIGATURES,
    "\u2028": "\n", "\u2029": "\n", "\x85": "\n", "\u00ad": "",
}  # fmt: skip
_ASCII = bytes(range(128))
#: Begins with what is looked for: a search for it is several times as fast as for the space.
_SPACE_AT_END = re.compile(r"\n(?<=[ \t]\n)")

_ANY_MARK = re.compile(r"[\[{<>#|+*`\\_=-]")
_TYPOGRAPHIC = re.compile(f"[{''.join(_QUOTES_AND_DASHES)}]")
LINK = re.compile(r"!?\[([^\[\]\n]{0,300})\]\([^()\s]{0,300}\)")
_ANCHOR = re.compile(r"[ \t]*\{#[\w.:-]{1,200}\}[ \t]*$", re.M)
_TAG = re.compile(
    r"</?(?:br|sup|sub|b|i|u|em|strong|span|p|div|a)(?:\s+[\w-]+\s*=[^<>]{0,200})?\s?/?>", re.I
)
_LINE_MARKS = re.compile(r"^[ \t]*([>#|+][>#|+ \t]*)", re.M)
#: Stars that emphasise, and none that multiplies: 2*25, 2 * 25.
_STARS = re.compile(r"\*(?!(?<=\d\*)\d)(?!(?<=[\w)\]] \*)[ \n][\w(])")
_EDGE_UNDERSCORE = re.compile(r"(?<![^\W_])_+|_+(?![^\W_])")
_RULE = re.compile(r"(?<!\S)(?=[:+]?[-=]{2}|:-|-:)[:+=-]++(?!\S)")
_TYPED_DASH = re.compile(r"-{2,}")
_BROKEN = re.compile(r"(?<=[a-z])-[ \t]*\n[ \t>]*(?=[a-z])")
_COMPOUND = re.compile(r"(?<=[^\W\d_])-\s*(?=[^\W\d_])")
_OPEN_HYPHEN = re.compile(r"(?<=\w)-\s+(?=\w)")
_LONE_DASH = re.compile(r"(?<!\S)-+(?!\S)|(?<=\w)-+(?!\S)")
_DIGIT_DASH = re.compile(r"(?<=\d)\s*–\s*(?=\d)")


def clean(source: str, encoded: bytes | None = None) -> str:
    """Text free of what no reader sees: kinds of line end and space, soft hyphens, ligatures.

    Lines keep their count and order; spaces at line ends are dropped. ``encoded`` is the same
    text in UTF-8, where that is at hand already.
    """
    if "\r" in source:
        source = source.replace("\r\n", "\n").replace("\r", "\n")
    if not source.isascii():
        # A soft hyphen at a line end is a broken word; anywhere else it is nothing.
        signs = _signs_in(encoded or source.encode("utf-8", "surrogatepass"))
        if "\u00ad" in signs:
            source = source.replace("\u00ad\n", "-\n")
        for sign in signs & _REPLACED.keys():
            source = source.replace(sign, _REPLACED[sign])
    if "\v" in source:
        source = source.replace("\v", "\n")
    if _SPACE_AT_END.search(source):
        source = re.sub(r"[ \t]+\n", "\n", source) if len(source) < 4096 else _strip_ends(source)
    return source


def _signs_in(encoded: bytes) -> set[str]:
    """The signs in a text beyond ASCII; much faster than looking for each of them in it."""
    return set(encoded.translate(None, _ASCII).decode("utf-8", "surrogatepass"))


def _strip_ends(source: str) -> str:
    # Line by line: a pattern would take quadratic time on a line of nothing but spaces.
    return "\n".join([line.rstrip(" \t") for line in source.split("\n")])


def _unmarked(source: str) -> str:
    """Without Markdown's marks: emphasis, headings, quotation and table bars, links, rules."""
    if _ANY_MARK.search(source) is None:
        return source  # as most words are: one look is faster than one for each mark
    if "](" in source:
        source = LINK.sub(r"\1", source)
    if "{#" in source:
        source = _ANCHOR.sub("", source)
    if "<" in source:
        source = _TAG.sub(" ", source)
    if ">" in source or "#" in source or "|" in source or "+" in source:
        source = _LINE_MARKS.sub(_line_mark, source).replace("|", " ")
    if "*" in source:
        source = _STARS.sub("", source)
    if "`" in source or "\\" in source:
        source = source.replace("`", "").replace("\\", "")
    if "_" in source:
        source = _EDGE_UNDERSCORE.sub("", source)
    if "--" in source or "==" in source:
        source = _RULE.sub(" ", source)
    return source


def _line_mark(match: re.Match[str]) -> str:
    """Nothing for a mark at the start of a line; the sign itself where it stands before a number.

    A number of a clause may stand before it on its line, or the line go on the one before.
    """
    mark, source, start = match[1].rstrip(" \t"), match.string, match.start()
    if mark not in (">", "+") or not source[match.end() : match.end() + 1].isdigit():
        return ""
    before = source[source.rfind("\n", 0, max(0, start - 1)) + 1 : max(0, start - 1)]
    quoted = start > 0 and mark == ">" and (not before or before.lstrip(" \t")[:1] == ">")
    return "" if quoted else match[0]


def shown(source: str) -> str:
    """The words as a person would read them, on one line."""
    return " ".join(_BROKEN.sub("", _unmarked(source)).split())


def plain(source: str) -> str:
    """The words in the form in which they are compared; never shown.

    A hyphen between letters is dropped, with any line end after it, since a hyphen at
    a line end cannot be told from one in a compound word.
    """
    source = _unmarked(source)
    if "--" in source:
        source = _TYPED_DASH.sub("–", source)
    if not source.isascii():
        for mark in set(_TYPOGRAPHIC.findall(source)):
            source = source.replace(mark, _QUOTES_AND_DASHES[mark])
        if "–" in source:
            source = _DIGIT_DASH.sub("-", source).replace("–", " ")
        source = source.replace("—", " ")
    if "-" in source:
        source = _COMPOUND.sub("", source)
        source = _OPEN_HYPHEN.sub("-", source)
        source = _LONE_DASH.sub(" ", source)
    return " ".join(source.split())


def digest_of(plain_words: str) -> str:
    """SHA-256 of plain words, as 64 hexadecimal digits."""
    return hashlib.sha256(plain_words.encode("utf-8", "surrogatepass")).hexdigest()


def places_of(quote: str, words: str, limit: int = 0) -> list[int]:
    """Where the plain ``quote`` stands in plain ``words``, as whole words; at most ``limit``."""
    found: list[int] = []
    if not quote:
        return found
    at = words.find(quote)
    while at >= 0:
        end = at + len(quote)
        whole_start = at == 0 or not (_in_word(words[at - 1]) and _in_word(quote[0]))
        whole_end = end == len(words) or not (_in_word(words[end]) and _in_word(quote[-1]))
        # "50 mm" must not be found in "1.50 mm", nor "1" in "1.5".
        if whole_start and quote[0].isdigit() and at > 1 and words[at - 1] in ".,":
            whole_start = not words[at - 2].isdigit()
        if whole_end and quote[-1].isdigit() and end + 1 < len(words) and words[end] in ".,":
            whole_end = not words[end + 1].isdigit()
        if whole_start and whole_end:
            found.append(at)
            if limit and len(found) >= limit:
                break
        at = words.find(quote, at + 1)
    return found


def _in_word(character: str) -> bool:
    return character.isalnum()
