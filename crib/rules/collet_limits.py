"""Collets that cannot exist, and the nearest that can."""

from __future__ import annotations

from collections.abc import Sequence

from crib.rules.finding import Finding, Level
from crib.rules.item_entries import GEOMETRY, ISO_15488, PRACTICE, ColletEntry, series_not_known
from crib.rules.standards import ColletBore, ColletSeries, ReferenceTables, bores_of, series_named
from crib.rules.units import UM_PER_INCH, mm_from_um, show_inch, show_length, show_mm

#: A collet's length may differ from the table by this much [um]; makers round it.
_LENGTH_SPREAD_UM = 1_000


def collet_findings(entry: ColletEntry, tables: ReferenceTables) -> list[Finding]:
    """What is impossible or missing about a collet.

    Source: ISO 15488:2003 for ranges; closing by series, common practice.

    >>> from crib.rules.standards import ReferenceTables
    >>> [f.code for f in collet_findings(ColletEntry(), ReferenceTables())]
    ['collet.series_not_known']
    """
    row = series_named(tables.collet_series, entry.series)
    if row is None:
        return [series_not_known("collet", entry.series)]
    findings = _range_order(entry)
    if findings:
        return findings
    bores = bores_of(tables.collet_bores, entry.series)
    findings += _outside_series(entry, row, bores) + _square(entry)
    return findings + _closing(entry, row) + _collet_length(entry, row)


def _range_order(entry: ColletEntry) -> list[Finding]:
    if entry.clamp_max_um is None or entry.clamp_min_um is None:
        return [
            Finding(
                "collet.range_not_known",
                Level.UNKNOWN,
                "Largest or smallest shank of the collet missing.",
                remedy="Read both on the collet's face.",
                source=ISO_15488,
            )
        ]
    if entry.clamp_min_um <= entry.clamp_max_um:  # equal: a collet for one size only
        return []
    return [
        Finding(
            "collet.range_reversed",
            Level.STOP_HARD,
            f"Smallest {show_mm(entry.clamp_min_um)} is above largest"
            f" {show_mm(entry.clamp_max_um)}.",
            measured=float(mm_from_um(entry.clamp_min_um)),
            limit=float(mm_from_um(entry.clamp_max_um)),
            unit="mm",
            remedy="Type the largest shank first: a 7–6 collet takes 7.00 down to 6.00.",
            source=GEOMETRY,
        )
    ]


def _square(entry: ColletEntry) -> list[Finding]:
    """The inner square of a tapping collet is smaller across flats than the shank."""
    if entry.square_um is None or 0 < entry.square_um < entry.clamp_max_um:
        return []
    return [
        Finding(
            "collet.square_impossible",
            Level.STOP_HARD,
            f"Square {show_mm(entry.square_um)} for a {show_mm(entry.clamp_max_um)} shank.",
            measured=float(mm_from_um(entry.square_um)),
            limit=float(mm_from_um(entry.clamp_max_um)),
            unit="mm",
            remedy="A square is smaller across flats than its shank. Empty: no square.",
            source=GEOMETRY,
        )
    ]


def _outside_series(
    entry: ColletEntry, row: ColletSeries, bores: Sequence[ColletBore]
) -> list[Finding]:
    if entry.clamp_max_um > (row.special_max_shank_um or row.max_shank_um):
        return [_refused_size(entry, entry.clamp_max_um, row, bores)]
    if entry.clamp_min_um < row.min_shank_um:
        return [_refused_size(entry, entry.clamp_min_um, row, bores)]
    if entry.clamp_max_um > row.max_shank_um:
        return [_special_size(entry, row)]
    if bores and not any(_same_size(bore.nominal_um, entry.clamp_max_um) for bore in bores):
        return [_unusual_size(entry, bores)]
    return []


def _refused_size(
    entry: ColletEntry, size_um: int, row: ColletSeries, bores: Sequence[ColletBore]
) -> Finding:
    too_large = size_um > row.max_shank_um
    edge_um = row.max_shank_um if too_large else row.min_shank_um
    return Finding(
        "collet.outside_series",
        Level.STOP_HARD,
        f"Ø {show_length(size_um, entry.typed_in_inches)} is outside {row.series},"
        f" {show_mm(row.min_shank_um)}–{show_mm(row.max_shank_um)} mm.",
        measured=float(mm_from_um(size_um)),
        limit=float(mm_from_um(edge_um)),
        unit="mm",
        remedy=_meant(entry, bores) + _edge_collets(row, bores, largest=too_large),
        source=ISO_15488,
    )


def _meant(entry: ColletEntry, bores: Sequence[ColletBore]) -> str:
    likely = likely_meant(entry.clamp_max_um, bores, typed_in_inches=entry.typed_in_inches)
    return f"Did you mean {_named(likely[0])}? " if likely else ""


def _named(bore: ColletBore) -> str:
    if bore.bore_system == "inch":
        return f"{show_inch(bore.nominal_um)} ({show_mm(bore.nominal_um)} mm)"
    return f"{bore.label.replace('-', '–')} ({show_mm(bore.nominal_um)} mm)"


def _edge_collets(row: ColletSeries, bores: Sequence[ColletBore], *, largest: bool) -> str:
    pick = max if largest else min
    edges = [
        pick(of_system, key=lambda bore: bore.nominal_um)
        for system in ("metric", "inch")
        if (of_system := [bore for bore in bores if bore.bore_system == system])
    ]
    if not edges:
        return f"{row.series} takes {show_mm(row.min_shank_um)}–{show_mm(row.max_shank_um)} mm."
    word = "Largest" if largest else "Smallest"
    return f"{word} in {row.series}: {' or '.join(_named(bore) for bore in edges)}."


def likely_meant(
    size_um: int, bores: Sequence[ColletBore], *, typed_in_inches: bool
) -> tuple[ColletBore, ...]:
    """Real collets that a slip of the keyboard turns into this impossible size [um].

    Slips tried, in this order: a whole inch too many (1 1/2 for 1/2, for an inch size), a
    decimal place, inches typed for millimetres, millimetres typed for inches.

    Source: common practice.

    >>> half = ColletBore("ER32", "inch", "1/2 in", 12_700, 11_700, 12_700, 12_200, "13-12")
    >>> likely_meant(38_100, [half], typed_in_inches=True)[0].label
    '1/2 in'
    """
    inches = typed_in_inches or _is_an_inch_size(size_um)
    whole_inch_slip = [size_um % UM_PER_INCH] if inches else []
    slips_um = [*whole_inch_slip, size_um / 10, size_um * 10, size_um / 25.4, size_um * 25.4]
    found = {
        bore.label: bore
        for slip_um in slips_um
        for bore in bores
        if _same_size(bore.nominal_um, slip_um)
    }
    return tuple(found.values())


def _is_an_inch_size(size_um: int) -> bool:
    sixteenths = round(size_um * 16 / UM_PER_INCH)
    return _same_size(size_um, sixteenths * UM_PER_INCH / 16)


def _same_size(one_um: float, other_um: float) -> bool:
    return abs(one_um - other_um) <= 1


def nearest_collets(size_um: int, series: str, tables: ReferenceTables) -> tuple[ColletBore, ...]:
    """The metric and the inch collet of a series whose nominal size is nearest to `size_um` [um].

    Source: bores by rule, one collet per closing step; common practice.

    >>> nearest_collets(38_100, "ER32", ReferenceTables())
    ()
    """
    bores = bores_of(tables.collet_bores, series)
    by_system = [[b for b in bores if b.bore_system == system] for system in ("metric", "inch")]
    return tuple(
        min(of_system, key=lambda bore: abs(bore.nominal_um - size_um))
        for of_system in by_system
        if of_system
    )


def _special_size(entry: ColletEntry, row: ColletSeries) -> Finding:
    return Finding(
        "collet.special_size",
        Level.CHECK,
        f"Ø {show_mm(entry.clamp_max_um)} is a special size of {row.series}.",
        measured=float(mm_from_um(entry.clamp_max_um)),
        limit=float(mm_from_um(row.max_shank_um)),
        unit="mm",
        remedy=f"The standard range ends at {show_mm(row.max_shank_um)}. Read it off the collet.",
        source=ISO_15488,
    )


def _unusual_size(entry: ColletEntry, bores: Sequence[ColletBore]) -> Finding:
    ordered = sorted(bores, key=lambda bore: abs(bore.nominal_um - entry.clamp_max_um))
    nearest = " or ".join(_named(bore) for bore in ordered[:2])
    return Finding(
        "collet.unusual_size",
        Level.NOTE,
        f"Ø {show_mm(entry.clamp_max_um)} is not a usual size of this series.",
        measured=float(mm_from_um(entry.clamp_max_um)),
        unit="mm",
        remedy=f"Usual are {nearest}.",
        source=PRACTICE,
    )


def _closing(entry: ColletEntry, row: ColletSeries) -> list[Finding]:
    closes_um = entry.clamp_max_um - entry.clamp_min_um
    if closes_um <= row.closing_um:
        return []
    return [
        Finding(
            "collet.range_too_wide",
            Level.STOP_HARD,
            f"Range of {show_mm(closes_um)}. {row.series} collets close by"
            f" {show_mm(row.closing_um)}.",
            measured=float(mm_from_um(closes_um)),
            limit=float(mm_from_um(row.closing_um)),
            unit="mm",
            remedy=f"Smallest would be {show_mm(entry.clamp_max_um - row.closing_um)}.",
            source=PRACTICE,
        )
    ]


def _collet_length(entry: ColletEntry, row: ColletSeries) -> list[Finding]:
    if entry.length_um is None or abs(entry.length_um - row.length_um) <= _LENGTH_SPREAD_UM:
        return []
    return [
        Finding(
            "collet.length_unusual",
            Level.CHECK,
            f"Length {show_mm(entry.length_um, 1)}. {row.series} collets are"
            f" {show_mm(row.length_um, 1)} mm long.",
            measured=float(mm_from_um(entry.length_um)),
            limit=float(mm_from_um(row.length_um)),
            unit="mm",
            remedy="Measure the collet, or read its series again.",
            source=ISO_15488,
        )
    ]
