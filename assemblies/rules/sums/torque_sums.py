"""Torque in the units that wrenches show."""

from __future__ import annotations

from collections.abc import Mapping

#: N·m in one of each unit; 1 lbf = 4.4482216152605 N and 1 ft = 0.3048 m exactly.
NM_PER_UNIT: Mapping[str, float] = {
    "N·m": 1.0,
    "lbf·ft": 4.4482216152605 * 0.3048,
    "lbf·in": 4.4482216152605 * 0.0254,
    "kgf·m": 9.80665,
}


def in_every_unit(torque_mnm: float) -> dict[str, float]:
    """A torque [mN·m] in each unit of `NM_PER_UNIT`.

    Source: definitions of the units; 1 lbf·ft = 1.355818 N·m.

    >>> round(in_every_unit(136_000)["lbf·ft"], 1)
    100.3
    """
    return {unit: torque_mnm / 1000 / size for unit, size in NM_PER_UNIT.items()}
