"""A plot as SVG text. Looks come from classes only; every text is escaped."""

from __future__ import annotations

from html import escape

from crib.rules.plot import Mark, PlacedLine, PlacedMark, PlacedWords, Plot

#: Half the width of a mark, in the units of the plot.
_HALF = 5
#: Corners of each form round its middle.
_CORNERS: dict[Mark, tuple[tuple[int, int], ...]] = {
    Mark.SQUARE: ((-1, -1), (1, -1), (1, 1), (-1, 1)),
    Mark.TRIANGLE: ((0, -1), (1, 1), (-1, 1)),
    Mark.DIAMOND: ((0, -1), (1, 0), (0, 1), (-1, 0)),
}


def plot_svg(plot: Plot, *, key: str, title: str, description: str) -> str:
    """The plot as one `svg` element, sized by its style sheet; `key` makes its ids unique.

    >>> from crib.rules.plot import Point, Scale, Series, plot_of
    >>> plot = plot_of([Series("a", (Point(1, 2),))], [], Scale("mm"), by_days=False)
    >>> plot_svg(plot, key="p", title="<Runout>", description="")[:55]
    '<svg class="plot" viewBox="0 0 640 300" role="img" aria'
    """
    name, text = escape(f"{key}-name"), escape(f"{key}-text")
    parts = (
        f'<svg class="plot" viewBox="0 0 {plot.width} {plot.height}"'
        f' role="img" aria-labelledby="{name} {text}">',
        f'<title id="{name}">{escape(title)}</title><desc id="{text}">{escape(description)}</desc>',
        *(_line(line) for line in plot.lines),
        *(_mark(mark) for mark in plot.marks),
        *(_words(words) for words in plot.words),
        "</svg>",
    )
    return "".join(parts)


def mark_svg(mark: Mark) -> str:
    """One mark alone, as the legend shows it before the name of its series.

    >>> mark_svg(Mark.DISC)[:45]
    '<svg class="plot-key" viewBox="-7 -7 14 14" a'
    """
    return (
        '<svg class="plot-key" viewBox="-7 -7 14 14" aria-hidden="true">'
        f"{_shape(PlacedMark(0, 0, mark, ''))}</svg>"
    )


def _line(line: PlacedLine) -> str:
    points = " ".join(f"{_short(x)},{_short(y)}" for x, y in line.points)
    return f'<polyline class="plot-{escape(line.look)}" points="{points}"/>'


def _mark(mark: PlacedMark) -> str:
    said = f"<title>{escape(mark.text)}</title>" if mark.text else ""
    return f"<g>{said}{_shape(mark)}</g>"


def _shape(mark: PlacedMark) -> str:
    x, y = _short(mark.x), _short(mark.y)
    if mark.mark in (Mark.DISC, Mark.RING):
        return f'<circle class="plot-{mark.mark}" cx="{x}" cy="{y}" r="{_HALF}"/>'
    if mark.mark == Mark.CROSS:
        across = (
            f"M{_short(mark.x - _HALF)} {_short(mark.y - _HALF)}l{2 * _HALF} {2 * _HALF}"
            f"m0 {-2 * _HALF}l{-2 * _HALF} {2 * _HALF}"
        )
        return f'<path class="plot-cross" d="{across}"/>'
    corners = " ".join(
        f"{_short(mark.x + _HALF * dx)},{_short(mark.y + _HALF * dy)}"
        for dx, dy in _CORNERS[mark.mark]
    )
    return f'<polygon class="plot-{mark.mark}" points="{corners}"/>'


def _words(words: PlacedWords) -> str:
    place = f'x="{_short(words.x)}" y="{_short(words.y)}"'
    return (
        f'<text class="plot-words" text-anchor="{words.anchor}" {place}>{escape(words.text)}</text>'
    )


def _short(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")
