"""A side view as SVG text. Looks come from classes only; every text is escaped.

A file that stands alone has no style sheet, so there each line carries its looks as plain
attributes of SVG; no style attribute is used anywhere.
"""

from __future__ import annotations

from html import escape

from assemblies.rules.drawing.model import Stroke, Trace
from assemblies.rules.drawing.sheet import Anchor, Drawing, Lettering

_NAMESPACE = "http://www.w3.org/2000/svg"
#: Colour and width [mm] of a line, and its dashes [mm], in a file.
_LOOKS: dict[Stroke, tuple[str, str, str]] = {
    Stroke.OUTLINE: ("#111", "0.4", ""),
    Stroke.FORM: ("#444", "0.18", ""),
    Stroke.HIDDEN: ("#111", "0.2", "1 0.7"),
    Stroke.UNKNOWN: ("#7a4b00", "0.3", "2.4 1.3"),
    Stroke.AXIS: ("#444", "0.13", "4 0.8 0.8 0.8"),
    Stroke.DIMENSION: ("#1b4f8f", "0.13", ""),
}
_TINT, _PAPER = "#eee", "#fff"


def svg_of(drawing: Drawing, *, key: str, title: str, description: str) -> str:
    """The drawing as one `svg` element, sized by its style sheet; `key` makes its ids unique.

    >>> from assemblies.rules.drawing.side import SideFacts, side_view
    >>> from assemblies.rules.drawing.sheet import placed
    >>> drawing = placed(side_view(SideFacts()), 60_000, 90_000, 3_000)
    >>> svg_of(drawing, key="t5", title="T5 <1044>", description="")[:62]
    '<svg class="side-view" viewBox="0 0 60 81.5" role="img" aria-l'
    """
    return _written(drawing, "", key, title, description, in_file=False)


def svg_file(drawing: Drawing, *, title: str, description: str) -> str:
    """The drawing as a file of its own, in the size of its paper.

    >>> from assemblies.rules.drawing.side import SideFacts, side_view
    >>> from assemblies.rules.drawing.sheet import placed
    >>> drawing = placed(side_view(SideFacts()), 60_000, 90_000, 3_000)
    >>> svg_file(drawing, title="1044 r3", description="")[:53]
    '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" '
    """
    size = (
        f' xmlns="{_NAMESPACE}" width="{_mm(drawing.width_um)}mm"'
        f' height="{_mm(drawing.height_um)}mm" font-family="sans-serif"'
    )
    return _written(drawing, size, "drawing", title, description, in_file=True)


def _written(
    drawing: Drawing, size: str, key: str, title: str, description: str, *, in_file: bool
) -> str:
    name, text = escape(f"{key}-name"), escape(f"{key}-text")
    look = "" if in_file else ' class="side-view"'
    parts = (
        f"<svg{size}{look}"
        f' viewBox="0 0 {_mm(drawing.width_um)} {_mm(drawing.height_um)}"'
        f' role="img" aria-labelledby="{name}" aria-describedby="{text}">',
        f'<title id="{name}">{escape(title)}</title><desc id="{text}">{escape(description)}</desc>',
        *(_trace(trace, in_file) for trace in drawing.traces),
        *(_lettering(words, in_file) for words in drawing.letterings),
        "</svg>",
    )
    return "".join(parts)


def _mm(value_um: int) -> str:
    return f"{value_um / 1000:.3f}".rstrip("0").rstrip(".")


def _trace(trace: Trace, in_file: bool) -> str:
    points = " ".join(f"{_mm(x)},{_mm(y)}" for x, y in trace.points)
    shape = "polygon" if trace.closed else "polyline"
    look = _file_look(trace) if in_file else _page_look(trace)
    return f'<{shape} {look} points="{points}"/>'


def _page_look(trace: Trace) -> str:
    return f'class="side-{trace.stroke}{" side-filled" if trace.filled else ""}"'


def _file_look(trace: Trace) -> str:
    colour, width, dashes = _LOOKS[trace.stroke]
    fill = "none" if not trace.filled else _PAPER if trace.stroke is Stroke.UNKNOWN else _TINT
    dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
    return f'fill="{fill}" stroke="{colour}" stroke-width="{width}" stroke-linejoin="round"{dashed}'


def _lettering(words: Lettering, in_file: bool) -> str:
    x, y = _mm(words.x_um), _mm(words.y_um)
    turn = f' transform="rotate(-90 {x} {y})"' if words.upright else ""
    look = "" if in_file else f'class="side-text{"" if words.known else " side-text-unknown"}" '
    slant = ' font-style="italic"' if in_file and not words.known else ""
    anchor = "end" if words.anchor is Anchor.END else "middle"
    return (
        f'<text {look}x="{x}" y="{y}" font-size="{_mm(words.size_um)}"'
        f' text-anchor="{anchor}" dominant-baseline="central"{slant}{turn}>'
        f"{escape(words.text)}</text>"
    )
