"""How far a cutter stands out for its thickness: said, never judged."""

from __future__ import annotations

from assemblies.rules.drill_chuck import DRILLING_KINDS
from assemblies.rules.shrink_fit import is_carbide_shank
from assemblies.rules.stack import BuildFigures, CutterPart
from crib.rules.finding import Finding, Level

_PRACTICE = "common practice: 4 × diameter; 6 × for carbide, from memory"

#: Cutters that the hole guides, or whose length is their trade.
_NOT_ASKED = DRILLING_KINDS | {"tap", "probe"}
_TIMES = 4
_TIMES_CARBIDE = 6


def slenderness_findings(figures: BuildFigures, cutter: CutterPart) -> list[Finding]:
    """Stick-out in diameters where it is long; none for drills and taps.

    The thinner of cutting diameter and shank bends, so that is the one that counts.

    Source: caution above 4 diameters, common practice; 6 for carbide, from memory.

    >>> figures = BuildFigures(stickout_um=50_000)
    >>> slenderness_findings(figures, CutterPart(kind="end_mill", diameter_um=10_000))[0].text
    'Stick-out 5.0 × Ø 10.00. Above 4 it bends and chatters sooner.'
    """
    sizes_um = [um for um in (cutter.diameter_um, cutter.shank_um) if um]
    mounted = cutter.bore_um is not None or cutter.kind is None or cutter.kind in _NOT_ASKED
    if mounted or figures.stickout_um is None or not sizes_um:
        return []
    thin_um = min(sizes_um)
    times = _TIMES_CARBIDE if is_carbide_shank(cutter.material or "") else _TIMES
    if figures.stickout_um <= times * thin_um:
        return []
    ratio = figures.stickout_um / thin_um
    # Up to the next tenth, so that it never prints as the limit itself.
    shown = -(-10 * figures.stickout_um // thin_um) / 10
    return [
        Finding(
            "stickout.long",
            Level.NOTE,
            f"Stick-out {shown:.1f} × Ø {thin_um / 1000:.2f}."
            f" Above {times} it bends and chatters sooner.",
            measured=round(ratio, 2),
            limit=times,
            unit="×",
            remedy="Shorten it where the work allows. A tenth shorter bends a quarter less.",
            source=_PRACTICE,
        )
    ]
