"""Cutters whose sizes contradict each other."""

from __future__ import annotations

from crib.rules.cutter_drive_limits import drive_findings
from crib.rules.finding import Finding, Level
from crib.rules.item_entries import GEOMETRY, ISO_15488, PRACTICE, CutterEntry, not_positive
from crib.rules.standards import ReferenceTables
from crib.rules.units import mm_from_um, show_length, show_mm


def cutter_findings(entry: CutterEntry, tables: ReferenceTables) -> list[Finding]:
    """What is impossible or missing about a cutter.

    Source: geometry; the largest collet of the tables for the shank.

    >>> entry = CutterEntry(diameter_um=6_000, shank_um=6_000, overall_um=20_000, flute_um=22_000)
    >>> [f.code for f in cutter_findings(entry, ReferenceTables())]
    ['cutter.flutes_too_long']
    """
    findings = not_positive(
        "cutter",
        {
            "cutting diameter": entry.diameter_um,
            "shank": entry.shank_um,
            "overall length": entry.overall_um,
            "speed": entry.max_rpm,
        },
    )
    findings += _cutter_sizes_missing(entry)
    findings += _lengths_of_cutter(entry) + _corner(entry)
    return findings + _shank_and_series(entry, tables) + drive_findings(entry, tables)


def _cutter_sizes_missing(entry: CutterEntry) -> list[Finding]:
    sizes = {
        "cutting diameter": entry.diameter_um,
        "shank or bore": entry.shank_um if entry.shank_um is not None else entry.bore_um,
        "overall length": entry.overall_um,
    }
    missing = [name for name, size_um in sizes.items() if size_um is None]
    if not missing:
        return []
    return [
        Finding(
            "cutter.size_not_known",
            Level.UNKNOWN,
            f"Missing: {', '.join(missing)}.",
            remedy="Measure and type it.",
            source=PRACTICE,
        )
    ]


def _lengths_of_cutter(entry: CutterEntry) -> list[Finding]:
    if entry.overall_um is None:
        return []
    plain_um, flute_um = entry.plain_shank_um or 0, entry.flute_um or 0
    marked_um = entry.marked_grip_um or 0
    if flute_um > entry.overall_um:
        return [_longer_than("cutter.flutes_too_long", "Flutes", flute_um, entry.overall_um)]
    if plain_um + flute_um > entry.overall_um:
        words = "Shank + flutes"
        return [
            _longer_than("cutter.lengths_overlap", words, plain_um + flute_um, entry.overall_um)
        ]
    if entry.plain_shank_um is not None and marked_um > entry.plain_shank_um:
        return [_longer_than("cutter.mark_beyond_shank", "Grip mark", marked_um, plain_um)]
    return []


def _longer_than(code: str, what: str, size_um: int, most_um: int) -> Finding:
    return Finding(
        code,
        Level.STOP_HARD,
        f"{what} {show_mm(size_um, 1)} of at most {show_mm(most_um, 1)} mm.",
        measured=float(mm_from_um(size_um)),
        limit=float(mm_from_um(most_um)),
        unit="mm",
        remedy=f"{show_mm(size_um - most_um, 1)} mm too much. Measure both again.",
        source=GEOMETRY,
    )


def _corner(entry: CutterEntry) -> list[Finding]:
    if entry.corner_radius_um is None or entry.diameter_um is None:
        return []
    if entry.kind == "round_over" or entry.corner_radius_um * 2 <= entry.diameter_um:
        return []
    return [
        Finding(
            "cutter.corner_too_large",
            Level.STOP_HARD,
            f"Corner radius {show_mm(entry.corner_radius_um)} on Ø {show_mm(entry.diameter_um)}.",
            measured=float(mm_from_um(entry.corner_radius_um)),
            limit=float(mm_from_um(entry.diameter_um)) / 2,
            unit="mm",
            remedy="A corner radius is at most half the cutting diameter.",
            source=GEOMETRY,
        )
    ]


def _shank_and_series(entry: CutterEntry, tables: ReferenceTables) -> list[Finding]:
    largest = max(
        tables.collet_series,
        key=lambda row: row.special_max_shank_um or row.max_shank_um,
        default=None,
    )
    if entry.shank_um is None or largest is None:
        return []
    most_um = largest.special_max_shank_um or largest.max_shank_um
    if entry.shank_um <= most_um:
        return []
    return [
        Finding(
            "cutter.shank_beyond_collets",
            Level.CHECK,
            f"Shank {show_length(entry.shank_um, entry.typed_in_inches)}:"
            f" no collet series reaches it.",
            measured=float(mm_from_um(entry.shank_um)),
            limit=float(mm_from_um(most_um)),
            unit="mm",
            remedy=f"Largest is {largest.series}, {show_mm(most_um)}. Look at the decimal point.",
            source=ISO_15488,
        )
    ]
