"""A side view as SVG text. Looks come from classes only; every text is escaped."""

from __future__ import annotations

from html import escape

from assemblies.rules.silhouette import Trace
from assemblies.rules.silhouette_paper import Drawing, Lettering


def svg_of(drawing: Drawing, *, key: str, title: str, description: str) -> str:
    """The drawing as one `svg` element, sized by its style sheet; `key` makes its ids unique.

    >>> from assemblies.rules.silhouette import SideFacts, side_view
    >>> from assemblies.rules.silhouette_paper import placed
    >>> drawing = placed(side_view(SideFacts()), 60_000, 90_000, 3_000)
    >>> svg_of(drawing, key="t5", title="T5 <1044>", description="")[:87]
    '<svg class="side-view" viewBox="0 0 60 87" role="img" aria-labelledby="t5-name t5-text"'
    """
    name, text = escape(f"{key}-name"), escape(f"{key}-text")
    parts = (
        f'<svg class="side-view" viewBox="0 0 {_mm(drawing.width_um)} {_mm(drawing.height_um)}"'
        f' role="img" aria-labelledby="{name} {text}">',
        f'<title id="{name}">{escape(title)}</title><desc id="{text}">{escape(description)}</desc>',
        *map(_trace, drawing.traces),
        *map(_lettering, drawing.letterings),
        "</svg>",
    )
    return "".join(parts)


def _mm(value_um: int) -> str:
    return f"{value_um / 1000:.3f}".rstrip("0").rstrip(".")


def _trace(trace: Trace) -> str:
    points = " ".join(f"{_mm(x)},{_mm(y)}" for x, y in trace.points)
    shape = "polygon" if trace.closed else "polyline"
    return f'<{shape} class="side-{trace.stroke}" points="{points}"/>'


def _lettering(words: Lettering) -> str:
    x, y = _mm(words.x_um), _mm(words.y_um)
    turn = f' transform="rotate(-90 {x} {y})"' if words.upright else ""
    look = "side-text" if words.known else "side-text side-text-unknown"
    return (
        f'<text class="{look}" x="{x}" y="{y}" font-size="{_mm(words.size_um)}"'
        f' text-anchor="middle" dominant-baseline="central"{turn}>{escape(words.text)}</text>'
    )
