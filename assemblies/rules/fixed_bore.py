"""Does a bore of one size, or an arbor's spigot, take this cutter: its size and its shank form."""

from __future__ import annotations

from assemblies.rules.shank import working_shank_um
from assemblies.rules.stack import CutterPart, HolderPart
from assemblies.rules.wording import in_mm
from crib.rules.finding import Finding, Level
from crib.rules.standards import same_code
from crib.rules.units import show_mm

_PRACTICE = "common practice"
_FORMS = "DIN 6535:1992"

#: Shank forms of DIN 6535 that a fixed bore holds, and how much another form weighs.
_FORM_TAKEN = {
    "side_lock": ("HB", Level.STOP_HARD),
    "hydraulic": ("HA", Level.CHECK),
    "shrink": ("HA", Level.CHECK),
}

#: Seats that hold a flattened shank all the same, on less of its surface.
_FLAT_NOTED = frozenset({"collet", "milling_chuck", "drill_chuck"})


def bore_finding(holder: HolderPart, cutter: CutterPart) -> Finding:
    """Whether a fixed bore, or an arbor's spigot, has exactly the cutter's size.

    Source: common practice: such a seat takes one size; h6 by ISO 286-1:2010.

    >>> arbor = HolderPart(clamping="arbor", bore_um=22_000)
    >>> bore_finding(arbor, CutterPart(bore_um=27_000)).code
    'bore.differs'
    """
    part = "Cutter bore" if holder.is_an_arbor else "Shank"
    seat = "arbor" if holder.is_an_arbor else "bore"
    size_um = cutter.bore_um if holder.is_an_arbor else working_shank_um(cutter)
    if size_um is None or holder.bore_um is None:
        whose = part if size_um is None else f"Size of the holder's {seat}"
        return _unknown(
            "bore.not_known", f"{whose} not recorded.", "Measure it and record it.", _PRACTICE
        )
    same = size_um == holder.bore_um
    larger = "larger" if size_um > holder.bore_um else "smaller"
    gap = show_mm(abs(size_um - holder.bore_um))
    return Finding(
        "bore.same" if same else "bore.differs",
        Level.PASS if same else Level.STOP_HARD,
        f"{part} {show_mm(size_um)} on {show_mm(holder.bore_um)} {seat}"
        + ("." if same else f", {gap} {larger}."),
        measured=in_mm(size_um),
        limit=in_mm(holder.bore_um),
        unit="mm",
        remedy="" if same else _other_seat(holder, size_um),
        source=_PRACTICE,
    )


def _other_seat(holder: HolderPart, size_um: int) -> str:
    if holder.takes_a_sleeve and size_um < holder.bore_um:
        sizes = f"{show_mm(holder.bore_um)} to {show_mm(size_um)}"
        return f"Take another holder, or a reduction sleeve {sizes}."
    return "This seat takes one size only."


def shank_form_findings(holder: HolderPart, cutter: CutterPart) -> list[Finding]:
    """Whether the form of the shank is one that this fixed bore holds.

    Source: DIN 6535:1992, forms HA (plain), HB (flat), HE (sloping flat).

    >>> shank_form_findings(HolderPart(clamping="side_lock"), CutterPart(shank_form="HA"))[0].code
    'shank.form_differs'
    """
    if holder.clamping in _FLAT_NOTED:
        return _flat_noted(cutter.shank_form)
    if holder.clamping not in _FORM_TAKEN:
        return []
    wanted, level = _FORM_TAKEN[holder.clamping]
    if cutter.shank_form is None:
        text, remedy = "Form of the shank not recorded.", "Look for a flat and record it."
        return [_unknown("shank.form_not_known", text, remedy, _FORMS)]
    if same_code(cutter.shank_form, wanted):
        text = f"Shank form {wanted} suits this bore."
        return [Finding("shank.form_same", Level.PASS, text, source=_FORMS)]
    return [
        Finding(
            "shank.form_differs",
            level,
            f"Shank form {cutter.shank_form}. This bore holds {wanted}.",
            remedy="Take a cutter with the right shank, or another holder.",
            source=_FORMS,
        )
    ]


def _flat_noted(form: str | None) -> list[Finding]:
    if form not in ("HB", "HE"):
        return []
    text = f"Shank form {form}: the flat takes some grip and some balance."
    remedy = "Turn the flat away from a slot of the seat; keep it wholly inside."
    return [Finding("shank.flat_in_seat", Level.NOTE, text, remedy=remedy, source=_FORMS)]


def _unknown(code: str, text: str, remedy: str, source: str) -> Finding:
    return Finding(code, Level.UNKNOWN, text, remedy=remedy, source=source)
