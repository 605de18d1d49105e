"""What a sum answers: lines to read, the formula behind them, and how far to trust it."""

from __future__ import annotations

from dataclasses import dataclass
from math import floor, log10

_UM_PER_INCH = 25_400


@dataclass(frozen=True, slots=True)
class Line:
    """One line of an answer: what it is, and its figure with unit."""

    label: str
    text: str


@dataclass(frozen=True, slots=True)
class Table:
    """A table of an answer: headings, and rows of the same number of cells."""

    caption: str
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]

    @property
    def labelled_rows(self) -> list[list[tuple[str, str]]]:
        """Each cell with its heading, for screens too narrow for columns."""
        return [list(zip(self.headings, row, strict=True)) for row in self.rows]


@dataclass(frozen=True, slots=True)
class Answer:
    """One sum worked out. `estimate`: it is one, and the page says so beside every figure.

    `notes` are the limits of the sum and what was not known.
    """

    lines: tuple[Line, ...]
    formula: str
    source: str
    estimate: bool = False
    notes: tuple[str, ...] = ()
    table: Table | None = None


def show_number(number: float, figures_count: int = 4) -> str:
    """A number with so many figures that count, without exponent and idle zeros.

    >>> show_number(59.847), show_number(18_849.556), show_number(0.00123456), show_number(100.0)
    ('59.85', '18850', '0.001235', '100')
    """
    if number == 0:
        return "0"
    places = max(0, figures_count - 1 - floor(log10(abs(number))))
    whole = round(number, figures_count - 1 - floor(log10(abs(number))))
    text = f"{whole:.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def show_size(value_um: float) -> str:
    """A length [um] in mm and in inches, four figures that count.

    >>> show_size(12_700), show_size(31.08)
    ('12.7 mm = 0.5 in', '0.03108 mm = 0.001224 in')
    """
    return f"{show_number(value_um / 1000)} mm = {show_number(value_um / _UM_PER_INCH)} in"
