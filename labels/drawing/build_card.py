"""The build card on A5: one assembly drawn to scale, its parts, steps and figures. Vectors."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from io import BytesIO

from reportlab.pdfgen.canvas import Canvas

from labels.drawing.build_card_blocks import Block, card_blocks
from labels.drawing.build_card_paper import CardPaper
from labels.drawing.build_card_pen import (
    CARD_HEIGHT_MM,
    CARD_MARGIN_MM,
    CARD_ROOM_MM,
    CARD_WIDTH_MM,
    CardPen,
    whole_lines,
)
from labels.drawing.fonts import font_name, printable
from labels.drawing.setup_sheet_pen import POINTS, shrunk

_HEAD_MM = 14.0
_STAMP_MM = 6.0
_STAMP_PT, _SMALLEST_STAMP_PT = 34, 14
_FOOT_PT, _FOOT_STEP_MM = 6.5, 2.9


def build_card_pdf(paper: CardPaper, *, invariant: bool = False) -> bytes:
    """PDF of the whole card, A5 upright. With `invariant`, same input same bytes."""
    foot = whole_lines(paper.foot, CARD_ROOM_MM, _FOOT_PT)
    top_mm = _HEAD_MM + _STAMP_MM * bool(paper.stamps)
    pages = in_pages(card_blocks(paper), top_mm, CARD_HEIGHT_MM - _foot_mm(foot))
    target = BytesIO()
    size = (CARD_WIDTH_MM * POINTS, CARD_HEIGHT_MM * POINTS)
    canvas = Canvas(target, pagesize=size, invariant=int(invariant), pageCompression=1, lang="en")
    canvas.setTitle(f"Build card {paper.number} {paper.revision}")
    canvas.setCreator("Holderbook")
    for number, blocks in enumerate(pages, start=1):
        pen = CardPen(canvas)
        _draw_stamp(canvas, paper.stamps)
        _draw_running_head(pen, paper, f"{number}/{len(pages)}")
        for block_top_mm, block in blocks:
            block.draw(pen, block_top_mm)
        pen.rule(CARD_MARGIN_MM, CARD_HEIGHT_MM - _foot_mm(foot) + 1, CARD_ROOM_MM)
        below_mm = CARD_HEIGHT_MM - _foot_mm(foot) + 4
        pen.lines(CARD_MARGIN_MM, below_mm, foot, _FOOT_PT, step_mm=_FOOT_STEP_MM)
        canvas.showPage()
    canvas.save()
    return target.getvalue()


def _foot_mm(foot: Sequence[str]) -> float:
    return 7.0 + _FOOT_STEP_MM * len(foot)


def in_pages(
    blocks: Iterable[Block], top_mm: float, last_mm: float
) -> list[list[tuple[float, Block]]]:
    """Blocks with their upper edges [mm], page by page, between two heights [mm]."""
    pages: list[list[tuple[float, Block]]] = [[]]
    y_mm = top_mm
    for block in blocks:
        if y_mm + block.high_mm > last_mm and pages[-1]:
            pages.append([])
            y_mm = top_mm
        pages[-1].append((y_mm, block))
        y_mm += block.high_mm
    return pages


def _draw_running_head(pen: CardPen, paper: CardPaper, page: str) -> None:
    right_mm = CARD_MARGIN_MM + CARD_ROOM_MM
    pen.text_before(right_mm, 8.5, page, 9, bold=True)
    about = f"Build card {paper.number} {paper.revision} · as of {paper.made_at}"
    text, size = shrunk(about, CARD_ROOM_MM - 16, 8, 5)
    pen.text(CARD_MARGIN_MM, 8.5, text, size)
    pen.rule(CARD_MARGIN_MM, 10.5, CARD_ROOM_MM, 0.8)
    if paper.stamps:
        said, size = shrunk(" · ".join(paper.stamps), CARD_ROOM_MM, 11, 7, True)
        pen.text(CARD_MARGIN_MM, 15.5, said, size, bold=True)


def _draw_stamp(canvas: Canvas, stamps: Sequence[str]) -> None:
    """Across the page, behind everything, in a grey that a copier keeps."""
    if not stamps:
        return
    canvas.saveState()
    canvas.setFillGray(0.88)
    canvas.translate(CARD_WIDTH_MM * POINTS / 2, CARD_HEIGHT_MM * POINTS / 2)
    canvas.rotate(55)
    text, size = shrunk(printable(stamps[0]), 185, _STAMP_PT, _SMALLEST_STAMP_PT, True)
    canvas.setFont(font_name(True), size)
    canvas.drawCentredString(0, -0.36 * size, text)
    canvas.restoreState()
