"""Parts that are not here but would help: what they would have to be."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from assemblies.rules.collet_fit import collet_range_findings
from assemblies.rules.finder.facts import Same
from assemblies.rules.shank import working_shank_um
from assemblies.rules.stack import (
    ColletPart,
    Condition,
    CutterPart,
    HolderPart,
    MachineFacts,
    NutPart,
    ShopLimits,
    SleevePart,
    StudPart,
    StudState,
)
from assemblies.rules.wording import shown_range
from crib.rules.finding import worst_level
from crib.rules.standards import ReferenceTables, bores_of, same_code, series_named
from crib.rules.units import show_mm


def collet_to_get(
    series: str | None, cutter: CutterPart, limits: ShopLimits, tables: ReferenceTables
) -> Same | None:
    """The collet of a series that holds the shank best; None when the series has none.

    Source: bores by series after ISO 15488:2003, one collet per closing step.

    >>> collet_to_get("ER25", CutterPart(shank_um=12_700), ShopLimits(), ReferenceTables())
    """
    offers = [
        (worst_level(found).weight, row.clamp_max_um, part)
        for row in bores_of(tables.collet_bores, series)
        for part in [_collet(row)]
        for found in [collet_range_findings(part, cutter, limits)]
        if not worst_level(found).is_stop and working_shank_um(cutter) is not None
    ]
    if not offers:
        return None
    part = min(offers, key=lambda offer: offer[:2])[2]
    text = f"collet {part.series} {shown_range(part.clamp_max_um, part.clamp_min_um)}"
    return Same("collet", "", part, StudPart(), to_get=text)


def _collet(row) -> ColletPart:
    return ColletPart(
        series=row.series,
        clamp_max_um=row.clamp_max_um,
        clamp_min_um=row.clamp_min_um,
        condition=Condition.NOT_TRACKED,
    )


def nut_to_get(holder: HolderPart, tables: ReferenceTables) -> Same | None:
    """The nut that a nose asks for; None where its series or thread is not recorded.

    Source: nose threads standard and mini by series, common practice.

    >>> nut_to_get(HolderPart(series="ER25", nose_thread="M32x1.5"), ReferenceTables()).to_get
    'nut ER25 M32x1.5'
    """
    if holder.series is None or holder.nose_thread is None:
        return None
    row = series_named(tables.collet_series, holder.series)
    threads = row.nut_threads() if row else {}
    made = [kind for kind, thread in threads.items() if same_code(thread, holder.nose_thread)]
    part = NutPart(
        series=holder.series,
        thread=holder.nose_thread,
        nut_type=made[0] if made else None,
        condition=Condition.NOT_TRACKED,
    )
    kind = " mini" if part.nut_type == "mini" else ""
    text = f"nut {holder.series}{kind} {holder.nose_thread}"
    return Same("nut", "", part, StudPart(), to_get=text)


def needs_a_sleeve(holder: HolderPart, cutter: CutterPart) -> bool:
    """Whether a shank is smaller than a bore that may be reduced.

    Source: geometry.

    >>> chuck = HolderPart(clamping="hydraulic", bore_um=20_000)
    >>> needs_a_sleeve(chuck, CutterPart(shank_um=12_000))
    True
    """
    shank_um = working_shank_um(cutter)
    if not holder.takes_a_sleeve or None in (shank_um, holder.bore_um):
        return False
    return shank_um < holder.bore_um


def sleeve_to_get(holder: HolderPart, cutter: CutterPart) -> Same | None:
    """The reduction sleeve between a bore and a smaller shank; None where none belongs.

    Source: geometry.

    >>> chuck = HolderPart(clamping="hydraulic", bore_um=20_000)
    >>> sleeve_to_get(chuck, CutterPart(shank_um=12_000)).to_get
    'reduction sleeve 20.00 to 12.00, hydraulic chuck'
    """
    if not needs_a_sleeve(holder, cutter):
        return None
    shank_um = working_shank_um(cutter)
    part = SleevePart(
        suits=holder.clamping,
        outer_um=holder.bore_um,
        bore_um=shank_um,
        condition=Condition.NOT_TRACKED,
    )
    suits = {"side_lock": "side lock", "milling_chuck": "milling chuck"}
    chuck = suits.get(holder.clamping, "hydraulic chuck")
    text = f"reduction sleeve {show_mm(holder.bore_um)} to {show_mm(shank_um)}, {chuck}"
    return Same("sleeve", "", part, StudPart(), to_get=text)


def with_other_stud(
    holder: Same, machine: MachineFacts | None, studs: Iterable[tuple[str, str]]
) -> Same | None:
    """A holder with the pull stud of the machine in it; None where no pattern is known.

    `studs` are pattern and place of studs in the racks: one of them needs only be fitted.

    Source: common practice: the machine maker's stud pattern.

    >>> holder = Same("holder", "H", HolderPart(), StudPart())
    >>> with_other_stud(holder, MachineFacts(stud_pattern="B"), [("B", "Drawer A4")]).to_get
    'pull stud B from Drawer A4'
    """
    pattern = machine.stud_pattern if machine else None
    if pattern in (None, StudState.NOT_USED):
        return None
    stud = replace(holder.stud, state=StudState.FITTED, pattern=pattern)
    bare = _bare(pattern)
    place = next((f" from {where}" for kind, where in studs if same_code(_bare(kind), bare)), "")
    text = f"pull stud {bare}{place}"
    return Same(holder.kind, holder.code, holder.part, stud, holder.lots, to_get=text)


def _bare(pattern: str) -> str:
    return pattern.strip().removeprefix("stud ").removeprefix("Stud ")


def holders_to_get(machine: MachineFacts | None, nuts: Iterable[Same]) -> Iterator[Same]:
    """Collet holders of the machine's interface, one for each nose that a nut here would suit.

    Nothing but interface and nose is known of a holder that nobody has yet.

    Source: series and thread of the nuts in the racks.

    >>> list(holders_to_get(None, []))
    []
    """
    if machine is None or machine.interface is None:
        return
    noses = {(nut.part.series, nut.part.thread) for nut in nuts if nut.part.thread}
    for series, thread in sorted(noses):
        part = HolderPart(
            interface=machine.interface,
            clamping="collet",
            series=series,
            nose_thread=thread,
            condition=Condition.NOT_TRACKED,
        )
        text = f"holder {machine.interface}, {series} {thread}"
        yield Same("holder", "", part, StudPart(), to_get=text)
