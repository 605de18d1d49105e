"""What counts of several readings, and how well they repeat."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import sqrt

from assemblies.rules.wording import in_mm
from crib.rules.finding import Finding, Level
from crib.rules.units import show_mm

#: Degrees of freedom below which a pooled repeatability is not shown.
#: Source: common practice.
LEAST_DEGREES = 5
_PRACTICE = "readings of one sitting; common practice"


def counted_um(quantity: str, readings_um: Sequence[int]) -> int:
    """The value [um] that counts of one sitting's readings [um] of a quantity.

    Of runout the largest: a pointer that was read too early shows less, never more. Of a length, a
    diameter or a radius the median, which one slipped reading does not move; between two middle
    ones half way, half to even.

    Raises ValueError without a reading. Source: common practice.

    >>> counted_um("gauge_length", [104_020, 104_030, 104_010]), counted_um("runout", [8, 12, 9])
    (104020, 12)
    """
    if not readings_um:
        raise ValueError("no reading")
    return max(readings_um) if quantity == "runout" else median_um(readings_um)


def median_um(values_um: Sequence[int]) -> int:
    """The middle one of values [um]; between two middle ones half way, half to even.

    Raises IndexError without a value. Source: usual definition of the median.

    >>> median_um([10, 13, 11]), median_um([10, 11, 12, 40]), median_um([10, 11])
    (11, 12, 10)
    """
    ranked, half = sorted(values_um), len(values_um) // 2
    if len(ranked) % 2:
        return ranked[half]
    return round((ranked[half - 1] + ranked[half]) / 2)


@dataclass(frozen=True, slots=True)
class Repeatability:
    """Standard deviation of a single reading [um], with its degrees of freedom."""

    s_um: float
    degrees: int


def pooled(sums: Iterable[tuple[float, int]]) -> Repeatability | None:
    """Repeatability out of sums of squares [um²], each with its degrees of freedom.

    None where no group has a degree of freedom.

    Source: JCGM 100:2008, H.3 and NIST/SEMATECH e-Handbook, 2.4.4: s = sqrt(sum SS / sum ν).

    >>> pooled([(8.0, 2), (0.0, 2)])
    Repeatability(s_um=1.4142135623730951, degrees=4)
    """
    squares, degrees = 0.0, 0
    for group_squares, group_degrees in sums:
        squares, degrees = squares + group_squares, degrees + group_degrees
    return Repeatability(sqrt(squares / degrees), degrees) if degrees else None


def repeatability(groups: Iterable[Sequence[int]]) -> Repeatability | None:
    """Pooled repeatability of sittings; each is the readings [um] of one thing on one day.

    A sitting of one reading says nothing and is passed over.

    Source: as `pooled`.

    >>> repeatability([[10, 12, 14], [100]])
    Repeatability(s_um=2.0, degrees=2)
    """
    return pooled(_squares(group) for group in groups)


def _squares(readings_um: Sequence[int]) -> tuple[float, int]:
    if not readings_um:
        return 0.0, 0
    mean = sum(readings_um) / len(readings_um)
    return sum((value - mean) ** 2 for value in readings_um), len(readings_um) - 1


def spread_finding(
    name: str, readings_um: Sequence[int], uncertainty_um: int | None
) -> Finding | None:
    """How far the readings [um] of one sitting lie apart; None where there is only one.

    A spread larger than twice the instrument's U [um] is more than the instrument explains: the
    assembly moved, or something was not clean. Without U there is only the figure.

    Source: two readings of one thing each lie within U of it; common practice.

    >>> spread_finding("Gauge length", [104_020, 104_030], 4).code
    'reading.spread_large'
    """
    if len(readings_um) < 2:
        return None
    spread_um = max(readings_um) - min(readings_um)
    if uncertainty_um is None:
        return _spread(name, "spread_only", Level.NOTE, spread_um, None, len(readings_um))
    large = spread_um > 2 * uncertainty_um
    case, level = ("spread_large", Level.CHECK) if large else ("spread_small", Level.PASS)
    return _spread(name, case, level, spread_um, 2 * uncertainty_um, len(readings_um))


def _spread(
    name: str, case: str, level: Level, spread_um: int, limit_um: int | None, count: int
) -> Finding:
    said = {
        "spread_only": "",
        "spread_small": ", as its U explains",
        "spread_large": ", more than its U explains",
    }[case]
    large = level == Level.CHECK
    return Finding(
        f"reading.{case}",
        level,
        f"{name}: {count} readings {show_mm(spread_um, 3)} apart{said}.",
        measured=in_mm(spread_um),
        limit=in_mm(limit_um),
        unit="mm",
        remedy="Clean, look whether something moved, read again." if large else "",
        source=_PRACTICE,
    )
