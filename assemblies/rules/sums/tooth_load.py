"""What runout does to the single teeth: one cuts more, another less or nothing at all."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, pi, radians, sin

#: Shares of the chip load that are commonly quoted; no test stands behind them.
GOOD_TO_PERCENT = 10
FAIR_TO_PERCENT = 25
#: Orientations tried where a tooth misses and no closed form holds.
_TRIED = 360


@dataclass(frozen=True, slots=True)
class ToothLoad:
    """Thickest and thinnest chip [um] of the teeth in the worst orientation of the runout."""

    thickest_um: float
    thinnest_um: float


def tooth_chips_um(
    chip_load_um: float, runout_um: float, teeth_count: int, turned_deg: float = 0
) -> list[float]:
    """Chip [um] of each tooth with runout (TIR) [um]; a tooth that misses leaves its chip.

    `turned_deg` is the angle from the high spot to the first tooth [°].

    Source: geometry of Kline and DeVor 1983, evenly spaced teeth, full feed direction.

    >>> [round(chip, 3) for chip in tooth_chips_um(10, 30, 4)]
    [25.0, 0.0, 0.0, 15.0]
    """
    step = 2 * pi / teeth_count
    radii = [
        runout_um / 2 * cos(radians(turned_deg) + step * number) for number in range(teeth_count)
    ]
    return [_chip(chip_load_um, radii, number) for number in range(teeth_count)]


def _chip(chip_load_um: float, radii: list[float], number: int) -> float:
    """What the teeth before have left: each earlier one cut its share of the feed less."""
    left = (
        back * chip_load_um + radii[number] - radii[number - back]
        for back in range(1, len(radii) + 1)
    )
    return max(0.0, min(left))


def worst_load(chip_load_um: float, runout_um: float, teeth_count: int) -> ToothLoad:
    """Thickest and thinnest chip [um] that runout (TIR) [um] can bring about.

    Source: fz + TIR sin(pi / z) while every tooth cuts (Kline and DeVor 1983).

    >>> load = worst_load(50, 20, 4)
    >>> round(load.thickest_um, 2), round(load.thinnest_um, 2)
    (64.14, 35.86)
    """
    change_um = runout_um * sin(pi / teeth_count)
    if change_um <= chip_load_um:
        return ToothLoad(chip_load_um + change_um, chip_load_um - change_um)
    tried = [
        tooth_chips_um(chip_load_um, runout_um, teeth_count, 360 * count / _TRIED / teeth_count)
        for count in range(_TRIED)
    ]
    return ToothLoad(max(map(max, tried)), 0.0)


def runout_share_percent(runout_um: float, chip_load_um: float) -> float:
    """Runout (TIR) [um] as a share of the chip load [um], in percent.

    Source: common practice.

    >>> runout_share_percent(12.5, 50)
    25.0
    """
    return 100 * runout_um / chip_load_um


def share_in_words(share_percent: float) -> str:
    """What the share says. No test data stand behind the two edges.

    Source: 10 % is commonly quoted; 25 % is a house choice.

    >>> share_in_words(10), share_in_words(10.1), share_in_words(25.1)
    ('small', 'noticeable', 'large')
    """
    if share_percent <= GOOD_TO_PERCENT:
        return "small"
    return "noticeable" if share_percent <= FAIR_TO_PERCENT else "large"
