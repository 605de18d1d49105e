"""What drives a cutter, the pitch of a tap, the angle of a point: impossible, unlikely, missing."""

from __future__ import annotations

from crib.rules.finding import Finding, Level
from crib.rules.item_entries import GEOMETRY, PRACTICE, CutterEntry, not_positive
from crib.rules.standards import ReferenceTables, keys_of, squares_of
from crib.rules.units import mm_from_um, show_mm

_KEYS = "DIN 138 and ISO 240, from memory"
_SQUARES = "DIN 10; ISO 237, from memory"
#: A slot may be this much wider than the key of its arbor [um].
_MOST_PLAY_UM = 500
#: A flat face: no point is blunter [tenths of a degree].
_FLAT_TENTHS = 1_800


def drive_findings(entry: CutterEntry, tables: ReferenceTables) -> list[Finding]:
    """What is impossible, unlikely or missing about square, slot, pitch and point of a cutter.

    Source: DIN 10 and ISO 237 for squares; DIN 138 and ISO 240, from memory, for slots; geometry.

    >>> entry = CutterEntry(kind="tap", shank_um=8_000, square_um=8_000, pitch_um=1_250)
    >>> [f.code for f in drive_findings(entry, ReferenceTables())]
    ['cutter.square_too_large']
    """
    sizes = {
        "square": entry.square_um,
        "pitch": entry.pitch_um,
        "keyway": entry.keyway_um,
        "point angle": entry.point_angle_tenths,
    }
    findings = not_positive("cutter", sizes) + _missing(entry)
    findings += _square(entry, tables) + _keyway(entry, tables)
    return findings + _pitch(entry) + _point(entry)


def _missing(entry: CutterEntry) -> list[Finding]:
    is_tap, has_bore = entry.kind == "tap", entry.bore_um is not None
    asked = {
        "square of the tap": is_tap and entry.square_um is None,
        "pitch of the tap": is_tap and entry.pitch_um is None,
        "slot for the keys": has_bore and entry.keyway_um is None,
    }
    missing = [words for words, lacking in asked.items() if lacking]
    if not missing:
        return []
    return [
        Finding(
            "cutter.drive_not_known",
            Level.UNKNOWN,
            f"Missing: {', '.join(missing)}.",
            remedy="Measure it, or read it off the cutter.",
            source=PRACTICE,
        )
    ]


def _too_large(code: str, text: str, size_um: int, most_um: int, remedy: str) -> Finding:
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


def _square(entry: CutterEntry, tables: ReferenceTables) -> list[Finding]:
    square_um, shank_um = entry.square_um, entry.shank_um
    if square_um is None or shank_um is None:
        return []
    if square_um >= shank_um:
        text = f"Square {show_mm(square_um)} on a {show_mm(shank_um)} shank."
        remedy = "A square is smaller across flats than its shank."
        return [_too_large("cutter.square_too_large", text, square_um, shank_um, remedy)]
    usual = squares_of(tables.tap_squares, shank_um)
    if not usual or square_um in usual:
        return []
    return [
        Finding(
            "cutter.square_unusual",
            Level.CHECK,
            f"Square {show_mm(square_um)} is unusual for a {show_mm(shank_um)} shank.",
            measured=float(mm_from_um(square_um)),
            unit="mm",
            remedy=f"Usual: {' or '.join(show_mm(um) for um in usual)}. Measure it.",
            source=_SQUARES,
        )
    ]


def _keyway(entry: CutterEntry, tables: ReferenceTables) -> list[Finding]:
    slot_um, bore_um = entry.keyway_um, entry.bore_um
    if slot_um is None or bore_um is None:
        return []
    if slot_um >= bore_um:
        text = f"Slot {show_mm(slot_um)} wide on a {show_mm(bore_um)} bore."
        remedy = "The slot is narrower than the bore. Measure both."
        return [_too_large("cutter.keyway_too_wide", text, slot_um, bore_um, remedy)]
    row = keys_of(tables.arbor_keys, bore_um)
    if row is None or row.key_um <= slot_um <= row.key_um + _MOST_PLAY_UM:
        return []
    return [
        Finding(
            "cutter.keyway_unusual",
            Level.CHECK,
            f"Slot {show_mm(slot_um)}. A {show_mm(bore_um)} bore usually has"
            f" {show_mm(row.slot_um)}.",
            measured=float(mm_from_um(slot_um)),
            limit=float(mm_from_um(row.slot_um)),
            unit="mm",
            remedy="Measure the slot.",
            source=_KEYS,
        )
    ]


def _pitch(entry: CutterEntry) -> list[Finding]:
    pitch_um, diameter_um = entry.pitch_um, entry.diameter_um
    if pitch_um is None or diameter_um is None or pitch_um < diameter_um:
        return []
    text = f"Pitch {show_mm(pitch_um)} on Ø {show_mm(diameter_um)}."
    remedy = "A pitch is smaller than its thread. Look at the decimal point."
    return [_too_large("cutter.pitch_too_coarse", text, pitch_um, diameter_um, remedy)]


def _point(entry: CutterEntry) -> list[Finding]:
    tenths = entry.point_angle_tenths
    if tenths is None or tenths <= _FLAT_TENTHS:
        return []
    return [
        Finding(
            "cutter.point_too_wide",
            Level.STOP_HARD,
            f"Point angle {tenths / 10:g}°. A flat end has 180°.",
            measured=tenths / 10,
            limit=_FLAT_TENTHS / 10,
            unit="°",
            remedy="Read the included angle again.",
            source=GEOMETRY,
        )
    ]
