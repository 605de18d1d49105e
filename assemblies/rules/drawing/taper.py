"""The spindle side: cone, flange and pull stud. Gauge and flange diameter are sizes, the rest form.

Source: proportions of ISO 7388-1 and -2, ISO 12164-1, ISO 26623-1 and DIN 2080-1, from memory.
"""

from __future__ import annotations

from fractions import Fraction

from assemblies.rules.drawing.model import SideFacts, Stroke, TaperForm, Trace
from assemblies.rules.drawing.shapes import level, pair, turned

#: Stands in for a gauge diameter that nobody recorded [um], to be drawn in dashes.
SOME_GAUGE_DIAMETER_UM = 40_000
#: Steep tapers narrow by 7 in 24, hollow ones by 1 in 10, polygonal ones by 1 in 20.
_STEEP, _HOLLOW, _POLYGON = Fraction(7, 24), Fraction(1, 10), Fraction(1, 20)
#: Length of the cone, in parts of the gauge diameter.
_STEEP_LONG, _HOLLOW_LONG, _POLYGON_LONG = Fraction(3, 2), Fraction(2, 3), Fraction(3, 5)
#: The polygon is that much of the flange, which the table names as its gauge diameter.
_POLYGON_WIDE = Fraction(7, 10)
#: Flange below the gauge line [um], and where its groove has its middle, in parts of that.
_FLANGE_UM = {TaperForm.STEEP: 19_100, TaperForm.HOLLOW: 26_000, TaperForm.POLYGON: 22_000}
_FLANGE_PARTS = {
    TaperForm.STEEP_THICK: Fraction(3, 5),
    TaperForm.MANUAL: Fraction(1, 4),
    TaperForm.ROUTER: Fraction(1, 5),
    TaperForm.HOLLOW_MANUAL: Fraction(1, 5),
}
_GROOVE_AT = {
    TaperForm.STEEP: Fraction(11, 19),
    TaperForm.STEEP_THICK: Fraction(5, 8),
    TaperForm.HOLLOW: Fraction(9, 13),
    TaperForm.POLYGON: Fraction(5, 8),
}
#: The flange starts a little below the gauge line of a steep taper.
_STEP_UM = 2_000


def taper_traces(facts: SideFacts, face_um: int) -> tuple[Trace, ...]:
    """Cone, flange, and the stud where one is in; `face_um` [um] bounds the flange.

    Source: see the head of this file.

    >>> len(taper_traces(SideFacts(gauge_diameter_um=48_000, taper=TaperForm.HOLLOW), 80_000))
    2
    """
    cone = _polygon(facts) if facts.taper is TaperForm.POLYGON else _cone(facts)
    return (*_tail(facts), *cone, *_flange(facts, flange_bottom_um(facts, face_um)))


def cone_top_um(facts: SideFacts) -> int:
    """Small end of the cone [um], above the gauge line and so below zero.

    >>> cone_top_um(SideFacts(gauge_diameter_um=40_000))
    -60000
    """
    parts = _STEEP_LONG if facts.taper.is_steep else _HOLLOW_LONG
    if facts.taper is TaperForm.POLYGON:
        parts = _POLYGON_LONG
    return -round(_gauge_um(facts) * parts)


def flange_bottom_um(facts: SideFacts, face_um: int) -> int:
    """Lower edge of the flange [um], 0 where its diameter is not known.

    >>> flange_bottom_um(SideFacts(flange_diameter_um=63_000), 30_000)
    12000
    """
    if facts.flange_diameter_um is None:
        return 0
    thick_um = _FLANGE_UM.get(facts.taper)
    if thick_um is None:
        thick_um = round(_gauge_um(facts) * _FLANGE_PARTS[facts.taper])
    return min(thick_um, round(facts.flange_diameter_um * Fraction(1, 2)), face_um * 2 // 5)


def _gauge_um(facts: SideFacts) -> int:
    known_um = facts.gauge_diameter_um
    return SOME_GAUGE_DIAMETER_UM if known_um is None else known_um


def _stroke(facts: SideFacts) -> Stroke:
    return Stroke.UNKNOWN if facts.gauge_diameter_um is None else Stroke.FORM


def _narrow_um(facts: SideFacts) -> int:
    """Diameter of the small end [um]."""
    narrowing = _STEEP if facts.taper.is_steep else _HOLLOW
    return round(_gauge_um(facts) + cone_top_um(facts) * narrowing)


def _cone(facts: SideFacts) -> tuple[Trace, ...]:
    stroke, top = _stroke(facts), cone_top_um(facts)
    small, wide = _narrow_um(facts) // 2, _gauge_um(facts) // 2
    cone = turned(stroke, [(small, top), (wide, 0)], filled=True)
    if facts.taper.is_steep or stroke is Stroke.UNKNOWN:
        return (cone,)
    return cone, _inside(small, top)


def _inside(small_um: int, top_um: int) -> Trace:
    """The hollow of a short taper, with the shoulder that the gripper pulls on."""
    neck, room = small_um * 7 // 10, small_um * 17 // 20
    shoulder, floor = top_um * 3 // 5, top_um // 8
    right = [(neck, top_um), (neck, shoulder), (room, shoulder + room - neck), (room, floor)]
    return turned(Stroke.HIDDEN, right)


def _polygon(facts: SideFacts) -> tuple[Trace, ...]:
    stroke, top = _stroke(facts), cone_top_um(facts)
    wide = round(_gauge_um(facts) * _POLYGON_WIDE) // 2
    small = round(wide + top * _POLYGON / 2)
    body = turned(stroke, [(small, top), (wide, 0)], filled=True)
    # Two edges of the lobes, seen from the side.
    return body, *pair(Stroke.FORM, [(small // 3, top), (wide // 3, 0)])


def _tail(facts: SideFacts) -> tuple[Trace, ...]:
    """What stands above the cone: the tail for a draw-bar, or the pull stud."""
    top, wide = cone_top_um(facts), _gauge_um(facts)
    if facts.taper is TaperForm.MANUAL:
        half = wide // 5
        return (turned(_stroke(facts), [(half, top - wide // 2), (half, top)], filled=True),)
    if facts.stud not in ("fitted", "unknown") or not facts.taper.is_steep:
        return ()
    stroke = Stroke.FORM if facts.stud == "fitted" else Stroke.UNKNOWN
    return _stud(stroke, top, wide)


def _stud(stroke: Stroke, top_um: int, wide_um: int) -> tuple[Trace, ...]:
    """Head, neck and collar above the cone."""
    parts = ((16, 78), (17, 74), (17, 64), (11, 56), (11, 30), (20, 30), (26, 12), (26, 0))
    right = [(wide_um * x // 100, top_um - wide_um * y // 100) for x, y in parts]
    return (turned(stroke, right, filled=True),)


def _flange(facts: SideFacts, bottom_um: int) -> tuple[Trace, ...]:
    if bottom_um <= 0:
        return ()
    half = facts.flange_diameter_um // 2
    top = min(_STEP_UM, bottom_um // 4) if facts.taper.is_steep else 0
    groove = _GROOVE_AT.get(facts.taper)
    if groove is None:
        return (turned(Stroke.FORM, [(half, top), (half, bottom_um)], filled=True),)
    middle = round(bottom_um * groove)
    deep = min(bottom_um // 5, half // 5, middle - top, bottom_um - middle)
    right = [
        (half, top),
        (half, middle - deep),
        (half - deep, middle - deep // 3),
        (half - deep, middle + deep // 3),
        (half, middle + deep),
        (half, bottom_um),
    ]
    edges = (level(Stroke.FORM, half, middle - deep), level(Stroke.FORM, half, middle + deep))
    return (turned(Stroke.FORM, right, filled=True), *edges)
