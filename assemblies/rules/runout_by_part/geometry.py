"""Runout as an arrow: how much, and towards where on the clock of the drive slot.

The full indicator reading (TIR) of a round shank is twice its eccentricity, so readings at one
distance add and halve as eccentricities do. Readings on flutes, no continuous trace, do not.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import atan2, cos, degrees, hypot, radians, sin

#: Between these, direction says neither "always there" nor "anywhere". Own choice.
SAME_WAY, ANY_WAY = 0.8, 0.4
#: Fewer readings point the same way by chance. Own choice.
READINGS_FOR_A_WAY = 4


@dataclass(frozen=True, slots=True)
class Arrow:
    """A full indicator reading [um] with its high spot [deg], clockwise from the drive slot's mark.

    >>> Arrow.of(*Arrow(10, 90).xy)
    Arrow(size_um=10.0, angle_deg=90.0)
    """

    size_um: float
    angle_deg: float

    @property
    def xy(self) -> tuple[float, float]:
        """Parts along the mark (x) and at a right angle to it (y) [um]."""
        angle = radians(self.angle_deg)
        return self.size_um * cos(angle), self.size_um * sin(angle)

    @classmethod
    def of(cls, x: float, y: float) -> Arrow:
        return cls(hypot(x, y), degrees(atan2(y, x)) % 360)

    @property
    def clock_hour(self) -> int:
        """The nearest hour of a clock whose 12 is the drive slot's mark."""
        return round(self.angle_deg / 30) % 12 or 12


@dataclass(frozen=True, slots=True)
class Direction:
    """How far arrows agree: 1 all one way, near 0 every way; and their mean."""

    together: float
    mean: Arrow
    count: int

    @property
    def word_key(self) -> str:
        """`few`, `same_way`, `any_way` or `between`."""
        if self.count < READINGS_FOR_A_WAY:
            return "few"
        if self.together >= SAME_WAY:
            return "same_way"
        return "any_way" if self.together <= ANY_WAY else "between"


def direction_of(arrows: Sequence[Arrow]) -> Direction:
    """How far the readings of one holder [um, deg] point one way, whatever was put in it.

    One way means the holder itself or the spindle; every way means what was put in it.
    Raises ValueError without a reading.

    Source: length of the mean arrow over the mean length, the usual measure of circular data.

    >>> found = direction_of([Arrow(12, 20), Arrow(10, 35), Arrow(14, 10)])
    >>> round(found.together, 2), round(found.mean.size_um, 1)
    (0.98, 11.8)
    """
    if not arrows:
        raise ValueError("no reading, no direction")
    x, y = (sum(part) for part in zip(*(arrow.xy for arrow in arrows), strict=True))
    total = sum(arrow.size_um for arrow in arrows)
    mean = Arrow.of(x / len(arrows), y / len(arrows))
    return Direction(hypot(x, y) / total if total else 0.0, mean, len(arrows))


@dataclass(frozen=True, slots=True)
class Tilt:
    """The least and the most that the axis may lean, in um for each mm."""

    least: float
    most: float


def tilt_bounds(nose_um: float, far_um: float, length_um: int) -> Tilt:
    """How far the axis leans, from runout [um] at the nose and `length_um` [um] farther out.

    Bounds, because the two readings have no common direction. Raises ValueError for no length.

    Source: e(x) = e0 + tilt · x with a reading of twice |e|; derived.

    >>> tilt_bounds(5, 20, 50_000)
    Tilt(least=0.15, most=0.25)
    """
    if length_um <= 0:
        raise ValueError("the two places are the same")
    twice_mm = 2 * length_um / 1000
    return Tilt(abs(far_um - nose_um) / twice_mm, (far_um + nose_um) / twice_mm)
