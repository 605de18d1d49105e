"""Why parts fall out, in few words, and alike reasons counted together."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from assemblies.rules.finder.facts import KINDS, Dropped, Same
from crib.rules.finding import Finding, worst_first
from crib.rules.units import show_mm, um_from_mm

#: Farther off than this [um], sizes are counted together.
_NEAR_UM = 1_000
#: Codes whose sentence is the same for every part but for its own words.
_SHORT = {
    "interface.differs": "other interface",
    "stud.differs": "other pull stud",
    "nut.thread_differs": "other thread",
    "nut.series_differs": "other series",
    "collet.series_differs": "other series",
}
#: Codes of a size against a size -> what is compared, when the first is larger or smaller.
_SIZES = {
    "collet.shank_too_large": "shank",
    "collet.shank_too_small": "shank",
    "bore.differs": "shank",
}


@dataclass(frozen=True, slots=True)
class Reason:
    """Why one part is in no stack. `off_um` [um] is how far it is from fitting, for the order."""

    text: str
    off_um: int = 0
    remedy: str = ""


def reason_of(findings: Iterable[Finding]) -> Reason | None:
    """The reason of the worst stop among findings; None when nothing stops.

    >>> from crib.rules.finding import Level
    >>> far = Finding("bore.differs", Level.STOP_HARD, "", measured=12.7, limit=12.0)
    >>> reason_of([far]).text
    'shank 0.70 larger'
    """
    stop = next((f for f in worst_first(findings) if f.level.is_stop), None)
    if stop is None:
        return None
    if stop.code in _SIZES and None not in (stop.measured, stop.limit):
        return _size_reason(_SIZES[stop.code], stop)
    return Reason(_SHORT.get(stop.code) or _as_reason(stop.text), remedy=stop.remedy)


def _as_reason(text: str) -> str:
    """A finding's sentence behind a colon: without its last full stop."""
    return text.removesuffix(".")


def _size_reason(what: str, stop: Finding) -> Reason:
    gap_um = um_from_mm(str(stop.measured)) - um_from_mm(str(stop.limit))
    way = "larger" if gap_um > 0 else "smaller"
    off_um = abs(gap_um)
    shown = show_mm(off_um) if off_um <= _NEAR_UM else "more than 1 mm"
    return Reason(f"{what} {shown} {way}", min(off_um, _NEAR_UM + 1))


def grouped_reasons(dropped: Iterable[tuple[Same, Reason]]) -> tuple[Dropped, ...]:
    """Parts with the same reason counted together: by kind, nearest to fitting first.

    >>> grouped_reasons([])
    ()
    """
    groups: dict[tuple[int, int, str], list[tuple[Same, Reason]]] = {}
    for same, reason in dropped:
        key = (KINDS.index(same.kind), reason.off_um, reason.text)
        groups.setdefault(key, []).append((same, reason))
    return tuple(_group(groups[key]) for key in sorted(groups))


def _group(members: list[tuple[Same, Reason]]) -> Dropped:
    first, reason = members[0]
    shown = sorted(lot.shown for same, _ in members for lot in same.lots)
    count = sum(same.count for same, _ in members)
    return Dropped(first.kind, count, reason.text, tuple(dict.fromkeys(shown)), reason.remedy)
