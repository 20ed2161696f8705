"""How long indexing, comparing and resolving take, as ratios to a plain pass over the lines.

Run: python -m tests.texts.benchmark
"""

from __future__ import annotations

import random
import re
import textwrap
import time
from collections.abc import Callable

from modrules.texts import compare, resolve, text_from
from modrules.texts.markers import CANDIDATE
from modrules.texts.outline import outline

SIZE = 1_000_000
_SOME_WORDS = """
the vehicle tyre overall diameter of a wheel fitted must not exceed largest listed on placard by
more than load rating axle measured over tread unladen with full tank suspension spring height
engine brake light seat anchorage belt certificate plate owner inspector approval
"""
WORDS = _SOME_WORDS.split()
PLAIN_NUMBER = re.compile(r"\s*(?:\d+(?:\.\d+)*|\([a-z]+\))\s")


def law_of(size: int, words_of_an_item: int, seed: int = 1) -> str:
    """A made-up law of a size, wrapped at 80 characters."""
    chance = random.Random(seed)

    def words(least: int, most: int) -> str:
        return " ".join(chance.choice(WORDS) for _ in range(chance.randint(least, most)))

    parts: list[str] = []
    length = section = 0
    most = words_of_an_item
    while length < size:
        section += 1
        lines = [f"## {section} {words(3, 3).capitalize()}", ""]
        for part in range(1, 6):
            lines += [f"### {section}.{part} {words(4, 4).capitalize()}", ""]
            for number in range(1, 4):
                lines += textwrap.wrap(f"({number}) {words(most // 2, 2 * most).capitalize()}—", 80)
                lines.append("")
                for letter in "abcd":
                    lines += textwrap.wrap(f"({letter}) {words(most // 3, most)};", 80)
                lines.append("")
        text = "\n".join(lines) + "\n"
        parts.append(text)
        length += len(text)
    return "".join(parts)[:size]


#: What a text may repeat to make reading it slow, by what it is.
HOSTILE = {
    "numbers that repeat": "1. a\n",
    "numbers apart": "1 A\n\n",
    "items": "(a) b;\n",
    "items of every kind": "(h) x;\n(i) y;\n\n",
    "items in a row": "(a)(i)(A)(1) x\n\n",
    "deep numbers": "1.1.1.1.1.1.1.1.1.1.1.1.1 x\n\n",
    "spaces": " " * 40,
    "spaces in lines": " " * 400 + "\n",
    "quotation bars": "> > > > > >\n",
    "run-in lists": "must (a) x; (b) y; ",
    "run-in references": " (a) (b) ",
    "quotation marks": '"a ',
    "quoted lines": '"aaaa bbbb\n',
    "emphasis": "**a** x\n",
    "headings": "# Same\n\n",
    "plain headings": "Heading\n\n",
    "fences": "```\n",
    "underlines": "Words\n---\n\n",
    "notes": "Note: x\n\n(a) y;\n",
    "definitions": "a b means c.\n\n",
    "tables": "Table 1 X\n\n| a | b |\n| c | d |\n\n",
    "table lines": "a  b\n",
    "schedules": "Schedule 1 X\n\n1 Y\n\n",
    "parts": "Part 1 X\n\n1 Y\n\n",
    "form feeds": "x\n\f",
    "page numbers": "Page 1\n\n",
    "means": "means ",
    "closing lines": "(a) x;\n\nand so on.\n\n",
    "indented closing lines": "  (a) x;\nand so on.\n",
    "brackets": "(" * 50,
    "digits": "1" * 50,
    "dots": "1." * 50,
    "section signs": "§ 1 X\n\n",
    "tables of contents": "Contents\n\nA\n\nB\n\nC\n\n",
}  # fmt: skip
HOSTILE_HTML = (
    "<a ",
    "<!--",
    "<script>",
    "<1",
    "</",
    "<![",
    "<p>",
    "<ol><li>x",
    "&#",
    "<b",
    '<a ="',
)


def best(run: Callable[[], object], times: int = 9) -> float:
    """The least processor time of several runs, in milliseconds."""
    found: list[float] = []
    for _ in range(times):
        start = time.process_time()
        run()
        found.append(time.process_time() - start)
    return min(found) * 1000


def pass_over_lines(source: str, pattern: re.Pattern[str]) -> int:
    """What everything is measured by: split into lines, match one pattern on each."""
    match = pattern.match
    return sum(1 for line in source.splitlines() if match(line))


def main() -> None:
    for name, words in (("dense", 35), ("ordinary", 80)):
        source = law_of(SIZE, words)
        body = "\n" + source
        one = best(lambda s=source: pass_over_lines(s, PLAIN_NUMBER))  # type: ignore[misc]
        own = best(lambda s=source: [CANDIDATE.match(f"\n{x}") for x in s.splitlines()])  # type: ignore[misc]
        index = best(lambda b=body: outline(b))  # type: ignore[misc]
        text = text_from(source, id="t")
        count = len(text.clauses)
        print(f"{name}: {count} clauses of {SIZE // count} characters in {SIZE // 1000} kB")
        print(
            f"  pass over the lines, a plain pattern: {one:.1f} ms; the index's own: {own:.1f} ms"
        )
        print(f"  index: {index:.1f} ms = {index / one:.1f} or {index / own:.1f} times the pass")
        whole = best(lambda s=source: text_from(s, id="t"))  # type: ignore[misc]
        print(f"  with cleaning and the digest: {whole:.1f} ms = {whole / one:.1f} times the pass")
        other = source.replace("spring height", "spring width", 500)

        def both(before: str = source, after: str = other) -> tuple[object, object]:
            return text_from(before, id="t"), text_from(after, id="t")

        read = best(both, 3)
        compared = best(lambda b=both: compare(*b()), 3) - read  # type: ignore[misc]
        print(f"  two editions compared: {compared:.0f} ms = {compared / one:.0f} times the pass")
        numbers = list(text.clauses)
        resolve(text, numbers[0])
        each = best(lambda t=text, n=numbers: [t.find(x) for x in n], 3) / len(numbers) * 1000  # type: ignore[misc]
        print(f"  a citation looked up: {each:.1f} µs")
    growth = {name: _growth(unit) for name, unit in HOSTILE.items()}
    worst = max(growth, key=growth.__getitem__)
    print(f"eight times as much hostile text: at most {growth[worst]:.0f} times as long ({worst})")


def _growth(unit: str) -> float:
    """How much longer eight times as much text takes."""

    def index(size: int) -> object:
        return text_from((unit * (size // len(unit) + 1))[:size], id="t")

    small = best(lambda: index(20_000), 3)
    return best(lambda: index(160_000), 2) / max(small, 2.0)


if __name__ == "__main__":
    main()
