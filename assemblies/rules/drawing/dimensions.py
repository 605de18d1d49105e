"""The dimensions of a side view: measured plain, by the records in brackets, and what is missing.

Source: kinds of dimension after ISO 129-1, from memory.
"""

from __future__ import annotations

from collections.abc import Iterable

from assemblies.rules.drawing.cutter import DISCS, POINTED, THREADED, cutter_width_um
from assemblies.rules.drawing.holder import nose_width_um
from assemblies.rules.drawing.model import Callout, Figure, Measure, SideFacts
from crib.rules.units import show_length, show_mm


def main_measures(facts: SideFacts, face_um: int, tip_um: int) -> tuple[Measure, Measure, Measure]:
    """Gauge length, stick-out and cutting diameter; face and tip as drawn [um].

    Source: geometry; measured lengths go before the holder's record.

    >>> [m.text for m in main_measures(SideFacts(stickout_um=45_000), 50_000, 95_000)]
    ['gauge length not known', 'stick-out 45.0', 'Ø not known']
    """
    half = cutter_width_um(facts) // 2
    length_um, nominal_um = facts.gauge_length_um, facts.nominal_length_um
    known = facts.diameter_um is not None and not facts.diameter_is_nominal
    return (
        Measure(
            "gauge length",
            f"gauge length {_beside(length_um, nominal_um)}",
            (0, 0),
            (0, tip_um),
            length_um is not None,
        ),
        _upright("stick-out", facts.stickout_um, half, face_um, tip_um),
        Measure("cutting diameter", _diameter_text(facts), (-half, tip_um), (half, tip_um), known),
    )


def _upright(name: str, value_um: int | None, x: int, start: int, end: int) -> Measure:
    text = f"{name} {show_mm(value_um, 1)}"
    return Measure(name, text, (x, start), (x, end), value_um is not None)


def _beside(measured_um: int | None, nominal_um: int | None, decimals: int = 1) -> str:
    """Measured plain and the record in brackets: "95.1 (95.0)"."""
    shown = show_mm(measured_um, decimals)
    return shown if nominal_um is None else f"{shown} ({show_mm(nominal_um, decimals)})"


def _diameter_text(facts: SideFacts) -> str:
    if facts.diameter_um is None:
        return "Ø not known"
    if facts.diameter_is_nominal:
        return f"Ø {_diameter(facts, facts.diameter_um)} nominal"
    if facts.nominal_diameter_um is None:
        return f"Ø {_diameter(facts, facts.diameter_um)}"
    nominal = _diameter(facts, facts.nominal_diameter_um)
    return f"Ø {show_mm(facts.diameter_um)} ({nominal})"


def _diameter(facts: SideFacts, value_um: int) -> str:
    return show_length(value_um, True) if facts.bought_in_inches else show_mm(value_um)


def further_measures(
    facts: SideFacts, face_um: int, tip_um: int
) -> tuple[tuple[Measure, ...], tuple[Measure, ...]]:
    """Upright dimensions of a full drawing: left of the axis, and right of it, innermost first.

    >>> before, after = further_measures(SideFacts(grip_um=30_000, shank_um=12_000), 50_000, 85_000)
    >>> [m.text for m in after]
    ['flutes not known', 'grip 30.0']
    """
    half, nose = cutter_width_um(facts) // 2, nose_width_um(facts) // 2
    holder = _holder_measure(facts, nose, face_um)
    flute_um = facts.flute_um
    start = face_um if flute_um is None else max(face_um, tip_um - flute_um)
    after = [_upright(_edge_word(facts), flute_um, half, start, tip_um)]
    if not facts.is_arbor and facts.grip_um is not None and facts.shank_um is not None:
        grip = face_um - facts.grip_um
        after.append(_upright("grip", facts.grip_um, facts.shank_um // 2, grip, face_um))
    return (holder,), tuple(after)


def _edge_word(facts: SideFacts) -> str:
    """What the cutting part of this kind is called."""
    if facts.kind in THREADED:
        return "thread"
    if facts.is_arbor or facts.seats or facts.kind in DISCS | POINTED - {"drill"}:
        return "edge"
    return "flutes"


def _holder_measure(facts: SideFacts, nose: int, face_um: int) -> Measure:
    """Gauge line to face: what follows from measuring, the holder's record in brackets."""
    follows = facts.gauge_length_um is not None and facts.stickout_um is not None
    if follows:
        text = _beside(facts.face_um, facts.holder_um)
    else:
        text = show_mm(None) if facts.holder_um is None else f"({show_mm(facts.holder_um, 1)})"
    known = facts.face_um is not None
    return Measure("holder", f"holder {text}", (-nose, 0), (-nose, face_um), known)


def callouts(facts: SideFacts, face_um: int, tip_um: int) -> tuple[Callout, ...]:
    """Diameters of nose and shank, radius, angle and pitch, each pointing at its place [um].

    >>> [c.text for c in callouts(SideFacts(shank_um=12_000, flute_um=20_000), 50_000, 95_000)]
    ['nose Ø not known', 'shank Ø 12.00']
    """
    half, nose = cutter_width_um(facts) // 2, nose_width_um(facts) // 2
    found = [_nose_callout(facts, nose, face_um)]
    start = tip_um - min(facts.flute_um or tip_um - face_um, tip_um - face_um)
    if facts.shank_um is not None and start > face_um:
        text = f"shank Ø {_diameter(facts, facts.shank_um)}"
        found.append(Callout(text, (-(facts.shank_um // 2), (face_um + start) // 2), True))
    found += _edge_callouts(facts, half, start, tip_um)
    return tuple(found)


def _nose_callout(facts: SideFacts, nose: int, face_um: int) -> Callout:
    name = "nut" if facts.has_collet else "nose"
    # The jaws of a drill chuck are slimmer than its sleeve.
    up = face_um * 2 // 5 if facts.clamping == "drill_chuck" else min(nose // 4, face_um // 8)
    at = (-nose, face_um - up)
    if facts.nose_diameter_um is None and facts.has_collet and facts.nut_um is not None:
        return Callout(f"{name} about Ø {show_mm(facts.nut_um, 1)}", at, False)
    if facts.nose_diameter_um is None:
        return Callout("nose Ø not known", at, False)
    return Callout(f"{name} Ø {show_mm(facts.nose_diameter_um)}", at, True)


def _edge_callouts(facts: SideFacts, half: int, start: int, tip_um: int) -> list[Callout]:
    found = []
    if facts.corner_radius_um or facts.corner_is_measured:
        text, known = _radius_text(facts), True
        up = min(facts.corner_radius_um, half, tip_um - start)
        found.append(Callout(text, (-half, tip_um - up), known))
    if facts.kind in POINTED:
        known = facts.point_angle_tenths is not None
        found.append(Callout(_angle_text(facts), (-half // 2, tip_um), known))
    if facts.kind == "tap":
        known = facts.pitch_um is not None
        found.append(
            Callout(f"pitch {show_mm(facts.pitch_um)}", (-half, (start + tip_um) // 2), known)
        )
    return found


def _radius_text(facts: SideFacts) -> str:
    if not facts.corner_is_measured or facts.nominal_corner_um is None:
        return f"R {show_mm(facts.corner_radius_um)}"
    return f"R {_beside(facts.corner_radius_um, facts.nominal_corner_um, 2)}"


def _angle_text(facts: SideFacts) -> str:
    if facts.point_angle_tenths is None:
        return "point angle not known"
    return f"{facts.point_angle_tenths / 10:g}°"


# ---------------------------------------------------------------- in words
def figures(facts: SideFacts) -> tuple[Figure, ...]:
    """All dimensions as rows, for those who cannot see the drawing; "" where a side has none.

    >>> rows = figures(SideFacts(diameter_um=11_980, nominal_diameter_um=12_000))
    >>> next((row.measured, row.nominal) for row in rows if row.name == "Cutting Ø")
    ('11.98', '12.00')
    """
    measured_um = None if facts.diameter_is_nominal else facts.diameter_um
    nominal_um = facts.diameter_um if facts.diameter_is_nominal else facts.nominal_diameter_um
    rows = [
        _figure("Gauge length", facts.gauge_length_um, facts.nominal_length_um),
        _figure("Stick-out", facts.stickout_um, None),
        _figure("Cutting Ø", measured_um, nominal_um, facts),
        _figure("Gauge line to face", None, facts.holder_um),
        _figure("Nut or nose Ø", None, facts.nose_diameter_um, facts, 2),
    ]
    if not facts.is_arbor:
        rows += [
            _figure("Grip length", facts.grip_um, None),
            _figure("Shank Ø", None, facts.shank_um, facts),
        ]
    rows.append(_figure("Cutting length", None, facts.flute_um))
    return (*rows, *_figures_of_the_edge(facts))


def _figures_of_the_edge(facts: SideFacts) -> Iterable[Figure]:
    if facts.corner_radius_um or facts.corner_is_measured:
        nominal_um = facts.nominal_corner_um if facts.corner_is_measured else facts.corner_radius_um
        read_um = facts.corner_radius_um if facts.corner_is_measured else None
        yield _figure("Corner radius", read_um, nominal_um, None, 2)
    if facts.kind in POINTED:
        yield Figure("Point angle", "", _angle_text(facts).removeprefix("point angle "))
    if facts.kind == "tap":
        yield _figure("Pitch", None, facts.pitch_um, None, 2)


def _figure(
    name: str,
    measured_um: int | None,
    nominal_um: int | None,
    inches_of: SideFacts | None = None,
    decimals: int = 1,
) -> Figure:
    def shown(value_um: int | None) -> str:
        if value_um is None:
            return ""
        if inches_of is not None:
            return _diameter(inches_of, value_um)
        return show_mm(value_um, decimals)

    return Figure(name, shown(measured_um), shown(nominal_um))


def missing(facts: SideFacts) -> tuple[str, ...]:
    """What nobody recorded, in the order from spindle to tip.

    >>> missing(SideFacts(clamping="arbor", gauge_diameter_um=31_750))[:2]
    ('holder length', 'nose diameter')
    """
    named = {
        "taper": facts.gauge_diameter_um,
        "way of clamping": 0 if facts.clamping else None,
        "pull stud": None if facts.stud == "unknown" else 0,
        "holder length": facts.face_um,
        "nose diameter": facts.nose_diameter_um,
        "grip": 0 if facts.is_arbor else facts.grip_um,
        "stick-out": facts.stickout_um,
        "gauge length": facts.gauge_length_um,
        "shank": 0 if facts.is_arbor else facts.shank_um,
        "cutting diameter": facts.diameter_um,
        "flute length": facts.flute_um,
        **_missing_by_kind(facts),
    }
    return tuple(name for name, value_um in named.items() if value_um is None)


def _missing_by_kind(facts: SideFacts) -> dict[str, int | None]:
    asked: dict[str, int | None] = {}
    if facts.is_arbor and facts.bore_um is not None:
        asked |= {"spigot": facts.spigot_um, "key": facts.key_um}
    if facts.is_arbor and facts.kind is not None:
        asked["body of the cutter"] = None
    if facts.sleeve_um is not None:
        asked["sleeve length"] = facts.sleeve_length_um
    if facts.kind in POINTED:
        asked["point angle"] = facts.point_angle_tenths
    if facts.kind == "tap":
        asked["pitch"] = facts.pitch_um
    if facts.kind == "round_over":
        asked["radius"] = facts.corner_radius_um
    if facts.kind == "profile":
        asked["profile"] = None
    return asked


def description(facts: SideFacts, measures: Iterable[Measure], gaps: tuple[str, ...]) -> str:
    """What the drawing shows, in words, with what is form only and what is missing."""
    said = ", ".join(measure.text for measure in measures)
    form = "Cone, flange, collet, necks, screws, slots and flutes show their form only."
    if facts.has_collet and facts.nose_diameter_um is None and facts.nut_um is not None:
        form = "The nut has the usual size of its series. " + form
    missed = f" Not on record: {', '.join(gaps)}." if gaps else ""
    return f"Side view to scale, in mm: {said}. {form}{missed}"
