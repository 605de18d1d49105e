"""Is the nut tight enough, and not too tight."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from assemblies.rules.shank import working_shank_um
from assemblies.rules.stack import CutterPart, NutPart
from assemblies.rules.wording import in_nm
from crib.rules.finding import Finding, Level
from crib.rules.standards import NutTorqueBand, torque_band
from crib.rules.units import show_nm

_MARK = "mark on the nut"
_TABLE = "table by series, nut type and shank; common practice"


@dataclass(frozen=True, slots=True)
class TorqueWindow:
    """Recommended and largest torque [mN·m] with where each comes from; None = not known."""

    recommended_mnm: int | None
    max_mnm: int | None
    recommended_source: str
    max_source: str


def torque_window(
    nut: NutPart, shank_um: int | None, bands: Sequence[NutTorqueBand]
) -> TorqueWindow:
    """Torque window of a nut on a shank [um]: what is marked on the nut beats the table.

    A table's figure is never used beyond a marked one: a table recommendation is lowered to the
    marked maximum, and a table maximum below the marked recommendation is left out.

    Source: shop tables for bore-dependent torque; common practice, partly from memory.

    >>> torque_window(NutPart(recommended_mnm=80_000, max_mnm=100_000), 6_000, []).max_mnm
    100000
    """
    band = None
    if shank_um is not None:
        band = torque_band(bands, series=nut.series, nut_type=nut.nut_type, shank_um=shank_um)
    recommended_mnm = nut.recommended_mnm or (band.recommended_mnm if band else None)
    max_mnm = nut.max_mnm or (band.max_mnm if band else None)
    if recommended_mnm is not None and max_mnm is not None and recommended_mnm > max_mnm:
        recommended_mnm, max_mnm = _settle(nut, recommended_mnm, max_mnm)
    return TorqueWindow(
        recommended_mnm,
        max_mnm,
        _MARK if nut.recommended_mnm else _TABLE,
        _MARK if nut.max_mnm else _TABLE,
    )


def _settle(nut: NutPart, recommended_mnm: int, max_mnm: int) -> tuple[int | None, int | None]:
    if nut.max_mnm is not None:
        return (max_mnm if nut.recommended_mnm is None else None), max_mnm
    return recommended_mnm, None


def torque_finding(
    torque_mnm: int | None,
    nut: NutPart,
    cutter: CutterPart,
    bands: Sequence[NutTorqueBand],
) -> Finding:
    """Whether the recorded torque [mN·m] lies inside the nut's window.

    Source: marks on the nut, else shop tables (common practice).

    >>> nut = NutPart(recommended_mnm=80_000, max_mnm=100_000)
    >>> torque_finding(80_000, nut, CutterPart(shank_um=6_000), []).code
    'torque.inside'
    """
    window = torque_window(nut, working_shank_um(cutter), bands)
    if torque_mnm is None:
        text = f"Nut torque not recorded. {_aim(window)}".strip()
        remedy = "Tighten with the wrench and record the torque."
        return _unknown("torque.not_known", text, remedy)
    if window.max_mnm is not None and torque_mnm > window.max_mnm:
        return _above(torque_mnm, window)
    if window.recommended_mnm is not None and torque_mnm < window.recommended_mnm:
        return _below(torque_mnm, window)
    if window.max_mnm is None or window.recommended_mnm is None:
        remedy = "Read the nut's marks, or record its series, type and the shank."
        return _unknown("torque.limits_not_known", "Torque limits of this nut not known.", remedy)
    return Finding(
        "torque.inside",
        Level.PASS,
        f"Torque {show_nm(torque_mnm)} N·m, allowed"
        f" {show_nm(window.recommended_mnm)}–{show_nm(window.max_mnm)}.",
        measured=in_nm(torque_mnm),
        limit=in_nm(window.max_mnm),
        unit="N·m",
        source=window.max_source,
    )


def torque_aim_finding(nut: NutPart, cutter: CutterPart, bands: Sequence[NutTorqueBand]) -> Finding:
    """What to tighten to, said before anybody pulled the wrench.

    Source: marks on the nut, else shop tables (common practice).

    >>> nut = NutPart(recommended_mnm=80_000, max_mnm=100_000)
    >>> torque_aim_finding(nut, CutterPart(shank_um=6_000), []).text
    'Tighten to 80 N·m, at most 100.'
    """
    window = torque_window(nut, working_shank_um(cutter), bands)
    text = _aim(window) or "No torque on record for this nut and shank."
    remedy = "" if _aim(window) else "Read the nut's marks and record them with the item."
    return Finding("torque.aim", Level.NOTE, text, remedy=remedy, source=window.recommended_source)


def _aim(window: TorqueWindow) -> str:
    if window.recommended_mnm is None:
        return ""
    most = f", at most {show_nm(window.max_mnm)}" if window.max_mnm is not None else ""
    return f"Tighten to {show_nm(window.recommended_mnm)} N·m{most}."


def _unknown(code: str, text: str, remedy: str) -> Finding:
    return Finding(code, Level.UNKNOWN, text, remedy=remedy, source=_TABLE)


def _below(torque_mnm: int, window: TorqueWindow) -> Finding:
    return Finding(
        "torque.below",
        Level.CHECK,
        f"Torque {show_nm(torque_mnm)} N·m, recommended {show_nm(window.recommended_mnm)}.",
        measured=in_nm(torque_mnm),
        limit=in_nm(window.recommended_mnm),
        unit="N·m",
        remedy=f"Tighten to {show_nm(window.recommended_mnm)} N·m with the wrench.",
        source=window.recommended_source,
    )


def _above(torque_mnm: int, window: TorqueWindow) -> Finding:
    return Finding(
        "torque.above",
        Level.CHECK,
        f"Torque {show_nm(torque_mnm)} N·m, largest allowed {show_nm(window.max_mnm)}.",
        measured=in_nm(torque_mnm),
        limit=in_nm(window.max_mnm),
        unit="N·m",
        remedy="Take apart, look at nut and collet for cracks, tighten again.",
        source=window.max_source,
    )
