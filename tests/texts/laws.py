"""Laws made up at random, to be printed in many ways; for the property tests."""

from __future__ import annotations

import itertools
from dataclasses import dataclass, replace

from hypothesis import strategies as st

_SOME_WORDS = """
vehicle tyre wheel axle spring damper frame body load mass brake light seat owner plate road
examiner height width track guard hub stud nut must may not be fitted carried measured tested
fixed with without every other front rear steel off-road four-wheel two- and load-carrying
sound clear worn new heavy under-run
"""
WORDS = tuple(_SOME_WORDS.split())
REFERENCES = (
    "under clause 2.1", "in section 3(1)", "as paragraphs (a) and (b) say", "(see 1.2)",
    "by 50 mm or more", "for the purposes of subsection (2)", "of clauses 1.1, 1.2 and 2.1",
    "in Part 2", "at 1.5 times the load", "and clause 3 or (b)",
)  # fmt: skip


@dataclass(frozen=True)
class Node:
    """A clause: its words, where a list comes next a lead-in, and the clauses in it."""

    words: tuple[str, ...]
    inside: tuple[Node, ...] = ()
    closing: tuple[str, ...] = ()


def phrases(least: int = 3, most: int = 25) -> st.SearchStrategy[tuple[str, ...]]:
    words = st.lists(st.sampled_from(WORDS), min_size=least, max_size=most)
    extra = st.lists(st.sampled_from(REFERENCES), max_size=1)

    def mix(parts: tuple[list[str], list[str]]) -> tuple[str, ...]:
        middle = len(parts[0]) // 2
        return tuple(" ".join((*parts[0][:middle], *parts[1], *parts[0][middle:])).split())

    return st.tuples(words, extra).map(mix)


def laws(closings: bool = True) -> st.SearchStrategy[tuple[Node, ...]]:
    """Sections with subsections with paragraphs with subparagraphs."""
    plain = st.builds(Node, phrases())
    closing = st.one_of(st.just(()), phrases(3, 12)) if closings else st.just(())

    def holder(inner: st.SearchStrategy[Node]) -> st.SearchStrategy[Node]:
        listed = st.lists(inner, min_size=2, max_size=4).map(tuple)
        return st.one_of(plain, st.builds(Node, phrases(), listed, closing))

    paragraph = holder(plain)
    subsection = holder(paragraph)
    section = st.builds(
        Node, phrases(1, 4), st.lists(subsection, min_size=1, max_size=3).map(tuple)
    )
    return st.lists(section, min_size=1, max_size=4).map(tuple)


STYLES = (
    ("({})", ("1", "2", "3", "4")),
    ("({})", ("a", "b", "c", "d")),
    ("({})", ("i", "ii", "iii", "iv")),
)


@dataclass(frozen=True)
class Block:
    """One paragraph to print: its number, the full number of its clause, and its words."""

    label: str
    number: str
    words: tuple[str, ...]
    heading: bool = False


def blocks_of(law: tuple[Node, ...], first: int = 1) -> list[Block]:
    """The paragraphs of a law in order, its sections numbered from ``first``."""
    blocks: list[Block] = []
    for count, section in enumerate(law, first):
        title = (section.words[0].capitalize(), *section.words[1:])
        blocks.append(Block(str(count), str(count), title, heading=True))
        _add(blocks, section, str(count), 0)
    return blocks


def _add(blocks: list[Block], node: Node, number: str, level: int) -> None:
    style, labels = STYLES[min(level, 2)]
    for label, child in zip(labels, node.inside, strict=False):
        printed = style.format(label)
        words = child.words
        if level == 0:
            words = (words[0].capitalize(), *words[1:])
        if child.inside:
            end = ":"
        elif level == 0:
            end = "."
        else:
            end = "; or" if child is node.inside[0] else ";"
        blocks.append(Block(printed, number + printed, (*words[:-1], words[-1] + end)))
        _add(blocks, child, number + printed, level + 1)
        if child.closing and child.inside:
            closing = ("unless", *child.closing)
            blocks.append(Block("", number + printed, (*closing[:-1], closing[-1] + ".")))


def lines_of(block: Block, width: int, hyphenate: bool = False) -> list[str]:
    """A paragraph in lines of a width; broken words have a hyphen where asked for."""
    lines: list[str] = []
    line = block.label
    for word in block.words:
        room = width - len(line) - 1
        if not line or len(word) <= room or block.heading:
            line = f"{line} {word}".strip()
            continue
        if hyphenate and room > 3 and word.isalpha() and len(word) > 5:
            cut = min(room - 1, len(word) - 2)
            lines.append(f"{line} {word[:cut]}-")
            line = word[cut:]
        else:
            lines.append(line)
            line = word
    return [*lines, line]


def printed(law: tuple[Node, ...], width: int = 72, hyphenate: bool = False, first: int = 1) -> str:
    blocks = blocks_of(law, first)
    return "\n\n".join("\n".join(lines_of(b, width, hyphenate)) for b in blocks) + "\n"


def on_pages(law: tuple[Node, ...], width: int, rows: int, head: str) -> str:
    """The law on pages with a running head and a page number."""
    lines: list[str] = []
    for block in blocks_of(law):
        lines += [*lines_of(block, width), ""]
    pages: list[str] = []
    while lines:
        page = lines[:rows]
        lines = lines[rows:]
        number = len(pages) + 1
        pages.append("\n".join([f"{head}", "", *page, "", f"{'- ' + str(number) + ' -':>30}", ""]))
    return "\f".join(pages)


def with_distinct_words(law: tuple[Node, ...]) -> tuple[Node, ...]:
    """No two lines are alike: at the edges of pages they would be taken for running lines."""
    count = itertools.count()

    def letters(number: int) -> str:
        return "".join("aeioubcdfg"[int(digit)] for digit in f"{number:03}")

    in_references = {word for reference in REFERENCES for word in reference.split()}

    def told(words: tuple[str, ...], all_of_them: bool = False) -> tuple[str, ...]:
        return tuple(
            f"{w}{letters(next(count))}"
            if w in WORDS and (all_of_them or w not in in_references)
            else w
            for w in words
        )

    def distinct(node: Node, heading: bool = False) -> Node:
        # A heading that ends in "with" reads like a sentence that goes on over the page.
        words = told(node.words, heading)
        return Node(words, tuple(map(distinct, node.inside)), told(node.closing))

    return tuple(distinct(node, heading=True) for node in law)


def with_word(law: tuple[Node, ...], path: tuple[int, ...], word: str) -> tuple[Node, ...]:
    """The law with one word of the clause at ``path`` (as far as there is one) swapped."""
    at = path[0] % len(law)
    node = law[at]
    if len(path) > 1 and node.inside:
        changed = replace(node, inside=with_word(node.inside, path[1:], word))
    else:
        changed = replace(node, words=(*node.words[:-1], word))
    return (*law[:at], changed, *law[at + 1 :])
