"""Which facts mean something for which part: hints on the form, lines on the item's page."""

from __future__ import annotations

from django.db.models import Field, Model

from crib.models import Clamping, CutterFacts, HolderFacts, ShankForm
from crib.rules.cutter_kinds import CUTTER_KINDS

_COLLET = (Clamping.COLLET,)
_BORES = (Clamping.SIDE_LOCK, Clamping.SHRINK, Clamping.HYDRAULIC, Clamping.MILLING_CHUCK)

#: Column of a holder -> the ways of clamping that it says something about.
CLAMPINGS_OF = {
    "collet_series": _COLLET,
    "nose_thread": _COLLET,
    "bore_um": (*_BORES, Clamping.ARBOR, Clamping.DRILL_CHUCK, Clamping.TAP),
    "bore_min_um": (Clamping.DRILL_CHUCK,),
    "bore_depth_um": (*_BORES, Clamping.TAP),
    "grip_min_um": (*_BORES, Clamping.COLLET),
    "square_um": (Clamping.TAP,),
    "spigot_um": (Clamping.ARBOR,),
    "key_um": (Clamping.ARBOR,),
    "screw_torque_mnm": (Clamping.SIDE_LOCK, Clamping.HYDRAULIC, Clamping.ARBOR),
}
#: Column of a cutter -> the kinds that it says something about.
KINDS_OF = {
    "square_um": ("tap",),
    "pitch_um": ("tap", "thread_mill"),
    "point_angle_tenths": ("drill", "countersink", "v_groove", "chamfer", "engraver"),
}
#: A hint of our own where the column's needs other words on a form.
_HINTS = {
    (HolderFacts, "bore_depth_um"): "As marked by the maker.",
    (HolderFacts, "bore_min_um"): "Jaws closed as far as they go.",
    (HolderFacts, "grip_min_um"): "Marked on the holder; it beats the table.",
    (HolderFacts, "key_um"): "Both keys have one width.",
    (HolderFacts, "spigot_um"): "From the locating face.",
    (HolderFacts, "square_um"): "It drives the square of the tap.",
    (CutterFacts, "keyway_um"): "Only where the shank form is a bore.",
    (CutterFacts, "pitch_um"): "Of the thread it cuts.",
    (CutterFacts, "point_angle_tenths"): "Included angle.",
    (CutterFacts, "square_um"): "Of its shank.",
}


#: Kind of facts -> columns that only some parts have, and the heading over them on a form.
SPECIAL = {
    HolderFacts: (frozenset(CLAMPINGS_OF), "Only for some ways of clamping"),
    CutterFacts: (frozenset({*KINDS_OF, "keyway_um"}), "Only for some kinds of cutter"),
}


def hint_of(column: Field) -> str:
    """The line under a field: what it is, and for which parts it is asked."""
    said = _HINTS.get((column.model, column.name)) or column.help_text
    return f"{said} {_asked_in_words(column)}".strip()


def _asked_in_words(column: Field) -> str:
    if column.model is HolderFacts:
        labels = [way.label.lower() for way in CLAMPINGS_OF.get(column.name, ())]
    elif column.model is CutterFacts:
        labels = [CUTTER_KINDS[kind] for kind in KINDS_OF.get(column.name, ())]
    else:
        labels = []
    return f"Only for: {', '.join(labels)}." if labels else ""


def is_asked(facts: Model, name: str) -> bool:
    """Whether a column says something about this part; others are not called missing."""
    if isinstance(facts, HolderFacts):
        return name not in CLAMPINGS_OF or facts.clamping in CLAMPINGS_OF[name]
    if isinstance(facts, CutterFacts):
        return _is_asked_of_cutter(facts, name)
    if name in ("seal_max_um", "seal_min_um"):
        return facts.sealed is not False
    return True


def _is_asked_of_cutter(facts: CutterFacts, name: str) -> bool:
    has_bore = facts.shank_form == ShankForm.BORE
    if name == "keyway_um":
        return has_bore
    if name in ("plain_shank_um", "marked_grip_um"):
        return not has_bore
    if name == "insert_item":
        return facts.seats > 0
    return name not in KINDS_OF or facts.kind in KINDS_OF[name]
