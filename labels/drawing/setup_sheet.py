"""The set-up sheet on A4: what each tool is, where it is, what to enter. Vectors throughout."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import partial
from io import BytesIO

from reportlab.pdfgen.canvas import Canvas

from labels.drawing.fonts import font_name
from labels.drawing.qr import QUIET_MODULES, draw_symbol, make_symbol
from labels.drawing.setup_sheet_band import BAND_MM, draw_band
from labels.drawing.setup_sheet_paper import OFFSET_COLUMNS, FetchPlace, SheetPaper
from labels.drawing.setup_sheet_pen import (
    MARGIN_MM,
    PAGE_HEIGHT_MM,
    PAGE_WIDTH_MM,
    POINTS,
    ROOM_MM,
    Pen,
    fitted,
    shrunk,
    text_width_mm,
    wrapped,
)

#: So many tools are drawn; a program with more is read on its page.
MOST_TOOLS = 120
_RUNNING_HEAD_MM = 20.0
_FOOT_MM = 12.0
_SYMBOL_MM = 30.0
_HEAD_MM = 47.0
_LINE_MM = 4.2
_STAMP_PT = 44


@dataclass(frozen=True, slots=True)
class _Block:
    """Something of a height that stays on one page; `draw` gets its upper edge [mm]."""

    high_mm: float
    draw: Callable[[Pen, float], None]


def setup_sheet_pdf(paper: SheetPaper, *, invariant: bool = False) -> bytes:
    """PDF of the whole sheet, A4 upright. With `invariant`, same input same bytes."""
    pages = _in_pages(_blocks(paper))
    target = BytesIO()
    size = (PAGE_WIDTH_MM * POINTS, PAGE_HEIGHT_MM * POINTS)
    canvas = Canvas(target, pagesize=size, invariant=int(invariant), pageCompression=1, lang="en")
    canvas.setTitle(f"Set-up sheet {paper.program} {paper.revision} on {paper.machine}")
    canvas.setCreator("Holderbook")
    for number, blocks in enumerate(pages, start=1):
        pen = Pen(canvas)
        _draw_stamps(canvas, paper.stamps)
        _draw_running_head(pen, paper, f"{number}/{len(pages)}")
        for top_mm, block in blocks:
            block.draw(pen, top_mm)
        _draw_foot(pen, paper)
        canvas.showPage()
    canvas.save()
    return target.getvalue()


def _in_pages(blocks: Iterator[_Block]) -> list[list[tuple[float, _Block]]]:
    """Blocks with their upper edges, page by page."""
    pages: list[list[tuple[float, _Block]]] = [[]]
    y_mm, last_mm = _RUNNING_HEAD_MM, PAGE_HEIGHT_MM - _FOOT_MM
    for block in blocks:
        if y_mm + block.high_mm > last_mm and pages[-1]:
            pages.append([])
            y_mm = _RUNNING_HEAD_MM
        pages[-1].append((y_mm, block))
        y_mm += block.high_mm
    return pages


def _blocks(paper: SheetPaper) -> Iterator[_Block]:
    yield _Block(_HEAD_MM, lambda pen, top: _draw_head(pen, paper, top))
    for text in (*paper.stamps, *paper.warnings):
        yield _warning(text)
    yield from _fetch_blocks(paper.fetch)
    for band in paper.tools[:MOST_TOOLS]:
        yield _Block(BAND_MM, lambda pen, top, band=band: draw_band(pen, band, top))
    if len(paper.tools) > MOST_TOOLS:
        yield _warning(f"{len(paper.tools) - MOST_TOOLS} further tools: see the page.")
    yield from _offset_blocks(paper.offsets)
    yield from _caution_blocks(paper)


# ---------------------------------------------------------------- on every page
def _draw_running_head(pen: Pen, paper: SheetPaper, page: str) -> None:
    pen.text_before(MARGIN_MM + ROOM_MM, 11, page, 10, bold=True)
    name = f"{paper.program} {paper.revision}"
    about = f"{name} on {paper.machine} · as of {paper.made_at} · SHA-256 {paper.sha}"
    pen.text(MARGIN_MM, 11, fitted(about, ROOM_MM - 18, 8), 8)
    pen.rule(MARGIN_MM, 13, ROOM_MM, 0.8)
    if paper.stamps:
        said = fitted(" · ".join(paper.stamps), ROOM_MM, 10, True)
        pen.text(MARGIN_MM, 17.5, said, 10, bold=True)


def _draw_foot(pen: Pen, paper: SheetPaper) -> None:
    pen.rule(MARGIN_MM, PAGE_HEIGHT_MM - 10, ROOM_MM)
    pen.text(MARGIN_MM, PAGE_HEIGHT_MM - 6.5, fitted(paper.foot, ROOM_MM, 7), 7)


def _draw_stamps(canvas: Canvas, stamps: Sequence[str]) -> None:
    """Across the page, behind everything, in a grey that a copier keeps."""
    if not stamps:
        return
    canvas.saveState()
    canvas.setFillGray(0.86)
    canvas.translate(PAGE_WIDTH_MM * POINTS / 2, PAGE_HEIGHT_MM * POINTS / 2)
    canvas.rotate(55)
    text, size = shrunk(stamps[0], 260, _STAMP_PT, _STAMP_PT / 2, True)
    canvas.setFont(font_name(True), size)
    canvas.drawCentredString(0, -0.36 * size, text)
    canvas.restoreState()


# ---------------------------------------------------------------- head of the first page
def _draw_head(pen: Pen, paper: SheetPaper, top_mm: float) -> None:
    room_mm = ROOM_MM - _SYMBOL_MM - 6
    _draw_name(pen, paper, top_mm + 6, room_mm)
    pen.text(MARGIN_MM, top_mm + 12.5, fitted(paper.machine, room_mm, 13, True), 13, bold=True)
    rows = (
        ("part", paper.title),
        ("approved", paper.approval),
        ("SHA-256", f"{paper.sha} (first 12)"),
        ("as of", paper.made_at),
        ("cutting time", paper.time),
        ("calls", paper.order or "none"),
    )
    y_mm = top_mm + 19
    for caption, value in rows:
        pen.text(MARGIN_MM, y_mm, caption, 7)
        pen.text(MARGIN_MM + 22, y_mm, fitted(value, room_mm - 22, 9), 9)
        y_mm += _LINE_MM
    _draw_address(pen, paper, top_mm)


def _draw_name(pen: Pen, paper: SheetPaper, y_mm: float, room_mm: float) -> None:
    """Program and revision; only the name may be cut, never which revision it is."""
    revision = fitted(f"revision {paper.revision}", room_mm / 2, 16, True)
    left_mm = room_mm - text_width_mm(revision, 16, True) - 4
    name, size = shrunk(paper.program, left_mm, 20, 11, True)
    pen.text(MARGIN_MM, y_mm, name, size, bold=True)
    pen.text(MARGIN_MM + text_width_mm(name, size, True) + 4, y_mm, revision, 16, bold=True)


def _draw_address(pen: Pen, paper: SheetPaper, top_mm: float) -> None:
    """The square symbol of the live page, with its address in letters."""
    symbol = make_symbol(paper.address, "M")
    left_mm = MARGIN_MM + ROOM_MM - _SYMBOL_MM
    module_um = Fraction(round(_SYMBOL_MM * 1000), symbol.modules + 2 * QUIET_MODULES)
    quiet_um = QUIET_MODULES * module_um
    bottom_um = round((PAGE_HEIGHT_MM - top_mm - _SYMBOL_MM) * 1000) + quiet_um
    draw_symbol(
        pen.canvas,
        symbol,
        left_um=round(left_mm * 1000) + quiet_um,
        bottom_um=bottom_um,
        module_um=module_um,
    )
    y_mm = top_mm + _SYMBOL_MM + 2.5
    pen.text(left_mm, y_mm, fitted(paper.address, _SYMBOL_MM, 5.5), 5.5)
    note = wrapped(paper.address_note, _SYMBOL_MM, 5.5, True)
    pen.lines(left_mm, y_mm + 2.6, note, 5.5, bold=True)


def _warning(text: str) -> _Block:
    lines = wrapped(text, ROOM_MM - 8, 10, True, most=3)
    high_mm = 5 + 4.6 * len(lines)

    def draw(pen: Pen, top_mm: float) -> None:
        pen.box(MARGIN_MM, top_mm, ROOM_MM, high_mm - 1.5, width_mm=0.8)
        pen.lines(MARGIN_MM + 4, top_mm + 5, lines, 10, bold=True, step_mm=4.6)

    return _Block(high_mm, draw)


# ---------------------------------------------------------------- lists
def _heading(text: str) -> _Block:
    return _Block(8, lambda pen, top: pen.text(MARGIN_MM, top + 6, text, 11, bold=True))


def _together(*blocks: _Block) -> _Block:
    """Blocks that no page break may part, as a heading and what it stands over."""

    def draw(pen: Pen, top_mm: float) -> None:
        for block in blocks:
            block.draw(pen, top_mm)
            top_mm += block.high_mm

    return _Block(sum(block.high_mm for block in blocks), draw)


def _fetch_blocks(places: Sequence[FetchPlace]) -> Iterator[_Block]:
    heading = [_heading("What to fetch")]
    for place in places:
        first, *rest = map(_tick_line, place.lines)
        yield _together(*heading, _text_line(place.place, bold=True), first)
        yield from rest
        heading = []
    yield _Block(3, lambda pen, top: None)


def _text_line(text: str, bold: bool = False) -> _Block:
    said = fitted(text, ROOM_MM, 9, bold)
    return _Block(5, lambda pen, top: pen.text(MARGIN_MM, top + 3.8, said, 9, bold=bold))


def _tick_line(text: str) -> _Block:
    said = fitted(text, ROOM_MM - 10, 9)

    def draw(pen: Pen, top_mm: float) -> None:
        pen.box(MARGIN_MM + 1, top_mm + 0.4, 4.6, 4.6, width_mm=0.3)
        pen.text(MARGIN_MM + 9, top_mm + 4, said, 9)

    return _Block(6, draw)


def _offset_blocks(rows: Sequence[Sequence[str]]) -> Iterator[_Block]:
    if not rows:
        return
    names = tuple(name for name, _ in OFFSET_COLUMNS)
    first, *rest = map(_offset_row, rows)
    yield _together(_heading("Offsets to enter"), _Block(5, partial(_draw_names, names)), first)
    yield from rest


def _draw_names(names: Sequence[str], pen: Pen, top_mm: float) -> None:
    _draw_row(pen, names, top_mm, 7)
    pen.rule(MARGIN_MM, top_mm + 4.8, ROOM_MM, 0.5)


def _offset_row(row: Sequence[str]) -> _Block:
    note_mm = OFFSET_COLUMNS[-1][1] - 2
    note = wrapped(row[-1], note_mm, 7, most=3)
    high_mm = 2.2 + 3.2 * max(1, len(note))

    def draw(pen: Pen, top_mm: float) -> None:
        _draw_row(pen, row[:-1], top_mm, 8.5)
        left_mm = MARGIN_MM + sum(wide for _, wide in OFFSET_COLUMNS[:-1])
        pen.lines(left_mm, top_mm + 3.6, note, 7, step_mm=3.2)
        pen.rule(MARGIN_MM, top_mm + high_mm - 0.3, ROOM_MM, 0.1)

    return _Block(high_mm, draw)


def _draw_row(pen: Pen, cells: Sequence[str], top_mm: float, size_pt: float) -> None:
    x_mm = MARGIN_MM
    for cell, (_, wide_mm) in zip(cells, OFFSET_COLUMNS, strict=False):
        pen.text(x_mm, top_mm + 3.6, fitted(cell, wide_mm - 2, size_pt), size_pt)
        x_mm += wide_mm


def _caution_blocks(paper: SheetPaper) -> Iterator[_Block]:
    if not paper.cautions:
        return
    first, *rest = [_paragraph(f"– {caution}") for caution in paper.cautions]
    yield _together(_heading("Cautions"), first)
    yield from rest


def _paragraph(text: str) -> _Block:
    lines = wrapped(text, ROOM_MM, 8.5, most=4)

    def draw(pen: Pen, top_mm: float) -> None:
        pen.lines(MARGIN_MM, top_mm + 3.4, lines, 8.5, step_mm=3.9)

    return _Block(1 + 3.9 * len(lines), draw)
