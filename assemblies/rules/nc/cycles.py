"""What one hole of a drilling cycle moves, from the retract level down and back to it.

Lengths in mm. Source: NIST IR 6556 (2000), 3.5.16; G73 and G74 are common practice, and so is the
way out of G84, G85 and G89, which is fed to the retract level and not to the clear level.
"""

from __future__ import annotations

import math
from typing import NamedTuple

G73, G74, G82, G83, G84 = 730, 740, 820, 830, 840
G85, G86, G87, G88, G89 = 850, 860, 870, 880, 890
FED_OUT = frozenset((G74, G84, G85, G89))
PECKED = frozenset((G73, G83))
DWELLING = frozenset((G82, G86, G88, G89))
#: The operator leads the tool out by hand.
BY_HAND = frozenset((G88,))
#: Pecks are counted with this much forgiveness, so that 6 / 2 is three.
_ROUNDING = 1e-9


class Hole(NamedTuple):
    """Fed and rapid way of one hole, from the retract level to the retract level [mm].

    `rapid_depth` is how far below the retract level a rapid ends [mm].
    """

    feed_length: float
    rapid_length: float
    rapid_depth: float = 0.0


def hole(code: int, depth: float, peck: float = 0.0, back_off: float = 0.0) -> Hole:
    """One hole of `depth` [mm] below the retract level; `code` is the G number times ten.

    `peck` [mm] is the Q of G73 and G83, `back_off` [mm] the way that they stay clear of the
    bottom between two pecks. Source: NIST IR 6556 (2000), 3.5.16.

    >>> hole(810, 12.0)
    Hole(feed_length=12.0, rapid_length=12.0, rapid_depth=0.0)
    >>> hole(G83, 12.0, peck=5.0, back_off=0.5)
    Hole(feed_length=13.0, rapid_length=41.0, rapid_depth=9.5)
    """
    if code in FED_OUT:
        return Hole(2 * depth, 0.0)
    if code not in PECKED or peck <= 0:
        return Hole(depth, depth)
    again = pecks(depth, peck) - 1
    back_off = min(back_off, peck)
    # After peck k the tool is k * peck deep; G83 leaves the hole and comes back, G73 lifts.
    lifts = again * back_off if code == G73 else peck * again * (again + 1) - again * back_off
    lowest = again * peck - back_off if again and lifts else 0.0
    return Hole(depth + again * back_off, lifts + depth, lowest)


def pecks(depth: float, peck: float) -> int:
    """How many pecks of `peck` [mm] make `depth` [mm]; at least one.

    >>> pecks(6.0, 2.0), pecks(6.1, 2.0), pecks(0.0, 2.0)
    (3, 4, 1)
    """
    return max(1, math.ceil(depth / peck - _ROUNDING))


def back_bored(depth: float, height: float, aside: float) -> Hole:
    """One hole of G87: down aside of the axis, fed up by `height` and back, up aside [mm].

    `depth` counts from the retract level to Z, `height` from Z to K, `aside` is the way of I and
    J. Source: NIST IR 6556 (2000), 3.5.16.8.

    >>> back_bored(20.0, 4.0, 1.5)
    Hole(feed_length=8.0, rapid_length=46.0, rapid_depth=20.0)
    """
    return Hole(2 * height, 2 * depth + 4 * aside, depth)


class Levels(NamedTuple):
    """Heights along the axis of the holes [mm]: where it stands, retract, clear."""

    start: float
    retract: float
    clear: float


def row_rapids(one: Hole, count: int, levels: Levels, first_way: float, way: float) -> float:
    """All rapid ways of `count` holes in a row [mm]; `first_way` to the first, then `way` each.

    Worked example, NIST IR 6556 (2000), 3.5.16.3, second: from Z3, R at 4.8, three holes 0.6 deep,
    sqrt(41) apart: 1.8 up, then three times the way and the way out.

    >>> levels = Levels(3.0, 4.8, 4.8)
    >>> round(row_rapids(Hole(0.6, 0.6), 3, levels, 41**0.5, 41**0.5), 6)
    22.809373
    """
    up = max(0.0, levels.retract - levels.start)
    down = max(0.0, levels.start - levels.retract)
    out = levels.clear - levels.retract
    return up + down + first_way + (count - 1) * (way + out) + count * (one.rapid_length + out)
