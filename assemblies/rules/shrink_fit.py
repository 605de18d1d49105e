"""Does a shank hold in a shrink-fit bore: its tolerance and its material."""

from __future__ import annotations

from assemblies.rules.stack import CutterPart
from assemblies.rules.wording import in_mm
from crib.rules.finding import Finding, Level
from crib.rules.standards import h6_lower_um
from crib.rules.units import show_mm

_TOLERANCE = "h6 of ISO 286-1:2010; shrinking needs interference, common practice"
#: What says that only the cutting end is of carbide.
_NOT_THE_SHANK = ("tip", "insert", "head", "braz", "steel")
_MATERIAL = "common practice: steel grows with the bore when it is heated"


def shrink_findings(cutter: CutterPart) -> list[Finding]:
    """Whether the shank is thick enough to be held, and of a material that comes out again.

    Source: h6 of ISO 286-1:2010; carbide shanks for shrinking, common practice.

    >>> cutter = CutterPart(shank_um=12_000, shank_measured_um=11_988, material="solid carbide")
    >>> [f.code for f in shrink_findings(cutter)]
    ['shrink.too_thin', 'shrink.material_suits']
    """
    return [*_interference(cutter), _material_finding(cutter.material)]


def _interference(cutter: CutterPart) -> list[Finding]:
    nominal_um, measured_um = cutter.shank_um, cutter.shank_measured_um
    if nominal_um is None:
        return []
    if measured_um is None:
        text = "Shank not measured. Shrinking needs h6."
        remedy = "Read the tolerance on the cutter, or measure the shank."
        return [Finding("shrink.not_measured", Level.NOTE, text, remedy=remedy, source=_TOLERANCE)]
    lower_um = h6_lower_um(nominal_um)
    least_um = nominal_um if lower_um is None else nominal_um + lower_um
    if measured_um > nominal_um:
        return []  # the bore says so already
    thin = measured_um < least_um
    return [
        Finding(
            "shrink.too_thin" if thin else "shrink.interference",
            Level.STOP_HARD if thin else Level.PASS,
            f"Shank measures {show_mm(measured_um, 3)}. h6 ends at {show_mm(least_um, 3)}.",
            measured=in_mm(measured_um),
            limit=in_mm(least_um),
            unit="mm",
            remedy="Too thin to be held by shrinking. Take another cutter." if thin else "",
            source=_TOLERANCE,
        )
    ]


def _material_finding(material: str | None) -> Finding:
    if not (material or "").strip():
        return Finding(
            "shrink.material_not_known",
            Level.UNKNOWN,
            "Material of the cutter not recorded. Shrinking wants carbide.",
            remedy="Record the material with the cutter's item.",
            source=_MATERIAL,
        )
    if is_carbide_shank(material):
        text = "Carbide shank, as shrinking wants."
        return Finding("shrink.material_suits", Level.PASS, text, source=_MATERIAL)
    return Finding(
        "shrink.material_differs",
        Level.CHECK,
        f"Shank of {material.strip()[:30]}. Shrinking wants carbide.",
        remedy="Only in a holder and heater made for steel shanks, else it stays in.",
        source=_MATERIAL,
    )


def is_carbide_shank(material: str) -> bool:
    """Whether a cutter's material, in words, says that its shank is of carbide.

    Tips and inserts of carbide sit on steel; so does anything else the words do not settle.

    Source: trade terms.

    >>> is_carbide_shank("Solid carbide"), is_carbide_shank("carbide-tipped")
    (True, False)
    >>> is_carbide_shank("solid carbide head, steel shank")
    False
    """
    words = material.casefold().strip()
    settled = words in ("carbide", "cemented carbide") or "solid carbide" in words
    return settled and not any(word in words for word in _NOT_THE_SHANK)
