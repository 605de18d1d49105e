"""The shank a rule has to work with, and what it is easily taken for."""

from __future__ import annotations

from assemblies.rules.stack import CutterPart
from assemblies.rules.wording import in_mm
from crib.rules.finding import Finding, Level
from crib.rules.standards import is_within_h7, shanks_taken_for_um
from crib.rules.units import show_length, show_mm

_ISO_286 = "ISO 286-1:2010, h6 and h7"


def working_shank_um(cutter: CutterPart) -> int | None:
    """The shank diameter [um] to compare: nominal while the measured one is within h6/h7 of it.

    Source: ISO 286-1:2010.

    >>> working_shank_um(CutterPart(shank_um=12_000, shank_measured_um=11_993))
    12000
    >>> working_shank_um(CutterPart(shank_um=12_000, shank_measured_um=11_900))
    11900
    """
    if cutter.shank_um is None:
        return cutter.shank_measured_um
    measured_um = cutter.shank_measured_um
    if measured_um is None or is_within_h7(measured_um, cutter.shank_um):
        return cutter.shank_um
    return measured_um


def shank_findings(cutter: CutterPart) -> list[Finding]:
    """Says that the measured shank is used when it lies outside h6/h7 of its nominal size.

    Source: ISO 286-1:2010.

    >>> shank_findings(CutterPart(shank_um=12_000, shank_measured_um=11_990))
    []
    """
    used_um = working_shank_um(cutter)
    if cutter.shank_um is None or used_um == cutter.shank_um:
        return []
    change_um = used_um - cutter.shank_um
    size = "bigger" if change_um > 0 else "smaller"
    return [
        Finding(
            "shank.measured_used",
            Level.NOTE,
            f"Shank measures {show_mm(used_um)}, {show_mm(abs(change_um))} {size} than nominal.",
            measured=in_mm(used_um),
            limit=in_mm(cutter.shank_um),
            unit="mm",
            remedy="The measured size is compared. Measure again or set the cutter aside.",
            source=_ISO_286,
        )
    ]


def look_alike_findings(cutter: CutterPart) -> list[Finding]:
    """Names the inch or metric shank that this one is easily taken for.

    Source: common practice: 6.35/6, 12.7/12, 3.175/3 and 9.525/10 mm lie side by side.

    >>> look_alike_findings(CutterPart(shank_um=7_000))
    []
    """
    partners = shanks_taken_for_um(cutter.shank_um) if cutter.shank_um else ()
    if not partners:
        return []
    others = " or ".join(show_mm(partner) for partner in partners)
    return [
        Finding(
            "shank.look_alike",
            Level.NOTE,
            f"Shank {show_length(cutter.shank_um, cutter.bought_in_inches)}."
            f" Easily taken for {others}.",
            remedy="Measure the shank before it goes in.",
            source="common practice",
        )
    ]
