"""Reduction sleeves that cannot exist, or of which too little is known."""

from __future__ import annotations

from crib.rules.finding import Finding, Level
from crib.rules.item_entries import GEOMETRY, PRACTICE, SleeveEntry, not_positive
from crib.rules.standards import CLAMPING_KINDS, SLEEVED, ReferenceTables
from crib.rules.units import mm_from_um, show_mm


def sleeve_findings(entry: SleeveEntry, tables: ReferenceTables) -> list[Finding]:
    """What is impossible or missing about a reduction sleeve.

    Source: geometry; ways of clamping that take a sleeve, common practice.

    >>> entry = SleeveEntry("hydraulic", outer_um=20_000, bore_um=20_000, length_um=50_000)
    >>> [f.code for f in sleeve_findings(entry, ReferenceTables())]
    ['sleeve.no_wall']
    """
    sizes = {
        "outside": entry.outer_um,
        "bore": entry.bore_um,
        "length": entry.length_um,
        "speed": entry.max_rpm,
    }
    return not_positive("sleeve", sizes) + _missing(entry) + _suits(entry.suits) + _wall(entry)


def _missing(entry: SleeveEntry) -> list[Finding]:
    asked = {
        "what it is made for": entry.suits or None,
        "outside": entry.outer_um,
        "bore": entry.bore_um,
        "length": entry.length_um,
    }
    missing = [name for name, value in asked.items() if value is None]
    if not missing:
        return []
    return [
        Finding(
            "sleeve.size_not_known",
            Level.UNKNOWN,
            f"Missing: {', '.join(missing)}.",
            remedy="Measure it, or read it off the sleeve.",
            source=PRACTICE,
        )
    ]


def _suits(suits: str | None) -> list[Finding]:
    if not suits or suits in SLEEVED:
        return []
    takers = ", ".join(words for code, words in CLAMPING_KINDS.items() if code in SLEEVED)
    return [
        Finding(
            "sleeve.suits_none",
            Level.STOP_HARD,
            f"A {CLAMPING_KINDS.get(suits, suits)} takes no reduction sleeve.",
            remedy=f"These do: {takers}.",
            source=PRACTICE,
        )
    ]


def _wall(entry: SleeveEntry) -> list[Finding]:
    if entry.outer_um is None or entry.bore_um is None or entry.bore_um < entry.outer_um:
        return []
    return [
        Finding(
            "sleeve.no_wall",
            Level.STOP_HARD,
            f"Bore {show_mm(entry.bore_um)} in a sleeve of Ø {show_mm(entry.outer_um)}.",
            measured=float(mm_from_um(entry.bore_um)),
            limit=float(mm_from_um(entry.outer_um)),
            unit="mm",
            remedy="The bore is smaller than the outside. Measure both.",
            source=GEOMETRY,
        )
    ]
