"""A pen for A4 sheets: millimetres from the upper left corner, texts that stay in their room."""

from __future__ import annotations

from collections.abc import Sequence

from reportlab.pdfgen.canvas import Canvas

from labels.drawing.fonts import font_name, printable, width_um
from labels.rules.layout import ELLIPSIS

#: Points in a millimetre.
POINTS = 72 / 25.4
PAGE_WIDTH_MM, PAGE_HEIGHT_MM = 210.0, 297.0
MARGIN_MM = 12.0
ROOM_MM = PAGE_WIDTH_MM - 2 * MARGIN_MM
DASHES = (2.0, 1.2)


def text_width_mm(text: str, size_pt: float, bold: bool = False) -> float:
    """Width [mm] of `text` set in `size_pt` [pt]."""
    return width_um(text, bold, size_pt) / 1000


def fitted(text: str, room_mm: float, size_pt: float, bold: bool = False) -> str:
    """`text` as it can be printed, cut between words where it is wider than `room_mm` [mm].

    Between words, so that no part of a number is taken for the number.

    >>> fitted("compression spiral", 200, 8), fitted("compression spiral 12.7 mm", 32, 8)
    ('compression spiral', 'compression spiral …')
    """
    text = printable(text)
    if text_width_mm(text, size_pt, bold) <= room_mm:
        return text
    words = text.split(" ")
    for count in range(len(words) - 1, 0, -1):
        cut = f"{' '.join(words[:count])} {ELLIPSIS}"
        if text_width_mm(cut, size_pt, bold) <= room_mm:
            return cut
    return _cut_anywhere(words[0], room_mm, size_pt, bold)


def _cut_anywhere(text: str, room_mm: float, size_pt: float, bold: bool) -> str:
    """A single long word, cut where the room ends."""
    for length in range(len(text), 0, -1):
        if text_width_mm(text[:length] + ELLIPSIS, size_pt, bold) <= room_mm:
            return text[:length] + ELLIPSIS
    return ""


def shrunk(
    text: str, room_mm: float, size_pt: float, least_pt: float, bold: bool = False
) -> tuple[str, float]:
    """`text` with the size [pt] at which it fits, down to `least_pt` [pt], where it is cut at last.

    >>> shrunk("12000 1/min", 15, 8, 6)
    ('12000 1/min', 6.5)
    """
    while size_pt > least_pt and text_width_mm(printable(text), size_pt, bold) > room_mm:
        size_pt = max(least_pt, size_pt - 0.25)
    return fitted(text, room_mm, size_pt, bold), size_pt


def wrapped(
    text: str, room_mm: float, size_pt: float, bold: bool = False, most: int = 2
) -> list[str]:
    """`text` in at most `most` lines of `room_mm` [mm]; the last one ends in an ellipsis if cut.

    >>> wrapped("one two three", 12, 8, most=2)
    ['one two', 'three']
    """
    words, lines = printable(text).split(), []
    while words and len(lines) < most - 1:
        taken = _words_that_fit(words, room_mm, size_pt, bold)
        if taken == 0:
            break
        lines.append(" ".join(words[:taken]))
        words = words[taken:]
    if words:
        lines.append(fitted(" ".join(words), room_mm, size_pt, bold))
    return lines


def _words_that_fit(words: Sequence[str], room_mm: float, size_pt: float, bold: bool) -> int:
    for count in range(len(words), 0, -1):
        if text_width_mm(" ".join(words[:count]), size_pt, bold) <= room_mm:
            return count
    return 0


class Pen:
    """Draws on one page of a canvas. All places in mm from the upper left corner."""

    def __init__(self, canvas: Canvas):
        self.canvas = canvas

    def text(
        self, x_mm: float, y_mm: float, text: str, size_pt: float, *, bold: bool = False
    ) -> None:
        """`text` with its baseline at `y_mm`; a letter that the typeface lacks prints as `?`."""
        self.canvas.setFont(font_name(bold), size_pt)
        self.canvas.drawString(x_mm * POINTS, self._up(y_mm), printable(text))

    def text_before(
        self, right_mm: float, y_mm: float, text: str, size_pt: float, *, bold: bool = False
    ) -> None:
        """`text` that ends at `right_mm`."""
        self.canvas.setFont(font_name(bold), size_pt)
        self.canvas.drawRightString(right_mm * POINTS, self._up(y_mm), printable(text))

    def text_around(
        self, x_mm: float, y_mm: float, text: str, size_pt: float, *, upright: bool = False
    ) -> None:
        """`text` with its middle at `x_mm`, `y_mm`; `upright` reads from below."""
        self.canvas.saveState()
        self.canvas.translate(x_mm * POINTS, self._up(y_mm))
        if upright:
            self.canvas.rotate(90)
        self.canvas.setFont(font_name(False), size_pt)
        self.canvas.drawCentredString(0, -0.36 * size_pt, printable(text))
        self.canvas.restoreState()

    def lines(
        self,
        x_mm: float,
        y_mm: float,
        lines: Sequence[str],
        size_pt: float,
        *,
        bold: bool = False,
        step_mm: float = 0,
    ) -> float:
        """Lines one under another; answers the baseline of the next one [mm]."""
        step = step_mm or size_pt / POINTS * 1.25
        for line in lines:
            self.text(x_mm, y_mm, line, size_pt, bold=bold)
            y_mm += step
        return y_mm

    def path(
        self,
        points: Sequence[tuple[float, float]],
        *,
        width_mm: float = 0.2,
        closed: bool = False,
        dashes: Sequence[float] = (),
        filled: bool = False,
    ) -> None:
        """A run of straight lines; `filled` fills it in a light grey first."""
        path = self.canvas.beginPath()
        for place, (x_mm, y_mm) in enumerate(points):
            (path.lineTo if place else path.moveTo)(x_mm * POINTS, self._up(y_mm))
        if closed:
            path.close()
        self.canvas.setLineWidth(width_mm * POINTS)
        self.canvas.setDash([part * POINTS for part in dashes])
        self.canvas.setFillGray(0.93 if filled else 0)
        self.canvas.drawPath(path, stroke=1, fill=int(filled))
        self.canvas.setFillGray(0)
        self.canvas.setDash([])

    def box(self, x_mm: float, y_mm: float, wide_mm: float, high_mm: float, **look) -> None:
        """A rectangle from its upper left corner."""
        right, below = x_mm + wide_mm, y_mm + high_mm
        corners = ((x_mm, y_mm), (right, y_mm), (right, below), (x_mm, below))
        self.path(corners, closed=True, **look)

    def rule(self, x_mm: float, y_mm: float, wide_mm: float, width_mm: float = 0.2) -> None:
        """A level line."""
        self.path(((x_mm, y_mm), (x_mm + wide_mm, y_mm)), width_mm=width_mm)

    def _up(self, y_mm: float) -> float:
        return (PAGE_HEIGHT_MM - y_mm) * POINTS
