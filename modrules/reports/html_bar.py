"""A measured quantity drawn to scale against its limit, in black and white."""

from __future__ import annotations

from collections.abc import Iterator
from html import escape

from modrules.reports.blocks import Bar
from modrules.reports.shape import Quantity
from modrules.reports.wording import quantity

_WIDTH, _LEFT, _ROOM = 340.0, 4.0, 332.0


def bar(drawn: Bar) -> Iterator[str]:
    """The drawing as inline SVG; nothing where there is no scale to draw it on.

    A filled bar runs from zero to what was measured; where that is known only between two
    values, the stretch between them is hollow. The limit is a line across.
    """
    span, limit = _span(drawn.measured), drawn.limit["value"]
    if span is None or limit is None:
        return
    low, high = span
    least, most = min(0, low, limit), max(0, high, limit)
    if most == least:
        return

    def at(value: float) -> float:
        return round(_LEFT + _ROOM * float((value - least) / (most - least)), 1)

    zero, begin, end, line = at(0), at(low), at(high), at(limit)
    words = f"Measured {quantity(drawn.measured)}, limit {quantity(drawn.limit)}"
    # The label of the limit must not run out of the drawing.
    anchor = "end" if line > _WIDTH * 2 / 3 else "start" if line < _WIDTH / 3 else "middle"
    solid = begin if abs(begin - zero) < abs(end - zero) else end
    if low <= 0 <= high:
        solid = zero if low != high else end
    yield f'<svg viewBox="0 0 {_WIDTH:g} 44" role="img" aria-label="{escape(words)}">'
    yield _rectangle(min(zero, solid), abs(solid - zero), "#000")
    if low != high:
        yield _rectangle(begin, end - begin, "none", ' stroke="#000" stroke-dasharray="3 2"')
    # White on both sides, so that the line is seen across a filled bar.
    yield f'<path d="M{line:g} 14V38" stroke="#fff" stroke-width="6"/>'
    yield f'<path d="M{line:g} 14V38" stroke="#000" stroke-width="2"/>'
    yield (
        f'<text x="{line:g}" y="11" font-size="10" text-anchor="{anchor}" aria-hidden="true">'
        f"limit {escape(quantity(drawn.limit))}</text>"
    )
    yield "</svg>"


def _span(measured: Quantity) -> tuple[float, float] | None:
    low, high, value = measured.get("low"), measured.get("high"), measured["value"]
    if low is not None and high is not None:
        return low, high
    return (value, value) if value is not None else None


def _rectangle(left: float, width: float, fill: str, more: str = "") -> str:
    return f'<rect x="{left:g}" y="18" width="{width:g}" height="16" fill="{fill}"{more}/>'
