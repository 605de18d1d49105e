"""What taps need of their seat: a square that drives them, or a spindle that keeps step."""

from __future__ import annotations

from assemblies.rules.stack import ColletPart, CutterPart, HolderPart
from assemblies.rules.wording import in_mm
from crib.rules.cutter_kinds import kind_name
from crib.rules.finding import Finding, Level
from crib.rules.units import show_mm

_PRACTICE = "common practice: a tap is driven by its square, or tapping is rigid"
_SQUARES = "squares by shank: DIN 10; ISO 237, from memory; one holder takes one size"

#: Seats that hold a tap by friction alone.
_PLAIN_SEATS = frozenset({"side_lock", "hydraulic", "shrink", "milling_chuck"})


def tapping_findings(
    holder: HolderPart, collet: ColletPart | None, cutter: CutterPart
) -> list[Finding]:
    """Whether a tap is driven, and whether a seat made for taps holds one.

    Source: squares by shank, DIN 10 and ISO 237; the rest is common practice.

    >>> tap, holder = CutterPart(kind="tap", square_um=6_200), HolderPart(clamping="collet")
    >>> [f.code for f in tapping_findings(holder, ColletPart(square_um=8_000), tap)]
    ['tap.square_differs', 'tap.pitch_not_known']
    """
    seat_um = collet.square_um if collet and holder.clamping == "collet" else None
    if holder.clamping == "tap":
        found = [_kind_finding(cutter.kind), square_finding(holder.square_um, cutter.square_um)]
    elif seat_um is not None:
        found = [_in_tapping_collet(cutter, seat_um)]
    else:
        found = _rigid_only(holder, collet, cutter)
    return found + _pitch(cutter)


def _kind_finding(kind: str | None) -> Finding:
    if kind is None:
        text = "Kind of the cutter not recorded. A tap holder takes taps."
        remedy = "Record what kind of cutter it is."
        return Finding("tap.kind_not_known", Level.UNKNOWN, text, remedy=remedy, source=_PRACTICE)
    if kind == "tap":
        return Finding("tap.kind_suits", Level.PASS, "Tap in a tap holder.", source=_PRACTICE)
    return Finding(
        "tap.other_cutter",
        Level.STOP_HARD,
        f"{kind_name(kind).capitalize()} in a tap holder. It takes taps only.",
        remedy="Take a collet chuck or a fixed bore.",
        source=_PRACTICE,
    )


def _in_tapping_collet(cutter: CutterPart, seat_um: int) -> Finding:
    if cutter.kind is None or cutter.kind == "tap":
        return square_finding(seat_um, cutter.square_um)
    return Finding(
        "tap.collet_for_taps",
        Level.CHECK,
        f"{kind_name(cutter.kind).capitalize()} in a collet with a square for taps.",
        remedy="Take a plain collet: the square shortens what is gripped.",
        source=_PRACTICE,
    )


def square_finding(seat_um: int | None, square_um: int | None) -> Finding:
    """Whether the square of a tap [um] is exactly that of its seat [um], across flats.

    Source: squares by shank, DIN 10 and ISO 237: 6.2 and 6.3 mm are two sizes.

    >>> square_finding(6_200, 6_300).text
    'Square 6.30 in a seat for 6.20, 0.10 bigger.'
    """
    if seat_um is None or square_um is None:
        whose = "tap" if square_um is None else "holder or collet"
        return Finding(
            "tap.square_not_known",
            Level.UNKNOWN,
            f"Square of the {whose} not recorded.",
            remedy="Measure it across the flats and record it.",
            source=_SQUARES,
        )
    gap_um = square_um - seat_um
    by = f", {show_mm(abs(gap_um))} {'bigger' if gap_um > 0 else 'smaller'}" if gap_um else ""
    return Finding(
        "tap.square_differs" if gap_um else "tap.square_same",
        Level.STOP_HARD if gap_um else Level.PASS,
        f"Square {show_mm(square_um)} in a seat for {show_mm(seat_um)}{by}.",
        measured=in_mm(square_um),
        limit=in_mm(seat_um),
        unit="mm",
        remedy="Take the seat with the square of this tap." if gap_um else "",
        source=_SQUARES,
    )


def _rigid_only(holder: HolderPart, collet: ColletPart | None, cutter: CutterPart) -> list[Finding]:
    plain = holder.clamping in _PLAIN_SEATS or (holder.clamping == "collet" and collet is not None)
    if cutter.kind != "tap" or not plain:
        return []
    text = "Tap without a driven square: rigid tapping only."
    remedy = "On a spindle that does not keep step with the feed, take a tap holder."
    return [Finding("tap.rigid_only", Level.NOTE, text, remedy=remedy, source=_PRACTICE)]


def _pitch(cutter: CutterPart) -> list[Finding]:
    if cutter.kind != "tap" or cutter.pitch_um is not None:
        return []
    text = "Pitch of the tap not recorded. The feed cannot be compared."
    remedy = "Read it on the tap and record it with the item."
    return [Finding("tap.pitch_not_known", Level.NOTE, text, remedy=remedy, source=_PRACTICE)]
