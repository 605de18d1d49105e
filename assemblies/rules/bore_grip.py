"""How much shank is held where there is no collet: bores, sleeves, jaws and tap holders."""

from __future__ import annotations

from collections.abc import Sequence

from assemblies.rules.grip import held_shank_findings
from assemblies.rules.shank import working_shank_um
from assemblies.rules.stack import CutterPart, HolderPart, ShopLimits, SleevePart
from assemblies.rules.wording import at_least, in_mm
from crib.rules.finding import Finding, Level
from crib.rules.standards import GripRule, table_grip
from crib.rules.units import show_mm

_MARKS = "marks on shank and holder; they win over the table"
_GEOMETRY = "geometry"
_TABLE = "shop tables by bore, from memory; 2 × shank is a shop rule; the maker's length wins"
_TWO_DIAMETERS = "2 × shank"

_TABLE_NAMES = {"hydraulic": "hydraulic chuck", "shrink": "shrink-fit holder"}


def bore_grip_findings(
    grip_um: int | None,
    holder: HolderPart,
    cutter: CutterPart,
    limits: ShopLimits,
    rules: Sequence[GripRule],
    sleeve: SleevePart | None = None,
) -> list[Finding]:
    """Grip in a bore: marks must be met, the table's figure is advice, and no more than there is.

    Source: marks on shank and holder; shop tables, from memory.

    >>> holder, cutter = HolderPart(clamping="hydraulic"), CutterPart(marked_grip_um=30_000)
    >>> bore_grip_findings(29_999, holder, cutter, ShopLimits(), [])[0].code
    'grip.too_short'
    """
    if grip_um is None:
        return [_unknown("grip.not_known", "Grip length not recorded.", _MARKS)]
    enough = _enough(grip_um, holder, cutter, rules)
    depth = _depth_findings(grip_um, holder, sleeve)
    return [enough, *depth, *held_shank_findings(grip_um, cutter, limits)]


def _unknown(
    code: str, text: str, source: str, remedy: str = "Measure it and record it."
) -> Finding:
    return Finding(code, Level.UNKNOWN, text, remedy=remedy, source=source)


def _enough(
    grip_um: int, holder: HolderPart, cutter: CutterPart, rules: Sequence[GripRule]
) -> Finding:
    marks = [
        (um, name)
        for um, name in (
            (cutter.marked_grip_um, "mark on the shank"),
            (holder.grip_min_um, "mark on the holder"),
        )
        if um is not None
    ]
    marked_um, name = max(marks, default=(None, ""))
    if marked_um is not None and grip_um < marked_um:
        wanted = f"Needs {at_least(marked_um)} mm ({name})."
        return _short_of("grip.too_short", Level.STOP_SOFT, grip_um, marked_um, wanted)
    if holder.grip_min_um is None:
        return _by_table(grip_um, holder, cutter, rules, marked=marked_um is not None)
    return _plenty(grip_um, marked_um)


def _by_table(
    grip_um: int,
    holder: HolderPart,
    cutter: CutterPart,
    rules: Sequence[GripRule],
    *,
    marked: bool,
) -> Finding:
    """Advice where the holder carries no mark of its own."""
    advised = _advised(holder, cutter, rules)
    if advised is not None and grip_um < advised[0]:
        wanted = f"Advised {at_least(advised[0])} mm ({advised[1]})."
        return _short_of("grip.below_advice", Level.CHECK, grip_um, advised[0], wanted)
    if advised is None and not marked and holder.clamping == "tap":
        return _driven_by_square()
    if advised is None and not marked:
        text = "Least grip for this bore not known."
        remedy = "Read it on the holder or in its papers, and record it."
        return _unknown("grip.need_not_known", text, _MARKS, remedy)
    return _plenty(grip_um, advised[0] if advised else cutter.marked_grip_um)


def _advised(
    holder: HolderPart, cutter: CutterPart, rules: Sequence[GripRule]
) -> tuple[int, str] | None:
    shank_um = working_shank_um(cutter)
    if holder.clamping == "drill_chuck" and shank_um is not None:
        return 2 * shank_um, _TWO_DIAMETERS
    sizes_um = {um for um in (shank_um, holder.bore_um) if um is not None}
    name = _TABLE_NAMES.get(holder.clamping, "")
    rows = [table_grip(rules, applies_to=name, shank_um=um) for um in sizes_um]
    return max(((row.min_grip_um, row.applies_to) for row in rows if row), default=None)


def _driven_by_square() -> Finding:
    text = "No least grip is marked: the square drives the tap."
    return Finding("grip.square_drives", Level.NOTE, text, source="common practice")


def _short_of(code: str, level: Level, grip_um: int, least_um: int, wanted: str) -> Finding:
    return Finding(
        code,
        level,
        f"Grip {show_mm(grip_um, 1)} mm. {wanted}",
        measured=in_mm(grip_um),
        limit=in_mm(least_um),
        unit="mm",
        remedy=f"Push the shank in at least {at_least(least_um - grip_um)} mm further.",
        source=_MARKS if level == Level.STOP_SOFT else _TABLE,
    )


def _plenty(grip_um: int, least_um: int | None) -> Finding:
    return Finding(
        "grip.enough",
        Level.PASS,
        f"Grip {show_mm(grip_um, 1)} mm.",
        measured=in_mm(grip_um),
        limit=in_mm(least_um),
        unit="mm",
        source=_MARKS,
    )


def _depth_findings(grip_um: int, holder: HolderPart, sleeve: SleevePart | None) -> list[Finding]:
    """No more shank can be held than the bore is deep, or the sleeve is long."""
    found = []
    if holder.bore_depth_um is not None and grip_um > holder.bore_depth_um:
        text = "Grip {grip} mm is more than the bore is deep, {most} mm."
        found.append(_too_deep("grip.deeper_than_bore", text, grip_um, holder.bore_depth_um))
    if sleeve is None:
        return found
    if sleeve.length_um is None:
        text = "Length of the sleeve not recorded."
        return [*found, _unknown("grip.sleeve_not_known", text, _GEOMETRY)]
    if grip_um > sleeve.length_um:
        text = "Grip {grip} mm is more than the sleeve is long, {most} mm."
        found.append(_too_deep("grip.longer_than_sleeve", text, grip_um, sleeve.length_um))
    return found


def _too_deep(code: str, text: str, grip_um: int, most_um: int) -> Finding:
    return Finding(
        code,
        Level.STOP_HARD,
        text.format(grip=show_mm(grip_um, 1), most=show_mm(most_um, 1)),
        measured=in_mm(grip_um),
        limit=in_mm(most_um),
        unit="mm",
        remedy="Measure the grip again: only shank inside the seat counts.",
        source=_GEOMETRY,
    )
