"""Cutting force, power and torque from specific cutting force: good to a factor of two."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

#: Printed with every figure of this module.
FACTOR_OF_TWO = "Good to a factor of two, no better."


@dataclass(frozen=True, slots=True)
class WorkMaterial:
    """What is cut: specific force at a chip of 1 mm [MPa], and how it falls with the chip."""

    name: str
    at_one_mm_mpa: float
    exponent: float


_CLASSES = "classes of VDI 3323, as printed on a public catalogue page"
_BOARD = "Pałubicki, Materials 14 (2021) 2208"
#: Nothing is known here for MDF, plywood, solid wood and plastics; nothing is guessed.
MATERIALS: dict[str, WorkMaterial] = {
    "steel_low": WorkMaterial("unalloyed steel, less than 0.25 % C", 1350, 0.21),
    "steel_medium": WorkMaterial("unalloyed steel, 0.25 % C and more", 1500, 0.22),
    "steel_alloy": WorkMaterial("low-alloy steel", 1775, 0.24),
    "steel_tool": WorkMaterial("high-alloy or tool steel, annealed", 2450, 0.23),
    "stainless": WorkMaterial("austenitic stainless steel", 2150, 0.20),
    "grey_iron": WorkMaterial("grey cast iron", 1150, 0.20),
    "aluminium": WorkMaterial("wrought aluminium, not hardenable", 700, 0.25),
    "aluminium_hard": WorkMaterial("wrought aluminium, hardenable", 800, 0.25),
    "aluminium_cast": WorkMaterial("cast aluminium, up to 12 % Si", 700, 0.25),
    "brass": WorkMaterial("brass", 700, 0.27),
    "titanium": WorkMaterial("titanium, alpha-beta, hardened", 1245, 0.24),
    "particleboard": WorkMaterial("particleboard, up-milling at 40 to 60 m/s", 37.6, 0.0),
}
#: Chips for which the figures hold [um].
CHIP_RANGE_UM = (50, 1000)


def source_of(material: str) -> str:
    """Where the specific force of a material was read. Raises KeyError for one not listed.

    >>> source_of("particleboard")
    'Pałubicki, Materials 14 (2021) 2208'
    """
    MATERIALS[material]
    return _BOARD if material == "particleboard" else _CLASSES


def specific_force_mpa(material: WorkMaterial, chip_um: float) -> float:
    """Force for a square millimetre of chip [MPa] at a mean chip thickness [um].

    Source: Kienzle, kc = kc1.1 h^-m; constants: classes of VDI 3323.

    >>> round(specific_force_mpa(MATERIALS["aluminium"], 100), 1)
    1244.8
    """
    return material.at_one_mm_mpa * (chip_um / 1000) ** -material.exponent


def cutting_power_kw(
    depth_um: float,
    width_um: float,
    feed_mm_min: float,
    specific_force_mpa: float,
    efficiency_percent: float = 100,
) -> float:
    """Power [kW] of a cut with depth and width [um] at a feed [mm/min].

    Source: P = ap ae f kc / (60e6 eta).

    >>> round(cutting_power_kw(2_000, 80_000, 280, 1_800, 80), 2)
    1.68
    """
    removed_mm3_min = depth_um * width_um * feed_mm_min / 1e6
    return removed_mm3_min * specific_force_mpa / 60e6 * 100 / efficiency_percent


def torque_of_power_nm(power_kw: float, speed_rpm: float) -> float:
    """Torque [N·m] that a power [kW] means at a speed [1/min].

    Source: T = P / omega.

    >>> round(torque_of_power_nm(3, 18_000), 3)
    1.592
    """
    return power_kw * 1000 * 60 / (2 * pi * speed_rpm)


def tooth_force_n(specific_force_mpa: float, depth_um: float, chip_um: float) -> float:
    """Force on one tooth [N] at a depth of cut and a chip thickness [um].

    Source: Fc = kc ap h.

    >>> round(tooth_force_n(1_500, 6_000, 100))
    900
    """
    return specific_force_mpa * depth_um * chip_um / 1e6
