"""Cutting speed, spindle speed, feed and chip load of a turning cutter."""

from __future__ import annotations

from math import pi

_UM_PER_M = 1_000_000
_M_PER_FOOT = 0.3048
_M_PER_MILE = 1609.344


def spindle_speed_rpm(cutting_speed_m_min: float, diameter_um: float) -> float:
    """Speed [1/min] at which a diameter [um] cuts at a cutting speed [m/min].

    Source: v = pi D n (ISO 3002-1, from memory).

    >>> round(spindle_speed_rpm(80, 250_000), 2)
    101.86
    """
    return cutting_speed_m_min * _UM_PER_M / (pi * diameter_um)


def cutting_speed_m_min(diameter_um: float, speed_rpm: float) -> float:
    """Cutting speed [m/min] of a diameter [um] at a speed [1/min].

    Source: v = pi D n (ISO 3002-1, from memory).

    >>> round(cutting_speed_m_min(63_500, 18_000), 1)
    3590.8
    """
    return pi * diameter_um * speed_rpm / _UM_PER_M


def feed_mm_min(chip_load_um: float, teeth_count: int, speed_rpm: float) -> float:
    """Feed [mm/min] that gives each tooth its chip load [um] at a speed [1/min].

    Source: f = fz z n (ISO 3002-3, from memory).

    >>> feed_mm_min(100, 2, 18_000)
    3600.0
    """
    return chip_load_um * teeth_count * speed_rpm / 1000


def chip_load_um(feed_mm_min: float, teeth_count: int, speed_rpm: float) -> float:
    """Chip load [um], the feed of each tooth, from feed [mm/min] and speed [1/min].

    Source: fz = f / (z n) (ISO 3002-3, from memory).

    >>> round(chip_load_um(280, 12, 101.9))
    229
    """
    return feed_mm_min * 1000 / (teeth_count * speed_rpm)


def removal_cm3_min(depth_um: float, width_um: float, feed_mm_min: float) -> float:
    """Volume cut in a minute [cm³/min] from depth and width of cut [um] and feed [mm/min].

    Source: Q = ap ae f.

    >>> removal_cm3_min(2_000, 80_000, 280)
    44.8
    """
    return depth_um * width_um * feed_mm_min / 1e9


def feet_per_minute(speed_m_min: float) -> float:
    """A speed [m/min] in ft/min; 1 ft = 0.3048 m exactly.

    >>> feet_per_minute(30.48)
    100.0
    """
    return speed_m_min / _M_PER_FOOT


def miles_per_hour(speed_m_min: float) -> float:
    """A speed [m/min] in miles an hour; 1 mile = 1609.344 m exactly.

    >>> miles_per_hour(1609.344)
    60.0
    """
    return speed_m_min * 60 / _M_PER_MILE
