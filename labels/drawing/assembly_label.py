"""The label of one assembly, from plain figures to a PDF page of the label's size."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from io import BytesIO

from reportlab.pdfgen.canvas import Canvas

from crib.rules.units import show_inch, show_mm
from labels.drawing.fonts import font_name, missing_letters, printable, width_um
from labels.drawing.qr import QUIET_MODULES, Symbol, draw_symbol, make_symbol
from labels.rules.code import printed_code
from labels.rules.layout import (
    UM_PER_POINT,
    Content,
    Keep,
    Layout,
    Page,
    Placed,
    Row,
    Words,
    lay_out,
)
from labels.rules.stock import PRINT_HEADS, SINGLE_57X32, LabelStock, PrintHead

# Heights of capitals [um]: wanted and least. ISO 9241-3 asks for 16 to 20 minutes of arc; the
# number is read from 700 mm, the rest from 350 to 500 mm.
_NUMBER = (4350, 4000)
_DIAMETER = (3100, 3000)
_FIGURE = (2300, 2200)
_TEXT = (2000, 2000)
#: Captions and units beside a figure may give way to it; the figure itself stays tall.
_CAPTION = (2200, 1600)
#: Inches up to this many letters ("1/2 in") stand behind the millimetres, longer ones below.
_SHORT_INCHES = 6


@dataclass(frozen=True, slots=True)
class AssemblyLabel:
    """What one label says. Lengths in whole micrometres; None is a figure nobody knows.

    assembly_number   "1044"; printed with the revision, never cut
    revision          3, printed as r3
    holder_mark       as engraved on the holder ("H-07"), printed as tall as the number
    diameter_um       measured cutting diameter, else nominal [um]
    bought_in_inches  the diameter is shown in inches as well
    limit_rpm         lowest speed limit of the parts [1/min]
    limiting_part     the part that sets the limit, or whose limit is not known ("nut")
    built_by          initials
    code              nine letters; the check letter must agree
    url_text          text of the symbol; ends in `code`
    large_cutter      16 mm or more: an unknown speed limit then needs a check
    """

    assembly_number: str
    revision: int
    holder_mark: str
    diameter_um: int | None
    bought_in_inches: bool
    cutter_text: str
    collet_text: str
    stickout_um: int | None
    gauge_length_um: int | None
    limit_rpm: int | None
    limiting_part: str
    built_on: date
    built_by: str
    code: str
    url_text: str
    large_cutter: bool = False

    def __post_init__(self) -> None:
        printed_code(self.code)
        if not self.url_text.endswith(f"/{self.code}"):
            raise ValueError("The symbol's text must end in the printed code.")


def missing_on_label(label: AssemblyLabel) -> str:
    """Letters of the shop's own texts that would print as `?`; "" when all are there."""
    return missing_letters(
        (
            label.assembly_number,
            label.holder_mark,
            label.cutter_text,
            label.collet_text,
            label.limiting_part,
            label.built_by,
        )
    )


def assembly_label_pdf(
    label: AssemblyLabel,
    *,
    stock: LabelStock = SINGLE_57X32,
    head: PrintHead = PRINT_HEADS["203"],
    invariant: bool = False,
) -> bytes:
    """PDF of one page, exactly the size of the label. With `invariant`, same input same bytes.

    Raises LabelTooSmall when something that must never be cut does not fit.
    """
    return assembly_labels_pdf((label,), stock=stock, head=head, invariant=invariant)


def assembly_labels_pdf(
    labels: Iterable[AssemblyLabel],
    *,
    stock: LabelStock = SINGLE_57X32,
    head: PrintHead = PRINT_HEADS["203"],
    invariant: bool = False,
) -> bytes:
    """PDF with one page for each of `labels`, in their order; see `assembly_label_pdf`."""
    size = (stock.width_um / UM_PER_POINT, stock.height_um / UM_PER_POINT)
    target = BytesIO()
    canvas = Canvas(target, pagesize=size, invariant=int(invariant), pageCompression=1, lang="en")
    canvas.setTitle("Assembly labels")
    canvas.setCreator("Holderbook")
    for label in labels:
        _draw_label(canvas, label, stock, head)
        canvas.showPage()
    canvas.save()
    return target.getvalue()


def label_layout(
    label: AssemblyLabel,
    *,
    stock: LabelStock = SINGLE_57X32,
    head: PrintHead = PRINT_HEADS["203"],
) -> Layout:
    """Where everything stands on the label, and what found no room, without drawing it."""
    symbol = make_symbol(label.url_text, stock.correction)
    return _layout(label, symbol, stock, head)


def _layout(label: AssemblyLabel, symbol: Symbol, stock: LabelStock, head: PrintHead) -> Layout:
    # One dot more, so that moving the corner to a whole dot keeps the quiet zone inside.
    side_um = -(-(symbol.side_um(head.module_um()) + head.pitch_um) // 1)
    page = Page(stock.width_um, stock.height_um, stock.inset_um, int(side_um), stock.symbol_edge_um)
    return lay_out(_content(label), page, width_um)


def _draw_label(canvas: Canvas, label: AssemblyLabel, stock: LabelStock, head: PrintHead) -> None:
    symbol = make_symbol(label.url_text, stock.correction)
    layout = _layout(label, symbol, stock, head)
    for placed in layout.placed:
        _draw_words(canvas, placed)
    left_um, bottom_um = symbol_corner_um(layout, symbol, stock, head)
    draw_symbol(canvas, symbol, left_um=left_um, bottom_um=bottom_um, module_um=head.module_um())


def _draw_words(canvas: Canvas, placed: Placed) -> None:
    canvas.setFont(font_name(placed.bold), placed.size_pt)
    canvas.drawString(placed.x_um / UM_PER_POINT, placed.baseline_um / UM_PER_POINT, placed.text)


def symbol_corner_um(
    layout: Layout, symbol: Symbol, stock: LabelStock, head: PrintHead
) -> tuple[Fraction, Fraction]:
    """Lower left corner [um] of the black square, on whole dots from the label's top left."""
    quiet_um = QUIET_MODULES * head.module_um()
    left_um = -(-(layout.symbol_left_um + quiet_um) // head.pitch_um) * head.pitch_um
    drop_um = stock.height_um - layout.symbol_bottom_um - quiet_um
    down_um = (drop_um // head.pitch_um) * head.pitch_um
    return left_um, stock.height_um - down_um


def _content(label: AssemblyLabel) -> Content:
    body = (*_diameter_rows(label), _gauge_row(label), _stickout_row(label), *_speed_rows(label))
    feet = (_parts_row(label), _code_row(label))
    return Content(
        head=_head_row(label),
        body=tuple(row for row in body if row.left),
        feet=tuple(row for row in feet if row.left or row.right),
        drop_order=("parts",),
    )


def _words(text: str, height: tuple[int, int], bold: bool = False, keep: Keep = Keep.WHOLE):
    return Words(printable(text), *height, bold=bold, keep=keep)


def _head_row(label: AssemblyLabel) -> Row:
    number = (label.assembly_number, f"r{label.revision}")
    return Row(
        "assembly",
        left=tuple(_words(text, _NUMBER, bold=True) for text in number),
        right=(_words(label.holder_mark, _NUMBER, bold=True),),
    )


def _diameter_rows(label: AssemblyLabel) -> tuple[Row, ...]:
    if label.diameter_um is None:
        return (Row("diameter", left=(_words("Ø NOT KNOWN", _DIAMETER, bold=True),)),)
    millimetres = (
        _words(f"Ø{show_mm(label.diameter_um)}", _DIAMETER, bold=True),
        _words("mm", _CAPTION),
    )
    if not label.bought_in_inches:
        return (Row("diameter", left=millimetres),)
    inches = _words(show_inch(label.diameter_um), _FIGURE)
    if len(inches.text) <= _SHORT_INCHES:
        return (Row("diameter", left=(*millimetres, inches)),)
    return Row("diameter", left=millimetres), Row("inches", left=(_words("=", _CAPTION), inches))


def _gauge_row(label: AssemblyLabel) -> Row:
    if label.gauge_length_um is None:
        said = (_words("no gauge", _CAPTION), _words("TOUCH OFF", _FIGURE, bold=True))
        return Row("gauge length", left=said)
    figure = show_mm(label.gauge_length_um, 1)
    return _figure_row("gauge length", _words("gauge", _CAPTION), figure, "mm")


def _stickout_row(label: AssemblyLabel) -> Row:
    caption = _words("stick-out", _CAPTION)
    if label.stickout_um is None:
        return Row("stick-out", left=(caption, _words("NOT KNOWN", _FIGURE, bold=True)))
    return _figure_row("stick-out", caption, show_mm(label.stickout_um, 1), "mm")


def _figure_row(name: str, caption: Words, figure: str, unit: str) -> Row:
    return Row(name, left=(caption, _words(figure, _FIGURE, bold=True), _words(unit, _CAPTION)))


def _speed_rows(label: AssemblyLabel) -> tuple[Row, ...]:
    caption = _words("n max", _CAPTION)
    if label.limit_rpm is not None:
        speed = _figure_row("speed limit", caption, str(label.limit_rpm), "1/min")
        return speed, _limiting_row(_words("set by", _TEXT), label.limiting_part)
    speed = Row("speed limit", left=(caption, _words("NOT KNOWN", _FIGURE, bold=True)))
    if label.large_cutter:
        check = _words("CHECK", _TEXT, bold=True)
        return speed, _limiting_row(check, label.limiting_part or "large cutter")
    return speed, _limiting_row(_words("of", _TEXT), label.limiting_part)


def _limiting_row(caption: Words, part: str) -> Row:
    words = _words(part, _TEXT, keep=Keep.CUT)
    return Row("limiting part", left=(caption, words) if words.text else ())


def _parts_row(label: AssemblyLabel) -> Row:
    cutter = _words(label.cutter_text, _TEXT, keep=Keep.CUT)
    collet = _words(label.collet_text, _TEXT, keep=Keep.CUT)
    return Row(
        "parts",
        left=(cutter,) if cutter.text else (),
        right=(collet,) if collet.text else (),
    )


def _code_row(label: AssemblyLabel) -> Row:
    built = _words(f"{label.built_on.isoformat()} {label.built_by}", _TEXT, keep=Keep.DROP)
    return Row(
        "code", left=(built,), right=(_words(printed_code(label.code), (2200, 2000), bold=True),)
    )
