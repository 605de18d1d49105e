"""Thickness of the chip in side milling: thinner than the chip load where little width is cut."""

from __future__ import annotations

from dataclasses import dataclass
from math import asin, degrees, pi, sin, sqrt


@dataclass(frozen=True, slots=True)
class ChipThickness:
    """Mean and largest thickness of the chip [um], and the arc over which a tooth cuts [°]."""

    mean_um: float
    largest_um: float
    arc_deg: float


def chip_thickness(chip_load_um: float, width_um: float, diameter_um: float) -> ChipThickness:
    """Chip of a tooth at a width of cut [um] with a cutter of a diameter [um].

    Raises ValueError for a width beyond the diameter.

    Source: circle geometry; hm = 2 fz ae / (D phi), cos phi = 1 - 2 ae / D.

    >>> chip = chip_thickness(100, 1_000, 10_000)
    >>> round(chip.mean_um, 2), round(chip.largest_um, 2)
    (31.08, 60.0)
    """
    if not 0 < width_um <= diameter_um:
        raise ValueError("the width of cut lies between zero and the diameter")
    # The same as arccos(1 - 2 ae / D), and still true where next to nothing is cut.
    arc = 2 * asin(sqrt(width_um / diameter_um))
    mean_um = 2 * chip_load_um * width_um / (diameter_um * arc)
    largest_um = chip_load_um * (sin(arc) if arc < pi / 2 else 1)
    return ChipThickness(mean_um, largest_um, degrees(arc))


def chip_load_for_mean_um(mean_um: float, width_um: float, diameter_um: float) -> float:
    """Chip load [um] that gives a mean thickness [um] at a width of cut [um].

    Source: the same geometry, solved for fz.

    >>> round(chip_load_for_mean_um(31.08, 1_000, 10_000))
    100
    """
    return mean_um / chip_thickness(1, width_um, diameter_um).mean_um
