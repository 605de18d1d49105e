"""The blocks of a build card: head, drawing, parts, figures, lists. Each stays on one page."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from assemblies.rules.drawing.paper import placed_in_full
from assemblies.rules.drawing.sheet import NoRoom
from assemblies.rules.drawing.side import SideView
from labels.drawing.build_card_paper import CardPaper, PartLine
from labels.drawing.build_card_pen import (
    CARD_HEIGHT_MM,
    CARD_MARGIN_MM,
    CARD_ROOM_MM,
    CardPen,
    whole_lines,
)
from labels.drawing.qr import QUIET_MODULES, draw_symbol, make_symbol
from labels.drawing.setup_sheet_pen import POINTS, text_width_mm
from labels.drawing.setup_sheet_shapes import draw_drawing

_SYMBOL_MM = 27.0
_HEAD_ROOM_MM = CARD_ROOM_MM - _SYMBOL_MM - 4
_NUMBER_PT, _SMALLEST_NUMBER_PT = 26.0, 12.0
_DRAWING_MM = 92.0
_LETTER_UM = 2_500
_TEXT_PT, _SMALL_PT, _HEADING_PT = 8.5, 7.0, 10.0
_STEP_MM = 3.9
_ROLE_MM, _MARK_MM = 24.0, 26.0
_CAPTION_MM = 30.0


@dataclass(frozen=True, slots=True)
class Block:
    """Something of a height that stays on one page; `draw` gets its upper edge [mm]."""

    high_mm: float
    draw: Callable[[CardPen, float], None]


def card_blocks(paper: CardPaper) -> Iterator[Block]:
    """Everything on the card in the order of reading."""
    yield _head(paper)
    yield _drawing(paper.view)
    yield from _listed("Parts, from the spindle to the tip", [_part(p) for p in paper.parts])
    yield from _listed("Figures", [_figure(caption, text) for caption, text in paper.figures])
    yield from _listed("Accepted with a reason", [_line(text) for text in paper.accepted])
    steps = [_line(text, f"{number}") for number, text in enumerate(paper.steps, start=1)]
    yield from _listed("Order of assembly", steps)
    yield from _listed("Cautions", [_line(text) for text in paper.cautions])


# ---------------------------------------------------------------- head
def _head(paper: CardPaper) -> Block:
    """Number and mark, what it is, and at the right the symbol of its label."""
    title = f"{paper.number} {paper.revision}"
    size = _NUMBER_PT
    while size > _SMALLEST_NUMBER_PT and text_width_mm(title, size, True) > _HEAD_ROOM_MM:
        size -= 0.5
    numbers = whole_lines(title, _HEAD_ROOM_MM, size, True)
    marks = whole_lines(paper.holder_mark, _HEAD_ROOM_MM - 6, 13, True)
    about = [
        line for text in (paper.name, *paper.about) if text
        for line in whole_lines(text, _HEAD_ROOM_MM, _TEXT_PT)
    ]  # fmt: skip
    number_mm = size / POINTS * 1.05
    text_mm = number_mm * len(numbers) + (6.4 * len(marks) + 2) + _STEP_MM * len(about) + 2
    note = whole_lines(paper.label_note or paper.code, _SYMBOL_MM, _TEXT_PT, True)
    high_mm = max(text_mm, _SYMBOL_MM + 2 + _STEP_MM * len(note)) + 2

    def draw(pen: CardPen, top_mm: float) -> None:
        y = pen.lines(
            CARD_MARGIN_MM, top_mm + number_mm * 0.85, numbers, size, bold=True, step_mm=number_mm
        )
        y = _draw_marks(pen, marks, y - number_mm + 2.5)
        pen.lines(CARD_MARGIN_MM, y + 4, about, _TEXT_PT, step_mm=_STEP_MM)
        _draw_label(pen, paper, note, top_mm)

    return Block(high_mm, draw)


def _draw_marks(pen: CardPen, marks: Sequence[str], y_mm: float) -> float:
    """The mark engraved on the holder, framed; answers where the next line may start."""
    if not marks:
        return y_mm
    wide_mm = max(text_width_mm(line, 13, True) for line in marks) + 4
    pen.box(CARD_MARGIN_MM, y_mm, wide_mm, 6.4 * len(marks), width_mm=0.4)
    pen.lines(CARD_MARGIN_MM + 2, y_mm + 4.8, marks, 13, bold=True, step_mm=6.4)
    return y_mm + 6.4 * len(marks) + 0.5


def _draw_label(pen: CardPen, paper: CardPaper, note: Sequence[str], top_mm: float) -> None:
    left_mm = CARD_MARGIN_MM + CARD_ROOM_MM - _SYMBOL_MM
    if not paper.address:
        pen.box(left_mm, top_mm, _SYMBOL_MM, _SYMBOL_MM, width_mm=0.25, dashes=(2.0, 1.2))
    else:
        _draw_symbol(pen, paper.address, left_mm, top_mm)
    pen.lines(left_mm, top_mm + _SYMBOL_MM + 4, note, _TEXT_PT, bold=True, step_mm=_STEP_MM)


def _draw_symbol(pen: CardPen, address: str, left_mm: float, top_mm: float) -> None:
    symbol = make_symbol(address)
    module_um = Fraction(round(_SYMBOL_MM * 1000), symbol.modules + 2 * QUIET_MODULES)
    quiet_um = QUIET_MODULES * module_um
    draw_symbol(
        pen.canvas,
        symbol,
        left_um=round(left_mm * 1000) + quiet_um,
        bottom_um=round((CARD_HEIGHT_MM - top_mm - _SYMBOL_MM) * 1000) + quiet_um,
        module_um=module_um,
    )


# ---------------------------------------------------------------- drawing
def _drawing(view: SideView) -> Block:
    """The side view with all its dimensions, and under it what is missing and what is form."""
    notes = whole_lines(_drawing_note(view), CARD_ROOM_MM, _SMALL_PT)
    notes_mm = 3.2 * len(notes) + 2
    try:
        drawing = placed_in_full(
            view, round(CARD_ROOM_MM * 1000), round(_DRAWING_MM * 1000), _LETTER_UM
        )
    except NoRoom:
        text = "The side view is too long or wide to draw."
        return Block(
            10 + notes_mm, lambda pen, top: pen.text(CARD_MARGIN_MM, top + 6, text, _TEXT_PT)
        )
    high_mm = drawing.height_um / 1000

    def draw(pen: CardPen, top_mm: float) -> None:
        beside_mm = (CARD_ROOM_MM - drawing.width_um / 1000) / 2
        draw_drawing(pen, drawing, CARD_MARGIN_MM + beside_mm, top_mm + 1)
        pen.text(CARD_MARGIN_MM, top_mm + 4, f"{drawing.scale_text}, mm", _SMALL_PT)
        pen.lines(CARD_MARGIN_MM, top_mm + high_mm + 4, notes, _SMALL_PT, step_mm=3.2)

    return Block(high_mm + notes_mm + 2, draw)


def _drawing_note(view: SideView) -> str:
    form = "Measured plain, by the records in brackets. Thick: on record; thin: form only."
    if not view.missing:
        return form
    return f"{form} Not on record, dashed: {', '.join(view.missing)}."


# ---------------------------------------------------------------- lists
def _listed(heading: str, blocks: Sequence[Block]) -> Iterator[Block]:
    """A heading that no page break parts from its first line; nothing where there are no lines."""
    if not blocks:
        return
    first, *rest = blocks

    def draw(pen: CardPen, top_mm: float) -> None:
        pen.rule(CARD_MARGIN_MM, top_mm + 1.2, CARD_ROOM_MM, 0.4)
        pen.text(CARD_MARGIN_MM, top_mm + 6, heading, _HEADING_PT, bold=True)
        first.draw(pen, top_mm + 7.5)

    yield Block(7.5 + first.high_mm, draw)
    yield from rest
    yield Block(1.5, lambda pen, top: None)


def _part(part: PartLine) -> Block:
    marks = whole_lines(part.mark, _MARK_MM - 2, _TEXT_PT, True)
    texts = whole_lines(part.text, CARD_ROOM_MM - _ROLE_MM - _MARK_MM, _TEXT_PT)

    def draw(pen: CardPen, top_mm: float) -> None:
        y = top_mm + 3.2
        pen.text(CARD_MARGIN_MM, y, part.role, _SMALL_PT)
        x = CARD_MARGIN_MM + _ROLE_MM
        pen.lines(x, y, marks, _TEXT_PT, bold=True, step_mm=_STEP_MM)
        pen.lines(x + _MARK_MM, y, texts, _TEXT_PT, step_mm=_STEP_MM)

    return Block(_STEP_MM * max(1, len(marks), len(texts)) + 0.4, draw)


def _figure(caption: str, text: str) -> Block:
    lines = whole_lines(text, CARD_ROOM_MM - _CAPTION_MM, _TEXT_PT, True)

    def draw(pen: CardPen, top_mm: float) -> None:
        pen.text(CARD_MARGIN_MM, top_mm + 3.2, caption, _SMALL_PT)
        x = CARD_MARGIN_MM + _CAPTION_MM
        pen.lines(x, top_mm + 3.2, lines, _TEXT_PT, bold=True, step_mm=_STEP_MM)

    return Block(_STEP_MM * max(1, len(lines)) + 0.4, draw)


def _line(text: str, before: str = "–") -> Block:
    lines = whole_lines(text, CARD_ROOM_MM - 6, _TEXT_PT)

    def draw(pen: CardPen, top_mm: float) -> None:
        pen.text(CARD_MARGIN_MM, top_mm + 3.2, before, _TEXT_PT)
        pen.lines(CARD_MARGIN_MM + 6, top_mm + 3.2, lines, _TEXT_PT, step_mm=_STEP_MM)

    return Block(_STEP_MM * max(1, len(lines)) + 0.4, draw)
