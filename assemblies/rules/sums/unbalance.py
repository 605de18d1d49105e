"""Unbalance of rigid rotors: what a balance grade allows at a speed, and what it throws."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import atan2, cos, degrees, hypot, pi, radians, sin

_G_MM_PER_OUNCE_INCH = 28.349523125 * 25.4


@dataclass(frozen=True, slots=True)
class UnbalanceSum:
    """Sum of unbalances as vectors [g·mm, °], and its likely and worst size without angles."""

    size_g_mm: float
    angle_deg: float
    likely_g_mm: float
    worst_g_mm: float


def offset_allowed_um(grade_mm_s: float, speed_rpm: float) -> float:
    """How far off the centre of mass may lie [um] for a grade G [mm/s] at a speed [1/min].

    Source: e = G / omega, ISO 21940-11:2016.

    >>> round(offset_allowed_um(6.3, 15_000), 2)
    4.01
    """
    return 1000 * grade_mm_s / _turns(speed_rpm)


def unbalance_allowed_g_mm(mass_g: float, grade_mm_s: float, speed_rpm: float) -> float:
    """Unbalance [g·mm] that a grade G [mm/s] leaves to a mass [g] at a speed [1/min].

    Source: U = e m, ISO 21940-11:2016. Whole assembly, rigid rotor.

    >>> round(unbalance_allowed_g_mm(2_000, 6.3, 10_000), 2)
    12.03
    """
    return offset_allowed_um(grade_mm_s, speed_rpm) * mass_g / 1000


def grade_reached_mm_s(unbalance_g_mm: float, mass_g: float, speed_rpm: float) -> float:
    """The grade G [mm/s] that an unbalance [g·mm] of a mass [g] amounts to at a speed [1/min].

    Source: G = e omega, ISO 21940-11:2016.

    >>> round(grade_reached_mm_s(12.03, 2_000, 10_000), 1)
    6.3
    """
    return unbalance_g_mm / mass_g * _turns(speed_rpm)


def grade_at_speed_mm_s(grade_mm_s: float, rated_rpm: float, speed_rpm: float) -> float:
    """What a rating G [mm/s] at its own speed [1/min] amounts to at another speed [1/min].

    Source: the same offset turns faster or slower, ISO 21940-11:2016.

    >>> grade_at_speed_mm_s(2.5, 25_000, 12_500)
    1.25
    """
    return grade_mm_s * speed_rpm / rated_rpm


def pull_n(unbalance_g_mm: float, speed_rpm: float) -> float:
    """Turning force [N] of an unbalance [g·mm] at a speed [1/min].

    Source: F = U omega squared.

    >>> round(pull_n(12.03, 10_000), 2)
    13.19
    """
    return unbalance_g_mm * 1e-6 * _turns(speed_rpm) ** 2


def eccentric_g_mm(mass_g: float, runout_um: float) -> float:
    """Unbalance [g·mm] of a part [g] that runs out by a TIR [um].

    Source: half the runout times the mass.

    >>> eccentric_g_mm(120, 20)
    1.2
    """
    return mass_g * runout_um / 2 / 1000


def ounce_inches(unbalance_g_mm: float) -> float:
    """An unbalance [g·mm] in oz·in; 1 oz = 28.349523125 g, 1 in = 25.4 mm exactly.

    >>> round(ounce_inches(720.0779), 4)
    1.0
    """
    return unbalance_g_mm / _G_MM_PER_OUNCE_INCH


def unbalance_sum(parts: Sequence[tuple[float, float]]) -> UnbalanceSum:
    """Sum of unbalances, each a size [g·mm] with its angle [°].

    Source: vector sum; root of the squares where the angles are not known.

    >>> total = unbalance_sum([(3.0, 0), (4.0, 90)])
    >>> total.size_g_mm, round(total.angle_deg, 2), total.worst_g_mm
    (5.0, 53.13, 7.0)
    """
    x = sum(size * cos(radians(angle)) for size, angle in parts)
    y = sum(size * sin(radians(angle)) for size, angle in parts)
    sizes = [size for size, _ in parts]
    return UnbalanceSum(hypot(x, y), degrees(atan2(y, x)), hypot(*sizes), sum(sizes))


def _turns(speed_rpm: float) -> float:
    """Angular speed [rad/s]."""
    return 2 * pi * speed_rpm / 60
