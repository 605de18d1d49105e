"""Does a reduction sleeve belong in this chuck, and this shank in the sleeve."""

from __future__ import annotations

from assemblies.rules.shank import working_shank_um
from assemblies.rules.stack import CutterPart, HolderPart, SleevePart
from assemblies.rules.wording import in_mm
from crib.rules.finding import Finding, Level
from crib.rules.standards import CLAMPING_KINDS
from crib.rules.units import show_mm

_PRACTICE = "common practice: a sleeve is made for one way of clamping, one bore and one shank"


def sleeve_findings(
    holder: HolderPart, sleeve: SleevePart | None, cutter: CutterPart
) -> list[Finding]:
    """Whether the sleeve is made for this chuck, fits its bore, and has the shank's size.

    Source: common practice; the shank counts as nominal within h6/h7, ISO 286-1:2010.

    >>> chuck = HolderPart(clamping="hydraulic", bore_um=20_000)
    >>> sleeve = SleevePart(suits="hydraulic", outer_um=20_000, bore_um=12_000)
    >>> [f.code for f in sleeve_findings(chuck, sleeve, CutterPart(shank_um=10_000))]
    ['sleeve.kind_same', 'sleeve.outer_same', 'sleeve.bore_differs']
    """
    if sleeve is None:
        return []
    inside = _bore_finding(sleeve, working_shank_um(cutter))
    if holder.clamping not in CLAMPING_KINDS:
        return [inside]
    if not holder.takes_a_sleeve:
        return [_no_seat()]
    return [_kind_finding(holder.clamping, sleeve.suits), _outer_finding(holder, sleeve), inside]


def _no_seat() -> Finding:
    return Finding(
        "sleeve.no_seat",
        Level.STOP_HARD,
        "This holder takes no reduction sleeve, but one is recorded.",
        remedy="One of the two is not what is in your hand.",
        source=_PRACTICE,
    )


def _kind_finding(clamping: str, suits: str | None) -> Finding:
    if suits not in CLAMPING_KINDS:
        text = "Not recorded which way of clamping this sleeve is made for."
        return _unknown("sleeve.kind_not_known", text)
    if suits == clamping:
        text = f"Sleeve made for a {CLAMPING_KINDS[suits]}."
        return Finding("sleeve.kind_same", Level.PASS, text, source=_PRACTICE)
    return Finding(
        "sleeve.kind_differs",
        Level.STOP_HARD,
        f"Sleeve for a {CLAMPING_KINDS[suits]}. Holder: {CLAMPING_KINDS[clamping]}.",
        remedy="Take a sleeve made for this holder. The slots and seals differ.",
        source=_PRACTICE,
    )


def _outer_finding(holder: HolderPart, sleeve: SleevePart) -> Finding:
    if sleeve.outer_um is None or holder.bore_um is None:
        whose = "Outside of the sleeve" if sleeve.outer_um is None else "Bore of the holder"
        return _unknown("sleeve.outer_not_known", f"{whose} not recorded.")
    gap_um = sleeve.outer_um - holder.bore_um
    by = f", {show_mm(abs(gap_um))} {'bigger' if gap_um > 0 else 'smaller'}" if gap_um else ""
    return Finding(
        "sleeve.outer_differs" if gap_um else "sleeve.outer_same",
        Level.STOP_HARD if gap_um else Level.PASS,
        f"Sleeve Ø {show_mm(sleeve.outer_um)} in {show_mm(holder.bore_um)} bore{by}.",
        measured=in_mm(sleeve.outer_um),
        limit=in_mm(holder.bore_um),
        unit="mm",
        remedy=f"Take a sleeve of Ø {show_mm(holder.bore_um)} outside." if gap_um else "",
        source=_PRACTICE,
    )


def _bore_finding(sleeve: SleevePart, shank_um: int | None) -> Finding:
    if sleeve.bore_um is None or shank_um is None:
        whose = "Shank" if shank_um is None else "Bore of the sleeve"
        return _unknown("sleeve.bore_not_known", f"{whose} not recorded.")
    gap_um = shank_um - sleeve.bore_um
    by = f", {show_mm(abs(gap_um))} {'bigger' if gap_um > 0 else 'smaller'}" if gap_um else ""
    return Finding(
        "sleeve.bore_differs" if gap_um else "sleeve.bore_same",
        Level.STOP_HARD if gap_um else Level.PASS,
        f"Shank {show_mm(shank_um)} in {show_mm(sleeve.bore_um)} sleeve{by}.",
        measured=in_mm(shank_um),
        limit=in_mm(sleeve.bore_um),
        unit="mm",
        remedy="A sleeve takes one size only." if gap_um else "",
        source=_PRACTICE,
    )


def _unknown(code: str, text: str) -> Finding:
    remedy = "Measure it, or read it off, and record it."
    return Finding(code, Level.UNKNOWN, text, remedy=remedy, source=_PRACTICE)
