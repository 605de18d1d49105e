"""Is the clamping screw of a side lock, an arbor or a hydraulic chuck as tight as marked."""

from __future__ import annotations

from assemblies.rules.stack import HolderPart, Stage
from assemblies.rules.wording import in_nm
from crib.rules.finding import Finding, Level
from crib.rules.standards import SCREWED
from crib.rules.units import show_nm

_MARK = (
    "mark on the holder; ISO 6789-1:2017, from memory: a wrench is good to 4 %, 6 % up to 10 N·m"
)
_PRACTICE = "common practice: the maker's torque, marked or in the holder's papers"

#: Holders whose screw runs against a stop, so that a torque is marked on few of them.
_TO_A_STOP = frozenset({"hydraulic"})


def screw_findings(torque_mnm: int | None, holder: HolderPart, stage: Stage) -> list[Finding]:
    """Whether the screw's torque [mN·m] is the one that the holder's maker asks for.

    Without a mark the limit is not known, and that is said; a hydraulic screw goes to its stop.
    A torque marked on another holder without a collet has to be met as well.

    Source: mark on the holder; spread of a wrench by ISO 6789-1:2017, from memory.

    >>> lock = HolderPart(clamping="side_lock", screw_torque_mnm=25_000)
    >>> screw_findings(20_000, lock, Stage.RELEASE)[0].text
    'Screw 20 N·m, marked 25.'
    """
    marked_mnm = holder.screw_torque_mnm
    screwed = holder.clamping in SCREWED or (holder.holds_a_shank and marked_mnm is not None)
    if not screwed:
        return []
    if marked_mnm is None:
        return [_not_marked(holder, stage)]
    if torque_mnm is None:
        return [_not_recorded(marked_mnm, stage)]
    return [_screw_finding(torque_mnm, marked_mnm)]


def _not_marked(holder: HolderPart, stage: Stage) -> Finding:
    to_a_stop = holder.clamping in _TO_A_STOP
    early = to_a_stop or stage == Stage.BUILD
    return Finding(
        "screw.limit_not_known",
        Level.NOTE if early else Level.UNKNOWN,
        "Torque of this holder's screw not known.",
        remedy="Tighten it to its stop, by the maker's book."
        if to_a_stop
        else "Read it on the holder or in its papers, and record it with the item.",
        source=_PRACTICE,
    )


def _not_recorded(marked_mnm: int, stage: Stage) -> Finding:
    if stage == Stage.BUILD:
        return _aim("screw.aim", f"Tighten the screw to {show_nm(marked_mnm)} N·m.")
    remedy = f"Tighten it to {show_nm(marked_mnm)} N·m with the wrench and record the torque."
    text = f"Screw torque not recorded, marked {show_nm(marked_mnm)} N·m."
    return Finding("screw.not_known", Level.UNKNOWN, text, remedy=remedy, source=_MARK)


def _aim(code: str, text: str) -> Finding:
    return Finding(code, Level.NOTE, text, source=_MARK)


def spread_percent(torque_mnm: int) -> int:
    """How far [%] a wrench may be off at a torque [mN·m].

    Source: ISO 6789-1:2017, from memory: 6 % up to 10 N·m, 4 % above.

    >>> spread_percent(10_000), spread_percent(10_001)
    (6, 4)
    """
    return 6 if torque_mnm <= 10_000 else 4


def _screw_finding(torque_mnm: int, marked_mnm: int) -> Finding:
    off_mnm, spread = torque_mnm - marked_mnm, spread_percent(marked_mnm)
    code, level, remedy = "screw.inside", Level.PASS, ""
    if off_mnm * 100 < -spread * marked_mnm:
        code, level = "screw.below", Level.CHECK
        remedy = f"Tighten to {show_nm(marked_mnm)} N·m with the wrench."
    elif off_mnm * 100 > spread * marked_mnm:
        code, level = "screw.above", Level.CHECK
        remedy = "Take the screw out, look at thread and tip, tighten again."
    return Finding(
        code,
        level,
        f"Screw {show_nm(torque_mnm)} N·m, marked {show_nm(marked_mnm)}.",
        measured=in_nm(torque_mnm),
        limit=in_nm(marked_mnm),
        unit="N·m",
        remedy=remedy,
        source=_MARK,
    )
