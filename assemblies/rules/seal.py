"""Does the sealing disk of a coolant nut suit the shank."""

from __future__ import annotations

from assemblies.rules.shank import working_shank_um
from assemblies.rules.stack import CutterPart, NutPart
from assemblies.rules.wording import in_mm, shown_range
from crib.rules.finding import Finding, Level
from crib.rules.units import show_mm

_SEAL = "range marked on the sealing disk"


def seal_holds(nut: NutPart | None, cutter: CutterPart) -> bool | None:
    """Whether a nut seals on this shank; None where its seal or the shank is not known.

    Source: range marked on the sealing disk.

    >>> seal_holds(NutPart(sealed=True, seal_max_um=10_000, seal_min_um=9_500), CutterPart())
    >>> seal_holds(NutPart(sealed=False), CutterPart())
    False
    """
    if nut is None or nut.sealed is None:
        return None
    if not nut.sealed:
        return False
    shank_um, most_um, least_um = working_shank_um(cutter), nut.seal_max_um, nut.seal_min_um
    if shank_um is None:
        return None
    # An end that is known refuses, whatever the other one is.
    if (most_um is not None and shank_um > most_um) or (
        least_um is not None and shank_um < least_um
    ):
        return False
    return None if most_um is None or least_um is None else True


def seal_findings(nut: NutPart | None, cutter: CutterPart) -> list[Finding]:
    """Whether the shank passes the sealing disk of a coolant nut, and closes it.

    Source: range marked on the sealing disk.

    >>> nut = NutPart(sealed=True, seal_max_um=10_000, seal_min_um=9_500)
    >>> seal_findings(nut, CutterPart(shank_um=12_000))[0].text
    'Shank 12.00. The sealing disk takes 10–9.5, 2.00 less.'
    """
    if nut is None or not nut.sealed:
        return []
    shank_um, most_um, least_um = working_shank_um(cutter), nut.seal_max_um, nut.seal_min_um
    outside = seal_holds(nut, cutter) is False
    if not outside and None in (shank_um, most_um, least_um):
        whose = "Shank of the cutter" if shank_um is None else "Range of the sealing disk"
        remedy = "Read it on the disk, measure the shank, and record it."
        text = f"{whose} not recorded. The nut seals."
        return [Finding("seal.range_not_known", Level.UNKNOWN, text, remedy=remedy, source=_SEAL)]
    return [_seal_finding(shank_um, most_um, least_um)]


def _seal_finding(shank_um: int, most_um: int | None, least_um: int | None) -> Finding:
    code, level, by, remedy = "seal.shank_fits", Level.PASS, "", ""
    over = most_um is not None and shank_um > most_um
    under = least_um is not None and shank_um < least_um
    if over:
        code, level, by = "seal.shank_too_large", Level.STOP_HARD, shank_um - most_um
        remedy = "The shank does not pass. Fit the disk of this shank."
    elif under:
        code, level, by = "seal.shank_too_small", Level.CHECK, least_um - shank_um
        remedy = "It leaks. Fit the disk of this shank."
    gap = f", {show_mm(by)} {'less' if over else 'more'}" if by else ""
    return Finding(
        code,
        level,
        f"Shank {show_mm(shank_um)}. The sealing disk takes {shown_range(most_um, least_um)}{gap}.",
        measured=in_mm(shank_um),
        limit=in_mm(least_um if under else most_um),
        unit="mm",
        remedy=remedy,
        source=_SEAL,
    )
