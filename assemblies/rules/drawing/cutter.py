"""The cutter below the face: its cutting part by kind, and what joins it to the holder.

Diameter, length of the cutting part, radius, angle and pitch are sizes; flutes, inserts and the
depth of a thread show their form.

Source: geometry; thread depth of ISO 68-1 and spur of a boring bit by common practice, from memory.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from assemblies.rules.drawing.flutes import flute_traces
from assemblies.rules.drawing.model import Point, SideFacts, Stroke, Trace
from assemblies.rules.drawing.shapes import box, corner, pair, ring, turned

#: Stand-ins for what nobody recorded [um] and [1/10 degree], to be drawn in dashes.
SOME_STICKOUT_UM, SOME_DIAMETER_UM = 35_000, 10_000
_SOME_ANGLE_TENTHS = 1180
#: Kinds that end in a point of a stated angle.
POINTED = frozenset({"drill", "v_groove", "engraver", "countersink", "chamfer"})
DISCS = frozenset({"saw", "t_slot"})
THREADED = frozenset({"tap", "thread_mill"})
#: Kinds that always carry inserts; a plain cylinder does where seats are recorded.
_INSERTED = frozenset({"face_mill", "surfacing"})
#: Depth of a thread in parts of its pitch, and the most turns drawn one by one.
_THREAD_DEPTH, _MOST_TURNS = 0.6134, 60
_LEAD_TURNS = 3


@dataclass(frozen=True, slots=True)
class Edge:
    """The cutting part: from `start_um` to `tip_um` [um], `half_um` from the axis [um].

    `stroke` is UNKNOWN where its size or place does not follow from the record.
    """

    facts: SideFacts
    half_um: int
    start_um: int
    tip_um: int
    stroke: Stroke

    @property
    def long_um(self) -> int:
        return self.tip_um - self.start_um

    @property
    def sure(self) -> bool:
        return self.stroke is not Stroke.UNKNOWN


def cutter_traces(facts: SideFacts, face_um: int, tip_um: int) -> tuple[Trace, ...]:
    """The cutter between the face and the tip [um].

    Source: see the head of this file.

    >>> facts = SideFacts(diameter_um=12_000, flute_um=20_000, stickout_um=45_000,
    ...     gauge_length_um=95_000, shank_um=12_000)
    >>> [trace.stroke.value for trace in cutter_traces(facts, 50_000, 95_000)][:2]
    ['outline', 'outline']
    """
    out_um = tip_um - face_um
    cutting_um = out_um if facts.flute_um is None else min(facts.flute_um, out_um)
    half = cutter_width_um(facts) // 2
    known = (facts.tip_um, facts.diameter_um, facts.flute_um, facts.stickout_um)
    stroke = Stroke.UNKNOWN if None in known else Stroke.OUTLINE
    edge = Edge(facts, half, tip_um - cutting_um, tip_um, stroke)
    return (*_behind(edge, face_um), *_cutting_part(edge))


def cutter_width_um(facts: SideFacts) -> int:
    """Width drawn for the cutting part [um].

    >>> cutter_width_um(SideFacts(diameter_um=12_000)), cutter_width_um(SideFacts())
    (12000, 10000)
    """
    return facts.diameter_um or facts.shank_um or SOME_DIAMETER_UM


def point_high_um(facts: SideFacts, half_um: int) -> int:
    """Height of a point of the recorded angle on a cutter `half_um` from axis to edge [um].

    Source: half / tan(angle / 2). A 118 degree drill of 10 mm: 5 / tan 59 = 3.004 mm.

    >>> point_high_um(SideFacts(point_angle_tenths=1180), 5_000)
    3004
    """
    tenths = facts.point_angle_tenths or _SOME_ANGLE_TENTHS
    if tenths >= 1800:
        return 0
    return round(half_um / math.tan(math.radians(tenths / 20)))


# ---------------------------------------------------------------- behind the cutting part
def _behind(edge: Edge, face_um: int) -> tuple[Trace, ...]:
    """Shank between face and flutes; the body of a shell cutter has no diameter on record."""
    if edge.start_um <= face_um:
        return ()
    facts = edge.facts
    if facts.is_arbor:
        hub = min(edge.half_um, (facts.bore_um or edge.half_um) * 9 // 10)
        low = hub if facts.kind in DISCS else edge.half_um * 9 // 10
        right = [(hub, face_um), (low, edge.start_um)]
        return (turned(Stroke.UNKNOWN, right, filled=True),)
    known = facts.tip_um is not None and facts.shank_um is not None
    half = facts.shank_um // 2 if facts.shank_um is not None else edge.half_um
    stroke = Stroke.OUTLINE if known else Stroke.UNKNOWN
    right = [(half, face_um), (half, edge.start_um)]
    return (turned(stroke, right, filled=True),)


# ---------------------------------------------------------------- the cutting part
def _cutting_part(edge: Edge) -> tuple[Trace, ...]:
    kind = edge.facts.kind
    if kind in _INSERTED or (edge.facts.seats and kind not in _BY_KIND):
        return _with_inserts(edge)
    return _BY_KIND.get(kind, _end_mill)(edge)


def _end_mill(edge: Edge) -> tuple[Trace, ...]:
    """A cylinder with a flat, rounded or ball end."""
    half = edge.half_um
    radius = half if edge.facts.kind == "ball_nose" else edge.facts.corner_radius_um or 0
    radius = min(radius, half, edge.long_um)
    right = [(half, edge.start_um), *corner(half, edge.tip_um, radius)]
    return _outlined(edge, right, edge.tip_um - radius)


def _outlined(edge: Edge, right: list[Point], straight_to_um: int) -> tuple[Trace, ...]:
    """The outline, and flutes down to where it stops being a cylinder."""
    outline = turned(edge.stroke, right, filled=True)
    if not edge.sure:
        return (outline,)
    return outline, *flute_traces(edge.facts, edge.half_um, edge.start_um, straight_to_um)


def _pointed(edge: Edge) -> tuple[Trace, ...]:
    """A point by its angle; where nobody recorded the angle, the point is dashed."""
    half, tip = edge.half_um, edge.tip_um
    whole = point_high_um(edge.facts, half)
    high = min(whole, edge.long_um)
    # A point longer than the cutting part ends in a flat.
    flat = half - round(half * high / whole) if whole else half
    base = tip - high
    known = edge.sure and edge.facts.point_angle_tenths is not None
    stroke = Stroke.OUTLINE if known else Stroke.UNKNOWN
    point = turned(stroke, [(half, base), (flat, tip)], filled=True)
    traces = [*_outlined(edge, [(half, edge.start_um), (half, base)], base), point]
    if edge.facts.kind == "drill" and known:
        traces.append(Trace(Stroke.FORM, ((-half, base), (-half // 8, tip - high // 8))))
    return tuple(traces)


def _threaded(edge: Edge) -> tuple[Trace, ...]:
    """Turns of the recorded pitch; a tap has its lead at the tip."""
    pitch_um = edge.facts.pitch_um
    if not pitch_um or edge.long_um < pitch_um or edge.long_um > _MOST_TURNS * pitch_um:
        return _simple_thread(edge)
    turns, deep = edge.long_um // pitch_um, min(round(pitch_um * _THREAD_DEPTH), edge.half_um)
    lead = min(_LEAD_TURNS, turns - 1) if edge.facts.kind == "tap" else 0
    top = edge.tip_um - turns * pitch_um
    right: list[Point] = [(edge.half_um - deep, edge.start_um)] if top > edge.start_um else []
    for turn in range(turns):
        left = turns - turn
        cut = deep * max(0, lead - left + 1) // (lead + 1) if lead else 0
        y = top + turn * pitch_um
        right += [(edge.half_um - deep, y), (edge.half_um - cut, y + pitch_um // 2)]
    right.append((edge.half_um - deep, edge.tip_um))
    return (turned(edge.stroke, right, filled=True), *_gashes(edge, edge.half_um - deep))


def _simple_thread(edge: Edge) -> tuple[Trace, ...]:
    """Crests as the outline and roots as a thin line, where turns cannot be drawn (ISO 6410-1)."""
    inner = edge.half_um * 17 // 20
    roots = pair(Stroke.FORM, [(inner, edge.start_um), (inner, edge.tip_um)])
    right = [(edge.half_um, edge.start_um), (edge.half_um, edge.tip_um)]
    return turned(edge.stroke, right, filled=True), *(roots if edge.sure else ())


def _gashes(edge: Edge, inner: int) -> tuple[Trace, ...]:
    """The straight flutes of a tap."""
    if not edge.sure:
        return ()
    return pair(Stroke.FORM, [(inner * 2 // 5, edge.start_um), (inner * 2 // 5, edge.tip_um)])


def _disc(edge: Edge) -> tuple[Trace, ...]:
    """A slot cutter or a saw: a disc whose teeth are seen edge on."""
    half = edge.half_um
    right = [(half, edge.start_um), (half, edge.tip_um)]
    teeth = max(6, min(edge.facts.teeth or 8, 24))
    places = [round(half * math.sin(math.pi * (n / teeth - 0.5))) for n in range(1, teeth)]
    lines = [Trace(Stroke.FORM, ((x, edge.start_um), (x, edge.tip_um))) for x in places]
    return turned(edge.stroke, right, filled=True), *(lines if edge.sure else ())


def _boring_bit(edge: Edge) -> tuple[Trace, ...]:
    """A flat end with a spur in the middle."""
    half = edge.half_um
    spur = min(half // 3, edge.long_um // 3)
    floor = edge.tip_um - spur
    right = [(half, edge.start_um), (half, floor), (spur // 2, floor), (0, edge.tip_um)]
    return _outlined(edge, right, floor)


def _round_over(edge: Edge) -> tuple[Trace, ...]:
    """A hollow quarter above a flat end; without a radius on record it is dashed."""
    half, radius_um = edge.half_um, edge.facts.corner_radius_um
    radius = min(radius_um or half // 2, half, edge.long_um)
    stroke = edge.stroke if radius_um else Stroke.UNKNOWN
    # The same quarter as of a rounded end, turned inside out: about the outer lower corner.
    start = edge.tip_um - radius
    curve = [
        (half + (half - radius) - x, start + edge.tip_um - y)
        for x, y in reversed(corner(half, edge.tip_um, radius))
    ]
    right = [(half, edge.start_um), *curve]
    return (turned(stroke, right, filled=True),)


def _profile(edge: Edge) -> tuple[Trace, ...]:
    """A shape that no figure describes: dashed."""
    right = [(edge.half_um, edge.start_um), (edge.half_um, edge.tip_um)]
    return (turned(Stroke.UNKNOWN, right, filled=True),)


def _probe(edge: Edge) -> tuple[Trace, ...]:
    """A stylus with its ball."""
    half = min(edge.half_um, edge.long_um // 2)
    middle = edge.tip_um - half
    right = [(half // 3, edge.start_um), (half // 3, middle)]
    stem = turned(Stroke.FORM if edge.sure else Stroke.UNKNOWN, right, filled=True)
    ball = ring(edge.stroke, (0, middle), half)
    return stem, Trace(ball.stroke, ball.points, closed=True, filled=True)


# ---------------------------------------------------------------- inserts
def _with_inserts(edge: Edge) -> tuple[Trace, ...]:
    """A body with inserts at its rim; they reach the cutting diameter and the tip."""
    half, inset = edge.half_um, edge.half_um // 20
    bottom = edge.tip_um - min(edge.long_um // 10, inset)
    body = turned(
        edge.stroke, [(half * 9 // 10, edge.start_um), (half - inset, bottom)], filled=True
    )
    wide = min(edge.long_um, half // 3)
    radius = min(edge.facts.corner_radius_um or 0, wide // 3)
    inner = half - wide
    top = edge.start_um + edge.long_um // 10
    right = [(inner, top), (half, top), *corner(half, edge.tip_um, radius), (inner, edge.tip_um)]
    return (
        body,
        *pair(edge.stroke, right, closed=True),
        *_seat_screws(edge, inner + wide // 2, wide // 6),
        *_inserts_between(edge, inner, wide),
    )


def _seat_screws(edge: Edge, across: int, radius: int) -> tuple[Trace, ...]:
    middle = edge.tip_um - edge.long_um * 9 // 20
    return tuple(ring(Stroke.FORM, (side * across, middle), radius) for side in (-1, 1))


def _inserts_between(edge: Edge, room: int, wide: int) -> tuple[Trace, ...]:
    """Inserts seen from the edge, spread over the near side."""
    count = max(0, min(edge.facts.seats or edge.facts.teeth or 4, 12) // 2 - 1)
    if not edge.sure or room <= 0:
        return ()
    thick, top = wide // 4, edge.start_um + edge.long_um // 10
    places = [round(room * math.sin(math.pi * ((n + 1) / (count + 1) - 0.5))) for n in range(count)]
    return tuple(box(Stroke.FORM, x - thick // 2, x + thick // 2, top, edge.tip_um) for x in places)


_BY_KIND: dict[str | None, Callable[[Edge], tuple[Trace, ...]]] = {
    **dict.fromkeys(POINTED, _pointed),
    **dict.fromkeys(THREADED, _threaded),
    **dict.fromkeys(DISCS, _disc),
    "boring_bit": _boring_bit,
    "round_over": _round_over,
    "profile": _profile,
    "probe": _probe,
}
