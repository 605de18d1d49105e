"""What each way of clamping needs to have recorded, and what does not belong to it."""

from __future__ import annotations

from crib.rules.finding import Finding, Level
from crib.rules.item_entries import GEOMETRY, PRACTICE, HolderEntry, not_positive
from crib.rules.standards import (
    CLAMPING_KINDS,
    FIXED_BORES,
    SCREWED,
    ReferenceTables,
    keys_of,
    squares_of,
)
from crib.rules.units import mm_from_um, show_mm

_KEYS = "DIN 138, ISO 240 and DIN 6357, from memory"
_SQUARES = "DIN 10; ISO 237, from memory"

#: What rules ask of each way of clamping: field -> words.
_NEEDED: dict[str, dict[str, str]] = {
    **{clamping: {"bore_um": "bore"} for clamping in FIXED_BORES},
    "arbor": {"bore_um": "spigot diameter", "key_um": "width of the keys"},
    "drill_chuck": {"bore_um": "largest shank", "bore_min_um": "smallest shank"},
    "tap": {"bore_um": "shank", "square_um": "square"},
}
#: Facts that belong to some ways of clamping only: field -> (words, where it belongs).
_BELONGS: dict[str, tuple[str, frozenset[str]]] = {
    "bore_min_um": ("Smallest shank", frozenset({"drill_chuck"})),
    "square_um": ("Square", frozenset({"tap"})),
    "spigot_um": ("Length of spigot", frozenset({"arbor"})),
    "key_um": ("Width of keys", frozenset({"arbor"})),
    "screw_torque_mnm": ("Screw torque", SCREWED),
}


def seat_findings(entry: HolderEntry, tables: ReferenceTables) -> list[Finding]:
    """What is missing, out of place or impossible about the seat of a holder.

    Source: common practice; keys by DIN 138 and ISO 240, squares by DIN 10 and ISO 237.

    >>> entry = HolderEntry(clamping="drill_chuck", bore_um=13_000, bore_min_um=16_000)
    >>> [f.code for f in seat_findings(entry, ReferenceTables())]
    ['holder.range_reversed']
    """
    findings = not_positive("holder", _sizes(entry)) + _missing(entry) + _out_of_place(entry)
    findings += _range_order(entry) + _grip_and_depth(entry)
    if entry.clamping == "arbor":
        findings += _keys(entry, tables)
    if entry.clamping == "tap":
        findings += _square(entry, tables)
    return findings


def _sizes(entry: HolderEntry) -> dict[str, int | None]:
    return {
        "bore": entry.bore_um,
        "smallest shank": entry.bore_min_um,
        "depth of the bore": entry.bore_depth_um,
        "least grip": entry.grip_min_um,
        "square": entry.square_um,
        "length of spigot": entry.spigot_um,
        "width of keys": entry.key_um,
        "screw torque": entry.screw_torque_mnm,
    }


def _missing(entry: HolderEntry) -> list[Finding]:
    needed = _NEEDED.get(entry.clamping, {})
    missing = [words for field, words in needed.items() if getattr(entry, field) is None]
    if not missing:
        return []
    return [
        Finding(
            "holder.bore_not_known",
            Level.UNKNOWN,
            f"Missing for a {CLAMPING_KINDS[entry.clamping]}: {', '.join(missing)}.",
            remedy="Measure it, or read it off the holder.",
            source=PRACTICE,
        )
    ]


def _out_of_place(entry: HolderEntry) -> list[Finding]:
    return [
        Finding(
            "holder.fact_out_of_place",
            Level.CHECK,
            f"{words} on a {CLAMPING_KINDS[entry.clamping]}: nothing asks for it.",
            remedy="Leave it out, or choose the clamping again.",
            source=PRACTICE,
        )
        for field, (words, belongs) in _BELONGS.items()
        if getattr(entry, field) is not None and entry.clamping not in belongs
    ]


def _impossible(code: str, text: str, size_um: int, most_um: int, remedy: str) -> Finding:
    return Finding(
        code,
        Level.STOP_HARD,
        text,
        measured=float(mm_from_um(size_um)),
        limit=float(mm_from_um(most_um)),
        unit="mm",
        remedy=remedy,
        source=GEOMETRY,
    )


def _range_order(entry: HolderEntry) -> list[Finding]:
    least_um, most_um = entry.bore_min_um, entry.bore_um
    if least_um is None or most_um is None or least_um <= most_um:
        return []
    text = f"Smallest shank {show_mm(least_um)} is above the largest, {show_mm(most_um)}."
    return [_impossible("holder.range_reversed", text, least_um, most_um, "Swap the two.")]


def _grip_and_depth(entry: HolderEntry) -> list[Finding]:
    grip_um, depth_um = entry.grip_min_um, entry.bore_depth_um
    if grip_um is None or depth_um is None or grip_um <= depth_um:
        return []
    text = f"Least grip {show_mm(grip_um, 1)}, but the bore is {show_mm(depth_um, 1)} mm deep."
    remedy = "Read both marks on the holder again."
    return [_impossible("holder.grip_beyond_bore", text, grip_um, depth_um, remedy)]


def _keys(entry: HolderEntry, tables: ReferenceTables) -> list[Finding]:
    if entry.key_um is None or entry.bore_um is None:
        return []
    if entry.key_um >= entry.bore_um:
        text = f"Keys {show_mm(entry.key_um)} wide on a {show_mm(entry.bore_um)} spigot."
        remedy = "Keys are narrower than the spigot. Measure both."
        return [_impossible("holder.keys_too_wide", text, entry.key_um, entry.bore_um, remedy)]
    row = keys_of(tables.arbor_keys, entry.bore_um)
    if row is None or row.key_um == entry.key_um:
        return []
    return [
        Finding(
            "holder.keys_unusual",
            Level.CHECK,
            f"Keys {show_mm(entry.key_um)}. A {show_mm(row.spigot_um)} spigot usually has"
            f" {show_mm(row.key_um)}.",
            measured=float(mm_from_um(entry.key_um)),
            limit=float(mm_from_um(row.key_um)),
            unit="mm",
            remedy="Measure the keys.",
            source=_KEYS,
        )
    ]


def _square(entry: HolderEntry, tables: ReferenceTables) -> list[Finding]:
    if entry.square_um is None or entry.bore_um is None:
        return []
    if entry.square_um >= entry.bore_um:
        text = f"Square {show_mm(entry.square_um)} for a {show_mm(entry.bore_um)} shank."
        remedy = "A square is smaller across flats than its shank."
        return [
            _impossible("holder.square_too_large", text, entry.square_um, entry.bore_um, remedy)
        ]
    usual = squares_of(tables.tap_squares, entry.bore_um)
    if not usual or entry.square_um in usual:
        return []
    return [
        Finding(
            "holder.square_unusual",
            Level.CHECK,
            f"Square {show_mm(entry.square_um)} is unusual for a {show_mm(entry.bore_um)} shank.",
            measured=float(mm_from_um(entry.square_um)),
            unit="mm",
            remedy=f"Usual: {' or '.join(show_mm(um) for um in usual)}. Measure it.",
            source=_SQUARES,
        )
    ]
