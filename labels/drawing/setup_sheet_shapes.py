"""Shapes of the four verdicts and the side view of an assembly, drawn with the pen of a sheet."""

from __future__ import annotations

import math

from assemblies.rules.drawing.sheet import Anchor, Drawing, Lettering, NoRoom, placed
from assemblies.rules.drawing.side import SideView, Stroke
from labels.drawing.setup_sheet_pen import POINTS, Pen

_UM_PER_MM = 1000
#: Room for the line that names the scale [mm].
_SCALE_MM = 4.0
#: Width of a line [mm] and its dashes [mm].
_LOOKS: dict[Stroke, tuple[float, tuple[float, ...]]] = {
    Stroke.OUTLINE: (0.35, ()),
    Stroke.FORM: (0.15, ()),
    Stroke.HIDDEN: (0.18, (0.8, 0.6)),
    Stroke.UNKNOWN: (0.25, (2.2, 1.2)),
    Stroke.AXIS: (0.13, (3.0, 0.6, 0.6, 0.6)),
    Stroke.DIMENSION: (0.13, ()),
}


def draw_side_view(
    pen: Pen, view: SideView, x_mm: float, y_mm: float, wide_mm: float, high_mm: float
) -> None:
    """Draw `view` into a field from its upper left corner, with its scale below it."""
    size = (round(wide_mm * _UM_PER_MM), round((high_mm - _SCALE_MM) * _UM_PER_MM))
    middle_mm = x_mm + wide_mm / 2
    try:
        drawing = placed(view, *size, letter_um=2100)
    except NoRoom:
        pen.text_around(middle_mm, y_mm + high_mm / 2, "too long or wide to draw", 7)
        return
    draw_drawing(pen, drawing, x_mm, y_mm)
    below_mm = y_mm + drawing.height_um / _UM_PER_MM + _SCALE_MM / 2
    pen.text_around(middle_mm, below_mm, f"{drawing.scale_text}, mm", 6.5)


def draw_drawing(pen: Pen, drawing: Drawing, x_mm: float, y_mm: float) -> None:
    """Lines and letters of a drawing, from its upper left corner."""
    for trace in drawing.traces:
        width_mm, dashes = _LOOKS[trace.stroke]
        points = [(x_mm + x / _UM_PER_MM, y_mm + y / _UM_PER_MM) for x, y in trace.points]
        filled = trace.filled and trace.stroke is not Stroke.UNKNOWN
        pen.path(points, width_mm=width_mm, closed=trace.closed, dashes=dashes, filled=filled)
    for words in drawing.letterings:
        _letter(pen, words, x_mm, y_mm)


def _letter(pen: Pen, words: Lettering, x_mm: float, y_mm: float) -> None:
    # Letters of that height, capitals being nearly three quarters of the size.
    size_pt = words.size_um / _UM_PER_MM * POINTS
    x, y = x_mm + words.x_um / _UM_PER_MM, y_mm + words.y_um / _UM_PER_MM
    if words.anchor is Anchor.END:
        pen.text_before(x, y + 0.36 * words.size_um / _UM_PER_MM, words.text, size_pt)
    else:
        pen.text_around(x, y, words.text, size_pt, upright=words.upright)


def draw_verdict(pen: Pen, word_key: str, x_mm: float, y_mm: float, side_mm: float) -> None:
    """The shape of one verdict from its upper left corner; another key raises KeyError."""
    _SHAPES[word_key](pen, x_mm, y_mm, side_mm)


def _square_with_tick(pen: Pen, x: float, y: float, side: float) -> None:
    pen.box(x, y, side, side, width_mm=0.5)
    tick = ((0.25, 0.5), (0.43, 0.7), (0.77, 0.28))
    pen.path([(x + a * side, y + b * side) for a, b in tick], width_mm=0.7)


def _triangle(pen: Pen, x: float, y: float, side: float) -> None:
    corners = ((0.5, 0.04), (0.98, 0.92), (0.02, 0.92))
    pen.path([(x + a * side, y + b * side) for a, b in corners], width_mm=0.5, closed=True)
    for top, bottom in ((0.38, 0.64), (0.72, 0.8)):
        middle = x + side / 2
        pen.path(((middle, y + top * side), (middle, y + bottom * side)), width_mm=0.6)


def _octagon_with_bar(pen: Pen, x: float, y: float, side: float) -> None:
    ends = [math.pi / 8 + turn * math.pi / 4 for turn in range(8)]
    radius, middle = side / 2, (x + side / 2, y + side / 2)
    corners = [
        (middle[0] + radius * math.cos(end), middle[1] + radius * math.sin(end)) for end in ends
    ]
    pen.path(corners, width_mm=0.6, closed=True)
    pen.path(((x + 0.22 * side, middle[1]), (x + 0.78 * side, middle[1])), width_mm=1.1)


def _dashed_ring(pen: Pen, x: float, y: float, side: float) -> None:
    turns = [turn * math.pi / 18 for turn in range(36)]
    radius, middle = 0.46 * side, (x + side / 2, y + side / 2)
    ring = [
        (middle[0] + radius * math.cos(turn), middle[1] + radius * math.sin(turn)) for turn in turns
    ]
    pen.path(ring, width_mm=0.6, closed=True, dashes=(1.2, 0.8))


_SHAPES = {
    "match": _square_with_tick,
    "check": _triangle,
    "stop": _octagon_with_bar,
    "cant_tell": _dashed_ring,
}
