"""The clamping side of a holder, one form for each way of clamping.

Length to the face and diameter at the nose are sizes where they are recorded; everything else
(necks, nuts' heights, screws, jaws) shows its form only.

Source: form by common practice; nose cone of shrink holders after DIN 69882-8, screw places of
side locks after DIN 1835-2, both from memory.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

from assemblies.rules.drawing.model import NutForm, SideFacts, Stroke, Trace
from assemblies.rules.drawing.shapes import block, box, level, pair, ring, screw, turned
from assemblies.rules.drawing.taper import SOME_GAUGE_DIAMETER_UM

#: Half the cone angle of a shrink nose.
_SHRINK_SLOPE = math.tan(math.radians(4.5))
#: A nut's height grows with its series: a fixed part [um] and parts of the gauge diameter.
_NUT_UM, _NUT_PARTS = 9_000, Fraction(21, 50)
#: Nut face to the middle of the side screw, for shanks up to 8 mm and above [um].
_SCREW_AT_UM = (18_000, 24_000)
_SMALL_SHANK_UM, _TWO_SCREWS_FROM_UM = 8_000, 25_000


@dataclass(frozen=True, slots=True)
class Nose:
    """The room of the clamping side: from the flange to the face [um], and how wide it is.

    edge  stroke of what has its diameter on record
    form  stroke of what has not
    """

    facts: SideFacts
    top_um: int
    face_um: int
    wide_um: int
    edge: Stroke
    form: Stroke

    @property
    def high_um(self) -> int:
        return max(0, self.face_um - self.top_um)

    @property
    def half_um(self) -> int:
        return self.wide_um // 2

    def down(self, share: Fraction | float) -> int:
        """A height between the flange (0) and the face (1) [um]."""
        return self.top_um + round(self.high_um * share)

    def part(self, share: Fraction | float) -> int:
        """A part of half the width [um]."""
        return round(self.half_um * share)


def nose_traces(facts: SideFacts, top_um: int, face_um: int) -> tuple[Trace, ...]:
    """The clamping side between the flange at `top_um` and the face at `face_um` [um].

    Source: see the head of this file.

    >>> facts = SideFacts(holder_um=50_000, nose_diameter_um=40_000, clamping="shrink")
    >>> nose_traces(facts, 19_000, 50_000)[0].stroke.value
    'outline'
    """
    top_um = min(top_um, face_um)
    wide_um = nose_width_um(facts)
    sure = facts.face_um is not None
    edge = Stroke.OUTLINE if sure and facts.nose_diameter_um is not None else Stroke.UNKNOWN
    if edge is Stroke.UNKNOWN and sure and _nut_by_table(facts):
        edge = Stroke.FORM
    nose = Nose(facts, top_um, face_um, wide_um, edge, Stroke.FORM if sure else Stroke.UNKNOWN)
    return _FORMS.get(facts.clamping, _plain)(nose)


def nose_width_um(facts: SideFacts) -> int:
    """Width drawn at the nose [um]: as recorded, else the usual nut, else some width.

    >>> nose_width_um(SideFacts(nut_um=50_000)), nose_width_um(SideFacts(nose_diameter_um=24_000))
    (50000, 24000)
    """
    if facts.nose_diameter_um is not None:
        return facts.nose_diameter_um
    if _nut_by_table(facts):
        return facts.nut_um
    return facts.gauge_diameter_um or SOME_GAUGE_DIAMETER_UM


def _nut_by_table(facts: SideFacts) -> bool:
    return facts.has_collet and facts.nose_diameter_um is None and facts.nut_um is not None


def _plain(nose: Nose) -> tuple[Trace, ...]:
    return (block(Stroke.UNKNOWN, nose.wide_um, nose.top_um, nose.face_um, filled=True),)


# ---------------------------------------------------------------- collet and nut
def _collet_chuck(nose: Nose) -> tuple[Trace, ...]:
    nut_top = nose.face_um - min(_nut_high_um(nose), nose.high_um * 2 // 3)
    neck = block(nose.form, nose.wide_um * 4 // 5, nose.top_um, nut_top, filled=True)
    return neck, *_nut(nose, nut_top)


def _nut_high_um(nose: Nose) -> int:
    gauge_um = nose.facts.collet_gauge_um
    if gauge_um is None:
        return nose.half_um
    return _NUT_UM + round(gauge_um * _NUT_PARTS)


def _nut(nose: Nose, top: int) -> tuple[Trace, ...]:
    half, face = nose.half_um, nose.face_um
    high = face - top
    slope = min(high // 8, half // 8)
    collar = face - high // 4
    right = [
        (half - slope, top),
        (half, top + slope),
        (half, collar),
        (half - 2 * slope, face),
    ]
    body = turned(nose.edge, right, filled=True)
    return body, level(Stroke.FORM, half, collar), *_nut_grips(nose, top + slope, collar)


def _nut_grips(nose: Nose, top: int, bottom: int) -> tuple[Trace, ...]:
    """What a spanner takes hold of: flats, slots, or the grooves of a small nut."""
    form = nose.facts.nut_form
    if form is NutForm.HEX:
        return pair(Stroke.FORM, [(nose.part(0.5), top), (nose.part(0.5), bottom)])
    if form is NutForm.MINI:
        shares, wide, top = (0.25, 0.7), 0.09, (top + bottom) // 2
    else:
        shares, wide = (0.62,), 0.11
    places = [0.0, *shares, *(-share for share in shares)]
    return tuple(
        box(Stroke.FORM, nose.part(place - wide), nose.part(place + wide), top, bottom)
        for place in sorted(places)
    )


# ---------------------------------------------------------------- bores
def _side_lock(nose: Nose) -> tuple[Trace, ...]:
    half, slope = nose.half_um, min(nose.half_um // 8, nose.high_um // 8)
    right = [(half, nose.top_um), (half, nose.face_um - slope), (half - slope, nose.face_um)]
    body = turned(nose.edge, right, filled=True)
    shank_um = nose.facts.shank_um or nose.facts.bore_um or nose.half_um
    radius = min(shank_um * 9 // 20, half // 2, nose.high_um // 6)
    middle = nose.face_um - min(
        _SCREW_AT_UM[shank_um > _SMALL_SHANK_UM], max(nose.high_um // 2, radius)
    )
    traces = [body, level(Stroke.FORM, half, nose.face_um - slope)]
    traces += screw(Stroke.FORM, (0, middle), radius)
    second = middle - min(25_000, 3 * radius)
    if shank_um >= _TWO_SCREWS_FROM_UM and second - radius > nose.top_um:
        traces += screw(Stroke.FORM, (0, second), radius)
    return tuple(traces)


def _hydraulic(nose: Nose) -> tuple[Trace, ...]:
    """A stepped body with the actuating screw in its thick part; chambers beside the bore."""
    half, step = nose.half_um, nose.down(Fraction(2, 5))
    thick = half * 7 // 5
    slope = min(thick - half, nose.high_um // 10)
    upper = turned(
        nose.form,
        [(thick, nose.top_um), (thick, step), (half, step + slope)],
        filled=True,
    )
    lower = block(nose.edge, nose.wide_um, step + slope, nose.face_um, filled=True)
    radius = min(nose.part(0.3), (step - nose.top_um) // 3)
    middle = (nose.top_um + step) // 2
    return upper, lower, *screw(Stroke.FORM, (0, middle), radius), *_chambers(nose, step + slope)


def _chambers(nose: Nose, top: int) -> tuple[Trace, ...]:
    """The oil behind the wall of the bore, as hidden lines."""
    facts = nose.facts
    bore = (facts.bore_um or facts.sleeve_um or facts.shank_um or nose.half_um) // 2
    inner, outer = bore + max(0, nose.half_um - bore) // 4, bore + max(0, nose.half_um - bore) // 2
    high = nose.face_um - top
    runs = ((top + high // 8, top + high * 3 // 8), (top + high * 5 // 8, top + high * 7 // 8))
    return tuple(
        trace
        for start, end in runs
        for trace in pair(
            Stroke.HIDDEN,
            [(inner, start), (outer, start), (outer, end), (inner, end)],
            closed=True,
        )
    )


def _shrink(nose: Nose) -> tuple[Trace, ...]:
    """A slim cone without screw or nut."""
    half, high = nose.half_um, nose.high_um
    long = min(high * 9 // 10, round(half / 3 / _SHRINK_SLOPE))
    wide = half + round(long * _SHRINK_SLOPE)
    shoulder = nose.face_um - long
    right = [(wide, nose.top_um), (wide, shoulder), (half, nose.face_um)]
    body = turned(nose.edge, right, filled=True)
    return body, level(Stroke.FORM, wide, shoulder)


def _milling_chuck(nose: Nose) -> tuple[Trace, ...]:
    """A long clamping nut over needle rollers, with rows of spanner holes."""
    half, top = nose.half_um, nose.down(Fraction(1, 5))
    slope = min(half // 10, nose.high_um // 12)
    neck = block(nose.form, nose.wide_um * 17 // 20, nose.top_um, top, filled=True)
    right = [
        (half - slope, top),
        (half, top + slope),
        (half, nose.face_um - slope),
        (half - slope, nose.face_um),
    ]
    nut = turned(nose.edge, right, filled=True)
    collar = nose.down(Fraction(9, 10))
    rings = [level(Stroke.FORM, half, y) for y in (nose.down(Fraction(3, 10)), collar)]
    holes = [
        ring(Stroke.FORM, (nose.part(share), nose.down(Fraction(2, 5))), nose.part(0.09))
        for share in (-0.62, 0.0, 0.62)
    ]
    return neck, nut, *rings, *holes, *_needles(nose)


def _needles(nose: Nose) -> tuple[Trace, ...]:
    """Needle rollers under the nut: slanting hidden lines in a row."""
    heights = [nose.down(Fraction(n, 100)) for n in (50, 58, 66, 74)]
    rise = round(nose.high_um * 0.05)
    inner, outer = nose.part(0.72), nose.part(0.9)
    return tuple(
        trace for y in heights for trace in pair(Stroke.HIDDEN, [(inner, y), (outer, y + rise)])
    )


# ---------------------------------------------------------------- jaws, spigot, square
def _drill_chuck(nose: Nose) -> tuple[Trace, ...]:
    """A sleeve with a knurl, a cone, and three jaws that reach the face."""
    half = nose.half_um
    sleeve, cone, jaw = (nose.down(Fraction(n, 100)) for n in (15, 62, 88))
    narrow = nose.part(0.58)
    traces = [
        block(nose.form, nose.wide_um * 3 // 4, nose.top_um, sleeve, filled=True),
        turned(nose.edge, [(half, sleeve), (half, cone), (narrow, jaw)], filled=True),
        level(Stroke.FORM, half, cone),
        level(Stroke.FORM, half, nose.down(Fraction(30, 100))),
    ]
    knurl = (nose.down(Fraction(33, 100)), nose.down(Fraction(59, 100)))
    traces += [
        Trace(Stroke.FORM, ((nose.part(share), knurl[0]), (nose.part(share), knurl[1])))
        for share in (-0.95, -0.82, -0.64, -0.42, -0.15, 0.15, 0.42, 0.64, 0.82, 0.95)
    ]
    inner, outer = nose.part(0.16), nose.part(0.42)
    traces += pair(
        nose.form,
        [(inner, jaw), (outer, jaw), (inner + nose.part(0.1), nose.face_um), (inner, nose.face_um)],
        closed=True,
    )
    traces.append(box(nose.form, -nose.part(0.12), nose.part(0.12), jaw, nose.face_um))
    return tuple(traces)


def _arbor(nose: Nose) -> tuple[Trace, ...]:
    """A body with the locating face; spigot, keys and screw are drawn with the cutter."""
    collar = nose.down(Fraction(3, 5))
    slope = min(nose.half_um // 5, (collar - nose.top_um) // 2)
    right = [
        (nose.half_um - slope, nose.top_um),
        (nose.half_um - slope, collar - slope),
        (nose.half_um, collar),
    ]
    return (
        turned(nose.form, right, filled=True),
        block(nose.edge, nose.wide_um, collar, nose.face_um, filled=True),
    )


def _tap_holder(nose: Nose) -> tuple[Trace, ...]:
    """A housing, a gap that gives and takes length, and an adapter with its locking ring."""
    half, gap, low = nose.half_um, nose.down(Fraction(9, 20)), nose.down(Fraction(11, 20))
    thick = half * 5 // 4
    lock = (nose.down(Fraction(3, 4)), nose.down(Fraction(17, 20)))
    return (
        block(nose.form, 2 * thick, nose.top_um, gap, filled=True),
        block(nose.form, half * 6 // 5, gap, low, filled=True),
        block(nose.edge, nose.wide_um, low, nose.face_um, filled=True),
        level(Stroke.FORM, half, lock[0]),
        level(Stroke.FORM, half, lock[1]),
        *_spring(nose, gap, low),
    )


def _spring(nose: Nose, top: int, bottom: int) -> tuple[Trace, ...]:
    """The floating gap as a zigzag: it moves along the axis."""
    steps, wide = 6, nose.part(0.6)
    points = tuple(
        (wide if turn % 2 else -wide, top + (bottom - top) * turn // steps)
        for turn in range(steps + 1)
    )
    return (Trace(Stroke.FORM, points),)


_FORMS: dict[str | None, Callable[[Nose], tuple[Trace, ...]]] = {
    "collet": _collet_chuck,
    "side_lock": _side_lock,
    "hydraulic": _hydraulic,
    "shrink": _shrink,
    "milling_chuck": _milling_chuck,
    "drill_chuck": _drill_chuck,
    "arbor": _arbor,
    "tap": _tap_holder,
}
