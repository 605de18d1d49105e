"""Mass and centre of mass of several parts on one axis."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi

#: Density [kg/m³]; steel from public tables, the others from memory.
DENSITIES = {"steel": 7_850, "carbide": 14_500, "aluminium": 2_700}


@dataclass(frozen=True, slots=True)
class MassPart:
    """One part: its mass [g], and where its centre lies from the gauge line [um]."""

    name: str
    mass_g: float
    centre_um: float


@dataclass(frozen=True, slots=True)
class MassCentre:
    """All parts together: mass [g], and the common centre from the gauge line [um]."""

    mass_g: float
    centre_um: float


@dataclass(frozen=True, slots=True)
class TurnedBody:
    """A cone or cylinder: volume [mm³], mass [g], centre of mass from its first face [um]."""

    volume_mm3: float
    mass_g: float
    centre_um: float


def mass_and_centre(parts: Sequence[MassPart]) -> MassCentre:
    """Mass and centre of mass of parts. Raises ValueError when they weigh nothing.

    Source: sum of m x over sum of m.

    >>> mass_and_centre([MassPart("a", 1_000, 0), MassPart("b", 1_000, 50_000)]).centre_um
    25000.0
    """
    mass_g = sum(part.mass_g for part in parts)
    if mass_g <= 0:
        raise ValueError("the parts have no mass")
    return MassCentre(mass_g, sum(part.mass_g * part.centre_um for part in parts) / mass_g)


def turned_body(
    first_diameter_um: float, second_diameter_um: float, body_length_um: float, material: str
) -> TurnedBody:
    """Volume, mass and centre of a cone between two diameters [um]; equal ones are a cylinder.

    Raises KeyError for a material that is not in `DENSITIES`.

    Source: frustum of a cone.

    >>> round(turned_body(60_000, 40_000, 40_000, "steel").mass_g)
    625
    """
    first, second = first_diameter_um / 2000, second_diameter_um / 2000
    length_mm = body_length_um / 1000
    squares = first**2 + first * second + second**2
    volume_mm3 = pi * length_mm / 3 * squares
    centre_mm = length_mm * (first**2 + 2 * first * second + 3 * second**2) / (4 * squares)
    mass_g = volume_mm3 * DENSITIES[material] / 1e6
    return TurnedBody(volume_mm3, mass_g, centre_mm * 1000)
