"""Label stock and print heads: what a label is cut from and how finely it is printed."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from crib.rules.units import UM_PER_INCH, um_from_mm

#: Default module of the symbol: four dots at 203 dpi, readable from about 25 cm (tried with a
#: modelled printer and camera).
MODULE_TARGET_UM = 500
SMALLEST_MODULE_UM = 330
FEWEST_DOTS = 3


@dataclass(frozen=True, slots=True)
class LabelStock:
    """One kind of blank label, one label a page.

    inset_um         white border that no text enters [um]
    symbol_edge_um   white between the symbol's quiet zone and the edge [um]
    correction       error correction level of the symbol, `Q` or `M`
    """

    key: str
    name: str
    width_um: int
    height_um: int
    inset_um: int
    symbol_edge_um: int
    correction: str = "Q"


SINGLE_57X32 = LabelStock(
    key="single-57x32",
    name="single 57 × 32 mm",
    width_um=um_from_mm(57),
    height_um=um_from_mm(32),
    inset_um=1000,
    symbol_edge_um=500,
)
STOCKS = {stock.key: stock for stock in (SINGLE_57X32,)}


@dataclass(frozen=True, slots=True)
class PrintHead:
    """A printer's row of dots; `pitch_um` [um] is the distance from dot to dot."""

    name: str
    pitch_um: Fraction

    def module_dots(self, target_um: int = MODULE_TARGET_UM) -> int:
        """Whole dots of one symbol module, at most `target_um` [um] wide where dots allow.

        >>> PRINT_HEADS["203"].module_dots(), PRINT_HEADS["300"].module_dots()
        (4, 5)
        """
        smallest = max(FEWEST_DOTS, -(-SMALLEST_MODULE_UM // self.pitch_um))
        return max(int(target_um // self.pitch_um), smallest)

    def module_um(self, target_um: int = MODULE_TARGET_UM) -> Fraction:
        """Width of one symbol module [um]: whole dots, exact.

        >>> PRINT_HEADS["203"].module_um()
        Fraction(500, 1)
        """
        return self.module_dots(target_um) * self.pitch_um


#: Heads sold as "203 dpi" have 8 dots/mm; some sold as "300 dpi" have 12 (common practice).
PRINT_HEADS = {
    "203": PrintHead("203 dpi", Fraction(125)),
    "300": PrintHead("300 dpi", Fraction(UM_PER_INCH, 300)),
    "12/mm": PrintHead("12 dots/mm", Fraction(1000, 12)),
    "600": PrintHead("600 dpi", Fraction(UM_PER_INCH, 600)),
}
