"""What to tighten to: the figure, where it comes from, and how far texts differ."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from assemblies.rules.shank import working_shank_um
from assemblies.rules.stack import HolderPart, Stack
from assemblies.rules.torque import torque_window
from crib.rules.standards import SCREWED, NutTorqueBand, same_code, torque_band
from crib.rules.units import show_mm, show_nm

NUT, SCREW, NOTHING = "nut", "screw", "nothing"


@dataclass(frozen=True, slots=True)
class TorqueAim:
    """The torque [mN·m] of a nut or screw. None is not known; a shrink fit tightens nothing.

    `found_…` is what texts print for the same nut, `chart_…` what one chart prints for shanks
    below `chart_below_um` [um]. `full_mnm` is the usual figure without the reduction for a small
    shank, None where nothing is reduced.
    """

    tightens: str = NOTHING
    aim_mnm: int | None = None
    most_mnm: int | None = None
    is_marked: bool = False
    full_mnm: int | None = None
    found_low_mnm: int | None = None
    found_high_mnm: int | None = None
    chart_below_um: int | None = None
    chart_low_mnm: int | None = None
    chart_high_mnm: int | None = None


def tightened(holder: HolderPart | None) -> str:
    """What is tightened to a torque: the `nut`, a `screw`, or `nothing`.

    A holder that is not known yet counts as one with a nut, so that a torque is asked for.

    Source: common practice.

    >>> tightened(HolderPart(clamping="side_lock")), tightened(HolderPart(clamping="shrink"))
    ('screw', 'nothing')
    """
    if holder is None or holder.clamping is None or holder.takes_a_collet:
        return NUT
    if holder.clamping in SCREWED or holder.screw_torque_mnm is not None:
        return SCREW
    return NOTHING


def torque_aim(stack: Stack, bands: Sequence[NutTorqueBand]) -> TorqueAim:
    """What the stack asks to be tightened to: the mark, else the usual figure for nut and shank.

    Source: marks on nut or holder, else shop tables (common practice, partly from memory).

    >>> from assemblies.rules.stack import CutterPart, NutPart
    >>> band = NutTorqueBand("ER32", "standard", 2500, 20000, 136000, 170000)
    >>> nut = NutPart(series="ER32", nut_type="standard")
    >>> torque_aim(Stack(nut=nut, cutter=CutterPart(shank_um=12_000)), [band]).aim_mnm
    136000
    """
    place = tightened(stack.holder)
    if place == SCREW:
        marked_mnm = stack.holder.screw_torque_mnm
        return TorqueAim(SCREW, marked_mnm, is_marked=marked_mnm is not None)
    if place == NOTHING or stack.nut is None:
        return TorqueAim(place)
    return _of_the_nut(stack, bands)


def _of_the_nut(stack: Stack, bands: Sequence[NutTorqueBand]) -> TorqueAim:
    nut = stack.nut
    shank_um = working_shank_um(stack.cutter) if stack.cutter else None
    window = torque_window(nut, shank_um, bands)
    is_marked = nut.recommended_mnm is not None
    band = None
    if shank_um is not None:
        band = torque_band(bands, series=nut.series, nut_type=nut.nut_type, shank_um=shank_um)
    if band is None:
        return TorqueAim(NUT, window.recommended_mnm, window.max_mnm, is_marked)
    return TorqueAim(
        NUT,
        window.recommended_mnm,
        window.max_mnm,
        is_marked,
        full_mnm=None if is_marked else _unreduced_mnm(band, bands),
        found_low_mnm=band.found_low_mnm,
        found_high_mnm=band.found_high_mnm,
        **_chart(band, shank_um),
    )


def _unreduced_mnm(band: NutTorqueBand, bands: Sequence[NutTorqueBand]) -> int | None:
    """The usual figure [mN·m] of the same nut on its larger shanks, when that is more."""
    same = (
        row.recommended_mnm
        for row in bands
        if same_code(row.series, band.series) and same_code(row.nut_type, band.nut_type)
    )
    full_mnm = max(same)
    return full_mnm if full_mnm > band.recommended_mnm else None


def _chart(band: NutTorqueBand, shank_um: int) -> dict[str, int | None]:
    if band.small_below_um is None or shank_um >= band.small_below_um:
        return {}
    return {
        "chart_below_um": band.small_below_um,
        "chart_low_mnm": band.small_low_mnm,
        "chart_high_mnm": band.small_high_mnm,
    }


def aim_lines(aim: TorqueAim) -> tuple[str, ...]:
    """The aim in words, its origin first, then how far texts differ; () where nothing is tightened.

    Source: as in `torque_aim`.

    >>> aim_lines(TorqueAim("nut", 80_000, 100_000, is_marked=True))
    ('Tighten the nut to 80 N·m, at most 100: marked on it.',)
    """
    if aim.tightens == NOTHING:
        return ()
    if aim.aim_mnm is None:
        return (f"No torque on record for this {_named(aim)}. Read its mark and record it.",)
    most = f", at most {show_nm(aim.most_mnm)}" if aim.most_mnm is not None else ""
    origin = "marked on it" if aim.is_marked else "usual figure, no mark recorded"
    first = f"Tighten the {_named(aim)} to {show_nm(aim.aim_mnm)} N·m{most}: {origin}."
    return (first, *(line for line in (_reduced(aim), _spread(aim), _chart_line(aim)) if line))


def _named(aim: TorqueAim) -> str:
    return "nut" if aim.tightens == NUT else "clamping screw"


def _reduced(aim: TorqueAim) -> str:
    if aim.full_mnm is None:
        return ""
    return f"Reduced for the small shank; larger shanks take {show_nm(aim.full_mnm)} N·m."


def _spread(aim: TorqueAim) -> str:
    if aim.found_low_mnm is None or aim.found_high_mnm is None:
        return ""
    return (
        f"Texts differ: {show_nm(aim.found_low_mnm)} to {show_nm(aim.found_high_mnm)} N·m"
        " for this nut. A mark or the maker's book wins."
    )


def _chart_line(aim: TorqueAim) -> str:
    if aim.chart_below_um is None or aim.chart_low_mnm is None or aim.chart_high_mnm is None:
        return ""
    return (
        f"One chart gives {show_nm(aim.chart_low_mnm)} to {show_nm(aim.chart_high_mnm)} N·m"
        f" for shanks below {show_mm(aim.chart_below_um, 1)} mm."
    )
