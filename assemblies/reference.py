"""Sizes that only drawings ask for, read once from the tables of the trade."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import lru_cache

from assemblies.rules.drawing.model import NutForm
from crib.reference import DATA_FOLDER
from crib.rules.standards import same_code
from crib.rules.units import um_from_mm

#: Columns of the outside diameter, the commoner form of a standard nut first.
_COLUMNS = {
    "standard": (
        (NutForm.SLOTTED, "nut_od_standard_slotted_mm"),
        (NutForm.HEX, "nut_od_standard_hex_mm"),
        (NutForm.MINI, "nut_od_mini_mm"),
    ),
    "mini": ((NutForm.MINI, "nut_od_mini_mm"),),
}


@dataclass(frozen=True, slots=True)
class NutSize:
    """Usual outside diameter of the nuts of one series and style [um]; from memory, a form only."""

    series: str
    style: str
    form: NutForm
    outside_um: int


@lru_cache(maxsize=1)
def nut_sizes() -> tuple[NutSize, ...]:
    """One size for each series and style that the table knows."""
    with (DATA_FOLDER / "er_collets.csv").open(encoding="utf-8", newline="") as file:
        lines = list(csv.DictReader(file))
    sizes = (_size(line, style) for line in lines for style in _COLUMNS)
    return tuple(size for size in sizes if size is not None)


def _size(line: dict[str, str], style: str) -> NutSize | None:
    for form, column in _COLUMNS[style]:
        if line[column]:
            return NutSize(line["series"], style, form, um_from_mm(line[column]))
    return None


def nut_size(series: str | None, style: str) -> NutSize | None:
    """The usual nut of a series; None where the table has none."""
    mine = (size for size in nut_sizes() if size.style == style)
    return next((size for size in mine if same_code(size.series, series)), None)
