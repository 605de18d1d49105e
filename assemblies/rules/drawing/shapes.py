"""Shapes that drawings are put together from: turned parts, blocks, rings, screws.

Source: geometry.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from assemblies.rules.drawing.model import Point, Stroke, Trace

#: Straight lines that stand for a quarter of a circle.
ARC_STEPS = 12


def turned(stroke: Stroke, right: Sequence[Point], *, filled: bool = False) -> Trace:
    """A part turned about the axis, from the points of its right side, downwards.

    >>> turned(Stroke.FORM, [(5, 0), (3, 10)]).points
    ((-5, 0), (5, 0), (3, 10), (-3, 10))
    """
    (first, top), *rest = right
    left = [(-x, y) for x, y in reversed(right)]
    return Trace(stroke, ((-first, top), (first, top), *rest, *left[:-1]), True, filled)


def block(
    stroke: Stroke, width_um: int, top_um: int, bottom_um: int, *, filled: bool = False
) -> Trace:
    """A cylinder about the axis, `width_um` across [um].

    >>> block(Stroke.FORM, 11, 0, 10).points
    ((-5, 0), (5, 0), (5, 10), (-5, 10))
    """
    half = width_um // 2
    return turned(stroke, [(half, top_um), (half, bottom_um)], filled=filled)


def level(stroke: Stroke, half_um: int, y_um: int) -> Trace:
    """An edge that runs round a turned part: a level line, `half_um` to each side [um].

    >>> level(Stroke.FORM, 5, 2).points
    ((-5, 2), (5, 2))
    """
    return Trace(stroke, ((-half_um, y_um), (half_um, y_um)))


def pair(stroke: Stroke, points: Sequence[Point], *, closed: bool = False) -> tuple[Trace, Trace]:
    """A run of lines on the right, and the same mirrored on the left.

    >>> [trace.points[0] for trace in pair(Stroke.FORM, [(1, 0), (1, 5)])]
    [(1, 0), (-1, 0)]
    """
    other = tuple((-x, y) for x, y in points)
    return Trace(stroke, tuple(points), closed), Trace(stroke, other, closed)


def box(stroke: Stroke, left_um: int, right_um: int, top_um: int, bottom_um: int) -> Trace:
    """A rectangle that need not stand on the axis.

    >>> box(Stroke.FORM, 1, 3, 0, 5).points
    ((1, 0), (3, 0), (3, 5), (1, 5))
    """
    corners = ((left_um, top_um), (right_um, top_um), (right_um, bottom_um), (left_um, bottom_um))
    return Trace(stroke, corners, closed=True)


def ring(stroke: Stroke, middle: Point, radius_um: int, corner_count: int = 4 * ARC_STEPS) -> Trace:
    """A circle, or with a few corners an even polygon with one of them at the right.

    >>> ring(Stroke.FORM, (0, 0), 1000, corner_count=4).points
    ((1000, 0), (0, 1000), (-1000, 0), (0, -1000))
    """
    x, y = middle
    turns = [2 * math.pi * step / corner_count for step in range(corner_count)]
    points = [
        (x + round(radius_um * math.cos(turn)), y + round(radius_um * math.sin(turn)))
        for turn in turns
    ]
    return Trace(stroke, tuple(points), closed=True)


def screw(stroke: Stroke, middle: Point, radius_um: int) -> tuple[Trace, Trace]:
    """A screw with a hexagon socket, seen from above.

    >>> [len(trace.points) for trace in screw(Stroke.FORM, (0, 0), 900)]
    [48, 6]
    """
    return ring(stroke, middle, radius_um), ring(stroke, middle, radius_um // 2, corner_count=6)


def corner(half_um: int, tip_um: int, radius_um: int) -> list[Point]:
    """Right side of an end face with rounded edges [um], from the side down to the tip.

    >>> corner(5000, 9000, 0), corner(5000, 9000, 2000)[-1]
    ([(5000, 9000)], (3000, 9000))
    """
    if radius_um == 0:
        return [(half_um, tip_um)]
    turns = [math.pi / 2 * step / ARC_STEPS for step in range(ARC_STEPS + 1)]
    across, up = half_um - radius_um, tip_um - radius_um
    return [
        (across + round(radius_um * math.cos(turn)), up + round(radius_um * math.sin(turn)))
        for turn in turns
    ]


def crossed(stroke: Stroke, half_um: int, top_um: int, bottom_um: int) -> tuple[Trace, ...]:
    """A flat face on a round part: its edges and two diagonals [um].

    Source: thin diagonals mark a flat face (ISO 128), from memory.

    >>> len(crossed(Stroke.HIDDEN, 5, 0, 10))
    3
    """
    return (
        box(stroke, -half_um, half_um, top_um, bottom_um),
        Trace(stroke, ((-half_um, top_um), (half_um, bottom_um))),
        Trace(stroke, ((half_um, top_um), (-half_um, bottom_um))),
    )


def lowest(traces: Iterable[Trace]) -> int:
    """Largest y of some lines [um]."""
    return max(y for trace in traces for _, y in trace.points)
