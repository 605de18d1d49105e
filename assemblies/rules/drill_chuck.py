"""Does a drill chuck take this shank, and is this a cutter for a drill chuck."""

from __future__ import annotations

from assemblies.rules.shank import working_shank_um
from assemblies.rules.stack import CutterPart, HolderPart
from assemblies.rules.wording import in_mm
from crib.rules.cutter_kinds import kind_name
from crib.rules.finding import Finding, Level
from crib.rules.units import show_mm

_RANGE = "range marked on the chuck"
_PRACTICE = "common practice: three jaws take thrust, no side load and no reversing"

#: What is fed along its own axis only.
DRILLING_KINDS = frozenset({"drill", "countersink", "reamer", "boring_bit"})


def drill_chuck_findings(holder: HolderPart, cutter: CutterPart) -> list[Finding]:
    """Whether the shank lies in the chuck's range, and whether the cutter drills.

    Source: range as marked; drilling only, common practice.

    >>> chuck = HolderPart(clamping="drill_chuck", bore_min_um=1_000, bore_um=13_000)
    >>> [f.code for f in drill_chuck_findings(chuck, CutterPart(kind="end_mill", shank_um=6_000))]
    ['chuck.side_load', 'chuck.shank_fits']
    """
    return [_kind_finding(cutter.kind), _range_finding(holder, working_shank_um(cutter))]


def _kind_finding(kind: str | None) -> Finding:
    if kind is None:
        text = "Kind of the cutter not recorded. A drill chuck takes drills."
        remedy = "Record what kind of cutter it is."
        return Finding("chuck.kind_not_known", Level.UNKNOWN, text, remedy=remedy, source=_PRACTICE)
    name = kind_name(kind)
    if kind in DRILLING_KINDS:
        text = f"{name.capitalize()} in a drill chuck."
        return Finding("chuck.kind_suits", Level.PASS, text, source=_PRACTICE)
    if kind == "tap":
        text = "Machine tap in a drill chuck. Reversing loosens the jaws."
        remedy = "Take a tap holder, or a tapping collet."
        return Finding("chuck.tap", Level.STOP_SOFT, text, remedy=remedy, source=_PRACTICE)
    return Finding(
        "chuck.side_load",
        Level.STOP_HARD,
        f"{name.capitalize()} in a drill chuck. It bears no side load.",
        remedy="Take a collet chuck or a fixed bore.",
        source=_PRACTICE,
    )


def _range_finding(holder: HolderPart, shank_um: int | None) -> Finding:
    most_um, least_um = holder.bore_um, holder.bore_min_um
    if shank_um is None:
        return _unknown("chuck.range_not_known", "Shank of the cutter not recorded.")
    if most_um is not None and shank_um > most_um:
        return _outside("chuck.shank_too_large", shank_um, most_um, "larger", "largest")
    if least_um is not None and shank_um < least_um:
        return _outside("chuck.shank_too_small", shank_um, least_um, "smaller", "smallest")
    if most_um is None or least_um is None:
        text = "Largest or smallest shank of the chuck not recorded."
        return _unknown("chuck.range_not_known", text)
    return Finding(
        "chuck.shank_fits",
        Level.PASS,
        f"Shank {show_mm(shank_um)} fits the chuck, {show_mm(least_um)} to {show_mm(most_um)}.",
        measured=in_mm(shank_um),
        limit=in_mm(most_um),
        unit="mm",
        source=_RANGE,
    )


def _unknown(code: str, text: str) -> Finding:
    remedy = "Read the range on the chuck, measure the shank, and record them."
    return Finding(code, Level.UNKNOWN, text, remedy=remedy, source=_RANGE)


def _outside(code: str, shank_um: int, edge_um: int, comparative: str, edge: str) -> Finding:
    gap = show_mm(abs(shank_um - edge_um))
    bigger = "bigger" if shank_um > edge_um else "smaller"
    return Finding(
        code,
        Level.STOP_HARD,
        f"Shank {show_mm(shank_um)} is {comparative} than the chuck's {edge}, {show_mm(edge_um)}.",
        measured=in_mm(shank_um),
        limit=in_mm(edge_um),
        unit="mm",
        remedy=f"{gap} {bigger}. Take another chuck.",
        source=_RANGE,
    )
