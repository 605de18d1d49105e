"""Flutes: lines that say how a cutter turns its chips, as form only.

Source: a right-hand helix rises to the right when its axis stands upright; 30 degrees of helix by
common practice.
"""

from __future__ import annotations

import math

from assemblies.rules.drawing.model import SideFacts, Stroke, Trace

_LEAD = math.pi / math.tan(math.radians(30))
_STRAIGHT = frozenset(
    {"straight", "reamer", "v_groove", "chamfer", "countersink", "engraver", "surfacing"}
)
_DOWN = frozenset({"spiral_down"})
_BOTH = frozenset({"compression"})
#: Points on the visible half of one turn, and the most lines drawn.
_STEPS, _MOST_LINES = 12, 14
_USUAL_TEETH = 2


def flute_traces(facts: SideFacts, half_um: int, start_um: int, end_um: int) -> tuple[Trace, ...]:
    """Flutes between `start_um` and `end_um` on a cylinder `half_um` from axis to edge [um].

    Source: see the head of this file.

    >>> len(flute_traces(SideFacts(kind="straight", teeth=2), 6_000, 0, 40_000))
    2
    """
    if half_um <= 0 or end_um <= start_um:
        return ()
    if facts.kind in _STRAIGHT:
        return _straight(facts, half_um, start_um, end_um)
    rising = (facts.kind not in _DOWN) != facts.left_hand
    if facts.kind not in _BOTH:
        return _helix(facts, half_um, start_um, end_um, rising)
    # The lower third cuts upwards, the rest downwards.
    turn_um = end_um - min(2 * half_um, (end_um - start_um) // 2)
    return (
        *_helix(facts, half_um, start_um, turn_um, not rising),
        *_helix(facts, half_um, turn_um, end_um, rising),
    )


def _straight(facts: SideFacts, half: int, start: int, end: int) -> tuple[Trace, ...]:
    count = max(2, min(facts.teeth or _USUAL_TEETH, 4))
    places = [half * (2 * n + 1 - count) // (count + 1) for n in range(count)]
    return tuple(Trace(Stroke.FORM, ((x, start), (x, end))) for x in places)


def _helix(facts: SideFacts, half: int, start: int, end: int, rising: bool) -> tuple[Trace, ...]:
    """The visible halves of the lines of a helix, cut off at both ends."""
    # Each tooth shows two lines: its edge, and the heel behind it.
    lines_in_turn = 2 * max(1, min(facts.teeth or _USUAL_TEETH, 4))
    turn_um = max(1, round(2 * half * _LEAD))
    step_um = max(turn_um // lines_in_turn, (end - start + turn_um) // _MOST_LINES, 1)
    side = 1 if rising else -1
    lines = []
    middle = end
    while middle + turn_um // 4 > start:
        points = _half_turn(half * side, middle, turn_um, start, end)
        if len(points) > 1:
            lines.append(Trace(Stroke.FORM, tuple(points)))
        middle -= step_um
    return tuple(lines)


def _half_turn(half: int, middle: int, turn: int, start: int, end: int) -> list[tuple[int, int]]:
    """Half a turn round the near side, from the lower edge to the upper one."""
    angles = (math.pi * (step / _STEPS - 0.5) for step in range(_STEPS + 1))
    points = (
        (round(half * math.sin(angle)), middle - round(turn * angle / (2 * math.pi)))
        for angle in angles
    )
    return [(x, y) for x, y in points if start <= y <= end]
