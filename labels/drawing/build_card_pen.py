"""A pen for A5 cards, and texts that are wrapped and never cut."""

from __future__ import annotations

from collections.abc import Iterator

from labels.drawing.fonts import printable
from labels.drawing.setup_sheet_pen import POINTS, Pen, text_width_mm

CARD_WIDTH_MM, CARD_HEIGHT_MM = 148.0, 210.0
CARD_MARGIN_MM = 9.0
CARD_ROOM_MM = CARD_WIDTH_MM - 2 * CARD_MARGIN_MM


class CardPen(Pen):
    """Draws on one page of a card. All places in mm from the upper left corner."""

    def _up(self, y_mm: float) -> float:
        return (CARD_HEIGHT_MM - y_mm) * POINTS


def whole_lines(text: str, room_mm: float, size_pt: float, bold: bool = False) -> list[str]:
    """`text` in as many lines of `room_mm` [mm] as it takes; a longer word is broken.

    >>> whole_lines("one two three", 12, 8), whole_lines("1044104410441044", 12, 8)
    (['one two', 'three'], ['104410', '441044', '1044'])
    """
    lines: list[str] = []
    for word in printable(text).split():
        for piece in _pieces(word, room_mm, size_pt, bold):
            longer = f"{lines[-1]} {piece}" if lines else piece
            if lines and text_width_mm(longer, size_pt, bold) <= room_mm:
                lines[-1] = longer
            else:
                lines.append(piece)
    return lines


def _pieces(word: str, room_mm: float, size_pt: float, bold: bool) -> Iterator[str]:
    while text_width_mm(word, size_pt, bold) > room_mm and len(word) > 1:
        taken = next(
            n for n in range(len(word) - 1, 0, -1)
            if n == 1 or text_width_mm(word[:n], size_pt, bold) <= room_mm
        )  # fmt: skip
        yield word[:taken]
        word = word[taken:]
    yield word
