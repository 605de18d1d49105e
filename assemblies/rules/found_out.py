"""What a calibration says, afterwards, of the things that an instrument was used for before it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from assemblies.rules.wrench import found_out_finding
from crib.rules.calibration import (
    CalibrationEvent,
    calibration_state,
    instrument_finding,
    shown_day,
)
from crib.rules.finding import Finding, Level

_PRACTICE = "common practice: what was measured since the last good calibration is doubtful"
#: Results that say it was out until then.
_FOUND_OUT = frozenset({"adjusted", "failed"})


@dataclass(frozen=True, slots=True)
class PastUse:
    """An instrument used for a build: its mark, the day, and whether it tightened or measured."""

    mark: str
    used_on: date
    tightened: bool = False

    @property
    def did(self) -> str:
        return "tightened" if self.tightened else "measured"


def past_use_findings(
    use: PastUse, events: Sequence[CalibrationEvent], late: Sequence[CalibrationEvent]
) -> list[Finding]:
    """What is known today of an instrument that nobody knew on the day it was used.

    `events` are all of its calibrations in the order of their days, `late` those of them that
    were written down after the use. A mishap after the use says nothing about it; one before it
    that was written down too late leaves its figure unknown, and so does such a failure.

    Source: common practice: what was done since the last good calibration is doubtful.

    >>> use = PastUse("G-1", date(2026, 5, 1))
    >>> found = past_use_findings(use, [CalibrationEvent(date(2026, 5, 2), "failed")], [])
    >>> found[0].text
    'G-1 found out of its limits on 2 May 2026, after it measured this.'
    """
    before = _out_on_the_day(use, events, late)
    after = _found_out(use, events)
    return [finding for finding in (before, after) if finding is not None]


def _out_on_the_day(
    use: PastUse, events: Sequence[CalibrationEvent], late: Sequence[CalibrationEvent]
) -> Finding | None:
    """Out already when it was used, or on that very day, and written down only afterwards."""
    known = [event for event in events if event.on <= use.used_on]
    told_late = [event for event in late if event.on <= use.used_on]
    if not told_late:
        return None
    # Repaired and passed on the same day, it was out all the same.
    out_that_day = any(e.on == use.used_on and e.result in _FOUND_OUT for e in told_late)
    if known[-1].result not in ("failed", "suspect") and not out_that_day:
        return None
    return Finding(
        "instrument.out_when_used",
        Level.UNKNOWN,
        f"{use.mark} was out, or dropped, when this was {use.did}.",
        remedy="Do it again with another instrument.",
        source=_PRACTICE,
    )


def _found_out(use: PastUse, events: Sequence[CalibrationEvent]) -> Finding | None:
    following = _next_calibration(use, events)
    if following is None or following.result not in _FOUND_OUT:
        return None
    if use.tightened:
        return found_out_finding(use.mark, [following], use.used_on)
    day = shown_day(following.on)
    return Finding(
        "reading.found_out_later",
        Level.CHECK,
        f"{use.mark} found out of its limits on {day}, after it measured this.",
        remedy="Measure again with another instrument, or touch off.",
        source=_PRACTICE,
    )


def _next_calibration(use: PastUse, events: Sequence[CalibrationEvent]) -> CalibrationEvent | None:
    """The first calibration after the use; of several on one day the worst, in any order.

    One may be the repair after the other, or put a slip of the pen right.
    """
    after = [e for e in events if e.on > use.used_on and e.result != "suspect"]
    that_day = [e for e in after if e.on == min(one.on for one in after)]
    return next((e for e in that_day if e.result in _FOUND_OUT), that_day[0] if after else None)


def unjudged_use_findings(
    use: PastUse, events: Sequence[CalibrationEvent], months_between: int | None
) -> list[Finding]:
    """How the instrument stood on the day of a use that no release has judged; no pass, no note.

    Source: interval set by the shop.

    >>> use = PastUse("G-1", date(2026, 5, 1))
    >>> [f.code for f in unjudged_use_findings(use, [], 12)]
    ['instrument.never_calibrated']
    """
    state = calibration_state(events, use.used_on, months_between=months_between)
    found = instrument_finding(use.mark, state)
    return [found] if found.level.weight >= Level.CHECK.weight else []


def passed_since(use: PastUse, events: Sequence[CalibrationEvent]) -> bool:
    """Whether the next calibration after the use found the instrument good, as it was.

    Source: common practice: what is good when it comes in was good since it went out.

    >>> use = PastUse("G-1", date(2026, 5, 1))
    >>> passed_since(use, [CalibrationEvent(date(2026, 5, 2), "passed")])
    True
    """
    following = _next_calibration(use, events)
    return following is not None and following.result == "passed"
