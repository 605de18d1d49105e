"""Holders, nuts and pull studs that cannot exist or do not agree with themselves."""

from __future__ import annotations

from crib.rules.finding import Finding, Level
from crib.rules.holder_seat_limits import seat_findings
from crib.rules.item_entries import (
    GEOMETRY,
    PRACTICE,
    HolderEntry,
    NutEntry,
    StudEntry,
    interface_not_known,
    not_positive,
    series_not_known,
)
from crib.rules.standards import (
    CLAMPING_KINDS,
    ColletSeries,
    ReferenceTables,
    TaperRow,
    same_code,
    series_named,
    taper_coded,
)
from crib.rules.units import mm_from_um, show_mm, show_nm


def holder_findings(entry: HolderEntry, tables: ReferenceTables) -> list[Finding]:
    """What is impossible or missing about a holder.

    Source: interfaces and nose threads by their standards; a balance grade needs its speed,
    ISO 21940-11:2016.

    >>> entry = HolderEntry(interface="BT30", clamping="spring")
    >>> [f.code for f in holder_findings(entry, ReferenceTables())]
    ['holder.interface_not_known', 'holder.clamping_not_known']
    """
    findings = not_positive(
        "holder", {"gauge length": entry.gauge_length_um, "speed": entry.max_rpm}
    )
    if taper_coded(tables.tapers, entry.interface) is None:
        findings.append(interface_not_known("holder", entry.interface))
    findings += _balance(entry)
    if entry.clamping not in CLAMPING_KINDS:
        return [*findings, _clamping_not_known()]
    if entry.clamping == "collet":
        return findings + _nose(entry, tables) + seat_findings(entry, tables)
    return findings + _no_series(entry) + seat_findings(entry, tables)


def _balance(entry: HolderEntry) -> list[Finding]:
    if not entry.balance_grade or entry.balance_rpm is not None:
        return []
    return [
        Finding(
            "holder.balance_without_speed",
            Level.CHECK,
            f"Balance {entry.balance_grade} without its speed says nothing.",
            remedy="Record the speed of the rating too, or leave both out.",
            source="ISO 21940-11:2016",
        )
    ]


def _clamping_not_known() -> Finding:
    return Finding(
        "holder.clamping_not_known",
        Level.UNKNOWN,
        "How the holder holds is missing.",
        remedy="Choose: " + ", ".join(CLAMPING_KINDS.values()) + ".",
        source=PRACTICE,
    )


def _nose(entry: HolderEntry, tables: ReferenceTables) -> list[Finding]:
    row = series_named(tables.collet_series, entry.series)
    if row is None:
        return [series_not_known("holder", entry.series)]
    if entry.nose_thread is None:
        return [
            Finding(
                "holder.thread_not_known",
                Level.UNKNOWN,
                "Thread of the nose missing.",
                remedy=f"{row.series}: {_threads_in_words(row)}. Measure it.",
                source=PRACTICE,
            )
        ]
    if any(same_code(thread, entry.nose_thread) for thread in row.nut_threads().values()):
        return []
    return [_odd_thread("holder.thread_unusual", entry.nose_thread, row)]


def _no_series(entry: HolderEntry) -> list[Finding]:
    if not entry.series:
        return []
    return [
        Finding(
            "holder.series_without_collet",
            Level.STOP_HARD,
            f"A {CLAMPING_KINDS[entry.clamping]} takes no {entry.series} collet.",
            remedy="Leave the series out, or choose the collet as clamping.",
            source=PRACTICE,
        )
    ]


def nut_findings(entry: NutEntry, tables: ReferenceTables) -> list[Finding]:
    """What is impossible or missing about a nut.

    Source: nose threads by series, ISO 15488:2003 and common practice.

    >>> bad = NutEntry(recommended_mnm=136_000, max_mnm=100_000)
    >>> [f.code for f in nut_findings(bad, ReferenceTables())]
    ['nut.torques_reversed', 'nut.series_not_known']
    """
    findings = not_positive("nut", {"torque": entry.max_mnm, "speed": entry.max_rpm})
    findings += _torque_order(entry) + _seal(entry)
    row = series_named(tables.collet_series, entry.series)
    if row is None:
        return [*findings, series_not_known("nut", entry.series)]
    return findings + _nut_thread(entry, row)


def _torque_order(entry: NutEntry) -> list[Finding]:
    if entry.recommended_mnm is None or entry.max_mnm is None:
        return []
    if entry.recommended_mnm <= entry.max_mnm:
        return []
    return [
        Finding(
            "nut.torques_reversed",
            Level.STOP_HARD,
            f"Recommended {show_nm(entry.recommended_mnm)} N·m is above the largest,"
            f" {show_nm(entry.max_mnm)}.",
            measured=entry.recommended_mnm / 1000,
            limit=entry.max_mnm / 1000,
            unit="N·m",
            remedy="Read both torques on the nut again.",
            source=GEOMETRY,
        )
    ]


def _seal(entry: NutEntry) -> list[Finding]:
    most_um, least_um = entry.seal_max_um, entry.seal_min_um
    if entry.sealed and (most_um is None or least_um is None):
        text = "Largest or smallest shank of the sealing disk missing."
        remedy = "Read both on the disk."
        return [Finding("nut.seal_not_known", Level.UNKNOWN, text, remedy=remedy, source=PRACTICE)]
    if most_um is None or least_um is None or least_um <= most_um:
        return []
    return [
        Finding(
            "nut.seal_reversed",
            Level.STOP_HARD,
            f"Smallest sealed shank {show_mm(least_um)} is above the largest, {show_mm(most_um)}.",
            measured=float(mm_from_um(least_um)),
            limit=float(mm_from_um(most_um)),
            unit="mm",
            remedy="Swap the two.",
            source=GEOMETRY,
        )
    ]


def _nut_thread(entry: NutEntry, row: ColletSeries) -> list[Finding]:
    if entry.thread is None:
        return [
            Finding(
                "nut.thread_not_known",
                Level.UNKNOWN,
                "Thread of the nut missing.",
                remedy=f"{row.series}: {_threads_in_words(row)}. Measure it.",
                source=PRACTICE,
            )
        ]
    types = [kind for kind, thread in row.nut_threads().items() if same_code(thread, entry.thread)]
    if not types:
        return [_odd_thread("nut.thread_unusual", entry.thread, row)]
    if entry.nut_type is not None and entry.nut_type not in types:
        return [_type_and_thread(entry, types)]
    return []


def _threads_in_words(row: ColletSeries) -> str:
    return ", ".join(f"{thread} ({kind})" for kind, thread in row.nut_threads().items())


def _odd_thread(code: str, thread: str, row: ColletSeries) -> Finding:
    return Finding(
        code,
        Level.CHECK,
        f"Thread {thread} is not usual for {row.series}.",
        remedy=f"Usual: {_threads_in_words(row)}. Measure the thread.",
        source=PRACTICE,
    )


def _type_and_thread(entry: NutEntry, types: list[str]) -> Finding:
    return Finding(
        "nut.type_differs",
        Level.STOP_HARD,
        f"{entry.thread} is the {types[0]} nut, not the {entry.nut_type} one.",
        remedy="Standard and mini threads look alike. Measure the thread.",
        source=PRACTICE,
    )


def stud_findings(entry: StudEntry, tables: ReferenceTables) -> list[Finding]:
    """What is impossible or missing about a pull stud.

    Source: retention and thread by interface, ISO 7388, JIS B 6339, ASME B5.50.

    >>> [f.code for f in stud_findings(StudEntry(), ReferenceTables())]
    ['stud.interface_not_known']
    """
    row = taper_coded(tables.tapers, entry.interface)
    if row is None:
        return [interface_not_known("stud", entry.interface)]
    if not row.takes_a_stud:
        return [_stud_not_for_taper(row)]
    if entry.thread is None:
        return [_stud_thread_not_known(row)]
    if not row.retention_thread or same_code(entry.thread, row.retention_thread):
        return []
    return [
        Finding(
            "stud.thread_unusual",
            Level.CHECK,
            f"Thread {entry.thread}. {row.code} usually has {row.retention_thread}.",
            remedy="Thread and head must both be right. Measure the thread.",
            source=row.standard,
        )
    ]


def _stud_not_for_taper(row: TaperRow) -> Finding:
    return Finding(
        "stud.not_for_taper",
        Level.STOP_HARD,
        f"{row.code} takes no pull stud.",
        remedy=f"{row.code} is held by: {row.retention}.",
        source=row.standard,
    )


def _stud_thread_not_known(row: TaperRow) -> Finding:
    return Finding(
        "stud.thread_not_known",
        Level.UNKNOWN,
        "Thread of the pull stud missing.",
        remedy=f"{row.code}: {row.retention_thread or 'by maker'}. Read it off the part.",
        source=row.standard,
    )
