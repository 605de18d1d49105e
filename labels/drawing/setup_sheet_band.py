"""The band of one tool number on a set-up sheet."""

from __future__ import annotations

from labels.drawing.setup_sheet_paper import ToolBand
from labels.drawing.setup_sheet_pen import (
    MARGIN_MM,
    ROOM_MM,
    Pen,
    fitted,
    shrunk,
    text_width_mm,
    wrapped,
)
from labels.drawing.setup_sheet_shapes import draw_side_view, draw_verdict

BAND_MM = 64.0
_NUMBER_ROOM_MM = 25.0
_VIEW_ROOM_MM = 42.0
_GAP_MM = 3.0
_TEXT_X_MM = MARGIN_MM + _NUMBER_ROOM_MM + _VIEW_ROOM_MM + 2 * _GAP_MM
_TEXT_ROOM_MM = MARGIN_MM + ROOM_MM - _TEXT_X_MM
_COLUMNS = 2
_CAPTION_MM = 13.5
_SHAPE_MM = 8.0
_LARGEST_NUMBER_PT, _SMALLEST_NUMBER_PT = 34, 9
#: A figure is set smaller before any of it is cut.
_FIGURE_PT, _SMALLEST_FIGURE_PT = 8.0, 5.0


def draw_band(pen: Pen, band: ToolBand, top_mm: float) -> None:
    """Number, side view, what it must be and is, figures, verdict; with a box to tick."""
    pen.rule(MARGIN_MM, top_mm, ROOM_MM, 0.6)
    _draw_number(pen, band, top_mm)
    _draw_view(pen, band, top_mm)
    y_mm = _draw_assembly(pen, band, top_mm + 5.5)
    y_mm = _draw_texts(pen, band, y_mm)
    _draw_figures(pen, band, y_mm)
    _draw_answer(pen, band, top_mm + BAND_MM - 13.5)


def _draw_number(pen: Pen, band: ToolBand, top_mm: float) -> None:
    largest, least = _LARGEST_NUMBER_PT, _SMALLEST_NUMBER_PT
    number, size = shrunk(band.number, _NUMBER_ROOM_MM, largest, least, True)
    pen.text(MARGIN_MM, top_mm + 13, number, size, bold=True)
    for caption, down in (("fetched", 20.0), ("loaded", 32.0)):
        pen.box(MARGIN_MM, top_mm + down, 8, 8, width_mm=0.4)
        pen.text(MARGIN_MM + 10, top_mm + down + 5.5, caption, 8)


def _draw_view(pen: Pen, band: ToolBand, top_mm: float) -> None:
    x_mm, y_mm = MARGIN_MM + _NUMBER_ROOM_MM + _GAP_MM, top_mm + 2
    high_mm = BAND_MM - 4
    if band.view is None:
        pen.box(x_mm, y_mm, _VIEW_ROOM_MM, high_mm, width_mm=0.25, dashes=(2.0, 1.2))
        pen.text_around(x_mm + _VIEW_ROOM_MM / 2, y_mm + high_mm / 2, "no assembly", 8)
        return
    draw_side_view(pen, band.view, x_mm, y_mm, _VIEW_ROOM_MM, high_mm)


def _draw_assembly(pen: Pen, band: ToolBand, y_mm: float) -> float:
    """Assembly, mark and place on one line; what does not fit is cut at the place."""
    x_mm, end_mm = _TEXT_X_MM, _TEXT_X_MM + _TEXT_ROOM_MM
    if not band.assembly:
        pen.text(x_mm, y_mm, fitted(band.standing, _TEXT_ROOM_MM, 11, True), 11, bold=True)
        return y_mm + 5
    number, size = shrunk(band.assembly, 50, 13, 8, True)
    pen.text(x_mm, y_mm, number, size, bold=True)
    x_mm += text_width_mm(number, size, True) + 3
    if band.holder_mark:
        mark, size = shrunk(band.holder_mark, 42, 12, 5.5, True)
        wide_mm = text_width_mm(mark, size, True) + 3
        pen.box(x_mm, y_mm - 4.4, wide_mm, 6, width_mm=0.3)
        pen.text(x_mm + 1.5, y_mm, mark, size, bold=True)
        x_mm += wide_mm + 3
    place = f"{band.standing}: {band.place}" if band.place else band.standing
    pen.text(x_mm, y_mm, fitted(place, end_mm - x_mm, 9), 9)
    return y_mm + 5.5


def _draw_texts(pen: Pen, band: ToolBand, y_mm: float) -> float:
    """What it must be, what it is, and the program's own words."""
    rows = (("must be", band.must_be, 2), ("is", band.found, 2), ("program says", band.said, 1))
    for caption, text, most in rows:
        if not text:
            continue
        pen.text(_TEXT_X_MM, y_mm, caption, 6.5)
        lines = wrapped(text, _TEXT_ROOM_MM - 17, 8, most=most)
        y_mm = pen.lines(_TEXT_X_MM + 17, y_mm, lines, 8, step_mm=3.4) + 0.4
    return y_mm + 0.6


def _draw_figures(pen: Pen, band: ToolBand, y_mm: float) -> None:
    """Caption and value side by side, in columns."""
    wide_mm = _TEXT_ROOM_MM / _COLUMNS
    for place, (caption, value) in enumerate(band.figures):
        x_mm = _TEXT_X_MM + place % _COLUMNS * wide_mm
        down_mm = y_mm + place // _COLUMNS * 4.1
        pen.text(x_mm, down_mm, caption, 6)
        room_mm = wide_mm - _CAPTION_MM - 1.5
        text, size = shrunk(value, room_mm, _FIGURE_PT, _SMALLEST_FIGURE_PT, True)
        pen.text(x_mm + _CAPTION_MM, down_mm, text, size, bold=True)


def _draw_answer(pen: Pen, band: ToolBand, top_mm: float) -> None:
    if not band.word:
        return
    draw_verdict(pen, band.word_key, _TEXT_X_MM, top_mm + 1, _SHAPE_MM)
    x_mm = _TEXT_X_MM + _SHAPE_MM + 2
    pen.text(x_mm, top_mm + 5, band.word, 11, bold=True)
    word_mm = text_width_mm(band.word, 11, True) + 3
    room_mm = _TEXT_ROOM_MM - _SHAPE_MM - 2 - word_mm
    lines = [line for point in band.points[:3] for line in wrapped(point, room_mm, 7.4, most=2)]
    pen.lines(x_mm + word_mm, top_mm + 3, lines[:4], 7.4, step_mm=3.2)
