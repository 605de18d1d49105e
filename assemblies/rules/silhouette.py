"""The side view of one assembly: what is known as solid outlines, what is not known as dashes.

Lengths are whole micrometres; y counts downwards from the gauge line, x from the axis to the
right. Cone, flange, nut line and flutes show a form and no size.

Source: geometry; kinds of line after ISO 128, from memory.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from crib.rules.units import show_length, show_mm

Point = tuple[int, int]


class Stroke(StrEnum):
    """What a line stands for."""

    OUTLINE = "outline"
    FORM = "form"
    HIDDEN = "hidden"
    UNKNOWN = "unknown"
    AXIS = "axis"
    DIMENSION = "dimension"


@dataclass(frozen=True, slots=True, kw_only=True)
class SideFacts:
    """What is known of one assembly for its side view; None is a figure nobody recorded.

    gauge_diameter_um  of the taper at the gauge line [um]
    holder_um          gauge line to nut face, or to the locating face, by the holder's record [um]
    gauge_length_um    gauge line to tip, as measured [um]
    diameter_um        cutting diameter [um]; measured unless `diameter_is_nominal`
    flute_um           length of the cutting part from the tip [um]
    """

    steep_taper: bool = True
    gauge_diameter_um: int | None = None
    flange_diameter_um: int | None = None
    holder_um: int | None = None
    nose_diameter_um: int | None = None
    has_collet: bool = True
    is_arbor: bool = False
    grip_um: int | None = None
    stickout_um: int | None = None
    gauge_length_um: int | None = None
    shank_um: int | None = None
    diameter_um: int | None = None
    diameter_is_nominal: bool = False
    bought_in_inches: bool = False
    flute_um: int | None = None
    corner_radius_um: int | None = None
    is_ball_nosed: bool = False


@dataclass(frozen=True, slots=True)
class Trace:
    """One run of straight lines."""

    stroke: Stroke
    points: tuple[Point, ...]
    closed: bool = False


@dataclass(frozen=True, slots=True)
class Measure:
    """A distance to be dimensioned; `text` says "not known" where it is so."""

    name: str
    text: str
    start: Point
    end: Point
    known: bool


@dataclass(frozen=True, slots=True)
class SideView:
    """Outlines and dimensions of one assembly in its own size, and what is missing in words."""

    traces: tuple[Trace, ...]
    length: Measure
    stickout: Measure
    diameter: Measure
    missing: tuple[str, ...]
    description: str


# Stand-ins for what nobody recorded [um]: so that there is something to draw in dashes.
_SOME_GAUGE_DIAMETER_UM = 40_000
_SOME_HOLDER_UM = 50_000
_SOME_STICKOUT_UM = 35_000
_SOME_DIAMETER_UM = 10_000
#: Height of the cone drawn above the gauge line, in parts of the gauge diameter.
_CONE_HEIGHT = {True: Fraction(4, 5), False: Fraction(1, 2)}
#: Steep tapers narrow by 7 in 24 (ISO 7388-1); short hollow ones by about 1 in 10 (ISO 12164-1).
_NARROWING = {True: Fraction(7, 24), False: Fraction(1, 10)}
_MOST_FLUTE_LINES = 6
_ARC_STEPS = 12


def side_view(facts: SideFacts) -> SideView:
    """The side view of what is known.

    Source: geometry; measured lengths go before the holder's record.

    >>> view = side_view(SideFacts(holder_um=50_000, stickout_um=45_000, gauge_length_um=95_000))
    >>> view.length.text, view.stickout.text, view.diameter.text
    ('gauge length 95.0', 'stick-out 45.0', 'Ø not known')
    """
    face_um, tip_um = _face_um(facts), _tip_um(facts)
    drawn_face_um = _SOME_HOLDER_UM if face_um is None else face_um
    drawn_tip_um = drawn_face_um + _SOME_STICKOUT_UM if tip_um is None else tip_um
    drawn_tip_um = max(drawn_tip_um, drawn_face_um)
    traces = (
        *_cone(facts),
        *_body(facts, drawn_face_um, face_um is not None),
        *_grip(facts, drawn_face_um),
        *_cutter(facts, drawn_face_um, drawn_tip_um, tip_um is not None),
    )
    missing = _missing(facts, face_um, tip_um)
    measures = _measures(facts, drawn_face_um, drawn_tip_um)
    return SideView((*traces, _axis(traces)), *measures, missing, _description(measures, missing))


def _face_um(facts: SideFacts) -> int | None:
    """Gauge line to nut face: what was measured less the stick-out, else the holder's record."""
    if facts.gauge_length_um is not None and facts.stickout_um is not None:
        return max(0, facts.gauge_length_um - facts.stickout_um)
    return facts.holder_um


def _tip_um(facts: SideFacts) -> int | None:
    if facts.gauge_length_um is not None:
        return facts.gauge_length_um
    if facts.holder_um is None or facts.stickout_um is None:
        return None
    return facts.holder_um + facts.stickout_um


def _block(
    stroke: Stroke, width_um: int, top_um: int, bottom_um: int, bottom_width_um: int | None = None
) -> Trace:
    """A block round the axis, as wide below as above unless said otherwise."""
    top, bottom = width_um // 2, (width_um if bottom_width_um is None else bottom_width_um) // 2
    points = ((-top, top_um), (top, top_um), (bottom, bottom_um), (-bottom, bottom_um))
    return Trace(stroke, points, closed=True)


def _cone(facts: SideFacts) -> tuple[Trace, ...]:
    known = facts.gauge_diameter_um is not None
    wide_um = facts.gauge_diameter_um if known else _SOME_GAUGE_DIAMETER_UM
    high_um = round(wide_um * _CONE_HEIGHT[facts.steep_taper])
    narrow_um = round(wide_um - high_um * _NARROWING[facts.steep_taper])
    return (_block(Stroke.FORM if known else Stroke.UNKNOWN, narrow_um, -high_um, 0, wide_um),)


def _flange_um(facts: SideFacts, face_um: int) -> int:
    """Height drawn for the flange [um]: a form, not a size."""
    if facts.flange_diameter_um is None:
        return 0
    return min(round(facts.flange_diameter_um * Fraction(3, 10)), face_um // 3)


def _body(facts: SideFacts, face_um: int, face_known: bool) -> tuple[Trace, ...]:
    flange_um = _flange_um(facts, face_um)
    known = face_known and facts.nose_diameter_um is not None
    wide_um = facts.nose_diameter_um or facts.gauge_diameter_um or _SOME_GAUGE_DIAMETER_UM
    traces = [_block(Stroke.OUTLINE if known else Stroke.UNKNOWN, wide_um, flange_um, face_um)]
    if flange_um:
        traces.insert(0, _block(Stroke.FORM, facts.flange_diameter_um, 0, flange_um))
    if facts.has_collet:
        nut_um = face_um - min(wide_um // 2, (face_um - flange_um) * 3 // 5)
        traces.append(Trace(Stroke.FORM, ((-wide_um // 2, nut_um), (wide_um // 2, nut_um))))
    return tuple(traces)


def _grip(facts: SideFacts, face_um: int) -> tuple[Trace, ...]:
    """The shank inside the collet, as hidden lines."""
    if facts.is_arbor or facts.grip_um is None or facts.shank_um is None:
        return ()
    return (_block(Stroke.HIDDEN, facts.shank_um, face_um - facts.grip_um, face_um),)


def _cutter(facts: SideFacts, face_um: int, tip_um: int, tip_known: bool) -> tuple[Trace, ...]:
    out_um = tip_um - face_um
    cutting_um = out_um if facts.flute_um is None else min(facts.flute_um, out_um)
    start_um = tip_um - cutting_um
    wide_um = facts.diameter_um or facts.shank_um or _SOME_DIAMETER_UM
    sure = tip_known and None not in (facts.diameter_um, facts.flute_um, facts.stickout_um)
    edge = Stroke.OUTLINE if sure else Stroke.UNKNOWN
    traces = [Trace(edge, _cutting_part(facts, wide_um, start_um, tip_um), closed=True)]
    if sure:
        traces += _flutes(wide_um, start_um, tip_um)
    if start_um > face_um:
        traces.append(_behind(facts, wide_um, face_um, start_um, tip_known))
    return tuple(traces)


def _behind(facts: SideFacts, wide_um: int, top_um: int, bottom_um: int, sure: bool) -> Trace:
    """Shank between nut and flutes; the body of a shell cutter has no diameter on record."""
    known = sure and not facts.is_arbor and facts.shank_um is not None
    return _block(
        Stroke.OUTLINE if known else Stroke.UNKNOWN,
        facts.shank_um if known else wide_um,
        top_um,
        bottom_um,
    )


def _cutting_part(facts: SideFacts, wide_um: int, start_um: int, tip_um: int) -> tuple[Point, ...]:
    half = wide_um // 2
    corner_um = half if facts.is_ball_nosed else facts.corner_radius_um or 0
    corner_um = min(corner_um, half, tip_um - start_um)
    right = [(half, start_um), *_corner(half, tip_um, corner_um)]
    return tuple([(-x, y) for x, y in right] + right[::-1])


def _corner(half: int, tip_um: int, radius_um: int) -> list[Point]:
    if radius_um == 0:
        return [(half, tip_um)]
    turns = [math.pi / 2 * step / _ARC_STEPS for step in range(_ARC_STEPS + 1)]
    across, up = half - radius_um, tip_um - radius_um
    return [
        (across + round(radius_um * math.cos(turn)), up + round(radius_um * math.sin(turn)))
        for turn in turns
    ]


def _flutes(wide_um: int, start_um: int, tip_um: int) -> list[Trace]:
    """Slanting strokes that say "this part cuts"."""
    long_um = tip_um - start_um
    count = max(1, min(_MOST_FLUTE_LINES, long_um // max(wide_um, 1)))
    step_um, half = long_um // (count + 1), wide_um // 2
    rise_um = min(step_um // 2, half)
    heights = (start_um + step_um * turn for turn in range(1, count + 1))
    return [Trace(Stroke.FORM, ((-half, y + rise_um), (half, y - rise_um))) for y in heights]


def _axis(traces: Iterable[Trace]) -> Trace:
    heights = [y for trace in traces for _, y in trace.points]
    return Trace(Stroke.AXIS, ((0, min(heights)), (0, max(heights))))


def _missing(facts: SideFacts, face_um: int | None, tip_um: int | None) -> tuple[str, ...]:
    named = {
        "taper": facts.gauge_diameter_um,
        "holder length": face_um,
        "nose diameter": facts.nose_diameter_um,
        "grip": 0 if facts.is_arbor else facts.grip_um,
        "stick-out": facts.stickout_um,
        "gauge length": facts.gauge_length_um,
        "shank": 0 if facts.is_arbor else facts.shank_um,
        "cutting diameter": facts.diameter_um,
        "flute length": facts.flute_um,
    }
    return tuple(name for name, value_um in named.items() if value_um is None)


def _measures(facts: SideFacts, face_um: int, tip_um: int) -> tuple[Measure, Measure, Measure]:
    half = (facts.diameter_um or facts.shank_um or _SOME_DIAMETER_UM) // 2
    return (
        _measure("gauge length", facts.gauge_length_um, (0, 0), (0, tip_um)),
        _measure("stick-out", facts.stickout_um, (half, face_um), (half, tip_um)),
        Measure(
            "cutting diameter",
            _diameter_text(facts),
            (-half, tip_um),
            (half, tip_um),
            facts.diameter_um is not None and not facts.diameter_is_nominal,
        ),
    )


def _measure(name: str, value_um: int | None, start: Point, end: Point) -> Measure:
    return Measure(name, f"{name} {show_mm(value_um, 1)}", start, end, value_um is not None)


def _diameter_text(facts: SideFacts) -> str:
    if facts.diameter_um is None:
        return "Ø not known"
    shown = show_length(facts.diameter_um, facts.bought_in_inches)
    if not facts.bought_in_inches:
        shown = show_mm(facts.diameter_um)
    return f"Ø {shown} nominal" if facts.diameter_is_nominal else f"Ø {shown}"


def _description(measures: Iterable[Measure], missing: tuple[str, ...]) -> str:
    said = ", ".join(measure.text for measure in measures)
    gaps = f" Not on record: {', '.join(missing)}." if missing else ""
    return f"Side view to scale, in mm: {said}. Cone, flange and nut show their form only.{gaps}"
