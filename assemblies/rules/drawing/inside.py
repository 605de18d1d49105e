"""What is inside the holder, as hidden lines: shank, collet, sleeve, bore, spigot, square.

Source: collets after ISO 15488 (8 degrees to each side), from memory; the rest is geometry.
"""

from __future__ import annotations

import math

from assemblies.rules.drawing.model import SideFacts, Stroke, Trace
from assemblies.rules.drawing.shapes import block, box, crossed, level, pair, turned

_COLLET_SLOPE = math.tan(math.radians(8))
#: Stand-ins for what an arbor's record leaves out, in parts of its spigot's diameter.
_SPIGOT_PARTS, _KEY_PARTS = (3, 4), (2, 5)


def inside_traces(facts: SideFacts, face_um: int) -> tuple[Trace, ...]:
    """What the holder hides above its face at `face_um` [um]; nothing of it is guessed.

    Source: geometry.

    >>> inside_traces(SideFacts(grip_um=30_000, shank_um=12_000), 50_000)[0].points[0]
    (-6000, 20000)
    """
    if facts.is_arbor:
        return ()
    return (
        *_bore(facts, face_um),
        *_collet(facts, face_um),
        *_sleeve(facts, face_um),
        *_shank(facts, face_um),
    )


def _shank(facts: SideFacts, face_um: int) -> tuple[Trace, ...]:
    if facts.grip_um is None or facts.shank_um is None:
        return ()
    end = face_um - facts.grip_um
    shank = block(Stroke.HIDDEN, facts.shank_um, end, face_um)
    return shank, *_driven_part(facts, end, face_um)


def _driven_part(facts: SideFacts, end_um: int, face_um: int) -> tuple[Trace, ...]:
    """The flat that a side screw presses on, or the square that turns a tap."""
    long = face_um - end_um
    if facts.shank_form in ("HB", "HE") and facts.clamping == "side_lock":
        half = facts.shank_um * 3 // 10
        return (box(Stroke.HIDDEN, -half, half, end_um + long // 4, end_um + long * 3 // 4),)
    if facts.shank_form == "square" and facts.square_um is not None:
        return crossed(Stroke.HIDDEN, facts.square_um // 2, end_um, end_um + long // 4)
    return ()


def _collet(facts: SideFacts, face_um: int) -> tuple[Trace, ...]:
    """The collet: a long cone that closes it, a short one under the nut."""
    if not facts.has_collet or facts.collet_length_um is None or facts.collet_gauge_um is None:
        return ()
    wide, top = facts.collet_gauge_um // 2, face_um - facts.collet_length_um
    shoulder = face_um - facts.collet_length_um // 5
    small = max(0, wide - round((shoulder - top) * _COLLET_SLOPE))
    right = [(small, top), (wide, shoulder), (wide * 4 // 5, face_um)]
    return turned(Stroke.HIDDEN, right), level(Stroke.HIDDEN, wide, shoulder)


def _sleeve(facts: SideFacts, face_um: int) -> tuple[Trace, ...]:
    """A reduction sleeve, with the slits that let it close."""
    if facts.sleeve_um is None or facts.sleeve_length_um is None:
        return ()
    top, half = face_um - facts.sleeve_length_um, facts.sleeve_um // 2
    slit = (half + (facts.shank_um or 0) // 2) // 2
    lines = pair(Stroke.HIDDEN, [(slit, top), (slit, face_um - facts.sleeve_length_um // 6)])
    return block(Stroke.HIDDEN, facts.sleeve_um, top, face_um), *lines


def _bore(facts: SideFacts, face_um: int) -> tuple[Trace, ...]:
    """The bore of the holder down to where the maker lets a shank go."""
    if facts.has_collet or facts.clamping == "drill_chuck":
        return ()
    if facts.bore_um is None or facts.bore_depth_um is None:
        return ()
    return (block(Stroke.HIDDEN, facts.bore_um, face_um - facts.bore_depth_um, face_um),)


def mount_traces(facts: SideFacts, face_um: int, tip_um: int) -> tuple[Trace, ...]:
    """What an arbor reaches into its cutter with: spigot, screw and one of the keys.

    A length or width that nobody recorded is drawn dashed as "not known".

    Source: form by common practice (ISO 6462), from memory.

    >>> facts = SideFacts(clamping="arbor", bore_um=22_000, spigot_um=19_000, key_um=10_000)
    >>> [trace.stroke.value for trace in mount_traces(facts, 50_000, 90_000)][:2]
    ['hidden', 'hidden']
    """
    if not facts.is_arbor or facts.bore_um is None:
        return ()
    room = max(0, tip_um - face_um)
    spigot_um = facts.spigot_um or facts.bore_um * _SPIGOT_PARTS[0] // _SPIGOT_PARTS[1]
    end = face_um + min(spigot_um, room)
    spigot = Stroke.HIDDEN if facts.spigot_um is not None else Stroke.UNKNOWN
    return (
        block(spigot, facts.bore_um, face_um, end),
        *_arbor_screw(facts, end, tip_um),
        *_keys(facts, face_um, end),
    )


def _arbor_screw(facts: SideFacts, end_um: int, tip_um: int) -> tuple[Trace, ...]:
    head = min(facts.bore_um // 3, max(0, tip_um - end_um) * 3 // 4)
    thread = block(Stroke.HIDDEN, facts.bore_um // 2, end_um - facts.bore_um // 2, end_um)
    return block(Stroke.HIDDEN, facts.bore_um * 6 // 5, end_um, end_um + head), thread


def _keys(facts: SideFacts, face_um: int, end_um: int) -> tuple[Trace, ...]:
    """The key towards the reader, in the slot of the cutter."""
    key_um = facts.key_um or facts.bore_um * _KEY_PARTS[0] // _KEY_PARTS[1]
    stroke = Stroke.FORM if facts.key_um is not None else Stroke.UNKNOWN
    deep = min(facts.bore_um // 4, (end_um - face_um) // 2)
    return (block(stroke, key_um, face_um, face_um + deep, filled=True),)
