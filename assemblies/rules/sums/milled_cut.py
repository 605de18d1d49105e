"""A milling cut as a force estimate needs it."""

from __future__ import annotations

from dataclasses import dataclass

from assemblies.rules.sums.cutting_speed import feed_mm_min


@dataclass(frozen=True, slots=True)
class MilledCut:
    """Chip load, depth, width, diameter [um], teeth, speed [1/min], efficiency of the drive [%]."""

    chip_load_um: float
    depth_um: float
    width_um: float
    diameter_um: float
    teeth: int
    speed_rpm: float
    efficiency_percent: float

    @property
    def feed_mm_min(self) -> float:
        return feed_mm_min(self.chip_load_um, self.teeth, self.speed_rpm)
