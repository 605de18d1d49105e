"""Is the measured cutting diameter that of the cutter on record?"""

from __future__ import annotations

from assemblies.rules.stack import BuildFigures, CutterPart, ShopLimits
from assemblies.rules.wording import in_mm
from crib.rules.finding import Finding, Level
from crib.rules.standards import shanks_taken_for_um
from crib.rules.units import show_mm

_SETTING = "shop setting; sharpening takes some tenths of a millimetre, common practice"


def diameter_finding(figures: BuildFigures, cutter: CutterPart, limits: ShopLimits) -> Finding:
    """Whether the measured diameter can be that of this cutter: a little under, hardly over.

    Far from it, or at the very size of its inch or metric neighbour, somebody mistyped, or
    another cutter than the recorded one is in the holder.

    Source: shop setting; a sharpened cutter is some tenths under its nominal, never over.

    >>> figures, cutter = BuildFigures(diameter_um=12_000), CutterPart(diameter_um=12_700)
    >>> diameter_finding(figures, cutter, ShopLimits()).code
    'diameter.off_nominal'
    """
    measured_um, nominal_um = figures.diameter_um, cutter.diameter_um
    if measured_um is None:
        return _unknown("Cutting diameter not measured.", "Measure it and record it.")
    if nominal_um is None:
        return _unknown("Cutting diameter of the item not recorded.", "Record it with the item.")
    off_um = measured_um - nominal_um
    near = -limits.diameter_under_um <= off_um <= limits.diameter_over_um
    agrees = near and not _is_the_other_size(measured_um, nominal_um)
    way = "over" if off_um > 0 else "under"
    by = f"{show_mm(abs(off_um))} {way}" if off_um else "as"
    return Finding(
        "diameter.agrees" if agrees else "diameter.off_nominal",
        Level.PASS if agrees else Level.CHECK,
        f"Ø {show_mm(measured_um)} measured, {by} the cutter's {show_mm(nominal_um)}.",
        measured=in_mm(measured_um),
        limit=in_mm(nominal_um),
        unit="mm",
        remedy="" if agrees else "Measure again. Is this the cutter that is recorded?",
        source=_SETTING,
    )


#: Closer than this to the other size, a measured cutter is that one [um].
_SAME_SIZE_UM = 30


def _is_the_other_size(measured_um: int, nominal_um: int) -> bool:
    """Whether it measures as the inch or metric size that this one is easily taken for."""
    others_um = shanks_taken_for_um(nominal_um)
    return any(abs(measured_um - other_um) <= _SAME_SIZE_UM for other_um in others_um)


def _unknown(text: str, remedy: str) -> Finding:
    return Finding("diameter.not_known", Level.UNKNOWN, text, remedy=remedy, source=_SETTING)
