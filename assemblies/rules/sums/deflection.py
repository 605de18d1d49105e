"""How far a cutter bends: safe to compare with itself, rough as an absolute figure."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

#: Flutes take material away: the effective share of the diameter, from memory of the literature.
FLUTE_CORE_PERCENT = 80


@dataclass(frozen=True, slots=True)
class Beam:
    """A cutter as a stepped beam: flutes at the tip, plain shank behind.

    Diameters and flute length [um], stiffness of its material [MPa], core of the flutes [%].
    """

    shank_um: float
    modulus_mpa: float
    flute_um: float = 0
    diameter_um: float = 0
    core_percent: float = FLUTE_CORE_PERCENT

    @property
    def _shank_mm4(self) -> float:
        return second_moment_mm4(self.shank_um)

    @property
    def _flute_mm4(self) -> float:
        """A beam without flutes is all shank."""
        core_um = self.diameter_um * self.core_percent / 100
        return second_moment_mm4(core_um) if self.flute_um else self._shank_mm4


def relative_deflection(stickout_um: float, compared_um: float) -> float:
    """How many times as far the same cutter bends at one stick-out [um] as at another [um].

    Source: cantilever, third power of the length. Needs neither force nor material.

    >>> round(relative_deflection(60_000, 50_000), 3)
    1.728
    """
    return (stickout_um / compared_um) ** 3


def second_moment_mm4(diameter_um: float) -> float:
    """Second moment of area [mm⁴] of a round section [um].

    Source: I = pi d^4 / 64.

    >>> round(second_moment_mm4(25_400))
    20432
    """
    return pi * (diameter_um / 1000) ** 4 / 64


def tip_deflection_um(force_n: float, stickout_um: float, beam: Beam) -> float:
    """How far the tip yields [um] under a side force [N] at a stick-out [um]; the tool alone.

    Source: stepped cantilever, Castigliano. Holder, taper and spindle yield as well.

    >>> round(tip_deflection_um(911.1, 101_600, Beam(shank_um=25_400, modulus_mpa=206_000)), 1)
    75.7
    """
    length_mm, flute_mm = stickout_um / 1000, min(beam.flute_um, stickout_um) / 1000
    bent = flute_mm**3 / beam._flute_mm4 + (length_mm**3 - flute_mm**3) / beam._shank_mm4
    return 1000 * force_n / (3 * beam.modulus_mpa) * bent


def longest_stickout_um(force_n: float, allowed_um: float, beam: Beam) -> float:
    """Longest stick-out [um] at which the tip yields no more than allowed [um] under a force [N].

    Source: the stepped cantilever, solved for its length.

    >>> solid = Beam(shank_um=12_700, modulus_mpa=580_000)
    >>> round(longest_stickout_um(100, tip_deflection_um(100, 50_000, solid), solid))
    50000
    """
    stiff = 3 * beam.modulus_mpa * allowed_um / 1000 / force_n
    flute_mm = beam.flute_um / 1000
    cubed = flute_mm**3 + beam._shank_mm4 * (stiff - flute_mm**3 / beam._flute_mm4)
    if cubed < flute_mm**3:
        cubed = stiff * beam._flute_mm4
    return 1000 * cubed ** (1 / 3)


def bending_stress_mpa(force_n: float, lever_um: float, diameter_um: float) -> float:
    """Bending stress [MPa] in a round section [um] under a force [N] at a lever [um].

    Source: sigma = 32 F L / (pi d^3).

    >>> round(bending_stress_mpa(100, 50_000, 12_700), 1)
    24.9
    """
    return 32 * force_n * lever_um / 1000 / (pi * (diameter_um / 1000) ** 3)
