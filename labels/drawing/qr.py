"""The square symbol: modules from the text, drawn as one path on whole printer dots."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from qrcode import QRCode
from qrcode.constants import ERROR_CORRECT_M, ERROR_CORRECT_Q
from qrcode.util import MODE_8BIT_BYTE, MODE_ALPHA_NUM, QRData
from reportlab.pdfgen.canvas import Canvas

from labels.rules.address import is_packed, symbol_segments
from labels.rules.layout import UM_PER_POINT

#: White modules on every side (ISO/IEC 18004, clause 6.3.8).
QUIET_MODULES = 4
_LEVELS = {"M": ERROR_CORRECT_M, "Q": ERROR_CORRECT_Q}


@dataclass(frozen=True, slots=True)
class Symbol:
    """The modules of one symbol, top row first, without the quiet zone; True is black."""

    rows: tuple[tuple[bool, ...], ...]

    @property
    def modules(self) -> int:
        """Modules on a side, without the quiet zone."""
        return len(self.rows)

    def side_um(self, module_um: Fraction) -> Fraction:
        """Side [um] with the quiet zone, of modules of `module_um` [um]."""
        return (self.modules + 2 * QUIET_MODULES) * module_um


def make_symbol(text: str, correction: str = "Q") -> Symbol:
    """The symbol of `text` in the smallest version, at correction `Q` or `M`."""
    code = QRCode(error_correction=_LEVELS[correction], border=0)
    for segment in symbol_segments(text):
        mode = MODE_ALPHA_NUM if is_packed(segment) else MODE_8BIT_BYTE
        code.add_data(QRData(segment.encode(), mode=mode), optimize=0)
    code.make()
    return Symbol(tuple(tuple(map(bool, row)) for row in code.modules))


def black_runs(symbol: Symbol) -> list[tuple[int, int, int]]:
    """Runs of black modules as (column, row from the bottom, length)."""
    runs = []
    for up, row in enumerate(reversed(symbol.rows)):
        start = None
        for column, black in enumerate((*row, False)):
            if black and start is None:
                start = column
            elif not black and start is not None:
                runs.append((start, up, column - start))
                start = None
    return runs


def draw_symbol(
    canvas: Canvas, symbol: Symbol, *, left_um: Fraction, bottom_um: Fraction, module_um: Fraction
) -> None:
    """Draw `symbol`; its black square (not its quiet zone) starts at `left_um`, `bottom_um` [um].

    One path filled once: separate rectangles may show hairlines between them.
    """
    module_pt = float(module_um) / UM_PER_POINT
    canvas.saveState()
    canvas.setFillGray(0)
    canvas.translate(float(left_um) / UM_PER_POINT, float(bottom_um) / UM_PER_POINT)
    canvas.scale(module_pt, module_pt)
    canvas.addLiteral(" ".join(f"{x} {y} {n} 1 re" for x, y, n in black_runs(symbol)) + " f")
    canvas.restoreState()
