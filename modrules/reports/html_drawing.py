"""Drawings of the sheet as inline SVG in black and white: stacked masses, wheels to scale.

Pieces differ by pattern and are labelled in words; the words of the block stand below it.
"""

from __future__ import annotations

from collections.abc import Iterator
from html import escape

from modrules.reports.blocks import Heights, Stack
from modrules.reports.wording import number

_WIDTH, _LEFT, _ROOM = 340.0, 4.0, 330.0
#: Fillings of the pieces, from the ground up: solid, hatched, dotted, hollow.
_FILL = ("#000", "url(#hatch)", "url(#dots)", "#fff")
_PATTERNS = (
    '<defs><pattern id="hatch" width="6" height="6" patternUnits="userSpaceOnUse" '
    'patternTransform="rotate(45)"><rect width="6" height="6" fill="#fff"/>'
    '<rect width="2.5" height="6" fill="#000"/></pattern>'
    '<pattern id="dots" width="5" height="5" patternUnits="userSpaceOnUse">'
    '<rect width="5" height="5" fill="#fff"/><circle cx="2.5" cy="2.5" r="1.1" fill="#000"/>'
    "</pattern></defs>"
)
_LINE = 13.0
#: No letter of the drawings is wider on average, bold ones included.
_LETTER = 6.2


def patterns() -> str:
    """The fillings, once in a page: ids must not occur twice."""
    return f'<svg class="hidden" aria-hidden="true" width="0" height="0">{_PATTERNS}</svg>'


def stack(drawn: Stack) -> Iterator[str]:
    """A bar of pieces with a line across it for each limit, and what it says below."""
    used = sum(value for _, value in drawn.parts)
    most = max(used, *(value for _, value in drawn.limits))

    def at(value: float) -> float:
        return round(_LEFT + _ROOM * float(value / most), 1)

    rows = len(drawn.limits)
    top = rows * _LINE + 4
    height = top + 22 + len(drawn.parts) * _LINE + 4
    yield f'<figure><figcaption class="strong">{escape(drawn.title)}</figcaption>'
    yield (
        f'<svg viewBox="0 0 {_WIDTH:g} {height:g}" role="img" '
        f'aria-label="{escape(drawn.title)}: {escape(drawn.words)}">'
    )
    begin = 0.0
    for place, (_, value) in enumerate(drawn.parts):
        left, right = at(begin), at(begin + value)
        yield (
            f'<rect x="{left:g}" y="{top:g}" width="{max(right - left, 0.5):g}" height="18" '
            f'fill="{_fill(place)}" stroke="#000"/>'
        )
        begin += value
    for place, (_, value) in enumerate(drawn.limits):
        yield _limit_line(drawn, place, at(value), top)
    # The words come after all lines, so that none runs through them.
    for place, (label, value) in enumerate(drawn.limits):
        yield _limit_words(drawn, place, f"{label} {number(value)} {drawn.unit}", at(value))
    for place, (label, value) in enumerate(drawn.parts):
        y = top + 22 + (place + 1) * _LINE - 3
        yield (
            f'<rect x="{_LEFT:g}" y="{y - 8:g}" width="12" height="8" fill="{_fill(place)}" '
            'stroke="#000"/>'
        )
        yield _text(20, y, f"{label} {number(value)} {drawn.unit}")
    yield f"</svg><p>{escape(drawn.words)}</p></figure>"


def _limit_line(drawn: Stack, place: int, x: float, top: float) -> str:
    """A line from the words of a limit across the bar; whole and thick for the one that counts."""
    start, end = (place + 1) * _LINE - 1, top + 20
    counts = place == drawn.counts
    look = 'stroke-width="2.5"' if counts else 'stroke-width="1.2" stroke-dasharray="3 2"'
    # White on both sides, so that the line is seen across a filled piece.
    return (
        f'<path d="M{x:g} {start:g}V{end:g}" stroke="#fff" stroke-width="4"/>'
        f'<path d="M{x:g} {start:g}V{end:g}" stroke="#000" {look}/>'
    )


def _limit_words(drawn: Stack, place: int, words: str, x: float) -> str:
    counts = place == drawn.counts
    if counts:
        words += " – BINDS" if drawn.bound else " – LOWEST"
    # To the left of its line as long as there is room for it.
    left = x > len(words) * _LETTER or x > _WIDTH / 2
    y = (place + 1) * _LINE - 3
    return _text(x + (1 if left else -1), y, words, "end" if left else "start", bold=counts)


def _fill(place: int) -> str:
    return _FILL[min(place, len(_FILL) - 1)]


def _text(x: float, y: float, words: str, anchor: str = "start", bold: bool = False) -> str:
    # What is too long for the drawing is cut; it stands in full in the words below.
    room = _WIDTH - x if anchor == "start" else x if anchor == "end" else 2 * min(x, _WIDTH - x)
    most = max(int(room / _LETTER), 4)
    words = words if len(words) <= most else f"{words[: most - 1]}…"
    weight = ' font-weight="700"' if bold else ""
    halo = 'stroke="#fff" stroke-width="3" paint-order="stroke"'
    return (
        f'<text x="{x:g}" y="{y:g}" font-size="10" text-anchor="{anchor}"{weight} '
        f'{halo} aria-hidden="true">{escape(words)}</text>'
    )


def heights(drawn: Heights) -> Iterator[str]:
    """Wheels on the ground, side by side, each with the arch above it, to one scale."""
    tallest = max(max(state.diameter, state.arch or 0.0) for state in drawn.states)
    scale = 120.0 / tallest
    ground = 150.0
    step = _WIDTH / len(drawn.states)
    yield f'<figure><figcaption class="strong">{escape(drawn.title)}</figcaption>'
    yield (
        f'<svg viewBox="0 0 {_WIDTH:g} 168" role="img" '
        f'aria-label="{escape(drawn.title)}: {escape(drawn.words)}">'
    )
    yield f'<path d="M0 {ground:g}H{_WIDTH:g}" stroke="#000" stroke-width="2"/>'
    for place, state in enumerate(drawn.states):
        middle, radius = step * (place + 0.5), state.diameter * scale / 2
        hub = ground - radius
        yield (
            f'<circle cx="{middle:g}" cy="{hub:.1f}" r="{radius:.1f}" fill="none" '
            'stroke="#000" stroke-width="3"/>'
        )
        yield f'<circle cx="{middle:g}" cy="{hub:.1f}" r="2.5"/>'
        if state.arch is not None:
            y = ground - state.arch * scale
            yield (
                f'<path d="M{middle - 50:g} {y:.1f}H{middle + 50:g}M{middle:g} {y:.1f}'
                f'V{hub:.1f}" stroke="#000" stroke-dasharray="4 2"/>'
            )
            yield _text(middle, y - 4, f"arch {number(state.arch)} mm", "middle")
        words = f"{state.label}: tyre {number(state.diameter)} mm"
        yield _text(middle, ground + 14, words, "middle", bold=state.label == "now")
    # The same line through both shows what the change is.
    level = ground - drawn.states[0].diameter * scale
    yield f'<path d="M0 {level:.1f}H{_WIDTH:g}" stroke="#000" stroke-width=".7"/>'
    yield f"</svg><p>{escape(drawn.words)}</p></figure>"
