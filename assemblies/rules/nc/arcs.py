"""Arcs: radius and turn out of the way to the end point and the centre, or out of a radius.

All lengths in mm. The first and the second axis are those of the plane in the order X-Y, Z-X, Y-Z,
so that a growing angle runs counter-clockwise, seen from the positive end of the third axis.
Source: NIST IR 6556 (2000), 3.5.3.
"""

from __future__ import annotations

import math
from typing import NamedTuple

FULL_TURN = 2 * math.pi
#: Start and end may lie so far apart in radius; the report allows 0.002 mm, posts round to 0.001.
RADIUS_TOLERANCE_MM = 0.01
RADIUS_TOLERANCE_SHARE = 0.001
#: Two points closer than this are one point: below the last digit that any control takes.
SAME_POINT_MM = 1e-6
#: What a control may round its points to; an arc below that may be a full circle there.
SMALLEST_STEP_MM = 0.001


class ArcFault(ValueError):
    """The words describe no arc; the message says why."""


class Arc(NamedTuple):
    """An arc seen from its start: `centre` and `way` are counted from there.

    `turn` is in radians, negative when clockwise. `spread` is the difference of the radii at
    start and end; `radius` is their mean.
    """

    centre: tuple[float, float]
    way: tuple[float, float]
    radius: float
    turn: float
    spread: float

    @property
    def length(self) -> float:
        """Length in the plane [mm]."""
        return self.radius * abs(self.turn)

    def lowest(self, axis: int) -> float:
        """The lowest point along the first (0) or second (1) axis, from the start [mm].

        >>> arc_about((20.0, 0.0), (10.0, 0.0), clockwise=False).lowest(1)
        -10.0
        """
        ends = min(0.0, self.way[axis])
        lowest_angle = -math.pi / 2 if axis else math.pi
        return min(ends, self.centre[axis] - self.radius) if self.passes(lowest_angle) else ends

    def passes(self, angle: float) -> bool:
        """Whether the arc runs through the point at `angle` [rad] from its centre."""
        start = math.atan2(-self.centre[1], -self.centre[0])
        way = angle - start if self.turn > 0 else start - angle
        return way % FULL_TURN < abs(self.turn)


def arc_about(way: tuple[float, float], centre: tuple[float, float], clockwise: bool) -> Arc:
    """The arc to `way` about `centre`, both counted from its start [mm]; a full circle in place.

    Raises ArcFault for a centre in the start and for radii that differ too much.
    Source: NIST IR 6556 (2000), 3.5.3.2; its example from (7, 7): centre (10, 11), radius 5.

    >>> arc = arc_about((3.0, 9.0), (3.0, 4.0), clockwise=True)
    >>> arc.radius, round(math.degrees(arc.turn), 2)
    (5.0, -143.13)
    """
    (end_a, end_b), (centre_a, centre_b) = way, centre
    first, last = math.hypot(centre_a, centre_b), math.hypot(end_a - centre_a, end_b - centre_b)
    radius = (first + last) / 2
    spread = abs(first - last)
    if spread > RADIUS_TOLERANCE_MM and spread > RADIUS_TOLERANCE_SHARE * radius:
        raise ArcFault(f"the radius is {first:.3f} mm at the start and {last:.3f} mm at the end")
    if first < SAME_POINT_MM or last < SAME_POINT_MM:
        raise ArcFault("the centre of the arc is its start or end")
    if abs(end_a) < SAME_POINT_MM and abs(end_b) < SAME_POINT_MM:
        turn = FULL_TURN
    else:
        start = math.atan2(-centre_b, -centre_a)
        end = math.atan2(end_b - centre_b, end_a - centre_a)
        turn = (start - end if clockwise else end - start) % FULL_TURN
        if min(turn, FULL_TURN - turn) * radius < SAME_POINT_MM:
            raise ArcFault("start and end of the arc lie in one direction from its centre")
        if turn * radius < SMALLEST_STEP_MM:
            raise ArcFault("start and end are one point in 0.001 mm: no way, or a full circle")
    return Arc(centre, way, radius, -turn if clockwise else turn, spread)


def arc_of_radius(way: tuple[float, float], radius: float, clockwise: bool) -> Arc:
    """The arc to `way` with `radius` [mm]: up to half a turn, with a negative one more than half.

    Raises ArcFault for an end in the start and for a radius that does not reach.
    Source: NIST IR 6556 (2000), 3.5.3.1.

    >>> round(arc_of_radius((10.0, 10.0), 10.0, clockwise=False).length, 4)
    15.708
    >>> round(arc_of_radius((10.0, 10.0), -10.0, clockwise=False).length, 4)
    47.1239
    """
    chord = math.hypot(*way)
    size = abs(radius)
    if chord < SAME_POINT_MM:
        raise ArcFault("an arc with R ends where it starts")
    missing = chord / 2 - size
    if missing > RADIUS_TOLERANCE_MM and missing > RADIUS_TOLERANCE_SHARE * size:
        raise ArcFault(f"R {size:.3f} mm is shorter than half the way of {chord:.3f} mm")
    size = max(size, chord / 2)
    turn = 2 * math.asin(min(1.0, chord / 2 / size))
    turn = FULL_TURN - turn if radius < 0 else turn
    # Seen along the way, the centre lies on the left of a short counter-clockwise arc.
    height = math.sqrt(max(0.0, size * size - chord * chord / 4))
    side = height / chord * (1 if clockwise == (radius < 0) else -1)
    centre = (way[0] / 2 - side * way[1], way[1] / 2 + side * way[0])
    return Arc(centre, way, size, -turn if clockwise else turn, max(0.0, 2 * missing))
