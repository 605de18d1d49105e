"""Kinds of cutter: what a program can ask for and an assembly can hold.

The words are the trade's own (ISO 3002, ISO 5419 and common practice for router cutters).
Up-cut, down-cut and compression are kinds here, because swapping them spoils the part.
"""

from __future__ import annotations

CUTTER_KINDS: dict[str, str] = {
    "end_mill": "end mill",
    "spiral_up": "up-cut spiral",
    "spiral_down": "down-cut spiral",
    "compression": "compression spiral",
    "straight": "straight router cutter",
    "ball_nose": "ball-nose cutter",
    "bull_nose": "corner-radius end mill",
    "v_groove": "V-groove cutter",
    "chamfer": "chamfer mill",
    "round_over": "round-over cutter",
    "surfacing": "surfacing cutter",
    "face_mill": "face mill",
    "t_slot": "slot cutter",
    "drill": "drill",
    "boring_bit": "boring bit",
    "countersink": "countersink",
    "reamer": "reamer",
    "tap": "machine tap",
    "thread_mill": "thread mill",
    "engraver": "engraving cutter",
    "saw": "saw blade",
    "profile": "profile cutter",
    "probe": "touch probe",
}


def kind_name(kind: str) -> str:
    """The kind in words; the code itself when it is not one of ours.

    >>> kind_name("spiral_up")
    'up-cut spiral'
    """
    return CUTTER_KINDS.get(kind, kind)
